//! Rehearsals: they show themselves whole, are kept apart from real runs, and release nothing real; and a whole short one at
//! a real terminal.

use crate::support::{Bench, Ran, flowing, whole};
use skimgate::book::Book;
use skimgate::interlock::event::Event;
use skimgate::walk::practice::scores;
use skimgate::walk::store::{log, replay};
use std::fs;

/// A demonstration with these drills.
fn shows(bench: &Bench, drills: &[&str]) -> Ran {
    let mut args = vec!["rehearse", "--demo", "--at-once", "--plain", "--seed", "7"];
    for drill in drills {
        args.extend(["--drill", drill]);
    }
    if drills.is_empty() {
        args.extend(["--drills", "0"]);
    }
    bench.run(&args)
}

fn practice_book(bench: &Bench) -> Book {
    Book::open_existing(scores::beside(&bench.book())).unwrap()
}

#[test]
fn a_rehearsal_without_faults_shows_itself_to_a_clean_end() {
    let bench = Bench::new();
    shows(&bench, &[]).ended(0).prints_nothing().says(&[
        "Rehearsal: practice on a virtual mill, no real cut",
        "PRACTICE MILL ONLY",
        "All is answered. The rehearsal is complete and recorded as practice.",
        "100.0 % of the face is clean now.",
        "practice: CLEAN; points: 100",
    ]);
    let kept = scores::all(&practice_book(&bench)).unwrap();
    assert_eq!(kept.len(), 1);
    assert!(kept[0].rehearsed.demo && kept[0].rehearsed.score.is_clean());
    let listed = bench.run(&["rehearse", "--scores"]).ended(0).quietly();
    assert!(listed.out.contains("DEMO (demo)"), "{}", listed.out);
    let sheet = bench.run(&["rehearse", "--sheet"]).ended(0).quietly();
    let lines: Vec<&str> = sheet.out.lines().collect();
    assert!(
        lines.len() == 2 && lines[1].starts_with("practice,"),
        "{lines:?}"
    );
}

#[test]
fn the_same_seed_is_the_same_rehearsal() {
    let debrief = || {
        let bench = Bench::new();
        let ran = shows(&bench, &[]).ended(0);
        let (_, debrief) = ran.err.split_once("Debrief of a rehearsal").unwrap();
        debrief.to_owned()
    };
    assert_eq!(debrief(), debrief());
}

/// The real book is the same byte for byte after a rehearsal; the practice book says rehearsal in the first event of every
/// run, and has no event that releases or starts a machine.
#[test]
fn practice_is_kept_apart_and_releases_nothing_real() {
    let bench = Bench::new();
    let answers = bench.answers("whole.yaml", whole(&[]));
    bench.walk(&answers).ended(0);
    let before = fs::read(bench.book()).unwrap();
    shows(&bench, &["visitor"]).ended(0);
    assert_eq!(fs::read(bench.book()).unwrap(), before);
    assert_eq!(bench.runs().len(), 1);

    let book = practice_book(&bench);
    assert!(book.open_runs().unwrap().is_empty());
    let runs = book.runs().unwrap();
    assert_eq!(runs.len(), 1);
    replay::replay(&book, &runs[0].run).unwrap();
    let loaded = log::load(&book, &runs[0].run).unwrap();
    assert!(loaded.state.begun.rehearsal);
    let events: Vec<&Event> = loaded.events.iter().map(|s| &s.event).collect();
    assert!(
        events
            .iter()
            .any(|e| matches!(e, Event::PracticeStarted { .. }))
    );
    let real = |e: &&Event| matches!(e, Event::Released { .. } | Event::CutStarted { .. });
    assert!(!events.iter().any(real));
    // The gate, asked of the practice book, releases nothing.
    let practice = scores::beside(&bench.book());
    let mut command = bench.command();
    command.arg("gate").arg("--book").arg(&practice);
    crate::support::ran(command).ended(3);
}

#[test]
fn a_scenario_is_walked_and_a_broken_one_is_explained() {
    let bench = Bench::new();
    let good =
        "format: 1\nrehearsal: Second day\nseed: 12\nlevel: easy\ndrills: [gloves, feed-left]\n";
    let path = bench.write("day2.yaml", good);
    let path = path.to_str().unwrap();
    bench
        .run(&["rehearse", "--demo", "--at-once", "--scenario", path])
        .ended(0)
        .says(&[
            "Second day",
            "Seed 12, plate easy. 2 faults are in the way.",
        ]);
    bench.run(&["check", path]).ended(0);
    let bad = bench.write("bad.yaml", &good.replace("gloves", "glovs"));
    let bad = bad.to_str().unwrap();
    bench
        .run(&["rehearse", "--demo", "--at-once", "--scenario", bad])
        .ended(2)
        .says(&["there is no drill `glovs`", "did you mean `gloves`?"]);
    let checked = bench.run(&["check", bad]).ended(2);
    assert!(
        flowing(&checked.out).contains("did you mean `gloves`?"),
        "{}",
        checked.out
    );
}

