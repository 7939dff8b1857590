//! How a cut ended, why a machine was stopped, and whether a machine stayed as it was when the run was left.
//!
//! A stop is recorded at once, before its cause is asked, so that it ends a release immediately. Until the cause is
//! recorded ([`Cause::NotSaid`]) nothing can be answered and nothing is released.

use crate::procedure::model::CUT_ENDS;
use serde::{Deserialize, Deserializer, Serialize};

/// Reads a typed choice: its number in the list, counted from 1, or words that name it.
fn chosen<T: Copy>(all: &[T], said: &str, named: impl Fn(&T, &str) -> bool) -> Option<T> {
    let said = said.trim();
    let number = said.parse::<usize>().ok();
    let by_number = number.and_then(|n| all.get(n.checked_sub(1)?));
    by_number
        .or_else(|| all.iter().find(|one| named(one, said)))
        .copied()
}

/// How a cut ended.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
pub enum CutEnd {
    /// It ran to its end.
    #[serde(rename = "finished")]
    Finished,
    /// It was held or stopped before its end.
    #[serde(rename = "stopped")]
    Stopped,
    /// The emergency stop was pressed.
    #[serde(rename = "emergency stop")]
    EmergencyStop,
}

impl CutEnd {
    /// Every way to end, in the order in which they are offered.
    pub const ALL: [Self; 3] = [Self::Finished, Self::Stopped, Self::EmergencyStop];

    /// The word that is typed, stored and used in formulas.
    pub fn word(self) -> &'static str {
        let [finished, stopped, emergency_stop] = CUT_ENDS;
        match self {
            Self::Finished => finished,
            Self::Stopped => stopped,
            Self::EmergencyStop => emergency_stop,
        }
    }

    /// The meaning of the word, for a list of choices.
    pub(crate) fn meaning(self) -> &'static str {
        match self {
            Self::Finished => "it ran to its end",
            Self::Stopped => "held or stopped before its end",
            Self::EmergencyStop => "the emergency stop was pressed",
        }
    }
}

/// Why a machine or a cut was stopped.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Default, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// Recorded before version 5 of the events, when the cause was not asked.
    #[default]
    NotAsked,
    /// The cause is asked and not answered yet.
    NotSaid,
    /// The cutter or the machine hit something.
    HitSomething,
    /// An axis or the spindle stalled.
    Stalled,
    /// The power was lost.
    PowerLost,
    /// The emergency stop was pressed.
    EmergencyStop,
    /// Somebody noticed a sound or a smell.
    SoundOrSmell,
    /// Somebody saw something.
    SomethingSeen,
    /// The stop was intended.
    Planned,
}

impl Cause {
    /// The causes that can be chosen, in the order in which they are offered.
    pub const CHOICES: [Self; 7] = [
        Self::HitSomething,
        Self::Stalled,
        Self::PowerLost,
        Self::EmergencyStop,
        Self::SoundOrSmell,
        Self::SomethingSeen,
        Self::Planned,
    ];

    /// The word for the cause.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::NotAsked => "cause not asked",
            Self::NotSaid => "cause not said yet",
            Self::HitSomething => "hit something",
            Self::Stalled => "stalled",
            Self::PowerLost => "power lost",
            Self::EmergencyStop => "emergency stop",
            Self::SoundOrSmell => "sound or smell",
            Self::SomethingSeen => "something seen",
            Self::Planned => "planned",
        }
    }

    /// The meaning, where the word alone does not say it; else empty.
    pub(crate) fn meaning(self) -> &'static str {
        match self {
            Self::HitSomething => "cutter, spindle or an axis",
            Self::Stalled => "an axis or the spindle",
            Self::PowerLost => "machine, drives or control",
            Self::EmergencyStop => "it was pressed, for whatever reason",
            Self::SomethingSeen => "smoke, chips, movement of plate or cutter",
            Self::NotAsked | Self::NotSaid | Self::SoundOrSmell | Self::Planned => "",
        }
    }

    /// Other words that a prompt accepts for the cause.
    fn short(self) -> &'static [&'static str] {
        match self {
            Self::HitSomething => &["hit"],
            Self::Stalled => &["stall"],
            Self::PowerLost => &["power"],
            Self::EmergencyStop => &["emergency"],
            Self::SoundOrSmell => &["sound", "smell"],
            Self::SomethingSeen => &["seen"],
            Self::NotAsked | Self::NotSaid | Self::Planned => &[],
        }
    }

    /// Whether a person chose the cause.
    pub(crate) fn is_said(self) -> bool {
        Self::CHOICES.contains(&self)
    }

    /// Whether the machine may have lost its position.
    pub(crate) fn loses_position(self) -> bool {
        match self {
            Self::HitSomething | Self::Stalled | Self::PowerLost | Self::EmergencyStop => true,
            Self::NotAsked
            | Self::NotSaid
            | Self::SoundOrSmell
            | Self::SomethingSeen
            | Self::Planned => false,
        }
    }

    /// Why answers that depend on the machine's position become invalid, in words.
    pub(crate) fn because(self) -> &'static str {
        match self {
            Self::HitSomething => "something was hit",
            Self::Stalled => "the machine stalled",
            Self::PowerLost => "the power was lost",
            Self::EmergencyStop => "the emergency stop was pressed",
            Self::SoundOrSmell => "it was stopped for a sound or a smell",
            Self::SomethingSeen => "it was stopped for something seen",
            Self::Planned => "it was stopped on purpose",
            Self::NotAsked | Self::NotSaid => "it was stopped",
        }
    }

    /// Reads a typed cause, a number of [`Self::CHOICES`] or a word, with nothing after it.
    pub(crate) fn read(said: &str) -> Option<Self> {
        chosen(&Self::CHOICES, said, |cause, word| {
            Self::named(word) == Some(*cause)
        })
    }

    /// Reads a typed cause that is a word.
    pub(crate) fn named(said: &str) -> Option<Self> {
        let same = |word: &&str| word.eq_ignore_ascii_case(said);
        let mut all = Self::CHOICES.into_iter();
        all.find(|cause| same(&cause.word()) || cause.short().iter().any(same))
    }

    /// Reads a typed cause, and the words that follow it after a comma or colon.
    pub(crate) fn read_with_words(said: &str) -> Option<(Self, &str)> {
        match said.split_once([',', ':']) {
            Some((cause, words)) => Some((Self::read(cause)?, words.trim())),
            None => Some((Self::read(said)?, "")),
        }
    }

    /// Whether it is the cause of old records, in which it was not asked.
    pub(super) fn is_not_asked(&self) -> bool {
        *self == Self::NotAsked
    }
}

