//! YAML with places: the only file that names the YAML crate.
//!
//! Files are read into a tree of texts that each know where they stand, and nothing else: numbers, booleans and blanks
//! are told apart later, by our own code, so that `0.10` stays what was written, `.nan` never becomes a number, and one
//! pass can report every fault of a file. Anchors, aliases, tags and second documents are refused: a procedure that
//! people sign must read the same top to bottom.

use super::yaml_fault;
use crate::diagnostics::{Findings, Span};
use serde_yaml::granit_parser::{Event, Parser, ScalarStyle, Span as YamlSpan, StructureStyle};

/// Deepest nesting taken.
const DEEPEST: usize = 24;
/// Most nodes taken from one file.
const MOST_NODES: usize = 50_000;

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

/// Reads one YAML document. Faults go to `findings`. A text that is no YAML gives `None`: half a file would only add
/// faults that are none, such as keys that stand further down. After any other fault the tree is whole.
pub fn parse(text: &str, findings: &mut Findings) -> Option<Node> {
    let mut reader = Reader {
        text,
        findings,
        open: Vec::new(),
        root: None,
        nodes: 0,
        unsound: false,
    };
    reader.run();
    if reader.unsound {
        return None;
    }
    let root = reader.root;
    if root.is_none() && !findings.any_error() {
        findings
            .error(Span::new(0, 0), "the file is empty")
            .help("`skimgate init` writes one to start from");
    }
    root
}

enum Open {
    List(Vec<Node>, Span, StructureStyle),
    Map(Vec<(Scalar, Node)>, Span, Option<Scalar>, StructureStyle),
}

impl Open {
    /// Where its `[` or `{` stands, if it has one.
    fn bracket(&self) -> Option<usize> {
        let (Self::List(_, span, style) | Self::Map(_, span, _, style)) = self;
        (*style == StructureStyle::Flow).then_some(span.start)
    }
}

struct Reader<'a> {
    text: &'a str,
    findings: &'a mut Findings,
    open: Vec<Open>,
    root: Option<Node>,
    nodes: usize,
    /// Whether the tree is not what the writer meant, so that more findings would mislead.
    unsound: bool,
}

