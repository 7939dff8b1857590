//! A plate or a person that is in another open run too: at the choice of the plate, where a run begins, changes hands and is
//! taken up, and from an answers file. Invented people.

use super::people::{LEARNER, OWNER, register};
use crate::operator::{Operator, Sitting};
use crate::support::{Bench, told, until};
use std::fs;

/// AB begins on the north mill with plate bed-a, and leaves; the run's id.
fn left_on_north(bench: &Bench) -> String {
    let mut at = Sitting::at(bench).walks();
    at.goes(&[("initials", "ab"), ("machine", "north"), ("choose", "c12")]);
    at.goes(&[("choose", "bed-a"), ("confirm", "leave")]);
    at.ends(130);
    run_on(bench, "north")
}

/// The open run on a machine.
fn run_on(bench: &Bench, machine: &str) -> String {
    let runs = bench.runs();
    let open = runs
        .iter()
        .find(|run| run["open"] == true && run["machine"] == machine)
        .unwrap();
    open["run"].as_str().unwrap().to_owned()
}

/// Begins on the south mill up to the choice of the plate, which is left standing.
fn begins_on_south(bench: &Bench, initials: &str) -> Operator {
    let mut at = Sitting::at(bench).walks();
    at.goes(&[("initials", "new run"), ("initials", initials)]);
    at.goes(&[("machine", "south"), ("choose", "c12")]);
    at
}

fn other(run: &str, machine: &str, plate: &str, person: &str) -> [String; 2] {
    [
        format!("run {run} on {machine} ({plate}, {person}), begun "),
        format!("To end it: `skimgate walk --run {run}`, then `end`."),
    ]
}

/// Checks that the reason is asked for beside that run, and tries what is none.
fn takes_no_nonsense(at: &mut Operator, who: &str, words: &[String; 2]) {
    let first = format!("{who} is in another open run:");
    at.is_shown(&[&first, &words[0], &words[1]], "reason");
    at.types("");
    at.is_shown(&["othing"], "reason");
    at.types("7");
    at.is_shown(&["a number is no reason"], "reason");
}

#[test]
fn a_plate_in_another_open_run_is_chosen_with_a_reason_on_record() {
    let bench = Bench::new();
    let north = left_on_north(&bench);
    let words = other(&north, "north", "bed-a", "AB");
    let mut at = begins_on_south(&bench, "cd");
    at.answers("choose", "bed-a");
    takes_no_nonsense(&mut at, "bed-a", &words);
    at.types("no");
    // Left at the prompt, nothing is chosen.
    at.goes(&[("choose", "bed-a"), ("reason", "leave")]);
    at.ends(130);
    let south = run_on(&bench, "south");
    let shown = bench.json(&["record", "show", &south, "--json"]);
    assert_eq!(shown["also_in_use"].as_array().unwrap().len(), 0);
    assert!(!shown["answers"].to_string().contains("bed-a"), "{shown}");

    let mut at = Sitting::at(&bench).args(&["--run", &south]).walks();
    at.goes(&[("initials", "cd"), ("choose", "bed-a")]);
    at.answers("reason", "the north mill waits for a part");
    at.is_shown(
        &["bed-a is in other open runs too; accepted by CD"],
        "confirm",
    );
    // Chosen once more, it was said.
    at.types("back plate");
    at.goes(&[("choose", "bed-a"), ("confirm", "leave")]);
    at.ends(130);

    let shown = bench.json(&["record", "show", &south, "--json"]);
    let also = &shown["also_in_use"][0];
    assert_eq!(also["what"]["plate"], "bed-a");
    assert_eq!(also["reason"], "the north mill waits for a part");
    assert_eq!(also["by"], "CD");
    let of = &also["others"][0];
    assert_eq!(
        [&of["run"], &of["machine"], &of["plate"], &of["operator"]],
        [&north[..], "north", "bed-a", "AB"]
    );
    assert_eq!(told(&shown, "also_in_use").len(), 1);
    let kept = format!("bed-a is also in open {}", words[0]);
    let reason = "accepted by CD: the north mill waits for a part";
    let record = bench.run(&["record", "show", &south]).ended(0);
    record.tells(&[&kept, reason]);
    let sheet = bench.path("sheet.html");
    let name = sheet.to_str().unwrap();
    bench
        .run(&["record", "export", &south, "--as", "html", "-o", name])
        .ended(0);
    let sheet = fs::read_to_string(&sheet).unwrap();
    assert!(sheet.contains(&kept) && sheet.contains(reason), "{sheet}");
    bench.run(&["record", "verify"]).ended(0);

    // The reason covers both runs: nothing is asked where the other is taken up.
    let mut at = Sitting::at(&bench).args(&["--run", &north]).walks();
    at.answers("initials", "ab");
    at.is_shown(&["Eye protection"], "confirm");
    at.types("end");
    at.answers("give up", "give up");
    at.ends(0);
    let mut at = Sitting::at(&bench).args(&["--run", &south]).walks();
    at.goes(&[("initials", "cd"), ("confirm", "end")]);
    at.answers("give up", "give up");
    at.ends(0);
    // With both over, nothing is asked.
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[("initials", "ab"), ("machine", "south"), ("choose", "c12")]);
    at.goes(&[("choose", "bed-a"), ("confirm", "leave")]);
    at.ends(130);
}

