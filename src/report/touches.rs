//! Touches and cuts for people: heights with lowest and highest, and what was taken off where.

use super::page::{Align, Page, Table, Tone};
use crate::interlock::Event;
use crate::interlock::answer::{Answer, TouchResult};
use crate::plate::Surface;
use crate::quantity::format::QuantityFormat;
use crate::quantity::{Length, Unit};

fn head(show: &QuantityFormat) -> (Unit, Unit) {
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
    let units = head(show);
    let rows = touched.heights.iter().map(|(point, height)| {
        let [own, other] = cells(*height, &show.signed(), &units);
        let mark = match *height {
            h if h == lowest => "lowest",
            h if h == highest => "highest",
            _ => "",
        };
        vec![point.clone(), own, other, mark.to_owned()]
    });
    let table = Table {
        head: vec![
            "point".to_owned(),
            format!("height {}", units.0.symbol),
            format!("height {}", units.1.symbol),
            String::new(),
        ],
        rows: rows.collect(),
        align: vec![Align::Left, Align::Right, Align::Right, Align::Left],
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
    let units = head(show);
    let heights = surface.heights();
    let rows: Vec<Vec<String>> = heights
        .points()
        .iter()
        .filter_map(|p| {
            let [own, other] = cells(surface.taken(&p.point)?, show, &units);
            Some(vec![p.point.clone(), own, other])
        })
        .collect();
    if rows.is_empty() {
        return Page::new();
    }
    Page::new()
        .toned(Tone::Strong, "Taken off since the touch-off:")
        .table(Table {
            head: vec![
                "point".to_owned(),
                units.0.symbol.to_string(),
                units.1.symbol.to_string(),
            ],
            rows,
            align: vec![Align::Left, Align::Right, Align::Right],
        })
}
