//! Answers that stand: the rule of a step whose answer from an earlier finished run may be used again, and the check that
//! no step has such a rule whose answer must be seen now.
//!
//! What must be seen now: the person, people in reach, the spindle, clamping, homing, offsets, heights, entries and
//! sign-offs. A file says so by the kind of step, by its keys (`fresh for`, `critical`, ...), by what depends on it and by
//! the facts under `practice:`. Each of these alone is enough, so that a forgotten mark opens nothing.

use super::fields::Fields;
use super::formula::functions::{self, Evaluate};
use super::formula::{BuiltIn, Formula, ast::ExprKind};
use super::kinds::key::{STANDS_FOR, WHILE};
use super::model::{Kind, Options, Procedure, ShopList, SignalWord, Step};
use super::node::Scalar;
use super::notes::Notes;
use super::practice::facts::Lasting;
use super::read_step::time;
use crate::diagnostics::{Findings, Span, nearest};
use crate::fingerprint::Fingerprint;
use crate::quantity::Quantity;
use std::collections::BTreeSet;
use std::fmt;

/// How long an answer stands, and what must be the same meanwhile.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct StandingRule {
    /// How long it stands, counted from when a person saw it.
    pub time: Quantity,
    /// What must be the same as when it was seen.
    pub same: Vec<SameThing>,
    /// The place of `stands for` in the file.
    pub span: Span,
}

/// Something that must be the same as in the run in which an answer was seen.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum SameThing {
    /// The chosen item of a list, with all its facts in the shop file.
    Item(ShopList),
    /// One fact of the chosen item of a list, by its name in formulas.
    Fact(ShopList, String),
    /// The program, by its bytes.
    Program,
}

impl SameThing {
    /// The word for the program under `while`.
    const PROGRAM: &'static str = "program";

    fn read(word: &str) -> Option<Self> {
        if word == Self::PROGRAM {
            return Some(Self::Program);
        }
        let (one, fact) = word
            .split_once('.')
            .map_or((word, None), |(a, b)| (a, Some(b)));
        let list = ShopList::of_one(one)?;
        match fact {
            None => Some(Self::Item(list)),
            Some(name) => list
                .fact(name)
                .and_then(super::facts::Fact::type_in_formulas)
                .map(|_| Self::Fact(list, name.to_owned())),
        }
    }

    /// The list of the shop file that it is about; `None` for the program.
    pub(crate) fn list(&self) -> Option<ShopList> {
        match self {
            Self::Item(list) | Self::Fact(list, _) => Some(*list),
            Self::Program => None,
        }
    }

    /// Whether `step` decides what it is in a run.
    pub(crate) fn is_decided_at(&self, step: &Step) -> bool {
        match self.list() {
            Some(list) => step.kind.shop_list() == Some(list),
            None => matches!(step.kind, Kind::Program { .. }),
        }
    }

    /// Every word that can stand under `while`.
    fn words() -> Vec<String> {
        let mut words: Vec<String> = ShopList::ALL.map(|l| l.one().to_owned()).into();
        words.push(Self::PROGRAM.to_owned());
        for list in ShopList::ALL {
            let usable = list
                .facts()
                .iter()
                .filter(|f| f.type_in_formulas().is_some());
            words.extend(usable.map(|f| format!("{}.{}", list.one(), f.name())));
        }
        words
    }
}

impl fmt::Display for SameThing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Item(list) => f.write_str(list.one()),
            Self::Fact(list, name) => write!(f, "{}.{name}", list.one()),
            Self::Program => f.write_str(Self::PROGRAM),
        }
    }
}

/// Reads `stands for` and `while` of a step of any kind.
pub(crate) fn read(fields: &mut Fields, findings: &mut Findings) -> Option<StandingRule> {
    let (stands_for, same_while) = (STANDS_FOR.name, WHILE.name);
    let span = |fields: &Fields, key| {
        let pair = fields.pairs().iter().find(|(k, _)| k.text == key);
        pair.map_or(fields.span, |(k, _)| k.span)
    };
    let place = span(fields, stands_for);
    let words = fields.texts(same_while, findings);
    let same: Vec<SameThing> = words.iter().filter_map(|w| thing(w, findings)).collect();
    if !fields.has(stands_for) {
        if fields.has(same_while) {
            findings
                .error(span(fields, same_while), "`while` without `stands for`")
                .help("write how long the answer stands, for instance `stands for: 30 d`, or remove `while`");
        }
        return None;
    }
    let time = time(fields, stands_for, findings);
    if !fields.has(same_while) {
        findings
            .error(place, "`stands for` without `while`")
            .help("name after `while` what must be the same, for instance `while: [machine]`");
    }
    Some(StandingRule {
        time: time?,
        same,
        span: place,
    })
}

