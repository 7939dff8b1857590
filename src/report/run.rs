//! A run told from its events.

use super::cuts;
use super::page::{Item, Marker, Page, Tone};
use super::standing;
use super::touches;
use super::words;
use crate::interlock::answer::Origin;
use crate::interlock::event::{Event, Outcome, TimedEvent};
use crate::interlock::{Cause, CutEnd, MachineContinuity, State};
use crate::quantity::moment::Moment;

/// How a moment is written for people; given in, since local time is the clock's.
type Local<'a> = &'a dyn Fn(Moment) -> String;

/// Which run it is: procedure, machine, operator, how it stands.
pub(crate) fn head(events: &[TimedEvent], state: &State, local: Local) -> Page {
    let b = &state.begun;
    let outcome = match (state.ended, &state.left) {
        (Some(Outcome::Complete), _) => "complete".to_owned(),
        (Some(Outcome::Abandoned), _) => "given up".to_owned(),
        (None, Some(how)) => format!("open, left: {how}"),
        (None, None) => "open".to_owned(),
    };
    let mut facts = vec![
        format!(
            "Procedure: {} version {}",
            state.procedure.title, b.procedure_version
        ),
        format!("Machine: {}", b.machine),
        format!("Operator: {}", state.operator),
        format!("Outcome: {outcome}"),
    ];
    if let Some(first) = events.first() {
        facts.push(format!("Begun: {}", local(first.at)));
    }
    facts.push(format!("Last entry: {}", local(state.latest)));
    if b.rehearsal {
        facts.push("Rehearsal: practice on a virtual mill, no real cut".to_owned());
    }
    if state.from_file {
        facts.push(format!(
            "Answers: {}; never released, and counts in no plate's account",
            from_file(events, b.answers_file.as_deref())
        ));
    }
    Page::new()
        .title(format!("Run {}", b.run))
        .list(facts.into_iter().map(Item::new))
}

/// Which answers came from a file.
fn from_file(events: &[TimedEvent], file: Option<&str>) -> String {
    let origins = || events.iter().filter_map(|s| s.event.origin());
    let mixed = origins().any(|from| from == Origin::Terminal);
    match (file, mixed) {
        (Some(file), false) => format!("from the file {file}; nobody stood at the prompts"),
        (Some(file), true) => format!("from the file {file}, and from a terminal"),
        (None, _) => "from a terminal, and from an answers file".to_owned(),
    }
}

/// The run as it stands: who, what, every answer that holds by phase, deviations, cuts, what was taken off.
pub fn page(events: &[TimedEvent], state: &State, local: Local) -> Page {
    let mut page = head(events, state, local);
    let show = state.show();
    let mut heading = None;
    let mut items: Vec<Item> = Vec::new();
    for place in state.asked() {
        let at = place.instance();
        let here = (place.phase.id.clone(), place.pass);
        if heading.as_ref() != Some(&here) {
            page = flush(page, &mut items);
            heading = Some(here);
            let title = match place.pass {
                Some(n) => format!(
                    "{} ({} pass {n})",
                    place.phase.title,
                    place.phase.each.as_deref().unwrap_or("")
                ),
                None => place.phase.title.clone(),
            };
            page = page.gap().toned(Tone::Strong, title);
        }
        let Some(given) = state.answers.get(&at) else {
            let text = match state.invalidated.get(&at) {
                Some(because) => format!("{}: no longer holds: {because}", place.step.title),
                None => format!("{}: not answered", place.step.title),
            };
            items.push(Item::marked(Marker::Open, Tone::Look, text));
            continue;
        };
        let other = (given.by != state.operator).then(|| given.by.clone());
        let by = words::by(given, state).or(other);
        let by = by.map_or(String::new(), |by| format!(" ({by})"));
        let seen = given.seen.as_ref();
        let seen = seen.map_or(String::new(), |seen| {
            format!(", {}", standing::seen(seen, local))
        });
        let text = format!(
            "{}: {}{seen}{by}",
            place.step.title,
            words::answer_in_words(state, &at, &given.answer)
        );
        items.push(Item::marked(Marker::Done, Tone::Plain, text));
        if let Some(proves) = &place.step.proves {
            items.push(Item::toned(
                Tone::Quiet,
                format!("what it proves: {proves}"),
            ));
        }
        if let Some(d) = state.deviations.get(&at) {
            let text = format!("outside {}; accepted by {}: {}", d.limit, d.by, d.reason);
            items.push(Item::toned(Tone::Look, text));
        }
    }
    page = flush(page, &mut items);
    page = page
        .then(cuts::page(events, state, local))
        .gap()
        .then(touches::taken(&state.marks.surface(), &show));
    page.then(happened(events, state, local))
}

