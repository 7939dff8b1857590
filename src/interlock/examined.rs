//! What the examination of an NC program came to, as a run keeps it. No floating point: lengths are on the grid, times
//! in whole seconds.

use crate::program::examine::Verdict;
use crate::quantity::Length;
use serde::{Deserialize, Serialize};

/// What it came to, as it is stored.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Judged {
    /// Nothing known then spoke against it.
    Agrees,
    /// Somebody had to look, and say why it is right.
    Look,
    /// Some of it cannot be followed, so nothing is said for it.
    CannotVouch,
    /// It must not be run so.
    Stop,
}

impl From<Verdict> for Judged {
    fn from(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Agrees => Self::Agrees,
            Verdict::Look => Self::Look,
            Verdict::CannotVouch => Self::CannotVouch,
            Verdict::Stop => Self::Stop,
        }
    }
}

impl Judged {
    /// Its words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Agrees => "agrees",
            Self::Look => "look",
            Self::CannotVouch => "cannot vouch",
            Self::Stop => "stop",
        }
    }
}

/// What the examination came to.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Examined {
    /// In a word.
    pub verdict: Judged,
    /// Codes of the rules broken, in alphabetical order, and how often each.
    pub found: Vec<(String, u32)>,
    /// The units it sets, as a question for them is answered.
    #[serde(default)]
    pub units: Vec<String>,
    /// The work offsets it cuts in.
    #[serde(default)]
    pub work_offsets: Vec<String>,
    /// The length offsets it cuts with, 0 for none; empty in records from before they were kept.
    #[serde(default)]
    pub length_offsets: Vec<u32>,
    /// The speeds it cuts with, in hundredths of a turn a minute.
    #[serde(default)]
    pub speeds: Vec<i64>,
    /// The feeds it cuts with, in hundredths of a millimetre a minute.
    #[serde(default)]
    pub feeds: Vec<i64>,
    /// The lowest cut in the program's coordinates, where it cuts at known heights.
    pub lowest_z: Option<Length>,
    /// How long it was reckoned to run, in seconds, where it is known how the machine's axes move.
    pub seconds: Option<u32>,
}

impl Examined {
    /// The codes in one line.
    pub fn codes(&self) -> String {
        let code = |(code, count): &(String, u32)| match count {
            1 => code.clone(),
            more => format!("{code} ({more} times)"),
        };
        self.found.iter().map(code).collect::<Vec<_>>().join(", ")
    }

    /// Why it does not pass as it is; nothing where it agrees.
    pub fn against(&self) -> Option<String> {
        let codes = self.codes();
        match self.verdict {
            Judged::Agrees => None,
            Judged::Look => Some(format!("the program wants a look: {codes}")),
            Judged::CannotVouch => Some(format!(
                "nothing can be vouched for, since some of the program cannot be followed: {codes}"
            )),
            Judged::Stop => Some(format!(
                "the program must not be run so: {codes}; mend it, or give the right file"
            )),
        }
    }
}
