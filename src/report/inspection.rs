//! An inspection beside what was expected of the plane.

use super::page::{Item, Page, Tone};
use crate::interlock::event::InspectionResult;
use crate::quantity::format::QuantityFormat;

fn names(all: &[String]) -> String {
    all.join(", ")
}

fn but<'a>(all: &'a [String], less: &[String]) -> Vec<&'a String> {
    all.iter().filter(|p| !less.contains(p)).collect()
}

fn list(all: &[&String]) -> String {
    let all: Vec<&str> = all.iter().map(|p| p.as_str()).collect();
    all.join(", ")
}

/// Expected and found, how deep, and the next plane.
pub(crate) fn page(looked: &InspectionResult, show: &QuantityFormat) -> Page {
    let items = lines(looked, show)
        .into_iter()
        .map(|(tone, text)| Item::toned(tone, text));
    Page::new()
        .toned(Tone::Strong, "Expected of this plane, and found:")
        .list(items)
}

/// The same in one line, for the record.
pub(crate) fn line(looked: &InspectionResult, show: &QuantityFormat) -> String {
    let lines: Vec<String> = lines(looked, show).into_iter().map(|l| l.1).collect();
    format!(
        "plane {}: {}",
        show.signed().both(looked.plane.into()),
        lines.join(" ")
    )
}

fn lines(looked: &InspectionResult, show: &QuantityFormat) -> Vec<(Tone, String)> {
    let mut lines = Vec::new();
    let or_nowhere = |all: &[String]| {
        if all.is_empty() {
            "nowhere".to_owned()
        } else {
            format!("near {}", names(all))
        }
    };
    let unsure = if looked.unsure.is_empty() {
        String::new()
    } else {
        format!(", and not known near {}", names(&looked.unsure))
    };
    lines.push((
        Tone::Plain,
        format!("Skin expected {}{unsure}.", or_nowhere(&looked.stays)),
    ));
    if looked.clean {
        lines.push((Tone::Good, "Found clean.".to_owned()));
        if !looked.stays.is_empty() {
            lines.push((
                Tone::Look,
                format!(
                    "Cleaner than expected near {}: the plane lies deeper than was meant, or the places between are higher than computed. Measure the thickness.",
                    names(&looked.stays)
                ),
            ));
        }
        return lines;
    }
    if looked.skin.is_empty() {
        lines.push((Tone::Plain, "Found skin; nobody said where.".to_owned()));
    } else {
        let found = format!("Found near {}.", names(&looked.skin));
        lines.push((Tone::Plain, found));
        let known: Vec<String> = looked.stays.iter().chain(&looked.unsure).cloned().collect();
        let surprise = but(&looked.skin, &known);
        if !surprise.is_empty() {
            lines.push((
                Tone::Stop,
                format!(
                    "Not expected near {}: a touch read too high there, a hollow nobody touched, or a plane higher than was meant. Touch there before the next plane.",
                    list(&surprise)
                ),
            ));
        }
        let cleaner = but(&looked.stays, &looked.skin);
        if !cleaner.is_empty() {
            lines.push((
                Tone::Look,
                format!("Cleaner than expected near {}.", list(&cleaner)),
            ));
        }
    }
    match (looked.depth, looked.next) {
        (Some(depth), Some(next)) => {
            lines.push((
                Tone::Plain,
                format!(
                    "Reckoned from the map it reaches up to {} below this plane.",
                    show.up(depth)
                ),
            ));
            lines.push((
                Tone::Action,
                format!(
                    "A plane at {} would clear it by that reckoning; a touch in the low place says it better.",
                    show.signed().down(next)
                ),
            ));
        }
        _ => lines.push((
            Tone::Action,
            "How deep it reaches cannot be computed from the touches: touch the low place."
                .to_owned(),
        )),
    }
    lines
}
