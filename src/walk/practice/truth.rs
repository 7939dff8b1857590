//! What is so in the practice workshop, for the questions of the built-in procedure: to judge whether an answer was.
//!
//! A question that is not known here is not judged. Nothing of this is shown before the debrief.

use super::readout::touching;
use crate::quantity::parse::{DecimalMark, quantity};
use crate::quantity::{Dimension, Length, Unit, UnitSystem};
use crate::simulator::mill::OFFSETS;
use crate::simulator::words::length_with_unit;
use crate::simulator::world::World;
use crate::simulator::{MM, Nm};
use crate::terminal::prompt::QuestionPart;

/// What is so.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Truth {
    /// The state wanted is there, or is not: what is seen, and what would be right.
    Holds(bool, &'static str, &'static str),
    /// A word.
    Word(String),
    /// A length, and how far an honest reading may be off.
    Length(Nm, Nm),
    /// A whole number.
    Whole(i64),
}

/// The step without the name of its pass: `rough_look` and `finish_look` are one question.
fn base(step: &str) -> &str {
    step.strip_prefix("rough_")
        .or_else(|| step.strip_prefix("finish_"))
        .unwrap_or(step)
}

/// What is so about a question now.
pub fn truth(step: &str, part: &QuestionPart, world: &World) -> Option<Truth> {
    match part {
        QuestionPart::Point(_)
        | QuestionPart::Other(_)
        | QuestionPart::Cause
        | QuestionPart::Kept
        | QuestionPart::Service => return None,
        QuestionPart::Zeroed(_) => {
            return Some(Truth::Length(world.mill.work()[2], step_of(world)));
        }
        _ => {}
    }
    state(step, world)
        .or_else(|| word(step, world))
        .or_else(|| number(step, world))
}

fn state(step: &str, world: &World) -> Option<Truth> {
    let (p, mill) = (&world.place, &world.mill);
    let holds =
        |is: bool, seen: &'static str, right: &'static str| Some(Truth::Holds(is, seen, right));
    match base(step) {
        "eyes" => holds(
            p.glasses,
            "the safety glasses hang on their hook",
            "`m glasses on` first",
        ),
        "reach" | "others" => holds(
            !p.visitor && !p.half_done,
            "`m look` shows somebody at the table, or somebody's paper on the panel",
            "clear it first: `m send`, `m paper`",
        ),
        "clothing" => holds(
            !p.gloves,
            "`m look` shows gloves on your hands",
            "`m gloves off` first",
        ),
        "guards" => holds(
            p.guards,
            "`m look` shows a guard on the bench",
            "`m guard` first",
        ),
        "spindle_stopped" | "hand" | "proof_hand" | "touch_still" => holds(
            mill.spindle == 0,
            "the readout shows the spindle turning",
            "`m spindle off` first",
        ),
        "estop_tested" => holds(p.stop_tried, "it was not pressed", "`m try`"),
        "homed" => holds(mill.homed, "the readout says NOT HOMED", "`m home`"),
        "plate_clamped" => holds(
            p.plate,
            "`m look` shows a screw standing higher",
            "`m tighten plate`",
        ),
        "clamps_clear" => holds(
            world
                .plate
                .steel
                .iter()
                .all(|s| s.top <= -world.facts.steel),
            "`m measure steel` shows a head near the surface",
            "`m sink`, then measure again",
        ),
        "plate_top" => holds(!p.chips, "`m look` shows a chip on the plate", "`m brush`"),
        "cutter_clamped" => holds(
            p.cutter && p.edges,
            "`m look` shows the cutter's edge or shank",
            "`m tighten cutter`, or `m change`",
        ),
        "tight" => holds(
            p.plate && p.cutter && p.edges,
            "`m look` shows what is loose or broken",
            "tighten or change, then touch off again",
        ),
        "inside" => holds(
            p.inside && p.ink,
            "`m look` shows what lies inside, and whether the face is inked",
            "`m clear`, `m ink`",
        ),
        "xy_zero" => {
            let origin = mill.origin();
            holds(
                mill.homed && origin[0].abs().max(origin[1].abs()) < MM / 20,
                "over the home corner the readout shows something else than nought",
                "`m home`, `m zero x`, `m zero y`",
            )
        }
        "overrides" => holds(
            mill.feed == 100 && mill.rapid <= 25,
            "the readout shows both overrides",
            "`m feed 100`, `m rapid 25`",
        ),
        "spindle_warm" | "warm" => holds(
            mill.is_warm(),
            "the spindle has not run long enough",
            "`m spindle 3000`, `m wait 15`",
        ),
        "flood" | "dribble" => holds(
            p.door && p.nozzle,
            "`m look` shows door and nozzle",
            "`m door shut`, `m nozzle`",
        ),
        "start" => {
            let origin = mill.origin();
            let over = (0..2).all(|i: usize| (mill.machine[i] - origin[i]).abs() < MM / 10);
            holds(
                over && mill.work()[2] >= 5 * MM,
                "the readout shows where the cutter stands",
                "`m up 30`, `m go start`",
            )
        }
        "cool" => holds(
            !p.warm_plate,
            "`m feel` says the plate is warmer than the bed",
            "`m wait 15`",
        ),
        _ => None,
    }
}

