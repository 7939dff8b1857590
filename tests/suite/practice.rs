//! `practice:` in procedures: a rehearsal of any procedure shows itself to its end and says what it cannot judge, an old text
//! without a word of it still works, drills are a matter of the procedure alone, and no code knows a shipped step.

use crate::support::{Bench, Ran, flowing, shipped};
use skimgate::diagnostics::Findings;
use skimgate::procedure::Procedure;
use skimgate::procedure::practice::{Fact, Fault, MillWord};
use skimgate::procedure::read;
use skimgate::walk::practice::scores;
use std::fs;
use std::path::{Path, PathBuf};

fn checklists() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("checklists");
    let entries = fs::read_dir(root).unwrap().map(|e| e.unwrap().path());
    let mut found: Vec<PathBuf> = entries
        .filter(|p| p.extension().is_some_and(|e| e == "yaml"))
        .filter(|p| fs::read_to_string(p).unwrap().contains("\nprocedure:"))
        .collect();
    found.sort();
    assert!(!found.is_empty());
    found
}

fn procedure(text: &str) -> Procedure {
    read::read(text, &mut Findings::default()).unwrap()
}

/// A demonstration of a procedure, in the invented shop that is built in.
fn shows(bench: &Bench, procedure: &Path, more: &[&str]) -> Ran {
    let path = procedure.to_str().unwrap();
    let usual = [
        "rehearse",
        path,
        "--demo",
        "--at-once",
        "--plain",
        "--seed",
        "7",
    ];
    bench.run(&[&usual[..], more].concat())
}

/// Of other jobs, with other ids, kinds, ways of touching and limits; one sets Z nowhere and touches nothing.
#[test]
fn a_demonstration_of_any_procedure_comes_to_its_end() {
    let mut all = checklists();
    let others = ["jaws", "board", "iron", "small", "touches", "tiny_passes"];
    all.extend(others.map(|name| shipped(&format!("{name}.yaml"))));
    for path in all {
        let bench = Bench::new();
        let ran = shows(&bench, &path, &["--drills", "0"]);
        let ran = ran.ended(0).prints_nothing();
        ran.says(&["All is answered. The rehearsal is complete and recorded as practice."]);
    }
}

#[test]
fn what_is_not_judged_is_said_at_the_start_and_what_is_invented_is_marked() {
    let bench = Bench::new();
    shows(&bench, &shipped("jaws.yaml"), &["--drills", "0"]).says(&[
        "Not judged here, having no `practice:`: jaw_material, jaws_tight, depth.",
        "Drills that this procedure cannot judge: old-offset, other-offset",
        // Between its limits, and in the readout's hundredths.
        "value in mm> 0.11 mm (invented: the step has no `practice:`)",
        "confirm> tight (invented: the step has no `practice:`)",
    ]);
    // The readout is read where a formula adds it to its zero: that is no invention.
    let ran = shows(&bench, &shipped("board.yaml"), &["--drills", "0"]);
    let told = flowing(&ran.err);
    assert!(
        told.contains("Not judged here, having no `practice:`: extraction, hose, speed, share, unit_typed, unit_shown, more."),
        "{told}"
    );
    let ran = shows(&bench, &shipped("iron.yaml"), &["--drills", "0"]);
    let told = flowing(&ran.err);
    assert!(
        !told.contains("invented:") && !told.contains("Not judged"),
        "{told}"
    );
}

/// The two drills of the iron table stand in its own file, under ids of its own.
#[test]
fn a_drill_of_ones_own_is_a_word_in_the_procedure() {
    let bench = Bench::new();
    let drills = ["--drill", "visitor", "--drill", "chipped-edge"];
    shows(&bench, &shipped("iron.yaml"), &drills)
        .ended(0)
        .says(&[
            "CAUGHT: A visitor at the plate (visitor)",
            "CAUGHT: A corner of the cutter is gone (chipped-edge)",
        ]);
    // Drawn by the seed are those alone that some step can catch.
    shows(&bench, &shipped("iron.yaml"), &["--drills", "9"]).ended(0);
    let book = skimgate::book::Book::open_existing(scores::beside(&bench.book())).unwrap();
    let drawn = scores::all(&book).unwrap().pop().unwrap().rehearsed.drills;
    let mut drawn: Vec<&str> = drawn.iter().map(String::as_str).collect();
    drawn.sort_unstable();
    assert_eq!(
        drawn,
        [
            "chipped-edge",
            "nozzle",
            "other-program",
            "other-unit",
            "visitor"
        ]
    );
    for (drill, hint) in [
        ("door", "`practice: { drill: door }`"),
        ("guard-off", "ask for place.guards"),
    ] {
        shows(&bench, &shipped("iron.yaml"), &["--drill", drill])
            .ended(2)
            .says(&[&format!("cannot judge the drill `{drill}`"), hint]);
    }
    shows(&bench, &shipped("iron.yaml"), &["--drill", "vistor"])
        .ended(2)
        .says(&["did you mean `visitor`?"]);
}

