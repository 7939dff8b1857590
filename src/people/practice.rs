//! Practice before running alone: what the shop asks for, and what somebody has.
//!
//! What somebody has is counted in the practice book by whoever changes the list, and stands in the event that the owner
//! signs: the list can then be checked without that book.

use super::event::Event;
use super::fold::People;
use super::person::Person;
use crate::fingerprint::Fingerprint;
use serde::{Deserialize, Serialize};
use std::ops::Not;

/// What must have been practised before somebody is let run alone.
#[derive(Clone, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct PracticeRequirement {
    /// So many clean rehearsals with a fault in the way; 0 asks for none.
    pub rehearsals: u32,
    /// The least points of each, of 100.
    pub points: i64,
    /// Scenarios that each must have been rehearsed clean.
    // Left out where there are none, as the next: what was signed before they could be asked for reads the same.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub scenarios: Vec<NamedScenario>,
    /// Whether a rehearsal counts only where a trainer signed that they were beside.
    #[serde(default, skip_serializing_if = "Not::not")]
    pub trainer: bool,
}

/// A scenario that is asked for by name.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct NamedScenario {
    /// What it is called.
    pub title: String,
    /// The name of its file, for people to find it by.
    pub file: String,
    /// The fingerprint of its text: an edited one is another scenario.
    pub text: Fingerprint,
}

/// What somebody has practised.
#[derive(Clone, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct PracticeDone {
    /// So many clean rehearsals with a fault in the way.
    pub rehearsals: u32,
    /// That had at least so many points.
    pub points: i64,
    /// The digest of the practice book's last score then.
    pub last: String,
    /// The scenarios among them that are asked for by name, by the fingerprints of their texts.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub scenarios: Vec<Fingerprint>,
    /// Whether a trainer was beside in each that is counted.
    #[serde(default, skip_serializing_if = "Not::not")]
    pub trainer: bool,
}

impl NamedScenario {
    /// In words: `Second day` (day-2.yaml).
    fn words(&self) -> String {
        format!("`{}` ({})", self.title, self.file)
    }
}

impl PracticeRequirement {
    /// Whether it asks for anything.
    pub fn asks(&self) -> bool {
        self.rehearsals > 0 || !self.scenarios.is_empty()
    }

    /// In words.
    pub fn words(&self) -> String {
        if self.asks() {
            format!("Before somebody runs alone: {}", self.listed())
        } else {
            "No rehearsal is asked for before somebody runs alone".to_owned()
        }
    }

    /// What it asks for, as a part of a sentence.
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
        let beside = if self.trainer {
            " and with a trainer beside who signs for it"
        } else {
            ""
        };
        format!(
            "{}, each of at least {} points{beside}",
            parts.join(", "),
            self.points
        )
    }

    /// Whether this practice is enough.
    pub fn met_by(&self, practised: Option<&PracticeDone>) -> bool {
        !self.asks()
            || practised.is_some_and(|p| {
                self.counts(p)
                    && p.rehearsals >= self.rehearsals
                    && self.missing(Some(p)).is_empty()
            })
    }

    /// Whether what is counted in `practised` is of the kind that is asked for.
    fn counts(&self, practised: &PracticeDone) -> bool {
        practised.points >= self.points && (practised.trainer || !self.trainer)
    }

    /// How many rehearsals of the kind asked for there are.
    pub(super) fn has(&self, practised: Option<&PracticeDone>) -> u32 {
        practised
            .filter(|p| self.counts(p))
            .map_or(0, |p| p.rehearsals)
    }

    /// The scenarios asked for that are not among what is practised.
    pub fn missing(&self, practised: Option<&PracticeDone>) -> Vec<&NamedScenario> {
        let has = |s: &NamedScenario| {
            practised.is_some_and(|p| self.counts(p) && p.scenarios.contains(&s.text))
        };
        self.scenarios.iter().filter(|s| !has(s)).collect()
    }
}

impl Person {
    /// Whether there is anything that they may run alone.
    pub fn runs_something_alone(&self) -> bool {
        !self.machines.is_none() && !self.procedures.is_none()
    }
}

impl People {
    /// The practice that `event` must have behind it: what is required, if it lets somebody run alone what they could
    /// not before.
    pub fn practice_for(&self, event: &Event) -> Option<&PracticeRequirement> {
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
