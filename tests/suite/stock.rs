//! `skimgate stock`: what walks write into a plate's account, and what a measurement sets right.

#[cfg(unix)]
use crate::operator::Sitting;
use crate::support::{Bench, shipped, whole};
use skimgate::book::Book;
use skimgate::quantity::Length;
use skimgate::stock::{StockEntry, ledger_of};
use skimgate::walk::store::accounts::{draft, stored_account};

fn show(bench: &Bench) -> serde_json::Value {
    bench.json(&["stock", "show", "bed-a", "--json"])
}

#[test]
fn cuts_from_an_answers_file_stand_in_the_account_and_do_not_count() {
    let bench = Bench::new();
    bench
        .run(&["stock", "list"])
        .ended(0)
        .tells(&["No plate has an account"]);
    bench.walk(&bench.answers("whole", whole(&[]))).ended(0);
    let account = show(&bench);
    assert_eq!(account["thickness_mm"], 20.0);
    let lines = account["lines"].as_array().unwrap();
    assert!(lines.len() > 1);
    assert!(
        lines
            .iter()
            .skip(1)
            .all(|l| l["kind"] == "stock_cut" && l["counts"] == false)
    );
    bench
        .run(&["stock", "show", "bed-a"])
        .ended(0)
        .tells(&["Not counted: answers from a file"]);
    bench.run(&["record", "verify"]).ended(0).tells(&["Whole"]);
}

#[test]
fn a_measurement_opens_and_corrects_an_account_with_name_and_reason() {
    let bench = Bench::new();
    let shop = shipped("shop.yaml");
    let measure = |thickness: &str, more: &[&str]| {
        let args = [
            "stock",
            "measure",
            "bed-a",
            thickness,
            "--by",
            "ab",
            "--reason",
            "micrometer, four places",
            "--shop",
        ];
        let shop = shop.display().to_string();
        bench.run(&[&args[..], &[shop.as_str()], more].concat())
    };
    measure("19.5", &[]).ended(2).says(&["no unit"]);
    measure("0mm", &[]).ended(2).says(&["thicker than 0"]);
    measure("19.5mm", &[])
        .ended(0)
        .tells(&["19.5 mm", "micrometer, four places"]);
    measure("0.76in", &["--json"]).ended(0);
    let account = show(&bench);
    assert_eq!(account["thickness_mm"], 19.304);
    // Steel follows what is gone: 6 mm less 0.696.
    assert_eq!(account["over_steel_mm"], 5.304);
    assert_eq!(account["lines"].as_array().unwrap().len(), 3);
    measure("15mm", &[]).ended(0).tells(&["Retire it"]);
    bench
        .run(&["stock", "list"])
        .ended(0)
        .tells(&["bed-a", "retire it"]);
    bench.run(&["record", "verify"]).ended(0);
    bench
        .run(&["stock", "show", "bed-z"])
        .ended(2)
        .says(&["no account of a plate `bed-z`"]);
    bench
        .run(&["--plain", "stock", "show", "bed-a"])
        .ended(0)
        .tells(&["15 mm"]);
}

/// Common practice, no source: a plate that measures thicker than before was measured wrong, once or the other time.
#[test]
fn a_plate_that_would_have_grown_is_not_taken_without_saying_so() {
    let bench = Bench::new();
    let shop = shipped("shop.yaml").display().to_string();
    let measure = |thickness: &str, more: &[&str]| {
        let args = [
            "stock", "measure", "bed-a", thickness, "--by", "ab", "--reason", "gauge", "--shop",
        ];
        bench.run(&[&args[..], &[shop.as_str()], more].concat())
    };
    // The shop file says 20 mm; there is no account yet.
    measure("24mm", &[])
        .ended(3)
        .says(&["24 mm", "is thicker than the 20 mm", "--thicker"]);
    bench
        .run(&["stock", "show", "bed-a"])
        .ended(2)
        .says(&["no account"]);
    measure("19.5mm", &[]).ended(0);
    measure("19.5mm", &[]).ended(0);
    measure("19.501mm", &[]).ended(3).says(&["19.5 mm"]);
    measure("19.6mm", &["--thicker"]).ended(0);
    assert_eq!(show(&bench)["thickness_mm"], 19.6);
}

