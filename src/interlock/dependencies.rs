//! The dependencies between steps. They are read from the formulas and step references of the procedure, not listed by
//! hand.

use super::instance::Instance;
use super::sequence::SequencePosition;
use super::state::State;
use crate::procedure::formula::ast::ExprKind;
use crate::procedure::formula::functions::{self, Evaluate};
use crate::procedure::formula::{BuiltIn, Expr};
use crate::procedure::model::{Kind, Options, ZeroBy};
use crate::procedure::{Procedure, ShopList, Step};
use crate::quantity::Dimension;
use std::collections::BTreeSet;

/// One thing that a step depends on.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Dependency {
    /// Another step.
    Step(String),
    /// A step in the previous pass.
    Previous(String),
    /// The choice from a list in the shop file.
    Chosen(ShopList),
    /// The surface as touched and cut so far.
    Surface,
    /// The position of the readout's zero.
    Zero,
    /// The program and its examination.
    Program,
    /// Everything before it. Only a sign-off depends on this.
    EverythingBefore,
}

/// Everything that a step depends on, by its formulas and references.
pub(crate) fn dependencies(step: &Step) -> BTreeSet<Dependency> {
    let mut found = BTreeSet::new();
    for formula in step.formulas() {
        named(&formula.expr, &mut found);
    }
    found.extend(step.rests_on.iter().cloned().map(Dependency::Step));
    let same = step.stands.iter().flat_map(|rule| &rule.same);
    found.extend(same.map(|thing| thing.list().map_or(Dependency::Program, Dependency::Chosen)));
    if step.from_program.is_some() {
        found.insert(Dependency::Program);
    }
    match &step.kind {
        Kind::Touch(touch) => {
            found.extend(touch.continues.iter().cloned().map(Dependency::Step));
            match &touch.zero {
                ZeroBy::Fixed(_) => {}
                ZeroBy::Chosen(id) => {
                    found.insert(Dependency::Step(id.clone()));
                }
                ZeroBy::OfMachine => {
                    found.insert(Dependency::Chosen(ShopList::Machines));
                }
            }
        }
        Kind::Codes(codes) => {
            found.insert(Dependency::Program);
            found.extend(codes.same_as.iter().cloned().map(Dependency::Step));
        }
        Kind::Sign { .. } => {
            found.insert(Dependency::EverythingBefore);
        }
        Kind::Confirm { .. }
        | Kind::Choose { .. }
        | Kind::Read { .. }
        | Kind::Note
        | Kind::WorkOut { .. }
        | Kind::Enter(_)
        | Kind::Program { .. }
        | Kind::Cut { .. }
        | Kind::Inspect
        | Kind::Wait { .. } => {}
    }
    found
}

fn named(expr: &Expr, found: &mut BTreeSet<Dependency>) {
    match &expr.kind {
        ExprKind::Call(name, args) => called(name, args, found),
        ExprKind::Negated(e) | ExprKind::Not(e) => named(e, found),
        ExprKind::Binary(_, a, b) => {
            named(a, found);
            named(b, found);
        }
        ExprKind::Name(r) => match (BuiltIn::find(r), ShopList::of_one(&r.head)) {
            (Some(BuiltIn::Value | BuiltIn::PassNumber), _) => {}
            (
                Some(
                    BuiltIn::SurfaceHighest
                    | BuiltIn::SurfaceLowest
                    | BuiltIn::SurfaceSpread
                    | BuiltIn::ZeroMachine,
                ),
                _,
            ) => {
                found.insert(Dependency::Surface);
            }
            (Some(BuiltIn::ZeroHeight), _) => {
                found.insert(Dependency::Zero);
            }
            (None, Some(list)) if r.tail.is_some() => {
                found.insert(Dependency::Chosen(list));
            }
            (None, _) => {
                found.insert(Dependency::Step(r.head.clone()));
            }
        },
        ExprKind::Number(_) | ExprKind::Word(_) => {}
    }
}

