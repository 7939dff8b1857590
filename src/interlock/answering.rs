//! Decides answers: each kind of step accepts its own kind of answer and checks it against the step's limits.

use super::answer::{Answer, Proof, SecondSignature, SigningMethod};
use super::answer_status::AnswerStatus;
use super::command::{GivenAnswer, Signing};
use super::decide::Decided;
use super::elsewhere::{self, Shared};
use super::event::Event;
use super::examined::{Examined, Judged};
use super::gate::{Hold, HoldReason};
use super::inspection::inspection_result;
use super::instance::Instance;
use super::invalidation::contradicted;
use super::judge::BrokenLimit;
use super::recording::{accept, record, record_done_anew};
use super::refusal::Refusal;
use super::sequence::SequencePosition;
use super::signing::SignatureRole;
use super::state::State;
use crate::procedure::formula::Value;
use crate::procedure::model::{CLEAN, Enter, Limit, SKIN_LEFT};
use crate::procedure::{Kind, Limits, Options, ShopList};
use crate::quantity::format::QuantityFormat;
use crate::quantity::moment::Moment;
use crate::quantity::range::BrokenBound;
use crate::quantity::{Dimension, Exact, Quantity};

/// Answers a question. `held` says whether the previous answer was still valid. What the examination of the program
/// answers cannot be typed.
pub(crate) fn answer(
    state: &State,
    place: &SequencePosition,
    said: &GivenAnswer,
    reason: Option<&str>,
    held: bool,
) -> Decided {
    if state.is_from_program(&place.instance()) {
        return Err(Refusal::ReadInProgram);
    }
    given(state, place, said, reason, held)
}

/// The same for an answer that is typed or read in the program.
pub(super) fn given(
    state: &State,
    place: &SequencePosition,
    said: &GivenAnswer,
    reason: Option<&str>,
    held: bool,
) -> Decided {
    let at = place.instance();
    match (&place.step.kind, said) {
        (
            Kind::Confirm {
                answer,
                wrong,
                undoes,
                out_of_service,
                ..
            },
            GivenAnswer::Word(word),
        ) => {
            let undone = || contradicted(state, place, word).filter(|_| undoes.contains(word));
            if word == answer {
                Ok(record_done_anew(state, &at, word, held))
            } else if out_of_service.contains(word) {
                Ok(super::service::found(state, place, word, answer))
            } else if let Some(event) = undone() {
                Ok(vec![event])
            } else if wrong.contains(word) {
                Err(Refusal::NotTheState { said: word.clone() })
            } else {
                let options = std::iter::once(answer).chain(wrong).cloned().collect();
                Err(Refusal::NotAnOption {
                    said: word.clone(),
                    options,
                })
            }
        }
        // A plate comes together with the other open runs that use it, so that none of them is overlooked.
        (Kind::Choose { options, must }, GivenAnswer::Word(word))
            if *options != Options::From(ShopList::Plates) =>
        {
            choose(state, &at, options, must, word)?;
            Ok(match options {
                Options::From(_) => record_done_anew(state, &at, word, held),
                Options::Listed(_) => record(state, &at, Answer::Word(word.clone()), None),
            })
        }
        (Kind::Choose { options, must }, GivenAnswer::Plate { id, others })
            if *options == Options::From(ShopList::Plates) =>
        {
            choose(state, &at, options, must, id)?;
            let what = Shared::Plate(id.clone());
            let by = (state.operator.as_str(), state.origin);
            let also = elsewhere::accepted(state, what, others, reason, by)?;
            let mut events = record_done_anew(state, &at, id, held);
            events.extend(also);
            Ok(events)
        }
        (Kind::Inspect, GivenAnswer::SkinLeft { near }) => {
            let looked = inspection_result(state, &at, false, near)?;
            let mut events = record(state, &at, Answer::Word(SKIN_LEFT.to_owned()), None);
            events.extend(looked);
            Ok(events)
        }
        (Kind::Inspect, GivenAnswer::Word(word)) => {
            let words = [CLEAN, SKIN_LEFT];
            if words.contains(&word.as_str()) {
                let accepted = inspected(state, &at, word, reason)?;
                let looked = inspection_result(state, &at, word == CLEAN, &[])?;
                let mut events = record(state, &at, Answer::Word(word.clone()), accepted);
                events.extend(looked);
                return Ok(events);
            }
            Err(Refusal::NotAnOption {
                said: word.clone(),
                options: words.map(str::to_owned).into(),
            })
        }
        (
            Kind::Read {
                dimension, limits, ..
            },
            GivenAnswer::Quantity(q),
        ) if q.dimension == *dimension => {
            state.number_of_program(&at, *q)?;
            let accepted = accept(state, &at, limits, *q, reason)?;
            Ok(record(state, &at, Answer::Quantity(*q), accepted))
        }
        (Kind::Note, GivenAnswer::Text(text)) => {
            Ok(record(state, &at, Answer::Text(text.clone()), None))
        }
        (Kind::Enter(enter), GivenAnswer::Quantity(q)) if q.dimension == Dimension::LENGTH => {
            entered(state, &at, enter, *q, reason)
        }
        (
            Kind::Program { .. },
            GivenAnswer::File {
                path,
                fingerprint,
                bytes,
                examined,
            },
        ) => {
            let accepted = match examined {
                Some(examined) => program(state, &at, examined, reason)?,
                None => None,
            };
            let answer = Answer::File {
                path: path.clone(),
                fingerprint: *fingerprint,
                bytes: *bytes,
                examined: examined.clone(),
            };
            Ok(record(state, &at, answer, accepted))
        }
        (Kind::Codes(codes), GivenAnswer::Codes(typed)) => {
            super::codes::answer(state, &at, codes, typed, reason)
        }
        (
            Kind::Wait {
                time,
                may_be_shortened,
                ..
            },
            GivenAnswer::Quantity(q),
        ) if q.dimension == Dimension::TIME => {
            let wanted = state
                .env(&at)
                .quantity(time)
                .map_err(|e| Refusal::NoValue(e.to_string()))?;
            waited(state, &at, *q, wanted, *may_be_shortened, reason)
        }
        // Every kind is named, so that the compiler asks for what a new one takes.
        (
            Kind::Confirm { .. }
            | Kind::Choose { .. }
            | Kind::Read { .. }
            | Kind::Note
            | Kind::Touch(_)
            | Kind::WorkOut { .. }
            | Kind::Enter(_)
            | Kind::Program { .. }
            | Kind::Codes(_)
            | Kind::Sign { .. }
            | Kind::Cut { .. }
            | Kind::Inspect
            | Kind::Wait { .. },
            _,
        ) => Err(Refusal::WrongKind),
    }
}

