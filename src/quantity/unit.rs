//! The units that a person may type, and their exact size in base units.

use super::dimension::Dimension;
use super::exact::Exact;
use serde::{Deserialize, Serialize};
use std::fmt;

/// The two unit systems in which a shop types and reads.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum UnitSystem {
    /// Millimetre.
    Mm,
    /// Inch.
    Inch,
}

impl UnitSystem {
    /// The symbol of the system's unit of length.
    pub(crate) fn symbol(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Inch => "in",
        }
    }

    /// The system's unit of length.
    pub fn length(self) -> Unit {
        match self {
            Self::Mm => MM,
            Self::Inch => INCH,
        }
    }

    /// The other unit system.
    #[must_use]
    pub(crate) fn other(self) -> Self {
        match self {
            Self::Mm => Self::Inch,
            Self::Inch => Self::Mm,
        }
    }

    /// Reads `mm`, `millimetre`, `in`, `inch` and their usual spellings.
    pub fn from_word(word: &str) -> Option<Self> {
        match find_simple(word)?.symbol.as_ref() {
            "mm" => Some(Self::Mm),
            "in" => Some(Self::Inch),
            _ => None,
        }
    }
}

impl fmt::Display for UnitSystem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Mm => "millimetre",
            Self::Inch => "inch",
        })
    }
}

/// A unit: its dimension and its size in base units.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Unit {
    /// The symbol written after a number.
    pub symbol: std::borrow::Cow<'static, str>,
    /// The dimension of the unit.
    pub dimension: Dimension,
    /// The size of one unit, in base units (mm, s, kg, rev, tooth).
    pub size: Exact,
}

const fn unit(symbol: &'static str, dimension: Dimension, num: i128, den: i128) -> Unit {
    Unit {
        symbol: std::borrow::Cow::Borrowed(symbol),
        dimension,
        size: Exact::known(num, den),
    }
}

const MM: Unit = unit("mm", Dimension::LENGTH, 1, 1);
const INCH: Unit = unit("in", Dimension::LENGTH, 127, 5);
const DEG: Unit = unit("deg", Dimension::ANGLE, 1, 360);
const PER_REV_TEETH: Unit = unit("teeth", Dimension::TEETH, 1, 1);

