//! The `skimgate` program.

use clap::{Parser, Subcommand};
use skimgate::cli::check::{self, CheckArgs};
use skimgate::diagnostics::render::Look;
use skimgate::settings::Settings;
use std::io::{ErrorKind, IsTerminal, stdin, stdout};
use std::process::ExitCode;

/// Walks a plate skim on a small CNC mill step by step.
#[derive(Parser)]
#[command(version)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    Check(CheckArgs),
}

fn main() -> ExitCode {
    let Command::Check(args) = Cli::parse().command;
    let settings = Settings::read();
    let colour = settings.clicolor_force || stdout().is_terminal();
    let look = if colour && !settings.no_color {
        Look::Coloured
    } else {
        Look::Ascii
    };
    match check::run(&args, look, &mut stdin(), &mut stdout().lock()) {
        Ok(status) => ExitCode::from(status),
        Err(e) if e.kind() == ErrorKind::BrokenPipe => ExitCode::SUCCESS,
        Err(e) => {
            eprintln!("error: the report cannot be written: {e}");
            ExitCode::FAILURE
        }
    }
}
