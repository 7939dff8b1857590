//! The facts of a shop file's machines, plates and cutters: one table with the key, the kind and the name in formulas
//! of each.

use super::formula::Type;
use super::model::ShopList;
use crate::quantity::Dimension;

/// The kind of a fact.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum FactKind {
    /// A quantity above zero.
    Above(Dimension),
    /// A quantity of zero or more.
    FromNought(Dimension),
    /// A quantity of any sign.
    Any(Dimension),
    /// One of these words.
    Words(&'static [&'static str]),
    /// A text; not usable in formulas.
    Text,
    /// Names, each with a length above zero; not usable in formulas.
    Lengths,
}

/// A fact that the items of a list have.
#[derive(Clone, Copy, Debug)]
pub struct Fact {
    /// The key in the file.
    pub key: &'static str,
    /// Its kind.
    pub kind: FactKind,
    /// Whether it may be left out. An optional fact without a default is not usable in formulas, which must always have a
    /// value.
    pub optional: bool,
    /// The word that counts where an optional fact is left out.
    pub(crate) default: Option<&'static str>,
}

const fn fact(key: &'static str, kind: FactKind) -> Fact {
    let optional = false;
    Fact {
        key,
        kind,
        optional,
        default: None,
    }
}

const fn optional(key: &'static str, kind: FactKind) -> Fact {
    let optional = true;
    Fact {
        key,
        kind,
        optional,
        default: None,
    }
}

/// A fact in words that counts as the first of them where it is left out.
const fn first_unless_said(key: &'static str, words: &'static [&'static str]) -> Fact {
    Fact {
        key,
        kind: Words(words),
        optional: true,
        default: words.first().copied(),
    }
}

use FactKind::{Above, Any, FromNought, Lengths, Text, Words};

const MACHINE: &[Fact] = &[
    fact("title", Text),
    fact("lowest speed", Above(Dimension::SPINDLE_SPEED)),
    fact("highest speed", Above(Dimension::SPINDLE_SPEED)),
    fact("highest feed", Above(Dimension::FEED)),
    fact("spindle power", Above(Dimension::POWER)),
    fact("readout step", Above(Dimension::LENGTH)),
    fact("lowest z", Any(Dimension::LENGTH)),
    fact("x travel", Above(Dimension::LENGTH)),
    fact("y travel", Above(Dimension::LENGTH)),
    fact("warm-up", FromNought(Dimension::TIME)),
    fact("length offsets", Words(&["used", "not used"])),
    fact("enclosure", Words(&["closed", "partly", "open"])),
    fact("coolant", Words(&["flood", "dribble", "mist", "none"])),
    optional("home", Words(&["clear of the table", "not clear"])),
    first_unless_said(
        "touch off",
        &[
            "standing over paper",
            "standing over a block",
            "on a height setter",
            "turning slowly",
        ],
    ),
    first_unless_said("readout zero", &["fixed", "running", "machine"]),
];

const PLATE: &[Fact] = &[
    fact("title", Text),
    fact("x length", Above(Dimension::LENGTH)),
    fact("y width", Above(Dimension::LENGTH)),
    fact("thickness", Above(Dimension::LENGTH)),
    fact("least thickness", Above(Dimension::LENGTH)),
    fact("steel depth", Above(Dimension::LENGTH)),
    fact(
        "material",
        Words(&[
            "aluminium",
            "cast iron",
            "steel",
            "wood-based",
            "plastic",
            "brass",
        ]),
    ),
    optional("fasteners", Lengths),
    optional("x corner", Any(Dimension::LENGTH)),
    optional("y corner", Any(Dimension::LENGTH)),
    optional("waviness", FromNought(Dimension::LENGTH)),
];

const CUTTER: &[Fact] = &[
    fact("title", Text),
    fact("diameter", Above(Dimension::LENGTH)),
    fact("teeth", Above(Dimension::TEETH)),
    fact("corner", FromNought(Dimension::LENGTH)),
    fact("deepest bite", Above(Dimension::LENGTH)),
    fact("finishing bite", Above(Dimension::LENGTH)),
    fact("least chip load", Above(Dimension::CHIP_LOAD)),
    fact("most chip load", Above(Dimension::CHIP_LOAD)),
    fact("highest speed", Above(Dimension::SPINDLE_SPEED)),
    fact("cuts to centre", Words(&["yes", "no"])),
    fact("program", Text),
    optional("made of", Words(&["carbide", "high-speed steel"])),
];

impl ShopList {
    /// The three lists.
    pub const ALL: [Self; 3] = [Self::Machines, Self::Plates, Self::Cutters];

    /// The key of the list in a shop file and in `from`.
    pub(crate) fn key(self) -> &'static str {
        match self {
            Self::Machines => "machines",
            Self::Plates => "plates",
            Self::Cutters => "cutters",
        }
    }

    /// The word for one item, which is also the name before the dot in formulas.
    pub fn one(self) -> &'static str {
        match self {
            Self::Machines => "machine",
            Self::Plates => "plate",
            Self::Cutters => "cutter",
        }
    }

    /// The list whose items are called `word`.
    pub(crate) fn of_one(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|l| l.one() == word)
    }

    /// The facts that its items have.
    pub fn facts(self) -> &'static [Fact] {
        match self {
            Self::Machines => MACHINE,
            Self::Plates => PLATE,
            Self::Cutters => CUTTER,
        }
    }

    /// The fact with this name in formulas.
    pub(crate) fn fact(self, name: &str) -> Option<&'static Fact> {
        self.facts().iter().find(|f| f.name() == name)
    }
}

impl Fact {
    /// The name in formulas: the key with underscores instead of blanks and hyphens.
    pub(crate) fn name(&self) -> String {
        self.key.replace([' ', '-'], "_")
    }

    /// The kind of its value in formulas; `None` for texts, lists and optional facts.
    pub(crate) fn type_in_formulas(&self) -> Option<Type> {
        if self.optional && self.default.is_none() {
            return None;
        }
        match self.kind {
            Above(d) | FromNought(d) | Any(d) => Some(Type::Quantity(d)),
            Words(words) => Some(Type::Words(words.iter().map(|w| (*w).to_owned()).collect())),
            Text | Lengths => None,
        }
    }
}

/// Pairs of facts of which the first must be below (or at most) the second.
pub(crate) const ORDERED: &[(ShopList, &str, &str)] = &[
    (ShopList::Machines, "lowest speed", "highest speed"),
    (ShopList::Plates, "least thickness", "thickness"),
    (ShopList::Plates, "steel depth", "thickness"),
    (ShopList::Cutters, "least chip load", "most chip load"),
    (ShopList::Cutters, "finishing bite", "deepest bite"),
];

/// Pairs of optional facts that must be given together.
pub(crate) const BOTH: &[(ShopList, &str, &str)] = &[(ShopList::Plates, "x corner", "y corner")];
