//! The facts of a program next to plate, cutter, machine and run, on one page: what a person would otherwise be asked,
//! with a mark where the two differ or where the examination cannot vouch for the program's side.

use super::cover;
use super::lengths::{Lengths, MM_PER_INCH, number};
use super::page::{Align, Page, Table, Tone};
use crate::interlock::State;
use crate::interlock::examined::{Examined, Found};
use crate::procedure::ShopList;
use crate::procedure::program_facts::ProgramFact;
use crate::program::examine::Verdict;
use crate::program::finding::Finding;
use crate::program::rules::Grade;
use crate::program::setup::Setup;
use crate::program::study::ProgramStudy;
use crate::quantity::{Quantity, UnitSystem};

/// Most findings that are named on the page; `findings` shows all.
const MOST: usize = 3;

/// One row: its label, its parts, and whether program and set-up differ.
struct Row {
    label: &'static str,
    parts: Vec<Part>,
    differs: bool,
}

/// A fact in a row: the program's side and the set-up's side, either may be empty.
struct Part {
    fact: ProgramFact,
    program: String,
    setup: String,
}

/// The page of a program that was examined for this run. `hidden` are the facts that a person is still asked to read in
/// the program, so that nobody reads the answer off this page.
pub(crate) fn page(
    study: &ProgramStudy,
    examined: &Examined,
    setup: &Setup,
    state: &State,
    hidden: &[ProgramFact],
) -> Page {
    let examination = &study.examination;
    let (tone, said) = match examination.verdict {
        Verdict::Agrees => (Tone::Good, "AGREES: nothing known here speaks against it."),
        Verdict::Look => (
            Tone::Look,
            "LOOK: somebody has to look, and say why it is right.",
        ),
        Verdict::CannotVouch => (
            Tone::Stop,
            "CANNOT VOUCH: some of it cannot be followed; what is lost is asked.",
        ),
        Verdict::Stop => (Tone::Stop, "STOP: it must not be run so."),
    };
    let mut page = Page::new().toned(tone, said);
    let lengths = super::examined::lengths_of(study, state.begun.unit);
    let first: Vec<&Finding> = examination
        .findings
        .iter()
        .filter(|f| f.rule.grade != Grade::Note)
        .take(MOST)
        .collect();
    for finding in &first {
        let tone = match finding.rule.grade {
            Grade::Stop => Tone::Stop,
            Grade::Look | Grade::Note => Tone::Look,
        };
        page = page.toned(tone, line(finding, lengths));
    }
    let all = examination.counts.iter().map(|(_, n)| n).sum::<u32>();
    let shown = u32::try_from(first.len()).unwrap_or(u32::MAX);
    if examination.verdict != Verdict::Stop {
        page = page
            .table(table(study, examined, setup, state, hidden))
            .text(moves(study, examined, hidden));
    }
    let more = match all.saturating_sub(shown) {
        0 => "`findings` shows the drawing and what was not judged.".to_owned(),
        1 => "`findings` shows one more finding, the drawing, and what was not judged.".to_owned(),
        n => format!("`findings` shows {n} more findings, the drawing, and what was not judged."),
    };
    page.toned(Tone::Quiet, more)
}

/// A finding in one line.
fn line(finding: &Finding, lengths: Lengths) -> String {
    let place = match finding.line {
        0 => String::new(),
        line => format!(" - line {line}"),
    };
    format!(
        "{} {}{place}: {}",
        finding.rule.grade.word().to_uppercase(),
        finding.rule.code,
        finding.message(&|figure| lengths.figure(figure))
    )
}

fn table(
    study: &ProgramStudy,
    examined: &Examined,
    setup: &Setup,
    state: &State,
    hidden: &[ProgramFact],
) -> Table {
    let mut rows = rows(study, examined, setup, state);
    for row in &mut rows {
        row.parts.retain(|part| !hidden.contains(&part.fact));
    }
    let cells = rows
        .into_iter()
        .filter(|row| !row.parts.is_empty())
        .map(|row| {
            let asked = |part: &Part| {
                matches!(
                    examined.found_of(part.fact),
                    Some(Found::Doubtful { .. }) | None
                )
            };
            let against =
                |part: &Part| matches!(examined.found_of(part.fact), Some(Found::Against { .. }));
            let mark = if row.differs || row.parts.iter().any(against) {
                "DIFFERS"
            } else if row.parts.iter().any(asked) {
                "asked"
            } else {
                ""
            };
            let join = |side: fn(&Part) -> &String| {
                let sides = row.parts.iter().map(side).filter(|text| !text.is_empty());
                sides.cloned().collect::<Vec<_>>().join(", ")
            };
            vec![
                row.label.to_owned(),
                join(|part| &part.program),
                join(|part| &part.setup),
                mark.to_owned(),
            ]
        });
    Table {
        head: Vec::new(),
        rows: cells.collect(),
        align: vec![Align::Left; 4],
    }
}

