//! One way to remove the metal: its plan, its time, the surface it leaves and the plate that remains.

use super::figure::{DERIVED, PRACTICE, below, length, worked};
use super::setting::CuttingConditions;
use super::worked::WorkedFigure;
use crate::cutting::{raster, tram};
use crate::plate::skims::one_skim;
use crate::plate::{Plan, SkimLimit, SkimsLeft};
use crate::quantity::{Length, Quantity};

/// One way to remove the metal.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct CutWay {
    /// The planes of its passes, and what each takes.
    pub plan: Plan,
    /// The known figures, in the order of display.
    pub figures: Vec<WorkedFigure>,
    /// Reasons why this way must not be used.
    pub stops: Vec<String>,
    /// Remarks that a person should read.
    pub remarks: Vec<String>,
}

impl CutWay {
    pub(super) fn of(plan: Plan, setting: &CuttingConditions) -> Self {
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

    pub(super) fn bite(&self, finishing: bool) -> Option<Quantity> {
        let passes = self.plan.passes.iter().filter(|p| p.finishing == finishing);
        passes.map(|p| p.bite).max().map(Quantity::from)
    }

    /// The largest roughing bite; the finishing bite where there is no roughing.
    pub(crate) fn heaviest(&self) -> Option<Quantity> {
        self.bite(false).or_else(|| self.bite(true))
    }

    /// Adds a figure, where there is one; returns its value.
    pub(super) fn add(&mut self, figure: Option<WorkedFigure>) -> Option<Quantity> {
        let figure = figure?;
        let value = figure.value;
        self.figures.push(figure);
        Some(value)
    }

    /// Number of roughing passes.
    pub(crate) fn roughing(&self) -> usize {
        self.plan.passes.iter().filter(|p| !p.finishing).count()
    }

    fn time(&mut self, s: &CuttingConditions) -> Option<()> {
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

    fn face(&mut self, s: &CuttingConditions) -> Option<()> {
        let (step, d) = (s.step_over?, s.diameter?);
        let corner = s.corner.or_else(|| length((0, 1)))?;
        let flat = corner
            .times(Quantity::whole(2))
            .and_then(|twice| d.minus(twice))
            .ok()?;
        if !below(step, flat) {
            self.stops.push("the step-over is as wide as the flat under the cutter or wider: strips remain between the rows".to_owned());
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

    fn skims_left(
        &mut self,
        thickness: Quantity,
        least: Quantity,
        s: &CuttingConditions,
    ) -> Option<()> {
        let (now, bite) = (s.steel?, s.finishing_bite?);
        let taken = Quantity::from(self.plan.highest.minus(self.plan.last_plane()?)?);
        let steel = now.minus(taken).ok()?;
        let left = SkimsLeft::new(
            Length::nearest(thickness)?,
            Length::nearest(least)?,
            Length::nearest(steel)?,
            one_skim(Length::nearest(bite)?),
        );
        let (name, formula) = match left.limit {
            SkimLimit::Thickness => (
                "skims left, by thickness",
                "(thickness left - least) / (finishing bite + 0.05 mm)",
            ),
            SkimLimit::Steel => (
                "skims left, by the steel",
                "(over steel - 0.5 mm) / (finishing bite + 0.05 mm)",
            ),
        };
        self.add(worked(
            ("skims_left", "", name),
            Ok(Quantity::whole(left.count())),
            formula,
            &[
                ("thickness left", thickness),
                ("least", least),
                ("over steel", steel),
                ("finishing bite", bite),
            ],
            format!("derived, the least by thickness and by steel; margins: {PRACTICE}"),
        ))?;
        Some(())
    }

    fn left(&mut self, s: &CuttingConditions) -> Option<()> {
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
        self.skims_left(left, least, s)
    }
}
