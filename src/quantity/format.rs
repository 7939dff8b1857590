//! Formats quantities: in the unit the shop types, followed by the other unit system.

use super::dimension::Dimension;
use super::exact::Exact;
use super::length::Length;
use super::unit::{Unit, UnitSystem};
use super::value::Quantity;

/// How quantities are formatted for one person.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct QuantityFormat {
    /// The unit system in which the person types and reads.
    pub system: UnitSystem,
    /// Whether a plus sign is written before values above zero, as readouts do.
    pub signed: bool,
    /// Whether plain numbers are fractions, shown in percent.
    pub percent: bool,
    /// Whether only the person's own unit is shown where else both are.
    pub alone: bool,
}

impl QuantityFormat {
    /// A format in `system`, without a plus sign.
    pub fn new(system: UnitSystem) -> Self {
        Self {
            system,
            signed: false,
            percent: false,
            alone: false,
        }
    }

    /// The same format with a plus sign before values above zero.
    #[must_use]
    pub fn signed(self) -> Self {
        Self {
            signed: true,
            ..self
        }
    }

    /// The same format with plain numbers in percent.
    #[must_use]
    pub(crate) fn in_percent(self, percent: bool) -> Self {
        Self { percent, ..self }
    }

    /// The same format in the person's own unit only.
    #[must_use]
    pub(crate) fn alone(self, alone: bool) -> Self {
        Self { alone, ..self }
    }

    /// `0.18 mm`: in the shop's unit, rounded to what a machinist reads (with a tilde where rounded).
    pub fn one(&self, q: Quantity) -> String {
        self.in_system(q, self.system)
    }

    /// `0.18 mm (0.0071 in)`: in the shop's unit, and in the other one where that differs. In the shop's alone
    /// where the format says so.
    pub fn both(&self, q: Quantity) -> String {
        let first = self.one(q);
        if self.alone {
            return first;
        }
        let second = self.in_system(q, self.system.other());
        if first == second {
            first
        } else {
            format!("{first} ({second})")
        }
    }

    /// An estimate, rounded up to a micrometre or a ten-thousandth of an inch: finer digits would promise too much.
    pub(crate) fn up(&self, length: Length) -> String {
        let step = self.step();
        let counts = length.counts();
        let rest = counts.rem_euclid(step);
        let up = if rest == 0 {
            counts
        } else {
            counts - rest + step
        };
        self.one(Length::from_counts(up).unwrap_or(length).into())
    }

    /// An estimate, rounded down in the same way: so a plane is never shown higher than computed.
    pub(crate) fn down(&self, length: Length) -> String {
        let counts = length.counts();
        let down = counts - counts.rem_euclid(self.step());
        self.one(Length::from_counts(down).unwrap_or(length).into())
    }

    /// An estimate that is no bound, rounded to nearest in the same way.
    pub(crate) fn near(&self, length: Length) -> String {
        self.one(self.rounded(length).into())
    }

    /// The length, rounded to the nearest micrometre or ten-thousandth of an inch.
    pub(crate) fn rounded(&self, length: Length) -> Length {
        let step = self.step();
        let counts = length.counts().saturating_add(step / 2);
        let near = counts - counts.rem_euclid(step);
        Length::from_counts(near).unwrap_or(length)
    }

    fn step(&self) -> i64 {
        match self.system {
            UnitSystem::Mm => Length::COUNTS_PER_MM / 1000,
            UnitSystem::Inch => 254 * Length::COUNTS_PER_MM / 100_000,
        }
    }

    fn in_system(&self, q: Quantity, system: UnitSystem) -> String {
        let Some(unit) = Unit::usual(q.dimension, system) else {
            return q.canonical();
        };
        let unit = match q.dimension {
            Dimension::TIME => time_unit(q).unwrap_or(unit),
            Dimension::FEED => surface_unit(q, system).unwrap_or(unit),
            Dimension::RATIO if self.percent => Unit::find("%").unwrap_or(unit),
            _ => unit,
        };
        self.in_unit(q, &unit)
    }

    /// The quantity in a given unit of the right kind.
    pub(crate) fn in_unit(&self, q: Quantity, unit: &Unit) -> String {
        let Ok(amount) = q.in_unit(unit) else {
            return q.canonical();
        };
        let (text, exact) = amount.decimal(places(unit));
        let plus = if self.signed && !amount.is_negative() && text != "0" {
            "+"
        } else {
            ""
        };
        let about = if exact { "" } else { "~" };
        format!("{about}{plus}{text} {}", unit.symbol)
            .trim_end()
            .to_owned()
    }
}

