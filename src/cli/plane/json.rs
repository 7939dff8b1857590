//! The answer as one JSON object; its keys and meanings are stable.

use super::fault::Fault;
use super::findings::Findings;
use crate::plate::ZeroMode;
use crate::report::ways::json as ways_json;
use serde::Serialize;

/// Version of the object's shape.
const FORMAT: u8 = 1;

#[derive(Serialize)]
struct Answer<'a> {
    format: u8,
    heights: Vec<Height<'a>>,
    lowest: &'a str,
    highest: &'a str,
    spread_mm: f64,
    passes: Vec<PassLine<'a>>,
    finish: Option<Finish>,
    touched_last: &'a str,
    zero: ZeroMode,
    drift_mm: Option<f64>,
    repeatability_mm: Option<f64>,
    working: &'a [String],
    cautions: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    ways: Option<Vec<serde_json::Value>>,
}

#[derive(Serialize)]
struct Height<'a> {
    point: &'a str,
    height_mm: f64,
}

#[derive(Serialize)]
struct PassLine<'a> {
    plane_mm: f64,
    entry_mm: f64,
    entry_at: &'a str,
    max_bite_mm: f64,
}

/// The finishing pass, which is the last of the passes.
#[derive(Serialize)]
struct Finish {
    plane_mm: f64,
}

#[derive(Serialize)]
struct Wrong<'a> {
    format: u8,
    code: &'a str,
    place: &'a str,
    error: &'a str,
}

/// The findings as a line of JSON.
pub(super) fn written(findings: &Findings) -> Result<String, Fault> {
    let heights = findings.heights.points().iter().map(|p| Height {
        point: &p.point,
        height_mm: p.height.mm(),
    });
    let passes = findings.passes.iter().map(|p| PassLine {
        plane_mm: p.pass.plane.mm(),
        entry_mm: p.entry.value.mm(),
        entry_at: &findings.touched_last,
        max_bite_mm: p.cut.largest().mm(),
    });
    let finishing = findings.passes.iter().find(|p| p.pass.finishing);
    let answer = Answer {
        format: FORMAT,
        heights: heights.collect(),
        lowest: &findings.lowest.point,
        highest: &findings.highest.point,
        spread_mm: findings.spread.mm(),
        passes: passes.collect(),
        finish: finishing.map(|p| Finish {
            plane_mm: p.pass.plane.mm(),
        }),
        touched_last: &findings.touched_last,
        zero: findings.mode,
        drift_mm: findings.drift.map(crate::quantity::Length::mm),
        repeatability_mm: findings.repeatability.map(crate::quantity::Length::mm),
        working: findings.working.lines(),
        cautions: &findings.cautions,
        ways: findings.ways.as_ref().map(|w| ways_json(w)),
    };
    match serde_json::to_string(&answer) {
        Ok(text) => Ok(format!("{text}\n")),
        Err(e) => Err(Fault::output(&e.into())),
    }
}

/// What is wrong as a line of JSON, for standard error.
pub(super) fn fault(fault: &Fault) -> String {
    let wrong = Wrong {
        format: FORMAT,
        code: fault.code,
        place: &fault.place,
        error: &fault.what,
    };
    serde_json::to_string(&wrong).map_or_else(|_| format!("{fault}\n"), |text| format!("{text}\n"))
}
