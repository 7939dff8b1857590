//! A demonstration: somebody who knows the work walks a rehearsal by themselves. Sees the faults in the way, holds, clears
//! them in order, and answers what is so. Knows no procedure: what it does stands in `practice:`, or follows from the kinds
//! of steps; where neither says anything it invents an answer and says so.

use super::invented;
use super::truth::{Truth, is_unjudged, length, mends, missing, reads_readout, truth, typed};
use crate::interlock::{Cause, CutEnd, MachineContinuity, State};
use crate::procedure::Procedure;
use crate::procedure::formula::Value;
use crate::procedure::model::{Kind, Step};
use crate::procedure::practice::Fact;
use crate::procedure::practice::facts::Is;
use crate::quantity::Length;
use crate::simulator::Nm;
use crate::simulator::world::World;
use crate::terminal::prompt::{About, PromptError, Question, QuestionPart};
use crate::walk::session::kinds::work_out::typed_behind;
use std::collections::BTreeMap;
use std::sync::Arc;

/// What is read in the workshop; none where there is nothing to read.
type Reading = Box<dyn Fn(&World) -> Option<String>>;

/// What a demonstration says.
pub(crate) enum Answer {
    /// This.
    Said(String),
    /// What is read once its acts are done; none where there is nothing to read then.
    Later(Reading, String),
}

impl Answer {
    /// The words, once the acts are done.
    pub(crate) fn words(self, world: &World) -> String {
        match self {
            Self::Said(said) => said,
            Self::Later(read, otherwise) => read(world).unwrap_or(otherwise),
        }
    }
}

/// What is done at the mill, and then said.
pub(crate) struct Plan {
    /// Lines typed at the mill.
    pub acts: Vec<String>,
    /// The answer.
    pub answer: Answer,
    /// Why the answer is invented, where it is.
    pub invented: Option<&'static str>,
}

impl Plan {
    pub(super) fn new(acts: &[&str], answer: Answer) -> Self {
        Self {
            acts: acts.iter().map(|a| (*a).to_owned()).collect(),
            answer,
            invented: None,
        }
    }

    pub(super) fn says(text: impl Into<String>) -> Self {
        Self::new(&[], Answer::Said(text.into()))
    }

    /// The same once these states are there, in their order.
    fn after(mut self, states: &[Fact], world: &World) -> Self {
        let missing = states.iter().filter(|f| world.is_so(**f) == Some(false));
        let lines = missing.flat_map(|f| f.mend());
        let mut acts: Vec<String> = lines.map(|l| (*l).to_owned()).collect();
        acts.append(&mut self.acts);
        Self { acts, ..self }
    }
}

/// A demonstration.
#[derive(Debug)]
pub(crate) struct Demo {
    pub(super) procedure: Arc<Procedure>,
    /// The question asked last, and how often in a row.
    last: (String, String, usize),
    /// How often each step was answered, and each worked-out value sent back.
    asked: BTreeMap<String, usize>,
    /// What a step is answered with next, so that a value worked out from it comes within its limits.
    wanted: BTreeMap<String, String>,
    pub(super) lows: usize,
    stopped: bool,
    /// Cuts that broke the cutter.
    broken: usize,
}

/// After so many cuts that broke the cutter a demonstration gives up: what the procedure sets is not right here.
const BROKEN: usize = 2;

/// Asked so often in a row, a question is one that this demonstration cannot answer.
const STUCK: usize = 6;

/// Why an answer is invented.
const NO_PRACTICE: &str = "the step has no `practice:`";
const COARSE: &str = "the readout is coarser than what was entered";

/// How often a worked-out value sends back to one step before the step before that is tried, and how often in all.
const SENT_BACK: (usize, usize) = (2, 12);

pub(super) fn later(
    read: impl Fn(&World) -> Option<String> + 'static,
    otherwise: impl Into<String>,
) -> Answer {
    Answer::Later(Box::new(read), otherwise.into())
}

pub(super) fn mm(nm: Nm) -> String {
    format!(
        "{} mm",
        crate::simulator::words::length(nm, crate::quantity::UnitSystem::Mm)
    )
}

