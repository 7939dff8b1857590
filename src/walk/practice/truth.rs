//! What is so in the practice workshop, for the question of a step: by the step's kind, or as its `practice:` says.
//!
//! A question that neither decides is not judged. Nothing of this is shown before the debrief.

use crate::interlock::answer::Answer;
use crate::interlock::dependencies::readings;
use crate::plate::Reading;
use crate::procedure::formula::Value;
use crate::procedure::model::{CLEAN, Kind, Options, SKIN_LEFT, Step};
use crate::procedure::practice::facts::Is;
use crate::procedure::practice::{Fact, Practice, So, facts, wanted};
use crate::procedure::program_facts::{ProgramFact, UNITS};
use crate::procedure::{Procedure, ShopList, practice};
use crate::program::active::{self, ActiveGroup};
use crate::quantity::format::QuantityFormat;
use crate::quantity::{Length, Quantity, UnitSystem};
use crate::simulator::Nm;
use crate::simulator::words::length_with_unit;
use crate::simulator::world::World;

/// What is so.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Truth {
    /// The state asked for is there, or is not.
    Holds {
        /// Whether it is there.
        is: bool,
        /// What is seen of it.
        seen: String,
        /// What makes it so, in words.
        right: String,
    },
    /// A word.
    Word(String),
    /// A number, and how far an honest reading of a length may be off.
    Number(Quantity, Nm),
}

/// Whether nobody can say what is so at a step: neither its kind, nor the formulas around it, nor a `practice:`. A rehearsal
/// does not judge it, and a demonstration invents its answer.
pub(crate) fn is_unjudged(procedure: &Procedure, step: &Step) -> bool {
    step.says_nothing_of_practice()
        && !reads_readout(procedure, step)
        && said(procedure, step).is_none()
}

/// What of the program a step asks for, where a program step names it.
fn said(procedure: &Procedure, step: &Step) -> Option<ProgramFact> {
    let programs = procedure.steps().filter_map(|s| match &s.kind {
        Kind::Program { says } => Some(says),
        Kind::Confirm { .. }
        | Kind::Choose { .. }
        | Kind::Read { .. }
        | Kind::Note
        | Kind::Touch(_)
        | Kind::WorkOut { .. }
        | Kind::Enter(_)
        | Kind::Codes(_)
        | Kind::Sign { .. }
        | Kind::Cut { .. }
        | Kind::Inspect
        | Kind::Wait { .. } => None,
    });
    let mut all = programs.flatten();
    all.find(|asked| asked.step == step.id)
        .map(|a| a.says)
        .or(step.from_program.map(|from| from.fact))
}

/// What the loaded program says.
fn of_program(says: ProgramFact, world: &World) -> Option<Truth> {
    let fact = match says {
        ProgramFact::Unit => {
            let [metric, inch] = UNITS;
            let mm = world.fact(Fact::ProgramUnit)? == Value::Word("mm".to_owned());
            return Some(Truth::Word(if mm { metric } else { inch }.to_owned()));
        }
        ProgramFact::WorkOffset => Fact::ProgramOffset,
        ProgramFact::LengthOffset => Fact::ProgramH,
        ProgramFact::LowestZ => Fact::LowestZ,
        ProgramFact::Speed => Fact::ProgramSpeed,
        ProgramFact::Feed => Fact::ProgramFeed,
        ProgramFact::StepOver => Fact::StepOver,
        ProgramFact::Overrun => Fact::Overrun,
        ProgramFact::Cutter => Fact::MadeFor,
        ProgramFact::Travel | ProgramFact::FirstMove | ProgramFact::Ends | ProgramFact::Shifts => {
            return None;
        }
    };
    match world.fact(fact)? {
        Value::Word(word) => Some(Truth::Word(word)),
        Value::Quantity(q) => Some(Truth::Number(q, 0)),
        Value::Truth(_) | Value::Touches(_) => None,
    }
}

/// Whether a step reads the work readout: some formula adds its value to the readout's zero.
pub(super) fn reads_readout(procedure: &Procedure, step: &Step) -> bool {
    let mut steps = procedure.steps();
    steps.any(|s| readings(procedure, s).contains(&step.id))
}

