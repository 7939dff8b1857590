//! The drills of a rehearsal: each is caught, and mended at the step that the table names.

use super::{FirstEdition, all_played, checklist, judged, rows};
use crate::support::Bench;
use serde::Deserialize;
use skimgate::book::Book;
use skimgate::diagnostics::Findings;
use skimgate::procedure::read::read;
use skimgate::simulator::drills::{DRILLS, Drill};
use skimgate::walk::practice::scores;
use std::fs;

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct DrillRow {
    drill: String,
    /// The step at which an honest answer would hold the run.
    caught: String,
    /// What the person at the mill does there first.
    mend: String,
    first_edition: FirstEdition,
}

/// A demonstration with these drills, as it is shown.
fn shown(bench: &Bench, drills: &[&str]) -> String {
    let mut args = vec!["rehearse", "--demo", "--at-once", "--plain", "--seed", "7"];
    for drill in drills {
        args.extend(["--drill", drill]);
    }
    bench.run(&args).ended(0).err
}

/// The title of a step of the default procedure.
fn title_of(step: &str) -> String {
    let text = fs::read_to_string(checklist("base-plate.yaml")).unwrap();
    let procedure = read(&text, &mut Findings::default()).unwrap();
    let step = procedure.step(step);
    step.map_or_else(
        || panic!("a step of the table is not in the procedure"),
        |s| s.title.clone(),
    )
}

/// Whether the mill was told to do something at a step of that title, in what a rehearsal showed.
fn mended_at(shown: &str, title: &str, mend: &str) -> bool {
    let mut here = false;
    shown.lines().any(|line| {
        if line.starts_with("Step ") || line.starts_with("Question ") {
            here = line
                .split_once(": ")
                .is_some_and(|(_, of)| title.starts_with(of.trim_end()));
        }
        here && line
            .split_once("mill> ")
            .is_some_and(|(_, word)| word.starts_with(mend))
    })
}

fn play(row: &DrillRow, shown: &str, score: &str) -> Result<(), String> {
    if !score.contains(&format!("({})", row.drill)) {
        return Err(format!("the rehearsal did not catch it: {score}"));
    }
    if mended_at(shown, &title_of(&row.caught), &row.mend) {
        Ok(())
    } else {
        Err(format!("`{}` was not done at `{}`", row.mend, row.caught))
    }
}

/// Drills that void the touch-off hide each other, so they are shown one at a time.
#[test]
fn every_drill_is_caught_at_the_step_that_the_table_names() {
    let rows: Vec<DrillRow> = rows("drills.yaml");
    let mut named: Vec<&str> = rows.iter().map(|r| r.drill.as_str()).collect();
    let mut all: Vec<&str> = DRILLS.iter().map(Drill::id).collect();
    named.sort_unstable();
    all.sort_unstable();
    assert_eq!(named, all, "the table and the drills that there are");

    let (alone, together): (Vec<&Drill>, Vec<&Drill>) =
        DRILLS.iter().partition(|d| d.voids_touches());
    let mut rounds: Vec<Vec<&str>> = alone.iter().map(|d| vec![d.id()]).collect();
    rounds.push(together.iter().map(|d| d.id()).collect());
    let mut wrong = Vec::new();
    for round in rounds {
        let bench = Bench::new();
        let shown = shown(&bench, &round);
        let book = Book::open_existing(scores::beside(&bench.book())).unwrap();
        let score = &scores::all(&book).unwrap()[0].rehearsed.score;
        assert_eq!(
            (score.caught, score.missed, score.out_of_order),
            (round.len(), 0, 0),
            "{round:?}: {score:?}\n{shown}"
        );
        for row in rows.iter().filter(|r| round.contains(&r.drill.as_str())) {
            let caught: String = shown.lines().filter(|l| l.contains("CAUGHT")).collect();
            assert_eq!(
                row.first_edition,
                FirstEdition::Caught,
                "all drills are of the first edition"
            );
            judged(
                &mut wrong,
                &row.drill,
                &row.caught,
                play(row, &shown, &caught),
            );
        }
    }
    all_played(&wrong);
}
