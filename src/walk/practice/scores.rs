//! Scores in the practice book: one entry of its ledger `practice` for each rehearsal.
//!
//! Practice has a book of its own beside the real one: it can hold no machine of the real book, is never an open run of
//! one, and a real book is byte for byte the same after any number of rehearsals.

use super::super::error::WalkError;
use crate::book::{Book, Draft};
use crate::quantity::moment::Moment;
use crate::rehearse::{Decision, Score};
use crate::report::csv;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// The ledger.
pub const LEDGER: &str = "practice";

/// The kind of its entries.
const KIND: &str = "rehearsed";

/// The version of what is stored.
const VERSION: u32 = 1;

/// One rehearsal, as it is kept.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Rehearsed {
    /// The run's id in the practice book.
    pub run: String,
    /// Who.
    pub operator: String,
    /// Whether nobody was asked.
    pub demo: bool,
    /// The scenario's title, where there was one.
    pub scenario: Option<String>,
    /// The seed.
    pub seed: u64,
    /// The level's word.
    pub level: String,
    /// The drills' ids.
    pub drills: Vec<String>,
    /// What it is worth.
    pub score: Score,
    /// Every answer that could be judged.
    pub decisions: Vec<Decision>,
}

/// One rehearsal and when it was.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Kept {
    /// When it ended, RFC 3339.
    pub at: String,
    /// The rehearsal.
    pub rehearsed: Rehearsed,
}

/// Where practice is kept: beside the real book, under its name.
pub fn beside(book: &Path) -> PathBuf {
    book.with_extension("practice.sqlite3")
}

/// Whether a book is one of practice, by its name.
pub fn is_practice(book: &Path) -> bool {
    let name = book.file_name().map(|n| n.to_string_lossy());
    name.is_some_and(|n| n.ends_with(".practice.sqlite3"))
}

/// Where the practice mill's programs lie.
pub fn programs(book: &Path) -> PathBuf {
    book.with_extension("practice")
}

/// Keeps a rehearsal.
pub fn keep(book: &mut Book, rehearsed: &Rehearsed, now: Moment) -> Result<(), WalkError> {
    let body = serde_json::to_string(rehearsed)
        .map_err(|e| WalkError::Fault(format!("a score cannot be written: {e}")))?;
    let draft = Draft {
        at: now.to_string(),
        kind: KIND.to_owned(),
        version: VERSION,
        body,
    };
    let after = book.ledger(LEDGER)?.last().map_or(0, |e| e.n);
    book.append_to_ledger(LEDGER, after, &[draft])?;
    Ok(())
}

/// All rehearsals kept, oldest first.
pub fn all(book: &Book) -> Result<Vec<Kept>, WalkError> {
    let entries = book.ledger(LEDGER)?;
    let read = |entry: crate::book::Entry| {
        let fault = |reason: String| WalkError::Event {
            run: LEDGER.to_owned(),
            n: entry.n,
            reason,
        };
        if entry.version > VERSION {
            return Err(WalkError::Newer {
                run: LEDGER.to_owned(),
                n: entry.n,
                found: entry.version,
                known: VERSION,
            });
        }
        let rehearsed = serde_json::from_str(&entry.body).map_err(|e| fault(e.to_string()))?;
        Ok(Kept {
            at: entry.at.clone(),
            rehearsed,
        })
    };
    entries.into_iter().map(read).collect()
}

/// The digest of the last score; empty where there is none.
pub fn last(book: &Book) -> Result<String, WalkError> {
    let last = book.ledger(LEDGER)?.pop();
    Ok(last.map_or(String::new(), |entry| entry.digest.to_string()))
}

/// How many clean rehearsals of at least so many points a person has, demonstrations and those without a fault in the way
/// left out. A seed counts once, and not when its demonstration was shown before: its answers could be repeated from
/// memory. Nobody knows who watched a demonstration, so it counts as shown to everybody.
pub fn clean(kept: &[Kept], operator: &str, points: i64) -> usize {
    let mut shown = BTreeSet::new();
    let mut counted = BTreeSet::new();
    for r in kept.iter().map(|k| &k.rehearsed) {
        if r.demo {
            shown.insert(r.seed);
        } else if r.operator == operator
            && !r.drills.is_empty()
            && r.score.is_clean()
            && r.score.points >= points
            && !shown.contains(&r.seed)
        {
            counted.insert(r.seed);
        }
    }
    counted.len()
}