fn word(step: &str, world: &World) -> Option<Truth> {
    let (f, mill) = (&world.facts, &world.mill);
    let offset = OFFSETS.get(mill.active).copied().unwrap_or("-").to_owned();
    let unit = |system| {
        if system == UnitSystem::Mm {
            "metric"
        } else {
            "inch"
        }
        .to_owned()
    };
    let [machine, plate, cutter] = f.ids.clone();
    Some(Truth::Word(match step {
        "mill" => machine,
        "plate_chosen" => plate,
        "cutter_chosen" => cutter,
        "nc" => world.tape.as_ref()?.name.clone(),
        "program_unit" => unit(UnitSystem::Mm),
        "program_offset" => "G54".to_owned(),
        "control_unit" => unit(mill.system),
        "control_offset" => offset,
        "rough_codes" | "finish_codes" => {
            let as_before = mill.system == UnitSystem::Mm
                && mill.shift == 0
                && mill.length == program_length(world);
            if as_before {
                offset
            } else {
                "changed".to_owned()
            }
        }
        "surface_roughed" | "surface_finished" => if world.plate.is_clean() {
            "clean"
        } else {
            "skin left"
        }
        .to_owned(),
        _ => return None,
    }))
}

/// The length offset that the loaded program calls.
pub fn program_length(world: &World) -> usize {
    let blocks = world
        .tape
        .as_ref()
        .map(|t| t.blocks.as_slice())
        .unwrap_or_default();
    blocks
        .iter()
        .filter_map(|b| b.length)
        .next_back()
        .unwrap_or(0)
}

/// The diameter that the loaded program says it is for.
pub fn program_cutter(world: &World) -> Option<Nm> {
    let text = &world.tape.as_ref()?.text;
    let before = text.split(" MM END MILL").next()?;
    let figure = before.rsplit([' ', ',']).next()?;
    crate::simulator::words::read_length(figure, UnitSystem::Mm).ok()
}

fn step_of(world: &World) -> Nm {
    world.mill.limits.resolution
}

/// What a number asked for is; public for the demonstration, which reads the same instruments.
pub fn number(step: &str, world: &World) -> Option<Truth> {
    let (f, mill) = (&world.facts, &world.mill);
    let whole = |n: usize| Some(Truth::Whole(i64::try_from(n).unwrap_or(0)));
    let length = |nm: Nm, within: Nm| Some(Truth::Length(nm, within));
    let blocks = world
        .tape
        .as_ref()
        .map(|t| t.blocks.as_slice())
        .unwrap_or_default();
    let called = |axis: usize| {
        blocks
            .iter()
            .filter_map(move |b| b.goes.and_then(|(_, to)| to.get(axis).copied().flatten()))
    };
    match base(step) {
        "tram_difference" => length(f.tram[0], 1_000),
        "tram_span" => length(f.tram[1], MM),
        "steel_seen" => length(world.measured("steel")?, 100_000),
        "thickness_seen" | "thickness_after" => length(world.measured("thickness")?, 60_000),
        "diameter_seen" => length(world.measured("cutter")?, 50_000),
        "stick_out" => length(f.stick_out, 2 * MM),
        "tallest" => length(f.tallest, 3 * MM),
        "program_cutter" => length(program_cutter(world)?, 0),
        "program_h" => whole(program_length(world)),
        "program_lowest_z" => length(called(2).min()?, 0),
        "program_speed" => blocks.iter().find_map(|b| b.speed).map(Truth::Whole),
        "program_step_over" => {
            let mut rows: Vec<Nm> = called(1).filter(|y| *y != 0).collect();
            rows.dedup();
            length(rows.get(1)? - rows.first()?, 20_000)
        }
        "overrun" => {
            let half = program_cutter(world)? / 2;
            let first = called(1).find(|y| *y != 0)?;
            let last = called(1).max()?;
            let (near, far) = (f.facing.corner[1], f.facing.corner[1] + f.facing.size[1]);
            let ends = 3 * MM + 2 * half;
            length((near - (first - half)).min(last + half - far).min(ends), MM)
        }
        "start_clear" => length(world.measured("start")?, 3 * MM),
        "control_h" => whole(mill.length),
        "control_shift" => length(mill.shift, 0),
        "touch_speed" => Some(Truth::Whole(mill.spindle)),
        "shim" => length(0, 0),
        "jog_step" => length(mill.step, 0),
        "machine_first" => length(mill.rounded(mill.machine[2]), step_of(world)),
        "standing" => touching(world).then_some(()).map_or(
            Some(Truth::Holds(
                false,
                "the tip stands above the plate",
                "touch first: `m touch`",
            )),
            |()| length(mill.work()[2], step_of(world)),
        ),
        "look" | "entry" => length(mill.work()[2], step_of(world)),
        "gap" => length(world.measured("gap")?, 60_000),
        "override" | "override_after" => Some(Truth::Whole(mill.feed)),
        "proof_indicator" => length(world.measured("flat")?, 5_000),
        _ => None,
    }
}

