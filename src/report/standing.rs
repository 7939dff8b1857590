//! Answers of earlier runs that stand, in words: the page that offers them, and what the record says of each.

use super::page::{Item, Marker, Page, Tone};
use super::words;
use crate::interlock::State;
use crate::interlock::standing::{Offer, Same, SeenEarlier};
use crate::procedure::standing::SameThing;
use crate::quantity::moment::Moment;

/// The word that takes every earlier answer over.
pub(crate) const UNCHANGED: &str = "unchanged";

/// The prompt of the page.
pub(crate) const PROMPT: &str = "earlier answers";

/// What may stand: each answer with its number, in the units of the run, below the run, person and day it is from.
pub(crate) fn page(state: &State, offers: &[Offer], local: &dyn Fn(Moment) -> String) -> Page {
    let mut page = Page::new().toned(Tone::Strong, "Answers of earlier runs that may stand");
    let from = |offer: &Offer| {
        let seen = &offer.earlier.seen;
        format!("{}, {}, run {}:", day(seen.at, local), seen.by, seen.run)
    };
    let mut heading = String::new();
    for (number, offer) in (1..).zip(offers) {
        let here = from(offer);
        if here != heading {
            page = page.toned(Tone::Quiet, here.clone());
            heading = here;
        }
        let title = state.step(&offer.at).map_or("", |s| s.title.as_str());
        let value = words::answer(&offer.earlier.answer, &state.show_at(&offer.at));
        let text = format!("{title}: {value}{}", conditions(offer));
        let item = Item::marked(Marker::Number(number), Tone::Plain, text);
        page = page.list([item]);
    }
    page
}

/// What can be typed below the page. `first` is whether nothing was typed yet.
pub(crate) fn next(left: usize, first: bool) -> Page {
    let text = if first {
        format!(
            "Type `{UNCHANGED}` if all of this is still so, numbers such as `1 3` to be asked those anew, or `none`."
        )
    } else {
        let others = match left {
            1 => "the other one is".to_owned(),
            n => format!("the other {n} are"),
        };
        format!("Type `{UNCHANGED}` if {others} still so, more numbers, or `none`.")
    };
    Page::new().next(text)
}

/// What must turn out the same later in this run, in words; empty where all is decided.
fn conditions(offer: &Offer) -> String {
    let then = |thing: &SameThing| {
        let same = offer.earlier.same.iter().find(|(of, _)| of == thing);
        match same.and_then(|(_, same)| same.as_ref()) {
            Some(Same::Item(item)) => format!("the {thing} is {} again", item.id),
            _ => format!("the {thing} is the same again"),
        }
    };
    let open: Vec<String> = offer.open.iter().map(then).collect();
    if open.is_empty() {
        String::new()
    } else {
        format!(" (only if {})", open.join(" and "))
    }
}

/// Where an answer that stands was seen: `seen 2026-03-01 by JT in run 2026-03-01-1`.
pub(crate) fn seen(seen: &SeenEarlier, local: &dyn Fn(Moment) -> String) -> String {
    format!(
        "seen {} by {} in run {}",
        day(seen.at, local),
        seen.by,
        seen.run
    )
}

/// The day alone: the time of day of an answer that is days old says nothing.
fn day(at: Moment, local: &dyn Fn(Moment) -> String) -> String {
    local(at).chars().take(10).collect()
}
