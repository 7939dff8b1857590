//! Checks what a person read in the program against what its examination read.

use super::examined::{Examined, Judged};
use super::instance::Instance;
use super::refusal::Refusal;
use super::state::State;
use crate::procedure::Kind;
use crate::procedure::program_facts::ProgramFact;
use crate::quantity::{Exact, Length, Quantity, Unit};

/// How far a typed Z may differ from the one in the program: what four decimals of an inch leave open.
const NEAR: i64 = Length::COUNTS_PER_MM / 500;

impl State {
    /// The fact about the program that `at` asks for, with the examination; `None` where the program was not examined
    /// or could not be followed.
    fn asks_of_program(&self, at: &Instance) -> Option<(ProgramFact, &Examined)> {
        let examined = self
            .examined()
            .filter(|e| e.verdict != Judged::CannotVouch)?;
        let asked = self.procedure.steps().find_map(|step| {
            let Kind::Program { says } = &step.kind else {
                return None;
            };
            says.iter().find(|a| a.step == at.step).map(|a| a.says)
        });
        let answered = || Some(self.step(at)?.from_program?.fact);
        Some((asked.or_else(answered)?, examined))
    }

    /// Checks a word that was read in the program.
    pub(super) fn word_of_program(&self, at: &Instance, word: &str) -> Result<(), Refusal> {
        let Some((says, examined)) = self.asks_of_program(at) else {
            return Ok(());
        };
        let read = match says {
            ProgramFact::Unit => &examined.units,
            ProgramFact::WorkOffset => &examined.work_offsets,
            _ => return Ok(()),
        };
        if read.iter().any(|r| r == word) {
            return Ok(());
        }
        Err(otherwise(word.to_owned(), says, read.join(", ")))
    }

    /// Checks a number that was read in the program.
    pub(super) fn number_of_program(&self, at: &Instance, said: Quantity) -> Result<(), Refusal> {
        let Some((says, examined)) = self.asks_of_program(at) else {
            return Ok(());
        };
        let show = self.show().signed();
        let (read, unit) = match says {
            ProgramFact::LowestZ => {
                let Some(lowest) = examined.lowest_z else {
                    return Ok(());
                };
                let apart = Length::nearest(said).and_then(|l| l.minus(lowest));
                if apart.is_some_and(|a| a.abs().counts() <= NEAR) {
                    return Ok(());
                }
                return Err(otherwise(show.both(said), says, show.both(lowest.into())));
            }
            ProgramFact::LengthOffset => {
                // A record made before length offsets were stored has none, so nothing is compared.
                let read = &examined.length_offsets;
                let same = |h: &u32| said.amount == Exact::whole(i64::from(*h));
                if read.iter().all(same) {
                    return Ok(());
                }
                let read: Vec<String> = read.iter().map(ToString::to_string).collect();
                return Err(otherwise(self.show().one(said), says, read.join(", ")));
            }
            ProgramFact::Speed => (&examined.speeds, "rpm"),
            ProgramFact::Feed => (&examined.feeds, "mm/min"),
            ProgramFact::Unit
            | ProgramFact::WorkOffset
            | ProgramFact::StepOver
            | ProgramFact::Overrun
            | ProgramFact::Cutter
            | ProgramFact::Travel
            | ProgramFact::FirstMove
            | ProgramFact::Ends
            | ProgramFact::Shifts => return Ok(()),
        };
        let amount = Unit::find(unit).and_then(|unit| said.in_unit(&unit).ok());
        // A tenth of a revolution or of a millimetre per minute: what rounding an inch feed leaves open.
        let near = |read: &i64| {
            #[allow(clippy::cast_precision_loss)]
            amount.is_some_and(|a| (a.to_f64() * 100.0 - *read as f64).abs() <= 10.0)
        };
        if read.iter().any(near) {
            return Ok(());
        }
        let read: Vec<String> = read.iter().map(|r| hundredths(*r)).collect();
        let read = if read.is_empty() {
            "none".to_owned()
        } else {
            format!("{} {unit}", read.join(", "))
        };
        Err(otherwise(self.show().one(said), says, read))
    }
}

fn otherwise(said: String, says: ProgramFact, read: String) -> Refusal {
    Refusal::NotInProgram {
        said,
        what: says.key(),
        read: if read.is_empty() {
            "none".to_owned()
        } else {
            read
        },
    }
}

/// Hundredths as a decimal without trailing zeros.
fn hundredths(value: i64) -> String {
    match value % 100 {
        0 => format!("{}", value / 100),
        rest => format!("{}.{rest:02}", value / 100),
    }
}

#[cfg(test)]
mod tests {
    use super::hundredths;

    #[test]
    fn hundredths_are_decimals() {
        assert_eq!(
            [60_000, 5_050, 1_207].map(hundredths),
            ["600", "50.50", "12.07"]
        );
    }
}
