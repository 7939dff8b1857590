//! The built-in names of formulas, which need no step: one table for the checker, the evaluation and the dependencies.

use super::ast::Reference;
use std::fmt;

/// A built-in name in formulas.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum BuiltIn {
    /// `value`: the step's own value, in its limits.
    Value,
    /// `pass.number`: the number of the pass, from 1.
    PassNumber,
    /// `surface.highest`: height of the highest touched point, minus what was cut since.
    SurfaceHighest,
    /// `surface.lowest`: height of the lowest touched point, minus what was cut since.
    SurfaceLowest,
    /// `surface.spread`: highest minus lowest.
    SurfaceSpread,
    /// `zero.height`: the height at which the readout reads 0.
    ZeroHeight,
    /// `zero.machine`: machine Z of a tip that touches at height 0.
    ZeroMachine,
}

impl BuiltIn {
    /// All of them.
    pub(crate) const ALL: [Self; 7] = [
        Self::SurfaceHighest,
        Self::SurfaceLowest,
        Self::SurfaceSpread,
        Self::ZeroHeight,
        Self::ZeroMachine,
        Self::PassNumber,
        Self::Value,
    ];

    /// The word before the dot, and the word after it if there is one.
    pub(crate) const fn words(self) -> (&'static str, Option<&'static str>) {
        match self {
            Self::Value => ("value", None),
            Self::PassNumber => ("pass", Some("number")),
            Self::SurfaceHighest => ("surface", Some("highest")),
            Self::SurfaceLowest => ("surface", Some("lowest")),
            Self::SurfaceSpread => ("surface", Some("spread")),
            Self::ZeroHeight => ("zero", Some("height")),
            Self::ZeroMachine => ("zero", Some("machine")),
        }
    }

    /// The built-in name that equals `name`.
    pub(crate) fn find(name: &Reference) -> Option<Self> {
        let words = (name.head.as_str(), name.tail.as_deref());
        Self::ALL.into_iter().find(|b| b.words() == words)
    }

    /// Whether `head` begins a built-in name, so that no step may have it as its id.
    pub(crate) fn begins(head: &str) -> bool {
        Self::ALL.iter().any(|b| b.words().0 == head)
    }

    /// The name as a node of a formula.
    pub(crate) fn reference(self) -> Reference {
        let (head, tail) = self.words();
        Reference {
            head: head.to_owned(),
            tail: tail.map(str::to_owned),
        }
    }
}

impl fmt::Display for BuiltIn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.words() {
            (head, Some(tail)) => write!(f, "{head}.{tail}"),
            (head, None) => f.write_str(head),
        }
    }
}