/// Every simple unit with its accepted spellings; the unit's own symbol first.
///
/// Sizes: the international yard and pound agreement of 1959 makes the inch 25.4 mm exactly. Mechanical horsepower is
/// 550 foot-pounds of force per second, from the exact foot, pound and standard gravity. Only the radian is rounded
/// (1/2pi to 15 digits).
const TABLE: &[(Unit, &[&str])] = &[
    (
        MM,
        &[
            "mm",
            "millimetre",
            "millimetres",
            "millimeter",
            "millimeters",
        ],
    ),
    (unit("cm", Dimension::LENGTH, 10, 1), &["cm"]),
    (
        unit("m", Dimension::LENGTH, 1000, 1),
        &["m", "metre", "metres", "meter", "meters"],
    ),
    (
        unit("um", Dimension::LENGTH, 1, 1000),
        &[
            "um",
            "µm",
            "μm",
            "micron",
            "microns",
            "micrometre",
            "micrometer",
        ],
    ),
    (unit("nm", Dimension::LENGTH, 1, 1_000_000), &["nm"]),
    (INCH, &["in", "inch", "inches", "\"", "″"]),
    (
        unit("thou", Dimension::LENGTH, 127, 5000),
        &["thou", "thous"],
    ),
    (
        unit("uin", Dimension::LENGTH, 127, 5_000_000),
        &["uin", "µin", "μin", "microinch", "microinches"],
    ),
    (
        unit("ft", Dimension::LENGTH, 1524, 5),
        &["ft", "foot", "feet"],
    ),
    (
        unit("s", Dimension::TIME, 1, 1),
        &["s", "sec", "second", "seconds"],
    ),
    (
        unit("min", Dimension::TIME, 60, 1),
        &["min", "minute", "minutes", "mins"],
    ),
    (
        unit("h", Dimension::TIME, 3600, 1),
        &["h", "hr", "hrs", "hour", "hours"],
    ),
    (unit("ms", Dimension::TIME, 1, 1000), &["ms"]),
    (unit("d", Dimension::TIME, 86400, 1), &["d", "day", "days"]),
    (unit("kg", Dimension::MASS, 1, 1), &["kg"]),
    (unit("g", Dimension::MASS, 1, 1000), &["g"]),
    (
        unit("lb", Dimension::MASS, 45_359_237, 100_000_000),
        &["lb", "lbs"],
    ),
    (
        unit("rev", Dimension::ANGLE, 1, 1),
        &["rev", "turn", "turns", "revolution", "revolutions"],
    ),
    (DEG, &["deg", "°", "degree", "degrees"]),
    (unit("arcmin", Dimension::ANGLE, 1, 21600), &["arcmin"]),
    (unit("arcsec", Dimension::ANGLE, 1, 1_296_000), &["arcsec"]),
    (
        unit(
            "rad",
            Dimension::ANGLE,
            31_830_988_618_379,
            200_000_000_000_000,
        ),
        &["rad"],
    ),
    (PER_REV_TEETH, &["teeth", "flutes", "flute", "teeth/rev"]),
    (
        unit(
            "tooth",
            Dimension {
                length: 0,
                time: 0,
                mass: 0,
                turn: 0,
                tooth: 1,
            },
            1,
            1,
        ),
        &["tooth"],
    ),
    (
        unit("rpm", Dimension::SPINDLE_SPEED, 1, 60),
        &["rpm", "r/min", "1/min", "rev/min"],
    ),
    (
        unit("in/min", Dimension::FEED, 127, 300),
        &["ipm", "in/min"],
    ),
    (
        unit("ft/min", Dimension::FEED, 127, 25),
        &["sfm", "fpm", "ft/min"],
    ),
    (
        unit("W", Dimension::POWER, 1_000_000, 1),
        &["W", "watt", "watts"],
    ),
    (
        unit("kW", Dimension::POWER, 1_000_000_000, 1),
        &["kW", "kw"],
    ),
    (
        unit("hp", Dimension::POWER, 37_284_993_579_113_511, 50_000_000),
        &["hp"],
    ),
    (
        unit("J/mm3", Dimension::SPECIFIC_ENERGY, 1_000_000, 1),
        &["J/mm3", "J/mm^3"],
    ),
    (unit("N", Dimension::FORCE, 1000, 1), &["N", "newton"]),
    (
        unit("lbf", Dimension::FORCE, 8_896_443_230_521, 2_000_000_000),
        &["lbf"],
    ),
    (
        unit("N.m", Dimension::TORQUE, 1_000_000, 1),
        &["N.m", "N m"],
    ),
    (
        unit(
            "lbf.in",
            Dimension::TORQUE,
            1_129_848_290_276_167,
            10_000_000_000,
        ),
        &["lbf.in", "in.lbf"],
    ),
    (
        unit("%", Dimension::RATIO, 1, 100),
        &["%", "percent", "pct"],
    ),
    (unit("ppm", Dimension::RATIO, 1, 1_000_000), &["ppm"]),
];

fn find_simple(text: &str) -> Option<Unit> {
    TABLE
        .iter()
        .find(|(_, names)| names.contains(&text))
        .or_else(|| {
            // Capital letters are accepted where that is not ambiguous: "MM", "IN", "RPM".
            TABLE.iter().find(|(_, names)| {
                text.len() > 1 && names.iter().any(|n| n.eq_ignore_ascii_case(text))
            })
        })
        .map(|(u, _)| u.clone())
}

impl Unit {
    /// Finds a unit by what a person writes: a simple one (`mm`, `thou`, `rpm`, `%`) or a quotient of two
    /// (`mm/min`, `in/rev`, `mm/tooth`, `mm/s2`), with a power of 2 or 3 after either (`mm2`, `cm^3/min`).
    pub fn find(text: &str) -> Option<Self> {
        if text.len() > 32 {
            return None;
        }
        if let Some(found) = find_simple(text) {
            return Some(found);
        }
        let mut parts = text.split('/').map(str::trim);
        let top = powered(parts.next()?)?;
        let Some(bottom) = parts.next() else {
            return Some(Self {
                symbol: text.to_owned().into(),
                ..top
            });
        };
        if parts.next().is_some() {
            return None;
        }
        let bottom = powered(bottom)?;
        Some(Self {
            symbol: format!("{}/{}", top.symbol, bottom.symbol).into(),
            dimension: top.dimension.over(bottom.dimension)?,
            size: top.size.over(bottom.size)?,
        })
    }

