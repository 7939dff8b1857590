//! The load of a cut on the spindle: power, torque, force.

use super::rounding::{float, pi};
use crate::quantity::{Dimension, Exact, Quantity, QuantityError, Unit};

/// The energy needed to cut a volume of a material, and the source of the figure.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct SpecificEnergy {
    /// With a sharp edge, at an uncut chip of 0.25 mm.
    pub sharp: Quantity,
    /// The source of the figure.
    pub source: &'static str,
}

/// The factor for wear: a dull edge needs a quarter more than a sharp one. Source: note under the same textbook table.
pub(crate) fn dull() -> Quantity {
    Quantity::ratio(Exact::known(5, 4))
}

const TABLE_20_2: &str =
    "Groover, Fundamentals of Modern Manufacturing, table of unit power (title from memory)";

/// The specific energy of a plate's material, by its name in a shop file; `None` where no published figure was found
/// (wood-based, plastic).
///
/// Source: a textbook table of unit power and specific energy: aluminium alloys of 100 to 150 HB 0.8 J/mm3, cast iron
/// 160 000 in.lbf/in3 = 1.1, carbon steel of 201 to 250 HB 2.2, brass and bronze 2.2 (free-cutting brass needs less).
pub(crate) fn specific_energy(material: &str) -> Option<SpecificEnergy> {
    let tenths = match material {
        "aluminium" => 8,
        "cast iron" => 11,
        "steel" | "brass" => 22,
        _ => return None,
    };
    let unit = Unit::find("J/mm3")?;
    let sharp = Quantity::of(Exact::fraction(tenths, 10)?, &unit).ok()?;
    Some(SpecificEnergy {
        sharp,
        source: TABLE_20_2,
    })
}

/// The factor by which a thin chip needs more energy: that of the table's next thinner chip, so never too low, except
/// below the thinnest chip of the table (0.001 in), where the true factor is larger than the one given.
///
/// Source: Machinery's Handbook, Machining Power, feed factors C (from memory).
pub(crate) fn thin_chip_factor(chip: Quantity) -> Quantity {
    // Chip in ten-thousandths of an inch, factor in hundredths.
    const TABLE: [(i128, i128); 7] = [
        (120, 100),
        (80, 108),
        (50, 119),
        (40, 125),
        (30, 130),
        (20, 140),
        (10, 160),
    ];
    let inches = |n| Exact::fraction(n * 254, 100_000);
    let row = TABLE
        .iter()
        .find(|(thick, _)| inches(*thick).is_some_and(|t| chip.amount >= t));
    let hundredths = row.map_or(160, |(_, factor)| *factor);
    Quantity::ratio(Exact::fraction(hundredths, 100).unwrap_or(Exact::ONE))
}

/// Energy per volume for planning: sharp x 1.25 for a dull edge x the factor of thin chips.
///
/// # Errors
/// [`QuantityError::TooLarge`].
pub(crate) fn planning_energy(
    energy: &SpecificEnergy,
    chip: Quantity,
) -> Result<Quantity, QuantityError> {
    energy.sharp.times(dull())?.times(thin_chip_factor(chip))
}

/// Power at the cutter, specific energy x removal rate.
///
/// Source: definition; unit power in Groover, and El-Hofy, Fundamentals of Machining Processes, 2nd ed. 2013, p. 189.
///
/// # Errors
/// [`QuantityError::TooLarge`].
pub fn power(energy: Quantity, rate: Quantity) -> Result<Quantity, QuantityError> {
    energy.times(rate)
}

/// Torque on the spindle, P / (2 pi N). Source: definition.
///
/// # Errors
/// [`QuantityError`] for a spindle speed of zero.
pub fn torque(power: Quantity, spindle: Quantity) -> Result<Quantity, QuantityError> {
    let turning = Quantity {
        dimension: Dimension {
            turn: 0,
            ..spindle.dimension
        },
        ..spindle.times(pi())?.times(Quantity::whole(2))?
    };
    power.over(turning)
}

/// Mean force along the rim, 2 T / D. Source: definition.
///
/// # Errors
/// [`QuantityError`] for a diameter of zero.
pub(crate) fn rim_force(torque: Quantity, diameter: Quantity) -> Result<Quantity, QuantityError> {
    torque.times(Quantity::whole(2))?.over(diameter)
}

