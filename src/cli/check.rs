//! `skimgate check`: every fault of every file at once.
//!
//! The findings are what was asked for, so they go to standard output. A file that cannot be read is a fault like any
//! other: the files after it are checked all the same.

use crate::diagnostics::json::FindingJson;
use crate::diagnostics::render::{Look, render};
use crate::diagnostics::{Finding, Findings, Grade, Source, Span};
use crate::files::{self, FileFault, ReadAs};
use crate::procedure::file::{FileKind, FileRead, read_any};
use crate::procedure::schema;
use crate::rehearse::scenario;
use crate::visible;
use clap::{Args, ValueEnum};
use serde::Serialize;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// The version of the JSON this command prints.
const JSON_FORMAT: u32 = 1;
/// Nothing was found that stops the use of a file.
const FINE: u8 = 0;
/// A file has an error, or could not be read.
const UNUSABLE: u8 = 2;
/// Most findings of one file that are shown. More than that is not a file to mend line by line.
const MOST_SHOWN: usize = 200;
/// What standard input is called in messages.
const STDIN: &str = "<stdin>";

/// Check procedures and shop files, and explain every fault of all of them at once
///
/// Each file is known by its key `procedure`, `shop` or `rehearsal`. Exit status: 0 when nothing stops the use of any file, 2 when
/// something does or a file cannot be read.
#[derive(Args, Debug)]
#[command(
    after_help = "Examples:\n  skimgate check checklists/*.yaml\n  skimgate check --json - < my-plate.yaml\n  \
                        skimgate check --schema procedure > procedure.schema.json"
)]
pub struct CheckArgs {
    /// Files to check; - is standard input
    #[arg(required_unless_present = "schema", value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Print one JSON object instead of text
    #[arg(long, conflicts_with = "schema")]
    pub json: bool,
    /// Print the JSON Schema of a file format, for editors that complete and check while typing
    #[arg(long, value_enum, value_name = "FORMAT", conflicts_with = "files")]
    pub schema: Option<SchemaOf>,
}

/// A format that has a schema.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum SchemaOf {
    /// The procedure file
    Procedure,
    /// The shop file
    Shop,
    /// A trainer's scenario for a rehearsal
    Rehearsal,
}

/// What was found in one file.
struct Checked {
    source: Source,
    read: FileRead,
    /// The first of them, in the order of their places.
    findings: Vec<Finding>,
    errors: usize,
    looks: usize,
    /// Why the file could not be read, and what to do.
    unreadable: Option<Unreadable>,
}

struct Unreadable {
    message: String,
    help: String,
}

#[derive(Serialize)]
struct Report {
    format: u32,
    errors: usize,
    looks: usize,
    files: Vec<FileJson>,
    findings: Vec<FindingJson>,
}

#[derive(Serialize)]
struct FileJson {
    file: String,
    /// `procedure`, `shop`, `rehearsal`, or null where neither can be told.
    kind: Option<&'static str>,
    /// The id of the procedure, or the name of the shop.
    name: Option<String>,
    errors: usize,
    looks: usize,
    /// How many findings are counted but not listed, past the first 200 of the file.
    not_listed: usize,
    /// Why the file could not be read; null when it was.
    unreadable: Option<String>,
    /// What to do about that.
    help: Option<String>,
}

/// Checks the files named in `args` and reports to `out`; `-` reads `input`. Gives the exit status.
///
/// # Errors
/// Only when `out` cannot be written.
pub fn run(
    args: &CheckArgs,
    look: Look,
    input: &mut impl Read,
    out: &mut impl Write,
) -> io::Result<u8> {
    if let Some(of) = args.schema {
        let text = match of {
            SchemaOf::Procedure => &schema::procedure(),
            SchemaOf::Shop => schema::SHOP,
            SchemaOf::Rehearsal => &scenario::schema(),
        };
        out.write_all(text.as_bytes())?;
        return Ok(FINE);
    }
    let checked: Vec<Checked> = args.files.iter().map(|path| check(path, input)).collect();
    if args.json {
        write_json(&checked, out)?;
    } else {
        write_text(&checked, look, out)?;
    }
    let errors: usize = checked.iter().map(|c| c.errors).sum();
    Ok(if errors == 0 { FINE } else { UNUSABLE })
}

fn check(path: &Path, input: &mut impl Read) -> Checked {
    let stdin = path.as_os_str() == "-";
    let name = if stdin {
        STDIN.to_owned()
    } else {
        path.display().to_string()
    };
    let bytes = if stdin {
        files::read_from(input, ReadAs::Checklist)
    } else {
        files::read(path, ReadAs::Checklist)
    };
    let bytes = bytes.map_err(|fault| trouble(&fault));
    let mut findings = Findings::default();
    let (text, read, unreadable) = match bytes {
        Err(unreadable) => (String::new(), FileRead::default(), Some(unreadable)),
        Ok(bytes) => match String::from_utf8(bytes) {
            Ok(text) => {
                let read = if scenario::is_one(&text) {
                    FileRead {
                        kind: Some(FileKind::Rehearsal),
                        name: scenario::read(&text, &mut findings).map(|s| s.title),
                        content: None,
                    }
                } else {
                    read_any(&text, &mut findings)
                };
                (text, read, None)
            }
            Err(e) => {
                let at = e.utf8_error().valid_up_to();
                let bytes = e.into_bytes();
                not_utf8(&bytes, at, &mut findings);
                let text = String::from_utf8_lossy(&bytes).into_owned();
                (text, FileRead::default(), None)
            }
        },
    };
    let mut findings = findings.sorted();
    let count = |grade| findings.iter().filter(|f| f.grade == grade).count();
    let errors = count(Grade::Error) + usize::from(unreadable.is_some());
    let looks = count(Grade::Look);
    findings.truncate(MOST_SHOWN);
    Checked {
        source: Source::new(name, text),
        read,
        findings,
        errors,
        looks,
        unreadable,
    }
}

