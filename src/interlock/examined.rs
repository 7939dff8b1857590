//! The result of the examination of an NC program, as a run stores it. No floating point: lengths are exact, times are
//! in whole seconds.

use crate::procedure::program_facts::ProgramFact;
use crate::program::examine::Verdict;
use crate::program::vouched::DoubtReason;
use crate::quantity::{Length, Quantity};
use serde::{Deserialize, Serialize};

/// The verdict of an examination, as it is stored.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Judged {
    /// Nothing was found against it.
    Agrees,
    /// Somebody had to look at a finding and give a reason why it is right.
    Look,
    /// Some of it cannot be followed, so the examination cannot vouch for it.
    CannotVouch,
    /// The program must not be run as it is.
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
    /// The word for the verdict.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Agrees => "agrees",
            Self::Look => "look",
            Self::CannotVouch => "cannot vouch",
            Self::Stop => "stop",
        }
    }
}

/// What an examination found of a fact.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Found {
    /// The word that answers a question for it.
    Word(String),
    /// Its value.
    Quantity(Quantity),
    /// It is as it should be.
    So,
    /// It is not as it should be.
    Against {
        /// The code of the rule that is broken.
        code: String,
        /// The line, from 1; `None` where it is about the whole program.
        line: Option<u32>,
    },
    /// The examination cannot vouch for it.
    Doubtful {
        /// The reason.
        why: DoubtReason,
        /// The line of the block that caused it, from 1; `None` where no single block did.
        line: Option<u32>,
        /// The text of that block, where it was stored.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        block: String,
    },
}

/// A fact of a program, and what an examination found of it.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct FoundFact {
    /// The fact.
    pub fact: ProgramFact,
    /// What was found of it.
    pub found: Found,
}

impl Found {
    /// Why the examination cannot vouch for the fact, in words; `None` where it does.
    pub fn doubt_words(&self) -> Option<String> {
        let Self::Doubtful { why, line, block } = self else {
            return None;
        };
        let at = match (line, block.as_str()) {
            (None, _) => String::new(),
            (Some(line), "") => format!(" (line {line})"),
            (Some(line), block) => format!(" (line {line}: {block})"),
        };
        let why = match why {
            DoubtReason::NotFollowed => "a block that may change it cannot be followed",
            DoubtReason::NotSaid => "the program does not say it",
            DoubtReason::Several => "the program has more than one",
            DoubtReason::NoRows => "its path has no rows along X or Y",
            DoubtReason::SetUpUnknown => {
                "plate, its corner, cutter or travel is not in the shop file"
            }
            DoubtReason::HomeUnknown => "the height after a move home is not known",
            DoubtReason::BlockDelete => "it depends on the block delete switch",
        };
        Some(format!("{why}{at}"))
    }
}

/// The result of an examination.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Examined {
    /// The verdict.
    pub verdict: Judged,
    /// The codes of the broken rules in alphabetical order, each with its count.
    pub found: Vec<(String, u32)>,
    /// The units that the program sets, in the words that answer a question for them.
    #[serde(default)]
    pub units: Vec<String>,
    /// The work offsets that it cuts in.
    #[serde(default)]
    pub work_offsets: Vec<String>,
    /// The length offsets that it cuts with, 0 for none. Empty in records made before they were stored.
    #[serde(default)]
    pub length_offsets: Vec<u32>,
    /// The spindle speeds that it cuts with, in hundredths of a revolution per minute.
    #[serde(default)]
    pub speeds: Vec<i64>,
    /// The feeds that it cuts with, in hundredths of a millimetre per minute.
    #[serde(default)]
    pub feeds: Vec<i64>,
    /// The lowest Z that it cuts at, in the program's coordinates; `None` where the heights are not known.
    pub lowest_z: Option<Length>,
    /// What was found of each fact that a step may be answered with. Empty before facts were stored.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub facts: Vec<FoundFact>,
    /// The estimated running time in seconds; `None` where it is not known how the machine's axes move.
    pub seconds: Option<u32>,
}

impl Examined {
    /// What was found of a fact.
    pub fn found_of(&self, fact: ProgramFact) -> Option<&Found> {
        let found = self.facts.iter().find(|f| f.fact == fact);
        found.map(|f| &f.found)
    }

    /// The codes in one line.
    pub(crate) fn codes(&self) -> String {
        let code = |(code, count): &(String, u32)| match count {
            1 => code.clone(),
            more => format!("{code} ({more} times)"),
        };
        self.found.iter().map(code).collect::<Vec<_>>().join(", ")
    }

    /// Why the program is not accepted as it is, in words; `None` where it agrees.
    pub(crate) fn against(&self) -> Option<String> {
        let codes = self.codes();
        match self.verdict {
            Judged::Agrees => None,
            Judged::Look => Some(format!("somebody must look at the program: {codes}")),
            Judged::CannotVouch => Some(format!(
                "the examination cannot vouch for the program, because some of it cannot be followed: {codes}"
            )),
            Judged::Stop => Some(format!(
                "the program must not be run as it is: {codes}; correct it, or give the right file"
            )),
        }
    }
}
