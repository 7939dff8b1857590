//! What a person types as a quantity: read or refused with a place inside the text; shown, and read again as the same.

use super::pick::Picks;
use skimgate::quantity::format::QuantityFormat;
use skimgate::quantity::parse::{DecimalMark, quantity};
use skimgate::quantity::slip::likeliest;
use skimgate::quantity::{Exact, Length, Quantity, Unit, UnitSystem};

pub fn run(data: &[u8]) {
    let mut picks = Picks(data);
    let spellings: Vec<&str> = Unit::spellings().collect();
    let unit = Unit::find(picks.of(&spellings)).expect("every spelling is a unit");
    let mark = picks.of(&[DecimalMark::Point, DecimalMark::Comma]);
    let text = String::from_utf8_lossy(picks.0);
    match quantity(&text, &unit, mark) {
        Ok(typed) => read(typed.quantity),
        Err(why) => {
            assert!(why.at.start <= why.at.end && why.at.end <= text.len());
            assert!(text.is_char_boundary(why.at.start) && text.is_char_boundary(why.at.end));
            assert!(!why.to_string().is_empty());
        }
    }
    if let Some(found) = Quantity::from_canonical(&text) {
        assert_eq!(Quantity::from_canonical(&found.canonical()), Some(found));
        shown(found);
    }
}

fn read(typed: Quantity) {
    assert_eq!(Quantity::from_canonical(&typed.canonical()), Some(typed));
    assert_eq!(typed.negated().negated(), typed);
    if let Some(length) = Length::exactly(typed) {
        assert_eq!(Quantity::from(length), typed);
        assert_eq!(Length::nearest(typed), Some(length));
    }
    if let Some(likely) = likeliest(typed, |q| q.amount.abs() <= Exact::ONE) {
        assert!(likely.meant.amount.abs() <= Exact::ONE);
    }
    shown(typed);
}

/// What is shown without a tilde says exactly what it is, in either system; with one, nearly.
fn shown(q: Quantity) {
    for system in [UnitSystem::Mm, UnitSystem::Inch] {
        for show in [
            QuantityFormat::new(system),
            QuantityFormat::new(system).signed(),
        ] {
            let text = show.one(q);
            assert!(!show.both(q).is_empty());
            let Some(unit) = Unit::usual(q.dimension, system) else {
                continue;
            };
            let about = text.strip_prefix('~');
            // A kind is shown without its base, or too long to be typed: nobody reads that back.
            let Ok(again) = quantity(about.unwrap_or(&text), &unit, DecimalMark::Point) else {
                continue;
            };
            if about.is_none() {
                assert_eq!(again.quantity, q, "shown as {text}");
            }
            assert_eq!(again.quantity.dimension, q.dimension, "shown as {text}");
        }
    }
}
