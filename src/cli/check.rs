//! `skimgate check`: every fault of every file at once.
//!
//! The findings are what was asked for, so they go to standard output. A file that cannot be read is a fault like any
//! other: the files after it are checked all the same.

use super::context::CommandContext;
use super::failure::Failure;
use super::files;
use super::reporting::JsonArg;
use super::status::Status;
use crate::diagnostics::json::FindingJson;
use crate::diagnostics::render::{FindingStyle, render};
use crate::diagnostics::{Finding, Findings, Grade, Source, Span};
use crate::files::ReadAs;
use crate::procedure::file::{FileKind, FileRead, read_any};
use crate::procedure::schema;
use crate::simulator::scenario;
use crate::visible;
use clap::{Args, ValueEnum};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// The version of the JSON this command prints.
const JSON_FORMAT: u32 = 1;
/// Most findings of one file that are shown. More than that is not a file to mend line by line.
const MOST_SHOWN: usize = 200;

/// Check procedures and shop files, and explain every fault of all of them at once
///
/// Each file is known by its key `procedure`, `shop` or `rehearsal`. Exit status: 0 when nothing stops the use of any file, 2 when
/// something does or a file cannot be read.
#[derive(Args, Debug)]
#[command(
    after_help = "Examples:\n  skimgate check checklists/*.yaml\n  skimgate check --json - < my-plate.yaml\n  \
                        skimgate check --schema procedure > procedure.schema.json"
)]
pub(crate) struct CheckArgs {
    /// Files to check; - is standard input
    #[arg(required_unless_present = "schema", value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// How it is reported.
    #[command(flatten)]
    pub report: JsonArg,
    /// Print the JSON Schema of a file format, for editors that complete and check while typing
    #[arg(long, value_enum, value_name = "FORMAT", conflicts_with_all = ["files", "json"])]
    pub schema: Option<SchemaOf>,
}

/// A format that has a schema.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum SchemaOf {
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
    unreadable: Option<UnreadableFile>,
}

struct UnreadableFile {
    message: String,
    help: &'static str,
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
    help: Option<&'static str>,
}

/// Runs the command.
pub(crate) fn run(args: &CheckArgs, context: &CommandContext) -> Result<Status, Failure> {
    if let Some(of) = args.schema {
        let text = match of {
            SchemaOf::Procedure => &schema::procedure(),
            SchemaOf::Shop => schema::SHOP,
            SchemaOf::Rehearsal => &scenario::schema(),
        };
        context.print_data(text)?;
        return Ok(Status::Fine);
    }
    let checked: Vec<Checked> = args.files.iter().map(|path| check(path)).collect();
    if args.report.json {
        context.print_json(&report(&checked))?;
    } else {
        context.print(&written(&checked, context.finding_style()))?;
    }
    let sound = checked.iter().all(|c| c.errors == 0);
    Ok(if sound { Status::Fine } else { Status::Usage })
}

fn check(path: &Path) -> Checked {
    let name = files::shown(path);
    let bytes = files::bytes_or_stdin(path, ReadAs::Checklist).map_err(|fault| {
        let (message, help) = files::unreadable(&fault);
        UnreadableFile { message, help }
    });
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

impl Checked {
    fn not_listed(&self) -> usize {
        let listed = self.findings.len() + usize::from(self.unreadable.is_some());
        (self.errors + self.looks).saturating_sub(listed)
    }
}

fn written(checked: &[Checked], look: FindingStyle) -> String {
    let mut out = String::new();
    let narrated = look == FindingStyle::Narrated;
    for file in checked {
        let name = visible::line(&file.source.name);
        if let Some(why) = &file.unreadable {
            let (message, help) = (&why.message, why.help);
            out += &if narrated {
                format!("{name}: error: {message}. Mend: {help}\n")
            } else {
                format!("error: {message}\n --> {name}\n  = help: {help}\n\n")
            };
        }
        for finding in &file.findings {
            out += &render(&file.source, finding, look);
            out += if narrated { "\n" } else { "\n\n" };
        }
        if file.not_listed() > 0 {
            let more = file.not_listed();
            out += &format!("{name}: {more} more; mend these first\n\n");
        }
    }
    out + &sum(checked) + "\n"
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

fn report(checked: &[Checked]) -> Report {
    Report {
        format: JSON_FORMAT,
        errors: checked.iter().map(|c| c.errors).sum(),
        looks: checked.iter().map(|c| c.looks).sum(),
        files: checked.iter().map(file_json).collect(),
        findings: checked
            .iter()
            .flat_map(|c| c.findings.iter().map(|f| FindingJson::new(&c.source, f)))
            .collect(),
    }
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
        help: checked.unreadable.as_ref().map(|u| u.help),
    }
}
