//! Setting the control: readout, offsets, unit, spindle, overrides.
#![allow(clippy::unnecessary_wraps)] // every word's deed has one type

use super::mill::{Axis, OFFSETS};
use super::words::{Word, length_with_unit, on_off, whole};
use super::world::{Said, World};
use crate::quantity::UnitSystem;

/// The words for it.
pub const WORDS: [Word; 14] = [
    Word {
        word: "step",
        after: "0.01",
        does: "choose the jog step",
        deed: step,
    },
    Word {
        word: "zero",
        after: "z",
        does: "make the work readout of an axis show nought here",
        deed: zero,
    },
    Word {
        word: "set",
        after: "z -0.18",
        does: "make the work readout of an axis show a value here",
        deed: set,
    },
    Word {
        word: "offset",
        after: "G54",
        does: "make a work offset active",
        deed: offset,
    },
    Word {
        word: "length",
        after: "1 | off",
        does: "make a length offset active, or none",
        deed: length_offset,
    },
    Word {
        word: "shift",
        after: "off",
        does: "cancel the shift over all offsets",
        deed: shift,
    },
    Word {
        word: "unit",
        after: "mm | inch",
        does: "choose the unit shown",
        deed: unit,
    },
    Word {
        word: "spindle",
        after: "300 | off",
        does: "start the spindle at a speed, or stop it",
        deed: spindle,
    },
    Word {
        word: "coolant",
        after: "on | off",
        does: "start or stop the coolant",
        deed: coolant,
    },
    Word {
        word: "feed",
        after: "100",
        does: "set the feed override in percent",
        deed: feed,
    },
    Word {
        word: "rapid",
        after: "25",
        does: "set the rapid override in percent",
        deed: rapid,
    },
    Word {
        word: "single",
        after: "on | off",
        does: "stop after every block, or not",
        deed: single,
    },
    Word {
        word: "wait",
        after: "15",
        does: "let so many minutes go by",
        deed: wait,
    },
    Word {
        word: "reset",
        after: "",
        does: "turn the emergency stop out; clear a held program",
        deed: reset,
    },
];

fn step(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
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

fn zero(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    world.mill.set_work(axis(text)?, 0);
    Ok(Vec::new())
}

fn set(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    let (name, value) = text
        .split_once(char::is_whitespace)
        .ok_or_else(|| "say the axis and what it is to show: `set z -0.18`".to_owned())?;
    let shows = world.read_length(value.trim())?;
    world.mill.set_work(axis(name)?, shows);
    Ok(Vec::new())
}

fn offset(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    let found = OFFSETS.iter().position(|o| o.eq_ignore_ascii_case(text));
    world.mill.active =
        found.ok_or_else(|| format!("the work offsets are {}", OFFSETS.join(", ")))?;
    Ok(Vec::new())
}

fn length_offset(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    if text.eq_ignore_ascii_case("off") {
        world.mill.length = 0;
        return Ok(Vec::new());
    }
    let number = text.trim_start_matches(['h', 'H']);
    let found = whole(number).ok().and_then(|n| usize::try_from(n).ok());
    world.mill.length = found
        .filter(|n| *n < world.mill.lengths.len())
        .ok_or("the length offsets are 1 to 9, or off")?;
    Ok(Vec::new())
}

fn shift(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    if !text.eq_ignore_ascii_case("off") {
        return Err("`shift off` is all there is: nobody needs one here".to_owned());
    }
    world.mill.shift = 0;
    Ok(Vec::new())
}

fn unit(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    world.mill.system =
        UnitSystem::from_word(text).ok_or_else(|| "the units are mm and inch".to_owned())?;
    Ok(Vec::new())
}

fn spindle(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
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
        whole(text)?
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

fn coolant(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    world.mill.coolant = on_off(text)?;
    let text = match (world.mill.coolant, world.place.nozzle) {
        (true, true) => "Coolant runs over the cutter.",
        (true, false) => "Coolant runs, down the back wall.",
        (false, _) => "The coolant stops.",
    };
    Ok(vec![Said::plain(text)])
}

fn feed(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    world.mill.feed = percent(text, 0, 150)?;
    Ok(Vec::new())
}

fn rapid(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
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

fn single(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    world.mill.single = on_off(text)?;
    Ok(Vec::new())
}

fn wait(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    let minutes = whole(text.trim_end_matches("min").trim())?;
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

fn reset(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
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
