//! A finding with its location, and the list that collects findings.

/// A range of bytes in a text, end exclusive.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Span {
    /// Offset of the first byte.
    pub start: usize,
    /// Offset just past the last byte.
    pub end: usize,
}

impl Span {
    /// The range from `start` to `end`, exclusive.
    pub fn new(start: usize, end: usize) -> Self {
        Self { start, end }
    }

    /// The smallest range that contains both.
    #[must_use]
    pub(crate) fn to(self, other: Self) -> Self {
        Self::new(self.start.min(other.start), self.end.max(other.end))
    }
}

/// How serious a finding is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Grade {
    /// A person should check it; the file can be used.
    Look,
    /// The file cannot be used until this is corrected.
    Error,
}

/// A finding at a location in a file.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Finding {
    /// How serious the finding is.
    pub grade: Grade,
    /// What is wrong, in one line.
    pub message: String,
    /// The bytes of the file that a caret marks.
    pub span: Span,
    /// One or two words under the caret; may be empty.
    pub label: String,
    /// What to write instead.
    pub help: Option<String>,
}

/// A named text to which findings refer.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Source {
    /// The name of the file, as the person gave it.
    pub name: String,
    /// The whole text of the file.
    pub text: String,
}

impl Source {
    /// A source with this name and text.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            text: text.into(),
        }
    }

    /// Line and column of a byte (both from 1, column in characters).
    pub(crate) fn line_column(&self, byte: usize) -> (usize, usize) {
        let mut at = byte.min(self.text.len());
        while !self.text.is_char_boundary(at) {
            at -= 1;
        }
        let before = &self.text[..at];
        let line = before.matches('\n').count() + 1;
        let start = before.rfind('\n').map_or(0, |n| n + 1);
        (line, before[start..].chars().count() + 1)
    }

    /// The text of a line (from 1), without its end.
    pub(crate) fn line(&self, number: usize) -> &str {
        self.text
            .lines()
            .nth(number.saturating_sub(1))
            .unwrap_or("")
    }
}

/// The findings of one text; [`Findings::sorted`] puts them in the order of their locations.
#[derive(Clone, Debug, Default)]
pub struct Findings {
    all: Vec<Finding>,
    of_record: bool,
}

impl Findings {
    /// For the findings of a text that a record contains: rules made after the text was stored do not make it
    /// unreadable.
    pub fn of_record() -> Self {
        Self {
            all: Vec::new(),
            of_record: true,
        }
    }

    /// Adds an error by a rule that older texts in a record may break.
    pub(crate) fn newer_error(&mut self, span: Span, message: impl Into<String>) -> &mut Finding {
        if self.of_record {
            self.look(span, message)
        } else {
            self.error(span, message)
        }
    }

    /// Adds an error at a location.
    pub(crate) fn error(&mut self, span: Span, message: impl Into<String>) -> &mut Finding {
        self.add(Grade::Error, span, message.into())
    }

    /// Adds something to check at a location.
    pub(crate) fn look(&mut self, span: Span, message: impl Into<String>) -> &mut Finding {
        self.add(Grade::Look, span, message.into())
    }

    fn add(&mut self, grade: Grade, span: Span, message: String) -> &mut Finding {
        let index = self.all.len();
        self.all.push(Finding {
            grade,
            message,
            span,
            label: String::new(),
            help: None,
        });
        &mut self.all[index]
    }

    /// Whether any finding is an error.
    pub fn any_error(&self) -> bool {
        self.all.iter().any(|f| f.grade == Grade::Error)
    }

    /// Whether there are no findings.
    pub fn is_empty(&self) -> bool {
        self.all.is_empty()
    }

    /// All findings, in the order of their locations.
    pub fn sorted(mut self) -> Vec<Finding> {
        self.all.sort_by_key(|f| (f.span.start, f.span.end));
        self.all
    }
}

impl Finding {
    /// Sets the text that says what to write instead.
    pub(crate) fn help(&mut self, help: impl Into<String>) -> &mut Self {
        self.help = Some(help.into());
        self
    }
}
