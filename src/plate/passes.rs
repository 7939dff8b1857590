//! Plans equal passes from the highest point down to a plane.

use super::limits::{Limits, MOST_PASSES, PlanError};
use crate::quantity::{Exact, Length};

/// One pass of a plan.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Pass {
    /// The height at which the tip travels.
    pub plane: Length,
    /// Its largest bite: the highest point after the pass before, minus its plane.
    pub bite: Length,
    /// Whether it is the finishing pass.
    pub finishing: bool,
}

/// Passes from the highest point to a target; none when nothing is above the target.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Plan {
    /// The height of the highest point before the first pass.
    pub highest: Length,
    /// The requested plane.
    pub target: Length,
    /// The limits of the plan.
    pub limits: Limits,
    /// The passes in order of cutting.
    pub passes: Vec<Pass>,
}

impl Plan {
    /// Plans the fewest equal passes from `highest` to `target` within `limits`.
    ///
    /// Roughing bites are equal as exact fractions, and each plane is rounded once: to the nearest count, or, with a
    /// readout step, up to a multiple of it (shallower), and the last plane down to one (deeper, so that the target is
    /// reached). Where rounding would make a bite larger than allowed, the plan has one more pass, never a deeper one.
    /// With a finishing allowance, roughing ends that far above the last plane, rounded down: the finishing bite is no
    /// larger than the allowance, except that it is one step of the readout where the allowance is less than that.
    ///
    /// # Errors
    /// [`PlanError`]. A target at or above the highest point is no error: the plan then has no passes.
    pub fn new(highest: Length, target: Length, limits: Limits) -> Result<Self, PlanError> {
        Self::at_least(highest, target, limits, 1)
    }

    /// The same plan with one more roughing pass, for lighter bites; `None` where there is no roughing, or where the
    /// step of the readout is too coarse for such bites.
    pub(crate) fn with_one_more(&self) -> Option<Self> {
        let rough = self.passes.iter().filter(|p| !p.finishing).count();
        let wanted = i128::try_from(rough).ok().filter(|n| *n > 0)? + 1;
        let more = Self::at_least(self.highest, self.target, self.limits, wanted).ok()?;
        let all_cut = more.passes.iter().all(|p| p.bite > Length::ZERO);
        (all_cut && more.passes.len() == self.passes.len() + 1).then_some(more)
    }

    /// Plans at least `least` roughing passes.
    fn at_least(
        highest: Length,
        target: Length,
        limits: Limits,
        least: i128,
    ) -> Result<Self, PlanError> {
        limits.check()?;
        let mut plan = Self {
            highest,
            target,
            limits,
            passes: Vec::new(),
        };
        if target >= highest {
            return Ok(plan);
        }
        let last = to_step(target, limits.step, Side::Down)?;
        let rough_to = plan.rough_target(last)?;
        if rough_to < highest {
            plan.rough(rough_to, least)?;
        }
        if limits.finish.is_some() {
            plan.push(last, true)?;
        }
        Ok(plan)
    }

    /// The height at which roughing ends: the last plane, or the finishing allowance above it.
    fn rough_target(&self, last: Length) -> Result<Length, PlanError> {
        let Some(finish) = self.limits.finish else {
            return Ok(last);
        };
        let above = last.plus(finish).ok_or(PlanError::TooFar)?;
        let down = to_step(above, self.limits.step, Side::Down)?;
        if down > last {
            return Ok(down);
        }
        // The finishing bite is less than one step of the readout; take one step, because a skim of zero is no skim.
        to_step(above, self.limits.step, Side::Up)
    }

    /// Adds the fewest equal passes down to `target` that stay within the largest bite after rounding.
    fn rough(&mut self, target: Length, least: i128) -> Result<(), PlanError> {
        let depth = i128::from(
            self.highest
                .minus(target)
                .ok_or(PlanError::TooFar)?
                .counts(),
        );
        let max = i128::from(self.limits.max_bite.counts());
        let fewest = ceil_div(depth, max).max(least);
        // The number of whole steps in the largest bite: with bites of at most that, rounding up cannot exceed it. Up
        // to that number of passes an exact bite is also large enough that no plane is rounded up to the one above it.
        let within = self.limits.step.map_or(max, |step| {
            let step = i128::from(step.counts());
            max / step * step
        });
        let most = ceil_div(depth, within).max(least);
        if fewest > MOST_PASSES {
            return Err(PlanError::TooMany(fewest));
        }
        for number in fewest..=most.min(MOST_PASSES) {
            let planes = self.planes(depth, number, target)?;
            if self.within_bite(&planes) {
                return planes.into_iter().try_for_each(|p| self.push(p, false));
            }
        }
        Err(PlanError::TooMany(most))
    }

