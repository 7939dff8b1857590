//! Hold points for a role: signed by nobody else. Invented people.

use super::people::{LEARNER, OWNER, register};
use crate::operator::{Sitting, plain};
use crate::support::{Bench, flowing, shipped};
use std::path::PathBuf;

fn for_role(bench: &Bench, role: &str) -> PathBuf {
    let text = std::fs::read_to_string(shipped("small.yaml")).unwrap();
    let with = text.replacen("role: operator", &format!("role: {role}"), 1);
    assert_ne!(with, text);
    bench.write("role.yaml", &with)
}

#[test]
fn a_hold_point_for_a_trainer_is_signed_by_no_operator_and_by_an_owner() {
    let bench = Bench::new();
    register(&bench);
    let procedure = for_role(&bench, "trainer");
    let mut at = Sitting::at(&bench).procedure(procedure).walks();
    at.goes(&[
        ("initials", "cd"),
        ("PIN of CD (not shown)", LEARNER),
        ("machine", "north"),
    ]);
    at.prepares();
    at.touches();
    at.plans();
    // Said before a code or a PIN is asked for.
    at.answers("initials", "cd");
    let shown = flowing(&plain(&at.sees("initials> ")));
    assert!(
        shown.contains(
            "CD cannot sign here: this hold point must be signed by a trainer or an owner; type `handover`"
        ),
        "{shown}"
    );
    bench.run(&["gate"]).ended(3);
    at.types("handover ab");
    at.answers("PIN of AB (not shown)", OWNER);
    at.answers("confirm", "worn");
    at.answers("initials", "ab");
    let code = at.reads_code();
    at.types(&code);
    at.answers("PIN of AB (not shown)", OWNER);
    at.is_shown(&["Signed by AB.", "RELEASED to AB, once"], "started");
    bench.run(&["gate"]).ended(0);
    at.types("leave");
    at.ends(130);
    bench.run(&["record", "verify"]).ended(0);
    let run = bench.only_run();
    bench
        .run(&["record", "show", &run, "--all"])
        .ended(0)
        .tells(&["signed by AB as owner, with their key"]);
}

#[test]
fn a_hold_point_for_a_trainer_needs_a_list_of_people() {
    let bench = Bench::new();
    let procedure = for_role(&bench, "trainer");
    let mut at = Sitting::at(&bench).procedure(procedure).walks();
    at.reaches_the_hold_point();
    at.answers("initials", "ab");
    at.is_shown(
        &["this hold point must be signed by a trainer or an owner, and nobody is registered"],
        "initials",
    );
    bench.run(&["gate"]).ended(3);
}

/// A procedure that older versions took, with a role that nobody can have, is refused now; runs on record still load.
#[test]
fn a_role_that_nobody_can_have_is_refused_and_older_records_of_it_still_load() {
    let bench = Bench::new();
    let procedure = for_role(&bench, "machinist");
    let mut command = bench.command();
    command.arg("check").arg(&procedure);
    let told = crate::support::ran(command).ended(2);
    let whole = flowing(&format!("{}{}", told.out, told.err));
    assert!(
        whole.contains("`machinist` is not a role") && whole.contains("`operator`, `trainer`"),
        "{whole}"
    );
    let text = std::fs::read_to_string(procedure).unwrap();
    let mut findings = skimgate::diagnostics::Findings::of_record();
    assert!(skimgate::procedure::read::read(&text, &mut findings).is_some());
    let mut findings = skimgate::diagnostics::Findings::default();
    assert!(skimgate::procedure::read::read(&text, &mut findings).is_none());
}
