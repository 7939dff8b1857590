//! The desk of a rehearsal: a person's desk with the practice mill beside every question, or a demonstration.

use super::demo::Demo;
use super::readout::{asks_help, face, help, passed, readout, seen};
use super::truth::{Truth, touch_truth, truth};
use crate::interlock::answer::Origin;
use crate::interlock::gate::PracticeCleared;
use crate::quantity::UnitSystem;
use crate::report::page::{Block, Page, Tone};
use crate::simulator::Decision;
use crate::simulator::running::Ran;
use crate::simulator::world::World;
use crate::terminal::prompt::{
    PromptError, Prompter, Question, QuestionPart, Reply, SecretReply, Wait, WaitEnd,
};
use crate::walk::questions::pick;
use std::time::Duration;

/// Who works the mill.
#[derive(Debug)]
pub enum Hand {
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
pub struct PracticePrompter<'a> {
    /// The workshop.
    pub world: World,
    inner: &'a mut dyn Prompter,
    hand: Hand,
    at_once: bool,
    system: UnitSystem,
    /// The answer given last, until it is known whether it was taken.
    pending: Option<(String, QuestionPart, String)>,
    /// What was told to do last.
    told: String,
    /// What could be chosen at the question at hand: the words and what they stand for.
    options: Vec<(String, String)>,
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
    pub fn new(
        world: World,
        inner: &'a mut dyn Prompter,
        hand: Hand,
        at_once: bool,
        system: UnitSystem,
    ) -> Self {
        Self {
            world,
            inner,
            hand,
            at_once,
            system,
            pending: None,
            told: String::new(),
            options: Vec::new(),
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
        let text = "At the mill. ? tells its words; Enter alone goes back to the question.";
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
        let (acts, answer) = demo.answers(&ask.key.step, &ask.key.part, &self.world, &self.told)?;
        for act in acts {
            self.inner
                .show(&Page::new().toned(Tone::Action, format!("mill> {act}")))?;
            self.act(&act)?;
        }
        let answer = match answer {
            super::demo::Answer::Said(said) => said,
            super::demo::Answer::Later(later) => later(&self.world),
        };
        self.inner.show(&readout(&self.world))?;
        self.inner
            .show(&Page::new().toned(Tone::Action, format!("{}> {answer}", ask.prompt)))?;
        Ok(Some(answer))
    }

    /// Keeps whether the answer given last was so.
    fn judge(&mut self) {
        let Some((step, part, said)) = self.pending.take() else {
            return;
        };
        let series = matches!(part, QuestionPart::Point(_))
            || matches!(&part, QuestionPart::Other(name) if name == "closing");
        let judged = if series {
            touch_truth(&said, &self.world, self.system)
                .map(|(good, known)| (good, known, "touch, then read both columns".to_owned()))
        } else {
            let is = truth(&step, &part, &self.world);
            is.and_then(|is: Truth| {
                // By its number, by a beginning or by a code: the answer is the word it stood for.
                let chosen = match is {
                    Truth::Word(_) => pick(&said, &self.options, false),
                    _ => None,
                };
                let good = is.agrees(chosen.as_ref().unwrap_or(&said), self.system)?;
                let (known, right) = is.words(self.system);
                Some((good, known, right))
            })
        };
        if let Some((good, known, right)) = judged {
            self.world.decisions.push(Decision {
                at: step,
                said,
                known,
                right,
                good,
            });
        }
    }
}

impl Prompter for PracticePrompter<'_> {
    fn origin(&self) -> Origin {
        match self.hand {
            Hand::Person => self.inner.origin(),
            Hand::Demo(_) => Origin::Demonstration,
        }
    }

    fn show(&mut self, page: &Page) -> Result<(), PromptError> {
        for block in &page.blocks {
            match block {
                Block::Next(text) => self.told.clone_from(text),
                Block::Step { .. } => self.options.clear(),
                Block::Options(choices) => {
                    self.options = choices
                        .iter()
                        .map(|c| (c.word.clone(), c.description.clone()))
                        .collect();
                }
                _ => {}
            }
        }
        self.inner.show(page)
    }

    fn ask(&mut self, ask: &Question<'_>) -> Result<Reply, PromptError> {
        let step = ask.key.step.clone();
        self.world.at_step(&step);
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
                self.world.was_held("");
            }
            // Where skin is left belongs to the answer before it, which is still to be judged.
            if ask.key.part != QuestionPart::Other("near".to_owned()) {
                self.pending = Some((step, ask.key.part.clone(), line.to_owned()));
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
        if let Some((step, ..)) = self.pending.take() {
            self.world.was_held(&step);
        }
        self.inner.refused(why)
    }

    fn taken(&mut self) -> Result<(), PromptError> {
        self.judge();
        self.inner.taken()
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