    fn planes(&self, depth: i128, number: i128, target: Length) -> Result<Vec<Length>, PlanError> {
        let mut planes = Vec::new();
        for k in 1..number {
            // Rounded as a depth below the highest point: depths are never negative, so all halves are rounded in the
            // same direction and neighbouring planes differ by at most the bite rounded up.
            let down = Exact::fraction(depth * k, number).ok_or(PlanError::TooFar)?;
            let down = i64::try_from(match self.limits.step {
                None => down.round(),
                Some(_) => down.floor(),
            });
            let down = down.ok().and_then(Length::from_counts);
            let plane = down
                .and_then(|d| self.highest.minus(d))
                .ok_or(PlanError::TooFar)?;
            let plane = to_step(plane, self.limits.step, Side::Up)?;
            planes.push(plane);
        }
        planes.push(target);
        Ok(planes)
    }

    fn within_bite(&self, planes: &[Length]) -> bool {
        let mut above = self.highest;
        planes.iter().all(|plane| {
            let bite = above.minus(*plane);
            above = *plane;
            bite.is_some_and(|b| b <= self.limits.max_bite)
        })
    }

    fn push(&mut self, plane: Length, finishing: bool) -> Result<(), PlanError> {
        let above = self.passes.last().map_or(self.highest, |p| p.plane);
        let bite = above.minus(plane).ok_or(PlanError::TooFar)?;
        self.passes.push(Pass {
            plane,
            bite,
            finishing,
        });
        Ok(())
    }

    /// The plane of the last pass; `None` when there is nothing to take off.
    pub(crate) fn last_plane(&self) -> Option<Length> {
        self.passes.last().map(|p| p.plane)
    }
}

#[derive(Clone, Copy)]
enum Side {
    Up,
    Down,
}

/// The nearest multiple of `step` on one side; the length itself without a step.
fn to_step(length: Length, step: Option<Length>, side: Side) -> Result<Length, PlanError> {
    let Some(step) = step.map(Length::counts) else {
        return Ok(length);
    };
    let below = length.counts().div_euclid(step) * step;
    let rounded = match side {
        Side::Up if below < length.counts() => below + step,
        _ => below,
    };
    Length::from_counts(rounded).ok_or(PlanError::TooFar)
}

/// The quotient, rounded up; both arguments are positive here.
fn ceil_div(top: i128, bottom: i128) -> i128 {
    (top + bottom - 1).div_euclid(bottom.max(1))
}

#[cfg(test)]
mod tests {
    use super::Plan;
    use crate::plate::limits::{Limits, PlanError};
    use crate::quantity::{Length, UnitSystem, format::QuantityFormat};

    fn um(n: i64) -> Length {
        Length::from_counts(n * 10_000).unwrap()
    }

    fn limits(max_bite: i64, finish: Option<i64>, step: Option<i64>) -> Limits {
        Limits {
            max_bite: um(max_bite),
            finish: finish.map(um),
            step: step.map(um),
        }
    }

    fn planes(plan: &Plan) -> Vec<Length> {
        plan.passes.iter().map(|p| p.plane).collect()
    }

    // Source: depth levels = ceil((T - finish) / largest) + 1, T .045, finish .005, largest .015 in: 4 levels, rough
    // .013333 in; derived and computed from the formula.
    #[test]
    fn levels_and_roughing_depth_follow_the_formula() {
        let tenths = |n: i64| Length::from_counts(n * 25_400).unwrap(); // of a thousandth of an inch
        let plan = Plan::new(
            Length::ZERO,
            tenths(-450),
            Limits {
                max_bite: tenths(150),
                finish: Some(tenths(50)),
                step: None,
            },
        )
        .unwrap();
        assert_eq!(plan.passes.len(), 4);
        let rough = plan.passes.first().unwrap().bite;
        assert_eq!(rough.counts(), (400 * 25_400 + 1) / 3); // .0133333 in, to the nearest count
        let finish = plan.passes.last().unwrap();
        assert_eq!(
            (finish.bite, finish.plane, finish.finishing),
            (tenths(50), tenths(-450), true)
        );
    }

