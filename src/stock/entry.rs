//! The entries of a plate's account, in the form in which they are stored. Names and fields are only ever added.

use crate::quantity::Length;
use serde::{Deserialize, Serialize};

/// The version stored with each entry.
pub const VERSION: u32 = 1;

/// The prefix of the ledger names of plates.
const LEDGER: &str = "stock ";

/// The name of a plate's ledger in the book.
pub fn ledger_of(plate: &str) -> String {
    format!("{LEDGER}{plate}")
}

/// The id of the plate that a ledger belongs to; `None` for other ledgers.
pub fn plate_of(ledger: &str) -> Option<&str> {
    ledger.strip_prefix(LEDGER)
}

/// The figures of the plate in the shop file when its account was opened.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Basis {
    /// Thickness at its thinnest.
    pub thickness: Length,
    /// The thickness below which it is retired.
    pub least_thickness: Length,
    /// Depth of its shallowest steel.
    pub steel_depth: Length,
    /// Screws, dowels and inserts: the name and the depth of the top.
    pub fasteners: Vec<(String, Length)>,
}

/// What one cut took off.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct RecordedCut {
    /// The id of the run that made the cut.
    pub run: String,
    /// The cut: its step and pass, as text.
    pub cut: String,
    /// The amount taken off at the place where it took most.
    pub most: Length,
    /// The amount taken off at the place where it took least.
    pub least: Length,
    /// Whether it ran to its end. An unfinished cut may have taken off the whole amount in places.
    pub finished: bool,
    /// Whether it counts. It does not when the answers came from a file, with nobody at the machine.
    pub counts: bool,
    /// The initials of the operator.
    pub by: String,
    /// What one skim with this cutter takes off, to compute the skims that are left. Entries made before it was stored
    /// have none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub skim: Option<Length>,
}

/// What recorded a measured thickness.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MeasuredBy {
    /// A run, by its id: the thickness was measured at one of its steps.
    Run(String),
    /// `skimgate stock measure`.
    Command,
}

/// An entry of a plate's account.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StockEntry {
    /// The account was opened.
    Opened(Basis),
    /// A cut took something off.
    Cut(RecordedCut),
    /// The thickness was measured.
    Measured {
        /// The thickness at the thinnest place.
        thickness: Length,
        /// Why it was measured, or with which instrument.
        reason: String,
        /// The initials of the person who measured.
        by: String,
        /// What recorded it. Entries from before it was stored say it in their reason.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        recorded_by: Option<MeasuredBy>,
    },
}

impl StockEntry {
    /// The word that is stored next to the entry's body.
    pub(crate) fn kind(&self) -> &'static str {
        match self {
            Self::Opened(_) => "stock_opened",
            Self::Cut(_) => "stock_cut",
            Self::Measured { .. } => "stock_measured",
        }
    }

    /// The run at whose step the thickness was measured; `None` for other entries. Only an entry from before this was
    /// stored is judged by its reason, which a person could type.
    pub(crate) fn measured_in_run(&self) -> Option<&str> {
        let Self::Measured {
            reason,
            recorded_by,
            ..
        } = self
        else {
            return None;
        };
        match recorded_by {
            Some(MeasuredBy::Run(run)) => Some(run),
            Some(MeasuredBy::Command) => None,
            None => Some(reason.strip_prefix("run ")?.split_once(", measured at ")?.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{MeasuredBy, StockEntry};
    use crate::quantity::Length;

    #[test]
    fn entries_from_before_it_was_stored_say_their_run_in_the_reason() {
        let stored = |reason: &str| -> StockEntry {
            let thickness =
                serde_json::to_string(&Length::from_counts(190_000_000).unwrap()).unwrap();
            let text = format!(
                r#"{{"measured":{{"thickness":{thickness},"reason":"{reason}","by":"AB"}}}}"#
            );
            let entry = serde_json::from_str(&text).unwrap();
            assert_eq!(serde_json::to_string(&entry).unwrap(), text);
            entry
        };
        let walked = stored("run 2026-03-01-1, measured at thick");
        assert_eq!(walked.measured_in_run(), Some("2026-03-01-1"));
        assert_eq!(stored("gauge").measured_in_run(), None);
    }

    #[test]
    fn a_typed_reason_makes_no_entry_of_a_run() {
        let entry = StockEntry::Measured {
            thickness: Length::ZERO,
            reason: "run 2026-03-01-1, measured at thick".to_owned(),
            by: "AB".to_owned(),
            recorded_by: Some(MeasuredBy::Command),
        };
        assert_eq!(entry.measured_in_run(), None);
    }
}
