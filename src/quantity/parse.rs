//! Reads numbers that a person types: `6 thou`, `-.0195`, `0.15mm`, `1/2 in`, `8 1/2 thou`, `1 h 30 min`.
//!
//! A bare number has the unit that the prompt shows. A comma is a decimal mark only where the procedure declares it; a
//! full stop always is one, because control readouts show it. Nothing is guessed: text with more than one reading is an
//! error that says what to type instead.

use super::dimension::Dimension;
use super::exact::Exact;
use super::length::Length;
use super::parse_error::{ParseError, Problem};
use super::unit::Unit;
use super::value::Quantity;
use std::ops::Range;

/// The mark, in addition to the full stop, that separates decimals in typed numbers.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum DecimalMark {
    /// Only the full stop.
    #[default]
    Point,
    /// A comma as well.
    Comma,
}

/// A typed quantity after reading.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Typed {
    /// The quantity in the dimension of its unit.
    pub quantity: Quantity,
    /// Whether no unit was typed, so that it has the unit of the prompt.
    pub bare: bool,
}

/// Reads `text` as a quantity of the same kind as `unit`, which is the unit of a bare number.
///
/// # Errors
/// A [`ParseError`] that says what is wrong and where. Never panics, whatever the text.
pub fn quantity(text: &str, unit: &Unit, mark: DecimalMark) -> Result<Typed, ParseError> {
    let typed = of_kind(text, unit, mark)?;
    on_grid(typed.quantity).map_err(|problem| whole(text, problem))?;
    Ok(typed)
}

/// Like [`quantity`], but rounds a length finer than a tenth of a nanometre, and returns whether it did: for figures
/// that a program wrote.
///
/// # Errors
/// Those of [`quantity`], except for a length that is too fine.
pub(crate) fn rounded(
    text: &str,
    unit: &Unit,
    mark: DecimalMark,
) -> Result<(Typed, bool), ParseError> {
    let typed = of_kind(text, unit, mark)?;
    match (on_grid(typed.quantity), Length::nearest(typed.quantity)) {
        (Ok(()), _) => Ok((typed, false)),
        (Err(Problem::TooFine), Some(nearest)) => {
            let quantity = nearest.into();
            Ok((Typed { quantity, ..typed }, true))
        }
        (Err(problem), _) => Err(whole(text, problem)),
    }
}

fn whole(text: &str, problem: Problem) -> ParseError {
    ParseError {
        problem,
        at: 0..text.len(),
    }
}

fn of_kind(text: &str, unit: &Unit, mark: DecimalMark) -> Result<Typed, ParseError> {
    let typed = any_quantity(text, unit, mark)?;
    let ratio_text_only = unit.symbol.is_empty() && unit.dimension == Dimension::RATIO;
    if typed.quantity.dimension != unit.dimension && !ratio_text_only {
        let problem = Problem::WrongKind(
            typed.quantity.dimension,
            unit.dimension,
            example(unit, mark),
        );
        return Err(whole(text, problem));
    }
    Ok(typed)
}

/// An example for messages: a plausible number in the unit of the prompt.
fn example(unit: &Unit, mark: DecimalMark) -> String {
    let number = match unit.symbol.as_ref() {
        "in" => "0.006",
        "mm" => "0.15",
        _ => "12.5",
    };
    let number = match mark {
        DecimalMark::Point => number.to_owned(),
        DecimalMark::Comma => number.replace('.', ","),
    };
    format!("{number} {}", unit.symbol).trim_end().to_owned()
}

fn any_quantity(text: &str, unit: &Unit, mark: DecimalMark) -> Result<Typed, ParseError> {
    let mut scan = Scan {
        text,
        pos: 0,
        mark,
        unit,
    };
    scan.blanks();
    if scan.rest().is_empty() {
        return Err(scan.error(0..text.len(), Problem::Empty(example(unit, mark))));
    }
    let negative = scan.sign()?;
    let mut total: Option<Quantity> = None;
    let mut bare = false;
    while !scan.rest().is_empty() {
        let start = scan.pos;
        let amount = scan.number()?;
        let found = scan.unit()?;
        if bare || (found.is_none() && total.is_some()) {
            return Err(scan.error(start..scan.pos, Problem::SecondBare));
        }
        bare = found.is_none();
        let part = Quantity::of(amount, found.as_ref().unwrap_or(unit))
            .map_err(|_| scan.error(start..scan.pos, Problem::TooLong))?;
        total = Some(match total {
            None => part,
            Some(sum) if sum.dimension != part.dimension => {
                let problem = Problem::MixedKinds(sum.dimension, part.dimension);
                return Err(scan.error(start..scan.pos, problem));
            }
            Some(sum) => sum
                .plus(part)
                .map_err(|_| scan.error(start..scan.pos, Problem::TooLong))?,
        });
        scan.blanks();
    }
    let Some(total) = total else {
        return Err(scan.error(0..text.len(), Problem::NoNumber(example(unit, mark))));
    };
    let quantity = if negative { total.negated() } else { total };
    Ok(Typed { quantity, bare })
}

