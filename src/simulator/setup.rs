//! Setting the workshop up: a machine, a plate and a cutter of a shop file, and a seed.

use super::drills::Drill;
use super::facing::Facing;
use super::mill::{Limits, Mill};
use super::place::Place;
use super::tape::Tape;
use super::world::{Facts, Stored, World};
use super::{Chance, Cutter, Level, MM, Nm, Plate};
use crate::procedure::formula::Value;
use crate::procedure::shop::Item;
use crate::procedure::{Kind, Procedure, Shop, ShopList};
use crate::quantity::{Length, UnitSystem};

/// What a rehearsal is made of.
#[derive(Clone, Debug)]
pub(crate) struct Setup<'a> {
    /// What all chance of the rehearsal follows from: the same number makes the same plate.
    pub seed: u64,
    /// How far from flat the plate is.
    pub level: Level,
    /// The shop file that machine, plate and cutter are taken from.
    pub shop: &'a Shop,
    /// Ids of machine, plate and cutter; the first of each where left out.
    pub ids: [Option<&'a str>; 3],
    /// The faults that are put in the way.
    pub drills: Vec<&'static Drill>,
    /// Whose touches say where the points lie; without places of its own they are a cutter and a half in.
    pub procedure: Option<&'a Procedure>,
}

/// Where the plate's corner is in work positions, as the shipped program has it.
const CORNER: [Nm; 2] = [30 * MM, 30 * MM];

/// Where points without places are put, in eighths of the plate's sides; the first five have names of their own.
const SPREAD: [(&str, [Nm; 2]); 9] = [
    ("SW", [1, 1]),
    ("SE", [7, 1]),
    ("NE", [7, 7]),
    ("NW", [1, 7]),
    ("C", [4, 4]),
    ("", [4, 1]),
    ("", [7, 4]),
    ("", [4, 7]),
    ("", [1, 4]),
];

