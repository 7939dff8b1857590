//! What the readings come to: heights, passes, entries and cautions, before any writing.

use super::args::PlaneRequest;
use super::places::{self, MapAndVerdict};
use super::sense;
use crate::cli::failure::Failure;
use crate::cutting::ways::{CutWays, compare};
use crate::plate::working::{number, operand, result};
use crate::plate::{
    Advice, Entry, Frame, Heights, Pass, Plan, PlanError, PointHeight, Reading, Series, Surface,
    SurfaceCut, TouchError, UncertaintyKind, Working, ZeroMode,
};
use crate::quantity::{Length, Quantity, UnitSystem, format::QuantityFormat};
use crate::report::touched_plate;

/// A closing reading further off than this is worth a word: 0.025 mm, 0.001 in (common practice, no source).
const DRIFT_WORTH_A_WORD: i64 = 250_000;

/// One pass with its entry and what it takes off where.
#[derive(Debug)]
pub(crate) struct PassRow {
    /// Its plane and what it takes.
    pub pass: Pass,
    /// What to type with the tip on the point touched last.
    pub entry: Entry,
    /// What it takes off at every point.
    pub cut: SurfaceCut,
}

/// Everything the command tells.
#[derive(Debug)]
pub(crate) struct Findings {
    /// Way of touching off.
    pub mode: ZeroMode,
    /// The unit system shown first.
    pub system: UnitSystem,
    /// Heights in order of touching.
    pub heights: Heights,
    /// The lowest point.
    pub lowest: PointHeight,
    /// The highest point.
    pub highest: PointHeight,
    /// Highest minus lowest.
    pub spread: Length,
    /// The point touched last, where the tip stands.
    pub touched_last: String,
    /// Closing height minus first height, where there is a closing touch.
    pub drift: Option<Length>,
    /// Standard deviation of one touch, where points were touched twice.
    pub repeatability: Option<Length>,
    /// The passes down to the last plane, in the order of cutting.
    pub passes: Vec<PassRow>,
    /// Form, map and verdict, where points have places.
    pub shown: Option<MapAndVerdict>,
    /// How it all came about.
    pub working: Working,
    /// What a careful person should know before using it.
    pub cautions: Vec<String>,
    /// Ways of taking it off side by side, where something is known of cutter, machine or plate.
    pub ways: Option<CutWays>,
}

impl Findings {
    /// Replays the touches and plans the passes.
    pub(crate) fn of(asked: &PlaneRequest) -> Result<Self, Failure> {
        let show = QuantityFormat::new(asked.system);
        let series = replay(asked, &show)?;
        let heights = series.heights();
        let unheld = || Failure::at("heights", "spread over more than 100 m; is a unit wrong?");
        let lowest = heights.lowest().cloned().ok_or_else(unheld)?;
        let highest = heights.highest().cloned().ok_or_else(unheld)?;
        let spread = heights.spread().ok_or_else(unheld)?;
        // Roughing ends at the clearance below the lowest point and finishing goes below that: a finishing pass over a
        // mix of skin and clean metal has an uneven load (common practice, no source).
        let clean = lowest.height.minus(asked.clearance).ok_or_else(unheld)?;
        let finish = asked.limits.finish.unwrap_or_default();
        let target = clean.minus(finish).ok_or_else(unheld)?;
        let no_plan = |e| Failure::at(flag_of(e), e);
        let setting = &asked.told.setting;
        let ways = if setting.is_empty() {
            None
        } else {
            let ways = compare(setting, highest.height, target, asked.limits);
            Some(ways.map_err(no_plan)?)
        };
        // The ways keep to the spindle's power too; the planes given are those of the first.
        let plan = match ways.iter().flat_map(|w| &w.ways).next() {
            Some(first) => first.plan.clone(),
            None => Plan::new(highest.height, target, asked.limits).map_err(no_plan)?,
        };
        sense::of_plan(&plan)?;
        if let Some(finish) = plan.passes.last().filter(|p| p.finishing) {
            // Only where one step of the readout is more than the bite asked for.
            let told = &asked.told;
            told.hold_bites(None, Some(finish.bite), asked.system)?;
        }

        // The entry rests on the point's height, not on the last reading: touching it is what says where the tip is,
        // so a drift or a scatter of the readout falls out.
        let last = series.last().map(|t| t.point.clone());
        let touched_last = last.ok_or_else(unheld)?;
        let tip = heights.of(&touched_last).ok_or_else(unheld)?;

        let mut working = Working::new();
        for touch in series.touches() {
            working.extend(touch.working(&show));
        }
        working.extend(scatter(&series, &show));
        working.extend(heights.working(&show));
        working.extend(target_working(&lowest, asked, target, &show));
        working.extend(plan.working(&show));
        if let UncertaintyKind::ZSetting(setting) = asked.land.doubt(series.drift()).shared {
            for line in touched_plate::z_setting_working(setting, &show) {
                working.push(line);
            }
        }

        let mut surface = Surface::new();
        surface.touch_all(&heights);
        let mut passes = Vec::new();
        for pass in plan.passes {
            let entry = Entry::new(tip, pass.plane).ok_or_else(unheld)?;
            let cut = surface
                .cut(pass.plane)
                .map_err(|e| Failure::at("passes", e))?;
            for line in entry.working(&show).lines() {
                working.push(format!("pass {}: {line}", passes.len() + 1));
            }
            passes.push(PassRow { pass, entry, cut });
        }
        let mut told = Vec::new();
        let doubt = asked.land.doubt(series.drift());
        let shown = places::shown(asked, &heights, clean, doubt, &mut told)?;
        if let Some(s) = &shown {
            working.extend(s.form.working(&show));
            working.extend(touched_plate::working(&s.land, &s.verdict, &show));
        }
        let mut findings = Self {
            shown,
            mode: asked.mode,
            system: asked.system,
            heights,
            lowest,
            highest,
            spread,
            touched_last,
            drift: series.drift(),
            repeatability: series.repeatability(),
            passes,
            working,
            cautions: Vec::new(),
            ways,
        };
        findings.cautions = findings.cautions(&show);
        let odd = sense::cautions(findings.passes.len(), &asked.limits, &show);
        findings.cautions.extend(odd);
        findings.cautions.extend(told);
        let rounded: Vec<&str> = asked
            .touches
            .iter()
            .filter(|t| t.rounded)
            .map(|t| t.point.as_str())
            .collect();
        if !rounded.is_empty() {
            findings.cautions.push(format!(
                "more decimals than any readout shows at {}: rounded to a tenth of a nanometre; is it a reading?",
                rounded.join(", ")
            ));
        }
        Ok(findings)
    }