impl Reader<'_> {
    fn run(&mut self) {
        let mut documents = 0;
        for next in Parser::new_from_str(self.text) {
            let (event, span) = match next {
                Ok(found) => found,
                Err(e) => {
                    let at = e
                        .marker()
                        .byte_offset()
                        .unwrap_or_else(|| byte_of(self.text, e.marker().line(), e.marker().col()));
                    let unclosed = self.open.last().and_then(Open::bracket);
                    let plain = yaml_fault::plain(&e.info(), self.text, at, unclosed);
                    self.findings
                        .error(plain.span, plain.message)
                        .help(plain.help);
                    self.unsound = true;
                    break;
                }
            };
            let span = self.place(span);
            match event {
                Event::DocumentStart(..) => {
                    documents += 1;
                    if documents > 1 {
                        self.findings
                            .error(span, "a second document starts here")
                            .help("keep one document to a file; remove the `---`");
                        self.unsound = true;
                        break;
                    }
                }
                Event::Alias(_) | Event::UnresolvedAlias(_) => {
                    self.findings
                        .error(span, "aliases (`*name`) are not taken")
                        .help("write the value out where it is used; put a text that begins with * in quotes");
                    self.unsound = true;
                    self.put(Node::Blank(span));
                }
                Event::Scalar(value, style, anchor, tag) => {
                    self.properties(span, anchor, tag.is_some());
                    let node = self.scalar(&value, style, span);
                    self.put(node);
                }
                Event::SequenceStart(style, anchor, tag) => {
                    self.properties(span, anchor, tag.is_some());
                    self.open.push(Open::List(Vec::new(), span, style));
                }
                Event::MappingStart(style, anchor, tag) => {
                    self.properties(span, anchor, tag.is_some());
                    self.open.push(Open::Map(Vec::new(), span, None, style));
                }
                Event::SequenceEnd | Event::MappingEnd => self.close(span),
                _ => {}
            }
            if self.open.len() > DEEPEST {
                self.findings
                    .error(span, "nested too deep to be meant")
                    .help("no procedure or shop file goes deeper than ten levels; is a bracket too many?");
                self.unsound = true;
                break;
            }
            if self.nodes > MOST_NODES {
                self.findings
                    .error(span, "the file has too many values to be meant")
                    .help(format!(
                        "at most {MOST_NODES} are read; is it the right file?"
                    ));
                self.unsound = true;
                break;
            }
        }
    }

    fn place(&self, span: YamlSpan) -> Span {
        let byte = |m: serde_yaml::granit_parser::Marker| {
            m.byte_offset()
                .unwrap_or_else(|| byte_of(self.text, m.line(), m.col()))
        };
        Span::new(byte(span.start), byte(span.end))
    }

    fn properties(&mut self, span: Span, anchor: usize, tag: bool) {
        if anchor != 0 {
            self.findings
                .error(self.before(span, '&'), "anchors (`&name`) are not taken")
                .help("remove the anchor and write values out where they are used");
        }
        if tag {
            self.findings
                .error(self.before(span, '!'), "tags (`!name`) are not taken")
                .help("remove the tag; put a text that begins with ! in quotes");
        }
    }

    /// The word before `span`, on its line, that begins with `sign`; `span` itself where there is none.
    fn before(&self, span: Span, sign: char) -> Span {
        let text = self.text.get(..span.start).unwrap_or("");
        let line = text.rfind('\n').map_or(0, |n| n + 1);
        let words = text.get(line..).unwrap_or("").split_inclusive([' ', '\t']);
        let mut at = line;
        for word in words {
            let trimmed = word.trim_end();
            if trimmed.starts_with(sign) {
                return Span::new(at, at + trimmed.len());
            }
            at += word.len();
        }
        span
    }

    fn scalar(&self, value: &str, style: ScalarStyle, span: Span) -> Node {
        let plain = style == ScalarStyle::Plain;
        if plain && matches!(value, "" | "~" | "null" | "Null" | "NULL") {
            return Node::Blank(span);
        }
        let text = value.trim_end_matches('\n').to_owned();
        let raw = self.text.get(span.start..span.end).unwrap_or("");
        let raw = raw.trim_end();
        let span = Span::new(span.start, span.start + raw.len());
        let bytes = match raw.find(text.as_str()) {
            Some(inner) if !text.is_empty() => Bytes::Run(span.start + inner),
            _ => folded(&text, raw, span.start),
        };
        Node::Scalar(Scalar {
            text,
            span,
            bytes,
            quoted: !plain,
        })
    }

    fn put(&mut self, node: Node) {
        self.nodes += 1;
        match self.open.last_mut() {
            None => {
                if self.root.is_none() {
                    self.root = Some(node);
                }
            }
            Some(Open::List(items, ..)) => items.push(node),
            Some(Open::Map(pairs, _, key @ None, _)) => match node {
                Node::Scalar(scalar) => {
                    if pairs.iter().any(|(k, _)| k.text == scalar.text) {
                        self.findings
                            .error(scalar.span, format!("`{}` stands here twice", scalar.text))
                            .help("keep one of the two");
                    }
                    *key = Some(scalar);
                }
                other => {
                    self.findings
                        .error(
                            other.span(),
                            format!("a key must be a text, and this is {}", other.what()),
                        )
                        .help("write `key: value`, with a text before the colon");
                    self.unsound = true;
                    *key = Some(Scalar {
                        text: String::new(),
                        span: other.span(),
                        bytes: Bytes::Unknown,
                        quoted: false,
                    });
                }
            },
            Some(Open::Map(pairs, _, key, _)) => {
                if let Some(key) = key.take() {
                    if let Node::Blank(_) = node
                        && !colon_follows(self.text, key.span.end)
                    {
                        self.findings
                            .error(key.span, format!("`{}` stands here without a value", key.text))
                            .help("inside { } a comma ends a text; put a text that contains a comma in quotes");
                        return;
                    }
                    // Of a doubled key the first counts; the fault is reported above.
                    if !pairs.iter().any(|(k, _)| k.text == key.text) {
                        pairs.push((key, node));
                    }
                }
            }
        }
    }

    fn close(&mut self, end: Span) {
        match self.open.pop() {
            Some(Open::List(items, start, style)) => {
                let last = items.last().map(Node::span);
                let span = whole(start, last, end, style);
                self.put(Node::List(items, span));
            }
            Some(Open::Map(mut pairs, start, key, style)) => {
                if let Some(key) = key {
                    let span = key.span;
                    pairs.push((key, Node::Blank(span)));
                }
                let last = pairs.last().map(|(k, node)| k.span.to(node.span()));
                let span = whole(start, last, end, style);
                self.put(Node::Map(pairs, span));
            }
            None => {}
        }
    }
}

