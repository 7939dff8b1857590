//! Findings as JSON, for other programs.

use super::finding::{Finding, Grade, Source};
use serde::Serialize;

/// A finding in JSON output.
#[derive(Serialize, Debug)]
pub struct FindingJson {
    /// `error` or `look`.
    pub grade: &'static str,
    /// The name of the file, as the person gave it.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// Line of the end.
    pub end_line: usize,
    /// Column of the end, exclusive.
    pub end_column: usize,
    /// The text of the first line.
    pub text: String,
    /// What is wrong.
    pub message: String,
    /// What to write instead.
    pub help: Option<String>,
}

impl FindingJson {
    /// The finding, with its line and column in `source`.
    pub fn new(source: &Source, finding: &Finding) -> Self {
        let (line, column) = source.line_column(finding.span.start);
        let (end_line, end_column) = source.line_column(finding.span.end);
        Self {
            grade: match finding.grade {
                Grade::Error => "error",
                Grade::Look => "look",
            },
            file: source.name.clone(),
            line,
            column,
            end_line,
            end_column,
            text: source.line(line).to_owned(),
            message: if finding.label.is_empty() {
                finding.message.clone()
            } else {
                format!("{} ({})", finding.message, finding.label)
            },
            help: finding.help.clone(),
        }
    }
}
