//! Notes of the reader for later checks: where names are mentioned, and which steps could not be read.
//!
//! The fault of a step that could not be read is reported once. A later check that misses this step reports nothing.

use super::node::Scalar;
use crate::diagnostics::Span;
use std::collections::{BTreeMap, BTreeSet};

/// The notes of reading one file.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Notes {
    mentions: BTreeMap<(usize, &'static str, String), Span>,
    lost: BTreeSet<String>,
    /// Whether a step, phase or pass could not be read, so that something that seems missing may be in the file.
    pub incomplete: bool,
}

impl Notes {
    /// Notes that the item at `owner` names `text` under `key`.
    pub(crate) fn mention(&mut self, owner: Span, key: &'static str, text: &Scalar) {
        self.mentions
            .entry((owner.start, key, text.text.clone()))
            .or_insert(text.span);
    }

    /// The place where the item at `owner` names `text` under `key`; `owner` itself if that was not noted.
    pub(crate) fn place(&self, owner: Span, key: &'static str, text: &str) -> Span {
        let found = self.mentions.get(&(owner.start, key, text.to_owned()));
        found.copied().unwrap_or(owner)
    }

    /// Notes that a step could not be read, with its id if that could be read.
    pub(crate) fn lose(&mut self, id: Option<&str>) {
        self.incomplete = true;
        self.lost.extend(id.map(str::to_owned));
    }

    /// Whether the step with this id is in the file but could not be read.
    pub(crate) fn is_lost(&self, id: &str) -> bool {
        self.lost.contains(id)
    }
}
