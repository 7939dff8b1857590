//! Moving by hand: homing, going somewhere, jogging, touching. Down into metal it goes as it is told.
#![allow(clippy::unnecessary_wraps)] // every word's deed has one type

use super::Nm;
use super::mill::Axis;
use super::words::{length, read_length, whole};
use super::world::{Said, What, World};

/// A touch is a mark up to this depth, beyond it a gouge: a coarse last step of a tenth is not yet the end of a plate.
const MARK: Nm = 40_000;

/// Most steps that `touch` takes.
const STEPS: i64 = 400;

pub(super) fn home(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    if world.mill.stopped {
        return Err("the emergency stop is pressed in; `reset` turns it out".to_owned());
    }
    let mut seen = Vec::new();
    let up = [world.mill.machine[0], world.mill.machine[1], 0];
    if world.mill.homed {
        seen.extend(world.travel(up, true));
    }
    world.mill.home();
    world.mill.pass(40);
    seen.push(Said::plain(
        "Z runs up to its switch, then X and Y to theirs. The machine column shows zero.",
    ));
    Ok(seen)
}

pub(super) fn go(world: &mut World, to: &str) -> Result<Vec<Said>, String> {
    let origin = world.mill.origin();
    let [mx, my, mz] = world.mill.machine;
    let target = if to.eq_ignore_ascii_case("start") {
        // Where the program calls X0 Y0, by the offset that is active.
        [origin[0], origin[1], mz]
    } else if let Some(place) = place(world, to)? {
        [
            place[0] - world.mill.astray[0],
            place[1] - world.mill.astray[1],
            mz,
        ]
    } else {
        let numbers: Vec<&str> = to.split_whitespace().collect();
        let [x, y] = numbers.as_slice() else {
            return Err(
                "say where: SW, SE, NE, NW, C, start, skin, or X and Y such as `go 42 46`"
                    .to_owned(),
            );
        };
        let system = world.mill.system;
        [
            read_length(x, system)? + origin[0],
            read_length(y, system)? + origin[1],
            mz,
        ]
    };
    if [mx, my] == [target[0], target[1]] {
        return Ok(vec![Said::plain("It stands there already.")]);
    }
    world.ready()?;
    Ok(world.travel(target, false))
}

/// A named place, found by eye: wherever the offsets stand, the operator sees the corner.
fn place(world: &World, to: &str) -> Result<Option<[Nm; 2]>, String> {
    if to.eq_ignore_ascii_case("skin") {
        return match world.skin() {
            Some(at) => Ok(Some(at)),
            None => Err("no old skin is left to be seen".to_owned()),
        };
    }
    Ok(world.point(to))
}

pub(super) fn up(world: &mut World, by: &str) -> Result<Vec<Said>, String> {
    jog(world, Axis::Z, 1, by)
}

pub(super) fn down(world: &mut World, by: &str) -> Result<Vec<Said>, String> {
    jog(world, Axis::Z, -1, by)
}

pub(super) fn left(world: &mut World, by: &str) -> Result<Vec<Said>, String> {
    jog(world, Axis::X, -1, by)
}

pub(super) fn right(world: &mut World, by: &str) -> Result<Vec<Said>, String> {
    jog(world, Axis::X, 1, by)
}

pub(super) fn front(world: &mut World, by: &str) -> Result<Vec<Said>, String> {
    jog(world, Axis::Y, -1, by)
}

pub(super) fn back(world: &mut World, by: &str) -> Result<Vec<Said>, String> {
    jog(world, Axis::Y, 1, by)
}

fn jog(world: &mut World, axis: Axis, sign: Nm, by: &str) -> Result<Vec<Said>, String> {
    world.ready()?;
    let (by, times) = match by.split_once(" x ").or_else(|| by.split_once(" x")) {
        Some((by, times)) => {
            let times = whole(times).map_err(|_| "say how often: `down 0.01 x 20`".to_owned())?;
            (by, times.clamp(1, STEPS))
        }
        None => (by, 1),
    };
    let step = if by.is_empty() {
        world.mill.step
    } else {
        world.read_length(by)?
    };
    if step < 0 {
        return Err("say the way by the word, and the distance without a sign".to_owned());
    }
    for _ in 0..times {
        let mut to = world.mill.machine;
        let i = axis.index();
        to[i] = world.mill.rounded(to[i] + sign * step);
        let seen = world.travel(to, false);
        if !seen.is_empty() {
            return Ok(seen);
        }
    }
    Ok(Vec::new())
}