impl Demo {
    /// A demonstration of a procedure.
    pub(crate) fn new(procedure: Arc<Procedure>) -> Self {
        Self {
            procedure,
            last: (String::new(), String::new(), 0),
            asked: BTreeMap::new(),
            wanted: BTreeMap::new(),
            lows: 0,
            stopped: false,
            broken: 0,
        }
    }

    /// What is done at the mill and said at a question.
    ///
    /// # Errors
    /// Where the same question comes again and again.
    pub(crate) fn answers(
        &mut self,
        ask: &Question<'_>,
        world: &World,
    ) -> Result<Plan, PromptError> {
        let of = (ask.key.step.clone(), ask.key.part.to_string());
        let again = if (&self.last.0, &self.last.1) == (&of.0, &of.1) {
            self.last.2 + 1
        } else {
            0
        };
        self.last = (of.0, of.1, again);
        if again >= STUCK {
            return Err(self.stuck(&ask.key.step));
        }
        self.plan(ask, world)
    }

    fn stuck(&self, step: &str) -> PromptError {
        PromptError::Disagrees(format!(
            "the demonstration finds no answer to the step `{step}` of {}; the question stands above",
            self.procedure.id
        ))
    }

    fn plan(&mut self, ask: &Question<'_>, world: &World) -> Result<Plan, PromptError> {
        let procedure = Arc::clone(&self.procedure);
        Ok(match &ask.key.part {
            QuestionPart::Operator | QuestionPart::Resume => Plan::says("DEMO"),
            QuestionPart::Code(code) => Plan::says(code),
            QuestionPart::Started => self.start(ask, world),
            QuestionPart::Ended if world.is_so(Fact::EdgesWhole) == Some(false) => {
                self.broken += 1;
                Plan::says(CutEnd::Stopped.word())
            }
            QuestionPart::Ended => Plan::says(CutEnd::Finished.word()),
            QuestionPart::Cause => Plan::says(if world.mill.stopped {
                Cause::EmergencyStop.word()
            } else {
                Cause::HitSomething.word()
            }),
            QuestionPart::Kept => Plan::says(MachineContinuity::Kept.word()),
            QuestionPart::Accept => Plan::says("read twice on the practice mill, it is so"),
            QuestionPart::Zeroed(_) => Plan::new(&["zero z"], Answer::Said("0".to_owned())),
            QuestionPart::Other(name) if name == "near" => Plan::says("unknown"),
            QuestionPart::Other(name) if name == "give up" => Plan::says("give up"),
            QuestionPart::Answer | QuestionPart::Initials(_) | QuestionPart::Point(_)
                if self.broken >= BROKEN =>
            {
                Plan::says("end")
            }
            QuestionPart::Point(_) | QuestionPart::Machine(_) => self.touch(ask, world),
            QuestionPart::Other(name) if name == "closing" => self.touch(ask, world),
            QuestionPart::Other(_)
            | QuestionPart::Note
            | QuestionPart::Service
            | QuestionPart::Earlier
            | QuestionPart::Before => Plan::says("it is only practice"),
            QuestionPart::Answer | QuestionPart::Initials(_) | QuestionPart::ReadBack => {
                match procedure.step(&ask.key.step) {
                    Some(step) => self.step(step, ask, world)?,
                    None => Plan::says("none"),
                }
            }
        })
    }

    /// Presses cycle start, with all that belongs before it. Where no step sets Z, it is set by a touch in the middle.
    fn start(&self, ask: &Question<'_>, world: &World) -> Plan {
        let sets = |s: &Step| matches!(&s.kind, Kind::Enter(e) if e.sets_zero_at.is_some());
        let mut acts = Vec::new();
        let step = self.procedure.step(&ask.key.step).map(|s| &s.kind);
        if let (Some(about), Some(Kind::Cut { plane, .. })) = (ask.about, step)
            && !self.procedure.steps().any(sets)
            && let Ok(plane) = about.state.env(about.at).quantity(plane)
            && let Some(plane) = Length::nearest(plane)
        {
            if world.is_so(Fact::Homed) == Some(false) {
                acts.push("home".to_owned());
            }
            acts.extend(Fact::OnPlate.mend().iter().map(|l| (*l).to_owned()));
            acts.push(format!("set z {}", mm(-plane.counts() / 10)));
            acts.extend(Fact::OverStart.mend().iter().map(|l| (*l).to_owned()));
        }
        acts.push("start".to_owned());
        Plan {
            acts,
            ..Plan::says("started")
        }
        .after(&[Fact::DoorShut, Fact::NozzleAimed, Fact::OverStart], world)
    }

