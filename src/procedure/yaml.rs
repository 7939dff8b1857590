//! Reads YAML with the place of each value. Only this file uses the YAML crate.
//!
//! A file is read into a tree of texts, each with its place. Later code distinguishes numbers, booleans and blanks, so
//! `0.10` stays as written, `.nan` never becomes a number, and one pass can report every fault of a file. Anchors,
//! aliases, tags and second documents are refused, because a procedure that people sign must have one meaning when read
//! from top to bottom.

use super::node::{Bytes, Node, Scalar, folded};
use super::yaml_fault;
use super::yaml_text::{byte_of, colon_follows, cut_by_hash, word_before};
use crate::diagnostics::{Findings, Span};
use serde_yaml::granit_parser::{Event, Parser, ScalarStyle, Span as YamlSpan, StructureStyle};
use std::collections::BTreeSet;

/// The deepest nesting that is accepted.
const DEEPEST: usize = 24;
/// The largest number of nodes that is accepted in one file.
const MOST_NODES: usize = 50_000;

/// Reads one YAML document. Faults go to `findings`. A text that is not YAML gives `None`, because half a file would
/// only cause false faults, for example for keys further down. After any other fault the tree is complete.
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
    Map(OpenMap),
}

struct OpenMap {
    pairs: Vec<(Scalar, Node)>,
    /// Every key so far. Searching `pairs` instead would take time proportional to the square of their number.
    seen: BTreeSet<String>,
    start: Span,
    /// The key whose value comes next, and whether it counts. If a key is there twice, the first counts.
    key: Option<(Scalar, bool)>,
    style: StructureStyle,
}

impl Open {
    /// The place of its `[` or `{`, if it has one.
    fn bracket(&self) -> Option<usize> {
        let (span, style) = match self {
            Self::List(_, span, style) => (span, style),
            Self::Map(map) => (&map.start, &map.style),
        };
        (*style == StructureStyle::Flow).then_some(span.start)
    }
}

struct Reader<'a> {
    text: &'a str,
    findings: &'a mut Findings,
    open: Vec<Open>,
    root: Option<Node>,
    nodes: usize,
    /// Whether the tree is not what the author meant, so that more findings would mislead.
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
                        .error(span, "aliases (`*name`) are not allowed")
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
                    self.open.push(Open::Map(OpenMap {
                        pairs: Vec::new(),
                        seen: BTreeSet::new(),
                        start: span,
                        key: None,
                        style,
                    }));
                }
                Event::SequenceEnd | Event::MappingEnd => self.close(span),
                _ => {}
            }
            if self.open.len() > DEEPEST {
                self.findings.error(span, "this is nested too deep").help(
                    "no procedure or shop file goes deeper than ten levels; is a bracket too many?",
                );
                self.unsound = true;
                break;
            }
            if self.nodes > MOST_NODES {
                self.findings
                    .error(span, "the file has too many values")
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
                .error(
                    word_before(self.text, span, '&'),
                    "anchors (`&name`) are not allowed",
                )
                .help("remove the anchor and write values out where they are used");
        }
        if tag {
            self.findings
                .error(
                    word_before(self.text, span, '!'),
                    "tags (`!name`) are not allowed",
                )
                .help("remove the tag; put a text that begins with ! in quotes");
        }
    }

    fn scalar(&mut self, value: &str, style: ScalarStyle, span: Span) -> Node {
        let plain = style == ScalarStyle::Plain;
        if plain && matches!(value, "" | "~" | "null" | "Null" | "NULL") {
            return Node::Blank(span);
        }
        let text = value.trim_end_matches('\n').to_owned();
        let raw = self.text.get(span.start..span.end).unwrap_or("");
        let raw = raw.trim_end();
        let span = Span::new(span.start, span.start + raw.len());
        if plain {
            self.comment_after(span.end);
        }
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

    fn comment_after(&mut self, end: usize) {
        if let Some(span) = cut_by_hash(self.text, end) {
            self.findings
                .look(span, "this is a comment and not part of the text before it")
                .help(
                    "put the text in quotes if # belongs to it, otherwise write `# ` with a blank",
                );
        }
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
            Some(Open::Map(map)) => match map.key.take() {
                None => {
                    let (key, sound) = key_of(node, self.findings);
                    self.unsound |= !sound;
                    let first = map.seen.insert(key.text.clone());
                    if sound && !first {
                        self.findings
                            .error(key.span, format!("`{}` is here twice", key.text))
                            .help("keep one of the two");
                    }
                    map.key = Some((key, first));
                }
                Some((key, _))
                    if matches!(node, Node::Blank(_))
                        && !colon_follows(self.text, key.span.end) =>
                {
                    self.findings
                        .error(key.span, format!("`{}` has no value here", key.text))
                        .help("inside { } a comma ends a text; put a text that contains a comma in quotes");
                }
                Some((key, counts)) => {
                    if counts {
                        map.pairs.push((key, node));
                    }
                }
            },
        }
    }

    fn close(&mut self, end: Span) {
        match self.open.pop() {
            Some(Open::List(items, start, style)) => {
                let last = items.last().map(Node::span);
                let span = whole(start, last, end, style);
                self.put(Node::List(items, span));
            }
            Some(Open::Map(mut map)) => {
                if let Some((key, _)) = map.key {
                    let span = key.span;
                    map.pairs.push((key, Node::Blank(span)));
                }
                let last = map.pairs.last().map(|(k, node)| k.span.to(node.span()));
                let span = whole(map.start, last, end, map.style);
                self.put(Node::Map(map.pairs, span));
            }
            None => {}
        }
    }
}

/// The place of a list or map: up to its closing bracket, or without one up to the last value in it.
fn whole(start: Span, last: Option<Span>, end: Span, style: StructureStyle) -> Span {
    match last {
        Some(last) if style == StructureStyle::Block => start.to(last),
        _ => start.to(end),
    }
}

/// The key in `node`, and whether it is valid. A list or map is not a valid key and is reported.
fn key_of(node: Node, findings: &mut Findings) -> (Scalar, bool) {
    let other = match node {
        Node::Scalar(scalar) => return (scalar, true),
        other => other,
    };
    findings
        .error(
            other.span(),
            format!("a key must be a text, and this is {}", other.what()),
        )
        .help("write `key: value`, with a text before the colon");
    let nothing = Scalar {
        text: String::new(),
        span: other.span(),
        bytes: Bytes::Unknown,
        quoted: false,
    };
    (nothing, false)
}

#[cfg(test)]
mod tests {
    use super::parse;
    use crate::diagnostics::{Findings, Span};
    use crate::procedure::node::Node;

    fn faults(text: &str) -> Vec<String> {
        let mut findings = Findings::default();
        parse(text, &mut findings);
        findings.sorted().into_iter().map(|f| f.message).collect()
    }

    #[test]
    fn texts_have_the_written_characters_and_their_places() {
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
    fn yaml_with_hidden_meaning_is_refused() {
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