/// What is so about a step now; none where it cannot be judged.
pub(crate) fn truth(procedure: &Procedure, step: &Step, world: &World) -> Option<Truth> {
    let word = |w: &str| Some(Truth::Word(w.to_owned()));
    match &step.kind {
        Kind::Choose {
            options: Options::From(list),
            ..
        } => return word(chosen(*list, world)),
        Kind::Program { .. } => return word(&world.tape.as_ref()?.name),
        Kind::Codes(_) => return word(&world.active_codes()),
        Kind::Inspect => {
            let clean = world.is_so(Fact::Clean)?;
            return word(if clean { CLEAN } else { SKIN_LEFT });
        }
        Kind::Enter(enter) if enter.sets_zero_at.is_some() => {
            let shown = world.measured(Fact::WorkZ)?;
            return Some(Truth::Number(length(shown)?, world.mill.limits.resolution));
        }
        Kind::Confirm { .. }
        | Kind::Choose { .. }
        | Kind::Read { .. }
        | Kind::Note
        | Kind::Touch(_)
        | Kind::WorkOut { .. }
        | Kind::Enter(_)
        | Kind::Sign { .. }
        | Kind::Cut { .. }
        | Kind::Wait { .. } => {}
    }
    if step.says_nothing_of_practice() {
        if let Some(says) = said(procedure, step) {
            return of_program(says, world);
        }
        let shown = length(world.measured(Fact::WorkZ)?)?;
        let within = world.mill.limits.resolution;
        return reads_readout(procedure, step).then_some(Truth::Number(shown, within));
    }
    let practice = step.practice.as_ref()?;
    match &practice.so {
        Some(So::State(condition)) => {
            let is = world.holds(condition)?;
            if !is || practice.reads.is_none() {
                return Some(Truth::Holds {
                    is,
                    seen: seen(practice, world),
                    right: right(practice, world),
                });
            }
        }
        Some(So::Words(words)) => {
            let holds = |(_, condition): &&(String, _)| world.holds(condition) == Some(true);
            if let Some((found, _)) = words.iter().find(holds) {
                return word(found);
            }
        }
        None => {}
    }
    let (value, within) = world.reading(practice.reads.as_ref()?)?;
    match value {
        Value::Word(word) => Some(Truth::Word(word)),
        Value::Quantity(q) => Some(Truth::Number(q, within)),
        Value::Truth(_) | Value::Touches(_) => None,
    }
}

fn chosen(list: ShopList, world: &World) -> &str {
    let [machine, plate, cutter] = &world.facts.ids;
    match list {
        ShopList::Machines => machine,
        ShopList::Plates => plate,
        ShopList::Cutters => cutter,
    }
}

/// A length of the workshop as a quantity.
pub(super) fn length(nm: Nm) -> Option<Quantity> {
    Length::from_counts(nm.checked_mul(10)?).map(Quantity::from)
}

/// The states that a step wants and that are not there.
pub(super) fn missing(practice: &Practice, world: &World) -> Vec<Fact> {
    let Some(So::State(condition)) = &practice.so else {
        return Vec::new();
    };
    let not = |f: &Fact| world.is_so(*f) == Some(false);
    wanted(&condition.expr).into_iter().filter(not).collect()
}

/// What makes a step's answer so where it is not: lines typed at the mill.
pub(super) fn mends(practice: &Practice, world: &World) -> Vec<String> {
    if !practice.mend.is_empty() {
        return practice.mend.clone();
    }
    let lines = missing(practice, world).into_iter().flat_map(Fact::mend);
    let mut found: Vec<String> = Vec::new();
    for line in lines {
        if !found.iter().any(|f| f == line) {
            found.push((*line).to_owned());
        }
    }
    found
}

/// What is seen of a state that is not there: of what is missing, else every fact with its value.
fn seen(practice: &Practice, world: &World) -> String {
    let otherwise = |f: Fact| match f.row().is {
        Is::State { otherwise, .. } | Is::Holding { otherwise, .. } => Some(otherwise.to_owned()),
        Is::Word(_) | Is::Number(..) => None,
    };
    let missing: Vec<String> = missing(practice, world)
        .into_iter()
        .filter_map(otherwise)
        .collect();
    if !missing.is_empty() {
        return missing.join("; ");
    }
    let conditions = practice.formulas().flat_map(|f| facts(&f.expr));
    let shown = conditions.filter_map(|f| {
        let value = world.fact(f)?;
        let percent = matches!(f, Fact::FeedOverride | Fact::RapidOverride);
        let show = QuantityFormat::new(UnitSystem::Mm).in_percent(percent);
        Some(format!("{} was {}", f.row().about, value.filled(&show)))
    });
    shown.collect::<Vec<_>>().join("; ")
}

