//! The examination as one JSON object; its keys and meanings are stable.

use crate::program::rules::rule::Rule;
use crate::program::study::ProgramStudy;
use crate::quantity::UnitSystem;
use crate::report::lengths::Lengths;
use serde::Serialize;
use serde_json::{Value, json};
use std::path::Path;

/// Version of the object's shape.
const FORMAT: u32 = 1;

/// What is printed of an examination.
#[derive(Serialize)]
pub(crate) struct ExaminationJson<'a> {
    format: u32,
    file: String,
    verdict: &'static str,
    units: Vec<&'static str>,
    work_offsets: Vec<&'static str>,
    min_z_mm: Option<f64>,
    extents_mm: Option<Extents>,
    rows: Option<usize>,
    step_over_mm: Option<f64>,
    feeds_mm_min: &'a [f64],
    spindle_rpm: &'a [f64],
    tools: &'a [u32],
    ends_with: Option<String>,
    /// Null where it is not known how the machine's axes move.
    time_s: Option<f64>,
    /// The least and the most.
    time_range_s: Option<[f64; 2]>,
    /// Null where plate, place or cutter are not known, or it cannot be vouched for.
    uncovered_percent: Option<f64>,
    lines: u64,
    blocks: u64,
    not_judged: &'a [&'static str],
    findings: Vec<Entry<'a>>,
    counts: serde_json::Map<String, Value>,
}

#[derive(Serialize)]
struct Extents {
    x: [f64; 2],
    y: [f64; 2],
    z: [f64; 2],
}

#[derive(Serialize)]
struct Entry<'a> {
    code: &'static str,
    grade: &'static str,
    vouched: bool,
    /// The N word.
    block: Option<u32>,
    /// From 1; null where it is about the program whole.
    line: Option<u32>,
    column: Option<usize>,
    end_column: Option<usize>,
    text: &'a str,
    message: String,
    why: &'static str,
    help: &'static str,
}

/// A ten-thousandth of a millimetre, so that sums of decimals show as they were written.
fn tidy(value: f64) -> f64 {
    (value * 1e4).round() / 1e4 + 0.0
}

/// A tenth of a second.
fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0 + 0.0
}

/// The examination for programs.
pub(crate) fn answer<'a>(path: &Path, study: &'a ProgramStudy) -> ExaminationJson<'a> {
    let examined = &study.examination;
    let summary = &examined.summary;
    ExaminationJson {
        format: FORMAT,
        file: path.display().to_string(),
        verdict: examined.verdict.word(),
        units: summary.units.iter().map(|u| u.symbol()).collect(),
        work_offsets: summary.work_offsets.iter().map(|o| o.code()).collect(),
        min_z_mm: summary.min_z.map(tidy),
        extents_mm: summary.extents.map(|sides| {
            let [x, y, z] = sides.map(|s| s.map(tidy));
            Extents { x, y, z }
        }),
        rows: summary.rows.map(|r| r.count),
        step_over_mm: summary.rows.and_then(|r| r.step).map(tidy),
        feeds_mm_min: &summary.feeds,
        spindle_rpm: &summary.speeds,
        tools: &summary.tools,
        ends_with: summary.ends_with.map(|m| format!("M{m}")),
        time_s: study.time.map(|t| tenth(t.likely)),
        time_range_s: study.time.map(|t| [t.least, t.most].map(tenth)),
        uncovered_percent: study.uncovered().map(tidy),
        lines: summary.lines,
        blocks: summary.blocks,
        not_judged: &examined.not_judged,
        findings: examined
            .findings
            .iter()
            .map(|f| {
                let placed = f.line > 0;
                Entry {
                    code: f.rule.code,
                    grade: f.rule.grade.word(),
                    vouched: !f.rule.unsure,
                    block: f.number,
                    line: placed.then_some(f.line),
                    column: placed.then_some(f.span.start + 1),
                    end_column: placed.then_some(f.span.end + 1),
                    text: &f.text,
                    message: f.message(&|figure| Lengths::new(UnitSystem::Mm).figure(figure)),
                    why: f.rule.why,
                    help: f.rule.mend,
                }
            })
            .collect(),
        counts: examined
            .counts
            .iter()
            .map(|(code, count)| ((*code).to_owned(), (*count).into()))
            .collect(),
    }
}

/// A rule for programs.
pub(crate) fn rule(rule: &Rule) -> Value {
    json!({
        "format": FORMAT,
        "code": rule.code,
        "grade": rule.grade.word(),
        "vouched": !rule.unsure,
        "title": rule.title,
        "why": rule.why,
        "help": rule.mend,
    })
}
