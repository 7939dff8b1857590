//! Surface speed, spindle speed, chip load and removal rate.

use super::rounding::pi;
use crate::quantity::{Dimension, Quantity, QuantityError};

/// The length at the rim: removes the revolution from the kind of a quantity.
fn rim(q: Quantity) -> Quantity {
    Quantity {
        amount: q.amount,
        dimension: Dimension {
            turn: 0,
            ..q.dimension
        },
    }
}

/// Surface speed of the cutter's rim, pi D N, from its diameter and the spindle speed.
///
/// Source: v = pi D N is the definition; in the form N = 12 V / (pi D) in an SME student-chapter formula sheet.
pub fn surface_speed(diameter: Quantity, spindle: Quantity) -> Result<Quantity, QuantityError> {
    Ok(rim(pi().times(diameter)?.times(spindle)?))
}

/// Spindle speed for a given surface speed, V / (pi D).
///
/// Source: SME student-chapter formula sheet, N = 12 V / (pi D). The shop rule N = 4 V / D is 4.7 % too high.
pub fn spindle_speed(rim_speed: Quantity, diameter: Quantity) -> Result<Quantity, QuantityError> {
    let turns = rim_speed.over(pi().times(diameter)?)?;
    Ok(Quantity {
        dimension: Dimension {
            turn: turns.dimension.turn.saturating_add(1),
            ..turns.dimension
        },
        ..turns
    })
}

/// Feed, chip load x teeth x spindle speed.
///
/// Source: Stanford University student shop handout "Mill speeds and feeds" (2001), vf = N z fz.
pub fn feed(chip: Quantity, spindle: Quantity, teeth: Quantity) -> Result<Quantity, QuantityError> {
    chip.times(spindle)?.times(teeth)
}

/// Length that each tooth advances, vf / (N z), from feed, spindle speed and teeth per revolution.
///
/// Source: Stanford University student shop handout "Mill speeds and feeds" (2001), vf = N z fz.
pub fn chip_load(
    feed: Quantity,
    spindle: Quantity,
    teeth: Quantity,
) -> Result<Quantity, QuantityError> {
    feed.over(spindle.times(teeth)?)
}

/// Volume removed per time, depth x width x feed.
///
/// Source: SME student-chapter formula sheet, MRR = F W t.
pub fn removal_rate(
    bite: Quantity,
    width: Quantity,
    feed: Quantity,
) -> Result<Quantity, QuantityError> {
    bite.times(width)?.times(feed)
}

#[cfg(test)]
mod tests {
    use super::{chip_load, removal_rate, surface_speed};
    use crate::quantity::parse::{DecimalMark, quantity};
    use crate::quantity::{Quantity, Unit};

    fn q(text: &str) -> Quantity {
        let ratio = Unit::find("%").unwrap();
        let ratio = Unit {
            symbol: "".into(),
            ..ratio
        };
        quantity(text, &ratio, DecimalMark::Point).unwrap().quantity
    }

    fn close(found: Quantity, unit: &str, expected: f64, within: f64) {
        let found = found.in_unit(&Unit::find(unit).unwrap()).unwrap().to_f64();
        assert!(
            (found - expected).abs() <= within,
            "{found} is not {expected}"
        );
    }

    // Face-milling textbook problem (inputs found by look-up, output computed): V 250 ft/min on D 3.0 in is 318.31 rpm.
    #[test]
    fn surface_speed_of_a_published_face_milling_problem() {
        close(
            surface_speed(q("3 in"), q("318.31 rpm")).unwrap(),
            "ft/min",
            250.0,
            0.05,
        );
    }

    // El-Hofy, Fundamentals of Machining Processes, 2nd ed. 2013, p. 189: 150 rpm, D 30 mm; 14.137 m/min (book: 14.13).
    #[test]
    fn surface_speed_of_a_metric_milling_example() {
        close(
            surface_speed(q("30 mm"), q("150 rpm")).unwrap(),
            "m/min",
            14.137,
            0.01,
        );
    }

    // Stanford handout: 0.005 in/tooth, 4 flutes, 1000 rpm is 20 in/min. El-Hofy p. 189: 120 mm/min, 8 teeth, 150 rpm is 0.1 mm.
    #[test]
    fn chip_loads_of_published_examples() {
        let load = chip_load(q("20 in/min"), q("1000 rpm"), q("4 teeth")).unwrap();
        assert_eq!(load, q("0.005 in/tooth"));
        let load = chip_load(q("120 mm/min"), q("150 rpm"), q("8 teeth")).unwrap();
        assert_eq!(load, q("0.1 mm/tooth"));
    }

    // The same two problems: 0.150 x 2.0 x 9.549 in/min is 2.865 in3/min; 4 x 30 x 120 is 14.4 cm3/min.
    #[test]
    fn removal_rates_of_published_examples() {
        let rate = removal_rate(q("0.150 in"), q("2 in"), q("9.549 in/min")).unwrap();
        close(rate, "in3/min", 2.865, 0.001);
        let rate = removal_rate(q("4 mm"), q("30 mm"), q("120 mm/min")).unwrap();
        assert_eq!(rate, q("14.4 cm3/min"));
    }
}