/// Reads a stored cause. Before version 5 the stored value says whether the emergency stop was pressed.
pub(super) fn cause<'de, D: Deserializer<'de>>(from: D) -> Result<Cause, D::Error> {
    #[derive(Deserialize)]
    #[serde(untagged)]
    enum Stored {
        Emergency(bool),
        Cause(Cause),
    }
    Ok(match Stored::deserialize(from)? {
        Stored::Cause(cause) => cause,
        Stored::Emergency(true) => Cause::EmergencyStop,
        Stored::Emergency(false) => Cause::NotAsked,
    })
}

/// Whether the machine stayed as it was while a run was left.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MachineContinuity {
    /// The machine had power all the time, and nobody moved it.
    Kept,
    /// The machine lost power, or somebody moved it.
    Lost,
    /// Nobody knows.
    NotKnown,
}

impl MachineContinuity {
    /// Every answer, in the order in which they are offered. The answer that invalidates nothing is not the first.
    pub(crate) const ALL: [Self; 3] = [Self::NotKnown, Self::Lost, Self::Kept];

    /// The words that are typed.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Kept => "power on and not moved",
            Self::Lost => "power lost or moved",
            Self::NotKnown => "not known",
        }
    }

    fn named(self, said: &str) -> bool {
        let short = match self {
            Self::Kept => "kept",
            Self::Lost => "lost",
            Self::NotKnown => "unknown",
        };
        [self.word(), short]
            .iter()
            .any(|word| word.eq_ignore_ascii_case(said))
    }

    /// Reads a typed answer, a number of [`Self::ALL`] or words.
    pub(crate) fn read(said: &str) -> Option<Self> {
        chosen(&Self::ALL, said, |kept, words| kept.named(words))
    }

    /// Why answers that depend on the machine's position become invalid, in words; `None` where the machine stayed as
    /// it was.
    pub(crate) fn because(self) -> Option<&'static str> {
        match self {
            Self::Kept => None,
            Self::Lost => Some("the machine lost power or was moved while the run was left"),
            Self::NotKnown => {
                Some("nobody knows whether the machine had power and stood still all the time")
            }
        }
    }
}

/// A stop whose cause is not recorded yet.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct OpenStop {
    /// The cut that the stop ended, if it ended one.
    pub cut: Option<super::instance::Instance>,
}

#[cfg(test)]
mod tests {
    use super::super::event::Event;
    use super::{Cause, CutEnd, MachineContinuity};

    #[test]
    fn a_cause_is_read_by_number_by_word_and_with_words_added() {
        assert_eq!(Cause::read("3"), Some(Cause::PowerLost));
        assert_eq!(Cause::read("Emergency"), Some(Cause::EmergencyStop));
        assert_eq!(Cause::read("smell"), Some(Cause::SoundOrSmell));
        for no in ["", "0", "8", "s", "smoke", "not said", "hit the clamp"] {
            assert_eq!(Cause::read(no), None, "{no}");
        }
        let result = Cause::read_with_words("hit something: the left clamp");
        assert_eq!(result, Some((Cause::HitSomething, "the left clamp")));
        assert_eq!(Cause::read_with_words("smoke, planned"), None);
        assert_eq!(MachineContinuity::read("3"), Some(MachineContinuity::Kept));
        assert_eq!(MachineContinuity::read("yes"), None);
    }

    /// Stops and cuts as version 4 wrote them.
    #[test]
    fn stops_of_version_4_load() {
        let read = |text: &str| serde_json::from_str::<Event>(text).unwrap();
        for (pressed, meant) in [(true, Cause::EmergencyStop), (false, Cause::NotAsked)] {
            let text =
                format!(r#"{{"stopped":{{"by":"AB","emergency":{pressed},"reason":"smoke"}}}}"#);
            let Event::Stopped { cause, reason, .. } = read(&text) else {
                panic!("{text}");
            };
            assert_eq!((cause, reason.as_str()), (meant, "smoke"));
        }
        for end in CutEnd::ALL {
            let text = format!(
                r#"{{"cut_ended":{{"at":{{"step":"cut","pass":1}},"how":"{}","by":"AB"}}}}"#,
                end.word()
            );
            let event = read(&text);
            assert!(
                matches!(&event, Event::CutEnded { how, cause: Cause::NotAsked, .. } if *how == end)
            );
            // An event without a cause is stored as before version 5.
            assert_eq!(serde_json::to_string(&event).unwrap(), text);
        }
        let text = r#"{"resumed":{"by":"AB","after_crash":true}}"#;
        assert!(matches!(read(text), Event::Resumed { kept: None, .. }));
    }
}