/// Accepts a program file by the result of its examination. Nobody can waive a finding that stops the program. Where
/// somebody must look at a finding, or where the examination cannot vouch for the program, the operator must give a
/// reason to continue.
fn program(
    state: &State,
    at: &Instance,
    examined: &Examined,
    reason: Option<&str>,
) -> Result<Option<Event>, Refusal> {
    let Some(limit) = examined.against() else {
        return Ok(None);
    };
    let reason = reason.map(str::trim).filter(|r| !r.is_empty());
    match reason.filter(|_| examined.verdict != Judged::Stop) {
        None => Err(Refusal::Program(Box::new(examined.clone()))),
        Some(reason) => Ok(Some(Event::Accepted {
            at: at.clone(),
            limit,
            reason: reason.to_owned(),
            by: state.operator.clone(),
            from: Some(state.origin),
        })),
    }
}

/// Accepts the result of an inspection. If the surface is called clean although a touched point is below the plane just
/// cut, then the touch, the plane or the inspection is wrong, so the operator must give a reason to continue.
fn inspected(
    state: &State,
    at: &Instance,
    word: &str,
    reason: Option<&str>,
) -> Result<Option<Event>, Refusal> {
    let surface = state.marks.surface();
    let (Some(lowest), Some(highest)) = (surface.lowest(), surface.highest()) else {
        return Ok(None);
    };
    if word != CLEAN || lowest.height == highest.height {
        return Ok(None);
    }
    let broken = BrokenLimit {
        value: lowest.height.into(),
        breach: BrokenBound {
            word: "at least",
            bound: highest.height.into(),
        },
        because: Some(format!(
            "{} was touched below the plane just cut, so it cannot be clean there",
            lowest.point
        )),
        likely: None,
    };
    match reason.map(str::trim).filter(|r| !r.is_empty()) {
        None => Err(Refusal::Soft(Box::new(broken))),
        Some(reason) => Ok(Some(Event::Accepted {
            at: at.clone(),
            limit: broken.limit_words(&state.show()),
            reason: reason.to_owned(),
            by: state.operator.clone(),
            from: Some(state.origin),
        })),
    }
}

