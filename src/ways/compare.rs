//! Comparing ways: the plan, and what each of its figures comes to.

use super::setting::Setting;
use super::worked::Worked;
use crate::cutting::{bending, load, raster, speeds, thinning, tram};
use crate::plate::{Limits, Plan, PlanError};
use crate::quantity::{Exact, Length, Quantity, QuantityError, Unit};

const PRACTICE: &str = "common practice, no source";
const DERIVED: &str = "derived";

/// One way of taking it off.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Way {
    /// The passes.
    pub plan: Plan,
    /// What is known of it, in the order of showing.
    pub figures: Vec<Worked>,
    /// Why it must not be gone.
    pub stops: Vec<String>,
    /// What is worth a look.
    pub remarks: Vec<String>,
}

/// Ways side by side, the fewest passes first.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Ways {
    /// The ways.
    pub ways: Vec<Way>,
    /// What bounds the bite besides the cutter: the depth at which half the spindle's power is taken.
    pub power_bite: Option<Worked>,
    /// Whether it is the power that bounds it.
    pub power_rules: bool,
}

/// The fewest equal passes from `highest` down to `target`, and one roughing pass more. The largest bite is `limits`'
/// own or the one that takes half the spindle's power, whichever is less.
///
/// # Errors
/// [`PlanError`] where there is no plan at all.
pub fn compare(
    setting: &Setting,
    highest: Length,
    target: Length,
    limits: Limits,
) -> Result<Ways, PlanError> {
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
    Ok(Ways {
        ways: ways.map(|plan| Way::of(plan, setting)).collect(),
        power_bite,
        power_rules,
    })
}

