//! The command line: one file a command, each with its arguments and a function that runs them.

pub(crate) mod bare;
pub(crate) mod check;
pub(crate) mod context;
pub(crate) mod failure;
pub mod files;
pub(crate) mod gate;
pub(crate) mod init;
mod missing;
pub(crate) mod people;
pub(crate) mod plane;
pub mod program;
pub(crate) mod record;
pub(crate) mod rehearse;
pub(crate) mod reporting;
pub(crate) mod status;
pub(crate) mod stock;
pub(crate) mod walk;

pub(crate) use status::Status;

use crate::settings::arguments;
use crate::terminal::screen::Screen;
use crate::visible;
use clap::{Parser, Subcommand};
use context::{CommandContext, Global};
use failure::Failure;
use reporting::JsonArg;
use std::io::{IsTerminal, stderr};

/// Walks a plate skim on a small CNC mill step by step, computes every depth with its working shown, and holds cycle
/// start until it is signed off.
///
/// skimgate cannot stop a machine and is no safety device: guards, emergency stop, the machine's manual, local codes and
/// the shop's competent or licensed people come first.
#[derive(Parser, Debug)]
#[command(version, after_help = AFTER)]
pub(crate) struct Cli {
    #[command(flatten)]
    global: Global,
    #[command(subcommand)]
    command: Option<Command>,
    /// How what is open is reported, where no command is named.
    #[command(flatten)]
    report: JsonArg,
}

const AFTER: &str = "Without a command: what is open and what to type next.\n\
    Exit status: 0 fine, 1 failed, 2 wrong usage or unreadable input, 3 held, 4 the book is damaged, 130 interrupted and saved.\n\
    The book is kept in this computer's state folder, or where --book or SKIMGATE_BOOK say.";

#[derive(Subcommand, Debug)]
enum Command {
    Walk(walk::WalkArgs),
    Gate(gate::GateArgs),
    Plane(Box<plane::PlaneArgs>),
    Program(Box<program::ProgramArgs>),
    Check(check::CheckArgs),
    People(people::PeopleArgs),
    Record(record::RecordArgs),
    Rehearse(rehearse::RehearseArgs),
    Stock(stock::StockArgs),
    Init(init::InitArgs),
}

/// Reads the command line and runs it.
pub fn run() -> Status {
    let cli = match Cli::try_parse_from(arguments()) {
        Ok(cli) => cli,
        Err(error) => {
            let error = shown(error);
            // A closed pipe is the only way this fails, and then nobody reads it.
            let _ = error.print();
            return if error.use_stderr() {
                Status::Usage
            } else {
                Status::Fine
            };
        }
    };
    let context = CommandContext::new(cli.global);
    let json = match &cli.command {
        None => cli.report.json,
        Some(command) => command.json(),
    };
    let done = match &cli.command {
        None => bare::run(&context, cli.report.json),
        Some(_) if cli.report.json => Err(Failure::at("--json", "goes after the command")),
        Some(command) => command.run(&context),
    };
    match done {
        Ok(status) => status,
        Err(failure) => {
            let text = if json {
                failure.json()
            } else if stderr().is_terminal() {
                failure::wrapped(&failure.to_string(), &context.err)
            } else {
                // What reads a pipe finds a message on one line.
                failure.to_string()
            };
            let _ = Screen::write(&format!("{text}\n"));
            failure.status
        }
    }
}

/// A message of the argument reader repeats what was typed; made anew from arguments in which nothing steers a terminal.
fn shown(error: clap::Error) -> clap::Error {
    let given = arguments();
    let safe: Vec<String> = given
        .map(|word| visible::line(&word.to_string_lossy()).into_owned())
        .collect();
    match Cli::try_parse_from(safe) {
        Err(shown) => shown,
        // Only the form of the bytes was wrong, and that message repeats nothing.
        Ok(_) => clap::Error::raw(
            error.kind(),
            format!(
                "{}\n",
                visible::text(error.to_string().trim_start_matches("error: ").trim_end())
            ),
        ),
    }
}

impl Command {
    fn run(&self, context: &CommandContext) -> Result<Status, Failure> {
        match self {
            Self::Walk(args) => walk::run(args, context),
            Self::Gate(args) => gate::run(args, context),
            Self::Plane(args) => plane::run(args, context),
            Self::Program(args) => program::run(args, context),
            Self::Check(args) => check::run(args, context),
            Self::People(args) => people::run(args, context),
            Self::Record(args) => record::run(args, context),
            Self::Rehearse(args) => rehearse::run(args, context),
            Self::Stock(args) => stock::run(args, context),
            Self::Init(args) => init::run(args, context),
        }
    }

    /// Whether a program reads what it reports, and a failure of it too.
    fn json(&self) -> bool {
        match self {
            Self::Gate(args) => args.report.json,
            Self::Plane(args) => args.report.json,
            Self::Program(args) => args.report.json,
            Self::Check(args) => args.report.json,
            Self::People(args) => args.json(),
            Self::Record(args) => args.json(),
            Self::Rehearse(args) => args.report.json,
            Self::Stock(args) => args.json(),
            Self::Walk(_) | Self::Init(_) => false,
        }
    }
}
