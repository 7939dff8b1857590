//! Other open runs with the same plate or the same person: looked up in the book, shown, and gone on beside with a reason.

use super::before;
use super::error::WalkError;
use super::giving::reads_as_number;
use super::log;
use super::session::Session;
use crate::book::Book;
use crate::clock;
use crate::desk::{Ask, Desk, Part, Taken};
use crate::fingerprint::Fingerprint;
use crate::interlock::command::Said;
use crate::interlock::{Command, Elsewhere, Instance, OpenRun, Shared, State, elsewhere};
use crate::procedure::{Kind, Options, ShopList};
use crate::report::page::{Item, Page, Tone};

/// How a person answers whether to go on beside their other open runs, before there is a run in hand.
pub enum Beside {
    /// They go on; the other runs, if any, and the reason.
    GoesOn(Elsewhere),
    /// They do not, and the question before is asked again.
    No,
    /// They leave.
    Leaves,
}

/// The other open runs that use `what`, of which neither they nor `own` say a reason yet.
pub fn others(book: &Book, own: Option<&State>, what: &Shared) -> Result<Vec<OpenRun>, WalkError> {
    let name = own.map(|own| own.begun.run.as_str());
    let mut runs = Vec::new();
    for run in book.open_runs()? {
        if name != Some(&run.run) {
            runs.push(log::load(book, &run.run)?.state);
        }
    }
    Ok(elsewhere::others(own, &runs, what))
}

/// What is in which other open runs, and how each is ended.
pub fn page(what: &Shared, others: &[OpenRun]) -> Page {
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
pub const NEXT: &str =
    "Type the reason for which this run goes on beside it, or `no` to answer again.";

/// Why a number is not taken for a reason.
pub const NUMBER: &str = "a number is no reason; type `no` to answer again, or the reason in words";

/// Asks `person` for the reason to take the run of `own` in hand, where they have other open runs.
pub fn ask(
    book: &Book,
    desk: &mut dyn Desk,
    own: &State,
    person: &str,
) -> Result<Beside, WalkError> {
    let what = Shared::Person(person.to_owned());
    let others = others(book, Some(own), &what)?;
    reason(desk, &what, others)
}

/// The same where they begin a run on `machine`. A run that is open there is in its way, and not beside it.
pub fn ask_to_begin(
    book: &Book,
    desk: &mut dyn Desk,
    machine: &str,
    person: &str,
) -> Result<Beside, WalkError> {
    let what = Shared::Person(person.to_owned());
    let mut others = others(book, None, &what)?;
    others.retain(|other| other.machine != machine);
    reason(desk, &what, others)
}

fn reason(desk: &mut dyn Desk, what: &Shared, others: Vec<OpenRun>) -> Result<Beside, WalkError> {
    if others.is_empty() {
        return Ok(Beside::GoesOn(Elsewhere::default()));
    }
    desk.show(&page(what, &others).next(NEXT))?;
    loop {
        let Some(said) = before::ask(desk, &Ask::new("reason", "operator", Part::Accept))? else {
            return Ok(Beside::Leaves);
        };
        let why = if said.eq_ignore_ascii_case("no") {
            desk.refused("not accepted")?;
            return Ok(Beside::No);
        } else if said.is_empty() {
            "nothing was typed; type `no` to answer again, or the reason in words"
        } else if reads_as_number(&said) {
            NUMBER
        } else {
            desk.taken(Taken::Otherwise)?;
            return Ok(Beside::GoesOn(Elsewhere {
                others,
                reason: Some(said),
            }));
        };
        desk.show(&Page::new().toned(Tone::Stop, format!("Not taken: {why}.")))?;
        desk.refused(why)?;
    }
}

impl Session<'_> {
    /// The book's last digest before other runs are looked at for this command; nothing where they do not count.
    pub(super) fn book_before_others(
        &self,
        command: &Command,
    ) -> Result<Option<Fingerprint>, WalkError> {
        let counts = match command {
            Command::Answer { at, .. } => self.is_choice_of_plate(at),
            Command::HandOver { .. } => true,
            _ => false,
        };
        Ok(counts.then(|| self.book.last_digest()).transpose()?)
    }

    /// Whether a plate is chosen there.
    pub(super) fn is_choice_of_plate(&self, at: &Instance) -> bool {
        let plates = Options::From(ShopList::Plates);
        let kind = self.state.step(at).map(|s| &s.kind);
        matches!(kind, Some(Kind::Choose { options, .. }) if *options == plates)
    }

    /// The command with the other open runs that it must be decided by, as they are now.
    pub(super) fn with_others(&self, command: &Command) -> Result<Command, WalkError> {
        let mut command = command.clone();
        match &mut command {
            Command::Answer { at, said, .. } => {
                let chooses = self.is_choice_of_plate(at);
                if let Said::Word(id) | Said::Plate { id, .. } = said
                    && chooses
                {
                    let id = id.clone();
                    let others = self.others(&Shared::Plate(id.clone()))?;
                    *said = Said::Plate { id, others };
                }
            }
            Command::HandOver { to, elsewhere } => {
                let to = crate::interlock::answering::initials(to).unwrap_or_default();
                elsewhere.others = self.others(&Shared::Person(to))?;
            }
            _ => {}
        }
        Ok(command)
    }

    fn others(&self, what: &Shared) -> Result<Vec<OpenRun>, WalkError> {
        others(&self.book, Some(&self.state), what)
    }
}