#[test]
fn without_a_terminal_nothing_is_begun() {
    let bench = Bench::new();
    bench.run(&["rehearse"]).ended(2).says(&[
        "standard input is not a terminal",
        "rehearse --demo --at-once",
    ]);
    assert!(!scores::beside(&bench.book()).exists());
    bench
        .run(&["rehearse", "--demo", "--cutter", "em-99"])
        .ended(2)
        .says(&["no cutter `em-99`", "em-12"]);
}

#[cfg(unix)]
mod terminal {
    use crate::operator::{Operator, Sitting, plain};
    use crate::support::{Bench, flowing, shipped};
    use crate::terminal::people::{LEARNER, OWNER, people, register};
    use skimgate::book::Book;
    use skimgate::walk::practice::scores;

    /// The figure that stands behind a label of the readout shown last.
    fn shows(told: &str, label: &str) -> String {
        let (_, after) = told.rsplit_once(&format!("{label} ")).unwrap();
        let figure = after.split_whitespace().next().unwrap();
        figure.to_owned()
    }

    /// Waits for a prompt, left standing; what was told before it.
    fn waits(at: &mut Operator, prompt: &str) -> String {
        flowing(&plain(&at.sees(&format!("{prompt}> "))))
    }

    /// Goes to a point, comes down by eye and touches; the prompt is left standing. The readout's Z.
    fn touches(at: &mut Operator, prompt: &str, point: &str) -> String {
        at.types(&format!("m up 5, spindle 300, go {point}"));
        loop {
            let told = waits(at, prompt);
            let Some((_, after)) = told.rsplit_once("tip about ") else {
                break;
            };
            let mm: i64 = after.split_whitespace().next().unwrap().parse().unwrap();
            if mm <= 3 {
                break;
            }
            at.types(&format!("m down {}", mm - 2));
        }
        at.types("m touch");
        let told = waits(at, prompt);
        assert!(told.contains("A faint bright ring shows"), "{told}");
        shows(&told, "· Z")
    }

    fn passes(at: &mut Operator, who: &str) -> bool {
        at.answers("value in mm", "0.15");
        waits(at, "value in mm");
        let z = touches(at, "value in mm", "C");
        at.types(&z.replace('+', ""));
        let told = waits(at, "shows now, mm");
        let (_, entry) = told.rsplit_once("Type ").unwrap();
        let entry = entry.split_whitespace().next().unwrap().to_owned();
        at.types(&format!("m set z {entry}"));
        at.answers("shows now, mm", &entry);
        at.answers("confirm", "behind the line");
        at.answers("initials", "m up 30, door up, go start");
        at.signs_as(who);
        at.sees("PRACTICE MILL ONLY");
        at.answers("started", "m start");
        at.answers("started", "started");
        at.answers("how it ended", "finished");
        let told = waits(at, "inspect");
        assert!(!told.contains("RELEASED"), "{told}");
        let clean = flowing(&plain(&at.screen))
            .rsplit_once("100.0 % of the face is clean.")
            .is_some();
        at.types(if clean { "clean" } else { "skin left" });
        clean
    }

    /// From the safety glasses to a clean face, with the right program loaded.
    fn cleans_up(at: &mut Operator, who: &str) {
        at.types("m");
        at.answers("mill", "glasses on");
        at.answers("mill", "home");
        at.answers("mill", "load facing-12mm.nc");
        at.answers("mill", "");
        at.answers("confirm", "covered");
        at.answers("file", "facing-12mm.nc");
        for point in ["SW", "NE", "C"] {
            let prompt = format!("{point} in mm");
            waits(at, &prompt);
            let mut z = touches(at, &prompt, point);
            if point == "SW" {
                at.types("m zero z");
                let told = waits(at, &prompt);
                z = shows(&told, "· Z");
            }
            at.types(&z.replace('+', ""));
        }
        let mut count = 1;
        while !passes(at, who) {
            count += 1;
            assert!(count <= 6);
        }
    }

    const SCENARIO: &str =
        "format: 1\nrehearsal: First day\nseed: 7\nlevel: easy\ndrills: [other-program]\n";

