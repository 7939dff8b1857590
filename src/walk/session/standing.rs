//! Answers of earlier runs that stand: offered once on one page, where the first of them is due, and recorded each at its
//! own place in the order of the steps.
//!
//! What is not decided when the page is shown (a cutter, a program) is a condition that the page states. Where it turns out
//! otherwise, the step is asked. So one page is enough, however early it comes.

use crate::clock;
use crate::fingerprint::Fingerprint;
use crate::interlock::standing::{Offer, offers};
use crate::interlock::{AnswerStatus, Command, Instance, Refusal};
use crate::report;
use crate::report::page::{Page, Tone};
use crate::report::standing::UNCHANGED;
use crate::terminal::prompt::{Completions, QuestionPart, Taken};
use crate::walk::error::WalkError;
use crate::walk::prompts::Prompted;
use crate::walk::prompts::kit::{self, Asker};
use crate::walk::session::Session;
use crate::walk::store::commit::Committed;
use crate::walk::store::standing::{self, Earlier};
use std::collections::BTreeSet;

/// The word that asks everything anew.
const NONE: &str = "none";

/// What a session knows of earlier answers.
#[derive(Debug, Default)]
pub(crate) struct Standing {
    /// What the book says of them, once it was read.
    earlier: Option<Earlier>,
    /// The steps whose earlier answers were taken over on the page; `None` until the page was answered.
    agreed: Option<BTreeSet<String>>,
}

/// What is typed on the page.
enum Said {
    Unchanged,
    None,
    Anew(BTreeSet<usize>),
}

/// Asks on the page. A slip there says nothing about any step, so it is shown and not recorded as an answer refused.
struct AtPage<'s, 'a> {
    session: &'s mut Session<'a>,
    /// The first step on the page.
    at: &'s Instance,
}

impl Asker for AtPage<'_, '_> {
    fn line(&mut self, prompt: &str, part: &QuestionPart) -> Prompted<String> {
        self.session.listen(self.at, prompt, part)
    }

    fn refuse(&mut self, _typed: &str, why: &str) -> Result<(), WalkError> {
        let page = Page::new().toned(Tone::Stop, format!("Not taken: {why}."));
        self.session.prompter.show(&page)?;
        Ok(self.session.prompter.refused(why)?)
    }
}