pub(super) fn touch(world: &mut World, _: &str) -> Result<Vec<Said>, String> {
    world.ready()?;
    let step = world.mill.step;
    for _ in 0..STEPS {
        let mut to = world.mill.machine;
        to[2] -= step;
        let seen = world.travel(to, false);
        if !seen.is_empty() {
            return Ok(seen);
        }
    }
    let by = length(step, world.mill.system);
    Ok(vec![Said::plain(format!(
        "{STEPS} steps of {by} and still in the air. Come nearer with `down` first."
    ))])
}

impl World {
    /// Whether the axes can be moved.
    pub(crate) fn ready(&self) -> Result<(), String> {
        if self.mill.stopped {
            return Err("the emergency stop is pressed in; `reset` turns it out".to_owned());
        }
        Ok(())
    }

    /// Moves to a machine position, through whatever is in the way; what is seen of it.
    pub(crate) fn travel(&mut self, to: [Nm; 3], rapid: bool) -> Vec<Said> {
        let wanted = to;
        let to = if self.mill.homed {
            self.mill.within(to)
        } else {
            to
        };
        let from = self.tip();
        let was = self.mill.machine;
        self.mill.machine = to;
        let far = (0..3).map(|i| (to[i] - was[i]).abs()).max().unwrap_or(0);
        // About 1500 mm a minute by hand.
        self.mill.pass(far / 25_000_000);
        let now = self.tip();
        let mut seen = Vec::new();
        if to != wanted {
            seen.push(Said::new(
                super::world::Mood::Look,
                "It stops at the end of its travel.",
            ));
        }
        if from[..2] == now[..2] && now[2] < from[2] {
            seen.extend(self.lower(now));
        } else if from[..2] != now[..2] {
            // Straight up takes nothing with it, also where the cutter had slipped on to the plate.
            seen.extend(self.drag(from, now, rapid));
        }
        seen
    }

    fn lower(&mut self, now: [Nm; 3]) -> Vec<Said> {
        let at = [now[0], now[1]];
        if self.plate.clamps.iter().any(|c| {
            let (dx, dy) = (c.at[0] - at[0], c.at[1] - at[1]);
            let reach = c.radius + self.cutter.radius();
            dx * dx + dy * dy < reach * reach && now[2] < c.top
        }) {
            self.happen(What::Steel, 0);
            self.place.edges = false;
            return vec![Said::bad(
                "A hard knock: the cutter is on a stud beside the plate.",
            )];
        }
        let turning = self.mill.spindle > 0;
        let contact = if turning {
            self.plate.contact(&self.cutter, at)
        } else {
            self.plate.contact_standing(&self.cutter, at)
        };
        // A chip under the cutter is met first.
        let chip = if self.place.chips { 150_000 } else { 0 };
        let Some(depth) = contact.map(|c| c + chip - now[2]).filter(|d| *d > 0) else {
            return Vec::new();
        };
        if depth <= MARK {
            if chip == 0 && turning {
                self.plate.press(&self.cutter, at, now[2]);
            }
            self.happen(What::Mark, depth);
            let text = match (turning, chip > 0) {
                (true, false) => "A faint bright ring shows under the cutter, and one fine chip.",
                (true, true) => "Something glitters under the cutter: it touches.",
                (false, _) => "The cutter bears on something: a strip of paper would be held.",
            };
            self.judge_touch();
            return vec![Said::new(super::world::Mood::Good, text)];
        }
        let cut = self.plate.press(&self.cutter, at, now[2]);
        self.happen(What::Gouge, cut.max(depth));
        if !turning {
            self.place.edges = false;
        }
        let deep = length(cut.max(depth), self.mill.system);
        vec![Said::bad(if turning {
            format!("The cutter bites in: a ring {deep} deep is in the plate.")
        } else {
            format!("The standing cutter is driven {deep} into the plate; a corner breaks.")
        })]
    }

    fn drag(&mut self, from: [Nm; 3], now: [Nm; 3], rapid: bool) -> Vec<Said> {
        let swept = self.plate.sweep(&self.cutter, from, now);
        if swept.steel || swept.clamp {
            self.happen(What::Steel, swept.deepest);
            self.place.edges = false;
            return vec![Said::bad("A hard knock: the cutter ran into steel.")];
        }
        // What a touch leaves clinging is no gouge.
        if swept.deepest <= MARK / 4 {
            return Vec::new();
        }
        let deep = length(swept.deepest, self.mill.system);
        if self.mill.spindle == 0 || rapid {
            self.happen(What::Crash, swept.deepest);
            self.place.edges = false;
            return vec![Said::bad(format!(
                "The cutter is dragged through metal, {deep} deep, and chips."
            ))];
        }
        self.happen(What::Gouge, swept.deepest);
        vec![Said::bad(format!(
            "The cutter ploughs a groove {deep} deep."
        ))]
    }
}
