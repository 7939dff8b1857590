//! Doing what is typed at the mill, and reading what follows its words.

use super::world::{Said, World};
use super::{MM, Nm, THOU};
use crate::diagnostics::nearest::nearest;
use crate::procedure::practice::MillWord;
use crate::quantity::parse::{DecimalMark, quantity};
use crate::quantity::{Length, UnitSystem};

/// What a word does: the lines that are seen, or why it cannot be done.
pub(crate) type Deed = fn(&mut World, &str) -> Result<Vec<Said>, String>;

/// What a word does.
fn deed(word: MillWord) -> Deed {
    match word {
        MillWord::Home => super::moving::home,
        MillWord::Go => super::moving::go,
        MillWord::Up => super::moving::up,
        MillWord::Down => super::moving::down,
        MillWord::Left => super::moving::left,
        MillWord::Right => super::moving::right,
        MillWord::Front => super::moving::front,
        MillWord::Back => super::moving::back,
        MillWord::Touch => super::moving::touch,
        MillWord::Step => super::setting::step,
        MillWord::Zero => super::setting::zero,
        MillWord::Set => super::setting::set,
        MillWord::Offset => super::setting::offset,
        MillWord::Length => super::setting::length_offset,
        MillWord::Shift => super::setting::shift,
        MillWord::Unit => super::setting::unit,
        MillWord::Spindle => super::setting::spindle,
        MillWord::Coolant => super::setting::coolant,
        MillWord::Feed => super::setting::feed,
        MillWord::Rapid => super::setting::rapid,
        MillWord::Single => super::setting::single,
        MillWord::Wait => super::setting::wait,
        MillWord::Reset => super::setting::reset,
        MillWord::Load => super::running::load,
        MillWord::Start => super::running::start,
        MillWord::Hold => super::running::hold,
        MillWord::Emergency => super::running::emergency,
        MillWord::Look => super::looking::look,
        MillWord::Codes => super::looking::codes,
        MillWord::Face => super::looking::face,
        MillWord::Program => super::looking::program,
        MillWord::Sheet => super::looking::sheet,
        MillWord::Measure => super::looking::measure,
        MillWord::Glasses => super::doing::glasses,
        MillWord::Gloves => super::doing::gloves,
        MillWord::Door => super::doing::door,
        MillWord::Guard => super::doing::guard,
        MillWord::Nozzle => super::doing::nozzle,
        MillWord::Brush => super::doing::brush,
        MillWord::Ink => super::doing::ink,
        MillWord::Tighten => super::doing::tighten,
        MillWord::Change => super::doing::change,
        MillWord::Clear => super::doing::clear,
        MillWord::Send => super::doing::send,
        MillWord::Sink => super::doing::sink,
        MillWord::Paper => super::doing::paper,
        MillWord::TryStop => super::doing::try_stop,
        MillWord::Feel => super::doing::feel,
    }
}

impl World {
    /// Does what is typed at the mill. Several words may stand in a line, with a comma or semicolon between.
    pub(crate) fn act(&mut self, line: &str) -> Vec<Said> {
        let mut seen = Vec::new();
        for part in parts(line) {
            match self.one(part) {
                Ok(lines) => seen.extend(lines),
                Err(why) => {
                    seen.push(Said::bad(format!("Not done: {why}.")));
                    break;
                }
            }
            self.judge_cleared();
        }
        seen.append(&mut self.heard);
        seen
    }

    fn one(&mut self, part: &str) -> Result<Vec<Said>, String> {
        let (word, rest) = part.split_once(char::is_whitespace).unwrap_or((part, ""));
        let word = word.to_lowercase();
        let Some(found) = MillWord::find(&word) else {
            let near = nearest(&word, MillWord::ALL.iter().map(|w| w.word()))
                .map_or(String::new(), |n| format!("; did you mean `{n}`"));
            return Err(format!(
                "`{word}` is no word of the mill{near}; ? lists them all"
            ));
        };
        self.acts.push(part.to_lowercase());
        deed(found)(self, rest.trim())
    }

