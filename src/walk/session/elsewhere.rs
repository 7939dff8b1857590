//! Other open runs with the same plate or the same person: looked up in the book, shown, and gone on beside with a reason.

use crate::book::Book;
use crate::clock;
use crate::interlock::{Elsewhere, OpenRun, Shared, State};
use crate::report::page::{Item, Page, Tone};
use crate::terminal::prompt::{Prompter, QuestionPart, Taken};
use crate::walk::prompts::answers::OPERATOR;
use crate::walk::prompts::{Asker, BeforeRun, Prompted};
use crate::walk::session::answer_step::{is_no, reads_as_number};
use crate::walk::store::other_runs;

/// What is in which other open runs, and how each is ended.
pub(crate) fn page(what: &Shared, others: &[OpenRun]) -> Page {
    let runs = match others {
        [_] => "another open run",
        _ => "other open runs",
    };
    let items = others.iter().map(|other| {
        let text = format!(
            "{}. To end it: {}.",
            other.words(&clock::local),
            other.ended_by()
        );
        Item::toned(Tone::Look, text)
    });
    Page::new()
        .toned(Tone::Look, format!("{} is in {runs}:", what.name()))
        .list(items)
}

/// What is typed to go on all the same.
pub(crate) const NEXT: &str =
    "Type the reason for which this run goes on beside it, or `no` to answer again.";

/// Why a number is not taken for a reason.
pub(crate) const NUMBER: &str =
    "a number is no reason; type `no` to answer again, or the reason in words";

/// Asks `person` for the reason to take the run of `own` in hand, where they have other open runs: those and
/// the reason, or none where they do not go on.
pub(crate) fn ask(
    book: &Book,
    prompter: &mut dyn Prompter,
    own: &State,
    person: &str,
) -> Prompted<Option<Elsewhere>> {
    let what = Shared::Person(person.to_owned());
    let others = other_runs::others(book, Some(own), &what)?;
    reason(prompter, &what, others)
}

/// The same where they begin a run on `machine`. A run that is open there is in its way, and not beside it.
pub(crate) fn ask_to_begin(
    book: &Book,
    prompter: &mut dyn Prompter,
    machine: &str,
    person: &str,
) -> Prompted<Option<Elsewhere>> {
    let what = Shared::Person(person.to_owned());
    let mut others = other_runs::others(book, None, &what)?;
    others.retain(|other| other.machine != machine);
    reason(prompter, &what, others)
}

fn reason(
    prompter: &mut dyn Prompter,
    what: &Shared,
    others: Vec<OpenRun>,
) -> Prompted<Option<Elsewhere>> {
    if others.is_empty() {
        return Ok(Some(Elsewhere::default()));
    }
    prompter.show(&page(what, &others).next(NEXT))?;
    loop {
        let mut asker = BeforeRun::new(prompter, OPERATOR);
        let said = asker.line("reason", &QuestionPart::Accept)?;
        let why = if is_no(&said) {
            prompter.refused("not accepted")?;
            return Ok(None);
        } else if said.is_empty() {
            "nothing was typed; type `no` to answer again, or the reason in words"
        } else if reads_as_number(&said) {
            NUMBER
        } else {
            prompter.taken(Taken::Otherwise)?;
            return Ok(Some(Elsewhere {
                others,
                reason: Some(said),
            }));
        };
        asker.refuse(&said, why)?;
    }
}