impl Session<'_> {
    /// Whether an answer of an earlier run stands at `at`; it is then recorded.
    pub(crate) fn stands(&mut self, at: &Instance, standing: &AnswerStatus) -> Prompted<bool> {
        let has_rule = self.state.step(at).is_some_and(|s| s.stands.is_some());
        if !has_rule || *standing != AnswerStatus::Open || self.state.begun.rehearsal {
            return Ok(false);
        }
        if self.standing.earlier.is_none() {
            self.insist(None, Self::read_earlier)?;
        }
        if self.standing.agreed.is_none() {
            let offers = self.offers(at);
            if offers.first().is_none_or(|first| first.at != *at) {
                return Ok(false);
            }
            let agreed = self.which_stand(at, &offers)?;
            self.standing.agreed = Some(agreed);
        }
        let agreed = self.standing.agreed.as_ref();
        if !agreed.is_some_and(|steps| steps.contains(&at.step)) {
            return Ok(false);
        }
        self.let_stand(at)
    }

    fn read_earlier(&mut self) -> Result<(), WalkError> {
        let read = standing::read(&self.book, &self.state, self.now())?;
        self.standing.earlier = Some(read);
        Ok(())
    }

    fn offers(&self, at: &Instance) -> Vec<Offer> {
        let earlier = self.standing.earlier.as_ref();
        let answers = earlier.map_or(&[][..], |e| &e.answers);
        offers(&self.state, at, answers, self.now())
    }

    /// Shows what may stand and asks which of it does; the steps whose answers are taken over.
    fn which_stand(&mut self, at: &Instance, offers: &[Offer]) -> Prompted<BTreeSet<String>> {
        let mut anew = BTreeSet::new();
        let page = report::standing::page(&self.state, offers, &clock::local);
        self.completions = Completions::default();
        self.may_be_recalled = false;
        self.prompter.show(&Page::new().gap().then(page.clone()))?;
        self.asked = page;
        while anew.len() < offers.len() {
            let count = offers.len();
            let left = (1..=count).filter(|n| !anew.contains(n)).count();
            self.prompter
                .show(&report::standing::next(left, anew.is_empty()))?;
            let mut asker = AtPage { session: self, at };
            let part = QuestionPart::Earlier;
            let said = kit::until(&mut asker, report::standing::PROMPT, &part, |said| {
                read(said, count)
            })?;
            self.prompter.taken(Taken::Otherwise)?;
            match said {
                Said::Unchanged => break,
                Said::None => anew.extend(1..=count),
                Said::Anew(numbers) => anew.extend(numbers),
            }
        }
        let numbered = offers.iter().zip(1..);
        Ok(numbered
            .filter(|(_, n)| !anew.contains(n))
            .map(|(offer, _)| offer.at.step.clone())
            .collect())
    }

    /// Records that the earlier answer stands, or shows why the step is asked.
    fn let_stand(&mut self, at: &Instance) -> Prompted<bool> {
        let command = Command::Stand {
            at: at.clone(),
            earlier: None,
        };
        let show = self.state.show_at(at);
        match self.commit(&command)? {
            Committed::Stored(events) => {
                self.prompter.taken(Taken::Recorded(&events))?;
                let page = report::words::recorded(&events, "", &self.state);
                self.prompter.show(&page)?;
                Ok(true)
            }
            Committed::Refused(Refusal::NotStanding(why)) => {
                let title = self.state.step(at).map_or("", |s| s.title.as_str());
                let text = format!("{title} is asked anew: {}.", why.words(&show));
                self.prompter
                    .show(&Page::new().gap().toned(Tone::Look, text))?;
                Ok(false)
            }
            Committed::Refused(_) => Ok(false),
        }
    }

    /// Puts what the book says now of the earlier answer into a command that is decided by it; it is read again where others
    /// wrote since. Gives the digest of the book's last entry from before: the append is refused where the book went on.
    pub(crate) fn put_earlier_into(
        &mut self,
        command: &mut Command,
    ) -> Result<Option<Fingerprint>, WalkError> {
        let Command::Stand { at, earlier } = command else {
            return Ok(None);
        };
        let digest = self.book.last_digest()?;
        let last = self.book.last_of_others(&self.state.begun.run)?;
        if self.standing.earlier.as_ref().map(|e| e.as_of) != Some(last) {
            self.read_earlier()?;
        }
        let read = self.standing.earlier.iter();
        let found = read.flat_map(|e| &e.answers).find(|e| e.step == at.step);
        *earlier = found.map(|e| Box::new(e.clone()));
        Ok(Some(digest))
    }
}

/// Reads what is typed on a page of `count` answers.
fn read(said: &str, count: usize) -> Result<Said, String> {
    if said.eq_ignore_ascii_case(UNCHANGED) {
        return Ok(Said::Unchanged);
    }
    if said.eq_ignore_ascii_case(NONE) {
        return Ok(Said::None);
    }
    let words = said.split([' ', ',']).filter(|word| !word.is_empty());
    let numbers: Option<BTreeSet<usize>> = words.map(|word| word.parse().ok()).collect();
    let Some(numbers) = numbers.filter(|numbers| !numbers.is_empty()) else {
        return Err(format!(
            "`{said}` is no answer here; type `{UNCHANGED}`, numbers, or `{NONE}`"
        ));
    };
    match numbers.iter().find(|n| !(1..=count).contains(*n)) {
        Some(wrong) => Err(format!(
            "there is no number {wrong}; they go from 1 to {count}"
        )),
        None => Ok(Said::Anew(numbers)),
    }
}
