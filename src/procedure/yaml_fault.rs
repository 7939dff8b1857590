//! Errors of the YAML crate in plain words: what is wrong in the file, and what to write.
//!
//! The YAML crate reports what its parser was doing, but a trainer needs to know what to type. Errors that are not
//! listed here are shown in the crate's words.

use crate::diagnostics::Span;

/// A fault in plain words, with its place and what to write.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Plain {
    /// The bytes of the file that are marked with a caret.
    pub span: Span,
    /// What is wrong.
    pub message: String,
    /// What to write.
    pub help: String,
}

/// Parts of the crate's messages, each with what it means for the author of the file. The first that matches counts.
const KNOWN: &[(&str, &str, &str)] = &[
    (
        "tab",
        "a tab indents this line, but YAML allows only blanks",
        "replace the tab with as many blanks as the neighbouring lines have",
    ),
    (
        "unclosed quote",
        "this quote is never closed",
        "put the same quote at the end of the text",
    ),
    (
        "trailing content after double-quoted",
        "there is text after the closing quote",
        "put all of it between the quotes; if no quote should close here, one above was not closed",
    ),
    (
        "trailing content after single-quoted",
        "there is text after the closing quote",
        "write an apostrophe inside single quotes twice; otherwise a quote above was not closed",
    ),
    (
        "indentation in multiline quoted",
        "this line is inside quotes that were opened above and not closed",
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
        "this line is indented differently from the lines it belongs to",
        "keys of one map begin in the same column",
    ),
    (
        "unexpected end of plain scalar",
        "this text is not complete",
        "indent the lines that go on further than their key",
    ),
    (
        "did not find expected node content",
        "a value is missing before this",
        "write the value, or remove the sign before it",
    ),
    (
        "did not find expected <document start>",
        "this is outside the file's map",
        "begin every key of the file in the first column, and write it `key: value`",
    ),
    (
        "EOF while parsing a block",
        "this sign is not allowed here",
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

/// The crate's messages for a colon at a place where none is allowed.
const COLON: [&str; 2] = ["mapping values are not allowed", "illegal placement of ':'"];

/// The fault in plain words for the YAML crate's message `info` at byte `at` of `text`. `unclosed` is the place of the
/// `[` or `{` that is open there.
pub(crate) fn plain(info: &str, text: &str, at: usize, unclosed: Option<usize>) -> Plain {
    let here = Span::new(at, at);
    let found = |span: Span, message: &str, help: &str| Plain {
        span,
        message: message.to_owned(),
        help: format!("{help}; the rest of the file was not read"),
    };
    let rest = text.get(at..).unwrap_or("");
    let line = rest.lines().next().unwrap_or("");
    if let Some((i, c)) = line.char_indices().find(|(_, c)| is_stray(*c)) {
        let message = format!("a control character (code {}) is here", u32::from(c));
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
            "correct this first",
        ),
    }
}

/// Whether it is a character that no editor shows and no text needs.
fn is_stray(c: char) -> bool {
    c.is_control() && !matches!(c, '\n' | '\r' | '\t' | '\u{85}')
}

/// The fault of a second colon on its line, or of a colon on a line that is indented too far.
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

/// The first tab in the indentation of a line, from the line of `at` on.
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
    fn every_part_can_match() {
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
    fn a_place_is_where_the_mistake_is() {
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
        // Places outside the text or inside a character must not cause a panic.
        assert_eq!(place("tab", "\u{e4}", 1, Some(9)), (1, 1));
    }
}
