//! Lengths of a program in its own unit: inch work shows inches first, millimetres beside them.

use crate::program::detail::Figure;
use crate::program::setting::Units;
use crate::program::study::ProgramStudy;
use crate::quantity::UnitSystem;

/// An inch.
pub(crate) const MM_PER_INCH: f64 = 25.4;

/// How lengths and feeds that are held in millimetres are shown.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Lengths {
    system: UnitSystem,
}

impl Lengths {
    /// In `system`.
    pub(crate) fn new(system: UnitSystem) -> Self {
        Self { system }
    }

    /// As the program itself is written; millimetres where it sets no unit, or both.
    pub(crate) fn of(study: &ProgramStudy) -> Self {
        let units = &study.examination.summary.units;
        let inch = !units.is_empty() && units.iter().all(|u| *u == Units::Inch);
        Self::new(if inch {
            UnitSystem::Inch
        } else {
            UnitSystem::Mm
        })
    }

    /// One or more figures with their unit, each written by `figure`: `0.5 x 12 in (12.7 x 304.8 mm)`.
    pub(crate) fn each(
        self,
        unit_tail: &str,
        figures: impl Fn(&dyn Fn(f64) -> f64) -> String,
    ) -> String {
        let mm = format!("{} mm{unit_tail}", figures(&|mm| mm));
        match self.system {
            UnitSystem::Mm => mm,
            UnitSystem::Inch => {
                format!("{} in{unit_tail} ({mm})", figures(&|mm| mm / MM_PER_INCH))
            }
        }
    }

    /// Whether inches come first.
    pub(crate) fn in_inches(self) -> bool {
        self.system == UnitSystem::Inch
    }

    /// Two lengths with `between` them; millimetres written by `mm`.
    pub(crate) fn pair(self, a: f64, b: f64, between: &str, mm: fn(f64) -> String) -> String {
        let metric = format!("{}{between}{} mm", mm(a), mm(b));
        match self.system {
            UnitSystem::Mm => metric,
            UnitSystem::Inch => {
                let [a, b] = [a, b].map(|l| number(l / MM_PER_INCH));
                format!("{a}{between}{b} in ({metric})")
            }
        }
    }

    /// A figure of a finding.
    pub(crate) fn figure(self, figure: Figure) -> String {
        match figure {
            Figure::Length(mm) => self.one(mm),
            Figure::Feed(mm) => self.each("/min", |to| number(to(mm))),
            Figure::Area(mm2) => self.area(mm2),
        }
    }

    /// An area, to a tenth of a square millimetre.
    pub(crate) fn area(self, mm2: f64) -> String {
        let metric = format!("{mm2:.1} mm2");
        match self.system {
            UnitSystem::Mm => metric,
            UnitSystem::Inch => {
                format!(
                    "{} in2 ({metric})",
                    number(mm2 / (MM_PER_INCH * MM_PER_INCH))
                )
            }
        }
    }

    /// One length, to at most four decimals.
    pub(crate) fn one(self, mm: f64) -> String {
        self.each("", |to| number(to(mm)))
    }

    /// From one place to another.
    pub(crate) fn range(self, low: f64, high: f64) -> String {
        self.each("", |to| {
            format!("{} to {}", number(to(low)), number(to(high)))
        })
    }
}

/// At most four decimals, without trailing zeros.
pub(crate) fn number(value: f64) -> String {
    let text = format!("{value:.4}");
    let short = text.trim_end_matches('0').trim_end_matches('.');
    if short == "-0" { "0" } else { short }.to_owned()
}

#[cfg(test)]
mod tests {
    use super::Lengths;
    use crate::program::detail::Figure;
    use crate::quantity::UnitSystem;

    // By hand: 12.7 / 25.4 = 0.5, 254 / 25.4 = 10.
    #[test]
    fn inches_come_first_in_inch_work_and_every_figure_has_a_unit() {
        let inch = Lengths::new(UnitSystem::Inch);
        assert_eq!(inch.one(12.7), "0.5 in (12.7 mm)");
        assert_eq!(inch.range(-12.7, 254.0), "-0.5 to 10 in (-12.7 to 254 mm)");
        let mm = Lengths::new(UnitSystem::Mm);
        assert_eq!(mm.one(-0.00001), "0 mm");
        assert_eq!(inch.figure(Figure::Length(-0.254)), "-0.01 in (-0.254 mm)");
        assert_eq!(inch.figure(Figure::Feed(254.0)), "10 in/min (254 mm/min)");
        // 645.16 mm2 are a square inch: 25.4 x 25.4.
        assert_eq!(inch.figure(Figure::Area(645.16)), "1 in2 (645.2 mm2)");
        assert_eq!(mm.figure(Figure::Area(4.0)), "4.0 mm2");
        assert_eq!(mm.each("/min", |to| format!("{}", to(254.0))), "254 mm/min");
    }
}