/// Checks that a word is one of the options.
pub(super) fn choose(
    state: &State,
    at: &Instance,
    options: &Options,
    must: &[Limit],
    word: &str,
) -> Result<(), Refusal> {
    let words: Vec<String> = match options {
        Options::Listed(listed) => listed.iter().map(|(w, _)| w.clone()).collect(),
        Options::From(list) => state
            .shop
            .items(*list)
            .iter()
            .map(|i| i.id.clone())
            .collect(),
    };
    if !words.iter().any(|w| w == word) {
        return Err(Refusal::NotAnOption {
            said: word.to_owned(),
            options: words,
        });
    }
    state.word_of_program(at, word)?;
    // The book reserves one machine for a run, so that no two runs share it.
    if matches!(options, Options::From(ShopList::Machines)) && word != state.begun.machine {
        return Err(Refusal::OtherMachine {
            said: word.to_owned(),
            machine: state.begun.machine.clone(),
        });
    }
    for limit in must {
        let Some(formula) = &limit.exactly else {
            continue;
        };
        let needed = state.env(at).eval(formula);
        match needed {
            Ok(Value::Word(needed)) if needed == word => {}
            Ok(Value::Word(needed)) => {
                return Err(Refusal::MustBe {
                    said: word.to_owned(),
                    needed,
                    because: limit.because.clone(),
                });
            }
            Ok(_) => return Err(Refusal::WrongKind),
            Err(e) => return Err(Refusal::NoValue(e.to_string())),
        }
    }
    Ok(())
}

/// Computes a value and records it without asking a question.
pub(crate) fn work_out(state: &State, place: &SequencePosition, reason: Option<&str>) -> Decided {
    let at = place.instance();
    let Kind::WorkOut { value, limits, .. } = &place.step.kind else {
        return Err(Refusal::WrongKind);
    };
    let value = state
        .env(&at)
        .quantity(value)
        .map_err(|e| Refusal::NoValue(e.to_string()))?;
    let accepted = accept(state, &at, limits, value, reason)?;
    Ok(record(state, &at, Answer::Quantity(value), accepted))
}

fn entered(
    state: &State,
    at: &Instance,
    enter: &Enter,
    read_back: Quantity,
    reason: Option<&str>,
) -> Decided {
    let no_value = |e: crate::procedure::formula::EvalError| Refusal::NoValue(e.to_string());
    let env = state.env(at);
    let value = env.quantity(&enter.value).map_err(no_value)?;
    let accepted = accept(state, at, &enter.limits, value, reason)?;
    let nought = Quantity {
        amount: Exact::ZERO,
        dimension: Dimension::LENGTH,
    };
    let tolerance = match &enter.tolerance {
        Some(formula) => env.quantity(formula).map_err(no_value)?,
        None => nought,
    };
    // A readout rounds by less than one step, so a difference of a whole step is another value.
    let off = |shown: Quantity| {
        let off = shown.minus(value).map(Quantity::abs);
        off.is_ok_and(|off| !off.amount.is_zero() && off.amount >= tolerance.amount)
    };
    if off(read_back) {
        return Err(Refusal::ReadBack {
            wanted: value,
            shown: read_back,
            sign: !off(read_back.negated()),
        });
    }
    Ok(record(
        state,
        at,
        Answer::Entered { value, read_back },
        accepted,
    ))
}

