//! The limits of a quantity, and which of them a value breaks.

use super::format::QuantityFormat;
use super::value::Quantity;
use std::cmp::Ordering;

/// The bounds of one quantity; an absent bound does not limit. Comparison is exact, so a value equal to an inclusive
/// bound passes in whichever unit it was typed.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Bounds {
    /// Smallest value that passes.
    pub at_least: Option<Quantity>,
    /// Largest value that passes.
    pub at_most: Option<Quantity>,
    /// The value must be above this.
    pub more_than: Option<Quantity>,
    /// The value must be below this.
    pub less_than: Option<Quantity>,
    /// The only value that passes.
    pub exactly: Option<Quantity>,
}

/// A bound that a value breaks.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct BrokenBound {
    /// The relation to the bound that the value should have: `at least`, `at most`, `more than`, `less than`,
    /// `exactly`.
    pub word: &'static str,
    /// The bound that is broken.
    pub bound: Quantity,
}

impl Bounds {
    /// The first bound that `value` breaks. A bound of another kind counts as broken, so that it is noticed.
    pub fn breach(&self, value: Quantity) -> Option<BrokenBound> {
        use Ordering::{Equal, Greater, Less};
        let rules: [(&'static str, Option<Quantity>, &[Ordering]); 5] = [
            ("exactly", self.exactly, &[Equal]),
            ("at least", self.at_least, &[Equal, Greater]),
            ("at most", self.at_most, &[Equal, Less]),
            ("more than", self.more_than, &[Greater]),
            ("less than", self.less_than, &[Less]),
        ];
        rules.into_iter().find_map(|(word, bound, allowed)| {
            let bound = bound?;
            let passes = value.compare(bound).is_ok_and(|o| allowed.contains(&o));
            (!passes).then_some(BrokenBound { word, bound })
        })
    }

    /// The bounds in words: `at least 0.02 mm and at most 0.5 mm`.
    pub(crate) fn words(&self, show: &QuantityFormat) -> String {
        let parts: Vec<String> = [
            ("exactly", self.exactly),
            ("at least", self.at_least),
            ("more than", self.more_than),
            ("at most", self.at_most),
            ("less than", self.less_than),
        ]
        .into_iter()
        .filter_map(|(word, bound)| Some(format!("{word} {}", show.both(bound?))))
        .collect();
        parts.join(" and ")
    }
}

#[cfg(test)]
mod tests {
    use super::Bounds;
    use crate::quantity::parse::{DecimalMark, quantity};
    use crate::quantity::unit::Unit;
    use crate::quantity::value::Quantity;

    fn q(text: &str) -> Quantity {
        let mm = Unit::find("mm").unwrap();
        quantity(text, &mm, DecimalMark::Point).unwrap().quantity
    }

    #[test]
    fn a_value_on_the_limit_passes_in_either_unit() {
        let bounds = Bounds {
            at_most: Some(q("0.25 in")),
            at_least: Some(q("-6 thou")),
            ..Bounds::default()
        };
        assert_eq!(bounds.breach(q("6.35 mm")), None);
        assert_eq!(bounds.breach(q("-0.1524 mm")), None);
        assert_eq!(bounds.breach(q("6.3500001 mm")).unwrap().word, "at most");
        assert_eq!(bounds.breach(q("-0.1524001 mm")).unwrap().word, "at least");
    }

    #[test]
    fn a_strict_limit_does_not_include_itself() {
        let bounds = Bounds {
            more_than: Some(q("0 mm")),
            ..Bounds::default()
        };
        assert_eq!(bounds.breach(q("0 mm")).unwrap().word, "more than");
        assert_eq!(bounds.breach(q("1 nm")), None);
    }
}
