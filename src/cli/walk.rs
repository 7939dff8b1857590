//! `skimgate walk`: the main job.

use super::context::CommandContext;
use super::failure::Failure;
use super::files;
use super::record::find_run;
use super::reporting::unit;
use super::status::Status;
use crate::book::{Book, Claim, RunSummary};
use crate::clock::{self, Clock, SteadyClock};
use crate::diagnostics::Findings;
use crate::files::ReadAs;
use crate::fingerprint::Fingerprint;
use crate::procedure::{Options, ShopList};
use crate::quantity::UnitSystem;
use crate::report::page::{self, Page, Tone};
use crate::terminal::prompt::{PromptError, Prompter, QuestionPart, Terminal};
use crate::walk::prompts::keyring;
use crate::walk::prompts::{BeforeRun, Ending, Prompted, kit};
use crate::walk::session::Left;
use crate::walk::session::begin::{self, Start};
use crate::walk::session::elsewhere;
use crate::walk::session::wording::Words;
use crate::walk::session::{resume, takeover};
use crate::walk::store::{log, people_list, released};
use crate::walk::{Answers, Session, WalkError};
use std::path::{Path, PathBuf};

/// Walk a run through a procedure: a new one, or one that was left
#[derive(clap::Args, Debug)]
#[command(
    after_help = "Examples:\n  skimgate walk\n  skimgate walk my-plate.yaml --shop my-shop.yaml --unit inch\n  skimgate walk --answers checklists/answers/two-roughing.yaml"
)]
pub(crate) struct WalkArgs {
    /// The procedure; the built-in one for an aluminium base plate when left out
    pub procedure: Option<PathBuf>,
    /// The shop's machines, plates and cutters; an invented shop when left out
    #[arg(long, value_name = "FILE")]
    pub shop: Option<PathBuf>,
    /// Type in mm or inch; the procedure says which when left out
    #[arg(long, value_parser = unit)]
    pub unit: Option<UnitSystem>,
    /// Show full or short cautions; short by default after three finished walks of the procedure within 90 days
    #[arg(long, value_parser = words, value_name = "full|short")]
    pub words: Option<Words>,
    /// Show lengths in one unit, the run's own, or in both
    #[arg(long, value_name = "one|both", default_value = "one", value_parser = ["one", "both"], hide_default_value = true, hide_possible_values = true)]
    pub units: String,
    /// Take the answers from a YAML file: a map of step id to answer
    #[arg(long, value_name = "FILE")]
    pub answers: Option<PathBuf>,
    /// Take up this run, by its id
    #[arg(long, value_name = "ID")]
    pub run: Option<String>,
    /// Take the run over from another terminal that has it; an owner signs for that
    #[arg(long, conflicts_with = "answers")]
    pub take_over: bool,
}

fn words(text: &str) -> Result<Words, String> {
    Words::read(text).ok_or_else(|| format!("`{text}` is not full or short"))
}

/// Runs it.
pub(crate) fn run(args: &WalkArgs, context: &CommandContext) -> Result<Status, Failure> {
    let clock = SteadyClock::new();
    let answers = args
        .answers
        .as_deref()
        .map(|path| read_answers(path, context))
        .transpose()?;
    let folder = folder(args)?;
    let Some(mut answers) = answers else {
        let mut prompter = Terminal::open(context.screen()).map_err(|e| {
            Failure::from(e).hint("run `skimgate walk` in a terminal").hint(
                "or take the answers from a file: `skimgate walk --answers checklists/answers/two-roughing.yaml` \
                 (`skimgate init` writes it)",
            )
        })?;
        return at_terminal(args, context, &clock, &mut prompter, folder);
    };
    let left = from_answers(args, context, &clock, &mut answers, folder)?;
    let over = answers.left_over();
    if !over.is_empty() && matches!(left, Left::Complete) {
        return Err(Failure::usage(format!(
            "the run is complete, and the file has answers that no question asked for: {}",
            over.join(", ")
        )));
    }
    Ok(status(left))
}

fn status(left: Left) -> Status {
    match left {
        Left::Complete | Left::Abandoned => Status::Fine,
        Left::Stopped => Status::Held,
        Left::Saved => Status::Interrupted,
    }
}

/// Relative program paths count from the answers file, or from where the command was given.
fn folder(args: &WalkArgs) -> Result<PathBuf, Failure> {
    let here = match &args.answers {
        Some(file) => file.parent().unwrap_or(Path::new("")).to_path_buf(),
        None => PathBuf::from("."),
    };
    let here = if here.as_os_str().is_empty() {
        PathBuf::from(".")
    } else {
        here
    };
    Ok(std::path::absolute(here)?)
}

