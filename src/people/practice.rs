//! Practice before running alone: what the shop requires, and what a person has done.
//!
//! The command that changes the list counts a person's rehearsals in the practice book. The result is part of the event
//! that the owner signs, so the list can be checked without that book.

use super::event::Event;
use super::fold::People;
use super::person::Person;
use crate::fingerprint::Fingerprint;
use serde::{Deserialize, Serialize};
use std::ops::Not;

/// The practice that is required before a person may run alone.
#[derive(Clone, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct PracticeRequirement {
    /// The number of clean rehearsals that had a fault in them; 0 requires none.
    pub rehearsals: u32,
    /// The lowest score that counts, of 100 points.
    pub points: i64,
    /// The scenarios that must each have been rehearsed clean.
    // This and the next field are left out where empty, so the text of events signed before they existed stays the
    // same.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub scenarios: Vec<NamedScenario>,
    /// Whether a rehearsal counts only if a trainer signed that they were present.
    #[serde(default, skip_serializing_if = "Not::not")]
    pub trainer: bool,
}

/// A scenario that is required by name.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct NamedScenario {
    /// The scenario's title.
    pub title: String,
    /// The name of its file, so that people can find it.
    pub file: String,
    /// The fingerprint of its text. An edited scenario is another scenario.
    pub text: Fingerprint,
}

/// The practice that a person has done.
#[derive(Clone, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct PracticeDone {
    /// The number of clean rehearsals that had a fault in them.
    pub rehearsals: u32,
    /// The score that each of them had at least.
    pub points: i64,
    /// The digest of the last score in the practice book at that time.
    pub last: String,
    /// The fingerprints of the texts of the scenarios among them that are required by name.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub scenarios: Vec<Fingerprint>,
    /// Whether a trainer was present in each rehearsal that is counted.
    #[serde(default, skip_serializing_if = "Not::not")]
    pub trainer: bool,
}

impl NamedScenario {
    /// The scenario in words: `Second day` (day-2.yaml).
    fn words(&self) -> String {
        format!("`{}` ({})", self.title, self.file)
    }
}

impl PracticeRequirement {
    /// Whether anything is required.
    pub(crate) fn asks(&self) -> bool {
        self.rehearsals > 0 || !self.scenarios.is_empty()
    }

    /// The requirement in words.
    pub(crate) fn words(&self) -> String {
        if self.asks() {
            format!("Before somebody runs alone: {}", self.listed())
        } else {
            "No rehearsal is asked for before somebody runs alone".to_owned()
        }
    }

    /// The requirement as a part of a sentence.
    pub(super) fn listed(&self) -> String {
        let mut parts = Vec::new();
        match self.rehearsals {
            0 => {}
            1 => parts.push("1 clean rehearsal with a fault in the way".to_owned()),
            n => parts.push(format!("{n} clean rehearsals with a fault in the way")),
        }
        parts.extend(
            self.scenarios
                .iter()
                .map(|s| format!("the scenario {}", s.words())),
        );
        let presence = if self.trainer {
            " and with a trainer present who signs for it"
        } else {
            ""
        };
        format!(
            "{}, each of at least {} points{presence}",
            parts.join(", "),
            self.points
        )
    }

    /// Whether this practice is enough.
    pub(crate) fn met_by(&self, practised: Option<&PracticeDone>) -> bool {
        !self.asks()
            || practised.is_some_and(|p| {
                self.counts(p)
                    && p.rehearsals >= self.rehearsals
                    && self.missing(Some(p)).is_empty()
            })
    }

    /// Whether the rehearsals counted in `practised` are of the required kind.
    fn counts(&self, practised: &PracticeDone) -> bool {
        practised.points >= self.points && (practised.trainer || !self.trainer)
    }

    /// The number of rehearsals of the required kind.
    pub(super) fn has(&self, practised: Option<&PracticeDone>) -> u32 {
        practised
            .filter(|p| self.counts(p))
            .map_or(0, |p| p.rehearsals)
    }

    /// The required scenarios that the person has not practised.
    pub(crate) fn missing(&self, practised: Option<&PracticeDone>) -> Vec<&NamedScenario> {
        let has = |s: &NamedScenario| {
            practised.is_some_and(|p| self.counts(p) && p.scenarios.contains(&s.text))
        };
        self.scenarios.iter().filter(|s| !has(s)).collect()
    }
}

impl Person {
    /// Whether the person may run anything alone.
    pub(crate) fn runs_something_alone(&self) -> bool {
        !self.machines.is_none() && !self.procedures.is_none()
    }
}

impl People {
    /// The practice that `event` needs; `None` unless it allows a person to run something alone that they could not run
    /// alone before.
    pub(crate) fn practice_for(&self, event: &Event) -> Option<&PracticeRequirement> {
        let (Event::Added { person, .. } | Event::Changed { person, .. }) = event else {
            return None;
        };
        let before = self.find(&person.initials).map(|l| &l.person);
        let more = person.runs_something_alone()
            && before.is_none_or(|b| {
                !b.runs_something_alone()
                    || person.machines.exceeds(&b.machines)
                    || person.procedures.exceeds(&b.procedures)
            });
        self.required().filter(|r| more && r.asks())
    }
}
