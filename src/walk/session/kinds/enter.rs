//! Asking what goes between this program and the control: a value to enter and its read-back, and the program file.

use crate::interlock::Instance;
use crate::interlock::command::GivenAnswer;
use crate::procedure::Step;
use crate::procedure::model::Kind;
use crate::procedure::program_facts::ProgramFact;
use crate::report::page::{Page, Tone};
use crate::report::program_facts;
use crate::terminal::prompt::QuestionPart;
use crate::walk::error::WalkError;
use crate::walk::program;
use crate::walk::prompts::Prompted;
use crate::walk::session::Session;
use crate::walk::session::answer_step::answered;

impl Session<'_> {
    pub(crate) fn enter(&mut self, at: &Instance, step: &Step) -> Prompted<()> {
        let Kind::Enter(enter) = &step.kind else {
            return Ok(());
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
        // In both units: the control may work in the other one than this run.
        let page = Page::new().working(lines).next(format!(
            "Type {} into {}. Then read the readout and type what it shows.",
            show.alone(false).signed().both(value),
            enter.into
        ));
        self.prompter.show(&page)?;
        let unit = self.state.begun.unit.length();
        let prompt = format!("shows now, {}", unit.symbol);
        self.answer(at, &prompt, &QuestionPart::ReadBack, |session, said| {
            session.reads(said, &unit).map(GivenAnswer::Quantity)
        })
    }

    pub(crate) fn program(&mut self, at: &Instance) -> Prompted<()> {
        let text = if self.state.begun.rehearsal {
            "In practice the file is fingerprinted, not examined: what it does, you state in the questions that follow."
        } else {
            "The file is fingerprinted and examined."
        };
        self.prompter.show(&Page::new().toned(Tone::Quiet, text))?;
        self.completions.paths = Some(self.folder.clone());
        loop {
            let said = self.listen(at, "file", &QuestionPart::Answer)?;
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
            let study = self.examine(&found.content)?;
            let stored = study.as_ref().map(program::stored_examination);
            if let (Some(study), Some(stored)) = (&study, &stored) {
                let asked: Vec<ProgramFact> = match self.state.step(at).map(|s| &s.kind) {
                    Some(Kind::Program { says }) => says
                        .iter()
                        .filter(|a| {
                            let step = self.state.procedure.step(&a.step);
                            step.is_none_or(|s| s.from_program.is_none())
                        })
                        .map(|a| a.says)
                        .collect(),
                    _ => Vec::new(),
                };
                let setup = self.program_setup();
                let page = program_facts::page(study, stored, &setup, &self.state, &asked);
                self.prompter.show(&page)?;
            } else {
                let text = format!("{} bytes, {} lines.", found.bytes, found.lines);
                self.prompter.show(&Page::new().toned(Tone::Quiet, text))?;
            }
            let file = GivenAnswer::File {
                path: found.path.display().to_string(),
                fingerprint: found.fingerprint,
                bytes: found.bytes,
                examined: stored.map(Box::new),
            };
            if self.give(at, &said, answered(at, file))? {
                return Ok(());
            }
        }
    }
}
