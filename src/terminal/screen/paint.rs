//! From meaning to look: which colour a tone has, which sign stands for it where colour does not reach.
//!
//! The signs are those of the oldest terminal fonts (code page 437), so that a bare console shows them too. Every tone
//! that carries news has a sign or a word besides its colour.

use super::style::{Depth, Style};
use crate::procedure::model::SignalWord;
use crate::report::page::{Marker, Tone};

/// Paints text that has been cleaned already.
pub(crate) fn tone(tone: Tone, text: &str, style: &Style) -> String {
    if style.depth == Depth::None || text.is_empty() {
        return text.to_owned();
    }
    let brush = console::Style::new().force_styling(true);
    let brush = match tone {
        Tone::Plain => return text.to_owned(),
        Tone::Strong => brush.bold(),
        Tone::Quiet => brush.dim(),
        Tone::Action => brush.cyan().bold(),
        Tone::Good => brush.green(),
        Tone::Look => brush.yellow(),
        Tone::Stop => brush.red().bold(),
    };
    brush.apply_to(text).to_string()
}

/// A signal word with what parts it from its text: a coloured panel, or the word and a colon.
/// Colours: ANSI Z535.1 / ISO 3864-4 (from memory); safety orange is nearest to 208 of 256, and yellow among eight.
pub(crate) fn signal(word: SignalWord, style: &Style) -> String {
    if style.depth == Depth::None {
        return format!("{}: ", word.word());
    }
    let brush = console::Style::new().force_styling(true).bold();
    let brush = match word {
        SignalWord::Danger => brush.white().on_red(),
        SignalWord::Warning if style.depth == Depth::Many => brush.black().on_color256(208),
        SignalWord::Warning | SignalWord::Caution => brush.black().on_yellow(),
        SignalWord::Notice => brush.white().on_blue(),
    };
    format!("{} ", brush.apply_to(format!(" {} ", word.word())))
}

/// What stands before a paragraph of this tone, its gap included; empty for tones that are only weight.
pub(crate) fn sign(tone: Tone, style: &Style) -> &'static str {
    let [unicode, ascii, plain] = match tone {
        Tone::Plain | Tone::Strong | Tone::Quiet => return "",
        Tone::Action => ["► ", "> ", "To do: "],
        Tone::Good => ["√ ", "[ok] ", "OK: "],
        Tone::Look => ["▲ ", "[look] ", "LOOK: "],
        Tone::Stop => ["■ ", "[stop] ", "STOP: "],
    };
    pick(style, unicode, ascii, plain)
}

/// What stands before an item of a list, its gap included.
pub(crate) fn marker(marker: &Marker, tone: Tone, style: &Style) -> String {
    let word = match marker {
        Marker::Dot if sign(tone, style).is_empty() => pick(style, "• ", "- ", "- "),
        Marker::Dot => sign(tone, style),
        Marker::Done => pick(style, "√ ", "[x] ", "done: "),
        Marker::Open => pick(style, "○ ", "[ ] ", "open: "),
        Marker::Now => pick(style, "► ", "[>] ", "now: "),
        Marker::Number(n) => return format!("{n}. "),
    };
    word.to_owned()
}

/// The rule that goes with a heading.
pub(crate) fn rule(columns: usize, style: &Style) -> String {
    pick(style, "─", "-", "").repeat(columns)
}

/// What parts two facts on one line.
pub(crate) fn between(style: &Style) -> &'static str {
    pick(style, " · ", " | ", "; ")
}

fn pick<'a>(style: &Style, unicode: &'a str, ascii: &'a str, plain: &'a str) -> &'a str {
    match (style.plain, style.unicode) {
        (true, _) => plain,
        (false, true) => unicode,
        (false, false) => ascii,
    }
}

#[cfg(test)]
mod tests {
    use super::{sign, signal, tone};
    use crate::procedure::model::SignalWord;
    use crate::report::page::Tone;
    use crate::terminal::screen::style::{Depth, Style};

    fn style(depth: Depth) -> Style {
        Style {
            depth,
            plain: false,
            unicode: true,
            still: false,
            width: 80,
            height: None,
        }
    }

    // Colours: ANSI Z535.1 / ISO 3864-4, from memory. Escape numbers: ECMA-48 (37 white, 30 black, 41 red, 43 yellow,
    // 44 blue; 48;5;208 is the 256-colour orange), from memory.
    #[test]
    fn signal_words_have_the_colours_of_the_standards_and_are_spelled() {
        let codes = |word, depth| {
            let painted = signal(word, &style(depth));
            assert!(painted.contains(word.word()));
            painted
        };
        let danger = codes(SignalWord::Danger, Depth::Many);
        assert!(danger.contains("\x1b[37m") && danger.contains("\x1b[41m"));
        let warning = codes(SignalWord::Warning, Depth::Many);
        assert!(warning.contains("\x1b[30m") && warning.contains("\x1b[48;5;208m"));
        let few = codes(SignalWord::Warning, Depth::Eight);
        assert!(few.contains("\x1b[30m") && few.contains("\x1b[43m"));
        let caution = codes(SignalWord::Caution, Depth::Many);
        assert!(caution.contains("\x1b[30m") && caution.contains("\x1b[43m"));
        let notice = codes(SignalWord::Notice, Depth::Many);
        assert!(notice.contains("\x1b[37m") && notice.contains("\x1b[44m"));
        assert_eq!(codes(SignalWord::Danger, Depth::None), "DANGER: ");
    }

    #[test]
    fn every_tone_with_news_shows_without_colour_too() {
        for plain in [true, false] {
            for unicode in [true, false] {
                let style = Style {
                    plain,
                    unicode,
                    ..style(Depth::None)
                };
                let signs = [Tone::Action, Tone::Good, Tone::Look, Tone::Stop]
                    .map(|tone| sign(tone, &style));
                for (n, one) in signs.iter().enumerate() {
                    assert!(!one.is_empty());
                    assert!(!signs[..n].contains(one));
                }
                assert_eq!(tone(Tone::Stop, "held", &style), "held");
            }
        }
    }
}
