//! What a rehearsal is worth, and the debrief: every decision with what was known and what would have been right.
//!
//! Points are taken off a hundred, each with its reason; none are given for haste.

use super::Nm;
use super::words::length_with_unit;
use super::world::{DrillEnd, What, World};
use crate::quantity::UnitSystem;
use serde::{Deserialize, Serialize};

/// One decision of the learner.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Decision {
    /// At which question or act.
    pub at: String,
    /// What was said or done.
    pub said: String,
    /// What was known then.
    pub known: String,
    /// What would have been right.
    pub right: String,
    /// Whether it was.
    pub good: bool,
}

/// What a rehearsal is worth. Whole numbers only: it is stored.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
pub struct Score {
    /// Out of a hundred.
    pub points: i64,
    /// Drills caught.
    pub caught: usize,
    /// Drills caught, but cleared out of order or in part.
    pub out_of_order: usize,
    /// Drills missed.
    pub missed: usize,
    /// Drills that never came up.
    pub not_reached: usize,
    /// `hold` while nothing was wrong.
    pub false_alarms: usize,
    /// Answers that were not so.
    pub untrue: usize,
    /// Gouges.
    pub gouges: usize,
    /// Crashes, and runs into steel.
    pub crashes: usize,
    /// Other faults: hand in, no release, dry, door open, too deep.
    pub faults: usize,
    /// Share of the face cleaned, in thousandths.
    pub cleaned: u64,
    /// Metal taken below the least needed, in micrometres.
    pub wasted_um: i64,
    /// Whether the last pass was a skim of the right depth over a clean face; none where there was none.
    pub finish: Option<bool>,
    /// Seconds of the mill's own time.
    pub seconds: i64,
    /// Whether the walk came to its end.
    pub complete: bool,
    /// What took points off, in words: the working.
    pub because: Vec<String>,
}

/// A finishing skim takes this much: 0.02 to 0.12 mm is usual; common practice, no source. A little more for what rises
/// between two touched places.
const SKIM: (Nm, Nm) = (20_000, 170_000);

/// What a run may take below the lowest place it found: a skim of 0.08 mm and a clearance of 0.05 mm; common practice, no
/// source.
const ALLOWED: Nm = 130_000;

impl Score {
    /// A rehearsal without a blemish: complete, clean, nothing missed, nothing broken, nothing untrue.
    pub fn is_clean(&self) -> bool {
        self.complete
            && self.cleaned == 1000
            && self.missed + self.out_of_order + self.untrue == 0
            && self.gouges + self.crashes + self.faults == 0
    }
}

/// Takes the points off, each with its reason.
fn count_points(score: &mut Score) {
    let mut off = Vec::new();
    let mut take = |count: usize, each: i64, what: &str| {
        let count = i64::try_from(count).unwrap_or(i64::MAX);
        if count > 0 {
            off.push((
                count.saturating_mul(each),
                format!("{count} x {each}: {what}"),
            ));
        }
    };
    take(score.missed, 15, "a fault in the way was missed");
    take(
        score.out_of_order,
        5,
        "a fault was cleared in part or out of order",
    );
    take(score.untrue, 5, "an answer was not so");
    take(score.false_alarms, 2, "held while nothing was wrong");
    take(score.crashes, 30, "crashed, or ran into steel");
    take(score.gouges, 10, "the plate was gouged");
    take(
        score.faults,
        10,
        "a hand in, a start without release, dry, door open, or too deep",
    );
    if score.complete && score.cleaned < 1000 {
        take(1, 20, "old skin is left");
    }
    if score.finish == Some(false) {
        take(
            1,
            5,
            "the finishing skim was not 0.02 to 0.12 mm over a clean face",
        );
    }
    let tenths = usize::try_from(score.wasted_um / 100).unwrap_or(0);
    take(tenths, 5, "a tenth of a millimetre of plate thrown away");
    if !score.complete {
        take(1, 20, "the walk did not come to its end");
    }
    let sum = off
        .iter()
        .fold(0_i64, |sum, (points, _)| sum.saturating_add(*points));
    score.points = (100 - sum).max(0);
    score.because = off.into_iter().map(|(_, text)| text).collect();
}