    /// Reads a length in the unit that the mill shows.
    pub(crate) fn read_length(&self, text: &str) -> Result<Nm, String> {
        read_length(text, self.mill.system)
    }
}

/// The words of a line. A comma inside a figure is no end of one: whoever types `down 0,1` must not go down by nought. Nor
/// is any in what a hold is for, which is said in a person's own words.
fn parts(line: &str) -> Vec<&str> {
    let mut parts = Vec::new();
    let mut start = 0;
    for (at, sign) in line.char_indices() {
        let begun = line.get(start..at).unwrap_or_default().trim_start();
        let word = begun.split_whitespace().next().unwrap_or_default();
        if word.eq_ignore_ascii_case("hold") {
            break;
        }
        let next = line.get(at + 1..).and_then(|rest| rest.chars().next());
        let ends = sign == ';' || sign == ',' && !next.is_some_and(|c| c.is_ascii_digit());
        if ends {
            parts.push(line.get(start..at).unwrap_or_default());
            start = at + 1;
        }
    }
    parts.push(line.get(start..).unwrap_or_default());
    parts.retain(|p| !p.trim().is_empty());
    parts.into_iter().map(str::trim).collect()
}

/// Reads a length; a bare number takes the given unit.
pub(crate) fn read_length(text: &str, system: UnitSystem) -> Result<Nm, String> {
    let typed = quantity(text, &system.length(), DecimalMark::Point).map_err(|e| e.to_string())?;
    let length = Length::nearest(typed.quantity).ok_or_else(|| format!("`{text}` is no length"))?;
    Ok(length.counts() / 10)
}

/// Reads a whole number.
pub(crate) fn whole(text: &str) -> Result<i64, String> {
    text.trim_end_matches([' ', '%'])
        .trim_end_matches("rpm")
        .trim()
        .parse()
        .map_err(|_| format!("`{text}` is no whole number"))
}

/// Reads on or off.
pub(crate) fn on_off(text: &str) -> Result<bool, String> {
    match text.to_lowercase().as_str() {
        "on" | "" => Ok(true),
        "off" => Ok(false),
        _ => Err(format!("`{text}` is neither on nor off")),
    }
}

/// A length as a readout shows it: signed, three places in millimetres, four in inches.
pub(crate) fn length(nm: Nm, system: UnitSystem) -> String {
    let (per, places) = match system {
        UnitSystem::Mm => (MM / 1000, 3),
        UnitSystem::Inch => (THOU / 10, 4),
    };
    let half = if nm < 0 { -(per / 2) } else { per / 2 };
    let counts = (nm + half) / per;
    let scale = 10_i64.pow(places);
    let sign = if counts < 0 { "-" } else { "+" };
    let (whole, part) = (counts.abs() / scale, counts.abs() % scale);
    let width = usize::try_from(places).unwrap_or(3);
    format!("{sign}{whole}.{part:0width$}")
}

/// The same with its unit.
pub(crate) fn length_with_unit(nm: Nm, system: UnitSystem) -> String {
    format!("{} {}", length(nm, system), system.symbol())
}

#[cfg(test)]
mod tests {
    use super::{length, parts, read_length};
    use crate::quantity::UnitSystem;

    #[test]
    fn a_readout_has_a_sign_and_fixed_places() {
        assert_eq!(length(-151_400_000, UnitSystem::Mm), "-151.400");
        assert_eq!(length(10_000, UnitSystem::Mm), "+0.010");
        assert_eq!(length(-12_700, UnitSystem::Inch), "-0.0005");
        assert_eq!(length(0, UnitSystem::Inch), "+0.0000");
        assert_eq!(read_length("6 thou", UnitSystem::Mm), Ok(152_400));
        assert_eq!(read_length("-.18", UnitSystem::Mm), Ok(-180_000));
        assert!(read_length("deep", UnitSystem::Mm).is_err());
    }

    #[test]
    fn a_line_may_hold_several_words_and_a_decimal_comma_is_none() {
        assert_eq!(
            parts("home, go SW; down 0,1,"),
            ["home", "go SW", "down 0,1"]
        );
        assert!(read_length("0,1", UnitSystem::Mm).is_err());
    }
}
