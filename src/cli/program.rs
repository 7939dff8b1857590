//! `skimgate program`: an NC program examined on its own.

pub(crate) mod args;
pub mod file;
pub(crate) mod json;

pub(crate) use args::ProgramArgs;

use super::context::CommandContext;
use super::failure::Failure;
use super::files::written;
use super::missing::no_such;
use super::status::Status;
use crate::files::ReadableBy;
use crate::program::examine::Verdict;
use crate::program::picture::findings::place_findings;
use crate::program::rules::rule::Rule;
use crate::program::rules::table;
use crate::program::study::{ProgramStudy, study};
use crate::report::lengths::Lengths;
use crate::report::page::Page;
use crate::report::{cover, examined, html, plan};
use std::path::Path;

/// Runs the command.
pub(crate) fn run(args: &ProgramArgs, context: &CommandContext) -> Result<Status, Failure> {
    if let Some(code) = &args.explain {
        let rule = known_rule(code)?;
        if args.report.json {
            context.print_json(&json::rule(rule))?;
        } else {
            context.print_page(&explain(rule))?;
        }
        return Ok(Status::Fine);
    }
    let Some(path) = &args.file else {
        return Err(Failure::usage("no program file is named"));
    };
    let against = args.against(context)?;
    let mut file = file::open(path)?;
    let mut study = study(
        &mut file,
        &against.dialect,
        &against.setup,
        against.dynamics,
    )
    .map_err(|e| Failure::usage(format!("{}: {e}", path.display())))?;
    place_findings(&mut study, &mut file, &against.dialect)
        .map_err(|e| Failure::usage(format!("{}: {e}", path.display())))?;
    let lengths = args
        .report
        .unit
        .map_or_else(|| Lengths::of(&study), Lengths::new);
    if let Some(drawing) = &args.svg {
        draw(drawing, args.force, path, &study, lengths)?;
    }
    if args.report.json {
        context.print_json(&json::answer(path, &study))?;
    } else {
        context.print_page(&examined::page(path.display().to_string(), &study, lengths))?;
    }
    Ok(match study.examination.verdict {
        Verdict::Agrees | Verdict::Look => Status::Fine,
        Verdict::Stop | Verdict::CannotVouch => Status::Held,
    })
}

/// Writes the drawing. Even a forced one has a drawing's name: a program or a shop file named by mistake stays.
fn draw(
    to: &Path,
    force: bool,
    path: &Path,
    study: &ProgramStudy,
    lengths: Lengths,
) -> Result<(), Failure> {
    let shown = to.display();
    let Some(mut scene) = plan::of_study(study, lengths) else {
        return Err(Failure::usage(format!(
            "{shown} is not written: it is not known where the plate lies, or how large it is"
        ))
        .hint("give `x corner` and `y corner` to the plate in the shop file, or say --corner X,Y")
        .hint("look at the plate's length and width in the shop file"));
    };
    let drawing = to
        .extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("svg"));
    if !drawing {
        return Err(Failure::usage(format!(
            "{shown} is not written: its name does not end in .svg"
        ))
        .hint("name the drawing such as facing.svg"));
    }
    scene.title = format!("{}: {}", path.display(), study.examination.verdict.word());
    if let Some(covered) = &study.covered {
        scene
            .notes
            .extend(cover::words(covered, &study.doubts, lengths));
    }
    if let Some(time) = &study.time {
        scene.notes.extend(cover::time(time));
    }
    written(to, &html::drawing(&scene), force, ReadableBy::Default)
}

fn known_rule(code: &str) -> Result<&'static Rule, Failure> {
    table::rule(code).ok_or_else(|| {
        let known = table::all().iter().map(|r| r.code);
        no_such("this program", "rule", code, known)
    })
}

fn explain(rule: &Rule) -> Page {
    let vouch = if rule.unsure {
        " What follows it is not vouched for."
    } else {
        ""
    };
    Page::new()
        .text(format!(
            "{} ({}): {}.{vouch}",
            rule.code,
            rule.grade.word(),
            rule.title
        ))
        .text(format!("Why: {}.", rule.why))
        .text(format!("What to do: {}.", rule.mend))
}