impl World {
    /// Scores what happened.
    pub(crate) fn score(&self, complete: bool) -> Score {
        let mut score = Score {
            cleaned: self.plate.cleaned(),
            seconds: self.mill.time,
            complete,
            false_alarms: self.false_alarms,
            untrue: self.decisions.iter().filter(|d| !d.good).count(),
            gouges: self.count(What::Gouge),
            crashes: self.count(What::Crash) + self.count(What::Steel),
            ..Score::default()
        };
        let others = [
            What::HandIn,
            What::Unreleased,
            What::Dry,
            What::OpenDoor,
            What::TooDeep,
        ];
        score.faults = others.into_iter().map(|w| self.count(w)).sum();
        for running in &self.drills {
            match running.end {
                Some(DrillEnd::Missed) => score.missed += 1,
                Some(DrillEnd::Caught) if self.in_order(running) => score.caught += 1,
                Some(DrillEnd::Caught) => score.out_of_order += 1,
                None => score.not_reached += 1,
            }
        }
        let (lowest_found, _) = self.plate.found_extremes();
        if let Some(last) = self.passes.last() {
            let wasted = lowest_found - ALLOWED - last.lowest;
            score.wasted_um = wasted.max(0) / 1000;
            let before = self
                .passes
                .len()
                .checked_sub(2)
                .and_then(|i| self.passes.get(i));
            score.finish = before
                .filter(|b| b.cleaned == 1000 || complete)
                .map(|b| b.cleaned == 1000 && (SKIM.0..=SKIM.1).contains(&last.deepest));
        }
        count_points(&mut score);
        score
    }

    /// How the metal thrown away was worked out.
    pub(crate) fn waste_working(&self) -> Vec<String> {
        let Some(last) = self.passes.last() else {
            return Vec::new();
        };
        let show = |nm| length_with_unit(nm, UnitSystem::Mm);
        let (lowest, highest) = self.plate.found_extremes();
        vec![
            format!(
                "lowest place as found {}, highest {}",
                show(lowest),
                show(highest)
            ),
            format!(
                "least plane that cleans up {} (the lowest place)",
                show(lowest)
            ),
            format!(
                "allowed below it {} (a skim of 0.08 and a clearance of 0.05 mm)",
                show(ALLOWED)
            ),
            format!("last plane cut {}", show(last.lowest)),
            format!(
                "thrown away = {} - {} - ({}) = {}{}",
                show(lowest),
                show(ALLOWED),
                show(last.lowest),
                show(lowest - ALLOWED - last.lowest),
                if lowest - ALLOWED - last.lowest > 0 {
                    ""
                } else {
                    ": nothing"
                }
            ),
        ]
    }
}

/// A time as hours and minutes of the mill.
pub(crate) fn minutes(seconds: i64) -> String {
    format!("{} min", seconds / 60)
}

#[cfg(test)]
mod tests {
    use super::super::setup::tests::world;
    use super::super::world::{Passed, What};

    #[test]
    fn points_are_the_sum_of_what_is_told() {
        let mut world = world(1);
        assert_eq!(world.score(false).points, 80);
        world.happen(What::Gouge, 100_000);
        world.happen(What::Mark, 0);
        world.false_alarms = 1;
        let score = world.score(false);
        assert_eq!(score.points, 100 - 20 - 10 - 2);
        assert_eq!(score.because.len(), 3);
        assert!(!score.is_clean());
    }

    #[test]
    fn waste_counts_from_the_lowest_place_found() {
        let mut world = world(1);
        let (lowest, _) = world.plate.found_extremes();
        let pass = |lowest, deepest, cleaned| Passed {
            deepest,
            volume: 0,
            cleaned,
            lowest,
            feed: 100,
        };
        world.passes.push(pass(lowest - 50_000, 250_000, 1000));
        world.passes.push(pass(lowest - 130_000, 80_000, 1000));
        let score = world.score(true);
        assert_eq!((score.wasted_um, score.finish), (0, Some(true)));
        world.passes.push(pass(lowest - 380_000, 250_000, 1000));
        let score = world.score(true);
        assert_eq!((score.wasted_um, score.finish), (250, Some(false)));
        assert!(score.because.iter().any(|b| b.starts_with("2 x 5")));
    }
}