/// Lengths must be whole tenths of a nanometre and at most 100 m; other kinds are exact fractions.
fn on_grid(quantity: Quantity) -> Result<(), Problem> {
    if quantity.dimension != Dimension::LENGTH || Length::exactly(quantity).is_some() {
        return Ok(());
    }
    match Length::nearest(quantity) {
        Some(_) => Err(Problem::TooFine),
        None => Err(Problem::TooFar),
    }
}

struct Scan<'a> {
    text: &'a str,
    pos: usize,
    mark: DecimalMark,
    unit: &'a Unit,
}

impl<'a> Scan<'a> {
    fn rest(&self) -> &'a str {
        &self.text[self.pos..]
    }

    fn error(&self, at: Range<usize>, problem: Problem) -> ParseError {
        let at = at.start.min(self.text.len())..at.end.min(self.text.len());
        ParseError { problem, at }
    }

    fn blanks(&mut self) {
        let rest = self.rest();
        self.pos += rest.len() - rest.trim_start().len();
    }

    /// A sign, if there is one: hyphen, plus, or the typographic minus that a copied text may bring.
    fn sign(&mut self) -> Result<bool, ParseError> {
        let start = self.pos;
        let mut signs = 0;
        let mut negative = false;
        while let Some(c) = self.rest().chars().next() {
            match c {
                '-' | '−' | '–' => negative = true,
                '+' => {}
                c if c.is_whitespace() && signs > 0 => {}
                _ => break,
            }
            signs += usize::from(!c.is_whitespace());
            self.pos += c.len_utf8();
        }
        if signs > 1 {
            return Err(self.error(start..self.pos, Problem::TwoSigns));
        }
        Ok(negative)
    }

    fn digits(&mut self) -> &'a str {
        let rest = self.rest();
        let len = rest
            .find(|c: char| !c.is_ascii_digit())
            .unwrap_or(rest.len());
        self.pos += len;
        &rest[..len]
    }

    /// A decimal, a fraction, or a whole number and a fraction.
    fn number(&mut self) -> Result<Exact, ParseError> {
        let start = self.pos;
        let whole = self.digits();
        let decimals = self.decimals(start, whole)?;
        if whole.is_empty() && decimals.is_none_or(str::is_empty) {
            let end = start + self.text[start..].chars().next().map_or(0, char::len_utf8);
            let problem = Problem::NoNumber(example(self.unit, self.mark));
            return Err(self.error(start..end, problem));
        }
        self.no_exponent()?;
        let too_long = |s: &Self| s.error(start..s.pos, Problem::TooLong);
        if let Some(decimals) = decimals {
            let mantissa: i128 = format!("{whole}{decimals}")
                .parse()
                .map_err(|_| too_long(self))?;
            let places = u32::try_from(decimals.len()).unwrap_or(u32::MAX);
            let scale = 10_i128.checked_pow(places).ok_or_else(|| too_long(self))?;
            return Exact::fraction(mantissa, scale).ok_or_else(|| too_long(self));
        }
        let first: i128 = whole.parse().map_err(|_| too_long(self))?;
        if let Some(bottom) = self.over()? {
            return Exact::fraction(first, bottom).ok_or_else(|| too_long(self));
        }
        // `8 1/2` and `1-1/2`: only a fraction below one joins the whole number before it.
        let before = self.pos;
        let joint = self.rest().chars().next();
        if joint.is_some_and(|c| c == '-' || c.is_whitespace()) {
            self.pos += joint.map_or(0, char::len_utf8);
            self.blanks();
            let top = self.digits();
            if !top.is_empty() {
                let top: i128 = top.parse().map_err(|_| too_long(self))?;
                if let Some(bottom) = self.over()? {
                    return Exact::fraction(first, 1)
                        .zip(Exact::fraction(top, bottom))
                        .and_then(|(w, f)| w.plus(f))
                        .ok_or_else(|| too_long(self));
                }
            }
            self.pos = before;
        }
        Exact::fraction(first, 1).ok_or_else(|| too_long(self))
    }

    /// The digits after a decimal mark, if there is a mark.
    fn decimals(&mut self, start: usize, whole: &str) -> Result<Option<&'a str>, ParseError> {
        let Some(mark) = self.rest().chars().next().filter(|c| ".,".contains(*c)) else {
            return Ok(None);
        };
        self.pos += 1;
        let digits = self.digits();
        if mark == ',' && self.mark == DecimalMark::Point {
            let problem = Problem::Comma(format!("{whole}.{digits}"));
            return Err(self.error(start..self.pos, problem));
        }
        if self.rest().starts_with(['.', ',']) {
            return Err(self.error(start..self.pos + 1, Problem::TwoMarks));
        }
        Ok(Some(digits))
    }

    /// The number below the slash of a fraction, if a slash follows immediately.
    fn over(&mut self) -> Result<Option<i128>, ParseError> {
        let rest = self.rest();
        let after = rest.strip_prefix(['/', '⁄']);
        let Some(after) = after.filter(|a| a.starts_with(|c: char| c.is_ascii_digit())) else {
            return Ok(None);
        };
        let start = self.pos;
        self.pos += rest.len() - after.len();
        let bottom: i128 = self
            .digits()
            .parse()
            .map_err(|_| self.error(start..self.pos, Problem::TooLong))?;
        if bottom == 0 {
            return Err(self.error(start..self.pos, Problem::OverNought));
        }
        Ok(Some(bottom))
    }

    fn no_exponent(&self) -> Result<(), ParseError> {
        let rest = self.rest();
        let exponent = rest
            .strip_prefix(['e', 'E'])
            .map(|r| r.strip_prefix(['+', '-']).unwrap_or(r))
            .is_some_and(|r| r.starts_with(|c: char| c.is_ascii_digit()));
        if exponent {
            return Err(self.error(self.pos..self.text.len(), Problem::Exponent));
        }
        Ok(())
    }

    /// The unit after a number, if there is any text: up to the next blank that a number follows.
    fn unit(&mut self) -> Result<Option<Unit>, ParseError> {
        self.blanks();
        let rest = self.rest();
        if rest.is_empty() || rest.starts_with(|c: char| c.is_ascii_digit() || c == '.') {
            // `1200 1/min`: the one unit that starts with a digit.
            if let Some(after) = rest.strip_prefix("1/min") {
                self.pos += rest.len() - after.len();
                return Ok(Unit::find("1/min"));
            }
            return Ok(None);
        }
        let len = rest.find(char::is_whitespace).unwrap_or(rest.len());
        let name = &rest[..len];
        let at = self.pos..self.pos + len;
        self.pos += len;
        if name.starts_with(['-', '+', '−']) {
            return Err(self.error(at, Problem::TwoSigns));
        }
        match Unit::find(name) {
            Some(unit) => Ok(Some(unit)),
            None => Err(self.error(at, Problem::UnknownUnit(name.to_owned(), nearest(name)))),
        }
    }
}

/// `; did you mean …?` for a unit that is almost spelled correctly.
fn nearest(name: &str) -> String {
    let shared = |a: &str| {
        a.chars().next().map(|c| c.to_ascii_lowercase())
            == name.chars().next().map(|c| c.to_ascii_lowercase())
    };
    Unit::spellings()
        .filter(|s| s.len() > 1 && shared(s) && s.len().abs_diff(name.len()) <= 1)
        .find(|s| {
            let same = s
                .bytes()
                .zip(name.bytes())
                .filter(|(a, b)| a.eq_ignore_ascii_case(b))
                .count();
            same + 1 >= s.len().min(name.len())
        })
        .map_or_else(
            || "; units such as mm, in, thou, mm/min, rpm, min and % are".to_owned(),
            |s| format!("; did you mean `{s}`?"),
        )
}

#[cfg(test)]
mod tests;
