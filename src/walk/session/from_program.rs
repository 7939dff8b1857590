//! Steps that the examination of the program answers: taken without a question, or held where the program is against
//! what they ask for; and the findings of the program, shown on request.

use crate::interlock::examined::Found;
use crate::interlock::{AnswerStatus, Command, Instance, decide};
use crate::procedure::Step;
use crate::program::setup::Setup;
use crate::report::examined;
use crate::report::page::{Page, Tone};
use crate::terminal::prompt::QuestionPart;
use crate::walk::error::WalkError;
use crate::walk::program;
use crate::walk::prompts::Prompted;
use crate::walk::session::Session;
use crate::walk::session::kinds::work_out::typed_behind;

impl Session<'_> {
    /// Takes the answer of a step from the program. Shown only where a limit or a reason stands in the way.
    pub(super) fn take_from_program(
        &mut self,
        at: &Instance,
        standing: &AnswerStatus,
        step: &Step,
    ) -> Prompted<()> {
        let command = |accept| Command::TakeFromProgram {
            at: at.clone(),
            accept,
        };
        if decide(&self.state, self.now(), &command(None)).is_err() {
            self.show_place(at, standing, step)?;
            let text = format!("Read in the program: {}.", self.found_words(at));
            self.prompter.show(&Page::new().toned(Tone::Strong, text))?;
        }
        if self.give(at, "read in the program", command)? {
            return Ok(());
        }
        let mut steps: Vec<String> = self
            .state
            .program_step()
            .map(str::to_owned)
            .into_iter()
            .collect();
        for id in typed_behind(&self.state, at, step) {
            if !steps.contains(&id) {
                steps.push(id);
            }
        }
        let back: Vec<String> = steps.iter().map(|id| format!("`back {id}`")).collect();
        let page = Page::new()
            .toned(
                Tone::Stop,
                "This holds the run. It is read in the program, not typed.",
            )
            .next(format!(
                "Correct the program and give it again, or put right what it is held against: {}. Or `leave`, `end`.",
                back.join(", ")
            ));
        self.prompter.show(&page)?;
        let said = self.listen(at, "back STEP", &QuestionPart::Answer)?;
        let why = "what is read in the program cannot be typed; go back and give another file";
        Ok(self.refuse(at, &said, why)?)
    }

    /// What was found in the program for a step, in words.
    fn found_words(&self, at: &Instance) -> String {
        let show = self.state.show_at(at);
        match self.state.fact_for(at) {
            Some((_, Some(Found::Word(word)))) => word.clone(),
            Some((_, Some(Found::Quantity(q)))) => show.both(*q),
            Some((fact, Some(Found::Against { .. }))) => {
                format!("{} not as it should be", fact.key())
            }
            Some((fact, _)) => fact.key().to_owned(),
            None => String::new(),
        }
    }

    /// Why a step that the program answers is asked after all; nothing for other steps, and in a rehearsal.
    pub(super) fn asked_singly(&self, at: &Instance) -> Page {
        let found = self.state.fact_for(at).and_then(|(_, found)| found);
        match found.and_then(Found::doubt_words) {
            Some(why) => Page::new().toned(
                Tone::Look,
                format!("The examination cannot vouch for this: {why}. Read it in the program."),
            ),
            None => Page::new(),
        }
    }

    /// Shows everything that the examination found in the program of the run.
    pub(super) fn show_findings(&mut self) -> Result<(), WalkError> {
        let path = self.state.program().map(|(_, path, _)| path.to_owned());
        let read = path.and_then(|path| program::find(&self.folder, &path).ok());
        let study = match read {
            Some(file) => self.examine(&file.content)?,
            None => None,
        };
        let page = match study {
            Some(study) => {
                let lengths = examined::lengths_of(&study, self.state.begun.unit);
                examined::page("The program".to_owned(), &study, lengths)
            }
            None => Page::new().toned(Tone::Look, "There is no examined program yet."),
        };
        Ok(self.prompter.show(&page)?)
    }

    /// What the program of the run is judged against.
    pub(super) fn program_setup(&self) -> Setup {
        program::setup::of_run(&self.state).0
    }
}
