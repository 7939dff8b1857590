//! How ways of taking it off are shown: one column a way, and the working for whoever asks.

use super::page::{Align, Block, Item, Page, Table, Tone};
use crate::cutting::ways::{CutWay, CutWays};
use crate::quantity::{Dimension, Exact, Quantity, Unit, UnitSystem, format::QuantityFormat};
use serde_json::{Map, Value, json};

/// The ways side by side: what differs between them, stops and remarks. Fits 80 columns for two ways.
pub(crate) fn page(ways: &CutWays, show: &QuantityFormat) -> Page {
    let mut page = Page::new();
    if ways.ways.iter().all(|w| w.plan.passes.is_empty()) {
        return page.text("Nothing to take off.");
    }
    page.push(Block::Table(table(ways, show)));
    if ways.power_rules
        && let Some(bite) = &ways.power_bite
    {
        page = page.toned(
            Tone::Look,
            format!(
                "Half the spindle's power, not the cutter, bounds the bite: {}.",
                show.one(bite.value)
            ),
        );
    }
    let said = |pick: fn(&CutWay) -> &Vec<String>, tone| {
        let mut items: Vec<Item> = Vec::new();
        for way in &ways.ways {
            for text in pick(way) {
                let every = ways.ways.iter().all(|w| pick(w).contains(text));
                let text = if every {
                    text.clone()
                } else {
                    format!("{}: {text}", title(way))
                };
                if !items.iter().any(|i| i.text == text) {
                    items.push(Item::toned(tone, text));
                }
            }
        }
        items
    };
    let mut items = said(|w| &w.stops, Tone::Stop);
    items.extend(said(|w| &w.remarks, Tone::Look));
    if items.is_empty() {
        page
    } else {
        page.list(items)
    }
}

/// Formula, inputs and source of every figure.
pub(crate) fn working(ways: &CutWays, show: &QuantityFormat) -> Page {
    let mut page = Page::new();
    let bound = ways.power_bite.iter();
    let bound: Vec<String> = bound.flat_map(|w| w.lines(show)).collect();
    if !bound.is_empty() {
        page = page.working(bound);
    }
    for way in &ways.ways {
        if way.figures.is_empty() {
            continue;
        }
        let lines = way
            .figures
            .iter()
            .flat_map(|f| f.lines(&show_of(f.key, show)));
        page = page
            .toned(Tone::Strong, format!("Why, {}:", title(way)))
            .working(lines.collect::<Vec<_>>());
    }
    page
}

/// The ways for programs: planes, and each figure under its key, which ends in its unit, with its working.
pub(crate) fn json(ways: &CutWays) -> Vec<Value> {
    ways.ways.iter().map(way_json).collect()
}

fn way_json(way: &CutWay) -> Value {
    let passes: Vec<Value> = way
        .plan
        .passes
        .iter()
        .map(
            |p| json!({"plane_mm": p.plane.mm(), "bite_mm": p.bite.mm(), "finishing": p.finishing}),
        )
        .collect();
    let show = QuantityFormat::new(UnitSystem::Mm);
    let mut figures = Map::new();
    for figure in &way.figures {
        let unit = if figure.unit.is_empty() {
            Unit::usual(Dimension::RATIO, UnitSystem::Mm)
        } else {
            Unit::find(figure.unit)
        };
        let value = unit.and_then(|u| figure.value.in_unit(&u).ok());
        let working = figure.lines(&show_of(figure.key, &show));
        let told = json!({"value": value.map(Exact::to_f64), "working": working});
        figures.insert(figure.key.to_owned(), told);
    }
    json!({"title": title(way), "passes": passes, "figures": figures, "stops": way.stops, "remarks": way.remarks})
}

/// `2 roughing passes and a finishing skim`.
pub(crate) fn title(way: &CutWay) -> String {
    let rough = way.roughing();
    let skim = way.plan.passes.len() > rough;
    match (rough, skim) {
        (0, _) => "finishing skim only".to_owned(),
        (1, false) => "1 pass".to_owned(),
        (n, false) => format!("{n} passes"),
        (n, true) => format!("{n} roughing + finish"),
    }
}

fn show_of(key: &str, show: &QuantityFormat) -> QuantityFormat {
    show.in_percent(key.ends_with("_percent"))
}

fn table(ways: &CutWays, show: &QuantityFormat) -> Table {
    let mut table = Table {
        align: vec![Align::Left],
        ..Table::default()
    };
    table.head.push("way".to_owned());
    table.head.extend(ways.ways.iter().map(title));
    let row = |name: &str, cell: &dyn Fn(&CutWay) -> Option<String>| {
        let cells: Vec<String> = ways
            .ways
            .iter()
            .map(|w| cell(w).unwrap_or_else(|| "-".to_owned()))
            .collect();
        let mut row = vec![name.to_owned()];
        row.extend(cells);
        row
    };
    table
        .rows
        .push(row("largest bite", &|w| Some(show.one(w.heaviest()?))));
    table.rows.push(row("last plane", &|w| {
        Some(show.signed().one(Quantity::from(w.plan.last_plane()?)))
    }));
    let mut known: Vec<(&str, &str)> = Vec::new();
    for figure in ways.ways.iter().flat_map(|w| &w.figures) {
        if !known.iter().any(|(key, _)| *key == figure.key) {
            known.push((figure.key, figure.name));
        }
    }
    for (key, name) in known {
        table.rows.push(row(name, &|w| {
            let figure = w.figures.iter().find(|f| f.key == key)?;
            Some(show_of(key, show).one(figure.value))
        }));
    }
    table
}