#[cfg(unix)]
#[test]
fn where_people_are_registered_the_measurer_types_their_pin() {
    use crate::terminal::people::{LEARNER, OWNER, people, register};
    let bench = Bench::new();
    register(&bench);
    let shop = shipped("shop.yaml").display().to_string();
    let sitting = Sitting::at(&bench);
    let words = |thickness: &str, by: &str| {
        sitting.other_command(&format!(
            "stock measure bed-a {thickness} --by {by} --reason gauge --shop {shop}"
        ))
    };
    let run = |words: &str| Sitting::at(&bench).does(&format!("exec {words}"));
    let mut at = run(&words("19.5mm", "xy"));
    at.ends(2);
    at.has_seen(&["the list of people has no active person `XY`"]);
    let mut at = run(&words("19.5mm", "cd"));
    at.ends(3);
    at.has_seen(&["CD may run nothing alone, and a learner does not correct a plate's account"]);
    bench.run(&["stock", "show", "bed-a"]).ended(2);
    let mut at = people(&bench, "change cd --machines all");
    at.answers("PIN of AB (not shown)", OWNER);
    at.ends(0);
    // Nobody sets a plate thicker on an operator's word.
    let mut at = run(&format!("{} --thicker", words("24mm", "cd")));
    at.ends(3);
    at.has_seen(&["CD is neither trainer nor owner"]);
    let mut at = run(&words("19.5mm", "cd"));
    at.answers("PIN of CD (not shown)", OWNER);
    at.answers("PIN of CD (not shown)", "");
    at.ends(3);
    bench.run(&["stock", "show", "bed-a"]).ended(2);
    let mut at = run(&words("19.5mm", "cd"));
    at.answers("PIN of CD (not shown)", LEARNER);
    at.ends(0);
    let mut at = run(&format!("{} --thicker", words("19.6mm", "ab")));
    at.answers("PIN of AB (not shown)", OWNER);
    at.ends(0);
    assert_eq!(show(&bench)["thickness_mm"], 19.6);
    bench.run(&["record", "verify"]).ended(0);
}

/// The account with a line that no run cut, its digests all in order.
#[test]
fn an_account_that_tells_other_than_the_cuts_is_found() {
    let bench = Bench::new();
    bench.walk(&bench.answers("whole", whole(&[]))).ended(0);
    bench.run(&["record", "verify"]).ended(0);
    let mut book = Book::open(bench.book()).unwrap();
    let account = stored_account(&book, "bed-a").unwrap();
    let (at, StockEntry::Cut(mut cut)) = account.entries.last().unwrap().clone() else {
        panic!("{account:?}");
    };
    cut.most = Length::from_counts(cut.most.counts() + 1).unwrap();
    let forged = draft(&StockEntry::Cut(cut), at).unwrap();
    book.append_to_ledger(&ledger_of("bed-a"), account.n, &[forged])
        .unwrap();
    drop(book);
    let ran = bench.run(&["record", "verify"]).ended(4);
    let told = crate::support::flowing(&format!("{} {}", ran.out, ran.err));
    assert!(told.contains("the accounts of plates hold"), "{told}");
}

/// The small procedure with a question for the plate's thickness before the touch-off.
#[cfg(unix)]
fn measures_the_plate(bench: &Bench) -> std::path::PathBuf {
    let text = std::fs::read_to_string(shipped("small.yaml")).unwrap();
    let touch = "      - touch: corners\n";
    assert!(text.contains(touch));
    let step = "      - read: thick\n        title: Thickness\n        why: A sum drifts.\n        quantity: length\n        measures: plate thickness\n";
    bench.write(
        "measured.yaml",
        &text.replace(touch, &format!("{step}{touch}")),
    )
}