fn thing(word: &Scalar, findings: &mut Findings) -> Option<SameThing> {
    let found = SameThing::read(&word.text);
    if found.is_none() {
        let words = SameThing::words();
        let text = format!("`{}` cannot stand under `while`", word.text);
        let finding = findings.error(word.span, text);
        match nearest(&word.text, words.iter().map(String::as_str)) {
            Some(near) => finding.help(format!("did you mean `{near}`?")),
            None => finding.help(
                "the names are: machine, plate, cutter, program, or one fact of the shop file such as `machine.highest_speed`",
            ),
        };
    }
    found
}

/// Checks every rule: the answer need not be seen now, and what `while` names is decided before it.
pub(crate) fn check(
    procedure: &Procedure,
    steps: &[&Step],
    notes: &Notes,
    findings: &mut Findings,
) {
    for (index, step) in steps.iter().enumerate() {
        let Some(rule) = &step.stands else { continue };
        if let Some(why) = must_be_seen_now(procedure, step) {
            findings
                .error(
                    rule.span,
                    format!("the answer to `{}` cannot stand: {why}", step.id),
                )
                .help("remove `stands for` and `while`; this is asked in every run");
            continue;
        }
        let before = steps.get(..index).unwrap_or_default();
        for thing in &rule.same {
            let known = before.iter().any(|s| thing.is_decided_at(s));
            if !known && !notes.incomplete {
                let place = notes.place(step.span, WHILE.name, &thing.to_string());
                let what = thing.list().map_or(SameThing::PROGRAM, ShopList::one);
                findings
                    .error(
                        place,
                        format!("no step before `{}` says which {what} it is", step.id),
                    )
                    .help(format!(
                        "move this step below the one that asks for the {what}, or remove `{thing}`"
                    ));
            }
        }
        for needed in lasting(step).into_iter().filter_map(Lasting::needs) {
            let named = rule.same.iter().any(|s| match needed {
                Lasting::WithMachine => *s == SameThing::Item(ShopList::Machines),
                Lasting::WithCutter => *s == SameThing::Item(ShopList::Cutters),
                Lasting::WithProgram => *s == SameThing::Program,
                Lasting::Now => true,
            });
            if !named {
                let word = needed.word();
                findings
                    .error(
                        rule.span,
                        format!(
                            "`{}` is about the {word}, and `while` does not name it",
                            step.id
                        ),
                    )
                    .help(format!("add `{word}` to `while`"));
            }
        }
    }
}

/// Why the answer to a step must be seen now; `None` where an earlier one may stand.
pub(crate) fn must_be_seen_now(procedure: &Procedure, step: &Step) -> Option<String> {
    by_kind(step)
        .map(str::to_owned)
        .or_else(|| by_keys(procedure, step).map(str::to_owned))
        .or_else(|| by_order(procedure, step).map(str::to_owned))
        .or_else(|| by_dependencies(procedure, step))
}

fn by_kind(step: &Step) -> Option<&'static str> {
    match &step.kind {
        Kind::Confirm {
            critical,
            undoes,
            out_of_service,
            ..
        } => {
            if *critical {
                Some("it is critical, so somebody looks each time")
            } else if !undoes.is_empty() {
                Some("it checks again what was confirmed before (`undoes`)")
            } else if !out_of_service.is_empty() {
                Some(
                    "it looks for a state in which the machine must not be used (`out of service`)",
                )
            } else {
                None
            }
        }
        Kind::Choose { options, .. } => match options {
            Options::From(_) => Some("what is used is chosen in every run"),
            Options::Listed(_) => None,
        },
        Kind::Read { measures_plate, .. } => {
            measures_plate.then_some("each cut changes the thickness of the plate")
        }
        Kind::Note => None,
        Kind::Touch(_) => Some("heights are touched in every run"),
        Kind::WorkOut { .. } => Some("it is computed in every run"),
        Kind::Enter(_) => Some("an entry is read back from the control in every run"),
        Kind::Program { .. } => Some("the program is examined in every run"),
        Kind::Sign { .. } => Some("a sign-off covers one run"),
        Kind::Cut { .. } => Some("a cut is made in one run"),
        Kind::Codes(_) => Some("the control shows its codes in every run"),
        Kind::Inspect => Some("the surface is inspected after each cut"),
        Kind::Wait { .. } => Some("the time must run in every run"),
    }
}

fn by_keys(procedure: &Procedure, step: &Step) -> Option<&'static str> {
    if step.of_person {
        return Some("it is asked of the person");
    }
    if step.fresh_for.is_some() {
        return Some("it has `fresh for`, which ends within a run");
    }
    if step.after_lost_position {
        return Some("it is asked again after a lost position");
    }
    if lasting(step).contains(&Lasting::Now) {
        return Some("its `practice` names a fact that can change between two runs");
    }
    let hurts = |name: &String| {
        let caution = procedure.cautions.get(name);
        caution.is_some_and(|c| matches!(c.word, SignalWord::Danger | SignalWord::Warning))
    };
    (matches!(step.kind, Kind::Confirm { .. }) && step.cautions.iter().any(hurts))
        .then_some("somebody can be hurt where it is not so: a danger or warning is shown there")
}