/// The bytes before `at` are sound, so the place is the same in the text with its unsound bytes replaced.
fn not_utf8(bytes: &[u8], at: usize, findings: &mut Findings) {
    let span = Span::new(at, at + char::REPLACEMENT_CHARACTER.len_utf8());
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        findings
            .error(
                span,
                "this file is written in UTF-16, and UTF-8 is read here",
            )
            .help("save it as UTF-8 in your editor");
        return;
    }
    findings
        .error(
            span,
            format!("byte {} of this file is not UTF-8 text", at + 1),
        )
        .help("save it as UTF-8 in your editor, or type the character at this place again");
}

fn trouble(fault: &FileFault) -> Unreadable {
    match fault {
        FileFault::System(e) => match e.kind() {
            io::ErrorKind::NotFound => unreadable(
                "there is no such file",
                "is the name right, and the folder?",
            ),
            io::ErrorKind::PermissionDenied => unreadable(
                "this file may not be read by you",
                "ask for the right to read it",
            ),
            _ => unreadable(
                format!("this file cannot be read: {e}"),
                "try to open it in an editor",
            ),
        },
        FileFault::Folder => a_folder(),
        FileFault::TooLarge(_) => unreadable(
            "this is longer than 4 MiB, and no procedure or shop file is",
            "is it the right file?",
        ),
        FileFault::NotAFile | FileFault::Taken { .. } => unreadable(
            "this is not a regular file",
            "name a file; - reads standard input",
        ),
    }
}

fn a_folder() -> Unreadable {
    unreadable(
        "this is a folder",
        "name the files in it, as in `skimgate check FOLDER/*.yaml`",
    )
}

fn unreadable(message: impl Into<String>, help: impl Into<String>) -> Unreadable {
    Unreadable {
        message: message.into(),
        help: help.into(),
    }
}

impl Checked {
    fn not_listed(&self) -> usize {
        let listed = self.findings.len() + usize::from(self.unreadable.is_some());
        (self.errors + self.looks).saturating_sub(listed)
    }
}

fn write_text(checked: &[Checked], look: Look, out: &mut impl Write) -> io::Result<()> {
    for file in checked {
        let name = visible::line(&file.source.name);
        if let Some(why) = &file.unreadable {
            if look == Look::Narrated {
                writeln!(out, "{name}: error: {}. Mend: {}", why.message, why.help)?;
            } else {
                writeln!(out, "error: {}", why.message)?;
                writeln!(out, " --> {name}")?;
                writeln!(out, "  = help: {}\n", why.help)?;
            }
        }
        for finding in &file.findings {
            writeln!(out, "{}", render(&file.source, finding, look))?;
            if look != Look::Narrated {
                writeln!(out)?;
            }
        }
        if file.not_listed() > 0 {
            writeln!(
                out,
                "{name}: {} more; mend these first\n",
                file.not_listed()
            )?;
        }
    }
    writeln!(out, "{}", sum(checked))
}

/// One line that adds everything up.
fn sum(checked: &[Checked]) -> String {
    let errors: usize = checked.iter().map(|c| c.errors).sum();
    let looks: usize = checked.iter().map(|c| c.looks).sum();
    let with = checked.iter().filter(|c| c.errors + c.looks > 0).count();
    let files = counted(checked.len(), "file");
    let found = match (errors, looks) {
        (0, 0) => return format!("{files} checked, nothing to mend"),
        (_, 0) => counted(errors, "error"),
        (0, _) => counted(looks, "look"),
        _ => format!("{}, {}", counted(errors, "error"), counted(looks, "look")),
    };
    if checked.len() == 1 {
        format!("{found} in 1 file")
    } else {
        format!("{found} in {with} of {files}")
    }
}

fn counted(n: usize, noun: &str) -> String {
    format!("{n} {noun}{}", if n == 1 { "" } else { "s" })
}

fn write_json(checked: &[Checked], out: &mut impl Write) -> io::Result<()> {
    let report = Report {
        format: JSON_FORMAT,
        errors: checked.iter().map(|c| c.errors).sum(),
        looks: checked.iter().map(|c| c.looks).sum(),
        files: checked.iter().map(file_json).collect(),
        findings: checked
            .iter()
            .flat_map(|c| c.findings.iter().map(|f| FindingJson::new(&c.source, f)))
            .collect(),
    };
    let json = serde_json::to_string_pretty(&report)?;
    writeln!(out, "{}", visible::text(&json))
}

fn file_json(checked: &Checked) -> FileJson {
    FileJson {
        file: checked.source.name.clone(),
        kind: checked.read.kind.map(|kind| match kind {
            FileKind::Procedure => "procedure",
            FileKind::Shop => "shop",
            FileKind::Rehearsal => "rehearsal",
        }),
        name: checked.read.name.clone(),
        errors: checked.errors,
        looks: checked.looks,
        not_listed: checked.not_listed(),
        unreadable: checked.unreadable.as_ref().map(|u| u.message.clone()),
        help: checked.unreadable.as_ref().map(|u| u.help.clone()),
    }
}
