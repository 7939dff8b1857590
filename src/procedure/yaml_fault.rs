//! YAML's own faults in plain words: what the writer of the file did, and what to write.
//!
//! The YAML crate says what its parser was doing; a trainer wants to know what to type. Faults not listed here keep the
//! crate's words.

use crate::diagnostics::Span;

/// What a fault is called, where it is, and the mend.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Plain {
    /// The bytes of the file that a caret is drawn under.
    pub span: Span,
    /// What is wrong.
    pub message: String,
    /// What to write.
    pub help: String,
}

/// Parts of the crate's messages, with what each means to a writer. The first that fits counts.
const KNOWN: &[(&str, &str, &str)] = &[
    (
        "tab",
        "a tab indents this line, and YAML takes only blanks",
        "replace the tab by blanks, as many as the lines beside it have",
    ),
    (
        "unclosed quote",
        "this quote is never closed",
        "put the same quote at the end of the text",
    ),
    (
        "trailing content after double-quoted",
        "text goes on behind the closing quote",
        "put all of it between the quotes; if no quote was meant to close here, one above was not closed",
    ),
    (
        "trailing content after single-quoted",
        "text goes on behind the closing quote",
        "an apostrophe inside single quotes is written twice; else a quote above was not closed",
    ),
    (
        "indentation in multiline quoted",
        "this line stands inside quotes that were opened above and not closed",
        "close the quote where its text ends",
    ),
    (
        "escape",
        "a backslash in double quotes starts a code, and this code is not known",
        "write the text in single quotes, where a backslash is a backslash",
    ),
    (
        "expected ',' or '}'",
        "a `,` or a closing `}` is missing before this",
        "close the `{`, or put a `,` between its entries",
    ),
    (
        "expected ',' or ']'",
        "a `,` or a closing `]` is missing before this",
        "close the `[`, or put a `,` between its entries",
    ),
    (
        "unclosed bracket",
        "this bracket is never closed",
        "write `]` or `}` where it ends",
    ),
    (
        "indentation in flow",
        "a `{` or `[` above is not closed, or its next line is not indented",
        "close it, or indent the line further than its key",
    ),
    (
        "simple key expected ':'",
        "a key without its colon",
        "write `key: value`; a text that goes on is indented further than its key",
    ),
    (
        "could not find expected ':'",
        "a key without its colon",
        "write `key: value`; a text that goes on is indented further than its key",
    ),
    (
        "did not find expected key",
        "this line does not line up with the keys above it",
        "keys of one map begin in the same column",
    ),
    (
        "did not find expected '-'",
        "this line does not line up with the list above it",
        "entries of one list begin with `- ` in the same column",
    ),
    (
        "block sequence entries are not allowed",
        "a list cannot begin here",
        "put `- ` on a line of its own, under the key",
    ),
    (
        "invalid indentation",
        "this line is indented unlike the ones it belongs to",
        "keys of one map begin in the same column",
    ),
    (
        "unexpected end of plain scalar",
        "this text breaks off",
        "indent the lines that go on further than their key",
    ),
    (
        "did not find expected node content",
        "a value is missing before this",
        "write the value, or remove what asks for it",
    ),
    (
        "did not find expected <document start>",
        "this stands outside of the file's map",
        "begin every key of the file in the first column, and write it `key: value`",
    ),
    (
        "EOF while parsing a block",
        "this sign cannot stand here",
        "put it in quotes if it is meant as a text",
    ),
    (
        "unexpected character",
        "a text cannot begin with this character",
        "put the text in quotes",
    ),
    (
        "cannot start any token",
        "a text cannot begin with this character",
        "put the text in quotes",
    ),
];

/// The crate's words for a colon where none can stand.
const COLON: [&str; 2] = ["mapping values are not allowed", "illegal placement of ':'"];