#[test]
fn a_person_with_another_open_run_begins_or_takes_one_with_a_reason_on_record() {
    let bench = Bench::new();
    let north = left_on_north(&bench);
    let words = other(&north, "north", "bed-a", "AB");
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[
        ("initials", "new run"),
        ("initials", "AB"),
        ("machine", "south"),
    ]);
    takes_no_nonsense(&mut at, "AB", &words);
    at.types("no");
    at.goes(&[("initials", "ab"), ("machine", "2"), ("reason", "leave")]);
    at.ends(130);
    // The run on the machine itself is in the way, and no reason is asked for it.
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[
        ("initials", "new run"),
        ("initials", "ab"),
        ("machine", "north"),
    ]);
    at.sees("is still open");
    at.ends(3);
    assert_eq!(bench.runs().len(), 1);

    let mut at = Sitting::at(&bench).walks();
    at.goes(&[
        ("initials", "new run"),
        ("initials", "ab"),
        ("machine", "south"),
    ]);
    at.goes(&[("reason", "north warms up meanwhile"), ("choose", "leave")]);
    at.ends(130);
    let south = run_on(&bench, "south");
    let shown = bench.json(&["record", "show", &south, "--json"]);
    assert_eq!(shown["also_in_use"][0]["what"]["person"], "AB");
    assert_eq!(shown["also_in_use"][0]["others"][0]["run"], north[..]);
    // Said once, it is not asked where either is taken up, nor of somebody with no other run.
    let mut at = Sitting::at(&bench).args(&["--run", &north]).walks();
    at.goes(&[("initials", "ab"), ("confirm", "leave")]);
    at.ends(130);
    let mut at = Sitting::at(&bench).args(&["--run", &south]).walks();
    at.goes(&[("initials", "cd"), ("choose", "handover ef")]);
    at.is_shown(&["Handed over from CD to EF"], "choose");
    at.types("handover");
    at.goes(&[("initials", "cd"), ("choose", "leave")]);
    at.ends(130);
    // CD has the south run now. Taking up the north one, CD says why; so does EF, to whom it is handed over then.
    let mut at = Sitting::at(&bench).args(&["--run", &north]).walks();
    at.answers("initials", "cd");
    takes_no_nonsense(&mut at, "CD", &other(&south, "south", "no plate yet", "CD"));
    at.types("AB is ill");
    at.is_shown(&["CD takes over from AB"], "confirm");
    at.types("handover ab");
    at.is_shown(&["Handed over from CD to AB"], "confirm");
    at.types("leave");
    at.ends(130);
    let mut at = Sitting::at(&bench).args(&["--run", &south]).walks();
    at.goes(&[("initials", "ef"), ("choose", "handover gh")]);
    at.is_shown(&["Handed over from EF to GH"], "choose");
    at.types("leave");
    at.ends(130);
    let mut at = Sitting::at(&bench).args(&["--run", &north]).walks();
    at.goes(&[("initials", "ab"), ("confirm", "handover gh")]);
    takes_no_nonsense(&mut at, "GH", &other(&south, "south", "no plate yet", "GH"));
    at.types("no");
    at.answers("confirm", "handover gh");
    at.answers("reason", "both mills stand side by side");
    at.is_shown(&["Handed over from AB to GH"], "confirm");
    at.types("leave");
    at.ends(130);
    let shown = bench.json(&["record", "show", &north, "--json"]);
    let also = shown["also_in_use"].as_array().unwrap();
    let who: Vec<_> = also
        .iter()
        .map(|a| [&a["what"]["person"], &a["by"]])
        .collect();
    assert_eq!(who, [["CD", "CD"], ["GH", "GH"]]);
    bench.run(&["record", "verify"]).ended(0);
}

