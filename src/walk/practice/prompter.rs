//! The desk of a rehearsal: a person's desk with the practice mill beside every question, or a demonstration.

use super::demo::Demo;
use super::readout::{asks_help, face, help, passed, readout, seen};
use super::truth::{touch_truth, truth};
use crate::interlock::Event;
use crate::interlock::answer::{Answer, Origin};
use crate::interlock::gate::PracticeCleared;
use crate::procedure::{Procedure, Step};
use crate::quantity::UnitSystem;
use crate::report::page::{Page, Tone};
use crate::simulator::running::Ran;
use crate::simulator::words::length_with_unit;
use crate::simulator::world::World;
use crate::simulator::{Decision, Nm};
use crate::terminal::prompt::{
    PromptError, Prompter, Question, QuestionPart, Reply, SecretReply, Taken, Wait, WaitEnd,
};
use std::sync::Arc;
use std::time::Duration;

/// Who works the mill.
#[derive(Debug)]
pub(crate) enum Hand {
    /// The person at the desk.
    Person,
    /// Nobody: it shows itself.
    Demo(Demo),
}

/// How long a pass is watched, however long it would take on a mill.
const PASS: Duration = Duration::from_secs(4);

/// The word that goes to the mill.
const MILL: &str = "m";

/// A desk with a practice mill beside it.
pub(crate) struct PracticePrompter<'a> {
    /// The workshop.
    pub world: World,
    inner: &'a mut dyn Prompter,
    hand: Hand,
    at_once: bool,
    procedure: Arc<Procedure>,
    /// The step answered last and what was typed, until it is known whether it was taken.
    pending: Option<(String, String)>,
    /// A pass was interrupted, or the person has gone.
    ended: Option<Reply>,
}

impl std::fmt::Debug for PracticePrompter<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("PracticePrompter")
            .field("hand", &self.hand)
            .finish_non_exhaustive()
    }
}

impl<'a> PracticePrompter<'a> {
    /// A practice desk before `inner`. `at_once` leaves out the time that a pass is watched.
    pub(crate) fn new(
        world: World,
        inner: &'a mut dyn Prompter,
        hand: Hand,
        at_once: bool,
        procedure: Arc<Procedure>,
    ) -> Self {
        Self {
            world,
            inner,
            hand,
            at_once,
            procedure,
            pending: None,
            ended: None,
        }
    }

    /// Does one line at the mill and shows what is seen.
    fn act(&mut self, line: &str) -> Result<(), PromptError> {
        let lines = self.world.act(line);
        let word = line.split_whitespace().next().unwrap_or_default();
        if !lines.is_empty() {
            self.inner.show(&seen(&lines))?;
        }
        if word.eq_ignore_ascii_case("face") {
            self.inner.show(&face(&self.world))?;
        }
        if self.world.running {
            self.run()?;
        }
        Ok(())
    }

    /// Runs the program, watched.
    fn run(&mut self) -> Result<(), PromptError> {
        if self.world.block == 0 {
            let page = Page::new().text("The face before the pass:");
            self.inner.show(&page.then(face(&self.world)))?;
        }
        let whole = self.world.run_time();
        let single = self.world.mill.single;
        let share = if self.at_once || single {
            i64::MAX
        } else {
            let text = "Cutting, faster than a mill would. Enter is feed hold; `emergency` and Enter is the red key.";
            self.inner.show(&Page::new().next(text))?;
            let watch = Wait {
                title: "practice mill",
                expected: Some(PASS),
                limit: Some(PASS),
                before: Duration::ZERO,
            };
            match self.inner.watch(&watch)? {
                WaitEnd::Reached => i64::MAX,
                WaitEnd::Enter { elapsed, said } => {
                    let part = i64::try_from(elapsed.as_millis()).unwrap_or(0);
                    let all = i64::try_from(PASS.as_millis()).unwrap_or(1);
                    if said.trim().eq_ignore_ascii_case("emergency") {
                        self.ended_by_stop(whole / all * part)?;
                        return Ok(());
                    }
                    whole / all * part
                }
                WaitEnd::Interrupted => {
                    self.ended = Some(Reply::Interrupted);
                    0
                }
                WaitEnd::Closed => {
                    self.ended = Some(Reply::Closed);
                    0
                }
            }
        };
        let (ran, lines) = self.world.run(share);
        self.inner.show(&seen(&lines))?;
        match ran {
            Ran::Held => {
                let text = "Feed hold: the spindle turns, the axes stand. `start` goes on, `reset` ends it.";
                self.inner.show(&Page::new().toned(Tone::Look, text))?;
            }
            Ran::Ended | Ran::Crashed => {
                if let Some(pass) = self.world.passes.last() {
                    let page = Page::new()
                        .text("The face after it:")
                        .then(face(&self.world))
                        .then(passed(pass, &self.world));
                    self.inner.show(&page)?;
                }
            }
        }
        Ok(())
    }

