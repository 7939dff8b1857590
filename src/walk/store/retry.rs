//! When the book cannot be read or written for a reason that may pass: the walk says so and asks, instead of ending. What
//! was typed is not asked again; each try decides anew, with the time, the people and the program file as they are then.

use crate::interlock::answer::Origin;
use crate::report::page::{Page, Tone};
use crate::terminal::prompt::{Prompter, Question, QuestionPart, Reply};
use crate::walk::error::WalkError;
use crate::walk::session::Session;

/// The word that tries again.
const AGAIN: &str = "again";

/// Says what failed and asks whether to try again; returns when it is to be tried. `warning` is what to do at the machine
/// meanwhile.
///
/// # Errors
/// The failure itself, where it will not pass or nobody is at a terminal; [`WalkError::GivenUp`] where the person leaves.
pub(crate) fn again(
    prompter: &mut dyn Prompter,
    error: WalkError,
    warning: Option<&str>,
) -> Result<(), WalkError> {
    let error = match error {
        WalkError::Book(error) if error.may_pass() && prompter.origin() == Origin::Terminal => {
            error
        }
        other => {
            if let Some(warning) = warning {
                prompter.show(&Page::new().toned(Tone::Stop, warning))?;
            }
            return Err(other);
        }
    };
    let mut page = Page::new().gap();
    if let Some(warning) = warning {
        page = page.toned(Tone::Stop, warning);
    }
    let page = page
        .toned(Tone::Stop, format!("Not stored yet: {error}."))
        .next(format!(
            "What you typed is not lost. Type `{AGAIN}`, or press Enter, to store it; `leave` leaves without it."
        ));
    prompter.show(&page)?;
    loop {
        let ask = Question::new(
            "again or leave",
            "book",
            QuestionPart::Other(AGAIN.to_owned()),
        );
        let said = match prompter.ask(&ask)? {
            Reply::Said(said) => said.trim().to_lowercase(),
            Reply::Interrupted | Reply::Closed => return Err(WalkError::GivenUp(error)),
        };
        match said.as_str() {
            "" | AGAIN | "try again" => return Ok(()),
            "leave" => return Err(WalkError::GivenUp(error)),
            _ => {
                let text =
                    format!("Nothing else can be stored before this. Type `{AGAIN}` or `leave`.");
                let mut page = Page::new();
                if let Some(warning) = warning {
                    page = page.toned(Tone::Stop, warning);
                }
                prompter.show(&page.toned(Tone::Look, text))?;
            }
        }
    }
}

/// Does something as often as the person tries again.
///
/// # Errors
/// Those of [`again`].
pub(crate) fn insist<T>(
    prompter: &mut dyn Prompter,
    mut attempt: impl FnMut(&mut dyn Prompter) -> Result<T, WalkError>,
) -> Result<T, WalkError> {
    loop {
        match attempt(prompter) {
            Ok(done) => return Ok(done),
            Err(error) => again(prompter, error, None)?,
        }
    }
}

impl Session<'_> {
    /// Does something with the book as often as the person tries again.
    pub(crate) fn insist<T>(
        &mut self,
        warning: Option<&str>,
        mut attempt: impl FnMut(&mut Self) -> Result<T, WalkError>,
    ) -> Result<T, WalkError> {
        loop {
            match attempt(self) {
                Ok(done) => return Ok(done),
                Err(error) => again(self.prompter, error, warning)?,
            }
        }
    }
}
