//! Taking a run over from a terminal that still has it, by an owner's signature.
//!
//! The other terminal is not asked and not ended: it may hang, or stand in a locked room. From here on it can write
//! nothing to the run, and says so at its next entry. Nobody can take back what is on its screen, so whoever takes a run
//! over sees that nobody works the machine from there.

use crate::book::{Book, BookError, RunSummary, ToLedger};
use crate::clock::{self, Clock};
use crate::interlock::answering::initials;
use crate::interlock::{Command, Elsewhere, MachineContinuity, decide};
use crate::keys::Key;
use crate::people::{People, Role};
use crate::report::page::{Page, Tone};
use crate::terminal::prompt::{Prompter, QuestionPart, Taken};
use crate::walk::error::WalkError;
use crate::walk::prompts::answers::OPERATOR;
use crate::walk::prompts::keyring;
use crate::walk::prompts::{Asker, BeforeRun, Ending, Prompted};
use crate::walk::session::elsewhere;
use crate::walk::session::stopping;
use crate::walk::session::{Left, Session};
use crate::walk::store::log::{self, Loaded};
use crate::walk::store::people_list;
use crate::walk::store::retry;
use std::path::PathBuf;
use std::sync::Arc;

/// How often the other terminal may write meanwhile.
const TRIES: usize = 10;

/// Takes `run` over; the person may leave before they signed.
pub(crate) fn take_over<'a>(
    run: &RunSummary,
    mut book: Book,
    clock: &'a dyn Clock,
    prompter: &'a mut dyn Prompter,
    folder: PathBuf,
) -> Prompted<Session<'a>> {
    if people_list::load(&book)?.is_empty() {
        return Err(WalkError::NoOwner.into());
    }
    let mut page = Page::new().gap().toned(
        Tone::Look,
        format!("Taking over run {} on {}.", run.run, run.machine),
    );
    if let Some(cut) = log::load(&book, &run.run)?.state.cutting {
        let text = format!(
            "A cut is under way as far as the record knows, begun {}. Look at the machine before anything else.",
            clock::local(cut.since)
        );
        page = page.toned(Tone::Stop, text);
    }
    let page = page
        .text("Go to the other terminal first, if you can, and type `leave` there. What you take over can be walked on only here; a release given there is dropped. An owner signs for it.");
    prompter.show(&page)?;
    let (by, key) = owner(&mut book, prompter, clock)?;
    let state = log::load(&book, &run.run)?.state;
    let Some(elsewhere) = elsewhere::ask(&book, prompter, &state, &by)? else {
        return Err(Ending::Leave(Left::Saved));
    };
    let kept = stopping::ask_continuity(prompter, &state)?;
    let (claim, loaded) = retry::insist(prompter, |_| {
        let at = clock.now().to_string();
        book.take_over(&run.machine, &at, |book| {
            record(book, &run.run, (&by, &key), (kept, &elsewhere), clock)
        })
    })?;
    let page = Page::new()
        .toned(
            Tone::Strong,
            format!("The run is taken over by {by}. Recorded, signed by {by}."),
        )
        .toned(
            Tone::Look,
            "The other terminal can record nothing more, but what it showed last stays on its screen. See that nobody works the machine by it.",
        );
    prompter.show(&page)?;
    let mut session = Session::new(loaded.state, loaded.n, book, claim, clock, prompter, folder);
    session.look_at_service()?;
    Ok(session)
}

/// The owner who does it, and their key.
fn owner(
    book: &mut Book,
    prompter: &mut dyn Prompter,
    clock: &dyn Clock,
) -> Prompted<(String, Key)> {
    prompter.show(&Page::new().next("Type the initials of the owner who takes it over."))?;
    loop {
        let mut asker = BeforeRun::new(prompter, OPERATOR);
        let said = asker.line("initials", &QuestionPart::Resume)?;
        let mut people = retry::insist(asker.prompter, |_| people_list::load(book))?;
        let Some(by) = initials(&said).filter(|by| is_owner(&people, by)) else {
            let why = "that is not an owner on the list; only an owner takes a run over";
            asker.refuse(&said, why)?;
            continue;
        };
        let unlocked = keyring::unlock(book, &mut people, prompter, clock, &by)?;
        if let Some(key) = unlocked.key_or_leave()? {
            prompter.taken(Taken::Otherwise)?;
            return Ok((by, key));
        }
    }
}

fn is_owner(people: &People, initials: &str) -> bool {
    people
        .active(initials)
        .is_some_and(|l| l.person.is(Role::Owner))
}

/// Records it in the run, over whatever the other terminal wrote last.
fn record(
    book: &mut Book,
    run: &str,
    (by, key): (&str, &Key),
    (kept, elsewhere): (Option<MachineContinuity>, &Elsewhere),
    clock: &dyn Clock,
) -> Result<Loaded, WalkError> {
    let mut tries = 0;
    loop {
        let mut loaded = log::load(book, run)?;
        let people = Arc::new(people_list::load(book)?);
        let now = clock.now();
        let command = Command::TakeOver {
            by: by.to_owned(),
            signature: key.sign(&loaded.state.text_to_take_over(by, Some(people.digest()))),
            people: Arc::clone(&people),
            kept,
            elsewhere: elsewhere.clone(),
        };
        let events = decide(&loaded.state, now, &command)
            .map_err(|r| WalkError::NotTakenOver(r.words(&loaded.state.show())))?;
        let also = ToLedger {
            ledger: people_list::LEDGER,
            after_n: people.n(),
            drafts: &[],
        };
        let drafts = log::drafts(&events, now)?;
        match book.append_with_ledger(run, loaded.n, &drafts, false, &also) {
            Ok(entries) => {
                loaded.n = entries.last().map_or(loaded.n, |e| e.n);
                for event in &events {
                    loaded.state.apply(now, event);
                }
                return Ok(loaded);
            }
            Err(BookError::Overtaken { .. } | BookError::LedgerOvertaken { .. })
                if tries < TRIES =>
            {
                tries += 1;
            }
            Err(error) => return Err(error.into()),
        }
    }
}
