//! Compares ways to cut: the fewest passes that cutter and spindle allow, and one more.

use super::figure::{PRACTICE, energy, worked};
use super::setting::CuttingConditions;
use super::way::CutWay;
use super::worked::WorkedFigure;
use crate::plate::{Limits, Plan, PlanError};
use crate::quantity::{Length, Quantity};

/// The ways to compare, the fewest passes first.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct CutWays {
    /// The ways, the one with the fewest passes first.
    pub ways: Vec<CutWay>,
    /// The limit of the bite in addition to the cutter's: the depth that uses half the spindle's power.
    pub power_bite: Option<WorkedFigure>,
    /// Whether the power is what limits the bite.
    pub power_rules: bool,
}

/// The fewest equal passes from `highest` down to `target`, and one more roughing pass. The largest bite is that of
/// `limits` or the one that uses half the spindle's power, whichever is smaller.
///
/// # Errors
/// [`PlanError`] where there is no plan at all.
pub(crate) fn compare(
    setting: &CuttingConditions,
    highest: Length,
    target: Length,
    limits: Limits,
) -> Result<CutWays, PlanError> {
    let power_bite = power_bite(setting);
    let by_power = power_bite.as_ref().and_then(|w| Length::nearest(w.value));
    let power_rules = by_power.is_some_and(|b| b < limits.max_bite);
    let bound = Limits {
        max_bite: by_power.map_or(limits.max_bite, |b| b.min(limits.max_bite)),
        ..limits
    };
    let plan = Plan::new(highest, target, bound)?;
    let more = plan.with_one_more();
    let ways = std::iter::once(plan).chain(more);
    Ok(CutWays {
        ways: ways.map(|plan| CutWay::of(plan, setting)).collect(),
        power_bite,
        power_rules,
    })
}

/// The bite that uses half the spindle's power at the cutter's full width.
fn power_bite(s: &CuttingConditions) -> Option<WorkedFigure> {
    let (power, wide, feed, energy) = (s.spindle_power?, s.diameter?, s.feed?, energy(s)?.value);
    let half = power.over(Quantity::whole(2));
    let rate = half.and_then(|h| h.over(energy));
    worked(
        ("power_bite_mm", "mm", "bite at half the spindle's power"),
        rate.and_then(|r| r.over(wide)?.over(feed)),
        "power / 2 / (energy x width x feed)",
        &[
            ("power", power),
            ("energy", energy),
            ("width", wide),
            ("feed", feed),
        ],
        format!("unit power, Groover; half the power: {PRACTICE}"),
    )
}

#[cfg(test)]
mod tests {
    use super::{CutWays, compare};
    use crate::cutting::deflection::CutterBody;
    use crate::cutting::ways::{CutWay, CuttingConditions};
    use crate::plate::Limits;
    use crate::quantity::parse::{DecimalMark, quantity};
    use crate::quantity::{Length, Quantity, Unit};

    fn q(text: &str) -> Quantity {
        let unit = text.split_once(' ').map_or("mm", |(_, unit)| unit);
        quantity(text, &Unit::find(unit).unwrap(), DecimalMark::Point)
            .unwrap()
            .quantity
    }

    fn l(text: &str) -> Length {
        Length::exactly(q(text)).unwrap()
    }

    fn setting() -> CuttingConditions {
        CuttingConditions {
            diameter: Some(q("0.5 in")),
            teeth: Some(q("3 teeth")),
            corner: Some(q("0")),
            spindle: Some(q("4583.7 rpm")),
            feed: Some(q("41.25 in/min")),
            finish_override: Some(q("60 %")),
            step_over: Some(q("0.3 in")),
            beyond: Some(q("0.1 in")),
            long: Some(q("12 in")),
            wide: Some(q("8 in")),
            material: Some("aluminium".into()),
            spindle_power: Some(q("1 hp")),
            tilt: Some(q("0.001 in").over(q("6 in")).unwrap()),
            body: Some(CutterBody::Carbide),
            stick_out: Some(q("1.5 in")),
            steel: Some(q("3 mm")),
            thickness: Some(q("20 mm")),
            least_thickness: Some(q("15 mm")),
            ..CuttingConditions::default()
        }
    }

    fn limits(max: &str, finish: Option<&str>) -> Limits {
        Limits {
            max_bite: l(max),
            finish: finish.map(l),
            step: Some(l("0.01")),
        }
    }

    fn figure(ways: &CutWays, way: usize, key: &str, unit: &str) -> f64 {
        let figure = ways.ways[way]
            .figures
            .iter()
            .find(|f| f.key == key)
            .unwrap();
        figure
            .value
            .in_unit(&Unit::find(unit).unwrap())
            .unwrap()
            .to_f64()
    }

