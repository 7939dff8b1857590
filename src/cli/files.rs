//! Procedures and shop files, from disk or built in.

use super::context::CommandContext;
use super::failure::Failure;
use super::missing;
use super::status::Status;
use crate::diagnostics::render::render;
use crate::diagnostics::{Findings, Source};
use crate::files::{self, FileFault, ReadAs, ReadableBy, Replace};
use crate::procedure::{Procedure, Shop, read, shop};
use crate::terminal::screen::Style;
use crate::walk::session::begin::ReadFile;
use std::io::{ErrorKind, stdin};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The default procedure.
pub const BASE_PLATE: &str = include_str!("../../checklists/base-plate.yaml");
/// The invented shop.
pub const SHOP: &str = include_str!("../../checklists/shop.yaml");
/// Answers for a whole walk.
pub const ANSWERS: &str = include_str!("../../checklists/answers/two-roughing.yaml");
/// The invented program they name.
pub const PROGRAM: &str = include_str!("../../checklists/answers/facing-12mm.nc");

/// The name of a file as messages show it; `-` is standard input.
pub(crate) fn shown(path: &Path) -> String {
    if is_stdin(path) {
        "<stdin>".to_owned()
    } else {
        path.display().to_string()
    }
}

fn is_stdin(path: &Path) -> bool {
    path.as_os_str() == "-"
}

/// The bytes of a file that a person named, or of standard input for `-`.
///
/// # Errors
/// As [`files::read`].
pub(crate) fn bytes_or_stdin(path: &Path, read_as: ReadAs) -> Result<Vec<u8>, FileFault> {
    if is_stdin(path) {
        files::read_from(&mut stdin().lock(), read_as)
    } else {
        files::read(path, read_as)
    }
}

/// Why a file that a person named cannot be read, and what to do about it.
pub(crate) fn unreadable(fault: &FileFault) -> (String, &'static str) {
    match fault {
        FileFault::System(e) => match e.kind() {
            ErrorKind::NotFound => (
                "there is no such file".to_owned(),
                "is the name right, and the folder?",
            ),
            ErrorKind::PermissionDenied => (
                "you may not read this file".to_owned(),
                "ask for the right to read it",
            ),
            _ => (fault.to_string(), "try to open it in an editor"),
        },
        FileFault::Folder => (
            fault.to_string(),
            "give the name of a file, not of its folder",
        ),
        FileFault::TooLarge(_) => (fault.to_string(), "is it the right file?"),
        FileFault::NotAFile | FileFault::Taken { .. } => {
            (fault.to_string(), "name the file itself")
        }
    }
}

/// The failure of a command whose file cannot be read. Where there is no such file, files of the same ending beside it are
/// listed.
pub(crate) fn failure(path: &Path, fault: &FileFault) -> Failure {
    let (why, help) = unreadable(fault);
    let failure = Failure::at(shown(path), format!("cannot be read: {why}")).hint(help);
    match fault {
        FileFault::System(e) if e.kind() == ErrorKind::NotFound => {
            let names = siblings(path);
            missing::with_known(failure, &shown(path), names.iter().map(String::as_str))
        }
        _ => failure,
    }
}

/// Files with the ending of `path` in its folder, as a person would name them, in order.
fn siblings(path: &Path) -> Vec<String> {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty());
    let entries = std::fs::read_dir(folder.unwrap_or(Path::new(".")));
    let mut names: Vec<String> = entries
        .into_iter()
        .flatten()
        .filter_map(|entry| Some(PathBuf::from(entry.ok()?.file_name())))
        .filter(|name| name.extension().is_some() && name.extension() == path.extension())
        .map(|name| {
            folder
                .map_or(name.clone(), |f| f.join(&name))
                .display()
                .to_string()
        })
        .collect();
    names.sort();
    names
}

/// The text of a file that a person named.
pub(crate) fn text(path: &Path, read_as: ReadAs) -> Result<String, Failure> {
    utf8(path, files::read(path, read_as))
}

/// The text of a file that a person named, or of standard input for `-`.
pub(crate) fn text_or_stdin(path: &Path, read_as: ReadAs) -> Result<String, Failure> {
    utf8(path, bytes_or_stdin(path, read_as))
}

fn utf8(path: &Path, bytes: Result<Vec<u8>, FileFault>) -> Result<String, Failure> {
    let bytes = bytes.map_err(|fault| failure(path, &fault))?;
    String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        Failure::at(shown(path), format!("not UTF-8 text (byte {at})"))
            .hint("save it as UTF-8 in your editor")
    })
}

/// Writes a file that a person named. A name that is taken, a symbolic link included, is refused unless they forced it.
pub(crate) fn written(to: &Path, text: &str, force: bool, by: ReadableBy) -> Result<(), Failure> {
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
pub(crate) fn procedure(
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
pub(crate) fn shop(
    path: Option<&Path>,
    context: &CommandContext,
) -> Result<ReadFile<Shop>, Failure> {
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
        Some(path) => (path.display().to_string(), text(path, ReadAs::Checklist)?),
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
pub(crate) fn faults(name: &str, text: &str, findings: Findings, style: &Style) -> Failure {
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