/// The fault that the YAML crate calls `info` at byte `at` of `text`, in plain words. `unclosed` is the place of the
/// `[` or `{` that is open there.
pub fn plain(info: &str, text: &str, at: usize, unclosed: Option<usize>) -> Plain {
    let here = Span::new(at, at);
    let found = |span: Span, message: &str, help: &str| Plain {
        span,
        message: message.to_owned(),
        help: format!("{help}; what stands after it was not read"),
    };
    let rest = text.get(at..).unwrap_or("");
    let line = rest.lines().next().unwrap_or("");
    if let Some((i, c)) = line.char_indices().find(|(_, c)| is_stray(*c)) {
        let message = format!("a control character (code {}) stands here", u32::from(c));
        return found(Span::new(at + i, at + i + 1), &message, "remove it");
    }
    if let Some(open) = unclosed
        && let Some(between) = text.get(open..at)
        && (between.contains('\n') || rest.trim().is_empty())
    {
        let closing = if between.starts_with('[') { ']' } else { '}' };
        return found(
            Span::new(open, open + 1),
            "this bracket is never closed",
            &format!("write `{closing}` where it ends"),
        );
    }
    if COLON.iter().any(|part| info.contains(part)) {
        return colon(text, at, found);
    }
    match KNOWN.iter().find(|(part, ..)| info.contains(part)) {
        Some((part, message, help)) => {
            let span = if *part == "tab" { tab(text, at) } else { here };
            found(span, message, help)
        }
        None => found(
            here,
            &format!("this is not YAML: {info}"),
            "mend this first",
        ),
    }
}

/// Characters that no editor shows and no text needs.
fn is_stray(c: char) -> bool {
    c.is_control() && !matches!(c, '\n' | '\r' | '\t' | '\u{85}')
}

/// A colon too many on its line, or one on a line that is indented too far.
fn colon(text: &str, at: usize, found: impl Fn(Span, &str, &str) -> Plain) -> Plain {
    let line = text
        .get(..at)
        .map_or(0, |t| t.rfind('\n').map_or(0, |n| n + 1));
    let before = text.get(line..at).unwrap_or("");
    if before.contains(": ") {
        found(
            Span::new(at, at),
            "a second colon on this line",
            "put a text that contains a colon in quotes",
        )
    } else {
        let start = line + before.len() - before.trim_start().len();
        found(
            Span::new(start, at),
            "this line is indented further than the lines it belongs to",
            "begin the key right under the keys above it",
        )
    }
}

/// The first tab among the blanks that begin a line, from the line of `at` on.
fn tab(text: &str, at: usize) -> Span {
    let mut start = text
        .get(..at)
        .map_or(0, |t| t.rfind('\n').map_or(0, |n| n + 1));
    for line in text.get(start..).unwrap_or("").split_inclusive('\n') {
        let blanks = line.len() - line.trim_start().len();
        if let Some(tab) = line.get(..blanks).and_then(|b| b.find('\t')) {
            return Span::new(start + tab, start + tab + 1);
        }
        start += line.len();
    }
    Span::new(at, at)
}

#[cfg(test)]
mod tests {
    use super::{KNOWN, plain};

    #[test]
    fn every_part_is_reached() {
        for (part, message, _) in KNOWN {
            let found = plain(part, "a b", 2, None);
            assert_eq!(
                found.message, *message,
                "{part} is taken by an earlier part"
            );
        }
        let new = plain("something new", "", 0, None);
        assert!(new.message.ends_with("something new"));
    }

    #[test]
    fn a_place_is_where_the_writer_slipped() {
        let place = |info, text: &str, at, open| {
            let span = plain(info, text, at, open).span;
            (span.start, span.end)
        };
        assert_eq!(place("tab", "a: 1\nb:\n \tc: 1\n", 1, None), (9, 10));
        assert_eq!(place("expected", "a: [1\nb: 2\n", 7, Some(3)), (3, 4));
        assert_eq!(
            place("illegal placement of ':'", "a: b\n  c: d\n", 8, None),
            (7, 8)
        );
        // Places outside of the text or inside of a character are no reason to fail.
        assert_eq!(place("tab", "\u{e4}", 1, Some(9)), (1, 1));
    }
}
