//! The answer as one JSON object; its keys and meanings are stable.

use super::findings::Findings;
use super::places::MapAndVerdict;
use crate::plate::ZeroMode;
use crate::plate::{Form, GuessError, TouchedPlate, UncertaintyKind, Verdict};
use crate::report::ways::json as ways_json;
use serde::Serialize;
use serde_json::{Value, json};

/// Version of the object's shape.
const FORMAT: u8 = 1;

#[derive(Serialize)]
pub(super) struct PlaneJson<'a> {
    format: u8,
    heights: Vec<Height<'a>>,
    lowest: &'a str,
    highest: &'a str,
    spread_mm: f64,
    passes: Vec<PassJson<'a>>,
    finish: Option<Finish>,
    touched_last: &'a str,
    zero: ZeroMode,
    drift_mm: Option<f64>,
    repeatability_mm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    form: Option<Value>,
    #[serde(skip_serializing_if = "Option::is_none")]
    verdict: Option<Value>,
    #[serde(skip_serializing_if = "Option::is_none")]
    map: Option<Value>,
    working: &'a [String],
    cautions: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    ways: Option<Vec<Value>>,
}

#[derive(Serialize)]
#[allow(clippy::struct_field_names)] // the keys of the JSON, with their units
struct Height<'a> {
    point: &'a str,
    height_mm: f64,
    touches: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    x_mm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    y_mm: Option<f64>,
}

#[derive(Serialize)]
struct PassJson<'a> {
    plane_mm: f64,
    entry_mm: f64,
    entry_at: &'a str,
    max_bite_mm: f64,
    max_bite_at: Vec<&'a str>,
    finishing: bool,
}

/// The finishing pass, which is the last of the passes.
#[derive(Serialize)]
struct Finish {
    plane_mm: f64,
}

/// The findings for programs.
pub(super) fn answer(findings: &Findings) -> PlaneJson<'_> {
    let heights = findings.heights.points().iter().map(|p| {
        let mut spots = findings.shown.iter().flat_map(|s| &s.spots);
        let spot = spots.find(|s| s.point == p.point);
        Height {
            point: &p.point,
            height_mm: p.height.mm(),
            touches: p.touches,
            x_mm: spot.map(|s| s.x.mm()),
            y_mm: spot.map(|s| s.y.mm()),
        }
    });
    let passes = findings.passes.iter().map(|p| PassJson {
        plane_mm: p.pass.plane.mm(),
        entry_mm: p.entry.value.mm(),
        entry_at: &findings.touched_last,
        max_bite_mm: p.cut.largest().mm(),
        max_bite_at: p.cut.deepest_at(),
        finishing: p.pass.finishing,
    });
    let finishing = findings.passes.iter().find(|p| p.pass.finishing);
    PlaneJson {
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
        form: findings.shown.as_ref().map(|s| form(&s.form)),
        verdict: findings
            .shown
            .as_ref()
            .map(|s| verdict(&s.verdict, &s.land)),
        map: findings.shown.as_ref().and_then(map),
        working: findings.working.lines(),
        cautions: &findings.cautions,
        ways: findings.ways.as_ref().map(ways_json),
    }
}

/// Cells of the map in the JSON, along the longer side.
const CELLS: usize = 48;

fn form(f: &Form) -> Value {
    json!({
        "touches": f.touches,
        "raw_spread_mm": f.spread.mm(),
        "tilt_right_per_100_mm_mm": f.right[0].mm(),
        "tilt_right_per_12_in_mm": f.right[1].mm(),
        "tilt_back_per_100_mm_mm": f.back[0].mm(),
        "tilt_back_per_12_in_mm": f.back[1].mm(),
        "twist_corners_mm": f.corners.map(|c| c.0.mm()),
        "twist_corners_exact": f.corners.map(|c| c.1),
        "twist_fitted_mm": f.bilinear.map(crate::quantity::Length::mm),
        "flatness_mm": f.flatness.mm(),
        "flatness_along_z_mm": f.zone.mm(),
        "flatness_least_squares_mm": f.least_squares_square.mm(),
        "flatness_least_squares_along_z_mm": f.least_squares.mm(),
        "held_on_top_by": f.held[0],
        "held_below_by": f.held[1],
    })
}

