//! Stopping: the stop word, why something was stopped, and whether a machine stayed as it was while its run was left.
//!
//! The stop is on disk before its cause is asked for, so that nothing is released meanwhile, and a terminal that dies in the
//! question leaves it to whoever takes the run up.

use super::answers::TAKEN_UP;
use super::before;
use super::error::WalkError;
use super::session::{Flow, Left, Session};
use crate::desk::{Ask, Desk, Part, Reply, Taken};
use crate::interlock::{Cause, Command, Instance, Kept, Standing, State};
use crate::report::page::{Choice, Page, Tone};

/// What to do first, whatever is recorded.
pub(super) const STOP_IT: &str =
    "Stop the machine at the machine: feed hold, or the emergency stop. skimgate cannot stop it.";

/// What the prompt for a cause says.
const WHY: &str = "why stopped";

impl Session<'_> {
    /// The stop word, with what was typed after it: recorded at once, then the cause is asked.
    pub(super) fn stop(&mut self, at: &Instance, words: &str) -> Result<Flow, WalkError> {
        let reason = if words.is_empty() { "stop" } else { words };
        let cause = Cause::named(words.trim()).unwrap_or(Cause::NotSaid);
        let stop = Command::Stop {
            cause,
            reason: reason.to_owned(),
        };
        self.must_carry_with(Some(STOP_IT), &stop)?;
        self.desk.show(&Page::new().toned(Tone::Stop, STOP_IT))?;
        if self.state.open_stop.is_none() {
            self.desk.show(&because(cause))?;
        } else if self.why_stopped(at)?.is_some() {
            return Ok(Flow::Leave(Left::Stopped));
        }
        let text = "`skimgate walk` takes the run up again when the cause is gone.";
        self.desk.show(&Page::new().next(text))?;
        Ok(Flow::Leave(Left::Stopped))
    }

    /// A stop whose cause nobody said before the run was left.
    pub(super) fn explain_open_stop(&mut self, cut: Option<Instance>) -> Result<Flow, WalkError> {
        let at = match cut {
            Some(at) => at,
            None => self.open_question()?,
        };
        let text = "The machine was stopped, and nobody has said why.";
        self.desk.show(&Page::new().gap().toned(Tone::Look, text))?;
        Ok(self.why_stopped(&at)?.unwrap_or(Flow::Next))
    }

    /// The question that stands open, for what is asked before it.
    pub(super) fn open_question(&self) -> Result<Instance, WalkError> {
        let standings = self.state.standings(self.now());
        standings
            .iter()
            .find(|(_, standing)| *standing != Standing::Holds)
            .or(standings.first())
            .map(|(place, _)| place.instance())
            .ok_or_else(|| WalkError::Fault("there is no step to ask at".to_owned()))
    }

    /// Asks why it was stopped, where that is not said yet; how the walk is left, if it is left instead.
    pub(super) fn why_stopped(&mut self, at: &Instance) -> Result<Option<Flow>, WalkError> {
        if self.state.open_stop.is_none() {
            return Ok(None);
        }
        let choices = Cause::CHOICES.iter().enumerate();
        let choices = choices.map(|(i, c)| Choice::new(i + 1, c.word(), c.meaning()));
        let page = Page::new()
            .next("Why was it stopped? Words may follow after a comma.")
            .options(choices);
        self.desk.show(&page)?;
        loop {
            let said = match self.desk.ask(&Ask::new(WHY, &at.step, Part::Cause))? {
                Reply::Said(said) => said.trim().to_owned(),
                Reply::Interrupted => return self.leave_unexplained("Ctrl-C").map(Some),
                Reply::Closed => return self.leave_unexplained("the terminal went away").map(Some),
            };
            match said.to_lowercase().as_str() {
                "leave" => return self.leave_unexplained("left").map(Some),
                "" | "?" | "help" | "why" => {
                    let text = "The stop is recorded. Type the number or the words that come nearest. Where the machine may no longer know its position, home and heights are asked again.";
                    self.desk.show(&page.clone().toned(Tone::Look, text))?;
                    self.desk.refused(text)?;
                    continue;
                }
                _ => {}
            }
            let Some((cause, words)) = Cause::read_with_words(&said) else {
                let words = Cause::CHOICES.map(Cause::word).join(", ");
                let why =
                    format!("`{said}` is none of the causes; type a number or one of: {words}");
                self.refuse(at, &said, &why)?;
                continue;
            };
            let said = words.to_owned();
            self.must_carry(&Command::ExplainStop { cause, said })?;
            self.desk.taken(Taken::Otherwise)?;
            self.desk.show(&because(cause))?;
            return Ok(None);
        }
    }

    /// Leaves while the cause of a stop is not said yet.
    fn leave_unexplained(&mut self, how: &str) -> Result<Flow, WalkError> {
        if self.state.left.is_none() {
            self.pause(how)?;
        }
        let page = Page::new()
            .gap()
            .toned(Tone::Strong, "The stop is saved. Cycle start is held.")
            .next("`skimgate walk` takes the run up again and asks why it was stopped.");
        self.desk.show(&page)?;
        Ok(Flow::Leave(Left::Saved))
    }
}

/// What a stop means for the answers given, once its cause is said.
fn because(cause: Cause) -> Page {
    let text = if cause.loses_position() {
        "Recorded. What depends on the machine's position is asked again."
    } else {
        "Recorded. What was signed must be signed again."
    };
    Page::new().toned(Tone::Stop, text)
}

/// Asks whether the machine stayed as it was while the run was left; nothing is asked where nothing could be lost. The outer
/// `None` when the person leaves.
#[allow(clippy::option_option)]
pub(super) fn kept(desk: &mut dyn Desk, state: &State) -> Result<Option<Option<Kept>>, WalkError> {
    if !state.has_positions() {
        return Ok(Some(None));
    }
    let choices = Kept::ALL.iter().enumerate();
    let choices = choices.map(|(i, kept)| Choice::new(i + 1, kept.word(), ""));
    let page = Page::new()
        .next("The machine since then: did it keep its power, and did nobody move it?")
        .options(choices);
    desk.show(&page)?;
    loop {
        let Some(said) = before::ask(desk, &Ask::new("machine since", TAKEN_UP, Part::Kept))?
        else {
            return Ok(None);
        };
        if let Some(kept) = Kept::read(&said) {
            desk.taken(Taken::Otherwise)?;
            return Ok(Some(Some(kept)));
        }
        let words = Kept::ALL.map(Kept::word).join(", ");
        let why = format!("`{said}` is none of the answers; type a number or one of: {words}");
        desk.show(&Page::new().toned(Tone::Stop, format!("Not taken: {why}.")))?;
        desk.refused(&why)?;
    }
}
