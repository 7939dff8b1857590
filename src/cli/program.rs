//! `skimgate program`: an NC program examined on its own.

pub mod args;
pub mod file;
pub mod json;
pub mod text;

pub use args::ProgramArgs;

use super::around::Around;
use super::failure::Failure;
use super::status::Status;
use crate::program::dialect::Dialect;
use crate::program::examine::{Verdict, examine};
use crate::program::rules::table;
use crate::report::page::Page;

/// Runs the command.
pub fn run(args: &ProgramArgs, around: &Around) -> Result<Status, Failure> {
    if let Some(code) = &args.explain {
        around.print_page(&explain(code)?)?;
        return Ok(Status::Fine);
    }
    let Some(path) = &args.file else {
        return Err(Failure::usage("no program file is named"));
    };
    let setup = args.setup(around)?;
    let mut file = file::open(path)?;
    let examined = examine(&mut file, &Dialect::default(), &setup)
        .map_err(|e| Failure::usage(format!("{}: {e}", path.display())))?;
    if args.json {
        around.print(&json::written(path, &examined)?)?;
    } else {
        around.print_page(&text::page(path, &examined))?;
    }
    Ok(match examined.verdict {
        Verdict::Agrees | Verdict::Look => Status::Fine,
        Verdict::Stop | Verdict::CannotVouch => Status::Held,
    })
}

fn explain(code: &str) -> Result<Page, Failure> {
    let Some(rule) = table::rule(code) else {
        let known = table::all().into_iter().map(|r| r.code);
        let failure = Failure::usage(format!("there is no rule `{code}`"));
        return Err(
            match crate::diagnostics::nearest::nearest(code, known.clone()) {
                Some(near) => failure.hint(format!("did you mean `{near}`?")),
                None => failure.hint(format!(
                    "the rules: {}",
                    known.collect::<Vec<_>>().join(", ")
                )),
            },
        );
    };
    let vouch = if rule.unsure {
        " What follows it is not vouched for."
    } else {
        ""
    };
    Ok(Page::new()
        .text(format!(
            "{} ({}): {}.{vouch}",
            rule.code,
            rule.grade.word(),
            rule.title
        ))
        .text(format!("Why: {}.", rule.why))
        .text(format!("What to do: {}.", rule.mend)))
}