/// The force for the deflection of a cutter: the larger of the mean force along the rim and the force of one tooth at
/// its thickest chip, energy x bite x chip. With few teeth in the cut the mean is less than the force of one tooth.
///
/// Source: energy per volume is force per chip section (1 J/mm3 = 1000 N/mm2); derived.
///
/// # Errors
/// [`QuantityError`] for other kinds.
pub(crate) fn side_force(
    mean: Quantity,
    energy: Quantity,
    bite: Quantity,
    chip: Quantity,
) -> Result<Quantity, QuantityError> {
    let chip = Quantity {
        dimension: Dimension::LENGTH,
        ..chip
    };
    let one = energy.times(bite)?.times(chip)?;
    Ok(if float(one) > float(mean) { one } else { mean })
}

#[cfg(test)]
mod tests {
    use super::{
        dull, planning_energy, rim_force, side_force, specific_energy, thin_chip_factor, torque,
    };
    use crate::quantity::{Exact, Quantity, Unit};

    fn of(n: i128, d: i128, unit: &str) -> Quantity {
        Quantity::of(Exact::fraction(n, d).unwrap(), &Unit::find(unit).unwrap()).unwrap()
    }

    fn is(found: Quantity, unit: &str, expected: f64, within: f64) {
        let found = found.in_unit(&Unit::find(unit).unwrap()).unwrap().to_f64();
        assert!(
            (found - expected).abs() <= within,
            "{found} is not {expected}"
        );
    }

    // 0.33 hp/(in3/min) x 1.30 x 1.10 = 1.29 J/mm3 by handbook constants from memory; the textbook's 0.8 x 1.25 x 1.30
    // agrees within a hundredth.
    #[test]
    fn two_sources_of_the_planning_energy_agree() {
        let aluminium = specific_energy("aluminium").unwrap();
        let found = planning_energy(&aluminium, of(3, 1000, "in/tooth")).unwrap();
        is(found, "J/mm3", 1.29, 0.015);
        assert_eq!(specific_energy("plastic"), None);
        assert_eq!(dull(), Quantity::ratio(Exact::fraction(125, 100).unwrap()));
    }

    // The same textbook page gives 0.8 J/mm3 together with 0.30 hp/(in3/min), and 2.2 with 0.80.
    #[test]
    fn joules_agree_with_the_horsepower_in_the_same_row() {
        for (material, hundredths) in [("aluminium", 30), ("steel", 80)] {
            let hp = of(hundredths, 100, "hp").over(of(1, 1, "in3/min")).unwrap();
            let found = specific_energy(material).unwrap().sharp;
            assert!(
                (found.over(hp).unwrap().amount.to_f64() - 1.0).abs() < 0.03,
                "{material}"
            );
        }
    }

    // Machinery's Handbook, feed factors (from memory); between two rows the factor of the thinner chip.
    #[test]
    fn thin_chips_need_more_energy() {
        for (chip, factor) in [
            (1, 160),
            (10, 160),
            (25, 140),
            (30, 130),
            (60, 119),
            (500, 100),
        ] {
            let found = thin_chip_factor(of(chip, 10_000, "in/tooth"));
            assert_eq!(
                found,
                Quantity::ratio(Exact::fraction(factor, 100).unwrap()),
                "{chip}"
            );
        }
    }

    // Computed from the formulas: 0.0743 hp at 4583.7 rpm on D 0.5 in: 1.02 lbf.in and 4.08 lbf.
    #[test]
    fn a_skim_needs_little_power_and_force() {
        let t = torque(of(743, 10_000, "hp"), of(45_837, 10, "rpm")).unwrap();
        is(t, "lbf.in", 1.02, 0.005);
        is(rim_force(t, of(1, 2, "in")).unwrap(), "lbf", 4.08, 0.01);
        assert!(torque(of(1, 1, "W"), of(0, 1, "rpm")).is_err());
    }

    // Derived: 1 J/mm3 over a chip of 1 mm x 0.1 mm is 100 N.
    #[test]
    fn the_force_of_one_tooth_counts_where_the_mean_is_smaller() {
        let (energy, bite, chip) = (of(1, 1, "J/mm3"), of(1, 1, "mm"), of(1, 10, "mm/tooth"));
        is(
            side_force(of(5, 1, "N"), energy, bite, chip).unwrap(),
            "N",
            100.0,
            1e-9,
        );
        is(
            side_force(of(500, 1, "N"), energy, bite, chip).unwrap(),
            "N",
            500.0,
            1e-9,
        );
    }
}
