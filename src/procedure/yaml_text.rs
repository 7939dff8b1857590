//! Searches the text of a YAML file around a value, for what the parser does not report.

use crate::diagnostics::Span;

/// The word before `span`, on its line, that begins with `sign`; `span` itself where there is none.
pub(crate) fn word_before(text: &str, span: Span, sign: char) -> Span {
    let text = text.get(..span.start).unwrap_or("");
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

/// The comment after a plain text that ends at `end`, if it has no blank after the `#`. It was probably not meant as a
/// comment: `use #3` is read as `use`.
pub(crate) fn cut_by_hash(text: &str, end: usize) -> Option<Span> {
    let line = text.get(end..)?.lines().next()?;
    let comment = line.trim_start();
    let mut signs = comment.chars();
    let cut = signs.next() == Some('#') && signs.next().is_some_and(char::is_alphanumeric);
    let start = end + line.len() - comment.len();
    cut.then(|| Span::new(start, start + comment.trim_end().len()))
}

/// Whether a colon follows a key. In a map in braces YAML allows a key without one, but it is a mistake.
pub(crate) fn colon_follows(text: &str, at: usize) -> bool {
    text.get(at..)
        .is_some_and(|rest| rest.trim_start().starts_with(':'))
}

/// The byte at a line (from 1) and a column (from 0, in characters).
pub(crate) fn byte_of(text: &str, line: usize, column: usize) -> usize {
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
    use super::{byte_of, colon_follows, cut_by_hash, word_before};
    use crate::diagnostics::Span;

    #[test]
    fn what_stands_around_a_value_is_found() {
        let text = "a: !!str x #3\nb:\u{e4} c # note\n";
        assert_eq!(word_before(text, Span::new(9, 10), '!'), Span::new(3, 8));
        assert_eq!(word_before(text, Span::new(9, 10), '&'), Span::new(9, 10));
        assert_eq!(cut_by_hash(text, 10), Some(Span::new(11, 13)));
        assert_eq!(cut_by_hash(text, text.len() - 8), None);
        assert!(colon_follows(text, 1) && !colon_follows(text, 10));
        assert_eq!(byte_of(text, 2, 3), 18);
        // Places outside the text or inside a character must not cause a panic.
        assert_eq!(cut_by_hash(text, 17), None);
        assert_eq!(byte_of(text, 99, 9), text.len());
    }
}
