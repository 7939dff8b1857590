//! Giving an answer: what a refusal does, what a reason may make pass, what is shown once it is recorded.

use crate::interlock::command::GivenAnswer;
use crate::interlock::{Command, Instance, Refusal};
use crate::procedure::ShopList;
use crate::procedure::model::Kind;
use crate::quantity::Length;
use crate::report::page::{Page, Tone};
use crate::terminal::prompt::{QuestionPart, Taken};
use crate::walk::error::WalkError;
use crate::walk::prompts::commands::CANCEL;
use crate::walk::prompts::kit::{self, AtStep};
use crate::walk::prompts::{Ending, Prompted};
use crate::walk::session::Session;
use crate::walk::session::elsewhere;
use crate::walk::store::accounts;
use crate::walk::store::commit::Committed;
use crate::walk::store::other_runs::is_choice_of_plate;

impl Session<'_> {
    /// Asks until an answer is recorded. An error of `read` says why a line is none.
    pub(crate) fn answer(
        &mut self,
        at: &Instance,
        prompt: &str,
        part: &QuestionPart,
        read: impl Fn(&Self, &str) -> Result<GivenAnswer, String>,
    ) -> Prompted<()> {
        loop {
            let said = self.listen(at, prompt, part)?;
            match read(self, &said) {
                Ok(answer) => {
                    if self.give(at, &said, answered(at, answer))? {
                        return Ok(());
                    }
                }
                Err(why) => self.refuse(at, &said, &why)?,
            }
        }
    }

    /// Commits what was answered, with a reason where one makes it pass; whether it was recorded. Where it was refused the
    /// question stands.
    pub(crate) fn give(
        &mut self,
        at: &Instance,
        typed: &str,
        command: impl Fn(Option<String>) -> Command,
    ) -> Prompted<bool> {
        let refusal = match self.commit(&command(None))? {
            Committed::Stored(events) => return self.accepted(typed, &events).map(|()| true),
            Committed::Refused(refusal) => refusal,
        };
        if let Refusal::OutOfOrder { next, .. } = &refusal {
            // Something lapsed while this question was open; it is asked first, and this one after it.
            let mut why = self.lapsed(next);
            if self.state.answers.contains_key(at) {
                why = format!(
                    "{why}; what was answered here stays until `back {}`",
                    at.step
                );
            }
            self.refuse(at, typed, &why)?;
            return Err(Ending::Next);
        }
        if !self.can_accept(at, &refusal) {
            self.refuse(at, typed, &refusal.words(&self.state.show_at(at)))?;
            return Ok(false);
        }
        let Some(reason) = self.reason(at, &refusal)? else {
            return Ok(false);
        };
        match self.commit(&command(Some(reason)))? {
            Committed::Stored(events) => self.accepted(typed, &events).map(|()| true),
            Committed::Refused(refusal) => {
                self.refuse(at, typed, &refusal.words(&self.state.show_at(at)))?;
                Ok(false)
            }
        }
    }

    /// Why the question at hand cannot be answered: an earlier one no longer holds.
    pub(crate) fn lapsed(&self, next: &Instance) -> String {
        let title = self.state.step(next).map_or("", |s| s.title.as_str());
        format!("`{title}` lapsed while this was open; it is asked first")
    }

    fn can_accept(&self, at: &Instance, refusal: &Refusal) -> bool {
        let shortened = if let Some(Kind::Wait {
            may_be_shortened, ..
        }) = self.state.step(at).map(|s| &s.kind)
        {
            *may_be_shortened
        } else {
            true
        };
        refusal.can_be_accepted() && shortened
    }

    /// Asks for the reason to accept a value outside a soft limit; none where it is not accepted.
    pub(crate) fn reason(&mut self, at: &Instance, refusal: &Refusal) -> Prompted<Option<String>> {
        let words = refusal.words(&self.state.show_at(at));
        let next = format!(
            "Type the reason for which {} accepts it, or `no` to answer again.",
            self.state.operator
        );
        let look = |text: String| Page::new().toned(Tone::Look, text);
        let page = match refusal {
            Refusal::AlsoInUse { what, others } => {
                elsewhere::page(what, others).next(elsewhere::NEXT)
            }
            Refusal::Program(_) => look(sentence(&words)).next(next),
            _ => look(format!("Out of the expected range: {words}.")).next(next),
        };
        self.prompter.show(&page)?;
        let mut asker = AtStep { session: self, at };
        let reason = kit::until(&mut asker, "reason", &QuestionPart::Accept, |said| {
            match said {
                said if is_no(said) => Ok(None),
                // The right number typed here would pass as the reason for the wrong one.
                said if reads_as_number(said) => Err(elsewhere::NUMBER.to_owned()),
                said => Ok(Some(said.to_owned())),
            }
        })?;
        if reason.is_none() {
            self.prompter.refused("not accepted")?;
        }
        Ok(reason)
    }

    /// Shows what was recorded, where it is not what was typed, and what became invalid.
    fn accepted(&mut self, typed: &str, events: &[crate::interlock::Event]) -> Prompted<()> {
        self.prompter.taken(Taken::Recorded(events))?;
        let page = crate::report::words::recorded(events, typed, &self.state);
        self.prompter.show(&page)?;
        self.compare(events)?;
        if events.iter().any(|e| self.chooses_plate(e)) {
            self.know_plate()?;
        }
        self.hold_against_account(events)
    }

    fn chooses_plate(&self, event: &crate::interlock::Event) -> bool {
        let crate::interlock::Event::Answered { at, .. } = event else {
            return false;
        };
        is_choice_of_plate(&self.state, at)
    }

    /// What the account says of the plate just chosen rules over the shop file from here on, and is said. An answers
    /// file stands for no plate on a machine, so none is asked for it.
    fn know_plate(&mut self) -> Result<(), WalkError> {
        if !self.account_counts() {
            return Ok(());
        }
        let Some(plate) = self.state.chosen(ShopList::Plates).cloned() else {
            return Ok(());
        };
        let known = self.insist(None, |session| accounts::known(&session.book, &plate.id))?;
        let Some(known) = known else {
            return Ok(());
        };
        let show = self.show();
        let length = |l: Length| show.both(l.into());
        let shop = plate.length("thickness").unwrap_or_default();
        let text = format!(
            "The account of {} rules: {} thick, steel at {}. The shop file says {} thick.",
            plate.id,
            length(known.thickness),
            length(known.steel_depth),
            length(shop)
        );
        let apart = shop
            .minus(known.thickness)
            .map(Length::abs)
            .unwrap_or_default();
        self.must_commit(&Command::KnowPlate(known))?;
        let mut page = Page::new().toned(Tone::Plain, text);
        // Half a tenth is what a micrometer at other places of a plate differs by (common practice, no source).
        if apart.counts() > Length::COUNTS_PER_MM / 20 {
            let text = format!(
                "They differ by {}. Measure the plate where it is thinnest; if the account is wrong, leave and set it right with `skimgate stock measure {} THICKNESS`.",
                length(apart),
                plate.id
            );
            page = page.toned(Tone::Look, text);
        }
        Ok(self.prompter.show(&page)?)
    }
}

/// Whether a line gives up what was begun.
pub(crate) fn is_no(said: &str) -> bool {
    said.eq_ignore_ascii_case("no") || said.eq_ignore_ascii_case(CANCEL)
}

/// The command that gives an answer, with or without a reason to accept it.
pub(crate) fn answered(at: &Instance, said: GivenAnswer) -> impl Fn(Option<String>) -> Command {
    let at = at.clone();
    move |accept| Command::Answer {
        at: at.clone(),
        said: said.clone(),
        accept,
    }
}

/// Words as a sentence of their own.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string());
    format!("{}{}.", first.unwrap_or_default(), letters.as_str())
}

/// Whether a text begins as numbers do.
pub(crate) fn reads_as_number(text: &str) -> bool {
    text.trim_start_matches(['-', '+', '.', ',', ' ', '\u{2212}'])
        .starts_with(|c: char| c.is_ascii_digit())
}
