//! What reading notes for the checks that come after it: where names are mentioned, and which steps could not be read.
//!
//! A step that could not be read has its fault reported; nothing that misses it later is a fault of its own.

use super::yaml::Scalar;
use crate::diagnostics::Span;
use std::collections::{BTreeMap, BTreeSet};

/// Notes of one reading.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Notes {
    mentions: BTreeMap<(usize, &'static str, String), Span>,
    lost: BTreeSet<String>,
    /// Whether a step, phase or pass could not be read, so that what seems missing may be there.
    pub incomplete: bool,
}

impl Notes {
    /// Notes that the thing standing at `owner` names `text` under `key`.
    pub fn mention(&mut self, owner: Span, key: &'static str, text: &Scalar) {
        self.mentions
            .entry((owner.start, key, text.text.clone()))
            .or_insert(text.span);
    }

    /// Where the thing standing at `owner` names `text` under `key`; `owner` where that was not noted.
    pub fn place(&self, owner: Span, key: &'static str, text: &str) -> Span {
        let found = self.mentions.get(&(owner.start, key, text.to_owned()));
        found.copied().unwrap_or(owner)
    }

    /// Notes that a step could not be read; its id where that could.
    pub fn lose(&mut self, id: Option<&str>) {
        self.incomplete = true;
        self.lost.extend(id.map(str::to_owned));
    }

    /// Whether the step of that id stands in the file but could not be read.
    pub fn is_lost(&self, id: &str) -> bool {
        self.lost.contains(id)
    }
}
