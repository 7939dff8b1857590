//! The NC program file: its fingerprint, and its examination by what the run knows when it is given.

pub(crate) mod estimate;
pub(crate) mod setup;

use crate::files::{self, ReadAs};
use crate::fingerprint::Fingerprint;
use crate::interlock::command::ProgramSeen;
use crate::interlock::examined::{Examined, Found, FoundFact};
use crate::procedure::program_facts::{ProgramFact, UNITS};
use crate::program::setting::Units;
use crate::program::study::{ProgramStudy, study};
use crate::program::vouched::{Against, Doubt, DoubtReason, ProgramFacts, Vouched};
use crate::quantity::{Exact, Length, Quantity, Unit};
use crate::walk::error::WalkError;
use crate::walk::session::Session;
use std::io;
use std::path::{Path, PathBuf};

/// A program file as it is now.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct ProgramOnDisk {
    /// Its path, made absolute.
    pub path: PathBuf,
    /// Fingerprint of its bytes.
    pub fingerprint: Fingerprint,
    /// Its size.
    pub bytes: u64,
    /// Its number of lines.
    pub lines: usize,
    /// The bytes themselves: what is examined is what was fingerprinted.
    pub content: Vec<u8>,
}

fn read(path: &Path) -> io::Result<Vec<u8>> {
    Ok(files::read(path, ReadAs::Program)?)
}

/// Reads a program file; a relative path counts from `folder`.
pub(crate) fn find(folder: &Path, typed: &str) -> io::Result<ProgramOnDisk> {
    let path = std::path::absolute(folder.join(typed))?;
    let bytes = read(&path)?;
    Ok(ProgramOnDisk {
        fingerprint: Fingerprint::of(&bytes),
        bytes: u64::try_from(bytes.len()).unwrap_or(u64::MAX),
        lines: bytes
            .split(|b| *b == b'\n')
            .filter(|l| !l.is_empty())
            .count(),
        path,
        content: bytes,
    })
}

/// The program file of a run as it is now; nothing where there is none or it cannot be read.
pub(crate) fn seen(state: &crate::interlock::State) -> ProgramSeen {
    let (_, path, _) = state.program()?;
    let bytes = read(Path::new(path)).ok()?;
    Some(Fingerprint::of(bytes))
}

impl Session<'_> {
    /// The program file as it is now.
    pub(crate) fn seen(&self) -> ProgramSeen {
        seen(&self.state)
    }

    /// Examines a program against the plate, cutter and machine chosen by now; what is not known yet is not judged.
    /// Nothing in a rehearsal, where finding what is wrong with it is what is practised.
    pub(crate) fn examine(&self, mut content: &[u8]) -> Result<Option<ProgramStudy>, WalkError> {
        if self.state.begun.rehearsal {
            return Ok(None);
        }
        let (setup, dialect, dynamics) = setup::of_run(&self.state);
        let study = study(&mut content, &dialect, &setup, dynamics);
        study.map(Some).map_err(|e| WalkError::Fault(e.to_string()))
    }
}

/// What was found of each fact, as a run stores it.
fn found_facts(facts: &ProgramFacts) -> Vec<FoundFact> {
    fn found<T>(fact: &Vouched<T>, value: impl FnOnce(&T) -> Option<Found>) -> Found {
        let none = Doubt {
            why: DoubtReason::NotSaid,
            line: None,
            block: String::new(),
        };
        let doubtful = |doubt: &Doubt| Found::Doubtful {
            why: doubt.why,
            line: doubt.line,
            block: doubt.block.clone(),
        };
        match fact {
            Ok(fact) => value(fact).unwrap_or_else(|| doubtful(&none)),
            Err(doubt) => doubtful(doubt),
        }
    }
    let in_unit = |unit: &str, places: i128, value: f64| {
        #[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss)]
        let amount = Exact::fraction((value * places as f64).round() as i128, places)?;
        let quantity = Quantity::of(amount, &Unit::find(unit)?).ok()?;
        Some(Found::Quantity(quantity))
    };
    // The follower's sums are good to a millionth of a millimetre. Feeds and speeds are collected in hundredths.
    let length = |mm: &f64| in_unit("mm", 1_000_000, *mm);
    let against = |against: &Option<Against>| {
        Some(match against {
            None => Found::So,
            Some(against) => Found::Against {
                code: against.code.to_owned(),
                line: against.line,
            },
        })
    };
    let found_of = |fact| match fact {
        ProgramFact::Unit => found(&facts.unit, |u| Some(Found::Word(unit_word(*u)))),
        ProgramFact::WorkOffset => found(&facts.work_offset, |o| {
            Some(Found::Word(o.code().to_owned()))
        }),
        ProgramFact::LengthOffset => found(&facts.length_offset, |h| {
            Some(Found::Quantity(Quantity::whole(i64::from(*h))))
        }),
        ProgramFact::LowestZ => found(&facts.lowest_z, length),
        ProgramFact::Speed => found(&facts.speed, |s| in_unit("rpm", 100, *s)),
        ProgramFact::Feed => found(&facts.feed, |f| in_unit("mm/min", 100, *f)),
        ProgramFact::StepOver => found(&facts.step_over, length),
        ProgramFact::Overrun => found(&facts.overrun, length),
        ProgramFact::Cutter => found(&facts.cutter, length),
        ProgramFact::Travel => found(&facts.travel, against),
        ProgramFact::FirstMove => found(&facts.first_move, against),
        ProgramFact::Ends => found(&facts.ends, against),
        ProgramFact::Shifts => found(&facts.shifts, against),
    };
    ProgramFact::ALL
        .into_iter()
        .map(|fact| FoundFact {
            fact,
            found: found_of(fact),
        })
        .collect()
}

/// The word that answers a question for the unit.
fn unit_word(unit: Units) -> String {
    let [metric, inch] = UNITS;
    match unit {
        Units::Millimetre => metric.to_owned(),
        Units::Inch => inch.to_owned(),
    }
}

/// What of an examination the run keeps.
pub(crate) fn stored_examination(study: &ProgramStudy) -> Examined {
    let examination = &study.examination;
    let summary = &examination.summary;
    #[allow(clippy::cast_possible_truncation)]
    let hundredths = |value: f64| (value * 100.0).round() as i64;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let seconds = |s: f64| s.round().clamp(0.0, 1e9) as u32;
    #[allow(clippy::cast_possible_truncation)]
    // The follower's sums are good to a thousandth of a micrometre, and so is what is kept.
    let lowest_z = |z: f64| {
        Length::from_counts((z * 1e6).round() as i64 * (Length::COUNTS_PER_MM / 1_000_000))
    };
    Examined {
        verdict: examination.verdict.into(),
        found: examination
            .counts
            .iter()
            .map(|(code, count)| ((*code).to_owned(), *count))
            .collect(),
        units: summary.units.iter().map(|unit| unit_word(*unit)).collect(),
        work_offsets: summary
            .work_offsets
            .iter()
            .map(|o| o.code().to_owned())
            .collect(),
        length_offsets: summary.length_offsets.clone(),
        speeds: summary.speeds.iter().map(|s| hundredths(*s)).collect(),
        feeds: summary.feeds.iter().map(|f| hundredths(*f)).collect(),
        lowest_z: examination.summary.min_z.and_then(lowest_z),
        facts: found_facts(&examination.facts),
        seconds: study.time.map(|t| seconds(t.likely)),
    }
}