fn flush(page: Page, items: &mut Vec<Item>) -> Page {
    if items.is_empty() {
        return page;
    }
    page.list(std::mem::take(items))
}

/// What the answers that hold do not tell: notes, stops, changes of hand, cuts broken off, a program that changed.
pub(crate) fn happened(events: &[TimedEvent], state: &State, local: Local) -> Page {
    let items: Vec<Item> = events
        .iter()
        .filter_map(|s| {
            let tone = match &s.event {
                Event::Noted { .. }
                | Event::HandedOver { .. }
                | Event::PlateKnown(_)
                | Event::Looked(_) => Tone::Plain,
                Event::Stopped { .. }
                | Event::StopExplained { .. }
                | Event::OutOfService(_)
                | Event::BackInService { .. } => Tone::Stop,
                Event::CutEnded { how, .. } if *how != CutEnd::Finished => Tone::Stop,
                Event::ProgramChanged { .. }
                | Event::TakenOver { .. }
                | Event::AlsoInUse(_)
                | Event::Resumed {
                    after_crash: true, ..
                } => Tone::Look,
                _ => return None,
            };
            let text = format!("{}  {}", local(s.at), event_line(&s.event, state, local));
            Some(Item::toned(tone, text))
        })
        .collect();
    if items.is_empty() {
        return Page::new();
    }
    Page::new()
        .gap()
        .toned(Tone::Strong, "Notes, stops and changes of hand")
        .list(items)
}

/// Every event in its order; what an answers file says, or was read in the program, is marked.
pub fn every_event(events: &[TimedEvent], state: &State, local: Local) -> Page {
    let items = events.iter().map(|s| {
        let from = match s.event.origin() {
            Some(Origin::AnswersFile) => " (answers file)",
            Some(Origin::Program) => " (read in the program)",
            Some(Origin::Terminal | Origin::Demonstration) | None => "",
        };
        Item::new(format!(
            "{}  {}{from}",
            local(s.at),
            event_line(&s.event, state, local)
        ))
    });
    Page::new()
        .gap()
        .toned(Tone::Strong, "Every entry")
        .list(items)
}

