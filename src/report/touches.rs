//! Touches and cuts for people: heights with lowest and highest, and what was taken off where.

use super::page::{Align, Page, Table, Tone};
use crate::interlock::Event;
use crate::interlock::answer::{Answer, TouchResult};
use crate::plate::Surface;
use crate::quantity::format::QuantityFormat;
use crate::quantity::{Length, Unit};

fn units(show: &QuantityFormat) -> (Unit, Unit) {
    (show.system.length(), show.system.other().length())
}

fn cells(length: Length, show: &QuantityFormat, units: &(Unit, Unit)) -> [String; 2] {
    let in_unit = |unit: &Unit| {
        let text = show.in_unit(length.into(), unit);
        text.trim_end_matches(unit.symbol.as_ref())
            .trim_end()
            .to_owned()
    };
    [in_unit(&units.0), in_unit(&units.1)]
}

/// The finished series among `events`: every height, lowest and highest marked, spread and drift. `low_places` for a
/// series of places the operator named.
pub(crate) fn summary(events: &[Event], show: &QuantityFormat, low_places: bool) -> Page {
    let touched = events.iter().find_map(|e| match e {
        Event::Answered {
            answer: Answer::Touched(t),
            ..
        } => Some(t),
        _ => None,
    });
    match touched {
        Some(touched) => heights(touched, show, low_places),
        None => Page::new(),
    }
}

fn heights(touched: &TouchResult, show: &QuantityFormat, low_places: bool) -> Page {
    let all = || touched.heights.iter().map(|(_, h)| *h);
    let (Some(lowest), Some(highest)) = (all().min(), all().max()) else {
        return Page::new();
    };
    let units = units(show);
    let rows = touched.heights.iter().map(|(point, height)| {
        let [own, other] = cells(*height, &show.signed(), &units);
        let mark = match *height {
            h if h == lowest => "lowest",
            h if h == highest => "highest",
            _ => "",
        };
        let mut row = vec![point.clone(), own];
        row.extend((!show.alone).then_some(other));
        row.push(mark.to_owned());
        row
    });
    let mut head = vec!["point".to_owned(), format!("height {}", units.0.symbol)];
    let mut align = vec![Align::Left, Align::Right];
    if !show.alone {
        head.push(format!("height {}", units.1.symbol));
        align.push(Align::Right);
    }
    head.push(String::new());
    align.push(Align::Left);
    let table = Table {
        head,
        rows: rows.collect(),
        align,
    };
    let mut page = Page::new()
        .toned(Tone::Strong, "Heights above the first touch, plus is up:")
        .table(table);
    if touched.heights.len() > 1
        && let Some(spread) = highest.minus(lowest)
    {
        page = page.text(format!("Spread {}.", show.both(spread.into())));
    }
    if let Some(drift) = touched.drift {
        page = page.text(format!(
            "The first point moved by {} between its two touches.",
            show.signed().both(drift.into())
        ));
    }
    if let Some(scatter) = touched.repeatability {
        page = page.text(format!(
            "One touch repeats within {} (one standard deviation).",
            show.both(scatter.into())
        ));
    }
    if touched.heights.len() <= 4 && !low_places {
        page = page.toned(
            Tone::Look,
            "Four places or fewer say nothing about the middle of the plate: touch the centre too (`back`, then `extra`).",
        );
    }
    page
}

/// What was taken off each point touched since the touch-off that holds.
pub(crate) fn taken(surface: &Surface, show: &QuantityFormat) -> Page {
    let units = units(show);
    let heights = surface.heights();
    let rows: Vec<Vec<String>> = heights
        .points()
        .iter()
        .filter_map(|p| {
            let [own, other] = cells(surface.taken(&p.point)?, show, &units);
            let mut row = vec![p.point.clone(), own];
            row.extend((!show.alone).then_some(other));
            Some(row)
        })
        .collect();
    if rows.is_empty() {
        return Page::new();
    }
    let mut head = vec!["point".to_owned(), units.0.symbol.to_string()];
    head.extend((!show.alone).then(|| units.1.symbol.to_string()));
    Page::new()
        .toned(Tone::Strong, "Taken off since the touch-off:")
        .table(Table {
            head,
            rows,
            align: vec![Align::Left, Align::Right, Align::Right],
        })
}