/// What would be right: what changes something, looking and holding left out.
fn right(practice: &Practice, world: &World) -> String {
    use practice::MillWord;
    let changes = |line: &String| {
        let word = line.split(' ').next().and_then(MillWord::find);
        !matches!(
            word,
            Some(MillWord::Look | MillWord::Hold | MillWord::Measure | MillWord::Sheet)
        )
    };
    let lines = mends(practice, world);
    let words: Vec<String> = lines
        .into_iter()
        .filter(changes)
        .map(|line| format!("`m {line}`"))
        .collect();
    if words.is_empty() {
        "answer what is so".to_owned()
    } else {
        format!("{} first", words.join(", "))
    }
}

impl Truth {
    /// Whether an answer is so; none where it is of another kind.
    pub(crate) fn agrees(&self, answer: &Answer, wanted: &Kind) -> Option<bool> {
        match (self, answer) {
            (Self::Holds { is, .. }, Answer::Word(word)) => {
                Some(if let Kind::Confirm { answer, .. } = wanted {
                    *is == (word == answer)
                } else {
                    *is
                })
            }
            (Self::Holds { is, .. }, _) => Some(*is),
            (Self::Word(word), Answer::Word(said)) => Some(word == said),
            (Self::Word(line), Answer::Codes(said)) => {
                let is = active::read(line, &[]).ok()?;
                let same = |(group, value): (&ActiveGroup, &String)| {
                    said.of(*group).is_none_or(|said| said == value)
                };
                Some(is.groups.iter().all(same))
            }
            (Self::Word(word), Answer::File { path, .. }) => {
                let name = path.rsplit(['/', '\\']).next().unwrap_or(path);
                Some(name.eq_ignore_ascii_case(word))
            }
            (
                Self::Number(q, within),
                Answer::Quantity(said)
                | Answer::Entered {
                    read_back: said, ..
                },
            ) => near(*said, *q, *within),
            _ => None,
        }
    }

    /// What could be known, and what would be right, in words.
    pub(crate) fn words(&self, step: &Step) -> (String, String) {
        let both = |shown: String| (format!("it was {shown}"), format!("answer {shown}"));
        match self {
            Self::Holds { seen, right, .. } => (seen.clone(), right.clone()),
            Self::Word(word) => both(format!("`{word}`")),
            Self::Number(q, _) => both(typed(*q, step)),
        }
    }
}

/// Whether what was said is so near: lengths within so much, all else exactly.
fn near(said: Quantity, is: Quantity, within: Nm) -> Option<bool> {
    match (Length::nearest(said), Length::nearest(is)) {
        (Some(said), Some(is)) => {
            let off = said.counts().abs_diff(is.counts());
            Some(off <= within.unsigned_abs().saturating_mul(10))
        }
        _ => said.compare(is).ok().map(std::cmp::Ordering::is_eq),
    }
}

/// A number as it is typed at a step.
pub(super) fn typed(q: Quantity, step: &Step) -> String {
    let percent = matches!(step.kind, Kind::Read { percent: true, .. });
    let show = QuantityFormat::new(UnitSystem::Mm).in_percent(percent);
    show.one(q).trim_start_matches('~').to_owned()
}

/// Whether the tip of a reading was on the plate and the columns were read as shown.
pub(crate) fn touch_truth(reading: &Reading, world: &World) -> (bool, String) {
    let mill = &world.mill;
    if !world.is_touching() {
        return (false, "the tip stood above the plate".to_owned());
    }
    let shown = [mill.work()[2], mill.rounded(mill.machine[2])];
    let near = |read: Option<Length>, nm: Nm| {
        read.is_none_or(|read| (read.counts() / 10 - nm).abs() <= mill.limits.resolution)
    };
    let good = near(reading.readout, shown[0]) && near(reading.machine, shown[1]);
    let words = format!(
        "the readout showed {}, machine Z {}",
        length_with_unit(shown[0], mill.system),
        length_with_unit(shown[1], mill.system)
    );
    (good, words)
}