/// The place of a list or map: up to its bracket, or up to the last thing in it where it has none.
fn whole(start: Span, last: Option<Span>, end: Span, style: StructureStyle) -> Span {
    match last {
        Some(last) if style == StructureStyle::Block => start.to(last),
        _ => start.to(end),
    }
}

/// The places of a text that is folded over lines: it has the letters of the file in their order, with other blanks
/// between them.
fn folded(text: &str, raw: &str, start: usize) -> Bytes {
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

/// Whether a colon is the next thing after a key. In a map in braces a key may stand alone, which nobody means.
fn colon_follows(text: &str, at: usize) -> bool {
    text.get(at..)
        .is_some_and(|rest| rest.trim_start().starts_with(':'))
}

/// Byte of a line (from 1) and column (from 0, in characters).
fn byte_of(text: &str, line: usize, column: usize) -> usize {
    let start: usize = text
        .split_inclusive('\n')
        .take(line.saturating_sub(1))
        .map(str::len)
        .sum();
    let rest = text.get(start..).unwrap_or("");
    start
        + rest
            .char_indices()
            .nth(column)
            .map_or(rest.len(), |(i, _)| i)
}

#[cfg(test)]
mod tests {
    use super::{Node, parse};
    use crate::diagnostics::{Findings, Span};

    fn faults(text: &str) -> Vec<String> {
        let mut findings = Findings::default();
        parse(text, &mut findings);
        findings.sorted().into_iter().map(|f| f.message).collect()
    }

    #[test]
    fn texts_keep_what_was_written_and_where() {
        let text = "\u{feff}a: 0.10\r\nb: [x, \"y z\"]\r\nc:\r\n";
        let mut findings = Findings::default();
        let Some(Node::Map(pairs, _)) = parse(text, &mut findings) else {
            panic!("not a map");
        };
        assert!(findings.is_empty());
        let Node::Scalar(a) = &pairs[0].1 else {
            panic!()
        };
        assert_eq!(
            (a.text.as_str(), &text[a.span.start..a.span.end]),
            ("0.10", "0.10")
        );
        let Node::List(items, _) = &pairs[1].1 else {
            panic!()
        };
        let Node::Scalar(y) = &items[1] else { panic!() };
        let place = y.place(Span::new(0, 3));
        assert_eq!(&text[place.start..place.end], "y z");
        assert!(matches!(pairs[2].1, Node::Blank(_)));
    }

    #[test]
    fn what_would_read_differently_is_refused() {
        assert!(faults("a: &x 1\nb: *x\n").len() == 2);
        assert!(faults("a: !t 1\n")[0].contains("tags"));
        assert!(faults("a: 1\n---\nb: 2\n")[0].contains("second document"));
        assert!(faults("a: 1\na: 2\n")[0].contains("twice"));
        assert!(faults("a: [1\n")[0].contains("never closed"));
        assert!(faults("")[0].contains("empty"));
        assert!(faults(&format!("{}{}", "[".repeat(100), "]".repeat(100)))[0].contains("deep"));
        assert!(faults("? [a]\n: b\n")[0].contains("must be a text"));
    }
}