    #[test]
    fn planes_are_multiples_of_the_readout_step_and_the_last_reaches_the_target() {
        // Thirds of 0.37: -0.1233 and -0.2467 are rounded up to -0.12 and -0.24, which leaves 0.13 for the last.
        let plan = Plan::new(um(0), um(-370), limits(130, None, Some(10))).unwrap();
        assert_eq!(planes(&plan), [um(-120), um(-240), um(-370)]);
        // With at most 0.125 the last pass would bite 0.13: one more pass.
        let plan = Plan::new(um(0), um(-370), limits(125, None, Some(10))).unwrap();
        assert_eq!(planes(&plan), [um(-90), um(-180), um(-270), um(-370)]);
        // A target between two steps is rounded down, so that no old surface remains.
        let plan = Plan::new(um(4), um(-15), limits(20, None, Some(10))).unwrap();
        assert_eq!(plan.last_plane(), Some(um(-20)));
        assert!(
            plan.passes
                .iter()
                .all(|p| p.bite <= um(20) && p.bite > um(0))
        );
    }

    #[test]
    fn a_finishing_pass_alone_is_enough_for_a_thin_skin() {
        let plan = Plan::new(um(50), um(0), limits(250, Some(80), None)).unwrap();
        assert_eq!(plan.passes.len(), 1);
        let only = plan.passes.first().unwrap();
        assert_eq!((only.bite, only.finishing), (um(50), true));
    }

    #[test]
    fn a_finishing_bite_on_steps_never_exceeds_the_largest_bite() {
        // 0.08 is rounded down to 0.06 on steps of 0.03.
        let plan = Plan::new(um(300), um(0), limits(85, Some(80), Some(30))).unwrap();
        assert_eq!(plan.passes.last().unwrap().bite, um(60));
        let plan = Plan::new(um(300), um(0), limits(185, Some(80), Some(30))).unwrap();
        assert_eq!(plan.passes.last().unwrap().bite, um(60));
        // Less than one step becomes one step.
        let plan = Plan::new(um(300), um(0), limits(85, Some(20), Some(30))).unwrap();
        assert_eq!(plan.passes.last().unwrap().bite, um(30));
        let plan = Plan::new(um(300), um(0), limits(85, Some(80), Some(30))).unwrap();
        assert!(plan.passes.iter().all(|p| p.bite <= um(85)));
    }

    #[test]
    fn one_more_pass_is_lighter_or_impossible() {
        let plan = Plan::new(um(0), um(-400), limits(250, Some(80), Some(10))).unwrap();
        assert_eq!(planes(&plan), [um(-160), um(-320), um(-400)]);
        let more = plan.with_one_more().unwrap();
        // Thirds of 0.32: -0.1067 and -0.2133 are rounded up to -0.10 and -0.21.
        assert_eq!(planes(&more), [um(-100), um(-210), um(-320), um(-400)]);
        // Two steps of the readout cannot be three passes; a finishing skim alone has no roughing to divide.
        let coarse = Plan::new(um(0), um(-20), limits(10, None, Some(10))).unwrap();
        assert_eq!((coarse.passes.len(), coarse.with_one_more()), (2, None));
        let skim = Plan::new(um(50), um(0), limits(250, Some(80), None)).unwrap();
        assert_eq!(skim.with_one_more(), None);
    }

    #[test]
    fn nothing_above_the_target_gives_no_pass_and_a_reason() {
        let plan = Plan::new(um(0), um(0), limits(100, Some(20), None)).unwrap();
        assert_eq!(plan.passes, []);
        let working = plan.working(&QuantityFormat::new(UnitSystem::Mm));
        assert!(working.lines().join(" ").contains("nothing to take off"));
    }

    #[test]
    fn unusable_limits_are_errors() {
        let plan = |l| Plan::new(um(100), um(0), l).unwrap_err();
        assert_eq!(plan(limits(0, None, None)), PlanError::NoBite);
        assert_eq!(plan(limits(-1, None, None)), PlanError::NoBite);
        assert_eq!(plan(limits(10, Some(0), None)), PlanError::NoFinish);
        assert_eq!(plan(limits(10, Some(11), None)), PlanError::FinishTooDeep);
        assert_eq!(plan(limits(10, None, Some(0))), PlanError::NoStep);
        assert_eq!(plan(limits(10, None, Some(11))), PlanError::StepTooCoarse);
        let deep = Plan::new(um(1001), um(0), limits(1, None, None));
        assert_eq!(deep, Err(PlanError::TooMany(1001)));
        assert_eq!(
            Plan::new(um(1000), um(0), limits(1, None, None))
                .unwrap()
                .passes
                .len(),
            1000
        );
        let far = Length::from_counts(Length::LIMIT).unwrap();
        let apart = Plan::new(far, far.negated(), limits(1, None, None));
        assert_eq!(apart, Err(PlanError::TooFar));
    }
}
