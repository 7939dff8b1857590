//! The tree of a YAML file: only texts, lists and maps, each with its place in the file.

use crate::diagnostics::Span;

/// A text with its place.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Scalar {
    /// The text after YAML's own unquoting and folding.
    pub text: String,
    /// Its place, including quotes.
    pub span: Span,
    /// The places of the text's bytes in the file.
    pub bytes: Bytes,
    /// Whether it was written in quotes.
    pub quoted: bool,
}

/// The places of a text's bytes in the file.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Bytes {
    /// One after the other, starting at this byte.
    Run(usize),
    /// Each byte at its own place, for a text that is folded over lines.
    Each(Vec<usize>),
    /// Not known, for a text with escapes.
    Unknown,
}

impl Scalar {
    /// The place in the file for a place in the text.
    pub(crate) fn place(&self, inside: Span) -> Span {
        match &self.bytes {
            Bytes::Run(first) => Span::new(first + inside.start, first + inside.end),
            Bytes::Each(places) => {
                let at = |i: usize| places.get(i).copied();
                let start = at(inside.start).unwrap_or(self.span.end);
                let end = inside.end.checked_sub(1).and_then(at);
                Span::new(start, end.map_or(start, |e| e + 1).max(start))
            }
            Bytes::Unknown => self.span,
        }
    }
}

/// A value of a YAML file.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Node {
    /// A text.
    Scalar(Scalar),
    /// A list.
    List(Vec<Node>, Span),
    /// A map in its written order, with unique keys.
    Map(Vec<(Scalar, Node)>, Span),
    /// A key with nothing after it, or `~`, or `null`.
    Blank(Span),
}

impl Node {
    /// The place in the file.
    pub(crate) fn span(&self) -> Span {
        match self {
            Self::Scalar(s) => s.span,
            Self::List(_, span) | Self::Map(_, span) | Self::Blank(span) => *span,
        }
    }

    /// The kind of value with an article, for messages.
    pub(crate) fn what(&self) -> &'static str {
        match self {
            Self::Scalar(_) => "a text",
            Self::List(..) => "a list",
            Self::Map(..) => "a map",
            Self::Blank(_) => "nothing",
        }
    }
}

/// The places of a text that is folded over lines. It has the file's characters in the same order, with other blanks
/// between them.
pub(crate) fn folded(text: &str, raw: &str, start: usize) -> Bytes {
    let mut letters = raw.char_indices().filter(|(_, c)| !c.is_whitespace());
    let mut places = Vec::with_capacity(text.len());
    let mut last = start;
    for c in text.chars() {
        if !c.is_whitespace() {
            match letters.next() {
                Some((at, found)) if found == c => last = start + at,
                _ => return Bytes::Unknown,
            }
        }
        places.extend((0..c.len_utf8()).map(|i| last + i));
    }
    Bytes::Each(places)
}