    fn ended_by_stop(&mut self, milliseconds: i64) -> Result<(), PromptError> {
        let (_, mut lines) = self.world.run(milliseconds);
        lines.extend(self.world.act("emergency"));
        self.inner.show(&seen(&lines))
    }

    /// At the mill until Enter alone.
    fn at_the_mill(&mut self, step: &str) -> Result<Option<Reply>, PromptError> {
        let text = "At the mill. ? lists its words; Enter alone goes back to the question.";
        self.inner.show(&Page::new().next(text))?;
        loop {
            let ask = Question::new("mill", step, QuestionPart::Other("mill".to_owned()));
            let said = match self.inner.ask(&ask)? {
                Reply::Said(said) => said.trim().to_owned(),
                other => return Ok(Some(other)),
            };
            if said.is_empty() {
                return Ok(None);
            }
            if let Some(of) = asks_help(&said) {
                self.inner.show(&help(of))?;
                continue;
            }
            self.act(said.strip_prefix("m ").unwrap_or(&said))?;
            if let Some(ended) = self.ended.take() {
                return Ok(Some(ended));
            }
            self.inner.show(&readout(&self.world))?;
        }
    }

    /// What a demonstration says at a question, its acts done and shown.
    fn demonstrate(&mut self, ask: &Question<'_>) -> Result<Option<String>, PromptError> {
        let Hand::Demo(demo) = &mut self.hand else {
            return Ok(None);
        };
        let plan = demo.answers(ask, &self.world)?;
        for act in plan.acts {
            self.approach(&act)?;
            self.acts(&act)?;
        }
        let answer = plan.answer.words(&self.world);
        self.inner.show(&readout(&self.world))?;
        let invented = plan
            .invented
            .map_or(String::new(), |why| format!(" (invented: {why})"));
        let line = format!("{}> {answer}{invented}", ask.prompt);
        self.inner.show(&Page::new().toned(Tone::Action, line))?;
        Ok(Some(answer))
    }

    /// Shows what a demonstration types at the mill, and does it.
    fn acts(&mut self, act: &str) -> Result<(), PromptError> {
        let line = format!("mill> {act}");
        self.inner.show(&Page::new().toned(Tone::Action, line))?;
        self.act(act)
    }

    /// Before the steps of a touch, a demonstration comes down by eye: to some tenths above the metal.
    fn approach(&mut self, act: &str) -> Result<(), PromptError> {
        const FAR: Nm = 600_000;
        const NEAR: Nm = 400_000;
        let gap = self.world.gap().filter(|gap| act == "touch" && *gap > FAR);
        match gap {
            Some(gap) => {
                let down = (gap - NEAR) / 100_000 * 100_000;
                self.acts(&format!("down {}", magnitude(down)))
            }
            None => Ok(()),
        }
    }

    /// Stores whether what was taken was so.
    fn judge(&mut self, taken: &[Event]) {
        let Some((_, said)) = self.pending.take() else {
            return;
        };
        let procedure = Arc::clone(&self.procedure);
        for event in taken {
            match event {
                Event::Answered { at, answer, .. } => {
                    if let Some(step) = procedure.step(&at.step) {
                        self.judge_answer(step, answer, &said);
                    }
                }
                Event::Touched { at, reading, .. } => {
                    let (good, known) = touch_truth(reading, &self.world);
                    let right = "touch, then read both columns".to_owned();
                    self.decide(&at.step, &said, (known, right), good);
                }
                Event::Zeroed { at, .. } => {
                    let shows = self.world.mill.work()[2];
                    let known = format!("it was {}", magnitude(shows));
                    let good = shows.abs() <= self.world.mill.limits.resolution;
                    self.decide(&at.step, &said, (known, "`m zero z`".to_owned()), good);
                }
                _ => {}
            }
        }
    }

    fn judge_answer(&mut self, step: &Step, answer: &Answer, said: &str) {
        let Some(is) = truth(&self.procedure, step, &self.world) else {
            return;
        };
        if let Some(good) = is.agrees(answer, &step.kind) {
            self.decide(&step.id, said, is.words(step), good);
        }
    }

    fn decide(&mut self, at: &str, said: &str, (known, right): (String, String), good: bool) {
        self.world.decisions.push(Decision {
            at: at.to_owned(),
            said: said.to_owned(),
            known,
            right,
            good,
        });
    }
}