impl Setup<'_> {
    /// Makes the workshop.
    ///
    /// # Errors
    /// Says which thing the shop file does not have, or which fact does not fit.
    pub(crate) fn world(&self) -> Result<World, String> {
        let lists = [ShopList::Machines, ShopList::Plates, ShopList::Cutters];
        let mut items = Vec::new();
        for (list, id) in lists.into_iter().zip(self.ids) {
            let found = match id {
                Some(id) => self.shop.item(list, id),
                None => self.shop.items(list).first(),
            };
            items.push(found.ok_or_else(|| {
                let known: Vec<&str> = self
                    .shop
                    .items(list)
                    .iter()
                    .map(|i| i.id.as_str())
                    .collect();
                format!(
                    "the shop file has no {} `{}`; it has {}",
                    list.one(),
                    id.unwrap_or_default(),
                    known.join(", ")
                )
            })?);
        }
        let [machine, plate, cutter] = items.as_slice() else {
            return Err("the shop file is incomplete".to_owned());
        };
        self.build(machine, plate, cutter)
    }

    /// The points of the procedure's touches, as true positions: where they have places there, else, unless their names are
    /// those of a corner or the middle, spread over the plate.
    fn points(&self, plate: &Item, size: [Nm; 2]) -> Vec<(String, [Nm; 2])> {
        let sides = ["x_length", "y_width"].map(|fact| plate.length(fact));
        let ([Some(long), Some(wide)], Some(procedure)) = (sides, self.procedure) else {
            return Vec::new();
        };
        let mut points: Vec<(String, [Nm; 2])> = Vec::new();
        for step in procedure.steps() {
            let Kind::Touch(touch) = &step.kind else {
                continue;
            };
            for (name, [x, y]) in &touch.places {
                if let (Some(x), Some(y)) = (x.on(long), y.on(wide))
                    && !points.iter().any(|(known, _)| known == name)
                {
                    let from = |corner: Nm, at: Length, side: Nm| {
                        corner + (at.counts() / 10).clamp(0, side)
                    };
                    let [left, front] = CORNER;
                    let at = [from(left, x, size[0]), from(front, y, size[1])];
                    points.push((name.clone(), at));
                }
            }
            for name in &touch.points {
                let corner = SPREAD.iter().any(|(n, _)| n.eq_ignore_ascii_case(name));
                if corner || points.iter().any(|(known, _)| known == name) {
                    continue;
                }
                let (_, [x, y]) = SPREAD[points.len() % SPREAD.len()];
                let [left, front] = CORNER;
                let at = [left + size[0] * x / 8, front + size[1] * y / 8];
                points.push((name.clone(), at));
            }
        }
        points
    }

    fn build(&self, machine: &Item, plate: &Item, cutter: &Item) -> Result<World, String> {
        let mut chance = Chance::of(self.seed, "workshop");
        let size = [length(plate, "x_length")?, length(plate, "y_width")?];
        let steel = length(plate, "steel_depth")?;
        let tram = [20_000, 240 * MM];
        let tilt = tram[0] * 1_000 / (tram[1] / 1_000_000);
        let tool = Cutter {
            diameter: length(cutter, "diameter")?,
            corner: length(cutter, "corner")?,
            tilt_x: chance.between(-tilt / 2, tilt / 2),
            tilt_y: tilt,
            deepest: length(cutter, "deepest_bite")?,
        };
        let limits = limits(machine)?;
        let lengths = word(machine, "length_offsets") == Some("used");
        let metric = limits.resolution % 10_000 == 0;
        let mut mill = Mill::new(limits, UnitSystem::Mm, self.seed);
        // Work zero of X and Y is the home corner. Z is left from an earlier plate.
        let top = -chance
            .between(140 * MM, 160 * MM)
            .min(-limits.lowest - 40 * MM);
        for offset in &mut mill.offsets {
            offset[2] = top + 3 * MM;
        }
        mill.length = usize::from(lengths);
        let facing = Facing {
            corner: CORNER,
            size,
            diameter: tool.diameter,
            step_over: tool.diameter * 6 / 10 / 10_000 * 10_000,
            speed: speed(cutter, "highest_speed")?
                .min(limits.speeds[1])
                .min(4000),
            feed: 600 * MM,
            length: usize::from(lengths),
        };
        let name = |diameter: Nm| {
            format!(
                "facing-{}.nc",
                super::words::length(diameter, UnitSystem::Mm)
                    .trim_start_matches('+')
                    .trim_end_matches('0')
                    .trim_end_matches('.')
                    .replace('.', "-")
                    + "mm"
            )
        };
        let program = name(tool.diameter);
        let wider = Facing {
            diameter: tool.diameter * 4 / 3 / 1_000_000 * 1_000_000 + MM,
            step_over: tool.diameter * 11 / 10 / 10_000 * 10_000,
            ..facing
        };
        let store = [facing, wider].map(|made_for| Stored {
            name: name(made_for.diameter),
            text: made_for.program(),
            made_for,
        });
        let tape = Tape::read(&program, &facing.program()).map_err(|e| e.to_string())?;
        let place = Place {
            gloves: false,
            ..Place::default()
        };
        let mut world = World {
            seed: self.seed,
            mill,
            plate: Plate::of_seed(self.seed, self.level, CORNER, size, steel),
            place,
            cutter: tool,
            top,
            facts: Facts {
                ids: [&machine.id, &plate.id, &cutter.id].map(Clone::clone),
                titles: [&machine.title, &plate.title, &cutter.title].map(Clone::clone),
                thickness: length(plate, "thickness")?,
                steel,
                tram: if metric { tram } else { [20_320, 240 * MM] },
                stick_out: 32 * MM,
                tallest: 18 * MM,
                lengths,
                facing,
                program,
                points: self.points(plate, size),
            },
            store: store.into(),
            tape: Some(tape),
            block: 0,
            released: false,
            happened: Vec::new(),
            acts: Vec::new(),
            passes: Vec::new(),
            drills: Vec::new(),
            false_alarms: 0,
            heard: Vec::new(),
            running: false,
            pass: None,
            taken: 0,
            feed: 0,
            decisions: Vec::new(),
        };
        world.put_drills(&self.drills);
        Ok(world)
    }
}

fn limits(machine: &Item) -> Result<Limits, String> {
    let warm = machine
        .quantity("warm_up")
        .and_then(|q| i64::try_from(q.amount.round()).ok())
        .unwrap_or(900);
    Ok(Limits {
        travel: [length(machine, "x_travel")?, length(machine, "y_travel")?],
        lowest: length(machine, "lowest_z")?,
        resolution: length(machine, "readout_step")?,
        speeds: [
            speed(machine, "lowest_speed")?,
            speed(machine, "highest_speed")?,
        ],
        warm_up: warm,
        door: word(machine, "enclosure") == Some("closed"),
    })
}

fn length(item: &Item, fact: &str) -> Result<Nm, String> {
    item.quantity(fact)
        .and_then(Length::nearest)
        .map(|l| l.counts() / 10)
        .ok_or_else(|| {
            format!(
                "{}: `{}` cannot be practised with",
                item.id,
                fact.replace('_', " ")
            )
        })
}