/// A figure that cannot be worked out, for want of an input or of room, is left out.
fn worked(
    (key, unit, name): (&'static str, &'static str, &'static str),
    value: Result<Quantity, QuantityError>,
    formula: &'static str,
    inputs: &[(&'static str, Quantity)],
    source: impl Into<String>,
) -> Option<Worked> {
    Some(Worked {
        key,
        unit,
        name,
        value: value.ok()?,
        formula,
        inputs: inputs.to_vec(),
        source: source.into(),
    })
}

fn length(text: (i128, i128)) -> Option<Quantity> {
    Quantity::of(Exact::fraction(text.0, text.1)?, &Unit::find("mm")?).ok()
}

fn below(a: Quantity, b: Quantity) -> bool {
    a.compare(b).is_ok_and(std::cmp::Ordering::is_lt)
}

/// Chip load of the program.
fn chip(s: &Setting) -> Option<Worked> {
    let (feed, spindle, teeth) = (s.feed?, s.spindle?, s.teeth?);
    worked(
        ("chip_load_mm_per_tooth", "mm/tooth", "chip load"),
        speeds::chip_load(feed, spindle, teeth),
        "feed / (speed x teeth)",
        &[("feed", feed), ("speed", spindle), ("teeth", teeth)],
        "Stanford University student shop handout, 2001",
    )
}

/// Energy per volume to plan with, and its source.
fn energy(s: &Setting) -> Option<Worked> {
    let found = load::specific_energy(s.material.as_deref()?)?;
    let chip = chip(s)?.value;
    let factor = load::thin_chip_factor(chip);
    worked(
        ("energy_j_per_mm3", "J/mm3", "energy to plan with"),
        load::planning_energy(&found, chip),
        "sharp x dull x thin chip",
        &[
            ("sharp", found.sharp),
            ("dull", load::dull()),
            ("thin chip", factor),
        ],
        format!(
            "{}; thin chips: Machinery's Handbook, from memory",
            found.source
        ),
    )
}

/// The bite that takes half the spindle's power at the cutter's full width.
fn power_bite(s: &Setting) -> Option<Worked> {
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

impl Way {
    fn of(plan: Plan, setting: &Setting) -> Self {
        let mut way = Self {
            plan,
            figures: Vec::new(),
            stops: Vec::new(),
            remarks: Vec::new(),
        };
        if way.plan.passes.is_empty() {
            return way;
        }
        way.time(setting);
        way.chips(setting);
        way.loads(setting);
        way.face(setting);
        way.left(setting);
        way
    }

    fn bite(&self, finishing: bool) -> Option<Quantity> {
        let passes = self.plan.passes.iter().filter(|p| p.finishing == finishing);
        passes.map(|p| p.bite).max().map(Quantity::from)
    }

    /// The largest roughing bite; the finishing bite where there is no roughing.
    pub fn heaviest(&self) -> Option<Quantity> {
        self.bite(false).or_else(|| self.bite(true))
    }

    fn add(&mut self, figure: Option<Worked>) -> Option<Quantity> {
        let figure = figure?;
        let value = figure.value;
        self.figures.push(figure);
        Some(value)
    }

    /// How many roughing passes it has.
    pub fn roughing(&self) -> usize {
        self.plan.passes.iter().filter(|p| !p.finishing).count()
    }

    fn time(&mut self, s: &Setting) -> Option<()> {
        let (long, wide, d, step, feed) = (s.long?, s.wide?, s.diameter?, s.step_over?, s.feed?);
        let beyond = s.beyond.or_else(|| length((0, 1)))?;
        let path = raster::raster(long, wide, d, step, beyond)
            .map(|r| r.path)
            .ok()?;
        let one = self.add(worked(
            ("pass_time_min", "min", "time of a pass"),
            path.over(feed),
            "path of the rows / feed",
            &[("path", path), ("feed", feed)],
            DERIVED,
        ))?;
        let rough = Quantity::whole(i64::try_from(self.roughing()).ok()?);
        let mut all = one.times(rough);
        let mut inputs = vec![("pass", one), ("roughing passes", rough)];
        if self.bite(true).is_some() {
            let slower = s.finish_override.unwrap_or(Quantity::whole(1));
            all = all.and_then(|a| a.plus(one.over(slower)?));
            inputs.push(("finishing override", slower));
        }
        let formula = "roughing passes x pass + pass / override if finished";
        self.add(worked(
            ("cutting_time_min", "min", "cutting time in all"),
            all,
            formula,
            &inputs,
            DERIVED,
        ))?;
        Some(())
    }

    fn chips(&mut self, s: &Setting) -> Option<()> {
        let chip = self.add(chip(s))?;
        let least = s.least_chip.or_else(|| {
            let thin = Quantity::of(Exact::fraction(5, 10_000)?, &Unit::find("in/tooth")?);
            thin.ok()
        })?;
        let whose = if s.least_chip.is_some() {
            "the cutter's least"
        } else {
            "0.0005 in, common practice, no source"
        };
        if self.roughing() > 0 && below(chip, least) {
            self.remarks
                .push(format!("roughing rubs: the chip load is below {whose}"));
        }
        if s.most_chip.is_some_and(|most| below(most, chip)) {
            self.remarks
                .push("the chip load is above the cutter's most".to_owned());
        }
        let bite = self.bite(true)?;
        let slower = s.finish_override.unwrap_or(Quantity::whole(1));
        let corner = s.corner.or_else(|| length((0, 1)))?;
        let thin = thinning::under_the_corner(bite, corner).ok()?;
        let fine = self.add(worked(
            (
                "finishing_chip_load_mm_per_tooth",
                "mm/tooth",
                "chip load, finishing",
            ),
            chip.times(slower),
            "chip load x override",
            &[("chip load", chip), ("override", slower)],
            "Stanford University student shop handout, 2001",
        ))?;
        let thick = fine.times(thin).ok()?;
        if below(fine, least) {
            self.remarks.push(format!(
                "the finishing skim rubs: its chip load is below {whose}; turn the override up"
            ));
        } else if below(thick, least) {
            self.remarks.push(format!(
                "under a corner as round as this cutter's the finishing chip is thinner than {whose}; it may rub"
            ));
        }
        Some(())
    }

    fn loads(&mut self, s: &Setting) -> Option<()> {
        let (bite, wide, feed) = (self.heaviest()?, s.diameter?, s.feed?);
        let rate = self.add(worked(
            ("removal_rate_cm3_per_min", "cm3/min", "removal rate"),
            speeds::removal_rate(bite, wide, feed),
            "bite x full width x feed",
            &[("bite", bite), ("width", wide), ("feed", feed)],
            "SME student-chapter formula sheet",
        ))?;
        let energy = energy(s)?;
        let power = self.add(worked(
            ("power_w", "W", "power at the cutter"),
            load::power(energy.value, rate),
            "energy x removal rate",
            &[("energy", energy.value), ("removal rate", rate)],
            energy.source.clone(),
        ))?;
        if let Some(spindle) = s.spindle_power {
            self.add(worked(
                ("power_share_percent", "%", "share of the spindle's power"),
                power.over(spindle),
                "power at the cutter / spindle power",
                &[("power", power), ("spindle power", spindle)],
                DERIVED,
            ));
        }
        let spindle = s.spindle?;
        let torque = self.add(worked(
            ("torque_nm", "N.m", "torque"),
            load::torque(power, spindle),
            "power / (2 pi speed)",
            &[("power", power), ("speed", spindle)],
            "definition",
        ))?;
        let mean = load::rim_force(torque, wide).ok()?;
        let chip = chip(s)?.value;
        let force = self.add(worked(
            ("side_force_n", "N", "side force"),
            load::side_force(mean, energy.value, bite, chip),
            "the larger of 2 torque / diameter and energy x bite x chip",
            &[
                ("torque", torque),
                ("diameter", wide),
                ("energy", energy.value),
                ("bite", bite),
                ("chip", chip),
            ],
            DERIVED,
        ))?;
        let (body, free) = (s.body?, s.stick_out?);
        let bend = bending::bend(force, free, wide, body).ok()?;
        let inputs = [
            ("force", force),
            ("free length", free),
            ("diameter", wide),
            ("modulus", body.modulus()),
        ];
        let source = "Kops and Vo, CIRP Annals 39/1, 1990: a fluted rod counts as 0.8 of its diameter; modulus from memory";
        self.add(worked(
            ("bend_sideways_mm", "mm", "tip bends sideways"),
            Ok(bend.sideways),
            "F L^3 / (3 E I), I = pi (0.8 D)^4 / 64",
            &inputs,
            source,
        ));
        self.add(worked(
            ("bend_down_mm", "mm", "rim tips down"),
            Ok(bend.down),
            "F L^2 / (2 E I) x D / 2",
            &inputs,
            source,
        ));
        if length((1, 100)).is_some_and(|felt| below(felt, bend.down)) {
            self.remarks.push(format!(
                "the bent cutter tips its rim down by more than a hundredth of a millimetre: lighter bites, or less free length ({PRACTICE})"
            ));
        }
        Some(())
    }

    fn face(&mut self, s: &Setting) -> Option<()> {
        let (step, d) = (s.step_over?, s.diameter?);
        let corner = s.corner.or_else(|| length((0, 1)))?;
        let flat = corner
            .times(Quantity::whole(2))
            .and_then(|twice| d.minus(twice))
            .ok()?;
        if !below(step, flat) {
            self.stops.push("the step-over is as wide as the flat under the cutter or wider: strips stay between the rows".to_owned());
        }
        let tilt = s.tilt?;
        let inputs = [("step-over", step), ("tilt", tilt), ("diameter", d)];
        self.add(worked(
            ("ridge_mm", "mm", "ridge, leaning across rows"),
            tram::ridge(step, tilt),
            "step-over x tilt",
            &inputs,
            "derived, checked by brute force over the envelope",
        ));
        self.add(worked(
            ("hollow_mm", "mm", "hollow, leaning along rows"),
            tram::hollow(step, d, tilt),
            "tilt x (R - root(R^2 - step-over^2 / 4))",
            &inputs,
            "derived, checked by brute force over the envelope",
        ));
        Some(())
    }

    fn left(&mut self, s: &Setting) -> Option<()> {
        let taken = Quantity::from(self.plan.highest.minus(self.plan.last_plane()?)?);
        if let Some(steel) = s.steel {
            let left = self.add(worked(
                ("over_steel_mm", "mm", "metal left over steel"),
                steel.minus(taken),
                "metal over the steel now - taken off at the highest place",
                &[("now", steel), ("taken off", taken)],
                DERIVED,
            ))?;
            if length((5, 10)).is_some_and(|least| below(left, least)) {
                self.stops.push(format!(
                    "less than 0.5 mm (0.020 in) is left over the steel ({PRACTICE})"
                ));
            }
        }
        let thickness = s.thickness?;
        let left = self.add(worked(
            ("thickness_mm", "mm", "thickness left"),
            thickness.minus(taken),
            "thickness now - taken off at the highest place",
            &[("now", thickness), ("taken off", taken)],
            DERIVED,
        ))?;
        let least = s.least_thickness?;
        self.add(worked(
            ("above_least_mm", "mm", "left above the least"),
            left.minus(least),
            "thickness left - least thickness",
            &[("thickness left", left), ("least", least)],
            DERIVED,
        ));
        if below(left, least) {
            self.stops
                .push("the plate would be thinner than the shop allows".to_owned());
        }
        Some(())
    }
}

#[cfg(test)]
mod tests {
    use super::{Ways, compare};
    use crate::cutting::bending::Body;
    use crate::plate::Limits;
    use crate::quantity::parse::{DecimalMark, quantity};
    use crate::quantity::{Length, Quantity, Unit};
    use crate::ways::Setting;

    fn q(text: &str) -> Quantity {
        let unit = text.split_once(' ').map_or("mm", |(_, unit)| unit);
        quantity(text, &Unit::find(unit).unwrap(), DecimalMark::Point)
            .unwrap()
            .quantity
    }

    fn l(text: &str) -> Length {
        Length::exactly(q(text)).unwrap()
    }

    fn setting() -> Setting {
        Setting {
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
            body: Some(Body::Carbide),
            stick_out: Some(q("1.5 in")),
            steel: Some(q("3 mm")),
            thickness: Some(q("20 mm")),
            least_thickness: Some(q("15 mm")),
            ..Setting::default()
        }
    }

    fn limits(max: &str, finish: Option<&str>) -> Limits {
        Limits {
            max_bite: l(max),
            finish: finish.map(l),
            step: Some(l("0.01")),
        }
    }

    fn figure(ways: &Ways, way: usize, key: &str, unit: &str) -> f64 {
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

    // Derived, worked by hand: 0.53 down in bites of at most 0.25, 0.08 of them finishing: two of 0.22 and 0.23, or
    // three of 0.15; path of the rows 350.6 in (the raster checked elsewhere) at 41.25 in/min is 8.499 min.
    #[test]
    fn one_roughing_pass_more_stands_beside_the_fewest() {
        let ways = compare(
            &setting(),
            l("0.19"),
            l("-0.34"),
            limits("0.25", Some("0.08")),
        )
        .unwrap();
        assert_eq!(
            ways.ways
                .iter()
                .map(super::Way::roughing)
                .collect::<Vec<_>>(),
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
    fn a_weak_spindle_bounds_the_bite() {
        let weak = Setting {
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
    fn what_is_not_known_is_left_out() {
        let ways = compare(&Setting::default(), l("0"), l("-0.4"), limits("0.25", None)).unwrap();
        assert_eq!(ways.ways.len(), 2);
        assert!(
            ways.ways
                .iter()
                .all(|w| w.figures.is_empty() && w.stops.is_empty())
        );
        let some = Setting {
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
    fn steel_thickness_strips_and_rubbing_are_said() {
        let bad = Setting {
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
        let round = Setting {
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