fn magnitude(nm: Nm) -> String {
    let shown = length_with_unit(nm, UnitSystem::Mm);
    shown.trim_start_matches('+').to_owned()
}

impl Prompter for PracticePrompter<'_> {
    fn origin(&self) -> Origin {
        match self.hand {
            Hand::Person => self.inner.origin(),
            Hand::Demo(_) => Origin::Demonstration,
        }
    }

    fn show(&mut self, page: &Page) -> Result<(), PromptError> {
        self.inner.show(page)
    }

    fn lines_left(&self, page: &Page) -> usize {
        self.inner.lines_left(page)
    }

    fn ask(&mut self, ask: &Question<'_>) -> Result<Reply, PromptError> {
        let step = ask.key.step.clone();
        let practice = self.procedure.step(&step).and_then(|s| s.practice.as_ref());
        let faults = practice.map_or(Vec::new(), |p| p.drills.clone());
        self.world.at_step(&faults);
        let heard = std::mem::take(&mut self.world.heard);
        if !heard.is_empty() {
            self.inner.show(&seen(&heard))?;
        }
        loop {
            if let Some(ended) = self.ended.take() {
                return Ok(ended);
            }
            let said = if let Some(said) = self.demonstrate(ask)? {
                said
            } else {
                self.inner.show(&readout(&self.world))?;
                match self.inner.ask(ask)? {
                    Reply::Said(said) => said,
                    other => return Ok(other),
                }
            };
            let line = said.trim();
            let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
            if word.eq_ignore_ascii_case(MILL) {
                let rest = rest.trim();
                if let Some(of) = asks_help(rest) {
                    self.inner.show(&help(of))?;
                } else if !rest.is_empty() {
                    let rest = rest.to_owned();
                    self.act(&rest)?;
                } else if let Some(reply) = self.at_the_mill(&step)? {
                    return Ok(reply);
                }
                continue;
            }
            if word.eq_ignore_ascii_case("stop") {
                self.world.was_held(None);
            }
            // What is asked besides belongs to the answer before it, which is still to be judged.
            if !matches!(&ask.key.part, QuestionPart::Other(name) if name == "near")
                && ask.key.part != QuestionPart::Accept
            {
                self.pending = Some((step, line.to_owned()));
            }
            return Ok(Reply::Said(said));
        }
    }

    fn secret(&mut self, prompt: &str) -> Result<SecretReply, PromptError> {
        match self.hand {
            Hand::Person => self.inner.secret(prompt),
            Hand::Demo(_) => Err(PromptError::NoSecret),
        }
    }

    fn watch(&mut self, watch: &Wait<'_>) -> Result<WaitEnd, PromptError> {
        if let Some(limit) = watch.limit {
            let seconds = i64::try_from(limit.as_secs()).unwrap_or(0);
            self.world.mill.pass(seconds);
            let text = "The time goes by at once here.";
            self.inner.show(&Page::new().toned(Tone::Quiet, text))?;
            return Ok(WaitEnd::Reached);
        }
        // The pass has been watched already, beside the mill.
        Ok(WaitEnd::Enter {
            elapsed: Duration::ZERO,
            said: String::new(),
        })
    }

    fn pick_order(&mut self, n: usize) -> Result<Vec<usize>, PromptError> {
        match self.hand {
            Hand::Person => self.inner.pick_order(n),
            Hand::Demo(_) => Ok((0..n).collect()),
        }
    }

    fn refused(&mut self, why: &str) -> Result<(), PromptError> {
        if let Some((step, _)) = self.pending.take() {
            let facts = self.procedure.step(&step).map(Step::facts);
            self.world.was_held(Some(&facts.unwrap_or_default()));
        }
        self.inner.refused(why)
    }

    fn taken(&mut self, taken: Taken<'_>) -> Result<(), PromptError> {
        match taken {
            Taken::Recorded(events) => self.judge(events),
            Taken::Machine(id) => {
                let procedure = Arc::clone(&self.procedure);
                if let (Some((_, said)), Some(step)) =
                    (self.pending.take(), procedure.steps().next())
                {
                    self.judge_answer(step, &Answer::Word(id.to_owned()), &said);
                }
            }
            Taken::Otherwise => self.pending = None,
        }
        self.inner.taken(taken)
    }

    fn practise(&mut self, _permitted: &PracticeCleared) {
        self.world.released = true;
    }

    fn code(&mut self) -> Result<String, PromptError> {
        match self.hand {
            Hand::Person => self.inner.code(),
            Hand::Demo(_) => Ok("SHOW".to_owned()),
        }
    }
}