/// An event in one line.
pub(crate) fn event_line(event: &Event, state: &State, local: Local) -> String {
    let show = state.show();
    let title = |at| words::title(state, at);
    match event {
        Event::Began(b) => format!("begun by {} on {}", b.operator, b.machine),
        Event::Answered {
            at,
            answer,
            by,
            seen,
            ..
        } => {
            let verb = match seen {
                Some(_) => "let stand",
                None => "answered",
            };
            let seen = seen.as_ref().map(|seen| standing::seen(seen, local));
            format!(
                "{by} {verb} {}: {}{}",
                title(at),
                words::answer(answer, &state.show_at(at)),
                words::after_comma(&seen.unwrap_or_default())
            )
        }
        Event::CodesTyped { at, so_far, by, .. } => format!(
            "{}: {by} typed {}",
            title(at),
            words::codes_in_words(so_far)
        ),
        Event::Refused {
            at, typed, why, by, ..
        } => {
            format!("{by} typed `{typed}` at {}; not taken: {why}", title(at))
        }
        Event::Accepted {
            at,
            limit,
            reason,
            by,
            ..
        } => format!("{by} accepted {} outside {limit}: {reason}", title(at)),
        Event::Touched {
            at,
            point,
            reading,
            closing,
            place,
            by,
            ..
        } => {
            let value = |l: Option<crate::quantity::Length>| {
                l.map_or("-".to_owned(), |l| show.signed().one(l.into()))
            };
            let closing = if *closing { " again" } else { "" };
            let place = place.map_or(String::new(), |[x, y]| {
                format!(
                    " ({} from the left, {} from the front)",
                    show.one(x.into()),
                    show.one(y.into())
                )
            });
            format!(
                "{by} touched {point}{closing}{place} in {}: readout {}, machine {}",
                title(at),
                value(reading.readout),
                value(reading.machine)
            )
        }
        Event::Zeroed { .. } => "the readout was zeroed there".to_owned(),
        Event::TouchTakenBack { .. } => "the last reading was taken back".to_owned(),
        Event::TouchesRestarted { at, .. } => format!("{} begun anew", title(at)),
        Event::TimerBegan { at, .. } => format!("timer began: {}", title(at)),
        Event::Voided { steps, because } => {
            let steps: Vec<String> = steps.iter().map(title).collect();
            format!("no longer holds ({because}): {}", steps.join("; "))
        }
        Event::Released { at, to, .. } => format!("released {} to {to}", title(at)),
        Event::CutStarted { plane, by, .. } => {
            format!(
                "{by} started the cut, plane {}",
                show.signed().both((*plane).into())
            )
        }
        Event::CutAssumed { plane, .. } => {
            format!(
                "the cut is assumed, nothing was started; plane {}",
                show.signed().both((*plane).into())
            )
        }
        Event::PracticeReleased { at, to, .. } => {
            format!("practice mill released for {} to {to}", title(at))
        }
        Event::PracticeStarted { plane, by, .. } => {
            format!(
                "{by} started the cut on the practice mill, plane {}",
                show.signed().both((*plane).into())
            )
        }
        Event::CutEnded {
            how,
            cause,
            said,
            by,
            ..
        } => {
            let ended = words::ended(*how, *cause);
            let said = words::after_comma(said);
            format!("{by}: the cut {}{said}", ended.trim_end_matches('.'))
        }
        Event::HandedOver { from, to, .. } => format!("handed over from {from} to {to}"),
        Event::Paused { how, .. } => format!("left: {how}"),
        Event::Resumed {
            by,
            after_crash,
            kept,
            ..
        } => {
            let after = if *after_crash {
                ", after it was broken off without a word"
            } else {
                ""
            };
            format!("taken up again by {by}{after}{}", machine(*kept))
        }
        Event::TakenOver { from, by, kept, .. } => format!(
            "taken over by {by} as owner, with their key, from the terminal where {from} had it{}",
            machine(*kept)
        ),
        Event::Stopped {
            by, cause, reason, ..
        } => {
            let cause = match cause {
                Cause::NotAsked | Cause::NotSaid => String::new(),
                cause => words::after_comma(cause.word()),
            };
            format!("{by} stopped{cause}: {reason}")
        }
        Event::StopExplained {
            by, cause, said, ..
        } => {
            let said = words::after_comma(said);
            format!("{by} said why it was stopped: {}{said}", cause.word())
        }
        Event::AlsoInUse(also) => also.words(local),
        Event::OutOfService(seen) => format!("the machine is out of service. {}", seen.words()),
        Event::BackInService {
            reason, by, proof, ..
        } => {
            let key = if proof.is_some() {
                ", with their key"
            } else {
                ""
            };
            format!("{by} put the machine back in service{key}: {reason}")
        }
        Event::ProgramChanged { found, .. } => match found {
            Some(_) => "the program file changed".to_owned(),
            None => "the program file could not be read".to_owned(),
        },
        Event::PlateKnown(known) => format!(
            "the account of {} says {} thick, steel at {}",
            known.plate,
            show.both(known.thickness.into()),
            show.both(known.steel_depth.into())
        ),
        Event::Looked(l) => {
            format!(
                "{} looked after the cut, {}",
                l.by,
                super::inspection::line(l, &show)
            )
        }
        Event::Noted { by, text, .. } => format!("{by} noted: {text}"),
        Event::Ended { outcome, by, .. } => match outcome {
            Outcome::Complete => format!("{by}: complete"),
            Outcome::Abandoned => format!("{by} gave the run up"),
        },
    }
}

/// Whether the machine stayed as it was, where it was asked.
fn machine(kept: Option<MachineContinuity>) -> String {
    kept.map_or(String::new(), |kept| format!("; machine: {}", kept.word()))
}
