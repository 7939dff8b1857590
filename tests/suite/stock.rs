//! `skimgate stock`: what walks write into a plate's account, and what a measurement sets right.

use crate::support::{Bench, whole};

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
    let shop = crate::support::shipped("shop.yaml");
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
