//! What a stream can show, decided once from the command line, the environment and the terminal.
//!
//! Pure: the caller hands in what it found. Precedence for colour: flag, NO_COLOR, CLICOLOR_FORCE, then TERM and whether
//! the stream is a terminal. The colour crate has its own, different precedence (forcing beats NO_COLOR there), so `adopt`
//! tells it what was decided here.

use std::str::FromStr;

/// Widest line: longer ones are hard to follow back.
const WIDEST: usize = 100;
/// Narrowest line we draw for; below that the terminal wraps.
const NARROWEST: usize = 20;
/// Taken where the width cannot be learnt.
const USUAL: usize = 80;

/// What `--color` asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Color {
    /// Where the stream can show it.
    #[default]
    Auto,
    /// Even into a pipe.
    Always,
    /// Not at all.
    Never,
}

impl FromStr for Color {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text {
            "auto" => Ok(Self::Auto),
            "always" => Ok(Self::Always),
            "never" => Ok(Self::Never),
            other => Err(format!(
                "`{other}` is none of auto, always, never; give one of these"
            )),
        }
    }
}

/// How many colours there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Depth {
    /// None: not even bold.
    #[default]
    None,
    /// The eight every colour terminal has.
    Eight,
    /// 256.
    Many,
}

/// What a style is decided from, for one stream.
#[derive(Debug, Clone, Default)]
pub struct StyleInputs {
    /// `--color`.
    pub color: Color,
    /// `--plain`.
    pub plain: bool,
    /// The variable `NO_COLOR`; empty counts as not set.
    pub no_color: Option<String>,
    /// The variable `CLICOLOR_FORCE`; empty and `0` count as not set.
    pub clicolor_force: Option<String>,
    /// The variable `TERM`.
    pub term: Option<String>,
    /// The variable `COLORTERM`.
    pub colorterm: Option<String>,
    /// Whether text is UTF-8 here; see `utf8_locale`.
    pub utf8: bool,
    /// Whether the stream is a terminal.
    pub terminal: bool,
    /// The terminal's width in columns, where known.
    pub columns: Option<u16>,
    /// The terminal's height in lines, where known.
    pub lines: Option<u16>,
}

/// What one stream can show.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Style {
    /// How many colours.
    pub depth: Depth,
    /// Narrated: no boxes, no symbols, no colour, no bars, tables as `name: value`.
    pub plain: bool,
    /// Whether line-drawing and other signs outside ASCII may be used.
    pub unicode: bool,
    /// Whether the cursor must not be moved about; true wherever `plain` is.
    pub still: bool,
    /// Columns to fill, 20 to 100.
    pub width: usize,
    /// Lines of the window; none where there is no window.
    pub height: Option<usize>,
}

impl Style {
    /// Decides for one stream.
    pub fn decide(around: &StyleInputs) -> Self {
        let dumb = match around.term.as_deref() {
            Some("dumb" | "") => true,
            Some(_) => false,
            // The Windows console sets no TERM and shows colours all the same.
            None => !cfg!(windows),
        };
        let set = |value: &Option<String>| value.as_deref().is_some_and(|v| !v.is_empty());
        let forced = set(&around.clicolor_force) && around.clicolor_force.as_deref() != Some("0");
        let colored = match around.color {
            Color::Always => true,
            Color::Never => false,
            Color::Auto if set(&around.no_color) => false,
            Color::Auto if forced => true,
            Color::Auto => around.terminal && !dumb,
        };
        Self {
            depth: match colored && !around.plain {
                false => Depth::None,
                true if many(around) => Depth::Many,
                true => Depth::Eight,
            },
            plain: around.plain,
            unicode: around.utf8 && !around.plain,
            still: around.plain || dumb || !around.terminal,
            width: fit(around.columns),
            height: around.lines.map(usize::from),
        }
    }

    /// Narrated text at a given width, as for a file or a test.
    pub fn plain(columns: u16) -> Self {
        Self::decide(&StyleInputs {
            plain: true,
            columns: Some(columns),
            ..StyleInputs::default()
        })
    }

    /// The same style on a terminal that now has so many columns and lines.
    #[must_use]
    pub(crate) fn at(&self, columns: u16, lines: u16) -> Self {
        Self {
            width: fit(Some(columns)),
            height: Some(usize::from(lines)),
            ..self.clone()
        }
    }
}

fn fit(columns: Option<u16>) -> usize {
    columns
        .filter(|&c| c > 0)
        .map_or(USUAL, usize::from)
        .clamp(NARROWEST, WIDEST)
}

