//! What stops the command, and where.

use crate::cli::Status;
use std::fmt;

/// Something wrong: where it is, what it is with what to do, and the exit status.
#[derive(Debug)]
pub struct Fault {
    /// The flag, or the file and line.
    pub place: String,
    /// What is wrong and what to do.
    pub what: String,
    /// A word for scripts.
    pub code: &'static str,
    /// The exit status.
    pub status: Status,
}

impl Fault {
    /// Wrong usage or unreadable input.
    pub fn usage(place: impl Into<String>, what: impl fmt::Display) -> Self {
        Self {
            place: place.into(),
            what: what.to_string(),
            code: "input",
            status: Status::Usage,
        }
    }

    /// Two columns that disagree: the answer is withheld.
    pub fn held(place: impl Into<String>, what: impl fmt::Display) -> Self {
        Self {
            code: "mismatch",
            status: Status::Held,
            ..Self::usage(place, what)
        }
    }

    /// A figure past what cutter or mill can take: the answer is withheld.
    pub fn over(place: impl Into<String>, what: impl fmt::Display) -> Self {
        Self {
            code: "limit",
            status: Status::Held,
            ..Self::usage(place, what)
        }
    }

    /// The answer could not be written.
    pub fn output(error: &std::io::Error) -> Self {
        Self {
            code: "output",
            status: Status::Failed,
            ..Self::usage(
                "standard output",
                format!(
                    "the answer could not be written ({error}); free the disk or pick another file"
                ),
            )
        }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.what)
    }
}