/// How figures are shown: in the unit of the run alone, so that three columns fit.
#[derive(Clone, Copy)]
struct Show(UnitSystem);

impl Show {
    fn to(self, mm: f64) -> String {
        match self.0 {
            UnitSystem::Mm => number(mm),
            UnitSystem::Inch => number((mm / MM_PER_INCH * 1000.0).round() / 1000.0),
        }
    }

    fn one(self, mm: f64) -> String {
        format!("{} {}", self.to(mm), self.0.symbol())
    }

    fn range(self, [low, high]: [f64; 2]) -> String {
        format!("{} to {} {}", self.to(low), self.to(high), self.0.symbol())
    }

    fn feeds(self, feeds: &[f64]) -> String {
        let all: Vec<String> = feeds.iter().map(|f| self.to(*f)).collect();
        match all.as_slice() {
            [] => "none".to_owned(),
            [.., last] if all.len() > 3 => format!("{} to {last} {}/min", all[0], self.0.symbol()),
            _ => format!("{} {}/min", all.join(", "), self.0.symbol()),
        }
    }
}

fn rows(study: &ProgramStudy, examined: &Examined, setup: &Setup, state: &State) -> Vec<Row> {
    let show = Show(state.begun.unit);
    let summary = &study.examination.summary;
    let found = |fact| examined.found_of(fact);
    let length = |fact| match found(fact) {
        Some(Found::Quantity(q)) => in_mm(*q),
        _ => None,
    };
    let (cutter, mill) = (setup.cutter, setup.mill);
    let named = length(ProgramFact::Cutter);
    let speeds = mill.and_then(|m| m.speeds).map(|[low, high]| {
        let most = cutter.and_then(|c| c.highest_speed).unwrap_or(high);
        [low, high.min(most)]
    });
    let feed = mill.and_then(|m| m.highest_feed);
    let flat = cutter.map(|c| 2.0 * c.flat_radius());
    let step = summary.rows.and_then(|rows| rows.step);
    let overrun = length(ProgramFact::Overrun);
    let outside = |values: &[f64], range: Option<[f64; 2]>| {
        range.is_some_and(|[low, high]| values.iter().any(|v| *v < low || *v > high))
    };
    let part = |fact, program: String, setup: String| Part {
        fact,
        program,
        setup,
    };
    let row = |label, parts, differs| Row {
        label,
        parts,
        differs,
    };
    let numbers = |values: &[f64]| text(values.iter().map(|v| number(*v)).collect());
    let mut rows = vec![
        modes(study, setup, show),
        row(
            "Cutter",
            vec![part(
                ProgramFact::Cutter,
                named.map_or_else(|| "not named".to_owned(), |d| show.one(d)),
                cutter.map_or_else(String::new, |c| {
                    let id = state
                        .chosen(ShopList::Cutters)
                        .map_or("", |i| i.id.as_str());
                    format!("{} ({id})", show.one(c.diameter))
                }),
            )],
            named
                .zip(cutter)
                .is_some_and(|(d, c)| (d - c.diameter).abs() > 0.1),
        ),
        row(
            "Speed",
            vec![part(
                ProgramFact::Speed,
                format!("{} rpm", numbers(&summary.speeds)),
                speeds.map_or_else(String::new, |[low, high]| {
                    format!("{} to {} rpm", number(low), number(high))
                }),
            )],
            outside(&summary.speeds, speeds),
        ),
        row(
            "Feed",
            vec![part(
                ProgramFact::Feed,
                show.feeds(&summary.feeds),
                feed.map_or_else(String::new, |f| format!("at most {}/min", show.one(f))),
            )],
            outside(&summary.feeds, feed.map(|most| [0.0, most])),
        ),
        row(
            "Step-over",
            vec![part(
                ProgramFact::StepOver,
                step.map_or_else(|| "no rows".to_owned(), |s| show.one(s)),
                flat.map_or_else(String::new, |f| format!("flat {}", show.one(f))),
            )],
            step.zip(flat).is_some_and(|(s, f)| s > f),
        ),
        row(
            "Rim",
            vec![part(
                ProgramFact::Overrun,
                overrun.map_or_else(
                    || "not known".to_owned(),
                    |o| format!("{} past the edges", show.one(o)),
                ),
                String::new(),
            )],
            overrun.is_some_and(|o| o <= 0.0),
        ),
        row(
            "Lowest Z",
            vec![part(
                ProgramFact::LowestZ,
                summary
                    .min_z
                    .map_or_else(|| "not known".to_owned(), |z| show.one(z)),
                String::new(),
            )],
            false,
        ),
    ];
    rows.extend(place(study, setup, show));
    rows
}

