//! One book by several names: claims, keys and the practice book follow the file, whichever name it is opened by.

use super::people::{LEARNER, register, released};
use crate::operator::{Operator, Sitting};
use crate::support::{Bench, Ran, ran, shipped};
use std::fs::{create_dir, hard_link, read_dir, remove_file};
use std::os::unix::fs::symlink;
use std::path::Path;

fn by(bench: &Bench, book: &Path, args: &[&str]) -> Ran {
    let mut command = bench.command();
    command.args(args).arg("--book").arg(book);
    ran(command)
}

fn walks_by(bench: &Bench, book: &Path) -> Operator {
    let sitting = Sitting::at(bench);
    let words = sitting.words().replace(
        &bench.book().display().to_string(),
        &book.display().to_string(),
    );
    sitting.does(&format!("exec {words}"))
}

#[test]
fn no_other_name_of_the_book_gets_a_live_run_and_all_names_agree() {
    let bench = Bench::new();
    register(&bench);
    let mut at = released(&bench);
    create_dir(bench.path("far")).unwrap();
    let links = [bench.path("link"), bench.path("far").join("link")];
    symlink("book.sqlite3", &links[0]).unwrap();
    symlink(bench.book(), &links[1]).unwrap();
    let names = [bench.book(), links[0].clone(), links[1].clone()];
    for name in &names {
        by(&bench, name, &["gate"])
            .ended(0)
            .tells(&["RELEASED to CD on north"]);
        let mut other = walks_by(&bench, name);
        other.answers("run", "1");
        other.ends(3);
        other.has_seen(&["is in use at another terminal"]);
    }
    at.is_sent(rexpect::process::Signal::SIGKILL);
    at.is_cut_off();
    for name in &names {
        by(&bench, name, &["gate"])
            .ended(3)
            .tells(&["no terminal has the run open"]);
    }
    // The keys are found by that name too.
    let mut other = walks_by(&bench, &links[1]);
    other.goes(&[
        ("initials", "cd"),
        ("PIN of CD (not shown)", LEARNER),
        ("machine since", "3"),
    ]);
    other.sees("initials> ");
    by(&bench, &names[0], &["gate"]).ended(3);
    let mut third = walks_by(&bench, &names[0]);
    third.answers("run", "1");
    third.ends(3);
    third.has_seen(&["is in use at another terminal"]);
    other.types("leave");
    other.ends(130);
    // Practice is in the one book beside the one file.
    by(&bench, &links[1], &["rehearse", "--demo", "--at-once"]).ended(0);
    assert!(bench.path("book.practice.sqlite3").exists());
    assert_eq!(read_dir(bench.path("far")).unwrap().count(), 1);
    by(&bench, &names[0], &["record", "verify"]).ended(0);
}

#[test]
fn a_second_hard_link_is_refused_by_every_command_until_it_is_gone() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.sees("started> ");
    bench.run(&["gate"]).ended(0);
    let other = bench.path("other.sqlite3");
    hard_link(bench.book(), &other).unwrap();
    let part = "has 2 names (hard links), so two terminals could hold one machine";
    for name in [&bench.book(), &other] {
        for args in [
            &["gate"][..],
            &["record", "list"],
            &["record", "verify"],
            &["stock", "list"],
            &["people", "list"],
            &[],
        ] {
            let shown = by(&bench, name, args);
            assert!(!shown.out.contains("RELEASED"), "{shown:#?}");
            shown.ended(2).says(&[part, "remove all but one"]);
        }
        let answers = bench.answers("answers.yaml", [("operator", "cd")]);
        let mut command = bench.command();
        command
            .arg("walk")
            .arg(shipped("small.yaml"))
            .arg("--shop")
            .arg(shipped("shop.yaml"))
            .arg("--answers")
            .arg(answers)
            .arg("--book")
            .arg(name);
        ran(command).ended(2).says(&[part]);
    }
    remove_file(&other).unwrap();
    bench.run(&["gate"]).ended(0);
    at.types("leave");
    at.ends(130);
}
