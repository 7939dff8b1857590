//! `skimgate plane`: the touch-off and plane arithmetic on its own.

pub mod args;
pub mod facts;
pub mod findings;
pub mod json;
pub mod places;
pub mod readings;
pub mod sense;
pub mod text;

pub use args::PlaneArgs;

use super::context::CommandContext;
use super::failure::Failure;
use super::status::Status;
use findings::Findings;

/// Runs the command. Standard input is read only where the arguments ask for it.
pub fn run(args: &PlaneArgs, context: &CommandContext) -> Result<Status, Failure> {
    let findings = Findings::of(&args.checked()?)?;
    if args.report.json {
        context.print_json(&json::answer(&findings))?;
    } else {
        context.print(&text::written(&findings, &context.out, args.facts.why))?;
    }
    Ok(Status::Fine)
}
