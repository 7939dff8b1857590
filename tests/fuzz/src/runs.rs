//! Choices made from bytes: commands, most of them such as a person would give next, and events that no command would
//! have made. Nothing panics, whatever the state; what is decided is recorded and read back the same.

use super::pick::Picks;
use super::rig::{BEGUN, begin, look, moment, tell};
use skimgate::fingerprint::Fingerprint;
use skimgate::interlock::answer::{Answer, Origin, SigningMethod, TouchResult};
use skimgate::interlock::answer_status::Next;
use skimgate::interlock::command::{GivenAnswer, Signing};
use skimgate::interlock::event::{Event, Outcome, TimedEvent};
use skimgate::interlock::standing::SeenEarlier;
use skimgate::interlock::touching::NextTouch;
use skimgate::interlock::{
    Cause, Command, CutEnd, Elsewhere, Instance, MachineContinuity, OpenRun, OutOfService, State,
    decide, touches,
};
use skimgate::plate::Reading;
use skimgate::procedure::{Kind, Options, ShopList};
use skimgate::quantity::moment::Moment;
use skimgate::quantity::{Dimension, Exact, Length, Quantity};
use std::sync::Arc;

/// More acts than this say nothing new.
const MOST: usize = 80;

pub fn run(data: &[u8]) {
    let mut picks = Picks(data);
    let mut state = begin(picks.byte() == 255);
    let mut events = Vec::new();
    let mut now = BEGUN;
    for _ in 0..MOST {
        if picks.is_over() {
            break;
        }
        now += match picks.below(16) {
            0 => -(i64::from(picks.byte()) * 60_000),
            1 => i64::from(picks.byte()) * 60_000,
            2 => picks.long() / 1024,
            _ => 1000,
        };
        let at = moment(now);
        // A foreign event is as likely as all that leaves the way of a run.
        let decided = if picks.below(24) == 1 {
            vec![event(&mut picks, &state)]
        } else {
            let command = command(&mut picks, &state, at);
            match decide(&state, at, &command) {
                Ok(events) => events,
                Err(refusal) => {
                    assert!(!refusal.words(&state.show()).is_empty());
                    continue;
                }
            }
        };
        for event in decided {
            let text = serde_json::to_string(&event).expect("an event can be written");
            let again: Event = serde_json::from_str(&text).expect("what was written can be read");
            assert_eq!(again, event, "{text}");
            state.apply(at, &event);
            events.push(TimedEvent { at, event });
        }
        if picks.below(8) == 7 {
            look(&state, at);
        }
    }
    look(&state, moment(now));
    tell(&events, &state);
}

fn instance(picks: &mut Picks, state: &State) -> Instance {
    let ids: Vec<String> = state.procedure.steps().map(|s| s.id.clone()).collect();
    let step = match picks.below(ids.len() + 1) {
        i if i < ids.len() => ids[i].clone(),
        _ => picks.text(),
    };
    let pass = match picks.below(8) {
        0 => None,
        6 => Some(0),
        7 => Some(u32::MAX),
        n => u32::try_from(n).ok(),
    };
    Instance::new(step, pass)
}

fn length(picks: &mut Picks) -> Length {
    let counts = match picks.below(4) {
        0 => 0,
        1 => (i64::from(picks.byte()) - 128) * 100_000,
        2 => i64::from(picks.byte()) * 1000,
        _ => picks.long(),
    };
    Length::from_counts(counts).unwrap_or(Length::ZERO)
}

fn quantity(picks: &mut Picks, dimension: Dimension) -> Quantity {
    let dimension = match picks.below(20) {
        1 => Dimension {
            length: picks.byte().cast_signed(),
            tooth: picks.byte().cast_signed(),
            ..dimension
        },
        _ => dimension,
    };
    let amount = match picks.below(8) {
        0 => Exact::ZERO,
        1 => Exact::whole(i64::from(picks.byte())),
        2 => Exact::whole(i64::from(picks.byte()) * 100),
        3..6 => Exact::fraction(i128::from(picks.byte()) - 128, 100).unwrap_or(Exact::ONE),
        _ => Exact::fraction(
            i128::from(picks.long()) * i128::from(picks.long()),
            i128::from(picks.long()),
        )
        .unwrap_or(Exact::ONE),
    };
    Quantity { amount, dimension }
}

