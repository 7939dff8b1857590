//! The answer in words and tables.

use super::findings::{Findings, PassRow};
use crate::quantity::{Length, Quantity, format::QuantityFormat};
use crate::report::page::{Page, Table};
use crate::report::{touched_plate, ways};
use crate::terminal::screen::{Style, render, wrap_hanging};

/// Everything the command tells a person.
pub(super) fn written(findings: &Findings, style: &Style, why: bool) -> String {
    let show = QuantityFormat::new(findings.system);
    let mut out = String::from("heights over the first touch, plus is up\n");
    let wrapped = |out: &mut String, first: &str, text: &str| {
        let room = style.width.saturating_sub(first.len());
        let mut lead = first.to_owned();
        for line in wrap_hanging(text, room, "  ", style) {
            out.push_str(&format!("{lead}{line}\n"));
            lead = " ".repeat(first.len());
        }
    };
    table(&mut out, height_rows(findings, &show), style);
    let rules = if findings.shown.is_some() {
        " (raw, in the machine: it rules the cut; flatness below describes the plate)"
    } else {
        ""
    };
    let spread = format!("spread {}{rules}", both(show, findings.spread));
    wrapped(&mut out, "  ", &spread);
    out.push_str("\nworking\n");
    for line in findings.working.lines() {
        wrapped(&mut out, "  ", line);
    }
    if findings.passes.is_empty() {
        out.push_str("\nno passes: nothing to take off\n");
    } else {
        out.push_str("\npasses\n");
        table(&mut out, pass_rows(findings, &show), style);
    }
    if let Some(found) = &findings.ways {
        out.push_str("\nways of taking it off\n");
        out.push_str(&render(&ways::page(found, &show), style));
        if why {
            out.push_str(&render(&ways::working(found, &show), style));
        }
    }
    if let Some(s) = &findings.shown {
        out.push('\n');
        let page = touched_plate::map(&s.land, &s.verdict, s.cutter, &show)
            .list(touched_plate::all_items(&s.land, &s.verdict, true, &show));
        out.push_str(&render(&page, style));
    }
    out.push('\n');
    for caution in &findings.cautions {
        wrapped(&mut out, "note: ", caution);
    }
    out
}

fn both(show: QuantityFormat, length: Length) -> String {
    show.both(Quantity::from(length))
}

fn height_rows(findings: &Findings, show: &QuantityFormat) -> Vec<Vec<String>> {
    let mut rows = vec![
        ["point", "height", "touches", ""]
            .map(str::to_owned)
            .to_vec(),
    ];
    let heights = &findings.heights;
    for p in heights.points() {
        let low = p.height == findings.lowest.height;
        let high = p.height == findings.highest.height;
        let word = match (low, high) {
            (true, false) => "lowest",
            (false, true) => "highest",
            _ => "",
        };
        rows.push(vec![
            p.point.clone(),
            both(show.signed(), p.height),
            p.touches.to_string(),
            word.to_owned(),
        ]);
    }
    rows
}

fn pass_rows(findings: &Findings, show: &QuantityFormat) -> Vec<Vec<String>> {
    let entry = format!("entry at {}", findings.touched_last);
    let head = ["pass", "plane", &entry, "largest bite", "where"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for (i, line) in findings.passes.iter().enumerate() {
        rows.push(vec![
            (i + 1).to_string(),
            both(show.signed(), line.pass.plane),
            both(show.signed(), line.entry.value),
            show.one(Quantity::from(line.cut.largest())),
            place(line),
        ]);
    }
    rows
}

fn place(line: &PassRow) -> String {
    let there = line.cut.deepest_at();
    let places = if there.len() > 1 && there.len() == line.cut.bites.len() {
        "every point".to_owned()
    } else {
        there.join(", ")
    };
    if line.pass.finishing {
        format!("{places} (finishing)")
    } else {
        places
    }
}

/// A table as every command draws it: named lines where columns do not fit. The first row is its head.
fn table(out: &mut String, rows: Vec<Vec<String>>, style: &Style) {
    let mut rows = rows.into_iter();
    let table = Table {
        head: rows.next().unwrap_or_default(),
        rows: rows.collect(),
        align: Vec::new(),
    };
    out.push_str(&render(&Page::new().table(table), style));
}
