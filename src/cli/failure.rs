//! Why a command failed: what, and what to do, and with which status it ends.

use super::status::Status;
use crate::book::BookError;
use crate::terminal::prompt::PromptError;
use crate::terminal::screen::{Style, wrap};
use crate::visible;
use crate::walk::WalkError;
use serde_json::json;
use std::fmt;

/// A failed command.
#[derive(Debug)]
pub struct Failure {
    /// How it ends.
    pub status: Status,
    /// A word for scripts.
    pub code: &'static str,
    /// The argument, or the file and line; none where the message says it.
    pub place: Option<String>,
    /// What is wrong.
    pub message: String,
    /// Findings drawn for the screen, line under line; perhaps none.
    pub drawn: String,
    /// What to do, one line each.
    pub hints: Vec<String>,
}

impl Failure {
    /// Wrong usage or unreadable input.
    pub(crate) fn usage(message: impl Into<String>) -> Self {
        Self::new(Status::Usage, message)
    }

    /// Wrong usage or unreadable input at a place: an argument, or a file and line.
    pub(crate) fn at(place: impl Into<String>, message: impl fmt::Display) -> Self {
        Self {
            place: Some(place.into()),
            ..Self::usage(message.to_string())
        }
    }

    /// The same, where the input can be read and the answer is withheld; `code` says why to scripts.
    #[must_use]
    pub(crate) fn withheld(mut self, code: &'static str) -> Self {
        self.status = Status::Held;
        self.code = code;
        self
    }

    /// What a command was asked for cannot be written to standard output.
    pub(crate) fn output(error: &std::io::Error) -> Self {
        let message = format!(
            "the answer could not be written ({error}); free the disk or pick another file"
        );
        Self {
            place: Some("standard output".to_owned()),
            code: "output",
            ..Self::new(Status::Failed, message)
        }
    }

    /// A failure with a status.
    pub(crate) fn new(status: Status, message: impl Into<String>) -> Self {
        Self {
            status,
            code: match status {
                Status::Fine | Status::Failed => "failed",
                Status::Usage => "input",
                Status::Held => "held",
                Status::Damaged => "damaged",
                Status::Interrupted => "interrupted",
            },
            place: None,
            message: message.into(),
            drawn: String::new(),
            hints: Vec::new(),
        }
    }

    /// Adds findings, drawn.
    #[must_use]
    pub(crate) fn drawn(mut self, drawn: String) -> Self {
        self.drawn = drawn;
        self
    }

    /// Adds what to do.
    #[must_use]
    pub(crate) fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hints.push(hint.into());
        self
    }

    /// The failure as one JSON object, for standard error.
    pub(crate) fn json(&self) -> String {
        let object = json!({
            "format": 1,
            "code": self.code,
            "place": self.place,
            "error": self.message,
            "help": self.hints,
        });
        // JSON escapes control characters; those that turn the direction of text are escaped here, in JSON's own way.
        visible::text(&object.to_string()).into_owned()
    }

    /// What to do about a damaged book.
    fn of_damage(self) -> Self {
        self.hint("`skimgate record verify` checks all of it")
            .hint("`skimgate record export RUN -o FILE` saves what is whole of a run")
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("error: ")?;
        if let Some(place) = &self.place {
            write!(f, "{}: ", visible::line(place))?;
        }
        f.write_str(&visible::line(&self.message))?;
        if !self.drawn.is_empty() {
            write!(f, "\n{}", self.drawn)?;
        }
        for hint in &self.hints {
            write!(f, "\n  help: {}", visible::line(hint))?;
        }
        Ok(())
    }
}