fn fingerprint(picks: &mut Picks) -> Fingerprint {
    Fingerprint::of([picks.byte() % 2])
}

fn seen(picks: &mut Picks, state: &State) -> Option<Fingerprint> {
    match picks.below(8) {
        6 => None,
        7 => Some(fingerprint(picks)),
        _ => state.program().map(|(.., fingerprint)| fingerprint),
    }
}

fn reason(picks: &mut Picks) -> Option<String> {
    match picks.below(4) {
        0 | 1 => None,
        2 => Some("as I say".into()),
        _ => Some(picks.text()),
    }
}

/// What a person might do next; else anything.
pub fn command(picks: &mut Picks, state: &State, now: Moment) -> Command {
    if picks.below(6) == 5 {
        return any_command(picks, state);
    }
    match state.next(now) {
        Next::Cutting(_) => end_cut(picks),
        Next::WhyStopped(_) => Command::ExplainStop {
            cause: picks.of(&Cause::CHOICES),
            said: picks.text(),
        },
        Next::OutOfService => put_back(picks),
        Next::Complete => Command::End {
            outcome: Outcome::Complete,
        },
        Next::Exhausted(at) => Command::Answer {
            at,
            said: GivenAnswer::Word("clean".into()),
            accept: reason(picks),
        },
        Next::Ask(at, _) => usual(picks, state, at),
    }
}

fn put_back(picks: &mut Picks) -> Command {
    Command::PutBack {
        reason: reason(picks).unwrap_or_default(),
        by: picks.of(&["JT", "MK", "??"]).into(),
        signature: picks.yes().then(|| picks.text()),
        people: Arc::default(),
    }
}

fn out_of_service(picks: &mut Picks) -> OutOfService {
    OutOfService {
        run: picks.of(&["r1", "r0"]).into(),
        question: picks.text(),
        state: picks.text(),
        good: picks.text(),
        by: picks.text(),
        from: None,
    }
}

fn end_cut(picks: &mut Picks) -> Command {
    let how = [CutEnd::Finished, CutEnd::Finished];
    let how = [&how[..], &CutEnd::ALL].concat();
    Command::EndCut {
        how: picks.of(&how),
        cause: any_cause(picks),
        said: picks.text(),
    }
}

fn any_cause(picks: &mut Picks) -> Cause {
    let asked = [Cause::NotAsked, Cause::NotSaid];
    picks.of(&[&asked[..], &Cause::CHOICES].concat())
}

/// Other open runs, most often none, and a reason or not.
fn elsewhere(picks: &mut Picks, state: &State) -> Elsewhere {
    let other = OpenRun {
        run: picks.text(),
        ..OpenRun::of(state)
    };
    Elsewhere {
        others: picks.of(&[Vec::new(), Vec::new(), vec![other]]),
        reason: picks.of(&[None, Some(String::new()), Some("both".to_owned())]),
    }
}

fn kept(picks: &mut Picks) -> Option<MachineContinuity> {
    picks.of(&[
        Some(MachineContinuity::Kept),
        Some(MachineContinuity::Lost),
        Some(MachineContinuity::NotKnown),
        None,
    ])
}