/// A call depends on its arguments and on the other inputs of its function.
fn called(name: &str, args: &[Expr], found: &mut BTreeSet<Dependency>) {
    match (functions::find(name).map(|f| f.evaluate), args) {
        (Some(Evaluate::PassBefore), [step, otherwise]) => {
            if let ExprKind::Name(r) = &step.kind {
                found.insert(Dependency::Previous(r.head.clone()));
            }
            named(otherwise, found);
            return;
        }
        (Some(Evaluate::Surface(_)), _) => {
            found.insert(Dependency::Surface);
        }
        (
            Some(
                Evaluate::Numbers(_)
                | Evaluate::Touches(_)
                | Evaluate::PassBefore
                | Evaluate::IfAsked,
            )
            | None,
            _,
        ) => {}
    }
    for arg in args {
        named(arg, found);
    }
}

/// The ids of the steps whose readings a step adds to the readout's zero.
pub(crate) fn readings(procedure: &Procedure, step: &Step) -> Vec<String> {
    let found = dependencies(step);
    if !found.contains(&Dependency::Zero) {
        return Vec::new();
    }
    found
        .into_iter()
        .filter_map(|d| match d {
            Dependency::Step(id) => Some(id),
            _ => None,
        })
        .filter(|id| {
            procedure.step(id).is_some_and(|s| {
                matches!(&s.kind, Kind::Read { dimension, .. } if *dimension == Dimension::LENGTH)
            })
        })
        .collect()
}

impl State {
    /// The answers that become invalid when the answers at `changed` change: everything that depends on them, directly
    /// or indirectly, without what belongs to passes already cut. In sequence order, without `changed` themselves.
    ///
    /// If a value computed from the readout's zero becomes invalid, the readings that it was computed from become
    /// invalid too. The readout may have been set since, and an old reading against a new zero would put the next plane
    /// at the wrong height.
    pub(crate) fn depending_on(&self, changed: &[Instance]) -> Vec<Instance> {
        let mut causes = changed.to_vec();
        loop {
            let invalidated = self.depending_directly(&causes);
            let mut readings: Vec<Instance> = invalidated
                .iter()
                .flat_map(|at| self.readings_against_zero(at))
                .filter(|of| !causes.contains(of))
                .collect();
            if readings.is_empty() {
                return self
                    .sequence()
                    .iter()
                    .map(SequencePosition::instance)
                    .filter(|at| {
                        !changed.contains(at) && (invalidated.contains(at) || causes.contains(at))
                    })
                    .collect();
            }
            causes.append(&mut readings);
        }
    }

    /// The readings that the step at `at` adds to the readout's zero, as far as they are answered and can still change.
    pub(crate) fn readings_against_zero(&self, at: &Instance) -> Vec<Instance> {
        let Some(step) = self.step(at) else {
            return Vec::new();
        };
        readings(&self.procedure, step)
            .into_iter()
            .filter_map(|id| self.referred(&id, at))
            .filter(|of| self.answers.contains_key(of) && !self.is_history(of))
            .collect()
    }

    /// Whether a step reads the readout. Then the same figure given again is still a new reading.
    pub(crate) fn is_reading_against_zero(&self, at: &Instance) -> bool {
        let mut steps = self.procedure.steps();
        steps.any(|step| readings(&self.procedure, step).contains(&at.step))
    }

    fn depending_directly(&self, changed: &[Instance]) -> Vec<Instance> {
        let places = self.sequence();
        let after = self.cuts_after(&places);
        let mut invalidated: Vec<Instance> = Vec::new();
        for (index, (place, cuts)) in places.iter().zip(after).enumerate() {
            let at = place.instance();
            let before = places.get(..index).unwrap_or(&[]);
            if changed.contains(&at) || self.is_past(place, cuts) {
                continue;
            }
            let hit = |of: &Instance| changed.contains(of) || invalidated.contains(of);
            if self.depends(place, before, &hit) {
                invalidated.push(at);
            }
        }
        invalidated.retain(|at| self.answers.contains_key(at) || self.is_half_answered(at));
        invalidated
    }

