//! Values that are worked out: shown with their working, recorded, and held against their limits.

use crate::cutting::deflection::CutterBody;
use crate::cutting::ways::{CutWays, CuttingConditions, compare};
use crate::interlock::dependencies::{Dependency, dependencies};
use crate::interlock::{Command, Instance, State, decide};
use crate::plate::Limits;
use crate::procedure::formula::working;
use crate::procedure::read_ways::Compared;
use crate::procedure::shop::Item;
use crate::procedure::{Kind, ShopList, Step};
use crate::quantity::Length;
use crate::report::page::{Page, Tone};
use crate::terminal::prompt::QuestionPart;
use crate::walk::prompts::Prompted;
use crate::walk::session::Session;
use crate::walk::session::pages::is_question;

/// As many steps to go back to are named: a plane comes from every answer before it at some remove.
const MOST_NAMED: usize = 5;

impl Session<'_> {
    /// Works a value out; it is shown with the others before the next question.
    pub(crate) fn work_out(&mut self, at: &Instance, step: &Step) -> Prompted<()> {
        if let Kind::WorkOut { value, .. } = &step.kind {
            let lines = working::lines(&at.step, value, &self.state.env(at), &self.show());
            self.worked(at, step, lines);
        }
        let command = |accept| Command::WorkOut {
            at: at.clone(),
            accept,
        };
        // What holds it is shown below it, so it comes first; else it waits for the values after it.
        if decide(&self.state, self.now(), &command(None)).is_err() {
            self.show_worked_out(true)?;
        }
        if self.give(at, "worked out", command)? {
            return Ok(());
        }
        self.send_back(at, step)
    }

    /// Ways of taking it off side by side, from what the step compares and what the shop file says of cutter, plate and
    /// machine. Nothing where there is no plan: the value's own limits tell why.
    pub(crate) fn ways(&self, at: &Instance, compared: &Compared) -> Option<CutWays> {
        let env = self.state.env(at);
        let of = |key: &str| {
            let formula = compared.iter().find(|(k, _)| *k == key)?;
            env.quantity(&formula.1).ok()
        };
        let length = |key: &str| Length::nearest(of(key)?);
        let (from, to, most) = (length("from")?, length("to")?, length("most")?);
        let item = |list| self.state.chosen(list);
        let (cutter, plate, mill) = (
            item(ShopList::Cutters),
            item(ShopList::Plates),
            item(ShopList::Machines),
        );
        let fact = |item: Option<&Item>, name: &str| item.and_then(|i| i.quantity(name));
        let setting = CuttingConditions {
            diameter: fact(cutter, "diameter"),
            teeth: fact(cutter, "teeth"),
            corner: fact(cutter, "corner"),
            least_chip: fact(cutter, "least_chip_load"),
            most_chip: fact(cutter, "most_chip_load"),
            body: cutter
                .and_then(|c| c.word("made_of"))
                .and_then(CutterBody::from_word),
            stick_out: of("stick out"),
            spindle: of("speed"),
            feed: of("feed"),
            finish_override: of("override"),
            step_over: of("step over"),
            beyond: of("overrun"),
            long: fact(plate, "x_length"),
            wide: fact(plate, "y_width"),
            material: plate.and_then(|p| p.word("material")).map(str::to_owned),
            spindle_power: fact(mill, "spindle_power"),
            tilt: of("tram"),
            steel: of("steel"),
            thickness: of("thickness"),
            least_thickness: fact(plate, "least_thickness"),
            finishing_bite: fact(cutter, "finishing_bite"),
        };
        let limits = Limits {
            max_bite: most,
            finish: length("finish"),
            step: mill.and_then(|m| m.length("readout_step")),
        };
        let ways = compare(&setting, from, to, limits).ok()?;
        let some = ways.ways.iter().any(|w| !w.plan.passes.is_empty());
        some.then_some(ways)
    }

    /// Where to go back to, for a worked-out value, in words.
    pub(crate) fn back_words(&self, at: &Instance, step: &Step) -> String {
        let from = typed_behind(&self.state, at, step);
        if from.is_empty() {
            return "a step by its id".to_owned();
        }
        let words: Vec<String> = from
            .iter()
            .take(MOST_NAMED)
            .map(|id| format!("`back {id}`"))
            .collect();
        words.join(", ")
    }

    /// A value out of its limits is put right where it comes from: names those steps and waits for `back`.
    fn send_back(&mut self, at: &Instance, step: &Step) -> Prompted<()> {
        let steps = self.back_words(at, step);
        let page = Page::new()
            .toned(
                Tone::Stop,
                "This holds the run. It is worked out, not typed.",
            )
            .next(format!(
                "Put right what it comes from: {steps}. Or `leave`, `end`."
            ));
        self.prompter.show(&page)?;
        let said = self.listen(at, "back STEP", &QuestionPart::Answer)?;
        let why = "a worked-out value cannot be typed; go back to what it comes from";
        Ok(self.refuse(at, &said, why)?)
    }
}

/// The steps that a person answered, by id, from which a worked-out value comes at any remove; the latest asked first,
/// since that is where a slip is looked for first.
pub(crate) fn typed_behind(state: &State, at: &Instance, step: &Step) -> Vec<String> {
    let mut open = vec![step];
    let mut seen = std::collections::BTreeSet::new();
    let mut typed = Vec::new();
    while let Some(step) = open.pop() {
        for dependence in dependencies(step) {
            let id = match dependence {
                Dependency::Step(id) => id,
                Dependency::Program => state.program_step().unwrap_or_default().to_owned(),
                _ => continue,
            };
            if !seen.insert(id.clone()) {
                continue;
            }
            match state.procedure.step(&id) {
                Some(step) if !is_question(step) => open.push(step),
                Some(_) | None => typed.push(id),
            }
        }
    }
    let changeable = |id: &String| {
        let of = state.referred(id, at);
        of.is_some_and(|of| state.answers.contains_key(&of) && !state.is_history(&of))
    };
    let place = |id: &String| {
        let mut steps = state.procedure.steps();
        std::cmp::Reverse(steps.position(|s| s.id == *id))
    };
    let mut typed: Vec<String> = typed.into_iter().filter(changeable).collect();
    typed.sort_by_key(place);
    typed
}