/// Chosen at two terminals at the same moment, at least one is asked.
#[test]
fn of_two_that_choose_a_plate_at_once_one_is_asked() {
    for _ in 0..8 {
        let bench = Bench::new();
        let begins = |initials, machine| {
            let mut at = Sitting::at(&bench).walks();
            if machine == "south" {
                at.answers("run", "new");
            }
            at.goes(&[("initials", initials), ("machine", machine)]);
            at.answers("choose", "c12");
            at.sees("choose> ");
            at
        };
        let mut both = [begins("ab", "north"), begins("cd", "south")];
        for at in &mut both {
            at.presses("bed-a\r");
        }
        let asked = both.map(|mut at| {
            at.sees("\n");
            let shown = at.sees("> ");
            at.is_cut_off();
            shown
        });
        assert!(
            asked
                .iter()
                .any(|shown| shown.contains("is in another open run")),
            "{asked:?}"
        );
    }
}

/// Where people are registered, the owner who takes a run over from a living terminal.
#[test]
fn an_owner_with_another_open_run_takes_one_over_with_a_reason() {
    let bench = Bench::new();
    register(&bench);
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[("initials", "ab"), ("PIN of AB (not shown)", OWNER)]);
    at.goes(&[("machine", "north"), ("choose", "leave")]);
    at.ends(130);
    let north = run_on(&bench, "north");
    let mut living = Sitting::at(&bench).walks();
    living.goes(&[("initials", "new run"), ("initials", "cd")]);
    living.goes(&[("PIN of CD (not shown)", LEARNER), ("machine", "south")]);
    living.sees("choose> ");
    let south = run_on(&bench, "south");
    let mut at = Sitting::at(&bench)
        .args(&["--run", &south, "--take-over"])
        .walks();
    at.goes(&[("initials", "ab"), ("PIN of AB (not shown)", OWNER)]);
    let words = other(&north, "north", "no plate yet", "AB");
    takes_no_nonsense(&mut at, "AB", &words);
    at.types("CD was called away");
    at.is_shown(&["The run is taken over by AB"], "choose");
    at.types("leave");
    at.ends(130);
    let shown = bench.json(&["record", "show", &south, "--json"]);
    assert_eq!(shown["also_in_use"][0]["reason"], "CD was called away");
    bench.run(&["record", "verify"]).ended(0);
}

#[test]
fn an_answers_file_gives_its_reasons_too_or_ends_with_an_error() {
    let bench = Bench::new();
    let file = bench.answers("north.yaml", until("eyes", &[]));
    bench.walk(&file).ended(2);
    let north = run_on(&bench, "north");
    let words = other(&north, "north", "bed-a", "AB");
    let walk = |operator, plate| {
        let changed = [
            ("operator", operator),
            ("machine", "south"),
            ("plate", plate),
        ];
        bench.walk(&bench.answers("south.yaml", until("eyes", &changed)))
    };
    let key = "is no reason: write `{value: ..., accept: why}`";
    let shown = walk("ab", "bed-a").ended(2);
    shown.says(&[&words[0], &format!("the answer to `operator` {key}")]);
    assert_eq!(bench.runs().len(), 1, "nothing is begun");
    let person = "{value: ab, accept: two mills}";
    let shown = walk(person, "bed-a").ended(2);
    shown.says(&[&words[0], &format!("the answer to `plate` {key}")]);
    let south = run_on(&bench, "south");
    let shown = bench.json(&["record", "show", &south, "--json"]);
    assert_eq!(told(&shown, "also_in_use").len(), 1, "{shown}");
    // The same file, mended, goes on with the run that it left.
    walk(person, "{value: bed-a, accept: for a trial}")
        .ended(2)
        .says(&["has no answer left for the step `eyes`"]);
    let shown = bench.json(&["record", "show", &south, "--json"]);
    let also = shown["also_in_use"].as_array().unwrap();
    let reasons: Vec<_> = also.iter().map(|a| &a["reason"]).collect();
    assert_eq!(reasons, ["two mills", "for a trial"]);
    bench.run(&["record", "verify"]).ended(0);
}

/// A rehearsal holds no plate and no person, and asks about none.
#[test]
fn a_rehearsal_and_a_real_run_know_nothing_of_each_other() {
    let bench = Bench::new();
    left_on_north(&bench);
    let rehearses = || Sitting::at(&bench).command("rehearse").walks();
    let mut at = rehearses();
    at.goes(&[("initials", "ab"), ("machine", "south"), ("choose", "c12")]);
    at.goes(&[("choose", "bed-a")]);
    at.is_shown(&["Eye protection"], "confirm");
    at.is_cut_off();
    let north = run_on(&bench, "north");
    let mut at = Sitting::at(&bench).args(&["--run", &north]).walks();
    at.goes(&[("initials", "ab"), ("confirm", "leave")]);
    at.ends(130);
}