/// The sheet of results: one line a rehearsal, comma-separated, marked as practice in every line.
pub fn sheet(kept: &[Kept]) -> String {
    let mut lines =
        "record,run,ended,operator,demo,scenario,seed,level,drills,points,clean,complete,caught,out_of_order,missed,\
         not_reached,false_alarms,untrue,gouges,crashes,other_faults,cleaned_percent,wasted_mm,finish_right,minutes\r\n"
            .to_owned();
    for Kept { at, rehearsed: r } in kept {
        let s = &r.score;
        let yes = |is: bool| if is { "yes" } else { "no" }.to_owned();
        let fields = [
            "practice".to_owned(),
            r.run.clone(),
            at.clone(),
            r.operator.clone(),
            yes(r.demo),
            r.scenario.clone().unwrap_or_default(),
            r.seed.to_string(),
            r.level.clone(),
            r.drills.join(" "),
            s.points.to_string(),
            yes(s.is_clean()),
            yes(s.complete),
            s.caught.to_string(),
            s.out_of_order.to_string(),
            s.missed.to_string(),
            s.not_reached.to_string(),
            s.false_alarms.to_string(),
            s.untrue.to_string(),
            s.gouges.to_string(),
            s.crashes.to_string(),
            s.faults.to_string(),
            format!("{}.{}", s.cleaned / 10, s.cleaned % 10),
            format!("{}.{:03}", s.wasted_um / 1000, s.wasted_um % 1000),
            s.finish.map_or(String::new(), yes),
            (s.seconds / 60).to_string(),
        ];
        lines.push_str(&csv::line(fields.iter().map(String::as_str)));
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::{Kept, Rehearsed, clean, sheet};
    use crate::rehearse::Score;

    fn kept(operator: &str, demo: bool, missed: usize) -> Kept {
        of_seed(7, operator, demo, missed)
    }

    fn of_seed(seed: u64, operator: &str, demo: bool, missed: usize) -> Kept {
        Kept {
            at: "2026-03-01T10:00:00Z".to_owned(),
            rehearsed: Rehearsed {
                run: "2026-03-01-1".to_owned(),
                operator: operator.to_owned(),
                demo,
                scenario: Some("Day 2, \"hard\"".to_owned()),
                seed,
                level: "usual".to_owned(),
                drills: vec!["visitor".to_owned()],
                score: Score {
                    points: 95,
                    complete: true,
                    cleaned: 1000,
                    missed,
                    ..Score::default()
                },
                decisions: Vec::new(),
            },
        }
    }

    #[test]
    fn only_own_clean_rehearsals_count() {
        let all = [
            kept("QZ", false, 0),
            kept("QZ", false, 1),
            kept("QZ", true, 0),
            kept("AB", false, 0),
        ];
        assert_eq!(clean(&all, "QZ", 90), 1);
        assert_eq!(clean(&all, "QZ", 96), 0);
        // AB's is after the demonstration of the same seed.
        assert_eq!(clean(&all, "AB", 90), 0);
    }

    #[test]
    fn a_seed_counts_once_and_not_after_its_demonstration() {
        let mut all = vec![of_seed(1, "QZ", false, 0), of_seed(1, "QZ", false, 0)];
        assert_eq!(clean(&all, "QZ", 90), 1);
        all.push(of_seed(2, "QZ", true, 0));
        all.push(of_seed(2, "QZ", false, 0));
        assert_eq!(clean(&all, "QZ", 90), 1);
        // Seen afterwards, the demonstration takes nothing back.
        all.push(of_seed(1, "QZ", true, 0));
        all.push(of_seed(3, "QZ", false, 1));
        all.push(of_seed(3, "QZ", false, 0));
        assert_eq!(clean(&all, "QZ", 90), 2);
    }

    #[test]
    fn the_sheet_has_as_many_fields_in_every_line() {
        let text = sheet(&[kept("QZ", false, 0)]);
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines[0].split(',').count(), 25);
        assert!(lines[1].starts_with("practice,2026-03-01-1,"));
        assert!(lines[1].contains("\"Day 2, \"\"hard\"\"\""));
    }
}