fn read_answers(path: &Path, context: &CommandContext) -> Result<Answers, Failure> {
    let text = files::text(path, ReadAs::Checklist)?;
    let name = path.display().to_string();
    let mut findings = Findings::default();
    match Answers::read(&name, &text, context.screen(), &mut findings) {
        Some(answers) => Ok(answers),
        None => Err(files::faults(&name, &text, findings, &context.err)),
    }
}

fn start(args: &WalkArgs, context: &CommandContext, folder: PathBuf) -> Result<Start, Failure> {
    Ok(Start {
        procedure: files::procedure(args.procedure.as_deref(), context)?,
        shop: files::shop(args.shop.as_deref(), context)?,
        unit: args.unit,
        answers_file: args.answers.as_ref().map(|p| p.display().to_string()),
        folder,
        rehearsal: false,
    })
}

/// The book, made if it is not there. A damaged one is not walked on: what is added would follow from what cannot be
/// trusted.
fn sound_book(context: &CommandContext) -> Result<Book, Failure> {
    let book = context.book()?;
    released::check_book(&book)?;
    Ok(book)
}

/// Open runs that this command could take up.
fn open_runs(args: &WalkArgs, book: &Book) -> Result<Vec<RunSummary>, Failure> {
    match &args.run {
        Some(id) => {
            let found = find_run(book, id)?;
            if !found.open {
                return Err(Failure::usage(format!("run {} is over", found.run))
                    .hint(format!("`skimgate record show {}` shows it", found.run)));
            }
            Ok(vec![found])
        }
        None => Ok(book.open_runs()?),
    }
}

/// Claims the machine of an open run; another terminal may have ended the run since it was listed.
fn claim_open(book: &Book, run: &RunSummary, clock: &dyn Clock) -> Result<Claim, Failure> {
    let claim = book.claim(&run.machine, &clock.now().to_string())?;
    if book.find_run(&run.run)?.open {
        return Ok(claim);
    }
    Err(Failure::new(
        Status::Held,
        format!("run {} has ended meanwhile at another terminal", run.run),
    )
    .hint(format!("`skimgate record show {}` shows it", run.run)))
}

fn at_terminal(
    args: &WalkArgs,
    context: &CommandContext,
    clock: &dyn Clock,
    prompter: &mut dyn Prompter,
    folder: PathBuf,
) -> Result<Status, Failure> {
    let start = start(args, context, folder.clone())?;
    let book = sound_book(context)?;
    let open = open_runs(args, &book)?;
    let named = args.run.is_some() || args.take_over;
    let (chosen, claim, only) = match open.as_slice() {
        [] => (None, None, false),
        [one] if named => (Some(one.clone()), None, false),
        [one] => match claim_open(&book, one, clock) {
            Ok(claim) => (Some(one.clone()), Some(claim), true),
            // It goes on at another terminal, or ended there.
            Err(_) => match begun(which(prompter, &open))? {
                Some(chosen) => (chosen, None, false),
                None => return Ok(Status::Interrupted),
            },
        },
        several => match begun(which(prompter, several))? {
            Some(chosen) => (chosen, None, false),
            None => return Ok(Status::Interrupted),
        },
    };
    let session = match chosen {
        Some(run) if args.take_over => takeover::take_over(&run, book, clock, prompter, folder),
        Some(run) => {
            let claim = match claim {
                Some(claim) => claim,
                None => claim_open(&book, &run, clock)?,
            };
            match resume::resume(&run.run, book, claim, clock, prompter, folder, only) {
                Ok(Some(mut session)) => {
                    // What is built in is no file that somebody changed.
                    let shop = Fingerprint::of(&start.shop.text);
                    let procedure = Fingerprint::of(&start.procedure.text);
                    let shop = args.shop.as_ref().map(|_| &shop);
                    let procedure = args.procedure.as_ref().map(|_| &procedure);
                    resume::show_changed_texts(&mut session, shop, procedure)?;
                    Ok(session)
                }
                Ok(None) => begin_at(&start, sound_book(context)?, clock, prompter),
                Err(ending) => Err(ending),
            }
        }
        None if args.take_over => {
            return Err(Failure::usage("there is no open run to take over")
                .hint("`skimgate walk` begins one"));
        }
        None => begin_at(&start, book, clock, prompter),
    };
    match begun(session)? {
        Some(mut session) => {
            session.use_words(args.words)?;
            session.state.one_unit = args.units != "both";
            walk(session, context)
        }
        None => Ok(Status::Interrupted),
    }
}

/// What was asked for before there was a run in hand; none where the person left.
fn begun<T>(asked: Prompted<T>) -> Result<Option<T>, Failure> {
    match asked {
        Ok(value) => Ok(Some(value)),
        Err(Ending::Next | Ending::Leave(_)) => Ok(None),
        Err(Ending::Failed(error)) => Err(error.into()),
    }
}

