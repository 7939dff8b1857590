//! The `skimgate` program.

use clap::{Parser, Subcommand};
use skimgate::cli::plane::{self, PlaneArgs};
use std::io::{stderr, stdin, stdout};
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
    Plane(PlaneArgs),
}

fn main() -> ExitCode {
    let Command::Plane(args) = Cli::parse().command;
    let status = plane::run(&args, &mut stdin(), &mut stdout(), &mut stderr());
    ExitCode::from(status.code())
}
