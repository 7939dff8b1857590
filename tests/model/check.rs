//! Checks the properties against each decision of the interlock and against every world, and records what happened in
//! the list.

use crate::act::{Act, Takes, content};
use crate::shadow::{Spot, What};
use crate::table::{Group, Sort, Val};
use crate::world::{PEOPLE, Scope, World, moment, quantity};
use skimgate::interlock::AnswerStatus;
use skimgate::interlock::answer::{Answer, Origin};
use skimgate::interlock::event::Event;
use skimgate::interlock::gate;
use skimgate::procedure::ShopList;
use skimgate::quantity::Quantity;

/// A property of `gate` for other terminals.
pub const LIVES_AGAIN: &str = "a lapsed release never lives again";
/// A property of the terminal that `gate` requires.
pub const HOLDER: &str = "a release is good only while its terminal walks the run";
/// A property of `record verify`.
pub const VERIFIED: &str = "what is recorded passes where the record is verified";
/// A property of answers files.
pub const OF_PERSON: &str = "no file takes up a cut that a person started";
/// A property of taking over.
pub const TAKES_OVER: &str = "only an owner takes a run over";
/// A property of stops without a recorded cause.
pub const EXPLAINED: &str = "nothing is answered before a stop is explained";
/// A property of a machine that is out of service.
pub const SERVICE: &str = "nothing is answered while the machine is out of service";
/// A property of putting a machine back in service.
pub const PUTS_BACK: &str = "a machine is put back by who may, with a reason";
/// A property of events with content from a person or a file.
pub const ORIGIN_SAID: &str = "every entry says where what was said came from";
/// A property of lines of active codes.
pub const CODES_READ: &str = "codes are read as they are by hand, and no group is lost";
/// A property of active codes that are accepted.
pub const CODES_AGREE: &str =
    "codes agree with the program and the earlier reading, or have a reason";
/// A property of resumed runs.
pub const STAYED: &str = "a run taken up again says whether the machine stayed as it was";