/// Seconds below two minutes, minutes below three hours, otherwise hours.
fn time_unit(q: Quantity) -> Option<Unit> {
    let seconds = q.amount.abs().floor();
    Unit::find(match seconds {
        0..120 => "s",
        120..10_800 => "min",
        _ => "h",
    })
}

/// Metres or feet per minute from 20 m/min on: no feed of a small mill is that fast, so it is a surface speed, and the
/// trade states those in metres and feet.
fn surface_unit(q: Quantity, system: UnitSystem) -> Option<Unit> {
    let slowest = Exact::whole(20);
    let metres = Unit::find("m/min")?;
    let fast = q.in_unit(&metres).ok()?.abs() >= slowest;
    let unit = match system {
        UnitSystem::Mm => metres,
        UnitSystem::Inch => Unit::find("ft/min")?,
    };
    fast.then_some(unit)
}

/// Number of decimals: down to a tenth of a micrometre, a hundred-thousandth of an inch, and enough for other units.
fn places(unit: &Unit) -> u32 {
    match unit.symbol.as_ref() {
        "mm" => 4,
        "in" | "mm/tooth" | "in/tooth" | "" => 5,
        "s" | "min" | "h" | "rpm" | "mm/min" | "m/min" | "ft/min" => 1,
        _ => 3,
    }
}

#[cfg(test)]
mod tests {
    use super::QuantityFormat;
    use crate::quantity::length::Length;
    use crate::quantity::parse::{DecimalMark, quantity};
    use crate::quantity::unit::{Unit, UnitSystem};
    use crate::quantity::value::Quantity;

    fn q(text: &str, unit: &str) -> Quantity {
        let unit = Unit::find(unit).unwrap();
        quantity(text, &unit, DecimalMark::Point).unwrap().quantity
    }

    #[test]
    fn estimates_have_no_digits_beyond_a_micrometre_or_a_tenth_of_a_thou() {
        let (mm, inch) = (
            QuantityFormat::new(UnitSystem::Mm),
            QuantityFormat::new(UnitSystem::Inch),
        );
        let l = |text: &str| Length::exactly(q(text, "mm")).unwrap();
        assert_eq!(
            (mm.up(l("0.0231")), mm.down(l("0.0231"))),
            ("0.024 mm".into(), "0.023 mm".into())
        );
        assert_eq!(
            (mm.up(l("-0.0231")), mm.down(l("-0.0231"))),
            ("-0.023 mm".into(), "-0.024 mm".into())
        );
        assert_eq!(
            (inch.up(l("0.0231")), inch.down(l("0.0231"))),
            ("0.001 in".into(), "0.0009 in".into())
        );
        assert_eq!(
            (inch.up(l("25.4")), inch.near(l("25.4012"))),
            ("1 in".into(), "1 in".into())
        );
        assert_eq!(
            (mm.near(l("0.0235")), mm.near(l("-0.0236"))),
            ("0.024 mm".into(), "-0.024 mm".into())
        );
    }

    #[test]
    fn both_unit_systems_are_shown() {
        let mm = QuantityFormat::new(UnitSystem::Mm);
        let inch = QuantityFormat::new(UnitSystem::Inch);
        assert_eq!(mm.both(q("0.18", "mm")), "0.18 mm (~0.00709 in)");
        assert_eq!(inch.both(q("1/2", "in")), "0.5 in (12.7 mm)");
        assert_eq!(mm.signed().one(q("0.31", "mm")), "+0.31 mm");
        assert_eq!(mm.both(q("1200", "rpm")), "1200 rpm");
        assert_eq!(mm.both(q("90 s", "min")), "90 s");
        assert_eq!(mm.both(q("15", "min")), "15 min");
        assert_eq!(inch.both(q("40", "in/min")), "40 in/min (1016 mm/min)");
        assert_eq!(mm.both(q("20000", "mm/min")), "20 m/min (~65.6 ft/min)");
        assert_eq!(
            mm.both(q("19999", "mm/min")),
            "19999 mm/min (~787.362 in/min)"
        );
        assert_eq!(inch.both(q("1200", "ft/min")), "1200 ft/min (~365.8 m/min)");
        assert_eq!(mm.both(q("60", "%")), "0.6");
        assert_eq!(mm.in_percent(true).both(q("60", "%")), "60 %");
    }
}
