//! YAML with places: the only file that names the YAML crate.
//!
//! Files are read into a tree of texts that each know where they stand, and nothing else: numbers, booleans and blanks
//! are told apart later, by our own code, so that `0.10` stays what was written, `.nan` never becomes a number, and one
//! pass can report every fault of a file. Anchors, aliases, tags and second documents are refused: a procedure that
//! people sign must read the same top to bottom.

use crate::diagnostics::{Findings, Span};
use serde_yaml::granit_parser::{Event, Parser, ScalarStyle, Span as YamlSpan};

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
    /// Bytes from the start of the place to the first byte of the text; `None` where the text is not one plain run
    /// of bytes (folded, escaped), so that places inside it cannot be told.
    pub inner: Option<usize>,
    /// Whether it was written in quotes.
    pub quoted: bool,
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

/// Reads one YAML document. Faults go to `findings`; what could be read is returned all the same.
pub fn parse(text: &str, findings: &mut Findings) -> Option<Node> {
    let mut reader = Reader {
        text,
        findings,
        open: Vec::new(),
        root: None,
        nodes: 0,
    };
    reader.run();
    let root = reader.root;
    if root.is_none() && !findings.any_error() {
        findings
            .error(Span::new(0, 0), "the file is empty")
            .help("`skimgate init` writes one to start from");
    }
    root
}

enum Open {
    List(Vec<Node>, Span),
    Map(Vec<(Scalar, Node)>, Span, Option<Scalar>),
}

struct Reader<'a> {
    text: &'a str,
    findings: &'a mut Findings,
    open: Vec<Open>,
    root: Option<Node>,
    nodes: usize,
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
                    self.findings
                        .error(Span::new(at, at), format!("this is not YAML: {}", e.info()))
                        .help("mend this first; what stands after it was not read");
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
                        break;
                    }
                }
                Event::Alias(_) | Event::UnresolvedAlias(_) => {
                    self.findings
                        .error(span, "aliases (`*name`) are not taken")
                        .help("write the value out where it is used");
                    self.put(Node::Blank(span));
                }
                Event::Scalar(value, style, anchor, tag) => {
                    self.properties(span, anchor, tag.is_some());
                    let node = self.scalar(&value, style, span);
                    self.put(node);
                }
                Event::SequenceStart(_, anchor, tag) => {
                    self.properties(span, anchor, tag.is_some());
                    self.open.push(Open::List(Vec::new(), span));
                }
                Event::MappingStart(_, anchor, tag) => {
                    self.properties(span, anchor, tag.is_some());
                    self.open.push(Open::Map(Vec::new(), span, None));
                }
                Event::SequenceEnd | Event::MappingEnd => self.close(span),
                _ => {}
            }
            if self.open.len() > DEEPEST {
                self.findings.error(span, "nested too deep to be meant");
                break;
            }
            if self.nodes > MOST_NODES {
                self.findings
                    .error(span, "the file has too many values to be meant");
                break;
            }
        }
        // After a fault, what stands open is closed so that the rest of the checks can run over what was read.
        while !self.open.is_empty() {
            self.close(Span::new(self.text.len(), self.text.len()));
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
                .error(span, "anchors (`&name`) are not taken")
                .help("remove the anchor and write values out where they are used");
        }
        if tag {
            self.findings
                .error(span, "tags (`!name`) are not taken")
                .help("remove the tag");
        }
    }

    fn scalar(&self, value: &str, style: ScalarStyle, span: Span) -> Node {
        let plain = style == ScalarStyle::Plain;
        if plain && matches!(value, "" | "~" | "null" | "Null" | "NULL") {
            return Node::Blank(span);
        }
        let text = value.trim_end_matches('\n').to_owned();
        let raw = self.text.get(span.start..span.end).unwrap_or("");
        let inner = raw.find(text.as_str()).filter(|_| !text.is_empty());
        Node::Scalar(Scalar {
            text,
            span,
            inner,
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
            Some(Open::List(items, _)) => items.push(node),
            Some(Open::Map(pairs, _, key @ None)) => match node {
                Node::Scalar(scalar) => {
                    if pairs.iter().any(|(k, _)| k.text == scalar.text) {
                        self.findings
                            .error(scalar.span, format!("`{}` stands here twice", scalar.text))
                            .help("keep one of the two");
                    }
                    *key = Some(scalar);
                }
                other => {
                    self.findings.error(
                        other.span(),
                        format!("a key must be a text, and this is {}", other.what()),
                    );
                    *key = Some(Scalar {
                        text: String::new(),
                        span: other.span(),
                        inner: None,
                        quoted: false,
                    });
                }
            },
            Some(Open::Map(pairs, _, key)) => {
                if let Some(key) = key.take() {
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
            Some(Open::List(items, start)) => self.put(Node::List(items, start.to(end))),
            Some(Open::Map(mut pairs, start, key)) => {
                if let Some(key) = key {
                    let span = key.span;
                    pairs.push((key, Node::Blank(span)));
                }
                self.put(Node::Map(pairs, start.to(end)));
            }
            None => {}
        }
    }
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
    use crate::diagnostics::Findings;

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
        assert_eq!(&text[y.span.start + y.inner.unwrap()..][..3], "y z");
        assert!(matches!(pairs[2].1, Node::Blank(_)));
    }

    #[test]
    fn what_would_read_differently_is_refused() {
        assert!(faults("a: &x 1\nb: *x\n").len() == 2);
        assert!(faults("a: !t 1\n")[0].contains("tags"));
        assert!(faults("a: 1\n---\nb: 2\n")[0].contains("second document"));
        assert!(faults("a: 1\na: 2\n")[0].contains("twice"));
        assert!(faults("a: [1\n")[0].contains("not YAML"));
        assert!(faults("")[0].contains("empty"));
        assert!(faults(&format!("{}{}", "[".repeat(100), "]".repeat(100)))[0].contains("deep"));
        assert!(faults("? [a]\n: b\n")[0].contains("must be a text"));
    }
}