impl Scope {
    /// Checks that the decision of the interlock was allowed.
    pub fn before(&self, next: &mut World, act: Act, events: &[Event]) {
        let shadow = &next.shadow;
        let mut found = None;
        match act {
            Act::Release | Act::Start if shadow.wrong_signatures().is_some() => {
                let why = shadow.wrong_signatures().unwrap_or_default();
                found = Some(("no start without its signatures", why.to_owned()));
            }
            Act::Start => {
                if shadow.unused_releases() == 0 {
                    found = Some((
                        "no release used twice",
                        "no release since the last start".to_owned(),
                    ));
                } else if let Some(why) = shadow.no_start(next.now, next.file) {
                    found = Some(("no start without every condition", why.to_owned()));
                } else if let Some(Event::CutStarted { plane, .. }) = events.first() {
                    let cut = shadow.next_cut().unwrap();
                    let by_hand = shadow.stands(shadow.spot(shadow.plane_of(cut), cut.pass));
                    let plane = Quantity::from(*plane);
                    if by_hand
                        .is_none_or(|val| !matches!(val, Val::Um(um) if quantity(um) == plane))
                    {
                        found = Some((
                            "every number is right",
                            format!("cut at {plane:?}, by hand {by_hand:?}"),
                        ));
                    }
                }
            }
            Act::Assume => {
                let why = shadow.no_assumed_cut(next.now, next.file);
                found = why.map(|why| ("a cut is assumed only from a file", why.to_owned()));
            }
            Act::Release => {
                let why = shadow.no_release(next.now, next.file);
                found = why.map(|why| ("no release without every condition", why.to_owned()));
            }
            Act::Sign(at, by) => {
                let why = shadow.not_ready(at, next.now);
                let why = why.or((by != shadow.operator()).then_some("somebody else signs"));
                found = why.map(|why| ("signed only over what holds", why.to_owned()));
            }
            Act::SignWith(at, by, second) => {
                let why = shadow.not_ready(at, next.now);
                let why = why.or((by != shadow.operator()).then_some("somebody else signs"));
                found = why.map(|why| ("signed only over what holds", why.to_owned()));
                if let Some(why) = shadow.may_not_sign(by, second) {
                    found = Some(("no start without its signatures", why.to_owned()));
                }
            }
            Act::WorkOut(at, _) => {
                let by_hand = shadow.worked(at).map(quantity);
                let worked = events.iter().find_map(|e| match e {
                    Event::Answered {
                        answer: Answer::Quantity(q),
                        ..
                    } => Some(*q),
                    _ => None,
                });
                if worked != by_hand {
                    found = Some((
                        "every number is right",
                        format!("{worked:?}, by hand {by_hand:?}"),
                    ));
                }
            }
            Act::Say(at, Val::Line(line), reason) => {
                let (offset, rotation, kept) = shadow.with_line(at, line, reason);
                let by_hand = offset.zip(rotation);
                let read = events.iter().find_map(|e| match e {
                    Event::Answered {
                        answer: Answer::Codes(read),
                        ..
                    } => Some(read.read.values().cloned().collect::<Vec<_>>()),
                    _ => None,
                });
                let expected = by_hand.map(|(offset, rotation)| {
                    let rotation = if rotation { "G68" } else { "G69" };
                    vec![format!("G{offset}"), rotation.to_owned()]
                });
                if read != expected {
                    found = Some((CODES_READ, format!("{read:?}, by hand {expected:?}")));
                } else if shadow.codes_differ(at, offset, rotation) {
                    found = Some((CODES_AGREE, format!("{offset:?} {rotation:?}")));
                } else if rotation == Some(true) && !kept {
                    found = Some((CODES_AGREE, "rotation without a reason".to_owned()));
                }
            }
            Act::TakeOver(by, how) if !shadow.may_take_over(by) || how == Takes::OtherKey => {
                found = Some((TAKES_OVER, PEOPLE[usize::from(by)].to_owned()));
            }
            Act::PutBack(by, reason) if !reason || !shadow.may_put_back(by) => {
                found = Some((PUTS_BACK, PEOPLE[usize::from(by)].to_owned()));
            }
            Act::ResumeFromFile(_) if shadow.cutting().is_some() && !shadow.any_from_file() => {
                found = Some((OF_PERSON, String::new()));
            }
            Act::Resume(_, None) if shadow.has_position() => {
                found = Some((STAYED, String::new()));
            }
            Act::Complete if !shadow.complete() => {
                found = Some(("complete only when all is done", String::new()));
            }
            _ => {}
        }
        if act.answers() && shadow.out_of_service() {
            found = Some((SERVICE, format!("{act:?}")));
        }
        if act.answers() && shadow.unexplained() {
            found = Some((EXPLAINED, format!("{act:?}")));
        }
        let releases = events
            .iter()
            .any(|e| matches!(e, Event::Released { .. } | Event::CutStarted { .. }));
        if shadow.any_from_file() && releases {
            found = Some(("a run from a file is never released", String::new()));
        }
        if self.rehearsal && releases {
            found = Some(("a rehearsal never releases", String::new()));
        }
        let file = match act {
            Act::ResumeFromFile(_) => true,
            Act::Resume(..) | Act::TakeOver(..) => false,
            _ => shadow.reads_file(),
        };
        let wants = if file {
            Origin::AnswersFile
        } else {
            Origin::Terminal
        };
        let follows = |e: &&Event| {
            matches!(
                e,
                Event::Voided { .. }
                    | Event::Released { .. }
                    | Event::PracticeReleased { .. }
                    | Event::ProgramChanged { .. }
            )
        };
        let mut said = events.iter().filter(|e| !follows(e));
        if let Some(event) = said.find(|e| e.origin() != Some(wants)) {
            found = Some((ORIGIN_SAID, format!("{event:?}")));
        }
        if let Some((property, seen)) = found {
            next.violate(property, seen);
        }
    }

