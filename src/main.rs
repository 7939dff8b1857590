//! The `skimgate` program.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(skimgate::cli::run().code())
}
