//! What is written into a plate's account, in the words it is stored in. Only ever added to.

use crate::quantity::Length;
use serde::{Deserialize, Serialize};

/// The version written beside each entry.
pub const VERSION: u32 = 1;

/// What every ledger of a plate begins with.
const LEDGER: &str = "stock ";

/// The book's ledger of a plate.
pub fn ledger_of(plate: &str) -> String {
    format!("{LEDGER}{plate}")
}

/// The plate of a ledger; `None` for other ledgers.
pub fn plate_of(ledger: &str) -> Option<&str> {
    ledger.strip_prefix(LEDGER)
}

/// What the shop file said of the plate when its account was opened.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Basis {
    /// Thickness at its thinnest.
    pub thickness: Length,
    /// The thickness below which it is retired.
    pub least_thickness: Length,
    /// Depth of its shallowest steel.
    pub steel_depth: Length,
    /// Screws, dowels, inserts: name and depth of the top.
    pub fasteners: Vec<(String, Length)>,
}

/// What one cut took off.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct RecordedCut {
    /// The id of the run that made the cut.
    pub run: String,
    /// The cut: its step and pass.
    pub cut: String,
    /// Taken off where it took most.
    pub most: Length,
    /// Taken off where it took least.
    pub least: Length,
    /// Whether it ran to its end. One that did not may have taken all of it in places.
    pub finished: bool,
    /// Whether it counts: not so when the answers came from a file, with nobody at the machine.
    pub counts: bool,
    /// By whom.
    pub by: String,
    /// What one skim with this cutter takes off, to count the skims left by. Lines from before it was stored have none.
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
        /// At its thinnest.
        thickness: Length,
        /// Why, or with what.
        reason: String,
        /// By whom.
        by: String,
        /// What recorded it. Entries from before it was stored say it in their reason.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        recorded_by: Option<MeasuredBy>,
    },
}

impl StockEntry {
    /// The word it is stored under, beside its body.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Opened(_) => "stock_opened",
            Self::Cut(_) => "stock_cut",
            Self::Measured { .. } => "stock_measured",
        }
    }

    /// The run at whose step the thickness was measured; `None` for other entries. Only an entry from before this was
    /// stored is judged by its reason, which a person could type.
    pub fn measured_in_run(&self) -> Option<&str> {
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
