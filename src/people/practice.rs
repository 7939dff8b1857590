//! Practice before running alone: what the shop asks for, and what somebody has.
//!
//! What somebody has is counted in the practice book by whoever changes the list, and stands in the event that the owner
//! signs: the list can then be checked without that book. Initials in practice are typed, so the owner vouches for them.

use super::event::Event;
use super::fold::People;
use super::person::Person;
use serde::{Deserialize, Serialize};

/// What must have been practised before somebody is let run alone.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Required {
    /// So many clean rehearsals with a fault in the way; 0 asks for none.
    pub rehearsals: u32,
    /// The least points of each, of 100.
    pub points: i64,
}

/// What somebody has practised.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Practised {
    /// So many clean rehearsals with a fault in the way.
    pub rehearsals: u32,
    /// That had at least so many points.
    pub points: i64,
    /// The digest of the practice book's last score then.
    pub last: String,
}

impl Required {
    /// In words.
    pub fn words(self) -> String {
        match self.rehearsals {
            0 => "No rehearsal is asked for before somebody runs alone".to_owned(),
            n => format!(
                "Before somebody runs alone: {n} clean {} with a fault in the way, each of at least {} points",
                if n == 1 { "rehearsal" } else { "rehearsals" },
                self.points
            ),
        }
    }

    /// Whether this practice is enough.
    pub fn met_by(self, practised: Option<&Practised>) -> bool {
        self.rehearsals == 0
            || practised.is_some_and(|p| p.points >= self.points && p.rehearsals >= self.rehearsals)
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
    pub fn practice_for(&self, event: &Event) -> Option<Required> {
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
        self.required().filter(|r| more && r.rehearsals > 0)
    }
}