    /// Whether a position depends on an instance for which `hit` is true.
    fn depends(
        &self,
        place: &SequencePosition,
        before: &[SequencePosition],
        hit: &dyn Fn(&Instance) -> bool,
    ) -> bool {
        let at = place.instance();
        let by_kind = |wanted: fn(&Kind) -> bool| {
            before
                .iter()
                .any(|p| wanted(&p.step.kind) && hit(&p.instance()))
        };
        let named = dependencies(place.step).iter().any(|d| match d {
            Dependency::Step(id) => self.refers(id, &at, before, hit),
            Dependency::Previous(id) => at
                .pass
                .and_then(|n| n.checked_sub(1))
                .is_some_and(|n| hit(&Instance::new(id, Some(n)))),
            Dependency::Chosen(list) => before.iter().any(|p| {
                let chooses = matches!(&p.step.kind, Kind::Choose { options: Options::From(of), .. } if of == list);
                chooses && hit(&p.instance())
            }),
            Dependency::Program => by_kind(|k| matches!(k, Kind::Program { .. })),
            Dependency::Surface => by_kind(|k| matches!(k, Kind::Touch(_) | Kind::Cut { .. })),
            Dependency::Zero => by_kind(|k| matches!(k, Kind::Touch(_) | Kind::Enter(_))),
            Dependency::EverythingBefore => before.iter().any(|p| hit(&p.instance())),
        });
        named || self.pass_depends(place, hit)
    }

    fn refers(
        &self,
        id: &str,
        at: &Instance,
        before: &[SequencePosition],
        hit: &dyn Fn(&Instance) -> bool,
    ) -> bool {
        let own = self.procedure.pass_of(&at.step);
        let its = self.procedure.pass_of(id);
        if its.is_none() {
            hit(&Instance::new(id, None))
        } else if its == own {
            hit(&Instance::new(id, at.pass))
        } else {
            before.iter().any(|p| p.step.id == id && hit(&p.instance()))
        }
    }

