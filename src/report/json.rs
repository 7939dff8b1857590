//! A run told to programs.

use super::cuts;
use super::run::event_line;
use super::words;
use crate::interlock::event::TimedEvent;
use crate::interlock::{Answer, State};
use crate::quantity::{Length, Quantity};
use serde_json::{Value, json};

/// The run for programs: lengths as numbers in millimetres under keys ending in `_mm`, times in RFC 3339.
pub fn run(events: &[TimedEvent], state: &State, digest: &str) -> Value {
    let b = &state.begun;
    let answers: Vec<Value> = state
        .asked()
        .iter()
        .filter_map(|place| {
            let at = place.instance();
            let given = state.answers.get(&at)?;
            let deviation = state.deviations.get(&at).map(|d| {
                json!({ "limit": d.limit, "reason": d.reason, "by": d.by })
            });
            let mut entry = json!({
                "step": at.step, "pass": at.pass, "phase": place.phase.id, "title": place.step.title,
                "proves": place.step.proves,
                "by": given.by, "from": given.from, "at": given.at.to_string(), "accepted": deviation,
            });
            if let (Value::Object(entry), Some(seen)) = (&mut entry, &given.seen) {
                let seen = json!({ "run": seen.run, "by": seen.by, "at": seen.at.to_string() });
                entry.insert("seen".to_owned(), seen);
            }
            if let (Value::Object(entry), Value::Object(more)) = (&mut entry, value(&given.answer)) {
                entry.extend(more);
                if let Some(remark) = words::remark(state, &at, &given.answer) {
                    entry.insert("remark".to_owned(), json!(remark));
                }
            }
            Some(entry)
        })
        .collect();
    let surface = state.marks.surface();
    let taken: Vec<Value> = surface
        .heights()
        .points()
        .iter()
        .filter_map(|p| {
            let taken = surface.taken(&p.point)?;
            Some(json!({ "point": p.point, "height_mm": p.height.mm(), "taken_mm": taken.mm() }))
        })
        .collect();
    // An entry that holds no answer was made in a walk whose answers came from the same place as the last.
    let mut from = b.origin();
    let all: Vec<Value> = events
        .iter()
        .map(|s| {
            from = s.event.origin().unwrap_or(from);
            json!({ "at": s.at.to_string(), "kind": s.event.kind(), "from": from, "told": event_line(&s.event, state, &|at| at.to_string()) })
        })
        .collect();
    json!({
        "format": 1,
        "run": b.run,
        "rehearsal": b.rehearsal,
        "answers_file": b.answers_file,
        "from_file": state.from_file,
        "procedure": b.procedure_id,
        "procedure_version": b.procedure_version,
        "procedure_sha256": b.procedure.to_string(),
        "shop_sha256": b.shop.to_string(),
        "machine": b.machine,
        "operator": state.operator,
        "unit": b.unit,
        "tool": b.tool,
        "open": state.ended.is_none(),
        "outcome": state.ended,
        "answers": answers,
        "cuts": cuts::json(events),
        "surface": taken,
        "also_in_use": state.also_in_use,
        "events": all,
        "last_digest": digest,
    })
}

fn value(answer: &Answer) -> Value {
    match answer {
        Answer::Quantity(q) => quantity("value", *q),
        Answer::Entered { value, read_back } => {
            let mut both = quantity("value", *value);
            if let (Value::Object(both), Value::Object(more)) =
                (&mut both, quantity("read_back", *read_back))
            {
                both.extend(more);
            }
            both
        }
        Answer::Word(text) | Answer::Text(text) => json!({ "answer": text }),
        Answer::Touched(t) => {
            let heights: Vec<Value> = t
                .heights
                .iter()
                .map(|(point, h)| json!({ "point": point, "height_mm": h.mm() }))
                .collect();
            json!({ "heights": heights, "drift_mm": t.drift.map(Length::mm) })
        }
        Answer::File {
            path,
            fingerprint,
            bytes,
            examined,
        } => {
            let mut value =
                json!({ "path": path, "sha256": fingerprint.to_string(), "bytes": bytes });
            if let Some(examined) = examined {
                value["examined"] = json!({
                    "verdict": examined.verdict.word(),
                    "found": examined.found.iter().map(|(code, _)| code).collect::<Vec<_>>(),
                    "lowest_z_mm": examined.lowest_z.map(Length::mm),
                    "time_s": examined.seconds,
                });
            }
            value
        }
        Answer::Codes(codes) => {
            json!({ "typed": codes.typed, "codes": codes.read, "not_known": codes.unknown })
        }
        Answer::Signed {
            initials,
            digest,
            means,
            proof,
            second,
            list,
        } => {
            let mut value =
                json!({ "signed_by": initials, "digest": digest.to_string(), "means": means });
            if let Some(proof) = proof {
                value["key"] = json!(proof.key);
                value["as"] = json!(proof.signs_as());
            }
            if let Some(list) = list {
                value["list_of_people"] = json!(list.to_string());
            }
            if let Some(second) = second {
                value["second"] = json!({
                    "signed_by": second.initials, "key": second.proof.key, "as": second.proof.signs_as(),
                });
            }
            value
        }
    }
}

/// A length in millimetres under a key that says so; other kinds as text with their unit.
fn quantity(key: &str, q: Quantity) -> Value {
    match Length::nearest(q) {
        Some(length) => json!({ format!("{key}_mm"): length.mm() }),
        None => json!({ key: q.canonical() }),
    }
}
