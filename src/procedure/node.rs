//! The tree that a YAML file is read into: texts, lists and maps that each know where they stand, and nothing else.

use crate::diagnostics::Span;

/// A text with its place.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Scalar {
    /// The text after YAML's own unquoting and folding.
    pub text: String,
    /// Where it stands, quotes included.
    pub span: Span,
    /// Where the bytes of the text stand in the file.
    pub bytes: Bytes,
    /// Whether it was written in quotes.
    pub quoted: bool,
}

/// Where the bytes of a text stand in the file.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Bytes {
    /// One after the other from this byte on.
    Run(usize),
    /// Each byte at its own place, in texts that are folded over lines.
    Each(Vec<usize>),
    /// Not to be told, in texts with escapes.
    Unknown,
}

impl Scalar {
    /// The place in the file of a place in the text.
    pub fn place(&self, inside: Span) -> Span {
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
    /// A map in its written order, keys unique.
    Map(Vec<(Scalar, Node)>, Span),
    /// A key with nothing after it, or `~`, or `null`.
    Blank(Span),
}

impl Node {
    /// Where it stands.
    pub fn span(&self) -> Span {
        match self {
            Self::Scalar(s) => s.span,
            Self::List(_, span) | Self::Map(_, span) | Self::Blank(span) => *span,
        }
    }

    /// What it is, with an article, for messages.
    pub fn what(&self) -> &'static str {
        match self {
            Self::Scalar(_) => "a text",
            Self::List(..) => "a list",
            Self::Map(..) => "a map",
            Self::Blank(_) => "nothing",
        }
    }
}

/// The places of a text that is folded over lines: it has the letters of the file in their order, with other blanks
/// between them.
pub fn folded(text: &str, raw: &str, start: usize) -> Bytes {
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
