//! Asking a step: where we are, then by its kind. The plain kinds (confirm, choose, read, note) are here.

use crate::interlock::command::GivenAnswer;
use crate::interlock::{AnswerStatus, Instance};
use crate::procedure::model::Kind;
use crate::procedure::{Options, Step};
use crate::quantity::parse::quantity;
use crate::quantity::{Dimension, Quantity, Unit};
use crate::report::page::{Choice, Page, Tone};
use crate::terminal::prompt::{Completions, QuestionPart};
use crate::walk::error::WalkError;
use crate::walk::prompts::commands::KEEP;
use crate::walk::prompts::{Prompted, kit};
use crate::walk::session::Session;
use crate::walk::session::pages;

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
        self.may_be_recalled = true;
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
        page = page.then(pages::place(
            &self.state,
            at,
            standing,
            &self.cautioned,
            self.now(),
        ));
        self.cautioned.extend(step.cautions.iter().cloned());
        if *standing == AnswerStatus::Holds
            && let Some(answer) = self.state.answer(at)
        {
            let text = format!(
                "Answered: {}. Answer anew, or type `{KEEP}`.",
                crate::report::words::answer(answer, &self.state.show_at(at))
            );
            page = page.toned(Tone::Look, text);
        }
        Ok(self.prompter.show(&page)?)
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
        self.prompter.show(&pages::heading(&self.state, at))?;
        Ok(true)
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
        if whole {
            // Neither a letter and Tab nor Up may answer what is to be looked at anew each time.
            self.may_be_recalled = false;
        } else {
            self.completions.words = words.iter().map(|(word, _)| word.clone()).collect();
        }
        let from_shop = match &step.kind {
            Kind::Choose {
                options: Options::From(list),
                ..
            } => format!(
                ". The run keeps the shop file of its beginning: a {} put in since is for runs that begin after it; `end` gives this one up",
                list.one()
            ),
            _ => String::new(),
        };
        self.answer(at, step.kind.word(), &QuestionPart::Answer, |_, said| {
            let word = pick(said, words, whole).map(GivenAnswer::Word);
            word.ok_or_else(|| {
                let known: Vec<&str> = words.iter().map(|(w, _)| w.as_str()).collect();
                format!("{}{from_shop}", kit::none_of("answers", said, &known))
            })
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

/// The word that `said` names: its number, the word itself, or (where allowed) a beginning that fits only one.
pub(crate) fn pick(said: &str, words: &[(String, String)], whole: bool) -> Option<String> {
    if let Ok(number) = said.parse::<usize>() {
        let index = number.checked_sub(1)?;
        return words.get(index).map(|(w, _)| w.clone());
    }
    let same = |w: &&(String, String)| w.0.eq_ignore_ascii_case(said);
    if let Some((word, _)) = words.iter().find(same) {
        return Some(word.clone());
    }
    if whole {
        return None;
    }
    // The control shows `G21`, and the answer is called `metric: G21, millimetres`: what is read may be typed.
    let leads = |(_, meaning): &&(String, String)| {
        let first = meaning.split([',', ' ']).next().unwrap_or_default();
        first.chars().any(|c| c.is_ascii_digit()) && first.eq_ignore_ascii_case(said)
    };
    let mut led = words.iter().filter(leads);
    if let (Some((word, _)), None) = (led.next(), led.next()) {
        return Some(word.clone());
    }
    let lower = said.to_lowercase();
    let mut begins = words
        .iter()
        .filter(|(w, _)| w.to_lowercase().starts_with(&lower));
    match (begins.next(), begins.next()) {
        (Some((word, _)), None) => Some(word.clone()),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::pick;

    fn words() -> Vec<(String, String)> {
        ["stopped", "turning", "still coasting"]
            .map(|w| (w.to_owned(), String::new()))
            .into()
    }

    #[test]
    fn a_word_is_picked_by_number_by_word_or_by_a_beginning_that_fits_one() {
        assert_eq!(pick("2", &words(), true).as_deref(), Some("turning"));
        assert_eq!(pick("Stopped", &words(), true).as_deref(), Some("stopped"));
        assert_eq!(pick("t", &words(), false).as_deref(), Some("turning"));
        assert_eq!(pick("t", &words(), true), None);
        assert_eq!(pick("st", &words(), false), None);
        assert_eq!(pick("0", &words(), false), None);
        assert_eq!(pick("4", &words(), false), None);
    }

    #[test]
    fn a_code_that_the_control_shows_stands_for_the_answer_it_explains() {
        let words = [("metric", "G21, millimetres"), ("inch", "G20, inches")]
            .map(|(w, m)| (w.to_owned(), m.to_owned()));
        assert_eq!(pick("g21", &words, false).as_deref(), Some("metric"));
        assert_eq!(pick("G2", &words, false), None);
        assert_eq!(pick("millimetres", &words, false), None);
        assert_eq!(pick("G21", &words, true), None);
    }
}
