//! The command line: one file a command, each with its arguments and a function that runs them.

pub mod bare;
pub mod check;
pub mod context;
pub mod failure;
pub mod files;
pub mod gate;
pub mod init;
pub mod people;
pub mod plane;
pub mod program;
pub mod record;
pub mod rehearse;
pub mod status;
pub mod stock;
pub mod unit;
pub mod walk;

pub use status::Status;

use crate::settings::arguments;
use crate::visible;
use clap::{Parser, Subcommand};
use context::{CommandContext, Global};
use failure::Failure;
use std::io::{IsTerminal, stderr, stdin, stdout};

/// Walks a plate skim on a small CNC mill step by step, computes every depth with its working shown, and holds cycle
/// start until it is signed off.
///
/// skimgate cannot stop a machine and is no safety device: guards, emergency stop, the machine's manual, local codes and
/// the shop's competent or licensed people come first.
#[derive(Parser, Debug)]
#[command(version, after_help = AFTER)]
pub struct Cli {
    #[command(flatten)]
    global: Global,
    #[command(subcommand)]
    command: Option<Command>,
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
    match dispatch(cli.command.as_ref(), &context) {
        Ok(status) => status,
        Err(failure) => {
            let mut text = failure.to_string();
            // What reads a pipe finds a message on one line.
            if stderr().is_terminal() {
                text = failure::wrapped(&text, &context.err);
            }
            let _ = context.screen().write(&format!("{text}\n"));
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

fn dispatch(command: Option<&Command>, context: &CommandContext) -> Result<Status, Failure> {
    match command {
        None => bare::run(context),
        Some(Command::Walk(args)) => walk::run(args, context),
        Some(Command::Gate(args)) => gate::run(args, context),
        Some(Command::Plane(args)) => {
            let (mut out, mut err) = (stdout(), stderr());
            Ok(plane::run(
                args,
                &mut stdin(),
                (&context.out, &mut out, &mut err),
            ))
        }
        Some(Command::Program(args)) => program::run(args, context),
        Some(Command::Check(args)) => {
            let look = CommandContext::look(&context.out);
            match check::run(args, look, &mut stdin(), &mut stdout().lock()) {
                Ok(0) => Ok(Status::Fine),
                Ok(_) => Ok(Status::Usage),
                // A reader that went away has seen what it wanted.
                Err(e) if e.kind() == std::io::ErrorKind::BrokenPipe => Ok(Status::Fine),
                Err(e) => Err(e.into()),
            }
        }
        Some(Command::People(args)) => people::run(args, context),
        Some(Command::Record(args)) => record::run(args, context),
        Some(Command::Rehearse(args)) => rehearse::run(args, context),
        Some(Command::Stock(args)) => stock::run(args, context),
        Some(Command::Init(args)) => init::run(args, context),
    }
}