pub(super) fn waited(
    state: &State,
    at: &Instance,
    ran: Quantity,
    wanted: Quantity,
    may_be_shortened: bool,
    reason: Option<&str>,
) -> Decided {
    let short = ran.compare(wanted).is_ok_and(std::cmp::Ordering::is_lt);
    let reason = reason.map(str::trim).filter(|r| !r.is_empty());
    let accepted = match (short, may_be_shortened, reason) {
        (false, ..) => None,
        (true, true, Some(reason)) => Some(Event::Accepted {
            at: at.clone(),
            limit: format!("at least {}", state.show().one(wanted)),
            reason: reason.to_owned(),
            by: state.operator.clone(),
            from: Some(state.origin),
        }),
        (true, ..) => return Err(Refusal::TooShort { ran, wanted }),
    };
    Ok(record(state, at, Answer::Quantity(ran), accepted))
}

/// Signs a hold point: by the operator, over everything before it, all of which must be valid.
///
/// Where people are registered, each signer needs a key; see [`State::check_signed`].
pub(crate) fn sign(
    state: &State,
    place: &SequencePosition,
    typed: &str,
    means: SigningMethod,
    with: &Signing,
    now: Moment,
) -> Decided {
    if !matches!(place.step.kind, Kind::Sign { .. }) {
        return Err(Refusal::WrongKind);
    }
    let at = place.instance();
    let initials = initials(typed).ok_or(Refusal::NoInitials)?;
    if initials != state.operator {
        return Err(Refusal::OtherSigner {
            said: initials,
            operator: state.operator.clone(),
        });
    }
    let holds: Vec<Hold> = state
        .answer_statuses(now)
        .into_iter()
        .take_while(|(p, _)| p.instance() != at)
        .filter(|(_, standing)| *standing != AnswerStatus::Holds)
        .map(|(p, standing)| Hold {
            at: Some(p.instance()),
            title: p.step.title.clone(),
            why: HoldReason::Step(standing),
        })
        .collect();
    if !holds.is_empty() {
        return Err(Refusal::Held(holds));
    }
    let key = |who: &str| with.people.active(who).and_then(|l| l.key());
    let proof = |part, who: &str, signature: &str| Proof {
        key: key(who).unwrap_or_default().to_owned(),
        signature: signature.to_owned(),
        role: state.signs_as(&at, part, who, &with.people),
    };
    let people = &with.people;
    let answer = Answer::Signed {
        list: (!people.is_empty()).then(|| people.digest()),
        proof: with
            .first
            .as_ref()
            .map(|s| proof(SignatureRole::First, &initials, s)),
        second: with
            .second
            .as_ref()
            .map(|(who, signature)| SecondSignature {
                initials: who.clone(),
                proof: proof(SignatureRole::Second, who, signature),
            }),
        initials,
        digest: state.digest_before(&at),
        means,
    };
    state
        .check_signed(&at, &answer, &with.people)
        .map_err(Refusal::Unsigned)?;
    Ok(record(state, &at, answer, None))
}

/// The initials as they are stored: one to eight letters or digits, in capitals. `None` for anything else.
pub(crate) fn initials(typed: &str) -> Option<String> {
    let typed = typed.trim();
    let sound =
        (1..=8).contains(&typed.chars().count()) && typed.chars().all(char::is_alphanumeric);
    sound.then(|| typed.to_uppercase())
}

impl State {
    /// How quantities are shown in this run.
    pub fn show(&self) -> QuantityFormat {
        QuantityFormat::new(self.begun.unit).alone(self.one_unit)
    }

    /// How quantities are shown in one step: shares that are read in percent stay in percent.
    pub fn show_at(&self, at: &Instance) -> QuantityFormat {
        let percent = matches!(
            self.step(at).map(|s| &s.kind),
            Some(Kind::Read { percent: true, .. })
        );
        self.show().in_percent(percent)
    }

    /// The limits of a step that asks for a quantity.
    pub fn limits_of<'a>(&self, place: &SequencePosition<'a>) -> Option<&'a Limits> {
        match &place.step.kind {
            Kind::Read { limits, .. } | Kind::WorkOut { limits, .. } => Some(limits),
            Kind::Touch(touch) => Some(&touch.limits),
            Kind::Enter(enter) => Some(&enter.limits),
            Kind::Confirm { .. }
            | Kind::Choose { .. }
            | Kind::Note
            | Kind::Program { .. }
            | Kind::Codes(_)
            | Kind::Sign { .. }
            | Kind::Cut { .. }
            | Kind::Inspect
            | Kind::Wait { .. } => None,
        }
    }
}
