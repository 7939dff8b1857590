//! What is so in the workshop: the value of each fact that `practice:` in a procedure can ask for.

use super::mill::OFFSETS;
use super::world::World;
use super::{MM, Nm};
use crate::procedure::formula::eval::{self, Env, TouchedSurface};
use crate::procedure::formula::{Formula, Reference, Value};
use crate::procedure::practice::facts::{Is, Within};
use crate::procedure::practice::{Fact, facts};
use crate::quantity::{Exact, Length, Quantity, Unit, UnitSystem};

/// How far X and Y may read from 0 over the program's X0 Y0; common practice, no source.
const XY_ZERO: Nm = MM / 20;
/// How far above the plate the tip counts as touching: a last jog step.
const TOUCHING: Nm = MM / 20;

impl World {
    /// The value of a fact; none where there is nothing to see of it now.
    pub(crate) fn fact(&self, fact: Fact) -> Option<Value> {
        let (p, mill) = (&self.place, &self.mill);
        let tape = self.tape.as_ref();
        let length = |nm: Nm| Length::from_counts(nm.saturating_mul(10)).map(Value::from);
        let number = |n: usize| Some(Value::Quantity(Quantity::whole(i64::try_from(n).ok()?)));
        let turns = |n: i64| Quantity::of(Exact::whole(n), &Unit::find("rpm")?).ok();
        let speed = |n: i64| turns(n).map(Value::Quantity);
        let percent = |n: i64| {
            Some(Value::Quantity(Quantity::ratio(Exact::fraction(
                n.into(),
                100,
            )?)))
        };
        let truth = |is: bool| Some(Value::Truth(is));
        let word = |word: &str| Some(Value::Word(word.to_owned()));
        let unit = |system: UnitSystem| match system {
            UnitSystem::Mm => word("mm"),
            UnitSystem::Inch => word("inch"),
        };
        let offset = |index: usize| word(OFFSETS.get(index)?);
        match fact {
            Fact::Glasses => truth(p.glasses),
            Fact::BareHands => truth(!p.gloves),
            Fact::NobodyNear => truth(!p.visitor),
            Fact::NoRunLeft => truth(!p.half_done),
            Fact::Guards => truth(p.guards),
            Fact::DoorShut => truth(p.door),
            Fact::NozzleAimed => truth(p.nozzle),
            Fact::NothingInside => truth(p.inside),
            Fact::PlateTight => truth(p.plate),
            Fact::NoChips => truth(!p.chips),
            Fact::Inked => truth(p.ink),
            Fact::SteelDeep => truth(!self.steel_stands_high()),
            Fact::PlateCool => truth(!p.warm_plate),
            Fact::Clean => truth(self.plate.is_clean()),
            Fact::CutterTight => truth(p.cutter),
            Fact::EdgesWhole => truth(p.edges),
            Fact::OnPlate => truth(self.is_touching()),
            Fact::Lifted => truth(self.gap().is_none_or(|gap| gap > MM / 2)),
            Fact::OverStart => truth(self.is_over_start()),
            Fact::SpindleStopped => truth(mill.spindle == 0),
            Fact::SpindleWarm => truth(mill.is_warm()),
            Fact::Homed => truth(mill.homed),
            Fact::StopTried => truth(p.stop_tried && !mill.stopped),
            Fact::XyZero => {
                let [x, y, _] = mill.origin();
                truth(mill.homed && x.abs().max(y.abs()) < XY_ZERO)
            }
            Fact::CoolantOn => truth(mill.coolant),
            Fact::RightProgram => truth(tape.is_some_and(|t| t.name == self.facts.program)),
            Fact::Unit => unit(mill.system),
            Fact::Offset => offset(mill.active),
            Fact::ProgramUnit => unit(tape?.blocks.iter().find_map(|b| b.unit)?),
            Fact::ProgramOffset => offset(tape?.offset()?),
            Fact::ActiveH => number(mill.length),
            Fact::ProgramH => number(tape?.length()),
            Fact::SpindleSpeed => speed(mill.spindle),
            Fact::ProgramSpeed => speed(tape?.blocks.iter().find_map(|b| b.speed)?),
            Fact::ProgramFeed => {
                let cut = tape?
                    .blocks
                    .iter()
                    .filter(|b| b.goes.is_some_and(|(rapid, _)| !rapid));
                let feed = cut.filter_map(|b| b.feed).next_back()?;
                let minute = Unit::find("mm/min")?;
                let amount = Exact::fraction(feed.into(), MM.into())?;
                Quantity::of(amount, &minute).ok().map(Value::Quantity)
            }
            Fact::FeedOverride => percent(mill.feed),
            Fact::RapidOverride => percent(mill.rapid),
            Fact::Tallest
            | Fact::Steel
            | Fact::Thickness
            | Fact::Unevenness
            | Fact::Diameter
            | Fact::StickOut
            | Fact::Gap
            | Fact::UnderTip
            | Fact::Tram
            | Fact::Sweep
            | Fact::Shift
            | Fact::WorkZ
            | Fact::MachineZ
            | Fact::JogStep
            | Fact::MadeFor
            | Fact::LowestZ
            | Fact::StepOver
            | Fact::Overrun
            | Fact::StartClear => length(self.measured(fact)?),
        }
    }