/// How far off something may be, and what that figure means.
fn bound(bound: UncertaintyKind) -> Value {
    match bound {
        UncertaintyKind::Limits(a) => json!({"never_more_than_mm": a.mm()}),
        UncertaintyKind::Twice(u) => json!({"twice_standard_mm": u.mm()}),
        UncertaintyKind::ZSetting(setting) => {
            let [jog, readout, drift, length] = setting.parts().map(|p| p.1.mm());
            json!({
                "never_more_than_mm": setting.limit().map(crate::quantity::Length::mm),
                "jog_step_mm": jog, "half_readout_step_mm": readout, "drift_mm": drift, "tool_length_mm": length,
            })
        }
    }
}

fn miss(miss: &GuessError) -> Value {
    json!({"point": miss.point, "off_mm": miss.off.mm()})
}

fn verdict(v: &Verdict, land: &TouchedPlate) -> Value {
    let share = |n: u32| f64::from(n) / 1000.0;
    let misses: Vec<Value> = land.misses.iter().map(miss).collect();
    json!({
        "plane_mm": v.plane.mm(),
        "lowest": v.lowest,
        "clearance_mm": v.clearance.mm(),
        "standard_uncertainty_mm": v.standard.mm(),
        "touched_clean_at_least": v.shares.map(|_| f64::from(v.sure) / 10_000.0),
        "touched_clean_certain": v.certain,
        "shares": v.shares.map(|[c, l, n, s]| json!({
            "cleans": share(c), "likely": share(l), "not_known": share(n), "stays": share(s),
        })),
        "worst": v.worst.map(|w| json!({
            "x_mm": w.x.mm(), "y_mm": w.y.mm(), "depth_mm": w.depth.mm(), "scatter_mm": w.scatter.mm(),
        })),
        "plane_for_2_scatter_mm": v.planes.map(|p| p[0].mm()),
        "plane_for_3_scatter_mm": v.planes.map(|p| p[1].mm()),
        "misses": misses,
        "typical_miss_mm": land.typical.map(crate::quantity::Length::mm),
        "worst_miss": land.worst_miss().map(miss),
        "touch_spacing_mm": land.spacing.mm(),
        "touch_doubt": bound(land.doubt.touch),
        "shared_doubt": bound(land.doubt.shared),
        "waviness_mm": land.waviness.mm(),
        "waviness_assumed": land.waviness_assumed,
        "clean_within_mm": land.clean_within().mm(),
        "without_place": land.unplaced.iter().map(|u| &u.point).collect::<Vec<_>>(),
        "touch_next": {"x_mm": v.next[0].mm(), "y_mm": v.next[1].mm(), "centre": v.centre},
        "can_hide_mm": v.hides.mm(),
        "can_hide_share_95": v.unseen.map(share),
        "untouched_edges": v.edges,
    })
}

/// Rows from the front, each from the left.
fn map(s: &MapAndVerdict) -> Option<Value> {
    let [wide, deep] = s.land.size();
    let (columns, rows) = if wide >= deep {
        (CELLS, CELLS / 2)
    } else {
        (CELLS / 2, CELLS)
    };
    let map = s.land.map(s.verdict.plane, columns, rows).ok()?;
    let rows: Vec<Value> = map
        .cells
        .chunks(map.columns)
        .map(|row| {
            row.iter()
                .map(|c| json!({"class": c.class.word(), "depth_mm": c.depth.mm()}))
                .collect()
        })
        .collect();
    Some(json!({
        "columns": map.columns,
        "length_mm": wide,
        "width_mm": deep,
        "cutter_mm": s.cutter.map(crate::quantity::Length::mm),
        "rows": rows,
    }))
}
