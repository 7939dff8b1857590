//! Stopping: the stop word, why something was stopped, and whether a machine stayed as it was while its run was left.
//!
//! The stop is on disk before its cause is asked for, so that nothing is released meanwhile, and a terminal that dies in the
//! question leaves it to whoever takes the run up.

use crate::interlock::{AnswerStatus, Cause, Command, Instance, MachineContinuity, State};
use crate::report::page::{Choice, Page, Tone};
use crate::terminal::prompt::{Completions, Prompter, QuestionPart, Taken};
use crate::walk::error::WalkError;
use crate::walk::prompts::answers::TAKEN_UP;
use crate::walk::prompts::choices::none_of;
use crate::walk::prompts::commands::PromptCommand;
use crate::walk::prompts::kit;
use crate::walk::prompts::{Asker, BeforeRun, Ending, Prompted};
use crate::walk::session::{Left, Session};
use crate::walk::store::commit::STOP_IT;

/// What the prompt for a cause says.
const WHY: &str = "why stopped";

impl Session<'_> {
    /// The stop word, with what was typed after it: recorded at once, then the cause is asked.
    pub(crate) fn stop(&mut self, at: &Instance, words: &str) -> Ending {
        match self.record_stop(at, words) {
            Ok(()) => Ending::Leave(Left::Stopped),
            Err(error) => error.into(),
        }
    }

    fn record_stop(&mut self, at: &Instance, words: &str) -> Result<(), WalkError> {
        let reason = if words.is_empty() { "stop" } else { words };
        let cause = Cause::named(words.trim()).unwrap_or(Cause::NotSaid);
        let stop = Command::Stop {
            cause,
            reason: reason.to_owned(),
        };
        self.must_commit(&stop)?;
        self.prompter
            .show(&Page::new().toned(Tone::Stop, STOP_IT))?;
        if self.state.open_stop.is_none() {
            self.prompter.show(&because(cause))?;
        } else {
            match self.why_stopped(at) {
                Ok(()) => {}
                Err(Ending::Failed(error)) => return Err(error),
                // The cause is asked when the run is taken up.
                Err(Ending::Next | Ending::Leave(_)) => return Ok(()),
            }
        }
        let text = "`skimgate walk` takes the run up again when the cause is gone.";
        Ok(self.prompter.show(&Page::new().next(text))?)
    }

    /// A stop whose cause nobody said before the run was left.
    pub(crate) fn explain_open_stop(&mut self, cut: Option<Instance>) -> Prompted<()> {
        let at = match cut {
            Some(at) => at,
            None => self.open_question()?,
        };
        let text = "The machine was stopped, and nobody has said why.";
        self.prompter
            .show(&Page::new().gap().toned(Tone::Look, text))?;
        self.why_stopped(&at)
    }

    /// The question that stands open, for what is asked before it.
    pub(crate) fn open_question(&self) -> Result<Instance, WalkError> {
        let standings = self.state.answer_statuses(self.now());
        standings
            .iter()
            .find(|(_, standing)| *standing != AnswerStatus::Holds)
            .or(standings.first())
            .map(|(place, _)| place.instance())
            .ok_or_else(|| WalkError::Fault("there is no step to ask at".to_owned()))
    }

    /// Asks why it was stopped, where that is not said yet.
    pub(crate) fn why_stopped(&mut self, at: &Instance) -> Prompted<()> {
        if self.state.open_stop.is_none() {
            return Ok(());
        }
        let choices = Cause::CHOICES.iter().enumerate();
        let choices = choices.map(|(i, c)| Choice::new(i + 1, c.word(), c.meaning()));
        let page = Page::new()
            .next("Why was it stopped? Words may follow after a comma.")
            .options(choices);
        self.prompter.show(&page)?;
        let mut asker = AtStop {
            session: self,
            at,
            page,
        };
        let (cause, said) = kit::choice(
            &mut asker,
            WHY,
            &QuestionPart::Cause,
            |said| Cause::read_with_words(said).map(|(cause, words)| (cause, words.to_owned())),
            |said| none_of("causes", said, &Cause::CHOICES.map(Cause::word)),
        )?;
        self.must_commit(&Command::ExplainStop { cause, said })?;
        self.prompter.taken(Taken::Otherwise)?;
        Ok(self.prompter.show(&because(cause))?)
    }

    /// Leaves while the cause of a stop is not said yet.
    pub(crate) fn leave_unexplained(&mut self, how: &str) -> Result<(), WalkError> {
        if self.state.left.is_none() {
            self.pause(how)?;
        }
        let page = Page::new()
            .gap()
            .toned(Tone::Strong, "The stop is saved. Cycle start is held.")
            .next("`skimgate walk` takes the run up again and asks why it was stopped.");
        Ok(self.prompter.show(&page)?)
    }
}

/// The question why something was stopped: only leaving and help work there, since the stop is recorded and nothing else is
/// answered before its cause.
struct AtStop<'s, 'a> {
    session: &'s mut Session<'a>,
    at: &'s Instance,
    page: Page,
}

impl Asker for AtStop<'_, '_> {
    fn line(&mut self, prompt: &str, part: &QuestionPart) -> Prompted<String> {
        loop {
            let causes = Cause::CHOICES.iter().map(|cause| cause.word());
            let completions = Completions::of(causes.chain(["leave"]));
            let said = self.session.line(self.at, prompt, part, completions)?;
            match PromptCommand::read(&said) {
                Some((PromptCommand::Leave, _)) => return Err(self.session.leave("left")),
                Some((PromptCommand::Help, "")) => {}
                _ if said.is_empty() => {}
                _ => return Ok(said),
            }
            let text = "The stop is recorded. Type the number or the words that come nearest. Where the machine may no longer know its position, home and heights are asked again.";
            let page = self.page.clone().toned(Tone::Look, text);
            self.session.prompter.show(&page)?;
            self.session.prompter.refused(text)?;
        }
    }

    fn refuse(&mut self, typed: &str, why: &str) -> Result<(), WalkError> {
        self.session.refuse(self.at, typed, why)
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

/// Asks whether the machine stayed as it was while the run was left; none where nothing could be lost.
pub(crate) fn ask_continuity(
    prompter: &mut dyn Prompter,
    state: &State,
) -> Prompted<Option<MachineContinuity>> {
    if !state.has_positions() {
        return Ok(None);
    }
    let choices = MachineContinuity::ALL.iter().enumerate();
    let choices = choices.map(|(i, c)| Choice::new(i + 1, c.word(), ""));
    let page = Page::new()
        .next("The machine since then: did it keep its power, and did nobody move it?")
        .options(choices);
    prompter.show(&page)?;
    kit::choice(
        &mut BeforeRun::new(prompter, TAKEN_UP)
            .offering(MachineContinuity::ALL.map(MachineContinuity::word)),
        "machine since",
        &QuestionPart::Kept,
        MachineContinuity::read,
        |said| {
            none_of(
                "answers",
                said,
                &MachineContinuity::ALL.map(MachineContinuity::word),
            )
        },
    )
    .map(Some)
}
