//! The examination as a person reads it: first what can be checked in ten seconds, then what was found.

use super::cover;
use super::lengths::{Lengths, number};
use super::page::{Align, Item, Page, Table, Tone};
use super::plan;
use crate::program::examine::Verdict;
use crate::program::finding::Finding;
use crate::program::rules::Grade;
use crate::program::study::ProgramStudy;
use crate::quantity::UnitSystem;

fn numbers(values: &[f64], to: &dyn Fn(f64) -> f64) -> String {
    match values {
        [] => "none".to_owned(),
        few if few.len() <= 6 => few
            .iter()
            .map(|v| number(to(*v)))
            .collect::<Vec<_>>()
            .join(", "),
        [first, .., last] => format!(
            "{} to {}, {} of them",
            number(to(*first)),
            number(to(*last)),
            values.len()
        ),
        [one] => number(to(*one)),
    }
}

fn list<T>(values: &[T], word: impl Fn(&T) -> String) -> String {
    if values.is_empty() {
        "none".to_owned()
    } else {
        values.iter().map(word).collect::<Vec<_>>().join(", ")
    }
}

fn tone(verdict: Verdict) -> Tone {
    match verdict {
        Verdict::Agrees => Tone::Good,
        Verdict::Look => Tone::Look,
        Verdict::CannotVouch | Verdict::Stop => Tone::Stop,
    }
}

/// The page, lengths as `lengths` shows them.
pub(crate) fn page(title: String, study: &ProgramStudy, lengths: Lengths) -> Page {
    let examined = &study.examination;
    let mut page = Page::new().title(title).then(summary(study, lengths));
    match (plan::of_study(study, lengths), &study.covered) {
        (Some(scene), Some(covered)) => {
            page = page
                .gap()
                .then(cover::page(scene, covered, &study.doubts, lengths));
        }
        (Some(scene), None) => page = page.gap().scene(scene),
        (None, _) => {}
    }
    if let Some(time) = &study.time {
        page = cover::time(time).into_iter().fold(page.gap(), Page::text);
    }
    page = page.then(findings(study, lengths));
    if !examined.not_judged.is_empty() {
        page = page
            .gap()
            .text("Not judged, since it was not said:")
            .list(examined.not_judged.iter().map(|n| Item::new(*n)));
    }
    page
}

/// How lengths of a program are shown in a run in this unit: inches first where the run or the program is in inches.
pub(crate) fn lengths_of(study: &ProgramStudy, unit: UnitSystem) -> Lengths {
    match unit {
        UnitSystem::Inch => Lengths::new(unit),
        UnitSystem::Mm => Lengths::of(study),
    }
}

/// What a person checks in ten seconds.
fn summary(study: &ProgramStudy, lengths: Lengths) -> Page {
    let examined = &study.examination;
    let summary = &examined.summary;
    let said = match examined.verdict {
        Verdict::Agrees => "AGREES: nothing known here speaks against it.",
        Verdict::Look => "LOOK: somebody has to look, and say why it is right.",
        Verdict::CannotVouch => {
            "CANNOT VOUCH: some of it cannot be followed; nothing is said for it."
        }
        Verdict::Stop => "STOP: it must not be run so.",
    };
    let unknown = || "not known".to_owned();
    let side = |axis: usize| {
        let side = summary.extents.and_then(|s| s.get(axis).copied());
        side.map_or_else(unknown, |[a, b]| lengths.range(a, b))
    };
    let rows = summary.rows.map_or_else(
        || "no raster along X or Y".to_owned(),
        |rows| {
            let along = if rows.axis == 0 { "X" } else { "Y" };
            let step = rows
                .step
                .map_or_else(String::new, |s| format!(", widest step {}", lengths.one(s)));
            format!("{} along {along}{step}", rows.count)
        },
    );
    let facts = [
        ("Units", list(&summary.units, |u| u.symbol().to_owned())),
        (
            "Work offset",
            list(&summary.work_offsets, |o| o.code().to_owned()),
        ),
        (
            "Length offset",
            list(&summary.length_offsets, |h| match h {
                0 => "none".to_owned(),
                h => format!("H{h}"),
            }),
        ),
        ("Tool", list(&summary.tools, |t| format!("T{t}"))),
        (
            "Lowest Z",
            summary.min_z.map_or_else(unknown, |z| lengths.one(z)),
        ),
        ("Cuts X", side(0)),
        ("Cuts Y", side(1)),
        ("Rows", rows),
        (
            "Feeds",
            lengths.each("/min", |to| numbers(&summary.feeds, to)),
        ),
        (
            "Speeds",
            format!("{} rpm", numbers(&summary.speeds, &|rpm| rpm)),
        ),
        (
            "Ends with",
            summary
                .ends_with
                .map_or_else(|| "nothing".to_owned(), |m| format!("M{m}")),
        ),
        (
            "Not reached",
            study.uncovered().map_or_else(unknown, cover::percent),
        ),
        (
            "Time",
            study
                .time
                .map_or_else(unknown, |t| format!("about {}", cover::spoken(t.likely))),
        ),
    ];
    Page::new()
        .toned(tone(examined.verdict), said)
        .table(Table {
            head: Vec::new(),
            rows: facts
                .into_iter()
                .map(|(k, v)| vec![k.to_owned(), v])
                .collect(),
            align: vec![Align::Left, Align::Left],
        })
}

/// Every finding, with its place, lengths as `lengths` shows them.
fn findings(study: &ProgramStudy, lengths: Lengths) -> Page {
    let examined = &study.examination;
    let mut page = Page::new();
    for (n, finding) in examined.findings.iter().enumerate() {
        let letter = study.picture.as_ref().and_then(|p| plan::letter_of(p, n));
        page = page.gap().then(one(finding, letter, lengths));
    }
    for (code, count) in &examined.counts {
        let shown = examined
            .findings
            .iter()
            .filter(|f| f.rule.code == *code)
            .count();
        let shown = u32::try_from(shown).unwrap_or(u32::MAX);
        if *count > shown {
            page = page.text(format!("{code}: {} more.", count - shown));
        }
    }
    page
}

/// `letter` is that of its place in the drawing.
fn one(finding: &Finding, letter: Option<char>, lengths: Lengths) -> Page {
    let mut place = match (finding.line, finding.number) {
        (0, _) => "the whole program".to_owned(),
        (line, Some(n)) => format!("line {line}, N{n}"),
        (line, None) => format!("line {line}"),
    };
    if let Some(letter) = letter {
        place.push_str(&format!(", {letter} in the drawing"));
    }
    let tone = match finding.rule.grade {
        Grade::Stop => Tone::Stop,
        Grade::Look => Tone::Look,
        Grade::Note => Tone::Plain,
    };
    let mut page = Page::new().toned(
        tone,
        format!(
            "{} {} - {place}: {}",
            finding.rule.grade.word().to_uppercase(),
            finding.rule.code,
            finding.message(&|figure| lengths.figure(figure))
        ),
    );
    if finding.line > 0 {
        // A long line is shown about its place.
        let from = finding.span.start.saturating_sub(50);
        let text: String = finding.text.chars().skip(from).take(70).collect();
        let wide = finding.span.len().clamp(1, 70);
        let caret = format!(
            "{}{}",
            " ".repeat(finding.span.start - from),
            "^".repeat(wide)
        );
        page = page.working([text, caret]);
    }
    page.text(format!(
        "Why: {}. Do: {}.",
        finding.rule.why, finding.rule.mend
    ))
}
