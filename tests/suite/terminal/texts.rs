//! Files that changed while a run was left.

use crate::operator::Sitting;
use crate::support::{Bench, shipped};

#[test]
fn a_cutter_put_into_the_shop_file_meanwhile_is_for_later_runs_and_that_is_said() {
    let bench = Bench::new();
    let text = std::fs::read_to_string(shipped("shop.yaml")).unwrap();
    let shop = bench.write("shop.yaml", &text);
    let sitting = || Sitting::at(&bench).shop(shop.clone());
    let mut at = sitting().walks();
    at.goes(&[
        ("initials", "ab"),
        ("machine", "north"),
        ("choose", "leave"),
    ]);
    at.ends(130);

    // The same file tells nothing; a changed one is told of before the question.
    let mut at = sitting().walks();
    at.goes(&[("initials", "ab"), ("choose", "leave")]);
    at.ends(130);
    assert!(!at.screen.contains("reads otherwise"), "{}", at.screen);
    let (head, tail) = text.split_once("  c12:\n").unwrap();
    let (c12, _) = tail.split_once("  c16:\n").unwrap();
    let more = format!("{head}  c20:\n{c12}  c12:\n{tail}");
    bench.write("shop.yaml", &more);
    let mut at = sitting().walks();
    at.goes(&[("initials", "ab")]);
    at.is_shown(
        &[
            "The shop file reads otherwise than when this run began",
            "`end` this run and begin another",
        ],
        "choose",
    );
    at.types("c20");
    at.is_shown(
        &[
            "`c20` is none of the answers",
            "a cutter put in since is for runs that begin after it",
        ],
        "choose",
    );
    at.types("end");
    at.answers("give up", "give up");
    at.ends(0);
    let mut at = sitting().walks();
    at.goes(&[("initials", "ab"), ("machine", "north"), ("choose", "c20")]);
    at.is_shown(&["cutter c20"], "choose");
}
