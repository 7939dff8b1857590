//! What a program is judged against, taken from the shop's facts.

use crate::interlock::State;
use crate::procedure::ShopList;
use crate::procedure::formula::Value;
use crate::procedure::shop::Item;
use crate::program::dialect::{Dialect, NoPoint};
use crate::program::setup::{Cutter, Mill, Plate, Setup};
use crate::program::time::Dynamics;
use crate::quantity::Unit;

/// A fact as a number in the unit.
fn number(item: &Item, fact: &str, unit: &str) -> Option<f64> {
    let amount = item.quantity(fact)?.in_unit(&Unit::find(unit)?).ok()?;
    Some(amount.to_f64())
}

/// What a run's program is judged against as far as the shop file tells it: plate, cutter and mill, how the control reads,
/// and how the axes move.
pub(crate) fn of_run(state: &State) -> (Setup, Dialect, Option<Dynamics>) {
    let machine = state.shop.item(ShopList::Machines, &state.begun.machine);
    let setup = Setup {
        plate: state.chosen(ShopList::Plates).and_then(plate),
        cutter: state.chosen(ShopList::Cutters).and_then(cutter),
        mill: machine.map(mill),
        ..Setup::default()
    };
    (
        setup,
        machine.map(dialect).unwrap_or_default(),
        machine.and_then(super::estimate::dynamics),
    )
}

/// A plate of the shop.
pub(crate) fn plate(item: &Item) -> Option<Plate> {
    let corner = number(item, "x_corner", "mm").zip(number(item, "y_corner", "mm"));
    Some(Plate {
        size: [
            number(item, "x_length", "mm")?,
            number(item, "y_width", "mm")?,
        ],
        corner: corner.map(|(x, y)| [x, y]),
    })
}

/// A cutter of the shop.
pub(crate) fn cutter(item: &Item) -> Option<Cutter> {
    let least = number(item, "least_chip_load", "mm/tooth");
    let most = number(item, "most_chip_load", "mm/tooth");
    Some(Cutter {
        diameter: number(item, "diameter", "mm")?,
        corner: number(item, "corner", "mm")?,
        teeth: number(item, "teeth", "teeth"),
        deepest_bite: number(item, "deepest_bite", "mm"),
        chip_load: least.zip(most).map(|(a, b)| [a, b]),
        highest_speed: number(item, "highest_speed", "rpm"),
    })
}

/// A machine of the shop.
pub(crate) fn mill(item: &Item) -> Mill {
    let pair = |a: Option<f64>, b: Option<f64>| a.zip(b).map(|(a, b)| [a, b]);
    let word = |fact: &str| match item.fact(fact) {
        Some(Value::Word(word)) => Some(word.clone()),
        _ => None,
    };
    let coolant = match item.fact("coolant") {
        Some(Value::Word(word)) => Some(word != "none"),
        _ => None,
    };
    Mill {
        speeds: pair(
            number(item, "lowest_speed", "rpm"),
            number(item, "highest_speed", "rpm"),
        ),
        highest_feed: number(item, "highest_feed", "mm/min"),
        travel: pair(
            number(item, "x_travel", "mm"),
            number(item, "y_travel", "mm"),
        ),
        lowest_z: number(item, "lowest_z", "mm"),
        coolant,
        clear_at_home: word("home").map(|w| w == "clear of the table"),
        length_offsets: word("length_offsets").map(|w| w == "used"),
    }
}

/// How the control of a machine reads programs.
pub(crate) fn dialect(machine: &Item) -> Dialect {
    let Some(said) = &machine.dialect else {
        return Dialect::default();
    };
    Dialect {
        no_point: match said.word("lengths without point") {
            Some("in increments") => NoPoint::Increments,
            Some("forbidden") => NoPoint::Forbid,
            _ => NoPoint::Units,
        },
        no_point_said: said.word("lengths without point").is_some(),
        dwell_in_milliseconds: said.word("dwell") == Some("in milliseconds"),
        absolute_centres: said.word("arc centres") == Some("absolute"),
        harmless: said.harmless('M'),
        harmless_g: said.harmless('G'),
        ..Dialect::default()
    }
}

#[cfg(test)]
mod tests {
    use super::{cutter, dialect, mill, plate};
    use crate::diagnostics::Findings;
    use crate::procedure::model::ShopList;
    use crate::procedure::shop;
    use crate::program::dialect::{Dialect, NoPoint};

    /// Expected: the words of the file's own text.
    #[test]
    fn a_dialect_comes_over_word_by_word() {
        let text = include_str!("../../../checklists/shop.yaml");
        let read = |text: &str| {
            let mut findings = Findings::default();
            let shop = shop::read(text, &mut findings).unwrap();
            dialect(shop.item(ShopList::Machines, "mill-a").unwrap())
        };
        let usual = Dialect {
            harmless: vec![62, 63],
            no_point_said: true,
            ..Dialect::default()
        };
        assert_eq!(read(text), usual);
        let odd = text
            .replace("point: in the unit", "point: in increments")
            .replace("dwell: in seconds", "dwell: in milliseconds")
            .replace("centres: from the start", "centres: absolute");
        let expected = Dialect {
            no_point: NoPoint::Increments,
            dwell_in_milliseconds: true,
            absolute_centres: true,
            ..usual
        };
        assert_eq!(read(&odd), expected);
    }

    /// The shop file's reader and the program's must agree on which codes are followed.
    #[test]
    fn no_followed_code_can_be_called_harmless() {
        for tenfold in 0..10_000 {
            assert_eq!(
                crate::procedure::dialect::follows_g(tenfold),
                crate::program::codes::group(tenfold).is_some(),
                "G{tenfold}/10"
            );
        }
    }

    /// Expected values: written in checklists/shop.yaml itself; 1 in is 25.4 mm.
    #[test]
    fn facts_come_over_in_millimetres_and_minutes() {
        let text = include_str!("../../../checklists/shop.yaml");
        let shop = shop::read(text, &mut Findings::default()).unwrap();
        let mill_b = mill(shop.item(ShopList::Machines, "mill-b").unwrap());
        assert_eq!(mill_b.highest_feed, Some(1524.0));
        assert_eq!(mill_b.speeds, Some([1000.0, 4200.0]));
        assert_eq!(mill_b.coolant, Some(true));
        let bed = plate(shop.item(ShopList::Plates, "plate-2").unwrap()).unwrap();
        assert_eq!(format!("{:?}", bed.size), "[254.0, 127.0]");
        let bull = cutter(shop.item(ShopList::Cutters, "bull-16").unwrap()).unwrap();
        assert_eq!(
            (bull.diameter, bull.corner, bull.teeth),
            (16.0, 1.0, Some(4.0))
        );
        assert_eq!(bull.chip_load, Some([0.03, 0.12]));
    }
}
