//! `skimgate plane`: the touch-off and plane arithmetic on its own.

pub mod args;
pub mod facts;
pub mod fault;
pub mod findings;
pub mod json;
pub mod places;
pub mod readings;
pub mod sense;
pub mod text;

pub use args::PlaneArgs;

use super::Status;
use crate::terminal::screen::{Style, fit};
use crate::visible;
use fault::Fault;
use findings::Findings;
use std::io::{ErrorKind, Read, Write};

/// Runs the command: the answer to `out`, what is wrong to `err`.
///
/// `style` is what `out` can show. `input` is read only where the arguments ask for standard input. A reader that closes `out` early is no failure.
pub fn run(
    args: &PlaneArgs,
    input: &mut dyn Read,
    (style, out, err): (&Style, &mut dyn Write, &mut dyn Write),
) -> Status {
    match answer(args, input, style) {
        Ok(text) => match out
            .write_all(fit(&text, style).as_bytes())
            .and_then(|()| out.flush())
        {
            Err(e) if e.kind() != ErrorKind::BrokenPipe => {
                report_fault(args, err, &Fault::output(&e))
            }
            _ => Status::Fine,
        },
        Err(fault) => report_fault(args, err, &fault),
    }
}

fn answer(args: &PlaneArgs, input: &mut dyn Read, style: &Style) -> Result<String, Fault> {
    let asked = args.checked(input)?;
    let findings = Findings::of(&asked)?;
    if args.json {
        json::written(&findings)
    } else {
        Ok(text::written(&findings, style, args.facts.why))
    }
}

fn report_fault(args: &PlaneArgs, err: &mut dyn Write, fault: &Fault) -> Status {
    let text = if args.json {
        json::fault(fault)
    } else {
        format!("error: {}\n", visible::line(&fault.to_string()))
    };
    // With standard error closed there is nowhere left to say so; the exit status still tells.
    let _ = err.write_all(visible::text(&text).as_bytes());
    fault.status
}