    /// Checks the properties of a world.
    pub fn look(&self, next: &mut World) {
        let (state, shadow) = (&next.state, &next.shadow);
        let machine = state.chosen(ShopList::Machines).map(|m| m.id.as_str());
        if machine != Some(&state.begun.machine)
            || state.operator != PEOPLE[usize::from(shadow.operator())]
        {
            next.violate(
                "never two holders",
                "another machine, or another person, than the book holds it for".into(),
            );
            return;
        }
        // The practice mill is never released for a real run, and for a rehearsal only under every other condition of a
        // release.
        let practised = gate::practice(state, moment(next.now), content(next.file)).is_ok();
        let may = self.rehearsal && {
            let mut otherwise = shadow.clone();
            otherwise.rehearsal = false;
            otherwise.no_release(next.now, next.file).is_none()
        };
        if practised != may {
            next.violate(
                "practice under every other condition",
                format!("{practised}"),
            );
            return;
        }
        if state.release.is_some() && shadow.release().is_none() {
            next.violate("a release dies with any change", String::new());
            return;
        }
        if let Some(cut) = shadow.next_cut() {
            let row = self.table.rows[..cut.row]
                .iter()
                .rposition(|r| r.sort == Sort::Sign)
                .unwrap();
            let sign = self.instance(Spot {
                row,
                pass: cut.pass,
            });
            let standing = state.answers.contains_key(&sign).then(|| {
                let all = state.answer_statuses(moment(next.now));
                all.into_iter()
                    .find(|(p, _)| p.instance() == sign)
                    .map(|(_, s)| s)
            });
            if standing == Some(Some(AnswerStatus::Holds)) && !shadow.signed() {
                next.violate("no signature outlives a change", String::new());
                return;
            }
        }
        for row in 0..self.table.rows.len() {
            let passes = if self.table.rows[row].group == Group::Once {
                0..=0
            } else {
                1..=self.table.most_passes
            };
            for pass in passes {
                let spot = Spot { row, pass };
                let of = self.instance(spot);
                let current = pass == 0 || shadow.next_cut().is_some_and(|cut| cut.pass == pass);
                if !current {
                    continue;
                }
                if let Val::Um(number) = shadow.stands(spot).unwrap_or(Val::Touches)
                    && state.answers.contains_key(&of)
                    && shadow.breaks_hard(spot, number)
                {
                    next.violate("a hard limit never passes", format!("{of}: {number}"));
                    return;
                }
                // A suspect answer stays as it is, with its reason, until another cut is to come.
                let suspect = state.shaken.contains(&of);
                if state.deviations.contains_key(&of) && !suspect && !shadow.with_reason(spot) {
                    next.violate("a reason covers its own value only", of.to_string());
                    return;
                }
            }
        }
    }
}

/// The list's entry for an act.
pub fn happened(world: &World, act: Act) -> Option<What> {
    let shadow = &world.shadow;
    let by = shadow.operator();
    Some(match act {
        Act::Say(at, val, reason) => {
            if let Val::Line(line) = val {
                let (offset, rotation, kept) = shadow.with_line(at, line, reason);
                return Some(match offset.zip(rotation) {
                    Some((offset, rotation)) => What::Said {
                        at,
                        val: Val::Codes(offset, rotation),
                        by,
                        reason: kept,
                    },
                    None => What::Typed {
                        at,
                        line,
                        reason: kept,
                    },
                });
            }
            // A reason that is not needed does not count.
            let Val::Um(um) = val else {
                return Some(What::Said {
                    at,
                    val,
                    by,
                    reason: false,
                });
            };
            What::Said {
                at,
                val,
                by,
                reason: reason && shadow.wants_reason(at, um),
            }
        }
        Act::WorkOut(at, reason) => {
            let um = shadow.worked(at)?;
            let reason = reason && shadow.wants_reason(at, um);
            What::Said {
                at,
                val: Val::Um(um),
                by,
                reason,
            }
        }
        Act::Touch(at) | Act::RestartTouches(at) => What::Restarted(at),
        Act::FinishTouches(at) => What::Said {
            at,
            val: Val::Touches,
            by,
            reason: false,
        },
        Act::Sign(at, by) => What::Signed {
            at,
            by,
            second: None,
        },
        Act::SignWith(at, by, second) => What::Signed { at, by, second },
        Act::LookAtPeople => What::SignOffInvalidated,
        Act::Release => What::Released {
            at: shadow.next_cut()?,
            to: by,
        },
        Act::Start => What::Started {
            at: shadow.next_cut()?,
        },
        Act::EndCut(how) => What::CutEnded {
            at: shadow.cutting()?,
            how,
        },
        Act::FindBad(at) => What::FoundBad(at),
        Act::PutBack(..) => What::PutBack,
        Act::LookAtProgram => What::ProgramInvalidated,
        Act::HandOver(to) => What::HandedOver { to },
        // An owner's signature is needed to get the run; the same answers become invalid.
        Act::Resume(by, kept) => What::TakenUp {
            by,
            file: false,
            kept,
        },
        Act::ResumeFromFile(by) => What::TakenUp {
            by,
            file: true,
            kept: Some(true),
        },
        Act::TakeOver(by, _) => What::TakenUp {
            by,
            file: false,
            kept: Some(true),
        },
        Act::Assume => What::Assumed {
            at: shadow.next_cut()?,
        },
        Act::FindReleased => What::FoundReleased,
        Act::Pause => What::Left,
        Act::Stop(why) => What::Stopped(why),
        Act::Explain(lost) => What::Explained { lost },
        _ => return None,
    })
}