    /// A second or later pass depends on the inspection that led to it.
    fn pass_depends(&self, place: &SequencePosition, hit: &dyn Fn(&Instance) -> bool) -> bool {
        let rule = place
            .phase
            .each
            .as_deref()
            .and_then(|e| self.procedure.pass(e));
        match (rule.and_then(|r| r.until.as_ref()), place.pass) {
            (Some(until), Some(n)) if n > 1 => hit(&Instance::new(until, Some(n - 1))),
            _ => false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::command::{Command, GivenAnswer};
    use super::super::testing::{SMALL, TestRun, at, pass};
    use super::{Dependency, dependencies};
    use crate::procedure::ShopList;
    use std::collections::BTreeSet;

    fn changed(from: &str, to: &str) -> String {
        let text = SMALL.replacen(from, to, 1);
        assert_ne!(text, SMALL);
        text
    }

    fn of(rig: &TestRun, step: &str) -> BTreeSet<Dependency> {
        dependencies(rig.state.procedure.step(step).unwrap())
    }

    fn steps<const N: usize>(ids: [&str; N]) -> BTreeSet<Dependency> {
        ids.map(|id| Dependency::Step(id.to_owned())).into()
    }

    #[test]
    fn a_series_of_touches_depends_on_the_series_it_continues_and_on_its_way_of_reading() {
        let rig = TestRun::new();
        assert_eq!(of(&rig, "lows"), steps(["low_places", "corners"]));
        let way = "      - choose: way\n        title: How the readout is zeroed\n        why: The mill decides.\n        \
                   options:\n          running: at each lower point\n          fixed: once\n";
        let text = changed(
            "      - confirm: eyes\n",
            &format!("{way}      - confirm: eyes\n"),
        );
        let rig = TestRun::of(&text.replacen("zero: running", "zero: way", 1));
        assert_eq!(
            of(&rig, "corners"),
            steps(["cutter", "home", "warm", "plate", "way"])
        );
    }

    /// This holds for any id of the step that makes the choice.
    #[test]
    fn a_fact_of_the_shop_depends_on_the_choice_from_the_list() {
        let lists = [ShopList::Machines, ShopList::Cutters].map(Dependency::Chosen);
        assert_eq!(of(&TestRun::new(), "speed"), lists.into());
        let text = changed("choose: cutter\n", "choose: tool\n");
        let mut rig = TestRun::of(&text.replace("[cutter", "[tool"));
        rig.word(at("tool"), "c12").unwrap();
        rig.word(at("plate"), "bed-a").unwrap();
        rig.word(at("eyes"), "worn").unwrap();
        rig.word(at("home"), "homed").unwrap();
        rig.number(at("speed"), "3000 rpm").unwrap();
        assert_eq!(rig.state.depending_on(&[at("tool")]), [at("speed")]);
    }

    /// An unfinished series becomes invalid like a finished one. A step that was never answered cannot become invalid.
    #[test]
    fn an_unfinished_series_becomes_invalid_too() {
        let mut rig = TestRun::new();
        rig.prepare();
        rig.touch(at("corners"), "P1", "0").unwrap();
        let rests = rig.state.depending_on(&[at("cutter")]);
        assert_eq!(rests, [at("speed"), at("nc"), at("corners")]);
        rig.word(at("cutter"), "c16").unwrap();
        assert!(rig.state.touching.is_none());
    }

    /// The readings that a value was computed from become invalid with it, except those of a pass already cut.
    #[test]
    fn a_reading_of_a_cut_pass_stays_valid_although_a_value_made_from_it_becomes_invalid() {
        let text = changed("finish_standing - finish_plane", "standing - finish_plane");
        let mut rig = TestRun::of(&text);
        rig.prepare();
        rig.touch_off();
        rig.rough(1, "0", "0");
        rig.cut(pass("clear", 1));
        rig.go(Command::Answer {
            at: pass("look", 1),
            said: GivenAnswer::Word("clean".into()),
            accept: Some("nothing is mounted there".into()),
        });
        rig.number(pass("skim", 1), "0.08").unwrap();
        rig.work_out(pass("finish_plane", 1));
        rig.number(pass("finish_standing", 1), "0").unwrap();
        rig.number(pass("finish_entry", 1), "0.08").unwrap();
        assert_eq!(
            rig.state.depending_on(&[pass("skim", 1)]),
            [pass("finish_plane", 1), pass("finish_entry", 1)]
        );
        // A step named from another kind of pass: the dependency is on each earlier instance of that step, and on
        // nothing else.
        assert_eq!(
            rig.state.depending_on(&[pass("standing", 1)]),
            [pass("finish_entry", 1)]
        );
        assert_eq!(rig.state.depending_on(&[at("speed")]), []);
    }

    #[test]
    fn a_step_depends_on_the_value_of_the_previous_pass_and_not_on_its_own() {
        let mut rig = TestRun::new();
        let mut plane = steps(["clearance"]);
        plane.extend([
            Dependency::Previous("plane".to_owned()),
            Dependency::Surface,
            Dependency::Chosen(ShopList::Cutters),
        ]);
        assert_eq!(of(&rig, "plane"), plane);
        rig.prepare();
        rig.touch_off();
        rig.rough(1, "0", "0");
        rig.cut(pass("clear", 1));
        rig.word(pass("look", 1), "skin left").unwrap();
        rig.word(pass("low_places", 2), "none").unwrap();
        rig.rough(2, "0", "-0.18");
        let rests = rig.state.depending_on(&[pass("plane", 1)]);
        assert!(rests.contains(&pass("plane", 2)), "{rests:?}");
        // In its own kind of pass, a step's name means the instance of the same pass.
        assert_eq!(rig.state.depending_on(&[pass("clearance", 1)]), []);
        // Touches and entries set the readout's zero; a question about glasses does not.
        let rests = rig.state.depending_on(&[at("eyes")]);
        assert_eq!(rests, []);
    }
}