fn many(around: &StyleInputs) -> bool {
    let has = |value: &Option<String>, words: &[&str]| {
        value
            .as_deref()
            .is_some_and(|v| words.iter().any(|w| v.contains(w)))
    };
    has(
        &around.term,
        &["256color", "direct", "kitty", "alacritty", "foot"],
    ) || has(&around.colorterm, &["truecolor", "24bit", "256"])
}

/// Whether the locale variables ask for UTF-8: the first of `LC_ALL`, `LC_CTYPE`, `LANG` that is not empty decides
/// (POSIX, environment variables). Windows terminals of today are taken to show it.
pub fn utf8_locale(lc_all: Option<&str>, lc_ctype: Option<&str>, lang: Option<&str>) -> bool {
    let named = [lc_all, lc_ctype, lang]
        .into_iter()
        .flatten()
        .find(|v| !v.is_empty());
    match named {
        Some(name) => {
            let name = name.to_ascii_lowercase();
            name.contains("utf-8") || name.contains("utf8")
        }
        None => cfg!(windows),
    }
}

#[cfg(test)]
mod tests {
    use super::{Color, Depth, Style, StyleInputs, utf8_locale};

    fn terminal() -> StyleInputs {
        StyleInputs {
            term: Some("xterm-256color".into()),
            utf8: true,
            terminal: true,
            columns: Some(80),
            ..StyleInputs::default()
        }
    }

    fn depth(change: impl FnOnce(&mut StyleInputs)) -> Depth {
        let mut around = terminal();
        change(&mut around);
        Style::decide(&around).depth
    }

    #[test]
    fn colour_goes_by_flag_then_no_color_then_force_then_terminal() {
        assert_eq!(depth(|_| {}), Depth::Many);
        assert_eq!(depth(|a| a.terminal = false), Depth::None);
        assert_eq!(depth(|a| a.term = Some("dumb".into())), Depth::None);
        assert_eq!(depth(|a| a.term = Some("vt100".into())), Depth::Eight);
        assert_eq!(depth(|a| a.no_color = Some("1".into())), Depth::None);
        assert_eq!(depth(|a| a.no_color = Some(String::new())), Depth::Many);
        let forced_pipe = |no_color: Option<&str>, color: Color| {
            depth(|a| {
                a.terminal = false;
                a.clicolor_force = Some("1".into());
                a.no_color = no_color.map(Into::into);
                a.color = color;
            })
        };
        assert_eq!(forced_pipe(None, Color::Auto), Depth::Many);
        assert_eq!(forced_pipe(Some("1"), Color::Auto), Depth::None);
        assert_eq!(forced_pipe(Some("1"), Color::Always), Depth::Many);
        assert_eq!(forced_pipe(None, Color::Never), Depth::None);
        let unforced = depth(|a| {
            a.terminal = false;
            a.clicolor_force = Some("0".into());
        });
        assert_eq!(unforced, Depth::None);
    }

    #[cfg(not(windows))]
    #[test]
    fn a_terminal_without_a_name_has_no_colour_and_keeps_still() {
        let style = Style::decide(&StyleInputs {
            term: None,
            ..terminal()
        });
        assert_eq!((style.depth, style.still), (Depth::None, true));
    }

    #[test]
    fn plain_wins_over_every_wish_for_colour() {
        let style = Style::decide(&StyleInputs {
            plain: true,
            color: Color::Always,
            ..terminal()
        });
        assert_eq!(style.depth, Depth::None);
        assert!(style.plain && style.still && !style.unicode);
    }

    #[test]
    fn width_stays_between_twenty_and_a_hundred() {
        let width = |columns| {
            Style::decide(&StyleInputs {
                columns,
                ..terminal()
            })
            .width
        };
        assert_eq!(width(None), 80);
        assert_eq!(width(Some(0)), 80);
        assert_eq!(width(Some(7)), 20);
        assert_eq!(width(Some(50)), 50);
        assert_eq!(width(Some(240)), 100);
    }

    #[test]
    fn the_first_locale_variable_that_says_something_decides() {
        assert!(utf8_locale(None, None, Some("de_DE.UTF-8")));
        assert!(utf8_locale(Some(""), Some("C.utf8"), None));
        assert!(!utf8_locale(Some("C"), None, Some("de_DE.UTF-8")));
        assert!(!utf8_locale(None, None, Some("de_DE.ISO-8859-1")));
    }

    #[test]
    fn an_unknown_colour_word_is_named_with_the_ones_there_are() {
        let error = "blue".parse::<Color>().unwrap_err();
        assert_eq!(
            error,
            "`blue` is none of auto, always, never; give one of these"
        );
        assert_eq!("never".parse(), Ok(Color::Never));
    }
}