    /// A fact that is a length, as its instrument gives it; none for all others, and where there is nothing to measure.
    pub(crate) fn measured(&self, fact: Fact) -> Option<Nm> {
        let (f, mill) = (&self.facts, &self.mill);
        let corner = self.plate.heights.first().copied().unwrap_or(0);
        let hundredth = |nm: Nm| (nm + 5_000).div_euclid(10_000) * 10_000;
        Some(match fact {
            Fact::Tram => f.tram[0],
            Fact::Sweep => f.tram[1],
            Fact::Steel => {
                let steel = self.plate.steel.iter();
                hundredth(steel.map(|s| self.plate.over(s.at) - s.top).min()?)
            }
            Fact::Thickness => hundredth(f.thickness + Nm::from(corner)),
            Fact::Diameter => self.cutter.diameter - 20_000,
            Fact::StickOut => f.stick_out,
            Fact::Tallest => f.tallest,
            Fact::Gap => hundredth(self.gap()?),
            Fact::StartClear => self.start_clear(),
            Fact::Unevenness => {
                let (low, high) = self.plate.extremes();
                (high - low + 500) / 1000 * 1000
            }
            // Here the cutter itself touches.
            Fact::UnderTip => 0,
            Fact::Shift => mill.shift,
            Fact::WorkZ => mill.work()[2],
            Fact::MachineZ => mill.rounded(mill.machine[2]),
            Fact::JogStep => mill.step,
            Fact::MadeFor => self.made_for()?.diameter,
            Fact::LowestZ => self.tape.as_ref()?.called(2).min()?,
            Fact::StepOver => self.made_for()?.rows().1,
            Fact::Overrun => self.overrun()?,
            _ => return None,
        })
    }

    /// What the loaded program was made for.
    fn made_for(&self) -> Option<super::facing::Facing> {
        let name = &self.tape.as_ref()?.name;
        let found = self.store.iter().find(|p| p.name == *name);
        found.map(|p| p.made_for)
    }

    /// How far the rim of the cutter in the spindle runs past the plate's edges with the loaded program, at least.
    fn overrun(&self) -> Option<Nm> {
        let tape = self.tape.as_ref()?;
        let cutting = |axis: usize| {
            let goes = tape.blocks.iter().filter_map(|b| b.goes);
            goes.filter(|(rapid, _)| !rapid)
                .filter_map(move |(_, to)| to.get(axis).copied().flatten())
        };
        let half = self.made_for()?.diameter / 2;
        let past = |axis: usize| {
            let (near, far) = (
                self.facts.facing.corner.get(axis)?,
                self.facts.facing.size.get(axis)?,
            );
            let front = near - (cutting(axis).min()? - half);
            let back = cutting(axis).max()? + half - (near + far);
            Some(front.min(back))
        };
        Some(past(0)?.min(past(1)?))
    }

    fn start_clear(&self) -> Nm {
        let origin = self.mill.origin();
        let at = [0, 1].map(|i: usize| origin[i] + self.mill.astray[i]);
        let away = [0, 1].map(|i: usize| {
            let low = self.plate.corner[i];
            at[i] - at[i].clamp(low, low + self.plate.size[i])
        });
        super::cutter::root(away[0] * away[0] + away[1] * away[1]) / 100_000 * 100_000
    }

    fn is_over_start(&self) -> bool {
        let (mill, origin) = (&self.mill, self.mill.origin());
        let over = (0..2).all(|i: usize| (mill.machine[i] - origin[i]).abs() < MM / 10);
        over && mill.work()[2] >= 5 * MM
    }

    /// Whether the tip is on the plate, as near as a last jog step.
    pub(crate) fn is_touching(&self) -> bool {
        self.gap().is_some_and(|gap| gap < TOUCHING)
    }

