//! Procedures and shop files, from disk or built in.

use super::context::CommandContext;
use super::failure::Failure;
use super::status::Status;
use crate::diagnostics::render::render;
use crate::diagnostics::{Findings, Source};
use crate::files::{self, FileFault, ReadAs, ReadableBy, Replace};
use crate::procedure::{Procedure, Shop, read, shop};
use crate::terminal::screen::Style;
use crate::walk::begin::ReadFile;
use std::path::Path;
use std::sync::Arc;

/// The default procedure.
pub const BASE_PLATE: &str = include_str!("../../checklists/base-plate.yaml");
/// The invented shop.
pub const SHOP: &str = include_str!("../../checklists/shop.yaml");
/// Answers for a whole walk.
pub const ANSWERS: &str = include_str!("../../checklists/answers/two-roughing.yaml");
/// The invented program they name.
pub const PROGRAM: &str = include_str!("../../checklists/answers/facing-12mm.nc");

/// Reads a text file; says what is wrong with one that is none.
pub fn text(path: &Path) -> Result<String, Failure> {
    let shown = path.display();
    let bytes = files::read(path, ReadAs::Checklist).map_err(|fault| {
        let failure = Failure::usage(format!("{shown} cannot be read: {fault}"));
        match fault {
            FileFault::System(_) => {
                failure.hint("`skimgate init` writes the built-in files to start from")
            }
            _ => failure,
        }
    })?;
    String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        Failure::usage(format!("{shown} is not UTF-8 text (byte {at})"))
            .hint("save it as UTF-8 in your editor")
    })
}

/// Writes a file that a person named. A name that is taken, a symbolic link included, is refused unless they forced it.
pub fn written(to: &Path, text: &str, force: bool, by: ReadableBy) -> Result<(), Failure> {
    let replace = if force { Replace::Yes } else { Replace::Never };
    files::write(to, text.as_bytes(), replace, by).map_err(|fault| {
        let failure = Failure::new(
            Status::Failed,
            format!("{} cannot be written: {fault}", to.display()),
        );
        match fault {
            FileFault::Taken { .. } => {
                failure.hint("name a file that is not there yet, or add --force to replace it")
            }
            _ => failure,
        }
    })
}

/// A procedure, from disk or the built-in one.
pub fn procedure(
    path: Option<&Path>,
    context: &CommandContext,
) -> Result<ReadFile<Procedure>, Failure> {
    load(
        path,
        "base-plate (built in)",
        BASE_PLATE,
        context,
        read::read,
    )
}

/// A shop file, from disk or the built-in one.
pub fn shop(path: Option<&Path>, context: &CommandContext) -> Result<ReadFile<Shop>, Failure> {
    load(path, "shop (built in)", SHOP, context, shop::read)
}

fn load<T>(
    path: Option<&Path>,
    built_in_name: &str,
    built_in: &str,
    context: &CommandContext,
    read: fn(&str, &mut Findings) -> Option<T>,
) -> Result<ReadFile<T>, Failure> {
    let (name, text) = match path {
        Some(path) => (path.display().to_string(), text(path)?),
        None => (built_in_name.to_owned(), built_in.to_owned()),
    };
    let mut findings = Findings::default();
    match read(&text, &mut findings) {
        Some(content) => Ok(ReadFile {
            text,
            content: Arc::new(content),
        }),
        None => Err(faults(&name, &text, findings, &context.err)),
    }
}

/// A failure that shows every finding of a file.
pub fn faults(name: &str, text: &str, findings: Findings, style: &Style) -> Failure {
    let source = Source::new(name, text);
    let found = findings.sorted();
    let drawn: Vec<String> = found
        .iter()
        .map(|f| render(&source, f, CommandContext::look(style)))
        .collect();
    Failure::usage(format!("{name} cannot be used"))
        .drawn(drawn.join("\n"))
        .hint(format!("`skimgate check {name}` shows this again"))
}
