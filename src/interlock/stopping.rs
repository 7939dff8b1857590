//! How a cut ended, why something was stopped, and whether a machine stayed as it was left.
//!
//! A stop is recorded at once, before anybody says why, so that a release falls with the first word. Until the cause is said
//! ([`Cause::NotSaid`]) nothing can be answered and nothing is released.

use crate::procedure::model::CUT_ENDS;
use serde::{Deserialize, Deserializer, Serialize};

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
    /// Every way, in the order in which they are offered.
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

    /// What it means.
    pub fn meaning(self) -> &'static str {
        match self {
            Self::Finished => "it ran to its end",
            Self::Stopped => "held or stopped before its end",
            Self::EmergencyStop => "the emergency stop was pressed",
        }
    }

    /// The way that was typed, by number or word.
    pub fn read(said: &str) -> Option<Self> {
        let said = said.trim();
        let number = said.parse::<usize>().ok();
        let by_number = number.and_then(|n| Self::ALL.get(n.checked_sub(1)?).copied());
        by_number.or_else(|| {
            let mut all = Self::ALL.into_iter();
            all.find(|end| end.word().eq_ignore_ascii_case(said))
        })
    }
}

/// Why a machine or a cut was stopped.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Default, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// Recorded before version 5 of the events, which did not ask.
    #[default]
    NotAsked,
    /// Asked, and not said yet.
    NotSaid,
    /// The cutter or the machine hit something.
    HitSomething,
    /// An axis or the spindle stalled.
    Stalled,
    /// The power was lost.
    PowerLost,
    /// The emergency stop was pressed.
    EmergencyStop,
    /// A sound or a smell.
    SoundOrSmell,
    /// Something that was seen.
    SomethingSeen,
    /// A stop that was meant.
    Planned,
}

impl Cause {
    /// What can be chosen, in the order in which it is offered.
    pub const CHOICES: [Self; 7] = [
        Self::HitSomething,
        Self::Stalled,
        Self::PowerLost,
        Self::EmergencyStop,
        Self::SoundOrSmell,
        Self::SomethingSeen,
        Self::Planned,
    ];

    /// The word for it.
    pub fn word(self) -> &'static str {
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

    /// What it means, where the word alone does not say.
    pub fn meaning(self) -> &'static str {
        match self {
            Self::HitSomething => "cutter, spindle or an axis",
            Self::Stalled => "an axis or the spindle",
            Self::PowerLost => "machine, drives or control",
            Self::EmergencyStop => "it was pressed, for whatever reason",
            Self::SomethingSeen => "smoke, chips, movement of plate or cutter",
            Self::NotAsked | Self::NotSaid | Self::SoundOrSmell | Self::Planned => "",
        }
    }

    /// Other words that stand for it at a prompt.
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

    /// Whether it was chosen by a person.
    pub fn is_said(self) -> bool {
        Self::CHOICES.contains(&self)
    }

    /// Whether the machine may no longer know where it stands.
    pub fn loses_position(self) -> bool {
        match self {
            Self::HitSomething | Self::Stalled | Self::PowerLost | Self::EmergencyStop => true,
            Self::NotAsked
            | Self::NotSaid
            | Self::SoundOrSmell
            | Self::SomethingSeen
            | Self::Planned => false,
        }
    }

    /// Why answers no longer hold that depend on the machine's position.
    pub fn because(self) -> &'static str {
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

    /// The cause that was typed: by number or by word, alone.
    pub fn read(said: &str) -> Option<Self> {
        let said = said.trim();
        let number = said.parse::<usize>().ok();
        let by_number = number.and_then(|n| Self::CHOICES.get(n.checked_sub(1)?).copied());
        by_number.or_else(|| Self::named(said))
    }

    /// The cause that a word names.
    pub fn named(said: &str) -> Option<Self> {
        let same = |word: &&str| word.eq_ignore_ascii_case(said);
        let mut all = Self::CHOICES.into_iter();
        all.find(|cause| same(&cause.word()) || cause.short().iter().any(same))
    }

    /// The cause that was typed, and what was added after a comma or colon.
    pub fn read_with_words(said: &str) -> Option<(Self, &str)> {
        match said.split_once([',', ':']) {
            Some((cause, words)) => Some((Self::read(cause)?, words.trim())),
            None => Some((Self::read(said)?, "")),
        }
    }

    /// Whether it is one that old records have, which did not ask.
    pub(super) fn is_not_asked(&self) -> bool {
        *self == Self::NotAsked
    }
}

/// A cause as stored since version 5, or as before: whether the emergency stop was pressed.
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
    /// It had power all the time, and nobody moved it.
    Kept,
    /// It lost power, or somebody moved it.
    Lost,
    /// Nobody knows.
    NotKnown,
}

impl MachineContinuity {
    /// Every answer, in the order in which they are offered: the one that asks nothing more does not stand first.
    pub const ALL: [Self; 3] = [Self::NotKnown, Self::Lost, Self::Kept];

    /// The word that is typed.
    pub fn word(self) -> &'static str {
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

    /// The answer that was typed, by number or word.
    pub fn read(said: &str) -> Option<Self> {
        let said = said.trim();
        let number = said.parse::<usize>().ok();
        let by_number = number.and_then(|n| Self::ALL.get(n.checked_sub(1)?).copied());
        by_number.or_else(|| {
            let mut all = Self::ALL.into_iter();
            all.find(|kept| kept.named(said))
        })
    }

    /// Why answers no longer hold that depend on the machine's position; none where it stayed as it was.
    pub fn because(self) -> Option<&'static str> {
        match self {
            Self::Kept => None,
            Self::Lost => Some("the machine lost power or was moved while the run was left"),
            Self::NotKnown => {
                Some("nobody knows whether the machine kept its power and stood still meanwhile")
            }
        }
    }
}

/// A stop whose cause nobody has said yet.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct OpenStop {
    /// The cut that it ended, if it ended one.
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
        let told = Cause::read_with_words("hit something: the left clamp");
        assert_eq!(told, Some((Cause::HitSomething, "the left clamp")));
        assert_eq!(Cause::read_with_words("smoke, planned"), None);
        assert_eq!(MachineContinuity::read("3"), Some(MachineContinuity::Kept));
        assert_eq!(MachineContinuity::read("yes"), None);
        assert_eq!(CutEnd::read("Emergency stop"), Some(CutEnd::EmergencyStop));
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
            // What has no cause is written as before.
            assert_eq!(serde_json::to_string(&event).unwrap(), text);
        }
        let text = r#"{"resumed":{"by":"AB","after_crash":true}}"#;
        assert!(matches!(read(text), Event::Resumed { kept: None, .. }));
    }
}