    /// The usual unit for this kind of quantity in a shop working in `system`; `None` for kinds without a usual unit.
    pub fn usual(dimension: Dimension, system: UnitSystem) -> Option<Self> {
        let metric = system == UnitSystem::Mm;
        let symbol = match dimension {
            Dimension::RATIO => return Some(unit("", Dimension::RATIO, 1, 1)),
            Dimension::LENGTH => return Some(system.length()),
            Dimension::FEED if metric => "mm/min",
            Dimension::FEED => "in/min",
            Dimension::CHIP_LOAD if metric => "mm/tooth",
            Dimension::CHIP_LOAD => "in/tooth",
            Dimension::SPINDLE_SPEED => "rpm",
            Dimension::TIME => "min",
            Dimension::ANGLE => "deg",
            Dimension::TEETH => "teeth",
            Dimension::MASS => "kg",
            Dimension::POWER => "W",
            Dimension::SPECIFIC_ENERGY => "J/mm3",
            Dimension::AREA if metric => "mm2",
            Dimension::AREA => "in2",
            Dimension::REMOVAL_RATE if metric => "cm3/min",
            Dimension::REMOVAL_RATE => "in3/min",
            Dimension::FORCE if metric => "N",
            Dimension::FORCE => "lbf",
            Dimension::TORQUE if metric => "N.m",
            Dimension::TORQUE => "lbf.in",
            Dimension::ACCELERATION if metric => "mm/s2",
            Dimension::ACCELERATION => "in/s2",
            _ => return None,
        };
        Self::find(symbol)
    }

    /// Every spelling accepted for a simple unit; for suggestions.
    pub fn spellings() -> impl Iterator<Item = &'static str> {
        TABLE.iter().flat_map(|(_, names)| names.iter().copied())
    }
}

/// A simple unit with an optional power: `mm2`, `mm^3`.
fn powered(text: &str) -> Option<Unit> {
    if let Some(found) = find_simple(text) {
        return Some(found);
    }
    let power: u32 = text.chars().last()?.to_digit(10)?;
    if !(2..=3).contains(&power) {
        return None;
    }
    let base = find_simple(text[..text.len() - 1].trim_end_matches('^'))?;
    let mut whole = base.clone();
    for _ in 1..power {
        whole.dimension = whole.dimension.times(base.dimension)?;
        whole.size = whole.size.times(base.size)?;
    }
    whole.symbol = format!("{}{power}", base.symbol).into();
    Some(whole)
}

#[cfg(test)]
mod tests {
    use super::{Dimension, Exact, TABLE, Unit};

    #[test]
    fn every_spelling_finds_its_own_unit() {
        for (unit, names) in TABLE {
            for name in *names {
                assert_eq!(Unit::find(name).unwrap(), *unit, "{name}");
            }
        }
    }

    // Source: 1 in = 25.4 mm exactly; 1 hp = 745.699 871 582 270 22 W (550 ft.lbf/s, NIST SP 811 appendix B, from memory).
    #[test]
    fn sizes_agree_with_the_definitions() {
        let size = |s: &str| Unit::find(s).unwrap().size;
        assert_eq!(size("in"), Exact::fraction(254, 10).unwrap());
        assert_eq!(size("thou"), Exact::fraction(254, 10_000).unwrap());
        assert_eq!(size("ft/min"), Exact::fraction(3048, 600).unwrap());
        assert_eq!(
            size("hp").over(size("W")).unwrap().decimal(14).0,
            "745.69987158227022"
        );
        assert_eq!(size("rad").decimal(12).0, "0.159154943092"); // 1/(2 pi)
    }

    #[test]
    fn quotients_and_powers_are_composed() {
        let feed = Unit::find("in/min").unwrap();
        assert_eq!(feed.dimension, Dimension::FEED);
        assert_eq!(
            Unit::find("mm/tooth").unwrap().dimension,
            Dimension::CHIP_LOAD
        );
        assert_eq!(
            Unit::find("cm3/min").unwrap().dimension,
            Dimension::REMOVAL_RATE
        );
        assert_eq!(
            Unit::find("in^3/min").unwrap().dimension,
            Dimension::REMOVAL_RATE
        );
        assert_eq!(Unit::find("mm/min/min"), None);
        assert_eq!(Unit::find("parsec"), None);
        assert_eq!(Unit::find("µ"), None);
    }
}