impl Truth {
    /// Whether `said` is so; none where it cannot be read as what is asked.
    pub fn agrees(&self, said: &str, system: UnitSystem) -> Option<bool> {
        match self {
            Self::Holds(is, ..) => Some(*is),
            Self::Word(word) => {
                let name = said.rsplit(['/', '\\']).next().unwrap_or(said);
                Some(name.trim_matches(['"', '\'']).eq_ignore_ascii_case(word))
            }
            Self::Length(nm, within) => {
                let typed = quantity(said, &system.length(), DecimalMark::Point).ok()?;
                let typed = Length::nearest(typed.quantity)?.counts() / 10;
                Some((typed - nm).abs() <= *within)
            }
            Self::Whole(n) => {
                let figure = said.trim_end_matches(|c: char| !c.is_ascii_digit());
                let turns = Unit::usual(Dimension::SPINDLE_SPEED, system);
                let by_unit = turns
                    .and_then(|unit| {
                        quantity(said, &unit, DecimalMark::Point)
                            .ok()
                            .zip(Some(unit))
                    })
                    .and_then(|(typed, unit)| typed.quantity.in_unit(&unit).ok())
                    .and_then(|e| i64::try_from(e.round()).ok());
                let found = by_unit.or_else(|| figure.parse().ok())?;
                Some(found == *n)
            }
        }
    }

    /// What could be known, and what would be right, in words.
    pub fn words(&self, system: UnitSystem) -> (String, String) {
        match self {
            Self::Holds(_, seen, right) => ((*seen).to_owned(), (*right).to_owned()),
            Self::Word(word) => (format!("it was `{word}`"), format!("answer `{word}`")),
            Self::Length(nm, _) => {
                let shown = length_with_unit(*nm, system);
                (format!("it was {shown}"), format!("answer {shown}"))
            }
            Self::Whole(n) => (format!("it was {n}"), format!("answer {n}")),
        }
    }
}

/// Whether the tip of a reading was on the plate and both columns were read as shown.
pub fn touch_truth(said: &str, world: &World, system: UnitSystem) -> Option<(bool, String)> {
    let mill = &world.mill;
    if !touching(world) {
        return Some((false, "the tip stood above the plate".to_owned()));
    }
    let shown = [mill.work()[2], mill.rounded(mill.machine[2])];
    let read = |text: &str| crate::simulator::words::read_length(text, system).ok();
    let parts: Vec<&str> = said.split(';').collect();
    let first = parts
        .first()
        .map(|p| p.trim().rsplit(' ').next().unwrap_or_default());
    let near = |text: Option<&str>, nm: Nm| {
        text.and_then(|t| read(t.trim()))
            .is_none_or(|v| (v - nm).abs() <= mill.limits.resolution)
    };
    let good = if parts.len() > 1 {
        near(first, shown[0]) && near(parts.get(1).copied(), shown[1])
    } else {
        near(first, shown[0]) || near(first, shown[1])
    };
    let words = format!(
        "the readout showed {}, machine Z {}",
        length_with_unit(shown[0], mill.system),
        length_with_unit(shown[1], mill.system)
    );
    Some((good, words))
}
