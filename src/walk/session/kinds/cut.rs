//! Cycle start: the release, the start, the wait beside the machine, and how it ended.

use crate::clock;
use crate::interlock::gate::{self, Cleared, PracticeCleared, Requester};
use crate::interlock::{AnswerStatus, Cause, Command, CutEnd, Instance, Refusal};
use crate::procedure::formula::Formula;
use crate::report::page::{Choice, Page, Tone};
use crate::terminal::prompt::{QuestionPart, Taken, Wait, WaitEnd};
use crate::walk::error::WalkError;
use crate::walk::prompts::Prompted;
use crate::walk::prompts::choices::pick;
use crate::walk::prompts::commands::PromptCommand;
use crate::walk::prompts::kit::{self, AtStep};
use crate::walk::session::Session;
use crate::walk::session::kinds::wait::duration;
use crate::walk::session::pages;
use crate::walk::store::commit::Committed;
use std::time::Duration;

/// What the operator types once cycle start is pressed.
const STARTED: &str = "started";

impl Session<'_> {
    /// Releases cycle start, and waits until the operator has pressed it.
    pub(crate) fn cut(&mut self, at: &Instance, expected: Option<&Formula>) -> Prompted<()> {
        loop {
            if self.program_invalidated()? || self.signature_invalidated()? {
                return Ok(());
            }
            if self.reads_file() {
                return self.assume_cut(at, expected);
            }
            if let Some(refusal) = self.release()? {
                return self.held(at, &refusal);
            }
            let said = self.listen(at, STARTED, &QuestionPart::Started)?;
            if !said.eq_ignore_ascii_case(STARTED) {
                let why = format!(
                    "type `{STARTED}` once cycle start is pressed, or a word such as stop or leave"
                );
                self.refuse(at, &said, &why)?;
                continue;
            }
            let start = self.start()?;
            match self.commit(&start)? {
                Committed::Stored(_) => return self.watch_cut(at, expected),
                Committed::Refused(refusal) => {
                    self.refuse(at, &said, &refusal.words(&self.show()))?;
                    let text = "If the machine is running, stop it at the machine: this start was not released.";
                    self.prompter.show(&Page::new().toned(Tone::Stop, text))?;
                }
            }
        }
    }

    /// The start of the cut that was released.
    fn start(&mut self) -> Result<Command, WalkError> {
        let program = self.seen();
        if self.state.begun.rehearsal {
            return Ok(Command::PracticeStart { program });
        }
        let people = self.people()?;
        Ok(Command::Start { program, people })
    }

    /// Goes on with answers from a file: nothing is released, nobody presses cycle start, and the cut is assumed.
    fn assume_cut(&mut self, at: &Instance, expected: Option<&Formula>) -> Prompted<()> {
        let command = Command::AssumeCut {
            program: self.seen(),
            people: self.people()?,
        };
        if let Committed::Refused(refusal) = self.commit(&command)? {
            return self.held(at, &refusal);
        }
        let text = "HELD: answers come from a file, so cycle start is not released. The cut is assumed, to go on with the walk.";
        self.prompter.show(&Page::new().toned(Tone::Stop, text))?;
        self.watch_cut(at, expected)
    }

    /// Asks for the release, of the machine or of the practice mill, and shows it. The gate looks once more; only the
    /// permission it makes can be shown as a release. None where it is released, else why not.
    fn release(&mut self) -> Result<Option<Refusal>, WalkError> {
        let program = self.seen();
        if self.state.begun.rehearsal {
            let command = Command::PracticeRelease { program };
            if let Committed::Refused(refusal) = self.commit(&command)? {
                return Ok(Some(refusal));
            }
            return match gate::practice_start(&self.state, self.now(), self.seen()) {
                Ok(permitted) => {
                    self.prompter.practise(&permitted);
                    self.prompter.show(&self.practice_released(&permitted))?;
                    Ok(None)
                }
                Err(holds) => Ok(Some(Refusal::Held(holds))),
            };
        }
        let people = self.people()?;
        let command = Command::Release { program, people };
        if let Committed::Refused(refusal) = self.commit(&command)? {
            return Ok(Some(refusal));
        }
        // Read anew: the release may have been stored at a later try, over another program or list.
        let (program, people) = (self.seen(), self.people()?);
        match gate::start(&self.state, self.now(), program, &people, Requester::Holder) {
            Ok(cleared) => {
                let page = self.released(&cleared);
                self.prompter.show(&page)?;
                Ok(None)
            }
            Err(holds) => Ok(Some(Refusal::Held(holds))),
        }
    }

    /// What the release of the practice mill looks like: never like the real one.
    fn practice_released(&self, permitted: &PracticeCleared) -> Page {
        let title = self
            .state
            .step(permitted.at())
            .map_or("", |s| s.title.as_str());
        Page::new()
            .toned(
                Tone::Look,
                format!("PRACTICE MILL ONLY: {title} may be tried, once, by {}. No real machine is cleared.", self.state.operator),
            )
            .text("Everything asked is recorded and nothing known here holds the start. Look round once more yourself.")
            .next(format!(
                "Press cycle start on the practice mill: `m start`. Then type `{STARTED}`."
            ))
    }

    /// What a release looks like. Takes the permission itself, so that nothing else can print it.
    fn released(&mut self, cleared: &Cleared) -> Page {
        // A release is news each time, also where the same was shown before.
        self.status_shown.clear();
        self.status(cleared.at())
            .text(
                "Everything asked is recorded and nothing known here holds the start. skimgate cannot see or stop the machine: look once more yourself. You decide.",
            )
            .next(format!(
                "Press cycle start on the machine, then type `{STARTED}`. Stay with it, hand on feed hold."
            ))
    }

    fn held(&mut self, at: &Instance, refusal: &Refusal) -> Prompted<()> {
        let why = refusal.words(&self.show());
        let page = self.status(at).toned(Tone::Stop, why);
        self.prompter.show(&page)?;
        // Where a question would clear it, that question is next; else only the person can.
        let next = self.state.next(self.now());
        if !matches!(&next, crate::interlock::answer_status::Next::Ask(of, _) if of == at) {
            return Ok(());
        }
        self.listen(at, "held", &QuestionPart::Other("held".to_owned()))
            .map(drop)
    }

    /// The wait beside the machine.
    fn watch_cut(&mut self, at: &Instance, expected: Option<&Formula>) -> Prompted<()> {
        let expected = expected.and_then(|f| self.state.env(at).quantity(f).ok());
        let title = pages::pass_name(&self.state, at).unwrap_or_else(|| "cut".to_owned());
        let text = "Cutting. Press Enter when it has ended, or type `stop` if you stopped it.";
        self.prompter.show(&Page::new().next(text))?;
        let mut watch = Wait {
            title: &title,
            expected: self.expected().or_else(|| expected.map(duration)),
            limit: None,
            before: Duration::ZERO,
        };
        loop {
            return match self.prompter.watch(&watch)? {
                WaitEnd::Enter { said, elapsed } => match PromptCommand::read(&said) {
                    Some((PromptCommand::Stop, words)) => self.cut_stopped(at, words),
                    // Asking for help says nothing of the cut: it goes on, and so does its bar.
                    Some((PromptCommand::Help, "")) => {
                        let page = pages::help(&self.state, at);
                        self.prompter.show(&page)?;
                        watch.before = elapsed;
                        continue;
                    }
                    _ => self.end_cut(at),
                },
                WaitEnd::Reached => self.end_cut(at),
                WaitEnd::Interrupted => Err(self.leave("Ctrl-C during a cut")),
                WaitEnd::Closed => Err(self.leave("the terminal went away during a cut")),
            };
        }
    }

    /// Asks how the cut under way ended.
    pub(crate) fn end_cut(&mut self, at: &Instance) -> Prompted<()> {
        let choices = CutEnd::ALL
            .iter()
            .enumerate()
            .map(|(i, end)| Choice::new(i + 1, end.word(), end.meaning()));
        let page = Page::new().next("How did the cut end?").options(choices);
        self.prompter.show(&page)?;
        let words = CutEnd::ALL.map(|end| (end.word().to_owned(), String::new()));
        self.offered = words.iter().map(|(word, _)| word.clone()).collect();
        self.completions.words.clone_from(&self.offered);
        self.may_be_recalled = false;
        let mut asker = AtStep { session: self, at };
        let word = kit::until(&mut asker, "how it ended", &QuestionPart::Ended, |said| {
            pick(said, &words, true, "answers")
        })?;
        let how = CutEnd::ALL.into_iter().find(|end| end.word() == word);
        let how = how.ok_or_else(|| WalkError::Fault(format!("no cut ends with {word}")))?;
        if how == CutEnd::Stopped {
            return self.cut_stopped(at, "");
        }
        let odd = self.odd_time(at, how);
        let compared = self.compared_with_expected(how);
        let events = self.must_commit(&Command::EndCut {
            how,
            cause: Cause::NotAsked,
            said: String::new(),
        })?;
        self.prompter.taken(Taken::Otherwise)?;
        let page = crate::report::words::recorded(&events, "", &self.state);
        self.prompter.show(&page)?;
        if let Some(compared) = compared {
            self.prompter
                .show(&Page::new().toned(Tone::Quiet, compared))?;
        }
        match odd {
            Some(odd) => self.explain(at, &odd),
            None => Ok(()),
        }
    }

    /// Records that the cut was stopped, then asks why.
    fn cut_stopped(&mut self, at: &Instance, words: &str) -> Prompted<()> {
        let end = Command::EndCut {
            how: CutEnd::Stopped,
            cause: Cause::named(words.trim()).unwrap_or(Cause::NotSaid),
            said: words.to_owned(),
        };
        let events = self.must_commit(&end)?;
        self.prompter.taken(Taken::Otherwise)?;
        let page = crate::report::words::recorded(&events, "", &self.state);
        self.prompter.show(&page)?;
        self.why_stopped(at)
    }

    /// A cut that was under way when the run was left.
    pub(crate) fn cut_under_way(&mut self, at: &Instance) -> Prompted<()> {
        let Some(step) = self.state.step(at).cloned() else {
            return Err(WalkError::Fault(format!("there is no step {at}")).into());
        };
        self.show_place(at, &AnswerStatus::Open, &step)?;
        let since = self.state.cutting.as_ref().map(|c| c.since);
        let since = since.map_or(String::new(), |at| format!(", begun {}", clock::local(at)));
        let page = Page::new()
            .toned(
                Tone::Look,
                format!(
                    "A cut is under way as far as the record knows{since}: cycle start was pressed, and nobody has said how it ended."
                ),
            )
            .toned(
                Tone::Look,
                "Look at the machine. If it still runs, stay with it, hand on feed hold, and answer when it stands.",
            );
        self.prompter.show(&page)?;
        self.left_meanwhile = true;
        let flow = self.end_cut(at);
        self.left_meanwhile = false;
        flow
    }
}
