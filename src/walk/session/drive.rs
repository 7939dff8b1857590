//! The walk itself: what is next, until the run is left or over.

use crate::interlock::answer_status::Next;
use crate::interlock::event::Outcome;
use crate::interlock::{AnswerStatus, Command};
use crate::procedure::ShopList;
use crate::report::page::{Page, Tone};
use crate::walk::error::WalkError;
use crate::walk::prompts::{Ending, Prompted};
use crate::walk::session::{Left, Session};
use crate::walk::store::accounts;

impl Session<'_> {
    /// Asks what is next until the run is left or over.
    pub(crate) fn run(&mut self) -> Result<Left, WalkError> {
        loop {
            // What is stored is insisted on where it is stored; a question that could not read the book is asked again.
            if let Some(left) = self.insist(None, Self::next_question)? {
                return Ok(left);
            }
        }
    }

    /// Asks what is next; how the run was left or ended by it.
    fn next_question(&mut self) -> Result<Option<Left>, WalkError> {
        match self.ask_next() {
            Ok(()) | Err(Ending::Next) => Ok(None),
            Err(Ending::Leave(left)) => Ok(Some(left)),
            Err(Ending::Failed(error)) => Err(error),
        }
    }

    fn ask_next(&mut self) -> Prompted<()> {
        self.finish_timers()?;
        match self.back_to.take() {
            Some(at)
                if self.state.out_of_service.is_none()
                    && self.state.answers.contains_key(&at)
                    && !self.state.is_history(&at) =>
            {
                self.question(&at, &AnswerStatus::Holds)
            }
            _ => match self.state.next(self.now()) {
                Next::Ask(at, standing) if self.is_timer_to_begin(&at, &standing) => {
                    self.begin_timer(&at, &standing)
                }
                Next::Ask(at, standing) => {
                    if self.stands(&at, &standing)? {
                        return Ok(());
                    }
                    self.question(&at, &standing)
                }
                other => self.other_than_a_question(other),
            },
        }
    }

    fn other_than_a_question(&mut self, next: Next) -> Prompted<()> {
        self.show_worked_out(false)?;
        match next {
            Next::Ask(at, standing) => self.question(&at, &standing),
            Next::WhyStopped(cut) => self.explain_open_stop(cut),
            Next::Cutting(at) => self.cut_under_way(&at),
            Next::OutOfService => self.out_of_service(),
            Next::Exhausted(at) => self.exhausted(&at),
            Next::Complete => Err(Ending::Leave(self.complete()?)),
        }
    }

    fn exhausted(&mut self, at: &crate::interlock::Instance) -> Prompted<()> {
        let text = "Every pass that this procedure allows is cut and skin is left. Something is wrong that another pass \
                    will not put right: the plate, its clamping, or a plane that was set wrong. `end` gives the run up; \
                    if the surface is clean after all, answer anew.";
        self.prompter
            .show(&Page::new().gap().toned(Tone::Stop, text))?;
        self.question(at, &AnswerStatus::Holds)
    }

    /// Where what was taken off is kept.
    fn account_words(&mut self) -> Result<String, WalkError> {
        let Some(plate) = self.state.chosen(ShopList::Plates) else {
            return Ok("No plate was chosen, so no account was written to.".to_owned());
        };
        if self.state.from_file {
            return Ok(format!(
                "Answers came from a file, so these cuts stand in the account of {} and do not count.",
                plate.id
            ));
        }
        let plate = plate.id.clone();
        let account = self.insist(None, |session| {
            Ok(accounts::stored_account(&session.book, &plate)?.account)
        })?;
        let Some(account) = account else {
            return Ok(format!("Nothing was written into an account of {plate}."));
        };
        Ok(format!(
            "The account of {0} now says {1} thick; the next run goes by that. `skimgate stock show {0}` shows it.",
            plate,
            self.show().both(account.thickness().into())
        ))
    }

    fn complete(&mut self) -> Result<Left, WalkError> {
        let surface = self.state.marks.surface();
        self.must_commit(&Command::End {
            outcome: Outcome::Complete,
        })?;
        if self.state.begun.rehearsal {
            let page = Page::new()
                .gap()
                .toned(
                    Tone::Good,
                    "All is answered. The rehearsal is complete and recorded as practice.",
                )
                .then(crate::report::touches::taken(&surface, &self.show()));
            self.prompter.show(&page)?;
            return Ok(Left::Complete);
        }
        let page = Page::new()
            .gap()
            .toned(
                Tone::Good,
                "All is answered. The run is complete and recorded.",
            )
            .then(crate::report::touches::taken(&surface, &self.show()))
            .toned(Tone::Look, self.account_words()?)
            .next(format!(
                "`skimgate record show {}` shows it again.",
                self.state.begun.run
            ));
        self.prompter.show(&page)?;
        Ok(Left::Complete)
    }
}
