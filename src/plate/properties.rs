//! Properties that hold for any plate.

use super::{Advice, Entry, Frame, Limits, Plan, Reading, Series, Surface, ZeroMode};
use crate::quantity::Length;
use proptest::prelude::*;

fn counts(n: i64) -> Length {
    Length::from_counts(n).unwrap()
}

/// Touches points of the true `heights`, with machine Z and the readout as a real control would show them.
fn touch_off(mode: ZeroMode, heights: &[i64], machine_at_zero: i64) -> Series {
    let mut series = Series::new(mode, Frame::default());
    let base = heights.first().copied().unwrap_or_default();
    let mut readout_zero = base;
    for (i, height) in heights.iter().enumerate() {
        let reading = Reading {
            readout: Some(counts(height - readout_zero)),
            machine: Some(counts(height + machine_at_zero)),
        };
        if series.touch(&format!("P{i}"), reading).unwrap().advice == Advice::ZeroHere {
            readout_zero = *height;
            series.zeroed().unwrap();
        }
    }
    series
}

prop_compose! {
    fn plates()(heights in prop::collection::vec(-50_000_000_i64..50_000_000, 1..12)) -> Vec<i64> { heights }
}

proptest! {
    #[test]
    fn every_mode_finds_the_same_exact_heights(heights in plates(), origin in -5_000_000_000_i64..5_000_000_000) {
        let base = heights[0];
        let expected: Vec<Length> = heights.iter().map(|h| counts(h - base)).collect();
        for mode in [ZeroMode::Running, ZeroMode::Fixed, ZeroMode::Machine] {
            let found = touch_off(mode, &heights, origin).heights();
            let found: Vec<Length> = found.points().iter().map(|p| p.height).collect();
            prop_assert_eq!(&found, &expected);
        }
    }

    #[test]
    fn running_zero_ends_at_the_lowest_point(heights in plates()) {
        let series = touch_off(ZeroMode::Running, &heights, 0);
        let lowest = series.heights().lowest().unwrap().height;
        prop_assert_eq!(series.frame().zero, Some(lowest));
    }

    #[test]
    fn the_order_of_points_changes_neither_lowest_nor_spread(heights in plates(), turn in 0_usize..12) {
        let mut turned = heights.clone();
        turned.rotate_left(turn % heights.len());
        let (one, two) = (
            touch_off(ZeroMode::Running, &heights, 0).heights(),
            touch_off(ZeroMode::Running, &turned, 0).heights(),
        );
        let absolute = |h: Length, base: i64| h.counts() + base;
        prop_assert_eq!(
            absolute(one.lowest().unwrap().height, heights[0]),
            absolute(two.lowest().unwrap().height, turned[0])
        );
        prop_assert_eq!(one.spread(), two.spread());
    }

    #[test]
    fn a_falsified_column_never_passes(heights in plates(), by in 1_i64..1_000_000, up: bool) {
        let mut series = touch_off(ZeroMode::Running, &heights, 0);
        let (zero, before) = (series.frame().zero.unwrap(), series.clone());
        let by = if up { by } else { -by };
        let base = heights[0];
        let reading = Reading {
            readout: Some(counts(by - zero.counts())),
            machine: Some(counts(base)),
        };
        prop_assert!(series.touch("again", reading).is_err());
        prop_assert_eq!(series, before);
    }

    #[test]
    fn passes_stay_within_the_bite_reach_the_target_and_add_up(
        highest in -50_000_000_i64..50_000_000,
        depth in 0_i64..50_000_000,
        max in 200_000_i64..10_000_000,
        finish in prop::option::of(0_i64..100),
        step in prop::option::of(prop::sample::select(vec![1_i64, 254, 10_000, 25_400, 100_000, 127_000])),
    ) {
        let finish = finish.map(|percent| counts((max * percent / 100).max(1)));
        let step = step.map(counts);
        let limits = Limits { max_bite: counts(max), finish, step };
        let target = counts(highest - depth);
        let highest = counts(highest);
        let plan = Plan::new(highest, target, limits).unwrap();
        prop_assert_eq!(plan.passes.is_empty(), depth == 0);
        let mut above = highest;
        for pass in &plan.passes {
            prop_assert_eq!(above.minus(pass.plane), Some(pass.bite));
            prop_assert!(pass.bite > Length::ZERO && pass.bite <= limits.max_bite);
            if let Some(step) = step {
                let whole = pass.plane.counts() % step.counts() == 0;
                prop_assert!(whole, "{:?} is no whole step", pass);
            }
            above = pass.plane;
        }
        if let Some(last) = plan.last_plane() {
            let below = target.minus(last).unwrap();
            let coarsest = step.map_or(1, Length::counts);
            prop_assert!(below >= Length::ZERO && below.counts() < coarsest);
            let total: i64 = plan.passes.iter().map(|p| p.bite.counts()).sum();
            prop_assert_eq!(Some(counts(total)), highest.minus(last));
            prop_assert_eq!(plan.passes.last().unwrap().finishing, finish.is_some());
        }
        // The smallest number of passes that such bites allow.
        if step.is_none() && finish.is_none() {
            prop_assert_eq!(i64::try_from(plan.passes.len()), Ok((depth + max - 1) / max));
        }
    }

    #[test]
    fn the_amounts_taken_off_equal_the_changes_of_height(heights in plates(), cuts in prop::collection::vec(-50_000_000_i64..50_000_000, 0..6)) {
        let found = touch_off(ZeroMode::Machine, &heights, 0).heights();
        let mut surface = Surface::new();
        surface.touch_all(&found);
        for plane in &cuts {
            let cut = surface.cut(counts(*plane)).unwrap();
            prop_assert!(cut.bites.iter().all(|b| b.taken >= Length::ZERO));
        }
        let after = surface.heights();
        for point in found.points() {
            let now = after.of(&point.point).unwrap();
            prop_assert_eq!(point.height.minus(now), surface.taken(&point.point));
            let deepest = cuts.iter().copied().min().map_or(point.height, counts);
            prop_assert_eq!(now, point.height.min(deepest));
        }
    }

    #[test]
    fn an_entry_read_back_is_its_plane(tip in -50_000_000_i64..50_000_000, plane in -50_000_000_i64..50_000_000) {
        let entry = Entry::new(counts(tip), counts(plane)).unwrap();
        prop_assert_eq!(Entry::plane_from(counts(tip), entry.value), Some(counts(plane)));
    }

    #[test]
    fn any_reading_is_accepted_or_refused_without_panic(
        mode in prop::sample::select(vec![ZeroMode::Running, ZeroMode::Fixed, ZeroMode::Machine]),
        zero in prop::option::of(-Length::LIMIT..=Length::LIMIT),
        origin in prop::option::of(-Length::LIMIT..=Length::LIMIT),
        readings in prop::collection::vec((prop::option::of(-Length::LIMIT..=Length::LIMIT), prop::option::of(-Length::LIMIT..=Length::LIMIT)), 0..6),
    ) {
        let mut series = Series::new(mode, Frame { zero: zero.map(counts), origin: origin.map(counts) });
        for (readout, machine) in readings {
            let reading = Reading { readout: readout.map(counts), machine: machine.map(counts) };
            let before = series.clone();
            match series.touch("P", reading) {
                Ok(touch) if touch.advice == Advice::ZeroHere => series.zeroed().unwrap(),
                Ok(_) => {}
                Err(error) => {
                    prop_assert!(!error.to_string().is_empty());
                    prop_assert_eq!(&series, &before);
                }
            }
        }
        prop_assert_eq!(series.heights().points().is_empty(), series.touches().is_empty());
        let _ = (series.repeatability(), series.drift());
    }
}
