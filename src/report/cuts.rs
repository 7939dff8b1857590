//! Every cut of a run: who started it, who had cleared it, how it ended. Sign-offs fall when a run changes hands or goes on;
//! what they cleared was cut all the same, so it is told from the events and not from what still holds.

use super::page::{Item, Page, Tone};
use super::words;
use crate::interlock::event::{Event, TimedEvent};
use crate::interlock::{Answer, Cause, CutEnd, Instance, State};
use crate::quantity::Length;
use crate::quantity::moment::Moment;
use serde_json::{Value, json};

/// One cut.
#[derive(Clone, Debug)]
pub(crate) struct CutSummary<'a> {
    /// The cut's step and pass.
    pub at: &'a Instance,
    /// The height at which the tip travelled.
    pub plane: Length,
    /// Who pressed cycle start.
    pub by: &'a str,
    /// Whether it is assumed, from an answers file: nobody pressed anything.
    pub assumed: bool,
    /// When cycle start was pressed, or assumed.
    pub since: Moment,
    /// The sign-off that cleared it.
    pub cleared: Option<&'a Answer>,
    /// How it ended and when; none while it is under way.
    pub ended: Option<(CutEnd, Cause, Moment)>,
}

/// The cuts of a run, in their order.
pub(crate) fn of(events: &[TimedEvent]) -> Vec<CutSummary<'_>> {
    let mut cuts: Vec<CutSummary> = Vec::new();
    let mut signed = None;
    for stamped in events {
        match &stamped.event {
            Event::Answered {
                answer: answer @ Answer::Signed { .. },
                ..
            } => signed = Some(answer),
            Event::CutStarted { at, plane, by, .. }
            | Event::CutAssumed { at, plane, by }
            | Event::PracticeStarted { at, plane, by, .. } => {
                cuts.push(CutSummary {
                    at,
                    plane: *plane,
                    by,
                    assumed: matches!(stamped.event, Event::CutAssumed { .. }),
                    since: stamped.at,
                    // The gate wants one for every start: the last before it is the one it looked at.
                    cleared: signed.take(),
                    ended: None,
                });
            }
            Event::CutEnded { how, cause, .. } => {
                if let Some(cut) = cuts.last_mut() {
                    cut.ended = Some((*how, *cause, stamped.at));
                }
            }
            Event::StopExplained { cause, .. } => {
                if let Some((how, open @ Cause::NotSaid, _)) =
                    cuts.last_mut().and_then(|cut| cut.ended.as_mut())
                {
                    *open = *cause;
                    if *cause == Cause::EmergencyStop {
                        *how = CutEnd::EmergencyStop;
                    }
                }
            }
            _ => {}
        }
    }
    cuts
}

/// The cuts in words; nothing where there was none.
pub(crate) fn page(events: &[TimedEvent], state: &State, local: &dyn Fn(Moment) -> String) -> Page {
    let cuts = of(events);
    if cuts.is_empty() {
        return Page::new();
    }
    let show = state.show();
    let items = cuts.iter().map(|cut| {
        let cleared = cut.cleared.map_or_else(
            || "no sign-off on record".to_owned(),
            |answer| words::answer(answer, &show),
        );
        let (tone, ended) = match cut.ended {
            Some((how, cause, at)) => {
                let tone = if how == CutEnd::Finished {
                    Tone::Plain
                } else {
                    Tone::Stop
                };
                let minutes = at.since(cut.since).map_or(String::new(), |ms| {
                    let ms = u64::try_from(ms).unwrap_or_default();
                    format!(", after {}:{:02} min", ms / 60_000, ms / 1000 % 60)
                });
                (
                    tone,
                    format!(
                        "it {}{minutes}",
                        words::ended(how, cause).trim_end_matches('.')
                    ),
                )
            }
            None => (Tone::Look, "nobody has said how it ended".to_owned()),
        };
        Item::toned(
            tone,
            format!(
                "{}: {} {} by {} at {}; cleared: {cleared}; {ended}",
                words::title(state, cut.at),
                if cut.assumed {
                    "assumed, not made,"
                } else {
                    "started"
                },
                local(cut.since),
                cut.by,
                show.signed().both(cut.plane.into())
            ),
        )
    });
    Page::new()
        .gap()
        .toned(Tone::Strong, "Cuts, and who cleared each")
        .list(items)
}

/// The cuts for programs.
pub(crate) fn json(events: &[TimedEvent]) -> Vec<Value> {
    let signers = |answer: &Answer| match answer {
        Answer::Signed {
            initials, second, ..
        } => {
            let second = second.as_ref().map(|s| s.initials.clone());
            json!({ "signed_by": initials, "second": second })
        }
        _ => Value::Null,
    };
    of(events)
        .iter()
        .map(|cut| {
            json!({
                "step": cut.at.step, "pass": cut.at.pass, "plane_mm": cut.plane.mm(), "by": cut.by,
                "assumed": cut.assumed, "started": cut.since.to_string(), "cleared": cut.cleared.map(signers),
                "how": cut.ended.map(|(how, ..)| how.word()),
                "cause": cut.ended.filter(|(_, cause, _)| cause.is_said()).map(|(_, cause, _)| cause.word()),
                "ended": cut.ended.map(|(.., at)| at.to_string()),
            })
        })
        .collect()
}