    /// Whether a screw head stands nearer to the surface than the record says.
    pub(crate) fn steel_stands_high(&self) -> bool {
        self.plate.steel.iter().any(|s| s.top > -self.facts.steel)
    }

    /// Whether a state of the workshop is there; none for facts that are no states.
    pub(crate) fn is_so(&self, fact: Fact) -> Option<bool> {
        match self.fact(fact)? {
            Value::Truth(is) => Some(is),
            _ => None,
        }
    }

    /// Whether a condition over facts holds now; none where there is nothing to see of one of them.
    pub(crate) fn holds(&self, condition: &Formula) -> Option<bool> {
        eval::truth(&condition.expr, &Seen(self)).ok()
    }

    /// What a formula over facts gives now, and how far an honest reading of it may be off.
    pub(crate) fn reading(&self, formula: &Formula) -> Option<(Value, Nm)> {
        let value = eval::eval(&formula.expr, &Seen(self)).ok()?;
        let within = facts(&formula.expr).into_iter().map(|f| self.within(f));
        Some((value, within.sum()))
    }

    fn within(&self, fact: Fact) -> Nm {
        match fact.row().is {
            Is::Number(_, Within::Micrometres(n)) => n.saturating_mul(1000),
            Is::Number(_, Within::ReadoutStep) => self.mill.limits.resolution,
            Is::Number(_, Within::Exactly)
            | Is::Word(_)
            | Is::State { .. }
            | Is::Holding { .. } => 0,
        }
    }
}

/// The workshop as formulas see it.
struct Seen<'a>(&'a World);

impl Env for Seen<'_> {
    fn value_of(&self, name: &Reference) -> Option<Value> {
        self.0.fact(crate::procedure::practice::fact(name)?)
    }

    fn previous(&self, _: &str) -> Option<Value> {
        None
    }
}

impl TouchedSurface for Seen<'_> {
    fn touched_near(&self, _: Length) -> Option<Length> {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::super::setup::tests::world;
    use crate::procedure::formula::Value;
    use crate::procedure::practice::Fact;
    use crate::procedure::practice::facts::Is;

    #[test]
    fn every_fact_has_a_value_of_its_own_kind() {
        let mut world = world(3);
        world.act("home; spindle slow; go C");
        for fact in Fact::ALL {
            let value = world
                .fact(*fact)
                .unwrap_or_else(|| panic!("{}", fact.name()));
            let fits = match (fact.row().is, &value) {
                (Is::State { .. } | Is::Holding { .. }, Value::Truth(_)) => true,
                (Is::Word(words), Value::Word(word)) => words.contains(&word.as_str()),
                (Is::Number(dimension, _), Value::Quantity(q)) => q.dimension == dimension,
                _ => false,
            };
            assert!(fits, "{}: {value:?}", fact.name());
        }
    }

    /// Each state that is not so in a workshop is so once its own lines are typed.
    #[test]
    fn what_a_fact_names_mends_it() {
        let upset = |world: &mut super::World| {
            let p = &mut world.place;
            (p.glasses, p.gloves, p.visitor, p.half_done) = (false, true, true, true);
            (p.guards, p.door, p.nozzle, p.inside) = (false, false, false, false);
            (p.plate, p.cutter, p.edges, p.ink) = (false, false, false, false);
            (p.chips, p.warm_plate, p.stop_tried) = (true, true, false);
            if let Some(screw) = world.plate.steel.first_mut() {
                screw.top = 0;
            }
            world.mill.active = 0;
            world.mill.offsets[0][0] = 12_000_000;
            world.mill.spindle = 500;
            let other = world.store.last().cloned().unwrap();
            world.act(&format!("load {}", other.name));
        };
        for fact in Fact::ALL.iter().filter(|f| !f.mend().is_empty()) {
            let mut world = world(3);
            upset(&mut world);
            match fact {
                Fact::Homed => {}
                Fact::OnPlate => {
                    world.place.chips = false;
                    world.act("home");
                }
                Fact::Lifted => {
                    world.act("home; spindle slow; go C");
                    let down = world.gap().unwrap() / 1000;
                    world.act(&format!("down {down} um"));
                }
                _ => {
                    world.act("home");
                }
            }
            if *fact == Fact::SpindleStopped {
                world.act("spindle slow");
            }
            assert_eq!(world.is_so(*fact), Some(false), "{}", fact.name());
            for line in fact.mend() {
                if *line == "touch" {
                    let down = world.gap().unwrap() / 1000 - 300;
                    world.act(&format!("down {down} um"));
                }
                world.act(line);
            }
            assert_eq!(world.is_so(*fact), Some(true), "{}", fact.name());
        }
    }
}
