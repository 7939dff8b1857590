//! Looking round, reading what lies there, measuring.
#![allow(clippy::unnecessary_wraps)] // every word's deed has one type

use super::doing::hand;
use super::mill::OFFSETS;
use super::words::length_with_unit;
use super::world::{Said, World};
use super::{MM, Nm};
use crate::procedure::practice::Fact;
use crate::quantity::UnitSystem;

/// What can be measured: the word for it, of what, and the fact that it gives.
pub(crate) const MEASURES: [(&str, &str, Fact); 10] = [
    (
        "tram",
        "indicator in the spindle: difference and sweep",
        Fact::Tram,
    ),
    (
        "steel",
        "shallowest screw head below the surface",
        Fact::Steel,
    ),
    (
        "thickness",
        "plate at its front left corner",
        Fact::Thickness,
    ),
    ("cutter", "diameter across the teeth", Fact::Diameter),
    ("stick", "from the nut to the tip", Fact::StickOut),
    (
        "clamp",
        "tallest thing above the plate, a clamp",
        Fact::Tallest,
    ),
    ("gap", "blocks between plate and tip", Fact::Gap),
    (
        "start",
        "from the program's X0 Y0 to the nearest metal",
        Fact::StartClear,
    ),
    (
        "flat",
        "indicator moved over the face: highest to lowest",
        Fact::Unevenness,
    ),
    ("under", "what lies between tip and plate", Fact::UnderTip),
];

pub(super) fn look(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    let seen = world
        .place
        .seen(world.mill.spindle > 0, world.mill.limits.door);
    let mut lines: Vec<Said> = seen.into_iter().map(Said::plain).collect();
    let titles = &world.facts.titles;
    lines.insert(
        0,
        Said::plain(format!("{}; {}; {}.", titles[0], titles[1], titles[2])),
    );
    Ok(lines)
}

impl World {
    /// The line of active codes that the control shows. The mill knows no other plane, distance mode, rotation, scaling or
    /// mirror, so those are always the same.
    pub(crate) fn active_codes(&self) -> String {
        let mill = &self.mill;
        let unit = match mill.system {
            UnitSystem::Mm => "G21",
            UnitSystem::Inch => "G20",
        };
        let offset = OFFSETS.get(mill.active).copied().unwrap_or("-");
        let length = match mill.length {
            0 => "G49".to_owned(),
            n => format!("G43 H{n}"),
        };
        let shift = if mill.shift == 0 { "" } else { " G92" };
        let spindle = if mill.spindle == 0 { "M5" } else { "M3" };
        let coolant = if mill.coolant { "M8" } else { "M9" };
        format!(
            "G0 G17 G90 G94 {unit} {offset}{shift} {length} G40 G50 G50.1 G69 G15 G64 G67 G80 G98 {spindle} {coolant}"
        )
    }
}

/// What the control shows as active.
pub(super) fn codes(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    let mill = &world.mill;
    Ok(vec![
        Said::plain(format!("Active: {}", world.active_codes())),
        Said::plain(format!(
            "Offset page: Z shift {}.",
            length_with_unit(mill.shift, mill.system)
        )),
    ])
}

pub(super) fn face(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    let share = super::plan::thousandths(world.plate.cleaned());
    Ok(vec![Said::plain(format!(
        "{share} of the face is cut clean."
    ))])
}

pub(super) fn program(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    let names: Vec<&str> = world.store.iter().map(|p| p.name.as_str()).collect();
    let names = format!("In the control's memory: {}.", names.join(", "));
    let Some(tape) = &world.tape else {
        return Ok(vec![
            Said::plain("No program is loaded."),
            Said::plain(names),
        ]);
    };
    let lines: Vec<&str> = tape.text.lines().collect();
    let mut seen = vec![Said::plain(format!(
        "{}, {} lines:",
        tape.name,
        lines.len()
    ))];
    for (n, line) in lines.iter().enumerate() {
        if n < 20 || n + 7 > lines.len() {
            seen.push(Said::drawn(*line));
        } else if n == 20 {
            seen.push(Said::drawn(
                "... rows to and fro, each Y one step further ...",
            ));
        }
    }
    seen.push(Said::plain(names));
    Ok(seen)
}

pub(super) fn sheet(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    let f = &world.facts;
    let show = |nm| length_with_unit(nm, world.mill.system);
    let [x, y] = f.facing.corner;
    let (rows, apart) = f.facing.rows();
    let offset = if f.lengths {
        "G54, length offset H1"
    } else {
        "G54, no length offset"
    };
    let points = if f.points.is_empty() {
        "Points SW, SE, NE, NW a cutter and a half in from the edges, C in the middle".to_owned()
    } else {
        // From the plate's corner, as the touch-off names them.
        let inset = |n: &str, at: [Nm; 2]| format!("{n} {} {}", show(at[0] - x), show(at[1] - y));
        let all: Vec<String> = f.points.iter().map(|(n, at)| inset(n, *at)).collect();
        format!(
            "Points from the plate's front left corner, right and back: {}",
            all.join("; ")
        )
    };
    Ok(vec![
        Said::plain(format!(
            "Machine {}: {}. Plate {}: {}. Cutter {}: {}.",
            f.ids[0], f.titles[0], f.ids[1], f.titles[1], f.ids[2], f.titles[2]
        )),
        Said::plain(format!(
            "Program {} for this plate and cutter, in millimetres, {offset}; cuts at Z0.",
            f.program
        )),
        Said::plain(format!(
            "X0 Y0 is the home corner. The plate begins at X {} Y {}; {rows} rows {} apart; rim past every edge by {} or more.",
            show(x),
            show(y),
            show(apart),
            show(super::facing::Facing::OVERRUN)
        )),
        Said::plain(format!(
            "Feed 100 %, rapid 25 %. Touch with the spindle turning slowly, steps of 0.01 mm (0.0005 in). {points}. `go SW` goes to one."
        )),
    ])
}

pub(super) fn measure(world: &mut World, what: &str) -> Result<Vec<Said>, String> {
    let found = MEASURES.iter().find(|(w, ..)| w.eq_ignore_ascii_case(what));
    let Some((_, _, fact)) = found else {
        let lines = MEASURES
            .iter()
            .map(|(w, of, _)| Said::plain(format!("measure {w}: {of}")));
        return Ok(lines.collect());
    };
    let mut seen = Vec::new();
    if !matches!(fact, Fact::UnderTip | Fact::StartClear | Fact::Unevenness) {
        hand(world, &mut seen);
    }
    let show = |nm| length_with_unit(nm, world.mill.system);
    let Some(value) = world.measured(*fact) else {
        return Err("there is nothing to measure here".to_owned());
    };
    seen.push(Said::plain(match fact {
        Fact::Tram => format!(
            "{} from highest to lowest, over a sweep of {}",
            show(value),
            show(world.facts.tram[1])
        ),
        Fact::UnderTip => "Nothing lies between: the cutter itself touches. 0.".to_owned(),
        Fact::Gap if value > 150 * MM => "The gap is taller than any block here.".to_owned(),
        Fact::Gap if value < 0 => "No block goes in.".to_owned(),
        _ => show(value),
    }));
    Ok(seen)
}
