//! A thickness measured in a walk against the plate's account: what differs is put right on the record, once a person
//! has said so. And an account that went on while a run was left.

use crate::book::BookError;
use crate::interlock::{Answer, Command, Event, Instance};
use crate::procedure::{Kind, ShopList};
use crate::quantity::Length;
use crate::report::page::{Page, Tone};
use crate::stock::{MeasuredBy, StockEntry, ledger_of};
use crate::terminal::prompt::QuestionPart;
use crate::walk::error::WalkError;
use crate::walk::prompts::Prompted;
use crate::walk::prompts::kit::{self, AtStep};
use crate::walk::session::Session;
use crate::walk::session::answer_step::is_no;
use crate::walk::store::accounts;

/// The word that corrects an account.
const CORRECT: &str = "correct";

impl Session<'_> {
    /// Whether the account of the chosen plate counts in this run: not in practice, and not once an answer came from a file,
    /// which stands for no plate on a machine.
    pub(crate) fn account_counts(&self) -> bool {
        !self.state.from_file && !self.state.begun.rehearsal
    }

    /// The thickness among `events` that its step measures of the plate.
    fn measured(&self, events: &[Event]) -> Option<(Instance, Length)> {
        events.iter().find_map(|event| match event {
            Event::Answered {
                at,
                answer: Answer::Quantity(q),
                ..
            } if matches!(
                self.state.step(at).map(|s| &s.kind),
                Some(Kind::Read {
                    measures_plate: true,
                    ..
                })
            ) =>
            {
                Some((at.clone(), Length::nearest(*q)?))
            }
            _ => None,
        })
    }

    /// Asks whether a measured thickness corrects the account, where the two differ.
    pub(crate) fn hold_against_account(&mut self, events: &[Event]) -> Prompted<()> {
        if !self.account_counts() {
            return Ok(());
        }
        let (Some((at, found)), Some(plate)) = (
            self.measured(events),
            self.state.chosen(ShopList::Plates).cloned(),
        ) else {
            return Ok(());
        };
        let Some(account) = accounts::stored_account(&self.book, &plate.id)?.account else {
            return Ok(());
        };
        let said = account.thickness();
        if said == found {
            return Ok(());
        }
        let show = self.show();
        let apart = found.minus(said).unwrap_or_default();
        let way = if apart < Length::ZERO {
            "thinner"
        } else {
            "thicker"
        };
        let text = format!(
            "The account of {} says {} thick; measured is {}, {} {way}.",
            plate.id,
            show.both(said.into()),
            show.both(found.into()),
            show.one(apart.abs().into())
        );
        let page = Page::new().toned(Tone::Look, text);
        let people = self.people()?;
        let operator = &self.state.operator;
        if self.state.needs_second(operator, &people) {
            let text = format!(
                "In this run the smaller of the two figures counts. {operator} may not run this alone, so the account stays; somebody who may corrects it: `skimgate stock measure {} THICKNESS`.",
                plate.id
            );
            self.prompter.show(&page.text(text))?;
            return Ok(());
        }
        let page = page.next(format!(
            "Type `{CORRECT}` to set the account to what was measured, or `no` to leave it."
        ));
        self.prompter.show(&page)?;
        let mut asker = AtStep {
            session: self,
            at: &at,
        };
        let part = QuestionPart::Other("account".to_owned());
        let corrects = kit::choice(
            &mut asker,
            "account",
            &part,
            |said| {
                let is = |word: &str| said.eq_ignore_ascii_case(word);
                is(CORRECT).then_some(true).or(is_no(said).then_some(false))
            },
            |_| format!("type `{CORRECT}` or `no`"),
        )?;
        if !corrects {
            return Ok(());
        }
        self.correct(&plate.id, &at, found)?;
        let text = "The account is corrected. In this run the smaller of the two figures counts; runs to come begin with what was measured.";
        Ok(self.prompter.show(&Page::new().toned(Tone::Good, text))?)
    }

    fn correct(&mut self, plate: &str, at: &Instance, found: Length) -> Result<(), WalkError> {
        let entry = StockEntry::Measured {
            thickness: found,
            reason: format!("run {}, measured at {at}", self.state.begun.run),
            by: self.state.operator.clone(),
            recorded_by: Some(MeasuredBy::Run(self.state.begun.run.clone())),
        };
        let mut tries = 0;
        self.insist(None, |session| {
            loop {
                let draft = accounts::draft(&entry, session.now())?;
                let n = accounts::stored_account(&session.book, plate)?.n;
                let ledger = ledger_of(plate);
                match session.book.append_to_ledger(&ledger, n, &[draft]) {
                    Err(BookError::LedgerOvertaken { .. }) if tries < 9 => tries += 1,
                    Err(e) => return Err(e.into()),
                    Ok(_) => return Ok(()),
                }
            }
        })
    }

    /// Looks at the account again when a run is taken up. What others wrote since rules while nothing is cut; after a
    /// cut the figures of this run stay, and the person is told.
    pub(crate) fn read_account_again(&mut self) -> Result<(), WalkError> {
        if !self.account_counts() {
            return Ok(());
        }
        let Some(plate) = self.state.chosen(ShopList::Plates).map(|p| p.id.clone()) else {
            return Ok(());
        };
        let kept = accounts::stored_account(&self.book, &plate)?;
        let before = self.state.known.as_ref().filter(|k| k.plate == plate);
        let before = before.map_or(0, |k| usize::try_from(k.entry).unwrap_or(usize::MAX));
        let run = &self.state.begun.run;
        let own = |entry: &StockEntry| match entry {
            // The opening is the shop file's own figures.
            StockEntry::Opened(_) => true,
            StockEntry::Cut(cut) => cut.run == *run || !cut.counts,
            StockEntry::Measured { .. } => entry.measured_in_run() == Some(run.as_str()),
        };
        if kept.entries.iter().skip(before).all(|(_, e)| own(e)) {
            return Ok(());
        }
        let Some(known) = accounts::known(&self.book, &plate)? else {
            return Ok(());
        };
        let text = format!(
            "The account of {plate} went on while this run was left: {} thick now.",
            self.show().both(known.thickness.into())
        );
        self.prompter.show(&Page::new().toned(Tone::Look, text))?;
        let cut = self.state.marks.last_cut().is_some() || self.state.cutting.is_some();
        if cut {
            let text = "This run has cut since it began, so its own figures stay. Measure the plate before the next cut.";
            self.prompter.show(&Page::new().toned(Tone::Stop, text))?;
            return Ok(());
        }
        let events = self.must_commit(&Command::KnowPlate(known))?;
        let fell = crate::report::words::recorded(&events, "", &self.state);
        Ok(self.prompter.show(&fell)?)
    }
}
