//! The reasons why active codes are refused, and their words.

use crate::program::active::{ActiveGroup, LineFault};

/// Why a line of codes is refused.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum CodesRefusal {
    /// It cannot be read.
    Line(LineFault),
    /// Values differ from what they must be. Nobody can waive this.
    Differs(Vec<Difference>),
    /// Something endangers or was not expected. A named person may accept it with a reason.
    Look(Vec<Concern>),
}

/// A value that is not as it must be or is expected to be.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Difference {
    /// The group.
    pub group: ActiveGroup,
    /// The value that was read.
    pub shown: String,
    /// What it was compared with.
    pub against: Against,
    /// The value that was expected; `None` where it is not shown.
    pub wanted: Option<String>,
}

/// What a value was compared with.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Against {
    /// The examined program.
    Program,
    /// The codes that were read at an earlier step, which has this title.
    Earlier(String),
    /// The procedure, with its reason.
    Procedure(Option<String>),
}

/// What somebody should look at.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Concern {
    /// A code that endangers when it is left over from other work, with what it does.
    LeftOver(String, &'static str),
    /// A value that is not as expected.
    Unexpected(Difference),
}

impl Difference {
    fn words(&self) -> String {
        let row = self.group.row();
        let shown = &self.shown;
        let word = match self.group {
            ActiveGroup::H => "length offset number",
            _ => row.word,
        };
        let wanted = self
            .wanted
            .as_ref()
            .map_or(String::new(), |w| format!(", which has `{w}`"));
        let what = match &self.against {
            Against::Program => format!("`{shown}` is not the {word} of the program{wanted}"),
            Against::Earlier(title) => {
                format!("the {word} changed: `{shown}` is not what was read at \"{title}\"{wanted}")
            }
            Against::Procedure(because) => {
                let because = because
                    .as_ref()
                    .map_or(String::new(), |b| format!(" ({b})"));
                let wanted = self
                    .wanted
                    .as_ref()
                    .map_or(String::new(), |w| format!(", which is `{w}`"));
                format!("`{shown}` is not the {word} that this procedure needs{wanted}{because}")
            }
        };
        match self.group.left_over(shown) {
            Some(does) => format!("{what}; {does}"),
            None => what,
        }
    }
}

impl Concern {
    fn words(&self) -> String {
        match self {
            Self::LeftOver(code, does) => format!("`{code}` is active: {does}"),
            Self::Unexpected(difference) => difference.words(),
        }
    }

    /// As it is recorded when it is accepted.
    pub(super) fn limit(&self) -> String {
        match self {
            Self::LeftOver(code, _) => format!("`{code}` is not to be active"),
            Self::Unexpected(difference) => difference.words(),
        }
    }
}

impl CodesRefusal {
    /// The reason and what to do, in words for people.
    pub fn words(&self) -> String {
        match self {
            Self::Line(fault) => fault.words(),
            Self::Differs(differences) => {
                let what: Vec<String> = differences.iter().map(Difference::words).collect();
                let mut pages: Vec<&str> = Vec::new();
                for page in differences.iter().map(|d| d.group.row().page) {
                    if !pages.contains(&page) {
                        pages.push(page);
                    }
                }
                format!(
                    "{}. Put it right at the control, or go `back` to what it was compared with; then read the page of the {} again and type the whole line",
                    what.join("; "),
                    pages.join(" and of the ")
                )
            }
            Self::Look(concerns) => {
                let what: Vec<String> = concerns.iter().map(Concern::words).collect();
                format!(
                    "{}. Cancel it at the control and read the line again",
                    what.join("; ")
                )
            }
        }
    }

    /// Whether a reason makes it pass.
    pub fn can_be_accepted(&self) -> bool {
        matches!(self, Self::Look(_))
    }
}