/// A learner's figure counts in their run where it is the smaller one, and leaves the account as it is.
#[cfg(unix)]
#[test]
fn a_thickness_that_a_learner_measures_in_a_walk_leaves_the_account() {
    use crate::terminal::people::{LEARNER, OWNER, register};
    let bench = Bench::new();
    register(&bench);
    let shop = shipped("shop.yaml").display().to_string();
    let sitting = Sitting::at(&bench);
    let measure = "stock measure bed-a 19.5mm --by ab --reason gauge --shop";
    let measure = sitting.other_command(&format!("{measure} {shop}"));
    let mut at = sitting.does(&format!("exec {measure}"));
    at.answers("PIN of AB (not shown)", OWNER);
    at.ends(0);
    let procedure = measures_the_plate(&bench);
    for (who, pin, corrects) in [("CD", LEARNER, false), ("AB", OWNER, true)] {
        let mut at = Sitting::at(&bench).procedure(procedure.clone()).walks();
        at.goes(&[
            ("initials", who),
            (&format!("PIN of {who} (not shown)"), pin),
            ("machine", "north"),
        ]);
        at.prepares();
        let before = show(&bench)["lines"].clone();
        at.answers("value in mm", "19.4");
        let differs = "The account of bed-a says 19.5 mm";
        if corrects {
            at.is_shown(&[differs], "account");
            at.types("correct");
            at.sees("P1 in mm> ");
            assert_eq!(show(&bench)["thickness_mm"], 19.4);
        } else {
            let stays = "CD may not run this alone, so the account stays; somebody who may corrects it: `skimgate stock measure bed-a THICKNESS`";
            at.is_shown(&[differs, stays], "P1 in mm");
            assert!(!at.screen.contains("account> "), "{}", at.screen);
            assert_eq!(show(&bench)["lines"], before);
        }
        at.types("end");
        at.answers("give up", "give up");
        at.ends(0);
    }
    bench.run(&["record", "verify"]).ended(0);
}

#[cfg(unix)]
#[test]
fn a_thickness_measured_in_a_walk_corrects_the_account_and_it_is_read_again_on_resuming() {
    let bench = Bench::new();
    let shop = shipped("shop.yaml").display().to_string();
    let measure = |thickness: &str, reason: &str| {
        let args = [
            "stock", "measure", "bed-a", thickness, "--by", "cd", "--reason", reason, "--shop",
        ];
        bench.run(&[&args[..], &[shop.as_str()]].concat()).ended(0);
    };
    measure("19.5mm", "gauge");
    let procedure = measures_the_plate(&bench);
    let walk = || Sitting::at(&bench).procedure(procedure.clone()).walks();

    let mut at = walk();
    at.sets_up();
    at.answers("value in mm", "19.4");
    at.is_shown(
        &["The account of bed-a says 19.5 mm", "measured is 19.4 mm"],
        "account",
    );
    at.types("maybe");
    at.is_shown(&["type `correct` or `no`"], "account");
    at.types("correct");
    at.is_shown(&["The account is corrected."], "P1 in mm");
    at.types("leave");
    at.ends(130);
    let account = show(&bench);
    assert_eq!(account["thickness_mm"], 19.4);
    let line = account["lines"]
        .as_array()
        .unwrap()
        .last()
        .unwrap()
        .to_string();
    assert!(line.contains("measured at thick"), "{line}");

    // What this run wrote itself is no news; what somebody else wrote is.
    let mut at = walk();
    at.answers("initials", "ab");
    let shown = at.sees("P1 in mm> ");
    assert!(!shown.contains("went on while"), "{shown}");
    at.types("leave");
    at.ends(130);
    // Also under a reason that reads as if the run had written it.
    measure(
        "19.2mm",
        &format!("run {}, measured at thick", bench.only_run()),
    );
    let account = show(&bench);
    let lines = account["lines"].as_array().unwrap();
    let runs: Vec<_> = lines
        .iter()
        .rev()
        .take(2)
        .map(|l| l["run"].as_str())
        .collect();
    assert_eq!(runs, [None, Some(bench.only_run().as_str())]);
    let mut at = walk();
    at.answers("initials", "ab");
    at.is_shown(
        &["The account of bed-a went on while this run was left: 19.2 mm"],
        "P1 in mm",
    );
    at.types("leave");
    at.ends(130);
    bench.run(&["record", "verify"]).ended(0);
}
