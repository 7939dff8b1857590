//! What holds cycle start, in words: every reason, and questions that were not asked yet counted by phase, since a list of
//! eighty of them hides the one that matters.

use super::page::{Item, Page, Tone};
use crate::interlock::State;
use crate::interlock::answer_status::AnswerStatus;
use crate::interlock::gate::{Hold, HoldReason};
use crate::quantity::format::QuantityFormat;

/// As many of the questions not asked yet stand by themselves.
const NEXT: usize = 3;

/// The reasons, each with what clears it.
pub(crate) fn page(state: &State, holds: &[Hold], show: &QuantityFormat) -> Page {
    let not_asked = |hold: &&Hold| hold.why == HoldReason::Step(AnswerStatus::Open);
    let (open, others): (Vec<&Hold>, Vec<&Hold>) = holds.iter().partition(not_asked);
    let (next, later) = open.split_at_checked(NEXT).unwrap_or((&open, &[]));
    let one = |hold: &&Hold| {
        let text = format!("{}. To clear: {}.", hold.words(show), hold.clears());
        Item::toned(Tone::Stop, text)
    };
    let mut items: Vec<Item> = others.iter().chain(next).map(one).collect();
    if !later.is_empty() {
        let phases = by_phase(state, later);
        items.push(Item::toned(
            Tone::Stop,
            format!(
                "{} more questions are not answered yet: {phases}.",
                later.len()
            ),
        ));
    }
    Page::new().list(items)
}

/// `Touching off 9, Roughing - set Z 7`.
fn by_phase(state: &State, holds: &[&Hold]) -> String {
    let mut counts: Vec<(&str, usize)> = Vec::new();
    for hold in holds {
        let phase = hold.at.as_ref().and_then(|at| {
            let mut phases = state.procedure.phases.iter();
            phases.find(|p| p.steps.iter().any(|s| s.id == at.step))
        });
        let title = phase.map_or("elsewhere", |p| p.title.as_str());
        match counts.last_mut() {
            Some((last, count)) if *last == title => *count += 1,
            _ => counts.push((title, 1)),
        }
    }
    let words: Vec<String> = counts.iter().map(|(t, n)| format!("{t} {n}")).collect();
    words.join(", ")
}