    /// Sees to what is in the way of a step, then answers it.
    fn step(
        &mut self,
        step: &Step,
        ask: &Question<'_>,
        world: &World,
    ) -> Result<Plan, PromptError> {
        let mut acts = Vec::new();
        if world.mill.stopped {
            if !self.stopped {
                self.stopped = true;
                return Ok(Plan::says("stop the red key was knocked"));
            }
            acts.push("reset".to_owned());
        } else {
            self.stopped = false;
        }
        let mut again = false;
        if let Some(practice) = &step.practice {
            if let Some(Truth::Holds { is: false, .. }) = truth(&self.procedure, step, world) {
                let holding = |f: &Fact| matches!(f.row().is, Is::Holding { .. });
                again = missing(practice, world).iter().any(holding);
                acts.extend(mends(practice, world));
            } else if !is_allowed(&self.procedure, step, ask.about, world) {
                acts.extend(practice.mend.iter().cloned());
            }
            acts.extend(practice.first.iter().cloned());
        }
        if step.says_nothing_of_practice()
            && reads_readout(&self.procedure, step)
            && world.is_so(Fact::OnPlate) == Some(false)
        {
            // The readout is read for the height of the tip, so the tip stands on something.
            acts.extend(Fact::OnPlate.mend().iter().map(|l| (*l).to_owned()));
        }
        if let (Kind::Program { .. }, Some(false)) = (&step.kind, world.is_so(Fact::RightProgram)) {
            let lines = Fact::RightProgram.mend();
            acts.extend(lines.iter().map(|l| (*l).to_owned()));
        }
        let touched = ask.about.filter(|_| again).and_then(|a| touched(a.state));
        if let Some(touched) = touched {
            // What held the cutter or the plate gave: every height is of before.
            return Ok(Plan {
                acts,
                ..Plan::says(format!("back {touched}"))
            });
        }
        let mut plan = self.answer(step, ask, world)?;
        acts.append(&mut plan.acts);
        Ok(Plan { acts, ..plan })
    }

    fn answer(
        &mut self,
        step: &Step,
        ask: &Question<'_>,
        world: &World,
    ) -> Result<Plan, PromptError> {
        if let Kind::WorkOut { .. } = step.kind {
            return self.back(step, ask.about);
        }
        let count = self.asked.entry(step.id.clone()).or_default();
        let tries = *count;
        *count += 1;
        let own = step.clone();
        let procedure = Arc::clone(&self.procedure);
        let practice = step.practice.as_ref();
        let answer = practice.and_then(|p| p.answer.clone());
        let env = ask.about.map(|a| a.state.env(a.at));
        Ok(match &step.kind {
            Kind::Sign { .. } => Plan::says("DEMO"),
            Kind::Enter(enter) => {
                let value = env.and_then(|e| e.quantity(&enter.value).ok());
                let value = value.ok_or_else(|| self.stuck(&step.id))?;
                if self.last.2 > 0 {
                    return Ok(Plan {
                        invented: Some(COARSE),
                        ..Plan::says(value.canonical())
                    });
                }
                let value = typed(value, step);
                if enter.sets_zero_at.is_some() {
                    let set = format!("set z {value}");
                    Plan::new(&[&set], later(move |w| read(&procedure, &own, w), value))
                } else {
                    Plan::says(value)
                }
            }
            // Where nothing was done for it, the practice mill lets the time go by at once.
            Kind::Wait { time, .. } => {
                let time = practice.and(env).and_then(|e| e.quantity(time).ok());
                Plan::says(time.map_or("start".to_owned(), |t| typed(t, step)))
            }
            Kind::Inspect if ask.about.is_some_and(|a| a.state.exhausted().is_some()) => {
                Plan::says("end")
            }
            Kind::Note => {
                Plan::says(answer.unwrap_or_else(|| "A rehearsal by demonstration.".to_owned()))
            }
            // A group that the line does not show is not active on the practice mill.
            Kind::Codes(_)
                if ask
                    .about
                    .is_some_and(|a| a.state.codes_so_far(a.at).is_some()) =>
            {
                Plan::says("none")
            }
            Kind::Confirm { answer, .. } => Plan {
                invented: is_unjudged(&procedure, step).then_some(NO_PRACTICE),
                ..Plan::says(answer)
            },
            Kind::Choose { .. }
            | Kind::Read { .. }
            | Kind::Touch(_)
            | Kind::WorkOut { .. }
            | Kind::Program { .. }
            | Kind::Codes(_)
            | Kind::Cut { .. }
            | Kind::Inspect => {
                let invented = truth(&self.procedure, step, world).is_none() && answer.is_none();
                let all = invented::answers(step, ask.about);
                let otherwise = self
                    .wanted
                    .remove(&step.id)
                    .or(answer)
                    .or_else(|| all.get(tries % all.len().max(1)).cloned())
                    .unwrap_or_default();
                Plan {
                    invented: invented.then_some(NO_PRACTICE),
                    ..Plan::new(&[], later(move |w| read(&procedure, &own, w), otherwise))
                }
            }
        })
    }