fn usual(picks: &mut Picks, state: &State, at: Instance) -> Command {
    let Some(step) = state.step(&at) else {
        return any_command(picks, state);
    };
    let said = match &step.kind {
        Kind::Confirm { answer, wrong, .. } => {
            let mut words = vec![answer.clone(); 4];
            words.extend(wrong.iter().cloned());
            GivenAnswer::Word(picks.of(&words))
        }
        Kind::Choose { options, .. } => {
            let words: Vec<String> = match options {
                Options::Listed(listed) => listed.iter().map(|(w, _)| w.clone()).collect(),
                Options::From(list) => state
                    .shop
                    .items(*list)
                    .iter()
                    .map(|i| i.id.clone())
                    .collect(),
            };
            let word = picks.of(&words);
            if *options == Options::From(ShopList::Plates) {
                let others = elsewhere(picks, state).others;
                GivenAnswer::Plate { id: word, others }
            } else {
                GivenAnswer::Word(word)
            }
        }
        Kind::Inspect => GivenAnswer::Word(picks.of(&["skin left", "clean"]).into()),
        Kind::Note => GivenAnswer::Text(picks.text()),
        Kind::Program { .. } => GivenAnswer::File {
            path: "a.nc".into(),
            fingerprint: fingerprint(picks),
            bytes: 9,
            examined: None,
        },
        Kind::Codes(_) => GivenAnswer::Codes(
            picks
                .of(&["G54 G21 G90", "G90 G91", "G40", "none", "G43 H1", "1"])
                .into(),
        ),
        Kind::Read { dimension, .. } => GivenAnswer::Quantity(quantity(picks, *dimension)),
        Kind::Wait { .. } => GivenAnswer::Quantity(quantity(picks, Dimension::TIME)),
        Kind::Enter(enter) => {
            let due = state.env(&at).quantity(&enter.value);
            let other = quantity(picks, Dimension::LENGTH);
            GivenAnswer::Quantity(due.ok().filter(|_| picks.below(4) > 0).unwrap_or(other))
        }
        Kind::WorkOut { .. } => {
            let accept = reason(picks);
            return Command::WorkOut { at, accept };
        }
        Kind::Sign { .. } => {
            return Command::Sign {
                at,
                initials: state.operator.clone(),
                means: SigningMethod::TypedWithCode,
                with: Signing::default(),
            };
        }
        Kind::Cut { .. } => {
            let program = seen(picks, state);
            return if state.release.is_some() {
                Command::Start {
                    program,
                    people: Arc::default(),
                }
            } else {
                Command::Release {
                    program,
                    people: Arc::default(),
                }
            };
        }
        Kind::Touch(_) => return touch(picks, state, at),
    };
    Command::Answer {
        at,
        said,
        accept: reason(picks),
    }
}

fn touch(picks: &mut Picks, state: &State, at: Instance) -> Command {
    let reading = Reading {
        readout: (picks.below(8) < 7).then(|| length(picks)),
        machine: (picks.below(8) == 7).then(|| length(picks)),
    };
    let (point, closing) = match touches::due(state, &at) {
        Ok(NextTouch::Zero(_)) => {
            let shows = quantity(picks, Dimension::LENGTH);
            return Command::Zeroed { at, shows };
        }
        Ok(NextTouch::Nothing) => return Command::FinishTouches { at },
        Ok(NextTouch::Any) if picks.yes() => return Command::FinishTouches { at },
        Ok(NextTouch::Any) | Err(_) => (picks.text(), picks.yes()),
        Ok(NextTouch::Point(point)) => (point, false),
        Ok(NextTouch::Closing(point)) => (point, true),
    };
    Command::Touch {
        at,
        point,
        reading,
        closing,
        place: None,
        accept: reason(picks),
    }
}

fn any_said(picks: &mut Picks) -> GivenAnswer {
    match picks.below(4) {
        0 => GivenAnswer::Word(picks.text()),
        1 => GivenAnswer::Text(picks.text()),
        2 => GivenAnswer::Quantity(quantity(picks, Dimension::LENGTH)),
        _ => GivenAnswer::File {
            path: picks.text(),
            fingerprint: fingerprint(picks),
            bytes: 1,
            examined: None,
        },
    }
}

fn any_command(picks: &mut Picks, state: &State) -> Command {
    let kind = picks.below(20);
    let at = instance(picks, state);
    match kind {
        0 => Command::Answer {
            at,
            said: any_said(picks),
            accept: reason(picks),
        },
        // An answer changed: the step's own kind, at any place.
        1..=4 => usual(picks, state, at),
        5 => Command::WorkOut {
            at,
            accept: reason(picks),
        },
        6 => touch(picks, state, at),
        7 => Command::Zeroed {
            at,
            shows: quantity(picks, Dimension::LENGTH),
        },
        8 => Command::TakeBack { at },
        9 => Command::RestartTouches { at },
        10 => Command::FinishTouches { at },
        11 => Command::Sign {
            at,
            initials: picks.text(),
            means: SigningMethod::AnswersFile,
            with: Signing::default(),
        },
        12 => Command::Release {
            program: seen(picks, state),
            people: Arc::default(),
        },
        13 => Command::Start {
            program: seen(picks, state),
            people: Arc::default(),
        },
        14 => end_cut(picks),
        15 => Command::LookAtProgram {
            program: seen(picks, state),
        },
        16 => Command::HandOver {
            to: picks.text(),
            elsewhere: elsewhere(picks, state),
        },
        17 => Command::Resume {
            by: picks.of(&["JT", "MK", "??"]).into(),
            from: picks.of(&[Origin::Terminal, Origin::AnswersFile]),
            kept: kept(picks),
            elsewhere: elsewhere(picks, state),
        },
        18 => Command::Stop {
            cause: any_cause(picks),
            reason: picks.text(),
        },
        _ => match picks.below(7) {
            6 => Command::KnowOutOfService(out_of_service(picks)),
            5 => put_back(picks),
            4 => Command::ExplainStop {
                cause: any_cause(picks),
                said: picks.text(),
            },
            0 => Command::Pause { how: picks.text() },
            1 => Command::Note { text: picks.text() },
            2 => Command::End {
                outcome: Outcome::Abandoned,
            },
            _ => Command::End {
                outcome: Outcome::Complete,
            },
        },
    }
}