/// The README shows the step of the iron table that is played above.
#[test]
fn the_drill_that_the_readme_shows_is_one_that_is_played() {
    let readme = include_str!("../../README.md");
    let (_, after) = readme.split_once("```\n      - confirm: ").unwrap();
    let (step, _) = after.split_once("```").unwrap();
    let iron = fs::read_to_string(shipped("iron.yaml")).unwrap();
    assert!(
        step.contains("drill: visitor") && iron.contains(step),
        "{step}"
    );
}

/// A text as it was before there was a word of practice in it.
fn without_practice(text: &str) -> String {
    let mut left = String::new();
    let mut inside = false;
    for line in text.lines() {
        let key = line.strip_prefix("        practice:").is_some();
        inside = key || inside && line.starts_with("          ");
        if !inside {
            left.push_str(line);
            left.push('\n');
        }
    }
    left
}

#[test]
fn a_run_of_the_older_text_goes_on_and_a_rehearsal_of_it_comes_to_its_end() {
    let text = fs::read_to_string(checklists()[0].parent().unwrap().join("base-plate.yaml"));
    let text = text.unwrap();
    let old = without_practice(&text);
    assert!(!old.contains("practice:") && procedure(&old).steps().all(|s| s.practice.is_none()));
    assert_eq!(
        procedure(&old).steps().count(),
        procedure(&text).steps().count()
    );
    let bench = Bench::new();
    let path = bench.write("old.yaml", &old);
    // Begun with the old text and left; taken up again, beside the new one, it goes by the text that it began with.
    let folder = checklists()[0].parent().unwrap().to_owned();
    let shop = folder.join("shop.yaml");
    let goes_on = |procedure: &Path, answers: &str, asks: &str| {
        let answers = bench.write("answers.yaml", answers);
        let args = [procedure, &shop, &answers].map(|p| p.to_str().unwrap());
        let [procedure, shop, answers] = args;
        let ran = bench.run(&["walk", procedure, "--shop", shop, "--answers", answers]);
        let wanted = format!("has no answer left for the step `{asks}`");
        ran.ended(2).says(&[&wanted]);
    };
    let begun = "operator: ab\nmill: mill-a\n";
    goes_on(&path, begun, "you_and_others");
    let new = folder.join("base-plate.yaml");
    goes_on(
        &new,
        &format!("{begun}you_and_others: covered, nothing loose, nobody in reach\n"),
        "estop",
    );
    assert_eq!(bench.runs().len(), 1);
    bench.run(&["record", "verify"]).ended(0);
    shows(&bench, &path, &["--drills", "0"]).ended(0).says(&[
        "Not judged here, having no `practice:`: you_and_others, estop",
        "The rehearsal is complete",
    ]);
}

#[test]
fn facts_words_and_drills_are_listed_and_in_the_schema() {
    let bench = Bench::new();
    let listed = bench
        .run(&["rehearse", "--facts", "--plain"])
        .ended(0)
        .quietly();
    let schema = skimgate::procedure::schema::procedure();
    let facts = Fact::ALL.iter().map(|f| f.name());
    for name in facts.chain(MillWord::ALL.iter().map(|w| w.word())) {
        assert!(listed.out.contains(name), "{name}: {}", listed.out);
        assert!(schema.contains(name), "{name}");
    }
    for id in Fault::IDS {
        assert!(schema.contains(&format!("\"{id}\"")), "{id}");
    }
}
