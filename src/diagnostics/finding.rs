//! One finding, its place, and the list they collect in.

/// A place in a text, in bytes, end exclusive.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Span {
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

impl Span {
    /// From `start` up to, not including, `end`.
    pub fn new(start: usize, end: usize) -> Self {
        Self { start, end }
    }

    /// The smallest place that holds both.
    #[must_use]
    pub fn to(self, other: Self) -> Self {
        Self::new(self.start.min(other.start), self.end.max(other.end))
    }
}

/// How grave a finding is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Grade {
    /// Worth a look; does not stop the use of the file.
    Look,
    /// The file cannot be used until this is mended.
    Error,
}

/// Something found at a place of a file.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Finding {
    /// How grave.
    pub grade: Grade,
    /// What is wrong, in one line.
    pub message: String,
    /// The bytes of the file that a caret is drawn under.
    pub span: Span,
    /// A word or two under the caret; may be empty.
    pub label: String,
    /// What to write instead.
    pub help: Option<String>,
}

/// A named text in which things are found.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Source {
    /// The file's name as the person gave it.
    pub name: String,
    /// Its whole text.
    pub text: String,
}

impl Source {
    /// A named text.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            text: text.into(),
        }
    }

    /// Line and column (both from 1, column in characters) of a byte.
    pub fn line_column(&self, byte: usize) -> (usize, usize) {
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
    pub fn line(&self, number: usize) -> &str {
        self.text
            .lines()
            .nth(number.saturating_sub(1))
            .unwrap_or("")
    }
}

/// The findings of one text, in the order of their places once [`Findings::sorted`].
#[derive(Clone, Debug, Default)]
pub struct Findings {
    all: Vec<Finding>,
    of_record: bool,
}

impl Findings {
    /// The findings of a text that a record keeps: rules made after it was stored do not make it unreadable.
    pub fn of_record() -> Self {
        Self {
            all: Vec::new(),
            of_record: true,
        }
    }

    /// Adds an error by a rule that older texts on record may break.
    pub fn newer_error(&mut self, span: Span, message: impl Into<String>) -> &mut Finding {
        if self.of_record {
            self.look(span, message)
        } else {
            self.error(span, message)
        }
    }

    /// Adds an error at a place.
    pub fn error(&mut self, span: Span, message: impl Into<String>) -> &mut Finding {
        self.add(Grade::Error, span, message.into())
    }

    /// Adds something worth a look at a place.
    pub fn look(&mut self, span: Span, message: impl Into<String>) -> &mut Finding {
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

    /// Whether any of them is an error.
    pub fn any_error(&self) -> bool {
        self.all.iter().any(|f| f.grade == Grade::Error)
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.all.is_empty()
    }

    /// All, in the order of their places.
    pub fn sorted(mut self) -> Vec<Finding> {
        self.all.sort_by_key(|f| (f.span.start, f.span.end));
        self.all
    }
}

impl Finding {
    /// Puts a word or two under the caret.
    pub fn label(&mut self, label: impl Into<String>) -> &mut Self {
        self.label = label.into();
        self
    }

    /// Says what to write instead.
    pub fn help(&mut self, help: impl Into<String>) -> &mut Self {
        self.help = Some(help.into());
        self
    }
}