    // Derived, computed by hand: 0.53 down in bites of at most 0.25, 0.08 of them finishing: two of 0.22 and 0.23, or
    // three of 0.15; path of the rows 350.6 in (the raster test checks it) at 41.25 in/min is 8.499 min.
    #[test]
    fn the_fewest_passes_are_compared_with_one_more() {
        let ways = compare(
            &setting(),
            l("0.19"),
            l("-0.34"),
            limits("0.25", Some("0.08")),
        )
        .unwrap();
        assert_eq!(
            ways.ways.iter().map(CutWay::roughing).collect::<Vec<_>>(),
            [2, 3]
        );
        assert!(!ways.power_rules);
        let heaviest: Vec<_> = ways.ways.iter().map(|w| w.heaviest().unwrap()).collect();
        assert_eq!(heaviest, [q("0.23"), q("0.15")]);
        for (way, min) in [(0, 2.0 + 1.0 / 0.6), (1, 3.0 + 1.0 / 0.6)] {
            assert!((figure(&ways, way, "pass_time_min", "min") - 8.4994).abs() < 1e-3);
            assert!((figure(&ways, way, "cutting_time_min", "min") - 8.4994 * min).abs() < 5e-3);
            assert!((figure(&ways, way, "over_steel_mm", "mm") - 2.47).abs() < 1e-12);
            assert!((figure(&ways, way, "above_least_mm", "mm") - 4.47).abs() < 1e-12);
            // 0.001 in / 6 in x 0.3 in.
            assert!((figure(&ways, way, "ridge_mm", "in") - 5e-5).abs() < 1e-12);
        }
        let power = [0, 1].map(|w| figure(&ways, w, "power_w", "W"));
        assert!((power[0] / power[1] - 23.0 / 15.0).abs() < 1e-9);
        // 0.8 x 1.25 x 1.4 (chip just below 0.003 in) J/mm3 x 0.23 x 12.7 mm x 1047.75 mm/min.
        let by_hand = 1.4 * 0.23 * 12.7 * 1047.75 / 60.0;
        assert!((power[0] - by_hand).abs() < 0.1, "{power:?} {by_hand}");
    }

    #[test]
    fn a_weak_spindle_limits_the_bite() {
        let weak = CuttingConditions {
            spindle_power: Some(q("50 W")),
            ..setting()
        };
        let ways = compare(&weak, l("0"), l("-0.4"), limits("0.25", None)).unwrap();
        assert!(ways.power_rules);
        let most = ways.power_bite.unwrap().value;
        let way = &ways.ways[0];
        assert!(way.heaviest().unwrap().compare(most).unwrap().is_le());
        let share = way
            .figures
            .iter()
            .find(|f| f.key == "power_share_percent")
            .unwrap();
        assert!(share.value.amount.to_f64() <= 0.5);
    }

    #[test]
    fn unknown_figures_are_left_out() {
        let ways = compare(
            &CuttingConditions::default(),
            l("0"),
            l("-0.4"),
            limits("0.25", None),
        )
        .unwrap();
        assert_eq!(ways.ways.len(), 2);
        assert!(
            ways.ways
                .iter()
                .all(|w| w.figures.is_empty() && w.stops.is_empty())
        );
        let some = CuttingConditions {
            body: None,
            material: Some("plastic".into()),
            ..setting()
        };
        let ways = compare(&some, l("0"), l("-0.4"), limits("0.25", None)).unwrap();
        let keys: Vec<_> = ways.ways[0].figures.iter().map(|f| f.key).collect();
        assert!(
            keys.contains(&"removal_rate_cm3_per_min") && !keys.contains(&"power_w"),
            "{keys:?}"
        );
        assert!(ways.power_bite.is_none());
    }

    #[test]
    fn steel_thickness_strips_and_rubbing_are_reported() {
        let bad = CuttingConditions {
            steel: Some(q("0.8 mm")),
            thickness: Some(q("15.2 mm")),
            step_over: Some(q("0.5 in")),
            finish_override: Some(q("10 %")),
            ..setting()
        };
        let ways = compare(&bad, l("0"), l("-0.4"), limits("0.25", Some("0.08"))).unwrap();
        let way = &ways.ways[0];
        assert_eq!(way.stops.len(), 3, "{:?}", way.stops);
        assert!(
            way.remarks
                .iter()
                .any(|r| r.contains("finishing skim rubs")),
            "{:?}",
            way.remarks
        );
        let fine = compare(&setting(), l("0"), l("-0.4"), limits("0.25", Some("0.08"))).unwrap();
        assert_eq!(fine.ways[0].stops, [""; 0]);
        assert_eq!(fine.ways[0].remarks, [""; 0]);
        let round = CuttingConditions {
            corner: Some(q("1 mm")),
            least_chip: Some(q("0.03 mm/tooth")),
            ..setting()
        };
        let round = compare(&round, l("0"), l("-0.4"), limits("0.25", Some("0.08"))).unwrap();
        assert!(
            round.ways[0].remarks.iter().any(|r| r.contains("may rub")),
            "{:?}",
            round.ways[0].remarks
        );
    }

    #[test]
    fn nothing_to_take_off_is_one_way_without_passes() {
        let ways = compare(&setting(), l("0"), l("0.1"), limits("0.25", None)).unwrap();
        assert_eq!(ways.ways.len(), 1);
        assert!(ways.ways[0].figures.is_empty());
    }
}
