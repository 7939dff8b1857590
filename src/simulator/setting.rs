//! Setting the control: readout, offsets, unit, spindle, overrides.
#![allow(clippy::unnecessary_wraps)] // every word's deed has one type

use super::mill::{Axis, OFFSETS};
use super::words::{length_with_unit, on_off, whole};
use super::world::{Said, World};
use crate::quantity::UnitSystem;

/// A slow speed for touching, turns a minute: 100 to 300 is usual; common practice, no source.
const SLOW: i64 = 300;
/// A middling speed to warm up at, turns a minute; common practice, no source.
const MIDDLING: i64 = 3000;

pub(super) fn step(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    let step = world.read_length(text)?;
    let (least, most) = (world.mill.limits.resolution, 10_000_000);
    if step < least || step > most {
        return Err(format!(
            "the steps go from {} to {}",
            length_with_unit(least, world.mill.system),
            length_with_unit(most, world.mill.system)
        ));
    }
    world.mill.step = world.mill.rounded(step);
    Ok(Vec::new())
}

fn axis(text: &str) -> Result<Axis, String> {
    match text.to_lowercase().as_str() {
        "x" => Ok(Axis::X),
        "y" => Ok(Axis::Y),
        "z" => Ok(Axis::Z),
        _ => Err("say which axis: x, y or z".to_owned()),
    }
}

pub(super) fn zero(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    world.mill.set_work(axis(text)?, 0);
    Ok(Vec::new())
}

pub(super) fn set(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    let (name, value) = text
        .split_once(char::is_whitespace)
        .ok_or_else(|| "say the axis and what it is to show: `set z -0.18`".to_owned())?;
    let shows = world.read_length(value.trim())?;
    world.mill.set_work(axis(name)?, shows);
    Ok(Vec::new())
}

pub(super) fn offset(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    if text.eq_ignore_ascii_case("program") {
        let called = world.tape.as_ref().and_then(super::tape::Tape::offset);
        world.mill.active = called.ok_or("the loaded program calls no work offset")?;
        return Ok(Vec::new());
    }
    let found = OFFSETS.iter().position(|o| o.eq_ignore_ascii_case(text));
    world.mill.active =
        found.ok_or_else(|| format!("the work offsets are {}", OFFSETS.join(", ")))?;
    Ok(Vec::new())
}

pub(super) fn length_offset(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    if text.eq_ignore_ascii_case("off") {
        world.mill.length = 0;
        return Ok(Vec::new());
    }
    if text.eq_ignore_ascii_case("program") {
        world.mill.length = world.tape.as_ref().map_or(0, super::tape::Tape::length);
        return Ok(Vec::new());
    }
    let number = text.trim_start_matches(['h', 'H']);
    let found = whole(number).ok().and_then(|n| usize::try_from(n).ok());
    world.mill.length = found
        .filter(|n| *n < world.mill.lengths.len())
        .ok_or("the length offsets are 1 to 9, or off")?;
    Ok(Vec::new())
}

pub(super) fn shift(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    if !text.eq_ignore_ascii_case("off") {
        return Err("`shift off` is all there is: nobody needs one here".to_owned());
    }
    world.mill.shift = 0;
    Ok(Vec::new())
}

pub(super) fn unit(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    world.mill.system =
        UnitSystem::from_word(text).ok_or_else(|| "the units are mm and inch".to_owned())?;
    Ok(Vec::new())
}

pub(super) fn spindle(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    let off = text.eq_ignore_ascii_case("off") || text == "0";
    if off {
        let turned = world.mill.spindle > 0;
        world.mill.spindle = 0;
        world.mill.pass(4);
        let text = if turned {
            "The spindle runs down and stands."
        } else {
            "It stands already."
        };
        return Ok(vec![Said::plain(text)]);
    }
    if world.mill.stopped {
        return Err("the emergency stop is pressed in; `reset` turns it out".to_owned());
    }
    let speed = if text.is_empty() || text.eq_ignore_ascii_case("on") {
        world.mill.speed
    } else {
        let [least, most] = world.mill.limits.speeds;
        match text.to_lowercase().as_str() {
            "slow" => least.max(SLOW),
            "warm" => most.min(MIDDLING),
            _ => whole(text)?,
        }
    };
    let [least, most] = world.mill.limits.speeds;
    if speed < least || speed > most {
        return Err(format!("this spindle runs from {least} to {most} rpm"));
    }
    world.mill.speed = speed;
    world.mill.spindle = speed;
    world.mill.pass(3);
    Ok(Vec::new())
}

pub(super) fn coolant(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    world.mill.coolant = on_off(text)?;
    let text = match (world.mill.coolant, world.place.nozzle) {
        (true, true) => "Coolant runs over the cutter.",
        (true, false) => "Coolant runs, down the back wall.",
        (false, _) => "The coolant stops.",
    };
    Ok(vec![Said::plain(text)])
}

pub(super) fn feed(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    world.mill.feed = percent(text, 0, 150)?;
    Ok(Vec::new())
}

pub(super) fn rapid(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    world.mill.rapid = percent(text, 5, 100)?;
    Ok(Vec::new())
}

fn percent(text: &str, least: i64, most: i64) -> Result<i64, String> {
    let found = whole(text)?;
    if (least..=most).contains(&found) {
        Ok(found)
    } else {
        Err(format!("this override goes from {least} to {most} percent"))
    }
}

pub(super) fn single(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    world.mill.single = on_off(text)?;
    Ok(Vec::new())
}

pub(super) fn wait(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    let minutes = if text.eq_ignore_ascii_case("warm") {
        (world.mill.limits.warm_up + 59) / 60
    } else {
        whole(text.trim_end_matches("min").trim())?
    };
    if !(1..=120).contains(&minutes) {
        return Err("wait from 1 to 120 minutes".to_owned());
    }
    world.mill.pass(minutes * 60);
    world.place.warm_plate = false;
    let turning = if world.mill.spindle > 0 {
        ", the spindle turning"
    } else {
        ""
    };
    Ok(vec![Said::plain(format!(
        "{minutes} minutes go by{turning}."
    ))])
}

pub(super) fn reset(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    let was = world.mill.stopped;
    world.mill.stopped = false;
    world.block = 0;
    let text = if was {
        "The red key is out again. The axes do not know where they are until they are homed."
    } else {
        "The program stands at its beginning."
    };
    Ok(vec![Said::plain(text)])
}
