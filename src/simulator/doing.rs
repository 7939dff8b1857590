//! Everything done with hands.
#![allow(clippy::unnecessary_wraps)] // every word's deed has one type

use super::words::on_off;
use super::world::{Said, What, World};

/// A hand goes in: the spindle had better stand.
pub(super) fn hand(world: &mut World, seen: &mut Vec<Said>) {
    if world.mill.spindle > 0 {
        world.happen(What::HandIn, 0);
        seen.push(Said::bad(
            "Your hand goes in beside a turning cutter. On a real mill this is how fingers go.",
        ));
    }
}

fn worn(text: &str) -> Result<bool, String> {
    on_off(text)
}

pub(super) fn glasses(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    let worn = worn(text)?;
    world.place.glasses = worn;
    Ok(vec![Said::plain(if worn {
        "Your safety glasses are on."
    } else {
        "Your safety glasses are off."
    })])
}

pub(super) fn gloves(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    let worn = worn(text)?;
    world.place.gloves = worn;
    Ok(vec![Said::plain(if worn {
        "Your gloves are on."
    } else {
        "Your gloves are off."
    })])
}

pub(super) fn door(world: &mut World, text: &str) -> Result<Vec<Said>, String> {
    let shut = match text.to_lowercase().as_str() {
        "shut" | "close" | "closed" | "up" => true,
        "open" | "down" => false,
        _ => return Err("say `door shut` or `door open`".to_owned()),
    };
    world.place.door = shut;
    let [yes, no] = if world.mill.limits.door {
        ["The door is shut.", "The door is open."]
    } else {
        ["The chip screens are up.", "The chip screens are down."]
    };
    Ok(vec![Said::plain(if shut { yes } else { no })])
}

pub(super) fn guard(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    by_hand(
        world,
        |w| w.place.guards = true,
        "Every guard is where it belongs.",
    )
}

pub(super) fn nozzle(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    by_hand(
        world,
        |w| w.place.nozzle = true,
        "The nozzle points at the cutter.",
    )
}

pub(super) fn brush(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    by_hand(
        world,
        |w| w.place.chips = false,
        "The plate is brushed clean and wiped dry.",
    )
}

pub(super) fn ink(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    by_hand(
        world,
        |w| w.place.ink = true,
        "Marker lines cross the whole face.",
    )
}

pub(super) fn clear(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    let text = if world.place.inside {
        "You look into every corner: nothing lay inside."
    } else {
        "You take the wrench out; nothing lies inside any more."
    };
    by_hand(world, |w| w.place.inside = true, text)
}

pub(super) fn sink(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    by_hand(
        world,
        |w| {
            let depth = w.facts.steel;
            for screw in &mut w.plate.steel {
                screw.top = screw.top.min(-depth);
            }
        },
        "Every screw is down to its depth and tight.",
    )
}

pub(super) fn change(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    by_hand(
        world,
        |w| {
            w.place.edges = true;
            w.place.cutter = true;
            // Another cutter never hangs by exactly the same.
            w.mill.slipped += 210_000;
        },
        "A sound cutter of the same kind is in, tight. It hangs differently from the last one.",
    )
}

fn by_hand(world: &mut World, deed: fn(&mut World), text: &str) -> Result<Vec<Said>, String> {
    let mut seen = Vec::new();
    hand(world, &mut seen);
    deed(world);
    seen.push(Said::plain(text));
    Ok(seen)
}

pub(super) fn tighten(world: &mut World, what: &str) -> Result<Vec<Said>, String> {
    let plate = match what.to_lowercase().as_str() {
        "plate" | "screws" => true,
        "cutter" | "nut" => false,
        _ => return Err("say `tighten plate` or `tighten cutter`".to_owned()),
    };
    let mut seen = Vec::new();
    hand(world, &mut seen);
    let loose = if plate {
        !world.place.plate
    } else {
        !world.place.cutter
    };
    let text = match (plate, loose) {
        (true, true) => "One screw gave by half a turn. All are tight now.",
        (true, false) => "Every screw of the plate is tight; none gave.",
        (false, true) => "The nut gave. It is tight now; where the cutter hangs is another matter.",
        (false, false) => "The nut is tight; it did not give.",
    };
    if plate {
        world.place.plate = true;
    } else {
        world.place.cutter = true;
    }
    seen.push(Said::plain(text));
    Ok(seen)
}

pub(super) fn send(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    let was = world.place.visitor;
    world.place.visitor = false;
    let text = if was {
        "The visitor steps back behind the line."
    } else {
        "Nobody is within reach."
    };
    Ok(vec![Said::plain(text)])
}

pub(super) fn paper(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    if !world.place.half_done {
        return Err("no paper hangs on the panel".to_owned());
    }
    world.place.half_done = false;
    Ok(vec![Said::plain(
        "Whoever wrote it agrees: the run begins anew, from homing and touching.",
    )])
}

pub(super) fn try_stop(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    world.press_stop();
    world.mill.stopped = false;
    Ok(vec![Said::plain(
        "Pressed: nothing moves at a jog key. Turned out again. The mill is not homed now.",
    )])
}

pub(super) fn feel(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    let mut seen = Vec::new();
    hand(world, &mut seen);
    seen.push(Said::plain(if world.place.warm_plate {
        "The plate is warmer than the bed. A quarter of an hour would cool it: `wait 15`."
    } else {
        "The plate is as cool as the bed."
    }));
    Ok(seen)
}
