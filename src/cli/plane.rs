//! `skimgate plane`: the touch-off and plane arithmetic on its own.

pub(crate) mod args;
pub(crate) mod facts;
pub(crate) mod findings;
pub(crate) mod json;
pub(crate) mod places;
pub(crate) mod readings;
pub(crate) mod sense;
pub(crate) mod text;

pub(crate) use args::PlaneArgs;

use super::context::CommandContext;
use super::failure::Failure;
use super::status::Status;
use findings::Findings;

/// Runs the command. Standard input is read only where the arguments ask for it.
pub(crate) fn run(args: &PlaneArgs, context: &CommandContext) -> Result<Status, Failure> {
    let findings = Findings::of(&args.checked()?)?;
    if args.report.json {
        context.print_json(&json::answer(&findings))?;
    } else {
        context.print(&text::written(&findings, &context.out, args.facts.why))?;
    }
    Ok(Status::Fine)
}
