//! Mistakes in NC programs: each planted one is found by `skimgate program`, and each finding has a row.

use super::{all_played, checklist, judged, rows};
use crate::support::{Bench, flowing};
use skimgate::program::rules::table;
use std::collections::BTreeSet;
use std::fs;

#[path = "../../../src/program/planted_list.rs"]
mod planted_list;

use planted_list::{PLANTED, Points, others};

/// What the set-up was when the cutter was touched off.
const SET_UP: &[&str] = &[
    "--plate",
    "plate-1",
    "--cutter",
    "em-12",
    "--machine",
    "mill-a",
    "--corner",
    "30,30",
    "--control",
    "mm",
    "--offset",
    "G54",
    "--tool",
    "1",
    "--lowest-z",
    "0",
    "--stock-top",
    "0.2",
    "--zero",
    "60,40,-120",
];

/// The shipped shop file, its first machine without a dialect, with the home and the travel that the mistakes are planted for.
fn shop(points: Points, length_offsets: bool) -> String {
    let text = fs::read_to_string(checklist("shop.yaml")).unwrap();
    let (first, others) = text.split_once("  mill-b:").unwrap();
    let (first, _) = first.split_once("    dialect:").unwrap();
    let mut first = first
        .replace("lowest z: -320 mm", "lowest z: -200 mm")
        .replace("    home: clear of the table\n", "");
    if !length_offsets {
        first = first.replace("length offsets: used", "length offsets: not used");
    }
    if points == Points::Required {
        first.push_str("    dialect:\n      lengths without point: forbidden\n");
    }
    format!("{first}  mill-b:{others}")
}

/// The codes of all findings in a program.
fn found(bench: &Bench, text: &str, points: Points, length_offsets: bool) -> BTreeSet<String> {
    let program = bench.write("program.nc", text).display().to_string();
    let shop = bench.write("shop.yaml", &shop(points, length_offsets));
    let shop = shop.display().to_string();
    let mut args = vec!["program", &program, "--json", "--shop", &shop];
    args.extend(SET_UP);
    if length_offsets {
        args.extend(["--length-offset", "1"]);
    }
    let ran = bench.run(&args);
    assert!(ran.err.is_empty(), "{}", flowing(&ran.err));
    let answer = ran.json();
    answer["counts"]
        .as_object()
        .unwrap()
        .keys()
        .cloned()
        .collect()
}

#[test]
fn every_planted_mistake_is_found_and_every_finding_is_in_the_table() {
    let bench = Bench::new();
    let good = fs::read_to_string(checklist("answers/facing-12mm.nc")).unwrap();
    let as_written = Points::AsWritten;
    let without = found(&bench, &good, as_written, true);
    assert!(without.is_empty(), "without a mistake: {without:?}");

    let mut wrong = Vec::new();
    let mut all = found(&bench, &good, as_written, false);
    let single = others(&good);
    let single = single
        .iter()
        .map(|(text, points, code)| (text.clone(), *points, vec![*code]));
    let planted = PLANTED
        .iter()
        .map(|(from, to, codes)| (good.replacen(from, to, 1), as_written, codes.to_vec()));
    for (text, points, codes) in planted.chain(single) {
        let codes_found = found(&bench, &text, points, true);
        let missing: Vec<&str> = codes
            .iter()
            .filter(|c| !codes_found.contains(**c))
            .copied()
            .collect();
        if !missing.is_empty() {
            wrong.push(format!(
                "{missing:?} is not among {codes_found:?} in {text:.60}"
            ));
        }
        all.extend(codes_found);
    }

    for rule in table::all() {
        let played = if all.contains(rule.code) {
            Ok(())
        } else {
            Err("no planted mistake is found by it".to_owned())
        };
        judged(&mut wrong, rule.title, rule.code, played);
    }
    let before: Vec<String> = rows("programs.yaml");
    let lost: Vec<&String> = before.iter().filter(|c| table::rule(c).is_none()).collect();
    assert!(
        lost.is_empty(),
        "found by the first edition, and gone: {lost:?}"
    );
    all_played(&wrong);
}