/// Turns a minute, whole.
fn speed(item: &Item, fact: &str) -> Result<i64, String> {
    let unit = crate::quantity::Unit::find("rpm");
    item.quantity(fact)
        .zip(unit)
        .and_then(|(q, unit)| q.in_unit(&unit).ok())
        .and_then(|e| i64::try_from(e.round()).ok())
        .ok_or_else(|| {
            format!(
                "{}: `{}` cannot be practised with",
                item.id,
                fact.replace('_', " ")
            )
        })
}

fn word<'a>(item: &'a Item, fact: &str) -> Option<&'a str> {
    match item.fact(fact) {
        Some(Value::Word(word)) => Some(word),
        _ => None,
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::super::running::Ran;
    use super::super::world::{What, World};
    use super::{Level, Setup};
    use crate::diagnostics::Findings;
    use crate::procedure::shop;

    /// The built-in shop's first machine, plate and cutter.
    pub(crate) fn world(seed: u64) -> World {
        let text = include_str!("../../checklists/shop.yaml");
        let shop = shop::read(text, &mut Findings::default()).unwrap();
        let setup = Setup {
            seed,
            level: Level::Usual,
            shop: &shop,
            ids: [None; 3],
            drills: Vec::new(),
            procedure: None,
        };
        setup.world().unwrap()
    }

    fn near(world: &mut World, point: &str) {
        world.act("up 20; spindle 300");
        world.act(&format!("go {point}"));
        let gap = world.gap().unwrap();
        world.act(&format!("down {} um", (gap - 300_000) / 1000));
    }

    #[test]
    fn touched_set_and_cut_the_plate_comes_clean() {
        let mut world = world(7);
        world.act("home; offset G54; length 1; glasses on; door shut");
        world.act("up 1");
        let mut lowest = i64::MAX;
        for point in ["SW", "SE", "NE", "NW", "C"] {
            near(&mut world, point);
            let seen = world.act("touch");
            assert!(seen[0].text.contains("ring"), "{seen:?}");
            lowest = lowest.min(world.mill.machine[2]);
        }
        assert_eq!(world.count(What::Mark), 5);
        assert_eq!(world.count(What::Gouge), 0);
        // As deep as it takes: a quarter of a millimetre below the lowest touch, in passes of a quarter each.
        let plane = lowest - 250_000;
        for pass in [500_000, 250_000, 0] {
            let above = plane + pass - world.mill.machine[2];
            world.act(&format!("set z {} um", -above / 1000));
            world.released = true;
            let seen = world.act("up 30; start");
            assert!(
                seen.iter().all(|s| !s.text.contains("released")),
                "{seen:?}"
            );
            let (ran, seen) = world.run(i64::MAX);
            assert_eq!(ran, Ran::Ended, "{seen:?}");
        }
        assert!(world.plate.is_clean(), "{} of 1000", world.plate.cleaned());
        assert_eq!(world.passes.len(), 3);
        assert_eq!(world.count(What::Crash), 0);
        let (low, high) = world.plate.extremes();
        // Step-over 7.2 mm times 0.02 in 240 mm is a ridge of 0.6 micrometres.
        assert!(high - low < 1_000, "{}", high - low);
    }

    #[test]
    fn a_lost_sign_cuts_twice_as_far_off_and_the_mill_does_it() {
        let mut world = world(7);
        world.act("home");
        near(&mut world, "C");
        world.act("touch");
        // Meant was `set z -0.18`, so that the plane lies above; the sign lost, it lies below.
        world.act("set z 0.6");
        world.released = true;
        world.act("start");
        let (_, seen) = world.run(i64::MAX);
        assert!(
            world.count(What::TooDeep) + world.count(What::Crash) > 0,
            "{seen:?}"
        );
    }

    #[test]
    fn a_program_can_be_held_and_taken_up_again() {
        let mut world = world(7);
        world.act("home");
        near(&mut world, "C");
        world.act("touch; set z -0.4; up 10");
        world.released = true;
        world.act("start");
        let whole = world.run_time();
        let (ran, _) = world.run(whole / 2);
        assert_eq!(ran, Ran::Held);
        assert!(!world.running);
        world.act("start");
        let (ran, _) = world.run(i64::MAX);
        assert_eq!(ran, Ran::Ended);
        assert_eq!(world.passes.len(), 1);
    }

    #[test]
    fn coarse_steps_gouge_and_hands_stay_out_of_a_turning_spindle() {
        let mut world = world(7);
        world.act("home; spindle 300; go C");
        let gap = world.gap().unwrap();
        world.act(&format!("down {} um", gap / 1000 + 100));
        assert_eq!(world.count(What::Gouge), 1);
        world.act("up 50; measure steel");
        assert_eq!(world.count(What::HandIn), 1);
        world.act("start");
        assert_eq!(world.count(What::Unreleased), 1);
    }
}