fn answer(picks: &mut Picks) -> Answer {
    match picks.below(8) {
        0 => Answer::Word(picks.text()),
        1 => Answer::Word(
            picks
                .of(&["finished", "skin left", "clean", "c12", "touch"])
                .into(),
        ),
        2 => Answer::Text(picks.text()),
        3 => Answer::Quantity(quantity(picks, Dimension::LENGTH)),
        4 => Answer::Touched(TouchResult {
            heights: (0..picks.below(4))
                .map(|_| (picks.text(), length(picks)))
                .collect(),
            drift: picks.yes().then(|| length(picks)),
            repeatability: picks.yes().then(|| length(picks)),
            moved: picks.yes().then(|| length(picks)),
        }),
        5 => Answer::Entered {
            value: quantity(picks, Dimension::LENGTH),
            read_back: quantity(picks, Dimension::LENGTH),
        },
        6 => Answer::File {
            path: picks.text(),
            fingerprint: fingerprint(picks),
            bytes: u64::MAX,
            examined: None,
        },
        _ => Answer::Signed {
            initials: picks.text(),
            digest: fingerprint(picks),
            means: SigningMethod::TypedWithCode,
            proof: None,
            second: None,
            list: None,
        },
    }
}

/// An event that need not follow from anything.
fn event(picks: &mut Picks, state: &State) -> Event {
    let kind = picks.below(22);
    let at = instance(picks, state);
    let by = picks.text();
    let from = picks.of(&[None, Some(Origin::Terminal), Some(Origin::AnswersFile)]);
    match kind {
        0..=3 => Event::Answered {
            at,
            answer: answer(picks),
            by,
            from,
            seen: picks.yes().then(|| SeenEarlier {
                run: picks.text(),
                at: state.began,
                by: picks.text(),
            }),
        },
        4 => Event::Accepted {
            at,
            limit: picks.text(),
            reason: picks.text(),
            by,
            from,
        },
        5..=7 => Event::Touched {
            at,
            point: picks.text(),
            reading: Reading {
                readout: picks.yes().then(|| length(picks)),
                machine: picks.yes().then(|| length(picks)),
            },
            closing: picks.yes(),
            place: picks.yes().then(|| [length(picks), length(picks)]),
            by,
            from,
        },
        8 => Event::Zeroed { at, from },
        9 => Event::TouchTakenBack { at, from },
        10 => Event::TouchesRestarted { at, from },
        11 => Event::Voided {
            steps: vec![at, instance(picks, state)],
            because: picks.text(),
        },
        12 => Event::Released {
            at,
            until: moment(picks.long()),
            to: by,
            digest: fingerprint(picks),
        },
        13 => Event::CutStarted {
            at,
            plane: length(picks),
            by,
            from,
        },
        14 => Event::CutEnded {
            at,
            how: picks.of(&CutEnd::ALL),
            cause: any_cause(picks),
            said: picks.text(),
            by,
            from,
        },
        15 => Event::HandedOver {
            from: picks.text(),
            to: by,
            origin: from,
        },
        16 => Event::Stopped {
            by,
            cause: any_cause(picks),
            reason: picks.text(),
            from,
        },
        17 => Event::StopExplained {
            cause: any_cause(picks),
            said: picks.text(),
            by,
            from,
        },
        18 => Event::Resumed {
            by,
            after_crash: picks.yes(),
            from,
            kept: kept(picks),
        },
        19 => Event::OutOfService(out_of_service(picks)),
        20 => Event::BackInService {
            reason: picks.text(),
            by,
            proof: None,
            list: None,
            from,
        },
        _ => Event::ProgramChanged {
            at,
            found: Some(fingerprint(picks)),
        },
    }
}
