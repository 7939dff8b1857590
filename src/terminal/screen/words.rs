//! Text made fit to print: control characters out, signs a bare terminal lacks spelled, lines wrapped without tearing a
//! number from its unit.

use super::style::Style;
use crate::quantity::Unit;
use crate::visible;
use textwrap::{Options, WordSplitter};

/// A space inside one word as far as wrapping goes; becomes an ordinary space again.
const TIED: char = '\u{a0}';

/// Columns that a text takes, escape sequences not counted.
pub fn width(text: &str) -> usize {
    console::measure_text_width(text)
}

/// Text safe to print on one line: line ends and tabs become spaces, other control characters (an escape sequence in a
/// file could otherwise paint over what matters) are made visible. Where signs outside ASCII are not to be used, known ones are
/// spelled and unknown ones become `?`; letters stay as they are, because names do.
pub fn clean(text: &str, unicode: bool) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        match c {
            // Before a figure the diameter sign, elsewhere a letter of somebody's name.
            'Ø' | 'ø' if !unicode && rest.peek().is_some_and(char::is_ascii_digit) => {
                out.push_str("dia. ");
            }
            '\n' | '\r' | '\t' => out.push(' '),
            c => match visible::escaped(c) {
                Some(shown) => out.push_str(&shown),
                None if c.is_ascii() || unicode => out.push(c),
                None => match spelled(c) {
                    Some(words) => out.push_str(words),
                    None if c.is_alphanumeric() => out.push(c),
                    None => out.push('?'),
                },
            },
        }
    }
    out
}

fn spelled(c: char) -> Option<&'static str> {
    Some(match c {
        TIED | '\u{2007}' | '\u{2009}' | '\u{202f}' => " ",
        '−' | '–' | '—' | '‐' | '‑' | '•' => "-",
        '×' => "x",
        '·' => "*",
        '÷' => "/",
        '±' => "+/-",
        '≤' => "<=",
        '≥' => ">=",
        '≠' => "/=",
        '≈' => "about",
        '→' => "->",
        '…' => "...",
        '°' => " deg",
        'µ' | 'μ' => "u",
        'π' => "pi",
        '⌀' => "dia. ",
        '²' => "^2",
        '³' => "^3",
        '√' => "sqrt",
        '½' => "1/2",
        '¼' => "1/4",
        '¾' => "3/4",
        '‘' | '’' => "'",
        '“' | '”' | '„' => "\"",
        _ => return None,
    })
}

/// Wraps one paragraph to `columns`, cleaned. A word is never broken, so a line may come out longer than asked for; a
/// number is never parted from its sign or unit. At least one line, perhaps empty.
pub fn wrap(text: &str, columns: usize, style: &Style) -> Vec<String> {
    wrap_hanging(text, columns, "", style)
}

/// As `wrap`, with `under` in front of every line but the first, within the same columns.
pub fn wrap_hanging(text: &str, columns: usize, under: &str, style: &Style) -> Vec<String> {
    let tied = tie(&clean(text, style.unicode));
    let options = Options::new(columns.max(1))
        .subsequent_indent(under)
        .break_words(false)
        .word_splitter(WordSplitter::NoHyphenation);
    textwrap::wrap(&tied, options)
        .into_iter()
        .map(|line| line.replace(TIED, " "))
        .collect()
}

/// Replaces the space between a number and its unit, and around a sign standing before a number, by one that does not
/// break.
fn tie(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut last = "";
    for word in text.split(' ') {
        if !out.is_empty() || !last.is_empty() {
            let bare = word.trim_end_matches(['.', ',', ';', ':', ')', '!', '?']);
            let number = last
                .trim_start_matches(['(', '+', '-'])
                .starts_with(|c: char| c.is_ascii_digit() || c == '.');
            out.push(if number && Unit::find(bare).is_some() {
                TIED
            } else {
                ' '
            });
        }
        out.push_str(word);
        last = word;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::{clean, wrap};
    use crate::terminal::screen::style::Style;
    use proptest::prelude::{any, proptest};

    #[test]
    fn escape_sequences_from_a_file_are_not_passed_on() {
        assert_eq!(
            clean("a\x1b[2Jb\u{9b}1mc\u{202e}d", true),
            "a\\u001b[2Jb\\u009b1mc\\u202ed"
        );
        assert_eq!(clean("one\ntwo\tthree", true), "one two three");
    }

    #[test]
    fn signs_are_spelled_where_only_ascii_will_do_and_names_stay() {
        assert_eq!(clean("−0.5 ≤ Ø12 × 3 °", false), "-0.5 <= dia. 12 x 3  deg");
        assert_eq!(clean("Jürgen Øre ☃", false), "Jürgen Øre ?");
        assert_eq!(clean("Ø12 ≤", true), "Ø12 ≤");
    }

    #[test]
    fn a_number_keeps_its_unit_and_its_hyphen() {
        let style = Style::plain(80);
        assert_eq!(
            wrap("a bite of 0.25 mm, at most", 14, &style),
            ["a bite of", "0.25 mm, at", "most"]
        );
        assert_eq!(
            wrap("between 0.05-0.25 at most", 13, &style),
            ["between", "0.05-0.25 at", "most"]
        );
    }

    #[test]
    fn a_word_wider_than_the_line_is_left_whole() {
        let style = Style::plain(80);
        assert_eq!(
            wrap("see 1234567890.123456", 8, &style),
            ["see", "1234567890.123456"]
        );
    }

    proptest! {
        #[test]
        fn nothing_but_spaces_is_lost_or_added(text in any::<String>(), columns in 0_usize..40) {
            let style = Style { unicode: true, ..Style::plain(80) };
            let squeeze = |s: &str| s.replace(['\u{a0}', ' '], "");
            let wrapped = wrap(&text, columns, &style).concat();
            assert_eq!(squeeze(&wrapped), squeeze(&clean(&text, true)));
            assert!(!wrapped.chars().any(char::is_control));
        }
    }
}
