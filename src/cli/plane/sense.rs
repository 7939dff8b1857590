//! What no skim can be: bites and passes that come from a slip of unit or sign.

use crate::cli::failure::Failure;
use crate::plate::{Limits, Plan};
use crate::quantity::{Length, Quantity, format::QuantityFormat};

/// A bite above this is refused: 10 mm. No light mill faces so deep (common practice, no source).
const NO_BITE: i64 = 10 * Length::COUNTS_PER_MM;
/// A bite above this is worth a word: 1.3 mm, a tenth of a half-inch cutter (common practice, no source).
const LARGE_BITE: i64 = 13 * Length::COUNTS_PER_MM / 10;
/// More passes than this are refused: a spread for another set-up, or a slip of unit (common practice, no source).
const NO_PASSES: usize = 50;
/// More passes than this are worth a word: so many cost the plate more than a better set-up would (common practice, no
/// source).
const MANY_PASSES: usize = 6;

/// Refuses bites that no cutter of a light mill takes.
pub(super) fn of_limits(limits: &Limits) -> Result<(), Failure> {
    let faults = [
        ("--max-bite", Some(limits.max_bite)),
        ("--finish", limits.finish),
    ];
    for (flag, bite) in faults {
        if bite.is_some_and(|b| b.counts() > NO_BITE) {
            let what = "more than 10 mm (0.39 in) in one pass is no skim; is a unit wrong?";
            return Err(Failure::at(flag, what));
        }
    }
    Ok(())
}

/// Refuses plans with an absurd number of passes.
pub(super) fn of_plan(plan: &Plan) -> Result<(), Failure> {
    let passes = plan.passes.len();
    if passes > NO_PASSES {
        let what = format!(
            "{passes} passes would be needed, more than {NO_PASSES}: that is another set-up or a slip of unit; look at \
             the readings, or allow a deeper bite"
        );
        return Err(Failure::at("--max-bite", what));
    }
    Ok(())
}

/// What is unusual and not refused.
pub(super) fn cautions(plan_passes: usize, limits: &Limits, show: &QuantityFormat) -> Vec<String> {
    let mut cautions = Vec::new();
    if limits.max_bite.counts() > LARGE_BITE {
        cautions.push(format!(
            "a bite of {} is deep for a light mill: 0.25 to 1.2 mm is usual with cutters up to half an inch",
            show.one(Quantity::from(limits.max_bite))
        ));
    }
    if plan_passes > MANY_PASSES {
        cautions.push(format!(
            "{plan_passes} passes cost the plate more than a better set-up would: look for a chip or burr under it first"
        ));
    }
    cautions
}
