//! `skimgate gate`: is cycle start released?

use super::context::CommandContext;
use super::failure::Failure;
use super::reporting::JsonArg;
use super::status::Status;
use crate::book::{Book, RunSummary};
use crate::clock::{self, SystemClock};
use crate::diagnostics::nearest::nearest;
use crate::interlock::gate;
use crate::interlock::service::CLEARS;
use crate::report;
use crate::report::page::{Page, Tone};
use crate::walk::WalkError;
use crate::walk::session::service;
use crate::walk::store::{machines, released};
use serde::Serialize;

/// Report whether cycle start is released, and every reason if it is not
#[derive(clap::Args, Debug)]
#[command(
    after_help = "Exit status: 0 released, 3 held, 4 the book is damaged. For scripts:\n  skimgate gate --machine mill-a && echo released"
)]
pub(crate) struct GateArgs {
    /// The machine asked about; needed where runs are open on several
    #[arg(long, value_name = "ID")]
    pub machine: Option<String>,
    /// How it is reported.
    #[command(flatten)]
    pub report: JsonArg,
}

#[derive(Serialize)]
struct Json<'a> {
    format: u32,
    released: bool,
    run: Option<&'a str>,
    machine: Option<&'a str>,
    operator: Option<&'a str>,
    cut: Option<String>,
    until: Option<String>,
    holds: Vec<HoldJson>,
}

#[derive(Serialize)]
struct HoldJson {
    step: Option<String>,
    pass: Option<u32>,
    why: String,
    clears: String,
}

/// Runs it. What cannot be read now, such as a locked book, releases nothing.
pub(crate) fn run(args: &GateArgs, context: &CommandContext) -> Result<Status, Failure> {
    match asked(args, context) {
        Err(Undetermined::Damage(error)) if args.report.json => damaged(args, context, &error),
        Err(Undetermined::Damage(error)) => Err(error.into()),
        Err(Undetermined::Other(mut failure)) => {
            if failure.status == Status::Failed {
                failure.status = Status::Held;
            }
            Err(failure)
        }
        Ok(status) => Ok(status),
    }
}

/// Why it cannot be said.
enum Undetermined {
    Damage(WalkError),
    Other(Failure),
}

impl From<Failure> for Undetermined {
    fn from(failure: Failure) -> Self {
        Self::Other(failure)
    }
}

impl From<WalkError> for Undetermined {
    fn from(error: WalkError) -> Self {
        if error.damage().is_some() {
            Self::Damage(error)
        } else {
            Self::Other(error.into())
        }
    }
}

fn asked(args: &GateArgs, context: &CommandContext) -> Result<Status, Undetermined> {
    let Some(book) = context.existing_book()? else {
        return Ok(no_run(args, context)?);
    };
    released::check_book(&book)?;
    let Some(run) = find(args, &book)? else {
        return Ok(no_run(args, context)?);
    };
    let seen = released::observe(&book, &run, &SystemClock)?;
    Ok(report(args, context, &run, seen)?)
}

/// A book that cannot be trusted to say, for programs.
fn damaged(
    args: &GateArgs,
    context: &CommandContext,
    error: &WalkError,
) -> Result<Status, Failure> {
    let hold = HoldJson {
        step: None,
        pass: None,
        why: error.to_string(),
        clears: "see `skimgate record verify`".to_owned(),
    };
    held_without_run(args, context, vec![hold])?;
    Ok(Status::Damaged)
}