    /// Goes back to a step that a worked-out value outside its limits comes from: the latest first, since that is where a
    /// slip is looked for first.
    fn back(&mut self, step: &Step, about: Option<About<'_>>) -> Result<Plan, PromptError> {
        let from = about.map_or(Vec::new(), |a| typed_behind(a.state, a.at, step));
        let count = self.asked.entry(step.id.clone()).or_default();
        let sent = *count;
        *count += 1;
        if sent >= SENT_BACK.1 {
            return Err(self.stuck(&step.id));
        }
        // An invented answer is invented anew, such that the value fits.
        let procedure = Arc::clone(&self.procedure);
        let blind = from
            .iter()
            .filter_map(|id| procedure.step(id))
            .filter(|s| is_unjudged(&procedure, s));
        for earlier in blind {
            if let Some(q) = about.and_then(|a| invented::solved(a, &earlier.id)) {
                self.wanted.insert(earlier.id.clone(), typed(q, earlier));
                return Ok(Plan::says(format!("back {}", earlier.id)));
            }
        }
        let index = (sent / SENT_BACK.0).min(from.len().saturating_sub(1));
        match from.get(index) {
            Some(id) => Ok(Plan::says(format!("back {id}"))),
            None => Err(self.stuck(&step.id)),
        }
    }
}

/// The first series of touches that is answered and can be made again.
fn touched(state: &State) -> Option<String> {
    let places = state.asked();
    let touches = places
        .iter()
        .filter(|p| matches!(p.step.kind, Kind::Touch(_)))
        .map(crate::interlock::sequence::SequencePosition::instance);
    let mut answered = touches.filter(|of| state.answers.contains_key(of) && !state.is_history(of));
    answered.next().map(|of| of.step)
}

/// Whether what is so at a step is within the limits that nobody can waive.
fn is_allowed(procedure: &Procedure, step: &Step, about: Option<About<'_>>, world: &World) -> bool {
    let Some(About { state, at }) = about else {
        return true;
    };
    match (truth(procedure, step, world), &step.kind) {
        (Some(Truth::Word(word)), Kind::Choose { must, .. }) => {
            let exactly = must.iter().filter_map(|l| l.exactly.as_ref());
            exactly
                .filter_map(|f| state.env(at).eval(f).ok())
                .all(|only| only == Value::Word(word.clone()))
        }
        (Some(Truth::Word(line)), Kind::Codes(codes)) => state.accepts_codes(at, codes, &line),
        (Some(Truth::Number(q, _)), Kind::Read { limits, .. }) => {
            !matches!(state.judge(at, limits, q), Ok((Some(_), _)))
        }
        _ => true,
    }
}

/// What is read at a step.
fn read(procedure: &Procedure, step: &Step, world: &World) -> Option<String> {
    match truth(procedure, step, world)? {
        Truth::Word(word) => Some(word),
        Truth::Number(q, _) => Some(match length_of(q) {
            Some(nm) => mm(nm),
            None => typed(q, step),
        }),
        Truth::Holds { .. } => None,
    }
}

fn length_of(q: crate::quantity::Quantity) -> Option<Nm> {
    let nm = Length::nearest(q)?.counts() / 10;
    (length(nm) == Some(q) && nm % 1000 == 0).then_some(nm)
}
