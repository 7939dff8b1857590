//! Asking the plain kinds of step: confirm, choose, read, note, enter, program, inspect, wait.

use super::error::WalkError;
use super::listen::{Heard, stop_word};
use super::pages;
use super::program;
use super::session::{Flow, Session};
use crate::desk::{Part, Watch, Watched};
use crate::interlock::answer::Answer;
use crate::interlock::command::Said;
use crate::interlock::{Command, Instance, Refusal, Standing};
use crate::procedure::model::{CLEAN, Kind, SKIN_LEFT};
use crate::procedure::{Options, Step};
use crate::quantity::parse::quantity;
use crate::quantity::{Dimension, Exact, Quantity, Unit};
use crate::report::page::{Choice, Page, Tone};
use std::time::Duration;

/// The word that keeps an answer that was gone back to.
const KEEP: &str = "keep";
/// The word that starts a wait here.
const BEGIN: &str = "start";

impl Session<'_> {
    /// Shows where we are and asks the step at `at`.
    ///
    /// A value from the readout's zero that is asked again begins with its reading: the readout may have been set since.
    pub fn question(&mut self, at: &Instance, standing: &Standing) -> Result<Flow, WalkError> {
        if self.state.answers.contains_key(at)
            && let Some(reading) = self.state.readings_against_zero(at).first()
        {
            let text =
                "The readout may have been set since it was read, so it is read again first.";
            self.desk.show(&Page::new().gap().toned(Tone::Look, text))?;
            return self.question(reading, &Standing::Holds);
        }
        let Some(step) = self.state.step(at).cloned() else {
            return Err(WalkError::Fault(format!("there is no step {at}")));
        };
        self.asked = Page::new();
        if pages::is_question(&step) {
            self.show_place(at, standing, &step)?;
        } else {
            self.show_phase(at)?;
        }
        match &step.kind {
            Kind::Confirm {
                answer,
                wrong,
                critical,
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
            Kind::Inspect => {
                let words = [
                    (CLEAN, "no old skin, ink or grey patch anywhere"),
                    (SKIN_LEFT, "some of the old surface is still there"),
                ];
                let words = words.map(|(w, d)| (w.to_owned(), d.to_owned()));
                self.word(at, &step, &words, true)
            }
            Kind::Read { dimension, .. } => self.number(at, *dimension),
            Kind::Note => self.text(at),
            Kind::Enter(_) => self.enter(at, &step),
            Kind::Program => self.program(at),
            Kind::Wait {
                time,
                may_be_shortened,
            } => {
                let wanted = self.state.env(at).quantity(time);
                match wanted {
                    Ok(wanted) => self.wait(at, &step, wanted, *may_be_shortened),
                    Err(e) => Err(WalkError::Fault(e.to_string())),
                }
            }
            Kind::Touch(touch) => self.touch(at, touch),
            Kind::Sign { states, role } => self.sign(at, states, role),
            Kind::Cut { expected, .. } => self.cut(at, expected.as_ref()),
            Kind::WorkOut { .. } => self.work_out(at, &step),
        }
    }

    pub(super) fn show_place(
        &mut self,
        at: &Instance,
        standing: &Standing,
        step: &Step,
    ) -> Result<(), WalkError> {
        let mut page = if self.show_phase(at)? {
            Page::new()
        } else {
            Page::new().gap()
        };
        page = page.then(pages::place(&self.state, at, standing, &self.cautioned));
        self.cautioned.extend(step.cautions.iter().cloned());
        if *standing == Standing::Holds
            && let Some(answer) = self.state.answer(at)
        {
            let text = format!(
                "Answered: {}. Answer anew, or type `{KEEP}`.",
                self.answer_words(answer)
            );
            page = page.toned(Tone::Look, text);
        }
        Ok(self.desk.show(&page)?)
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
        self.heading = heading;
        self.cautioned.clear();
        self.desk.show(&pages::heading(&self.state, at))?;
        Ok(true)
    }

    /// An answer in words.
    pub fn answer_words(&self, answer: &Answer) -> String {
        crate::report::words::answer(answer, &self.show())
    }

    fn shuffled<T: Clone>(&mut self, items: Vec<T>) -> Result<Vec<T>, WalkError> {
        let order = self.desk.pick_order(items.len())?;
        Ok(order
            .into_iter()
            .filter_map(|i| items.get(i).cloned())
            .collect())
    }

    /// Listens for an answer; `keep` ends a question that was gone back to.
    pub(super) fn answer_or_keep(
        &mut self,
        at: &Instance,
        prompt: &str,
        part: &Part,
    ) -> Result<Heard, WalkError> {
        let heard = self.listen(at, prompt, part)?;
        if let Heard::Said(said) = &heard
            && said == KEEP
            && self.state.answers.contains_key(at)
        {
            self.desk.taken()?;
            return Ok(Heard::Flow(Flow::Next));
        }
        Ok(heard)
    }

    /// One of several words, by number or by word. `whole` words only where a slip of one letter could pass for another.
    fn word(
        &mut self,
        at: &Instance,
        step: &Step,
        words: &[(String, String)],
        whole: bool,
    ) -> Result<Flow, WalkError> {
        let choices = words
            .iter()
            .enumerate()
            .map(|(i, (word, meaning))| Choice::new(i + 1, word, meaning));
        self.asked = Page::new().options(choices);
        self.desk.show(&self.asked)?;
        loop {
            let said = match self.answer_or_keep(at, step.kind.word(), &Part::Answer)? {
                Heard::Said(said) => said,
                Heard::Flow(flow) => return Ok(flow),
            };
            let Some(word) = pick(&said, words, whole) else {
                let known: Vec<&str> = words.iter().map(|(w, _)| w.as_str()).collect();
                let why = format!(
                    "`{said}` is none of the answers; type a number or one of: {}",
                    known.join(", ")
                );
                self.refuse(at, &said, &why)?;
                continue;
            };
            if let Some(flow) = self.give(at, &said, Said::Word(word))? {
                return Ok(flow);
            }
        }
    }

    /// A number with a unit.
    fn number(&mut self, at: &Instance, dimension: Dimension) -> Result<Flow, WalkError> {
        let Some(unit) = Unit::usual(dimension, self.state.begun.unit) else {
            return Err(WalkError::Fault(format!(
                "there is no unit to ask {dimension} in"
            )));
        };
        let prompt = if unit.symbol.is_empty() {
            "number".to_owned()
        } else {
            format!("value in {}", unit.symbol)
        };
        loop {
            let (typed, q) = match self.quantity(at, &prompt, &Part::Answer, &unit)? {
                Ok(found) => found,
                Err(flow) => return Ok(flow),
            };
            if let Some(flow) = self.give(at, &typed, Said::Quantity(q))? {
                return Ok(flow);
            }
        }
    }

    /// Listens until something reads as a quantity of the unit's kind.
    pub(super) fn quantity(
        &mut self,
        at: &Instance,
        prompt: &str,
        part: &Part,
        unit: &Unit,
    ) -> Result<Result<(String, Quantity), Flow>, WalkError> {
        loop {
            let said = match self.answer_or_keep(at, prompt, part)? {
                Heard::Said(said) => said,
                Heard::Flow(flow) => return Ok(Err(flow)),
            };
            match quantity(&said, unit, self.state.procedure.decimal) {
                Ok(typed) => return Ok(Ok((said, typed.quantity))),
                Err(e) => self.refuse(at, &said, &e.to_string())?,
            }
        }
    }

    fn text(&mut self, at: &Instance) -> Result<Flow, WalkError> {
        loop {
            let said = match self.answer_or_keep(at, "text", &Part::Answer)? {
                Heard::Said(said) => said,
                Heard::Flow(flow) => return Ok(flow),
            };
            if let Some(flow) = self.give(at, &said, Said::Text(said.clone()))? {
                return Ok(flow);
            }
        }
    }

    /// Gives an answer. `None` when it was refused and the question stands.
    pub(super) fn give(
        &mut self,
        at: &Instance,
        typed: &str,
        said: Said,
    ) -> Result<Option<Flow>, WalkError> {
        let command = |accept| Command::Answer {
            at: at.clone(),
            said: said.clone(),
            accept,
        };
        self.give_command(at, typed, command)
    }

    /// Carries out a command that a reason may make pass. `None` when it was refused and the question stands.
    pub(super) fn give_command(
        &mut self,
        at: &Instance,
        typed: &str,
        command: impl Fn(Option<String>) -> Command,
    ) -> Result<Option<Flow>, WalkError> {
        let refusal = match self.carry(&command(None))? {
            Ok(events) => return self.accepted(&events).map(Some),
            Err(refusal) => refusal,
        };
        if !self.can_accept(at, &refusal) {
            self.refuse(at, typed, &refusal.words(&self.show()))?;
            return Ok(None);
        }
        let reason = match self.reason(at, &refusal)? {
            Ok(reason) => reason,
            Err(flow) => return Ok(flow),
        };
        match self.carry(&command(Some(reason)))? {
            Ok(events) => self.accepted(&events).map(Some),
            Err(refusal) => {
                self.refuse(at, typed, &refusal.words(&self.show()))?;
                Ok(None)
            }
        }
    }

    fn can_accept(&self, at: &Instance, refusal: &Refusal) -> bool {
        let shortened = match self.state.step(at).map(|s| &s.kind) {
            Some(Kind::Wait {
                may_be_shortened, ..
            }) => *may_be_shortened,
            _ => true,
        };
        refusal.can_be_accepted() && shortened
    }

    /// Asks for the reason to accept a value outside a soft limit; the inner error is how the question ends without.
    fn reason(
        &mut self,
        at: &Instance,
        refusal: &Refusal,
    ) -> Result<Result<String, Option<Flow>>, WalkError> {
        let page = Page::new()
            .toned(
                Tone::Look,
                format!(
                    "Out of the expected range: {}.",
                    refusal.words(&self.show())
                ),
            )
            .next(format!(
                "Type the reason for which {} accepts it, or `no` to answer again.",
                self.state.operator
            ));
        self.desk.show(&page)?;
        match self.listen(at, "reason", &Part::Accept)? {
            Heard::Said(said) if said.eq_ignore_ascii_case("no") => {
                self.desk.refused("not accepted")?;
                Ok(Err(None))
            }
            Heard::Said(said) => Ok(Ok(said)),
            Heard::Flow(flow) => Ok(Err(Some(flow))),
        }
    }

    /// Shows what was recorded and what fell by it.
    fn accepted(&mut self, events: &[crate::interlock::Event]) -> Result<Flow, WalkError> {
        self.desk.taken()?;
        let page = crate::report::words::recorded(events, &self.state);
        self.desk.show(&page)?;
        Ok(Flow::Next)
    }

    fn enter(&mut self, at: &Instance, step: &Step) -> Result<Flow, WalkError> {
        let Kind::Enter(enter) = &step.kind else {
            return Ok(Flow::Next);
        };
        let show = self.show();
        let value = self.state.env(at).quantity(&enter.value);
        let value = value.map_err(|e| WalkError::Fault(e.to_string()))?;
        let lines = crate::procedure::formula::working::lines(
            &at.step,
            &enter.value,
            &self.state.env(at),
            &show,
        );
        let page = Page::new().working(lines).next(format!(
            "Type {} into {}. Then read the readout and type what it shows.",
            show.signed().both(value),
            enter.into
        ));
        self.desk.show(&page)?;
        let unit = self.state.begun.unit.length();
        loop {
            let prompt = format!("shows now, {}", unit.symbol);
            let (typed, q) = match self.quantity(at, &prompt, &Part::ReadBack, &unit)? {
                Ok(found) => found,
                Err(flow) => return Ok(flow),
            };
            if let Some(flow) = self.give(at, &typed, Said::Quantity(q))? {
                return Ok(flow);
            }
        }
    }

    fn program(&mut self, at: &Instance) -> Result<Flow, WalkError> {
        let text = "The file is fingerprinted, not examined: what it does, you state in the questions that follow.";
        self.desk.show(&Page::new().toned(Tone::Quiet, text))?;
        loop {
            let said = match self.answer_or_keep(at, "file", &Part::Answer)? {
                Heard::Said(said) => said,
                Heard::Flow(flow) => return Ok(flow),
            };
            let found = match program::find(&self.folder, said.trim_matches(['"', '\''])) {
                Ok(found) if found.bytes == 0 => {
                    self.refuse(at, &said, "the file is empty")?;
                    continue;
                }
                Ok(found) => found,
                Err(e) => {
                    let why =
                        format!("{said} cannot be read ({e}); type the path of the program file");
                    self.refuse(at, &said, &why)?;
                    continue;
                }
            };
            let file = Said::File {
                path: found.path.display().to_string(),
                fingerprint: found.fingerprint,
                bytes: found.bytes,
            };
            let text = format!("{} bytes, {} lines.", found.bytes, found.lines);
            self.desk.show(&Page::new().toned(Tone::Quiet, text))?;
            if let Some(flow) = self.give(at, &said, file)? {
                return Ok(flow);
            }
        }
    }

    fn wait(
        &mut self,
        at: &Instance,
        step: &Step,
        wanted: Quantity,
        may_be_shortened: bool,
    ) -> Result<Flow, WalkError> {
        let wanted_words = self.show().one(wanted);
        let shorter = if may_be_shortened {
            " A shorter time needs a reason."
        } else {
            ""
        };
        let page = Page::new().next(format!(
            "{wanted_words} is asked for. Type `{BEGIN}` to run it here, or how long it has run already.{shorter}"
        ));
        self.desk.show(&page)?;
        let Some(unit) = Unit::usual(Dimension::TIME, self.state.begun.unit) else {
            return Err(WalkError::Fault("there is no unit of time".to_owned()));
        };
        loop {
            let said = match self.answer_or_keep(at, "time in min", &Part::Answer)? {
                Heard::Said(said) => said,
                Heard::Flow(flow) => return Ok(flow),
            };
            let ran = if said == BEGIN {
                let limit = duration(wanted);
                let watch = Watch {
                    title: &step.title,
                    expected: Some(limit),
                    limit: Some(limit),
                };
                match self.desk.watch(&watch)? {
                    Watched::Reached => wanted,
                    Watched::Enter { said, .. } if stop_word(&said).is_some() => {
                        return self.stop(at, stop_word(&said).unwrap_or_default());
                    }
                    Watched::Enter { elapsed, .. } => whole_seconds(elapsed),
                    Watched::Interrupted => return self.leave("Ctrl-C"),
                    Watched::Closed => return self.leave("the terminal went away"),
                }
            } else {
                match quantity(&said, &unit, self.state.procedure.decimal) {
                    Ok(typed) => typed.quantity,
                    Err(e) => {
                        self.refuse(at, &said, &e.to_string())?;
                        continue;
                    }
                }
            };
            if let Some(flow) = self.give(at, &said, Said::Quantity(ran))? {
                return Ok(flow);
            }
        }
    }
}

/// The word that `said` names: its number, the word itself, or (where allowed) a beginning that fits only one.
fn pick(said: &str, words: &[(String, String)], whole: bool) -> Option<String> {
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
    let lower = said.to_lowercase();
    let mut begins = words
        .iter()
        .filter(|(w, _)| w.to_lowercase().starts_with(&lower));
    match (begins.next(), begins.next()) {
        (Some((word, _)), None) => Some(word.clone()),
        _ => None,
    }
}

/// A time as the clock counts; nought where it is below.
pub(super) fn duration(time: Quantity) -> Duration {
    let ms = crate::interlock::standing::milliseconds(time);
    Duration::from_millis(u64::try_from(ms).unwrap_or(0))
}

/// Whole seconds that ran.
fn whole_seconds(elapsed: Duration) -> Quantity {
    let seconds = i64::try_from(elapsed.as_secs()).unwrap_or(i64::MAX);
    Quantity {
        amount: Exact::whole(seconds),
        dimension: Dimension::TIME,
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
}
