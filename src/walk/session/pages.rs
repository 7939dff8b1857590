//! What is shown around a question: where we are, what the step asks, why.

use crate::clock;
use crate::interlock::sequence::SequencePosition;
use crate::interlock::state::Release;
use crate::interlock::{AnswerStatus, Instance, State};
use crate::procedure::model::Kind;
use crate::procedure::{Phase, Procedure, Shop, ShopList, Step};
use crate::quantity::moment::Moment;
use crate::report::page::{Item, Page, PageFact, Tone};
use crate::terminal::screen::minutes;
use crate::walk::prompts::commands::COMMANDS;
use crate::walk::session::wording::Words;
use std::time::Duration;

/// Whether a step is a question, rather than a value worked out.
pub(crate) fn is_question(step: &Step) -> bool {
    !matches!(step.kind, Kind::WorkOut { .. })
}

/// Whether a person is asked: a question, and not one that the examination of the program answers.
pub(crate) fn is_asked(state: &State, place: &SequencePosition) -> bool {
    is_question(place.step) && !state.is_from_program(&place.instance())
}

/// The question asked before `at`, leaving out what is worked out.
pub(crate) fn question_before(state: &State, at: &Instance) -> Option<Instance> {
    let asked = state.asked();
    let here = asked.iter().position(|p| p.instance() == *at)?;
    asked
        .get(..here)?
        .iter()
        .rev()
        .filter(|p| is_asked(state, p) && !matches!(p.step.kind, Kind::Cut { .. }))
        .map(SequencePosition::instance)
        .find(|of| state.answers.contains_key(of))
}

/// What was shown before, which decides how much is shown now.
pub(crate) struct Shown<'a> {
    /// How many words are used.
    pub(crate) words: Words,
    /// The cautions shown in this phase already.
    pub(crate) cautioned: &'a [String],
}

/// What is in sight: the hold point, the machine and what is on it, who works it, and the pass.
pub(crate) fn status(state: &State, at: Option<&Instance>, now: Moment) -> Vec<PageFact> {
    // A release that has lapsed, or a clock that went back before it, holds.
    let good = |r: &&Release| r.from <= now && now <= r.until;
    let held = if state.cutting.is_some() {
        PageFact::toned("cycle start", "PRESSED", Tone::Look)
    } else if let Some(release) = state.release.as_ref().filter(good) {
        let until = clock::local_time(release.until);
        let words = format!("RELEASED to {}, once, until {until}", state.operator);
        PageFact::toned("hold point", words, Tone::Good)
    } else {
        PageFact::toned("hold point", "HELD", Tone::Stop)
    };
    let mut facts = vec![held];
    if state.begun.rehearsal {
        facts.push(PageFact::toned("practice", "rehearsal", Tone::Look));
    }
    for (label, list) in [
        ("machine", ShopList::Machines),
        ("plate", ShopList::Plates),
        ("cutter", ShopList::Cutters),
    ] {
        facts.extend(
            state
                .chosen(list)
                .map(|item| PageFact::new(label, &item.id)),
        );
    }
    facts.push(PageFact::new("operator", &state.operator));
    let pass = at.and_then(|at| Some((state.procedure.pass_of(&at.step)?, at.pass?)));
    facts.extend(pass.map(|(name, n)| PageFact::new(format!("{name} pass"), n.to_string())));
    facts
}

/// The timers that run next to the questions, and how long each has to go.
pub(crate) fn timers(state: &State, now: Moment) -> impl Iterator<Item = PageFact> {
    state.running_timers(now).into_iter().map(|(at, left)| {
        let left = Duration::from_millis(u64::try_from(left).unwrap_or(0));
        let title = state.step(&at).map_or("timer", |step| step.title.as_str());
        PageFact::new(title, format!("{} to go", minutes(left)))
    })
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

/// The step: which question it is of about how many, its cautions, what to do.
pub(crate) fn place(
    state: &State,
    at: &Instance,
    standing: &AnswerStatus,
    shown: &Shown<'_>,
) -> Page {
    let mut page = Page::new();
    let Some(step) = state.step(at) else {
        return page;
    };
    let mut questions = state.asked();
    questions.retain(|p| is_asked(state, p));
    let before = questions.iter().position(|p| p.instance() == *at);
    page = match before {
        Some(before) => page.step(&step.title, before + 1, questions.len()),
        None => page.unnumbered(&step.title),
    };
    if !matches!(
        standing,
        AnswerStatus::Open | AnswerStatus::Holds | AnswerStatus::Running { .. }
    ) {
        let why = format!("Asked again: {}.", standing.words(&state.show()));
        page = page.toned(Tone::Look, why);
    }
    for name in &step.cautions {
        if let Some(caution) = state.procedure.cautions.get(name) {
            page = match (shown.words, shown.cautioned.contains(name)) {
                (Words::Full, false) => page.signal(
                    caution.word,
                    format!(
                        "{} {} {}",
                        caution.hazard, caution.consequence, caution.avoid
                    ),
                ),
                (Words::Full, true) | (Words::Short, false) => {
                    page.signal(caution.word, caution.avoid.clone())
                }
                (Words::Short, true) => page,
            };
        }
    }
    let act = match shown.words {
        Words::Full => step.act.as_ref(),
        Words::Short => step.in_short.as_ref().or(step.act.as_ref()),
    };
    if let Some(act) = act {
        page = page.text(act.clone());
    }
    if let (Words::Full, Some(proves)) = (shown.words, &step.proves) {
        page = page.text(format!("What it proves: {proves}"));
    }
    page
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
    if let Some(act) = step.act.as_ref().filter(|_| step.in_short.is_some()) {
        page = page.text(act.clone());
    }
    if let Some(proves) = &step.proves {
        page = page.text(format!("What it proves: {proves}"));
    }
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