fn begin_at<'a>(
    start: &Start,
    mut book: Book,
    clock: &'a dyn Clock,
    prompter: &'a mut dyn Prompter,
) -> Prompted<Session<'a>> {
    let (procedure, shop) = (&start.procedure.content, &start.shop.content);
    begin::open(prompter, start)?;
    loop {
        let operator = begin::operator(prompter)?;
        if !keyring::identify(&mut book, prompter, clock, &operator)? {
            continue;
        }
        let machine = begin::machine(prompter, procedure, shop)?;
        let claim = book.claim(&machine, &clock.now().to_string())?;
        let elsewhere = elsewhere::ask_to_begin(&book, prompter, &machine, &operator)?;
        let Some(elsewhere) = elsewhere else {
            continue;
        };
        let by = (operator, elsewhere);
        let session = begin::begin(start, machine, by, book, claim, clock, prompter)?;
        return Ok(session);
    }
}

/// Asks which open run to take up; none to begin another.
fn which(prompter: &mut dyn Prompter, open: &[RunSummary]) -> Prompted<Option<RunSummary>> {
    let items = open.iter().enumerate().map(|(i, r)| {
        let what = format!("on {}, begun {}", r.machine, clock::local_text(&r.first_at));
        page::Choice::new(i + 1, &r.run, what)
    });
    let page = Page::new()
        .gap()
        .toned(Tone::Strong, "Open runs:")
        .options(items)
        .next("Type the number of the run to take up, or `new` for a run on another machine.");
    prompter.show(&page)?;
    kit::choice(
        &mut BeforeRun::new(prompter, "runs")
            .offering(open.iter().map(|r| r.run.as_str()).chain(["new"])),
        "run",
        &QuestionPart::Resume,
        |said| {
            if said.eq_ignore_ascii_case("new") {
                return Some(None);
            }
            let number = said.parse::<usize>().ok();
            let run = number.and_then(|n| open.get(n.checked_sub(1)?));
            run.or_else(|| open.iter().find(|r| r.run == said))
                .map(|run| Some(run.clone()))
        },
        |said| format!("`{said}` is none of them; type a number, or `new`"),
    )
}

/// Walks from an answers file: a run left on its machine is taken up, else one begins.
fn from_answers(
    args: &WalkArgs,
    context: &CommandContext,
    clock: &dyn Clock,
    answers: &mut Answers,
    folder: PathBuf,
) -> Result<Left, Failure> {
    let start = start(args, context, folder.clone())?;
    let book = sound_book(context)?;
    if !people_list::load(&book)?.is_empty() {
        return Err(Failure::from(PromptError::NoSecret)
            .hint("walk at a terminal, or practise in a book of its own: `--book FILE`"));
    }
    let first = start.procedure.content.steps().find_map(|s| match s.kind {
        crate::procedure::Kind::Choose {
            options: Options::From(ShopList::Machines),
            ..
        } => Some(s.id.clone()),
        _ => None,
    });
    let machine = first.as_deref().and_then(|id| answers.first(id));
    let open = open_runs(args, &book)?
        .into_iter()
        .find(|r| args.run.is_some() || Some(&r.machine) == machine.as_ref());
    let session = match open {
        Some(run) => {
            let claim = claim_open(&book, &run, clock)?;
            let loaded = log::load(&book, &run.run)?;
            if loaded.state.cutting.is_some() && !loaded.state.from_file {
                return Err(Failure::new(
                    Status::Held,
                    format!("run {} has a cut under way that a person started", run.run),
                )
                .hint("`skimgate walk` in a terminal asks how it ended; a file cannot say"));
            }
            // The file that the run began with is taken as a whole; another holds what is left to answer.
            if loaded.state.begun.answers_file == start.answers_file {
                let events = loaded.events.iter().map(|stamped| &stamped.event);
                answers.drop_given(first.as_deref(), &loaded.state, events);
            } else if let Some(id) = &first {
                answers.skip(id, 1);
            }
            resume::resume(&run.run, book, claim, clock, answers, folder, false)
        }
        None => begin_at(&start, book, clock, answers).map(Some),
    };
    let Some(mut session) = begun(session)?.flatten() else {
        return Ok(Left::Saved);
    };
    session.use_words(args.words)?;
    session.state.one_unit = args.units != "both";
    match session.run() {
        Ok(left) => Ok(left),
        Err(WalkError::Prompter(error)) => {
            // The run stays at this question.
            session.pause(match error {
                PromptError::NotForFile(_) => "an answers file cannot answer what is asked",
                _ => "the answers file ended or did not fit",
            })?;
            Err(error.into())
        }
        Err(error) => Err(error.into()),
    }
}

fn walk(mut session: Session, _around: &CommandContext) -> Result<Status, Failure> {
    Ok(status(session.run()?))
}