    fn cautions(&self, show: &QuantityFormat) -> Vec<String> {
        let mut cautions = vec![
            "plus is up: a plane below 0 lies deeper than the first touch".to_owned(),
            format!(
                "an entry holds only while the tip stands on {} as it was touched",
                self.touched_last
            ),
            "once a pass has cut that point, touch the fresh face and enter that pass's plane less the next"
                .to_owned(),
        ];
        match self.heights.points().len() {
            n @ 0..=3 => cautions.push(format!(
                "{n} {} nothing about the rest of the plate: touch the corners and the middle",
                if n == 1 { "point says" } else { "points say" }
            )),
            4 => cautions.push(
                "four corners say nothing about the middle: touch at least one point there"
                    .to_owned(),
            ),
            _ => {}
        }
        if let Some(drift) = self.drift
            && drift.abs().counts() > DRIFT_WORTH_A_WORD
        {
            cautions.push(format!(
                "the first point has moved by {} since its first touch: look for a warming spindle, a loose plate or \
                 cutter, and touch the set again",
                show.signed().one(Quantity::from(drift))
            ));
        }
        let shown = |l: Length| show.one(Quantity::from(l));
        if self
            .passes
            .iter()
            .any(|p| shown(p.entry.value).starts_with('~'))
        {
            cautions.push(
                "a value marked ~ is rounded: give --step for planes that the readout can show"
                    .to_owned(),
            );
        }
        cautions
    }
}

fn replay(asked: &PlaneRequest, show: &QuantityFormat) -> Result<Series, Failure> {
    let failure = |place: &str, error: TouchError| {
        let words = error.words(show);
        match error {
            TouchError::Mismatch(..) => Failure::at(place, words).withheld("mismatch"),
            _ => Failure::at(place, words),
        }
    };
    let mut series = Series::new(asked.mode, Frame::default()).agreeing_within(asked.tolerance);
    for named in &asked.touches {
        if named.point.chars().any(char::is_control) {
            let what = "the point's name holds control characters; name it in plain text";
            return Err(Failure::at(named.place.as_str(), what));
        }
        let touch = series
            .touch(&named.point, named.reading)
            .map_err(|e| failure(&named.place, e))?;
        if touch.advice == Advice::ZeroHere {
            series.zeroed().map_err(|e| failure(&named.place, e))?;
        }
    }
    if let Some(closing) = asked.closing {
        let reading = if asked.mode == ZeroMode::Machine {
            Reading {
                readout: None,
                machine: Some(closing),
            }
        } else {
            Reading {
                readout: Some(closing),
                machine: None,
            }
        };
        series.close(reading).map_err(|e| failure("--closing", e))?;
    }
    Ok(series)
}

/// How the last plane comes from the lowest point.
fn target_working(
    lowest: &PointHeight,
    asked: &PlaneRequest,
    target: Length,
    show: &QuantityFormat,
) -> Working {
    let mut formula = "lowest - clearance".to_owned();
    let mut numbers = format!(
        "{} - {}",
        number(show, lowest.height),
        operand(show, asked.clearance)
    );
    if let Some(finish) = asked.limits.finish {
        formula.push_str(" - finish");
        numbers.push_str(&format!(" - {}", operand(show, finish)));
    }
    let mut working = Working::new();
    working.push(format!(
        "last plane = {formula} = {numbers} = {}",
        result(show, target)
    ));
    working
}

/// Drift and repeatability, where the touches tell them.
fn scatter(series: &Series, show: &QuantityFormat) -> Working {
    let mut working = Working::new();
    let value = |length: Length| show.signed().one(Quantity::from(length));
    if let (Some(drift), Some(first)) = (series.drift(), series.touches().first()) {
        working.push(format!(
            "drift = height of {0} again - first height of {0} = {1}",
            first.point,
            value(drift)
        ));
    }
    if let Some(deviation) = series.repeatability() {
        working.push(format!(
            "repeatability = root of (sum of d^2 / 2n), d from touch to touch of one point = {}",
            show.one(Quantity::from(deviation))
        ));
    }
    working
}

/// The flag that a plan's error is about.
fn flag_of(error: PlanError) -> &'static str {
    match error {
        PlanError::NoBite | PlanError::TooMany(_) => "--max-bite",
        PlanError::NoFinish | PlanError::FinishTooDeep => "--finish",
        PlanError::NoStep | PlanError::StepTooCoarse => "--step",
        PlanError::TooFar => "--clearance",
    }
}