    fn begins(bench: &Bench, args: &[&'static str]) -> Operator {
        Sitting::at(bench)
            .command("rehearse")
            .procedure(shipped("short.yaml"))
            .with("LC_ALL", "C.UTF-8")
            .args(args)
            .walks()
    }

    fn changes(bench: &Bench, words: &str, code: i32, parts: &[&str]) {
        let mut at = people(bench, words);
        if code == 0 {
            at.answers("PIN of AB (not shown)", OWNER);
        }
        at.ends(code);
        at.has_seen(parts);
    }

    /// A scenario that is asked for, with a trainer beside: rehearsed by the learner with their PIN, signed by the trainer.
    #[test]
    fn a_scenario_that_is_asked_for_counts_for_who_typed_the_pin_with_a_trainer_beside() {
        let bench = Bench::new();
        register(&bench);
        bench.write("day-1.yaml", SCENARIO);
        bench.write("none.yaml", "format: 1\nrehearsal: None\n");
        changes(
            &bench,
            "require --scenario none.yaml",
            2,
            &["no fault is in the way in this scenario"],
        );
        changes(
            &bench,
            "require --scenario day-1.yaml --trainer --points 60",
            0,
            &[
                "the scenario `First day` (day-1.yaml), each of at least 60 points and with a trainer present who signs for it",
            ],
        );
        let alone = "change cd --machines all";
        changes(
            &bench,
            alone,
            3,
            &[
                "CD has 0 and lacks `First day`",
                "skimgate rehearse --scenario day-1.yaml",
            ],
        );

        let mut at = begins(&bench, &["--scenario", "day-1.yaml"]);
        at.answers("initials", "zz");
        at.sees("ZZ is not on the list of people");
        at.goes(&[
            ("initials", "cd"),
            ("PIN of CD (not shown)", "not this one"),
            ("PIN of CD (not shown)", LEARNER),
            ("machine", "north"),
            ("choose", "c12"),
        ]);
        waits(&mut at, "confirm");
        cleans_up(&mut at, "cd");
        at.sees("Debrief of a rehearsal");
        // Nobody is their own trainer.
        at.answers("trainer", "cd");
        at.sees("that is not a trainer or an owner on the list");
        at.answers("trainer", "ab");
        at.answers("PIN of AB (not shown)", OWNER);
        at.sees("Kept as practice");
        at.ends(0);
        assert!(!at.screen.contains(OWNER) && !at.screen.contains(LEARNER));
        let history = bench.run(&["people", "history"]).ended(0);
        history.tells(&["A wrong PIN for CD."]);

        // The same file edited is another scenario; with options it is not what its file says.
        bench.write("day-1.yaml", &SCENARIO.replace("easy", "usual"));
        changes(
            &bench,
            "require --scenario day-1.yaml --trainer --points 60",
            0,
            &["First day"],
        );
        changes(&bench, alone, 3, &["CD has 1 and lacks `First day`"]);
        bench.write("day-1.yaml", SCENARIO);
        changes(
            &bench,
            "require --scenario day-1.yaml --rehearsals 1 --trainer --points 60",
            0,
            &["1 clean rehearsal with a fault in the way, the scenario `First day`"],
        );
        changes(&bench, alone, 0, &["CD is changed."]);
        bench.run(&["record", "verify"]).ended(0);
    }

    /// Who takes a rehearsal over types their PIN too, and then it is nobody's own.
    #[test]
    fn a_rehearsal_is_handed_over_with_a_pin_and_counts_for_nobody() {
        let bench = Bench::new();
        register(&bench);
        let mut at = begins(&bench, &["--seed", "7", "--drills", "1"]);
        at.goes(&[
            ("initials", "ab"),
            ("PIN of AB (not shown)", OWNER),
            ("machine", "north"),
            ("choose", "handover zz"),
        ]);
        at.sees("ZZ is not on the list of people");
        at.answers("choose", "handover cd");
        at.answers("PIN of CD (not shown)", LEARNER);
        at.sees("Handed over from AB to CD.");
        waits(&mut at, "choose");
        at.presses("\x03");
        at.ends(130);
        let book = Book::open_existing(scores::beside(&bench.book())).unwrap();
        let kept = scores::all(&book).unwrap().remove(0).rehearsed;
        assert_eq!(kept.operator, "CD");
        assert!(kept.handed_over);
    }

    #[test]
    fn a_whole_short_rehearsal_at_a_terminal() {
        let bench = Bench::new();
        let mut at = Sitting::at(&bench)
            .command("rehearse")
            .procedure(shipped("short.yaml"))
            .with("LC_ALL", "C.UTF-8")
            .args(&["--seed", "7", "--level", "easy", "--drills", "0"])
            .walks();
        at.goes(&[("initials", "qz"), ("machine", "north"), ("choose", "c12")]);
        // The words of the mill, a slip, and then what is asked.
        at.is_told(
            "confirm",
            "m ?",
            &["Move", "home, ", "go SW", "`? go`: what they do"],
            "confirm",
        );
        at.types("m ? home");
        at.is_shown(&["home: run on to the home switches"], "confirm");
        at.types("m ? hone");
        at.is_shown(&["`hone` is no word"], "confirm");
        at.types("m glases on");
        at.is_shown(
            &["`glases` is no word of the mill; did you mean `glasses`"],
            "confirm",
        );
        cleans_up(&mut at, "qz");
        at.sees("Debrief of a rehearsal");
        at.sees("Kept as practice");
        at.ends(0);
        let kept =
            scores::all(&Book::open_existing(scores::beside(&bench.book())).unwrap()).unwrap();
        let score = &kept[0].rehearsed.score;
        assert!(
            score.complete && score.cleaned == 1000,
            "{score:?}\n{}",
            at.screen
        );
        assert_eq!(
            (score.gouges, score.crashes, score.untrue),
            (0, 0, 0),
            "{score:?}\n{}",
            at.screen
        );
        assert!(!bench.book().exists(), "a real book was made");
    }

    fn built_in(name: &str) -> std::path::PathBuf {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
        root.join("checklists").join(name)
    }

    /// What was offered with a number may be answered by it, and is judged as the word.
    #[test]
    fn an_answer_by_its_number_is_judged_as_what_it_stands_for() {
        let bench = Bench::new();
        let mut at = Sitting::at(&bench)
            .command("rehearse")
            .procedure(built_in("base-plate.yaml"))
            .shop(built_in("shop.yaml"))
            .args(&["--drills", "0", "--plain"])
            .walks();
        at.goes(&[("initials", "qz"), ("machine", "1")]);
        at.is_told(
            "confirm",
            "m codes",
            &["Active: G0 G17 G90 G94 G21", "Z shift +0.000 mm"],
            "confirm",
        );
        at.types("m glasses on");
        at.is_shown(&["Your safety glasses are on."], "confirm");
        // One hold for one reason, commas and all.
        at.types("m hold gloves off, stoning is over");
        let told = waits(&mut at, "confirm");
        assert!(!told.contains("no word of the mill"), "{told}");
        at.presses("\x03");
        at.sees("1 answers were as the workshop was; 0 were not.");
        at.ends(130);
    }

    /// What is not so in the workshop is no right answer, in any procedure: what could be seen and what mends it stand in its
    /// `practice:` and come back in the debrief. A wrong word is held, and is no untruth.
    #[test]
    fn an_answer_that_is_not_so_is_explained_by_the_facts_of_the_step() {
        let bench = Bench::new();
        let mut at = Sitting::at(&bench)
            .command("rehearse")
            .procedure(shipped("iron.yaml"))
            .shop(built_in("shop.yaml"))
            .args(&["--drills", "0", "--plain"])
            .walks();
        at.goes(&[("initials", "qz"), ("machine", "1"), ("choose", "1")]);
        at.goes(&[("choose", "1"), ("confirm", "on"), ("confirm", "tight")]);
        waits(&mut at, "file");
        at.presses("\x03");
        at.sees("4 answers were as the workshop was; 1 were not.");
        let told = flowing(&plain(&at.sees("Score")));
        assert!(
            told.contains("At `goggles` you said `on`.")
                && told.contains("Known then: the safety glasses hang on their hook.")
                && told.contains("Right: `m glasses on` first."),
            "{told}"
        );
        at.ends(130);
    }

    #[test]
    fn ctrl_c_ends_a_rehearsal_and_keeps_what_it_was_worth() {
        let bench = Bench::new();
        let mut at = Sitting::at(&bench)
            .command("rehearse")
            .procedure(shipped("short.yaml"))
            .args(&["--drills", "0", "--plain"])
            .walks();
        at.goes(&[("initials", "qz"), ("machine", "north")]);
        waits(&mut at, "choose");
        at.presses("\x03");
        at.sees("The rehearsal ends here");
        at.ends(130);
        let book = Book::open_existing(scores::beside(&bench.book())).unwrap();
        assert!(book.open_runs().unwrap().is_empty());
        let kept = scores::all(&book).unwrap();
        assert!(!kept[0].rehearsed.score.complete);
    }
}
