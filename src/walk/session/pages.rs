//! What is shown around a question: where we are, what the step asks, why.

use crate::interlock::sequence::SequencePosition;
use crate::interlock::state::Release;
use crate::interlock::{AnswerStatus, Instance, State};
use crate::procedure::model::{Caution, Kind};
use crate::procedure::{Phase, Procedure, Shop, ShopList, Step};
use crate::quantity::moment::Moment;
use crate::report::page::{Item, Page, PageFact, Tone};
use crate::terminal::screen::minutes;
use crate::walk::prompts::commands::COMMANDS;
use std::time::Duration;

/// Whether a step is a question, rather than a value worked out.
pub(crate) fn is_question(step: &Step) -> bool {
    !matches!(step.kind, Kind::WorkOut { .. })
}

/// The question asked before `at`, leaving out what is worked out.
pub(crate) fn question_before(state: &State, at: &Instance) -> Option<Instance> {
    let asked = state.asked();
    let here = asked.iter().position(|p| p.instance() == *at)?;
    asked
        .get(..here)?
        .iter()
        .rev()
        .filter(|p| is_question(p.step) && !matches!(p.step.kind, Kind::Cut { .. }))
        .map(SequencePosition::instance)
        .find(|of| state.answers.contains_key(of))
}

/// What is always in sight.
pub(crate) fn status(state: &State, now: Moment) -> Vec<PageFact> {
    let title = |list: ShopList| state.chosen(list).map_or("-", |i| i.id.as_str()).to_owned();
    // A release that has lapsed, or a clock that went back before it, holds.
    let good = |r: &Release| r.from <= now && now <= r.until;
    let held = if state.cutting.is_some() {
        PageFact::toned("cycle start", "PRESSED", Tone::Look)
    } else if state.release.as_ref().is_some_and(good) {
        PageFact::toned("cycle start", "RELEASED", Tone::Good)
    } else {
        PageFact::toned("cycle start", "HELD", Tone::Stop)
    };
    let mut facts = vec![held];
    if state.begun.rehearsal {
        facts.push(PageFact::toned("practice", "rehearsal", Tone::Look));
    }
    facts.extend([
        PageFact::new("on", title(ShopList::Machines)),
        PageFact::new("plate", title(ShopList::Plates)),
        PageFact::new("cutter", title(ShopList::Cutters)),
        PageFact::new("by", &state.operator),
    ]);
    facts.extend(state.running_timers(now).into_iter().map(|(at, left)| {
        let left = Duration::from_millis(u64::try_from(left).unwrap_or(0));
        let title = state.step(&at).map_or("timer", |step| step.title.as_str());
        PageFact::new(title, format!("{} to go", minutes(left)))
    }));
    facts
}

/// The name of a pass: `roughing pass 2`.
pub(crate) fn pass_name(state: &State, at: &Instance) -> Option<String> {
    let name = state.procedure.pass_of(&at.step)?;
    at.pass.map(|n| format!("{name} pass {n}"))
}

/// The phase of an asking and its title.
fn phase_of<'a>(state: &'a State, at: &Instance) -> Option<(usize, &'a Phase)> {
    state
        .procedure
        .phases
        .iter()
        .enumerate()
        .find(|(_, p)| p.steps.iter().any(|s| s.id == at.step))
}

/// The heading of the phase of an asking.
pub(crate) fn heading(state: &State, at: &Instance) -> Page {
    let page = Page::new().gap();
    let Some((index, phase)) = phase_of(state, at) else {
        return page;
    };
    let title = match pass_name(state, at) {
        Some(pass) => format!("{} ({pass})", phase.title),
        None => phase.title.clone(),
    };
    page.heading(title, index + 1, state.procedure.phases.len())
}

/// Where we are: the status and the step. `cautioned` holds the cautions shown in this phase already.
pub(crate) fn place(
    state: &State,
    at: &Instance,
    standing: &AnswerStatus,
    cautioned: &[String],
    now: Moment,
) -> Page {
    let mut page = Page::new();
    let Some((_, phase)) = phase_of(state, at) else {
        return page;
    };
    let Some(step) = state.step(at) else {
        return page;
    };
    let mut facts = status(state, now);
    if let (Some(pass), Some(n)) = (&phase.each, at.pass) {
        facts.push(PageFact::new(pass, n.to_string()));
    }
    page = page.status(facts);
    let steps: Vec<SequencePosition> = state
        .asked()
        .into_iter()
        .filter(|p| p.phase.id == phase.id && p.pass == at.pass && is_question(p.step))
        .collect();
    let number = steps.iter().position(|p| p.step.id == at.step).unwrap_or(0) + 1;
    page = page.step(&step.title, number, steps.len().max(1));
    if !matches!(
        standing,
        AnswerStatus::Open | AnswerStatus::Holds | AnswerStatus::Running { .. }
    ) {
        let why = format!("Asked again: {}.", standing.words(&state.show()));
        page = page.toned(Tone::Look, why);
    }
    for name in step.cautions.iter().filter(|n| !cautioned.contains(n)) {
        if let Some(caution) = state.procedure.cautions.get(name) {
            page = page.signal(caution.word, short(caution));
        }
    }
    if let Some(act) = &step.act {
        page = page.text(act.clone());
    }
    if let Some(proves) = &step.proves {
        page = page.text(format!("What it proves: {proves}"));
    }
    page
}

fn short(caution: &Caution) -> String {
    format!("{} {}", caution.hazard, caution.avoid)
}

/// Why a step is asked, its cautions whole, its limits and the words that work everywhere.
pub(crate) fn help(state: &State, at: &Instance) -> Page {
    let mut page = Page::new().gap();
    let Some(step) = state.step(at) else {
        return page;
    };
    page = page
        .toned(Tone::Strong, format!("Why: {}", step.title))
        .text(step.why.clone());
    for name in &step.cautions {
        if let Some(c) = state.procedure.cautions.get(name) {
            let text = format!("{} {} {} ({})", c.hazard, c.consequence, c.avoid, c.source);
            page = page.signal(c.word, text);
        }
    }
    let place = state.sequence().into_iter().find(|p| p.instance() == *at);
    let limits = place.as_ref().and_then(|p| state.limits_of(p));
    if let Some(limits) = limits {
        let lines = state.limit_words(at, limits, &state.show_at(at));
        if !lines.is_empty() {
            page = page.list(
                lines
                    .into_iter()
                    .map(|l| Item::new(format!("The value {l}."))),
            );
        }
    }
    let words = COMMANDS.iter().map(|(_, word, after, does)| {
        let typed = format!("{word} {after}");
        Item::new(format!("{}: {does}", typed.trim_end()))
    });
    page.toned(
        Tone::Quiet,
        format!("This step is `{}`. At every prompt:", at.step),
    )
    .list(words)
}

/// What a walk opens with, before anything is asked.
pub(crate) fn opening(procedure: &Procedure, shop: &Shop, answers_file: Option<&str>) -> Page {
    let mut page = Page::new()
        .gap()
        .title(format!(
            "{} (version {})",
            procedure.title, procedure.version
        ))
        .text(procedure.applies_to.clone())
        .list(procedure.defers_to.iter().map(|d| Item::new(d.clone())));
    if let Some(note) = &shop.note {
        page = page.toned(Tone::Quiet, format!("Shop: {}. {note}", shop.name));
    }
    if let Some(file) = answers_file {
        let text = format!(
            "Answers come from {file}: nobody is at the machine. This shows the walk; it clears no machine."
        );
        page = page.toned(Tone::Look, text);
    }
    page.next("Type ? at any prompt for help.")
}