fn report(
    args: &GateArgs,
    context: &CommandContext,
    run: &RunSummary,
    seen: released::ObservedRun,
) -> Result<Status, Failure> {
    let state = seen.state;
    let show = state.show();
    let until = state.release.as_ref().map(|r| r.until);
    let (cut, holds) = match seen.released {
        Ok(cleared) => (Some(cleared.at().clone()), Vec::new()),
        Err(holds) => (None, holds),
    };
    let released = cut.is_some();
    if args.report.json {
        let json = Json {
            format: 1,
            released,
            run: Some(&run.run),
            machine: Some(&run.machine),
            operator: Some(&state.operator),
            cut: cut.map(|c| c.to_string()),
            until: until.filter(|_| released).map(|u| u.to_string()),
            holds: holds
                .iter()
                .map(|h| HoldJson {
                    step: h.at.as_ref().map(|a| a.step.clone()),
                    pass: h.at.as_ref().and_then(|a| a.pass),
                    why: h.words(&show),
                    clears: h.clears(),
                })
                .collect(),
        };
        context.print_json(&json)?;
    } else if released {
        let until = until.map_or(String::new(), clock::local_time);
        let page = Page::new()
            .toned(
                Tone::Good,
                format!(
                    "RELEASED to {} on {}, run {}, once, until {until}.",
                    state.operator, run.machine, run.run
                ),
            )
            .text("Nothing recorded holds the start. skimgate cannot see the machine; the operator decides.");
        context.print_page(&page)?;
    } else {
        let page = Page::new()
            .toned(
                Tone::Stop,
                format!(
                    "HELD on {}, run {}, {}:",
                    run.machine,
                    run.run,
                    gate::reasons(holds.len())
                ),
            )
            .then(report::holds::page(&state, &holds, &show));
        context.print_page(&page)?;
    }
    Ok(if released { Status::Fine } else { Status::Held })
}

/// The open run asked about.
fn find(args: &GateArgs, book: &Book) -> Result<Option<RunSummary>, Failure> {
    let mut open = book.open_runs()?;
    if let Some(machine) = &args.machine {
        open.retain(|r| r.machine == *machine);
    }
    match open.as_slice() {
        [] => Ok(None),
        [one] => Ok(Some(one.clone())),
        several => {
            let machines: Vec<&str> = several.iter().map(|r| r.machine.as_str()).collect();
            Err(
                Failure::usage(format!("runs are open on {}", machines.join(", "))).hint(format!(
                    "name one: `skimgate gate --machine {}`",
                    machines.first().unwrap_or(&"ID")
                )),
            )
        }
    }
}

fn no_run(args: &GateArgs, context: &CommandContext) -> Result<Status, Failure> {
    let out = match context.existing_book()? {
        Some(book) => machines::all(&book, args.machine.as_deref())?,
        None => Vec::new(),
    };
    let on = args
        .machine
        .as_deref()
        .map_or(String::new(), |m| format!(" on {m}"));
    let meant = meant(args, context)?;
    if args.report.json {
        let mut holds: Vec<HoldJson> = out
            .iter()
            .map(|(machine, seen)| HoldJson {
                step: None,
                pass: None,
                why: format!("{machine} is out of service. {}", seen.words()),
                clears: CLEARS.to_owned(),
            })
            .collect();
        holds.push(HoldJson {
            step: None,
            pass: None,
            why: format!("no run is open{on}"),
            clears: format!("begin one with `skimgate walk`{meant}"),
        });
        held_without_run(args, context, holds)?;
    } else {
        let page = out
            .iter()
            .fold(Page::new(), |page, (machine, seen)| {
                page.then(service::page(machine, seen))
            })
            .toned(Tone::Stop, format!("HELD: no run is open{on}."))
            .next(format!("`skimgate walk` begins one{meant}."));
        context.print_page(&page)?;
    }
    Ok(Status::Held)
}

/// A machine of the book that may have been meant, where no run was ever on the one asked about.
fn meant(args: &GateArgs, context: &CommandContext) -> Result<String, Failure> {
    let (Some(machine), Some(book)) = (&args.machine, context.existing_book()?) else {
        return Ok(String::new());
    };
    let runs = book.runs()?;
    if runs.iter().any(|r| r.machine == *machine) {
        return Ok(String::new());
    }
    let known = runs.iter().map(|r| r.machine.as_str());
    let near = nearest(machine, known);
    Ok(near.map_or(String::new(), |near| format!("; did you mean `{near}`?")))
}

fn held_without_run(
    args: &GateArgs,
    context: &CommandContext,
    holds: Vec<HoldJson>,
) -> Result<(), Failure> {
    let json = Json {
        format: 1,
        released: false,
        run: None,
        machine: args.machine.as_deref(),
        operator: None,
        cut: None,
        until: None,
        holds,
    };
    context.print_json(&json)
}
