//! Beginning a run: on which machine, by whom, from which files.

use crate::book::{Book, BookError, Claim};
use crate::clock::Clock;
use crate::fingerprint::Fingerprint;
use crate::interlock::event::{Event, RunStart};
use crate::interlock::{Command, Elsewhere, State, decide};
use crate::procedure::{Procedure, Shop, ShopList};
use crate::quantity::UnitSystem;
use crate::report::page::{Choice, Page};
use crate::terminal::prompt::{Prompter, QuestionPart, Taken};
use crate::walk::error::WalkError;
use crate::walk::prompts::answers::OPERATOR;
use crate::walk::prompts::choices::pick;
use crate::walk::prompts::{BeforeRun, Prompted, kit};
use crate::walk::session::Session;
use crate::walk::session::pages;
use crate::walk::store::log;
use crate::walk::store::retry;
use std::path::PathBuf;
use std::sync::Arc;

/// A file as it was read.
#[derive(Clone, Debug)]
pub(crate) struct ReadFile<T> {
    /// Its whole text.
    pub text: String,
    /// What it says.
    pub content: Arc<T>,
}

/// What a new run begins with.
#[derive(Clone, Debug)]
pub(crate) struct Start {
    /// The procedure.
    pub procedure: ReadFile<Procedure>,
    /// The shop file.
    pub shop: ReadFile<Shop>,
    /// The unit system, where the command says one.
    pub unit: Option<UnitSystem>,
    /// The answers file, where there is one.
    pub answers_file: Option<String>,
    /// The folder that relative program paths count from.
    pub folder: PathBuf,
    /// Whether it is practice: a fact of the run's first event, never changed later.
    pub rehearsal: bool,
}

/// Opens a walk: what it is for, what it is not, and to whom it defers.
pub(crate) fn open(prompter: &mut dyn Prompter, start: &Start) -> Result<(), WalkError> {
    let (procedure, shop) = (&start.procedure.content, &start.shop.content);
    let file = start.answers_file.as_deref();
    Ok(prompter.show(&pages::opening(procedure, shop, file))?)
}

/// Who is at the control, asked before there is a run.
pub(crate) fn operator(prompter: &mut dyn Prompter) -> Prompted<String> {
    let page = Page::new()
        .gap()
        .unnumbered("Who is at the control?")
        .text("One person works the machine; nobody else is within reach of it.")
        .next("Type your initials: one to eight letters or digits.");
    prompter.show(&page)?;
    kit::initials(
        &mut BeforeRun::new(prompter, OPERATOR),
        &QuestionPart::Operator,
    )
}

/// Which machine, asked before there is a run: the first step of the procedure.
pub(crate) fn machine(
    prompter: &mut dyn Prompter,
    procedure: &Procedure,
    shop: &Shop,
) -> Prompted<String> {
    let machines = shop.items(ShopList::Machines);
    let Some(first) = procedure.steps().next() else {
        return Err(WalkError::Fault("a procedure without steps".to_owned()).into());
    };
    let choices = machines
        .iter()
        .enumerate()
        .map(|(i, m)| Choice::new(i + 1, &m.id, &m.title));
    let page = Page::new()
        .gap()
        .unnumbered(&first.title)
        .text(first.act.clone().unwrap_or_default())
        .options(choices);
    prompter.show(&page)?;
    let words: Vec<(String, String)> = machines
        .iter()
        .map(|m| (m.id.clone(), String::new()))
        .collect();
    let machine = kit::until(
        &mut BeforeRun::new(prompter, &first.id)
            .confirmed_by_caller()
            .offering(machines.iter().map(|m| m.id.as_str())),
        "machine",
        &QuestionPart::Answer,
        |said| pick(said, &words, false, "machines of this shop"),
    )?;
    prompter.taken(Taken::Machine(&machine))?;
    Ok(machine)
}

/// Begins a run: everything it needs to resume is in the book before this returns.
pub(crate) fn begin<'a>(
    start: &Start,
    machine: String,
    (operator, elsewhere): (String, Elsewhere),
    mut book: Book,
    claim: Claim,
    clock: &'a dyn Clock,
    prompter: &'a mut dyn Prompter,
) -> Result<Session<'a>, WalkError> {
    let procedure = &start.procedure;
    let from = prompter.origin();
    let (state, n) = retry::insist(prompter, |_| {
        let now = clock.now();
        let run = new_id(&book, now)?;
        let begun = RunStart {
            run: run.clone(),
            rehearsal: start.rehearsal,
            answers_file: start.answers_file.clone(),
            from: Some(from),
            procedure: Fingerprint::of(&procedure.text),
            procedure_id: procedure.content.id.clone(),
            procedure_version: procedure.content.version.clone(),
            shop: Fingerprint::of(&start.shop.text),
            machine: machine.clone(),
            operator: operator.clone(),
            unit: start.unit.unwrap_or(procedure.content.unit),
            tool: env!("CARGO_PKG_VERSION").to_owned(),
        };
        let documents = [
            (begun.procedure, procedure.text.as_str()),
            (begun.shop, start.shop.text.as_str()),
        ];
        let mut state = State::new(
            Arc::clone(&procedure.content),
            Arc::clone(&start.shop.content),
            begun.clone(),
            now,
        );
        let elsewhere = elsewhere.clone();
        let beside = decide(&state, now, &Command::BeginBeside { elsewhere })
            .map_err(|r| WalkError::Fault(r.words(&state.show())))?;
        let events: Vec<Event> = std::iter::once(Event::Began(begun)).chain(beside).collect();
        let drafts = log::drafts(&events, now)?;
        let entries = book.begin(&run, &machine, &documents, &drafts)?;
        for event in events.iter().skip(1) {
            state.apply(now, event);
        }
        Ok((state, entries.last().map_or(0, |e| e.n)))
    })?;
    let mut session = Session::new(state, n, book, claim, clock, prompter, start.folder.clone());
    session.show_second_signer()?;
    session.look_at_service()?;
    Ok(session)
}

/// The id of a new run: the day and a number, such as `2026-03-01-2`; easy to say and to type.
fn new_id(book: &Book, now: crate::quantity::moment::Moment) -> Result<String, BookError> {
    let day: String = crate::clock::local(now).chars().take(10).collect();
    let runs = book.runs()?;
    let taken = |id: &str| runs.iter().any(|r| r.run == id);
    let id = (1..=u32::MAX)
        .map(|n| format!("{day}-{n}"))
        .find(|id| !taken(id));
    Ok(id.unwrap_or(day))
}
