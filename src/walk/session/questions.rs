//! Asking a step: where we are, then by its kind. The plain kinds (confirm, choose, read, note) are here.

use crate::interlock::command::GivenAnswer;
use crate::interlock::{AnswerStatus, Instance};
use crate::procedure::model::Kind;
use crate::procedure::{Options, Step};
use crate::quantity::parse::quantity;
use crate::quantity::{Dimension, Quantity, Unit};
use crate::report::page::{Choice, Page, PageFact, Tone};
use crate::terminal::prompt::{Completions, QuestionPart};
use crate::walk::error::WalkError;
use crate::walk::prompts::Prompted;
use crate::walk::prompts::choices::pick;
use crate::walk::prompts::commands::KEEP;
use crate::walk::session::Session;
use crate::walk::session::pages::{self, Shown};

impl Session<'_> {
    /// Shows where we are and asks the step at `at`.
    ///
    /// A value from the readout's zero that is asked again begins with its reading: the readout may have been set since.
    pub(crate) fn question(&mut self, at: &Instance, standing: &AnswerStatus) -> Prompted<()> {
        if self.state.answers.contains_key(at)
            && let Some(reading) = self.state.readings_against_zero(at).first()
        {
            let text =
                "The readout may have been set since it was read, so it is read again first.";
            self.prompter
                .show(&Page::new().gap().toned(Tone::Look, text))?;
            return self.question(reading, &AnswerStatus::Holds);
        }
        let Some(step) = self.state.step(at).cloned() else {
            return Err(WalkError::Fault(format!("there is no step {at}")).into());
        };
        self.asked = Page::new();
        self.completions = Completions::default();
        self.offered.clear();
        self.may_be_recalled = true;
        if self.state.is_from_program(at) {
            return self.take_from_program(at, standing, &step);
        }
        if pages::is_question(&step) {
            self.show_worked_out(false)?;
            self.show_place(at, standing, &step)?;
        } else {
            self.show_phase(at)?;
        }
        match &step.kind {
            Kind::Confirm {
                answer,
                wrong,
                critical,
                ..
            } => {
                let mut words: Vec<(String, String)> = std::iter::once(answer)
                    .chain(wrong)
                    .map(|w| (w.clone(), String::new()))
                    .collect();
                if *critical {
                    words = self.shuffled(words)?;
                } else {
                    // The state wanted never stands first by habit: the order is that of the alphabet.
                    words.sort();
                }
                self.word(at, &step, &words, *critical)
            }
            Kind::Choose { options, .. } => {
                let words = match options {
                    Options::Listed(listed) => listed.clone(),
                    Options::From(list) => self
                        .state
                        .shop
                        .items(*list)
                        .iter()
                        .map(|i| (i.id.clone(), i.title.clone()))
                        .collect(),
                };
                self.word(at, &step, &words, false)
            }
            Kind::Inspect => self.inspect(at, &step),
            Kind::Read {
                dimension, percent, ..
            } => self.number(at, *dimension, *percent),
            Kind::Note => self.text(at),
            Kind::Enter(_) => self.enter(at, &step),
            Kind::Program { .. } => self.program(at),
            Kind::Codes(codes) => self.codes(at, codes),
            Kind::Wait {
                time,
                may_be_shortened,
                ..
            } => {
                let wanted = self.state.env(at).quantity(time);
                match wanted {
                    Ok(wanted) => self.wait(at, &step, wanted, *may_be_shortened),
                    Err(e) => Err(WalkError::Fault(e.to_string()).into()),
                }
            }
            Kind::Touch(touch) => self.touch(at, touch),
            Kind::Sign { states, role, .. } => self.sign(at, states, role),
            Kind::Cut { expected, .. } => self.cut(at, expected.as_ref()),
            Kind::WorkOut { .. } => self.work_out(at, &step),
        }
    }

    pub(crate) fn show_place(
        &mut self,
        at: &Instance,
        standing: &AnswerStatus,
        step: &Step,
    ) -> Result<(), WalkError> {
        let mut page = if self.show_phase(at)? {
            Page::new()
        } else {
            Page::new().gap()
        };
        // At a cut the status is shown with its release, or with what holds it.
        if !matches!(step.kind, Kind::Cut { .. }) {
            page = page.then(self.status(at));
        }
        let shown = Shown {
            words: self.words,
            cautioned: &self.cautioned,
        };
        page = page.then(pages::place(&self.state, at, standing, &shown));
        self.cautioned.extend(step.cautions.iter().cloned());
        if *standing == AnswerStatus::Holds
            && let Some(answer) = self.state.answer(at)
        {
            // A blind step is read anew, so what was read before is not shown.
            let blind = step.kind.codes().is_some_and(|c| c.blind);
            let text = if blind {
                format!("Answered. Answer anew, or type `{KEEP}`.")
            } else {
                format!(
                    "Answered: {}. Answer anew, or type `{KEEP}`.",
                    crate::report::words::answer(answer, &self.state.show_at(at))
                )
            };
            page = page.toned(Tone::Look, text);
        }
        Ok(self.prompter.show(&page.then(self.asked_singly(at)))?)
    }

    /// Shows the heading of a phase when it is another than before; whether it did.
    fn show_phase(&mut self, at: &Instance) -> Result<bool, WalkError> {
        let phase = self
            .state
            .procedure
            .phases
            .iter()
            .find(|p| p.steps.iter().any(|s| s.id == at.step));
        let heading = phase.map(|p| (p.id.clone(), at.pass));
        if self.heading == heading {
            return Ok(false);
        }
        self.show_worked_out(false)?;
        self.heading = heading;
        self.cautioned.clear();
        self.status_shown.clear();
        self.prompter.show(&pages::heading(&self.state, at))?;
        Ok(true)
    }

    /// The status line, where it differs from the one shown last in this phase.
    pub(crate) fn status(&mut self, at: &Instance) -> Page {
        let now = self.now();
        let facts = pages::status(&self.state, Some(at), now);
        let timers: Vec<PageFact> = pages::timers(&self.state, now).collect();
        // Which timers run counts; what is left of each changes with every second.
        let running = timers.iter().map(|timer| PageFact::new(&timer.label, ""));
        let seen: Vec<PageFact> = facts.iter().cloned().chain(running).collect();
        if seen == self.status_shown {
            return Page::new();
        }
        self.status_shown = seen;
        Page::new().status(facts.into_iter().chain(timers))
    }

    fn shuffled<T: Clone>(&mut self, items: Vec<T>) -> Result<Vec<T>, WalkError> {
        let order = self.prompter.pick_order(items.len())?;
        Ok(order
            .into_iter()
            .filter_map(|i| items.get(i).cloned())
            .collect())
    }

    /// One of several words, by number or by word. `whole` words only where a slip of one letter could pass for another.
    fn word(
        &mut self,
        at: &Instance,
        step: &Step,
        words: &[(String, String)],
        whole: bool,
    ) -> Prompted<()> {
        let choices = words
            .iter()
            .enumerate()
            .map(|(i, (word, meaning))| Choice::new(i + 1, word, meaning));
        self.asked = Page::new().options(choices);
        self.prompter.show(&self.asked)?;
        self.offered = words.iter().map(|(word, _)| word.clone()).collect();
        if whole {
            // Neither a letter and Tab nor Up may answer what is to be looked at anew each time.
            self.may_be_recalled = false;
        } else {
            self.completions.words.clone_from(&self.offered);
        }
        let from_shop = if let Kind::Choose {
            options: Options::From(list),
            ..
        } = &step.kind
        {
            format!(
                ". The run keeps the shop file of its beginning: a {} put in since is for runs that begin after it; `end` gives this one up",
                list.one()
            )
        } else {
            String::new()
        };
        self.answer(at, step.kind.word(), &QuestionPart::Answer, |_, said| {
            pick(said, words, whole, "answers")
                .map(GivenAnswer::Word)
                .map_err(|why| format!("{why}{from_shop}"))
        })
    }

    /// A number with a unit.
    fn number(&mut self, at: &Instance, dimension: Dimension, percent: bool) -> Prompted<()> {
        let usual = Unit::usual(dimension, self.state.begun.unit);
        let unit = if percent { Unit::find("%") } else { usual };
        let Some(unit) = unit else {
            let fault = format!("there is no unit to ask {dimension} in");
            return Err(WalkError::Fault(fault).into());
        };
        let prompt = if unit.symbol.is_empty() {
            "number".to_owned()
        } else {
            format!("value in {}", unit.symbol)
        };
        self.answer(at, &prompt, &QuestionPart::Answer, |session, said| {
            session.reads(said, &unit).map(GivenAnswer::Quantity)
        })
    }

    /// A line as a quantity of the unit's kind.
    pub(crate) fn reads(&self, said: &str, unit: &Unit) -> Result<Quantity, String> {
        quantity(said, unit, self.state.procedure.decimal)
            .map(|typed| typed.quantity)
            .map_err(|e| e.to_string())
    }

    fn text(&mut self, at: &Instance) -> Prompted<()> {
        self.answer(at, "text", &QuestionPart::Answer, |_, said| {
            Ok(GivenAnswer::Text(said.to_owned()))
        })
    }
}
