//! The answer in words and tables.

use super::findings::{Findings, PassLine};
use crate::quantity::{Length, Quantity, show::Show};
use crate::report::{land, ways};
use crate::screen::{Style, render};

/// Everything the command tells a person.
pub(super) fn written(findings: &Findings, style: &Style, why: bool) -> String {
    let show = Show::new(findings.system);
    let mut out = String::from("heights over the first touch, plus is up\n");
    table(&mut out, &height_rows(findings, &show));
    let rules = if findings.shown.is_some() {
        " (raw, in the machine: it rules the cut; flatness below describes the plate)"
    } else {
        ""
    };
    out.push_str(&format!(
        "  spread {}{rules}\n",
        both(show, findings.spread)
    ));
    out.push_str("\nworking\n");
    for line in findings.working.lines() {
        out.push_str(&format!("  {line}\n"));
    }
    if findings.passes.is_empty() {
        out.push_str("\nno passes: nothing to take off\n");
    } else {
        out.push_str("\npasses\n");
        table(&mut out, &pass_rows(findings, &show));
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
        let page = land::page(&s.land, &s.verdict, s.cutter, &show);
        out.push_str(&render(&page, style));
    }
    out.push('\n');
    for caution in &findings.cautions {
        out.push_str(&format!("note: {caution}\n"));
    }
    out
}

fn both(show: Show, length: Length) -> String {
    show.both(Quantity::from(length))
}

fn height_rows(findings: &Findings, show: &Show) -> Vec<Vec<String>> {
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

fn pass_rows(findings: &Findings, show: &Show) -> Vec<Vec<String>> {
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

fn place(line: &PassLine) -> String {
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

/// Columns padded to their widest cell, two blanks apart.
fn table(out: &mut String, rows: &[Vec<String>]) {
    let wide = |text: &String| text.chars().count();
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns)
        .map(|c| rows.iter().filter_map(|r| r.get(c)).map(wide).max())
        .map(Option::unwrap_or_default)
        .collect();
    for row in rows {
        let cells = row.iter().zip(&widths);
        let line: Vec<String> = cells
            .map(|(cell, width)| format!("{cell:<width$}"))
            .collect();
        out.push_str(&format!("  {}\n", line.join("  ").trim_end()));
    }
}
