//! Other open runs with the same plate or the same person, looked up in the book for a command that is decided by them.

use crate::book::Book;
use crate::fingerprint::Fingerprint;
use crate::interlock::answering::initials;
use crate::interlock::command::GivenAnswer;
use crate::interlock::{Command, Instance, OpenRun, Shared, State, elsewhere};
use crate::procedure::{Kind, Options, ShopList};
use crate::walk::error::WalkError;
use crate::walk::store::log;

/// The other open runs that use `what`, of which neither they nor `own` say a reason yet.
pub(crate) fn others(
    book: &Book,
    own: Option<&State>,
    what: &Shared,
) -> Result<Vec<OpenRun>, WalkError> {
    let name = own.map(|own| own.begun.run.as_str());
    let mut runs = Vec::new();
    for run in book.open_runs()? {
        if name != Some(&run.run) {
            runs.push(log::load(book, &run.run)?.state);
        }
    }
    Ok(elsewhere::others(own, &runs, what))
}

/// Whether a plate is chosen at `at`.
pub(crate) fn is_choice_of_plate(state: &State, at: &Instance) -> bool {
    let plates = Options::From(ShopList::Plates);
    let kind = state.step(at).map(|s| &s.kind);
    matches!(kind, Some(Kind::Choose { options, .. }) if *options == plates)
}

/// Puts the other open runs, as they are now, into a command that is decided by them. Gives the digest of the book's last
/// entry from before they were read: the append is refused where the book went on since. Nothing for other commands.
pub(crate) fn put_into(
    command: &mut Command,
    book: &Book,
    state: &State,
) -> Result<Option<Fingerprint>, WalkError> {
    match command {
        Command::Answer { at, said, .. } if is_choice_of_plate(state, at) => {
            let last = book.last_digest()?;
            if let GivenAnswer::Word(id) | GivenAnswer::Plate { id, .. } = said {
                let id = std::mem::take(id);
                let others = others(book, Some(state), &Shared::Plate(id.clone()))?;
                *said = GivenAnswer::Plate { id, others };
            }
            Ok(Some(last))
        }
        Command::HandOver { to, elsewhere } => {
            let last = book.last_digest()?;
            let to = initials(to).unwrap_or_default();
            elsewhere.others = others(book, Some(state), &Shared::Person(to))?;
            Ok(Some(last))
        }
        _ => Ok(None),
    }
}