/// Long lines of a message broken at words, for a terminal; lines of a view with a caret stand under each other and stay as
/// they are.
pub(crate) fn wrapped(text: &str, style: &Style) -> String {
    let mut lines: Vec<String> = Vec::new();
    for line in text.lines() {
        let part = ["error: ", "  help: "]
            .into_iter()
            .find_map(|word| Some((word, line.strip_prefix(word)?)));
        let Some((word, rest)) = part else {
            lines.push(line.to_owned());
            continue;
        };
        // The words before it are as wide as what stands under them.
        let width = style.width.saturating_sub(word.len());
        for (n, row) in wrap(rest, width, style).into_iter().enumerate() {
            let before = if n == 0 { word } else { "" };
            lines.push(format!("{before:indent$}{row}", indent = word.len()));
        }
    }
    lines.join("\n")
}

/// An error with everything that caused it.
fn chain(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(next) = cause {
        let next_text = next.to_string();
        if !text.contains(&next_text) {
            text.push_str(&format!(": {next_text}"));
        }
        cause = next.source();
    }
    text
}

impl From<BookError> for Failure {
    fn from(error: BookError) -> Self {
        let status = match &error {
            BookError::Damaged { .. } => Status::Damaged,
            BookError::Held { .. }
            | BookError::MachineBusy { .. }
            | BookError::Overtaken { .. }
            | BookError::WentOn
            | BookError::LedgerOvertaken { .. } => Status::Held,
            BookError::Missing { .. }
            | BookError::Linked { .. }
            | BookError::NoSuchRun { .. }
            | BookError::ManyRuns { .. } => Status::Usage,
            _ => Status::Failed,
        };
        let failure = Self::new(status, chain(&error));
        if status == Status::Damaged {
            return failure.of_damage();
        }
        if matches!(error, BookError::Held { .. }) {
            return failure.hint(
                "an owner on the list of people can take its run over: `skimgate walk --take-over`",
            );
        }
        failure
    }
}

impl From<PromptError> for Failure {
    fn from(error: PromptError) -> Self {
        let status = match &error {
            PromptError::NoTerminal { .. }
            | PromptError::NoSecret
            | PromptError::Disagrees(_)
            | PromptError::Unanswered { .. } => Status::Usage,
            PromptError::NotForFile(_) => Status::Held,
            _ => Status::Failed,
        };
        Self::new(status, chain(&error))
    }
}

impl From<WalkError> for Failure {
    fn from(error: WalkError) -> Self {
        match error {
            WalkError::Book(error) | WalkError::GivenUp(error) => error.into(),
            WalkError::Prompter(error) => error.into(),
            error if error.damage().is_some() => {
                Self::new(Status::Damaged, chain(&error)).of_damage()
            }
            WalkError::TakenOver { .. } => Self::new(Status::Held, chain(&error))
                .hint("do not start the machine by what stands on this screen; if it runs, it is stopped at the machine"),
            WalkError::NoOwner => Self::new(Status::Held, chain(&error))
                .hint("leave the run at the terminal that has it; where that hangs, end it"),
            WalkError::NotTakenOver(_) => Self::new(Status::Held, chain(&error)),
            other => Self::new(Status::Failed, chain(&other)),
        }
    }
}

impl From<std::io::Error> for Failure {
    fn from(error: std::io::Error) -> Self {
        Self::new(Status::Failed, chain(&error))
    }
}

impl From<serde_json::Error> for Failure {
    fn from(error: serde_json::Error) -> Self {
        Self::new(Status::Failed, chain(&error))
    }
}

#[cfg(test)]
mod tests {
    use super::{Failure, wrapped};
    use crate::terminal::screen::Style;

    #[test]
    fn long_lines_break_at_words_under_each_other_and_the_rest_stays() {
        let failure = Failure::usage("no such thing as that here")
            .drawn("  |\n1 | a  b  c  d  e  f  g  h".to_owned())
            .hint("try the other thing first");
        let told = wrapped(&failure.to_string(), &Style::plain(20));
        assert_eq!(
            told,
            "error: no such thing\n       as that here\n  |\n1 | a  b  c  d  e  f  g  h\n  help: try the\n        other thing\n        first"
        );
    }
}