/// Unit, work offset and length offset.
fn modes(study: &ProgramStudy, setup: &Setup, show: Show) -> Row {
    let summary = &study.examination.summary;
    let h_used = setup.mill.and_then(|m| m.length_offsets);
    let part = |fact, list: Vec<String>, setup: &str| Part {
        fact,
        program: text(list),
        setup: setup.to_owned(),
    };
    let h = |h: &u32| match h {
        0 => "no H".to_owned(),
        h => format!("H{h}"),
    };
    Row {
        label: "Modes",
        parts: vec![
            part(
                ProgramFact::Unit,
                summary
                    .units
                    .iter()
                    .map(|u| u.symbol().to_owned())
                    .collect(),
                &format!("{} typed here", show.0.symbol()),
            ),
            part(
                ProgramFact::WorkOffset,
                summary
                    .work_offsets
                    .iter()
                    .map(|o| o.code().to_owned())
                    .collect(),
                "",
            ),
            part(
                ProgramFact::LengthOffset,
                summary.length_offsets.iter().map(h).collect(),
                h_used.map_or("", |used| if used { "H in use" } else { "H not used" }),
            ),
        ],
        differs: h_used == Some(false) && summary.length_offsets.iter().any(|h| *h != 0),
    }
}

/// Where it cuts, next to the plate and the travel.
fn place(study: &ProgramStudy, setup: &Setup, show: Show) -> Vec<Row> {
    let sides = study.examination.summary.extents;
    let unknown = || "not known".to_owned();
    let row = |label, program: String, setup: Option<String>| Row {
        label,
        parts: vec![Part {
            fact: ProgramFact::Travel,
            program,
            setup: setup.unwrap_or_default(),
        }],
        differs: false,
    };
    let cuts = |axis: usize, label| {
        let side = sides.and_then(|s| s.get(axis).copied());
        let plate = setup.plate.and_then(|plate| {
            let size = plate.size.get(axis).copied()?;
            let corner = plate.corner.and_then(|c| c.get(axis).copied());
            Some(match corner {
                Some(corner) => format!("plate {}", show.range([corner, corner + size])),
                None => format!("plate {}", show.one(size)),
            })
        });
        row(label, side.map_or_else(unknown, |s| show.range(s)), plate)
    };
    let size = |x: f64, y: f64| format!("{} x {} {}", show.to(x), show.to(y), show.0.symbol());
    let travel = setup.mill.and_then(|m| m.travel);
    vec![
        cuts(0, "Cuts X"),
        cuts(1, "Cuts Y"),
        row(
            "Travel",
            sides.map_or_else(unknown, |[[a, b], [c, d], _]| size(b - a, d - c)),
            travel.map(|[x, y]| size(x, y)),
        ),
    ]
}

/// How it moves, how long it takes, and what it leaves, in a sentence.
fn moves(study: &ProgramStudy, examined: &Examined, hidden: &[ProgramFact]) -> String {
    let facts = [
        (ProgramFact::FirstMove, "X and Y before Z"),
        (ProgramFact::Ends, "lifted at the end"),
        (ProgramFact::Shifts, "no shifts"),
    ];
    let mut said: Vec<String> = facts
        .into_iter()
        .filter(|(fact, _)| !hidden.contains(fact))
        .map(|(fact, words)| match examined.found_of(fact) {
            Some(Found::So) => words.to_owned(),
            Some(Found::Against {
                line: Some(line), ..
            }) => format!("NOT {words} (line {line})"),
            Some(Found::Against { .. }) => format!("NOT {words}"),
            _ => format!("{}: asked", fact.key()),
        })
        .collect();
    let time = study
        .time
        .map(|t| format!("about {}", cover::spoken(t.likely)));
    let left = study.uncovered().map(cover::percent);
    said.extend(time);
    said.extend(left.map(|left| format!("{left} not reached")));
    format!("Moves: {}.", said.join(", "))
}

/// These in one line.
fn text(list: Vec<String>) -> String {
    if list.is_empty() {
        "none".to_owned()
    } else {
        list.join(", ")
    }
}

/// A length in mm.
fn in_mm(length: Quantity) -> Option<f64> {
    let amount = length.in_unit(&UnitSystem::Mm.length()).ok()?;
    Some(amount.to_f64())
}
