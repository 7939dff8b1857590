//! Makes characters that would control the terminal visible as `\uXXXX`.
//!
//! A name, a note or a file could otherwise move the cursor, change colours or the window title, or reverse the
//! direction of the text next to it. `\uXXXX` is also how JSON writes them, so whole JSON text remains the same JSON.

use std::borrow::Cow;

/// Whether a character controls the terminal or the direction of text: the controls of ISO 6429 (C0, DEL, C1), the line
/// and paragraph separators, and the invisible and bidirectional format characters of Unicode Standard Annex #9.
fn steers(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}')
}

/// Text of one or more lines: tabs and line ends remain.
pub(crate) fn text(text: &str) -> Cow<'_, str> {
    replaced(text, |rest| match rest.as_bytes() {
        [b'\n' | b'\t', ..] => 1,
        [b'\r', b'\n', ..] => 2,
        _ => 0,
    })
}

/// A name or other text within a line: tabs and line ends are made visible too.
pub(crate) fn line(text: &str) -> Cow<'_, str> {
    replaced(text, |_| 0)
}

/// Text drawn by this program for a terminal, in which text from outside was made visible before: colours, and the
/// sequence that shows the cursor again, remain.
pub(crate) fn drawn(text: &str) -> Cow<'_, str> {
    replaced(text, |rest| match rest.as_bytes() {
        [b'\n' | b'\t', ..] => 1,
        [b'\r', b'\n', ..] => 2,
        [0x1b, b'[', ..] => own(rest),
        _ => 0,
    })
}

/// The length of a sequence that this program itself writes, at the beginning of `text`.
fn own(text: &str) -> usize {
    const SHOW_CURSOR: &str = "\x1b[?25h";
    if text.starts_with(SHOW_CURSOR) {
        return SHOW_CURSOR.len();
    }
    let Some(rest) = text.strip_prefix("\x1b[") else {
        return 0;
    };
    let after = rest.trim_start_matches(|c: char| c.is_ascii_digit() || c == ';');
    if after.starts_with('m') {
        text.len() - after.len() + 1
    } else {
        0
    }
}

/// Replaces the controlling characters; `passes` gives how many bytes at such a character remain.
fn replaced(text: &str, passes: impl Fn(&str) -> usize) -> Cow<'_, str> {
    let Some(first) = text.find(steers) else {
        return Cow::Borrowed(text);
    };
    let (before, mut rest) = text.split_at(first);
    let mut out = before.to_owned();
    while let Some(c) = rest.chars().next() {
        let stay = if steers(c) {
            passes(rest)
        } else {
            c.len_utf8()
        };
        let taken = if stay > 0 {
            out.push_str(rest.get(..stay).unwrap_or_default());
            stay
        } else {
            out.push_str(&escape(c));
            c.len_utf8()
        };
        rest = rest.get(taken..).unwrap_or_default();
    }
    Cow::Owned(out)
}

/// A controlling character in its visible form.
fn escape(c: char) -> String {
    format!("\\u{:04x}", u32::from(c))
}

/// The visible form of a character that controls the terminal; `None` for other characters.
pub(crate) fn escaped(c: char) -> Option<String> {
    steers(c).then(|| escape(c))
}

#[cfg(test)]
mod tests {
    use super::{drawn, line, steers, text};
    use proptest::prelude::{any, proptest};

    const FOREIGN: &str = "a\x1b]0;x\x07\u{9b}31m\u{202e}b\u{61c}\u{200f}\x7f";
    const SHOWN: &str = "a\\u001b]0;x\\u0007\\u009b31m\\u202eb\\u061c\\u200f\\u007f";

    #[test]
    fn controlling_characters_are_made_visible_and_the_rest_is_unchanged() {
        for made in [text(FOREIGN), line(FOREIGN), drawn(FOREIGN)] {
            assert_eq!(made, SHOWN);
        }
        assert_eq!(text("a\tb\r\nc\rd\n"), "a\tb\r\nc\\u000dd\n");
        assert_eq!(line("a\tb\n"), "a\\u0009b\\u000a");
        assert_eq!(
            drawn("\x1b[1;31mx\x1b[0m\x1b[?25h\n"),
            "\x1b[1;31mx\x1b[0m\x1b[?25h\n"
        );
        assert_eq!(drawn("\x1b[2Jx\x1b[?1049h"), "\\u001b[2Jx\\u001b[?1049h");
        assert_eq!(text("Jürgen Øre 0.05 ≤ µ"), "Jürgen Øre 0.05 ≤ µ");
    }

    proptest! {
        #[test]
        fn no_control_character_remains(given in any::<String>()) {
            assert!(!line(&given).contains(steers));
            assert_eq!(text(&text(&given)), text(&given));
            assert_eq!(drawn(&drawn(&given)), drawn(&given));
        }

        #[test]
        fn json_means_the_same_afterwards(given in any::<String>()) {
            let json = serde_json::to_string(&given).unwrap();
            let read: String = serde_json::from_str(&text(&json)).unwrap();
            assert_eq!(read, given);
        }
    }
}