fn by_order(procedure: &Procedure, step: &Step) -> Option<&'static str> {
    if procedure.pass_of(&step.id).is_some() {
        return Some("it is asked in each pass, and a cut can change it");
    }
    let mut before = procedure.steps().take_while(|s| s.id != step.id);
    before
        .any(|s| matches!(s.kind, Kind::Cut { .. }))
        .then_some("it is asked after a cut, which can change it")
}

/// An answer cannot last longer than what it depends on, nor be taken for granted by what is measured on it.
fn by_dependencies(procedure: &Procedure, step: &Step) -> Option<String> {
    if step.formulas().into_iter().any(uses_surface_or_zero) {
        return Some("it depends on heights of this run".to_owned());
    }
    let mut open: Vec<&str> = depends_on(step);
    let mut seen = BTreeSet::new();
    while let Some(id) = open.pop() {
        if !seen.insert(id) {
            continue;
        }
        let Some(other) = procedure.step(id) else {
            continue;
        };
        let measured = matches!(
            other.kind,
            Kind::Touch(_)
                | Kind::Enter(_)
                | Kind::Codes(_)
                | Kind::Wait { .. }
                | Kind::Inspect
                | Kind::Cut { .. }
        );
        if measured || by_keys(procedure, other).is_some() || is_critical(other) {
            return Some(format!("it depends on `{id}`, which is seen in every run"));
        }
        open.extend(depends_on(other));
    }
    let confirms = matches!(step.kind, Kind::Confirm { .. });
    let on_it = |s: &&Step| {
        matches!(s.kind, Kind::Touch(_) | Kind::Enter(_)) && s.rests_on.contains(&step.id)
    };
    let measured = procedure.steps().find(on_it).filter(|_| confirms)?;
    Some(format!("the heights of `{}` depend on it", measured.id))
}

fn is_critical(step: &Step) -> bool {
    matches!(step.kind, Kind::Confirm { critical: true, .. })
}

/// The ids of steps that a step names in formulas or under `rests on`.
fn depends_on(step: &Step) -> Vec<&str> {
    let formulas = step.formulas().into_iter();
    let names = formulas.flat_map(|f| f.expr.references());
    let steps = names.filter(|n| BuiltIn::find(n).is_none());
    let mut found: Vec<&str> = steps.map(|n| n.head.as_str()).collect();
    found.extend(step.rests_on.iter().map(String::as_str));
    found
}

fn uses_surface_or_zero(formula: &Formula) -> bool {
    let mut found = false;
    formula.expr.walk(&mut |e| {
        found |= match &e.kind {
            ExprKind::Name(name) => BuiltIn::find(name).is_some_and(|b| b != BuiltIn::Value),
            ExprKind::Call(name, _) => {
                let function = functions::find(name);
                function.is_some_and(|f| matches!(f.evaluate, Evaluate::Surface(_)))
            }
            _ => false,
        };
    });
    found
}

/// How long the facts under `practice:` last.
fn lasting(step: &Step) -> BTreeSet<Lasting> {
    let facts = step.facts();
    facts
        .into_iter()
        .map(super::practice::Fact::lasts)
        .collect()
}

/// The digest of the question that a step asks: what the person reads before answering, and what can be answered. Two
/// steps with the same digest ask for the same thing, whatever else changed in the file: limits are judged anew, and
/// explanations change no meaning.
pub(crate) fn question_digest(step: &Step) -> Fingerprint {
    let mut builder = Fingerprint::builder()
        .field("skimgate question 1")
        .field(&step.id)
        .field(step.kind.word())
        .field(&step.title)
        .field(step.act.as_deref().unwrap_or_default());
    match &step.kind {
        Kind::Confirm { answer, wrong, .. } => {
            for word in std::iter::once(answer).chain(wrong) {
                builder = builder.field(word);
            }
        }
        Kind::Choose {
            options: Options::Listed(words),
            ..
        } => {
            for (word, meaning) in words {
                builder = builder.field(word).field(meaning);
            }
        }
        Kind::Read {
            dimension, percent, ..
        } => {
            builder =
                builder
                    .field(dimension.to_string())
                    .field(if *percent { "percent" } else { "" });
        }
        // Nothing else that a person reads decides what their answer means, or no answer of the kind stands.
        Kind::Choose { .. }
        | Kind::Note
        | Kind::Touch(_)
        | Kind::WorkOut { .. }
        | Kind::Enter(_)
        | Kind::Codes(_)
        | Kind::Program { .. }
        | Kind::Sign { .. }
        | Kind::Cut { .. }
        | Kind::Inspect
        | Kind::Wait { .. } => {}
    }
    builder.finish()
}
