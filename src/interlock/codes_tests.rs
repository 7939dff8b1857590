//! Tests: active codes read, completed, and compared with the program, the procedure and an earlier reading. The codes
//! of each group are those of NISTIR 6556, table 4; the lines are invented.

use super::answer::Answer;
use super::codes_refusal::{Against, CodesRefusal, Concern};
use super::command::{Command, GivenAnswer};
use super::event::Event;
use super::examined::{Examined, Judged};
use super::instance::Instance;
use super::refusal::Refusal;
use super::stopping::{CutEnd, MachineContinuity};
use super::testing::{TestRun, at, ended, pass};
use crate::procedure::formula::Value;
use crate::program::active::ActiveGroup;
use crate::quantity::Quantity;

const CODES: &str = include_str!("../../tests/procedures/codes.yaml");

/// A line that leaves nothing open.
const WHOLE: &str = "G54 G21 G90 G94 G17 G43 H1 G40 G50 G69 G80 F600 S3000 T3";

fn examined() -> Examined {
    Examined {
        verdict: Judged::Agrees,
        found: Vec::new(),
        units: vec!["metric".into()],
        work_offsets: vec!["G54".into()],
        length_offsets: vec![1],
        speeds: Vec::new(),
        feeds: Vec::new(),
        lowest_z: None,
        facts: Vec::new(),
        seconds: None,
    }
}

/// A run on a machine with (`south`) or without (`north`) length offsets, with its program given.
fn run_on(machine: &str, procedure: &str, examined: Option<Examined>) -> TestRun {
    let mut rig = TestRun::of(procedure);
    rig.state.begun.machine = machine.to_owned();
    let said = GivenAnswer::File {
        path: "a.nc".into(),
        fingerprint: rig.program.unwrap(),
        bytes: 9,
        examined: examined.map(Box::new),
    };
    rig.say(at("nc"), said).unwrap();
    rig
}

fn run() -> TestRun {
    run_on("south", CODES, Some(examined()))
}

fn codes(rig: &mut TestRun, of: Instance, line: &str) -> Result<Vec<Event>, Refusal> {
    rig.say(of, GivenAnswer::Codes(line.to_owned()))
}

fn with_reason(rig: &mut TestRun, line: &str, reason: &str) -> Result<Vec<Event>, Refusal> {
    rig.try_do(Command::Answer {
        at: at("control"),
        said: GivenAnswer::Codes(line.to_owned()),
        accept: Some(reason.to_owned()),
    })
}

fn refusal(result: Result<Vec<Event>, Refusal>) -> CodesRefusal {
    match result {
        Err(Refusal::Codes(refusal)) => *refusal,
        other => panic!("{other:?}"),
    }
}

/// The groups that differ, and against what.
fn differs(result: Result<Vec<Event>, Refusal>) -> Vec<(ActiveGroup, String)> {
    match refusal(result) {
        CodesRefusal::Differs(all) => all
            .into_iter()
            .map(|d| {
                let against = match d.against {
                    Against::Program => "program".to_owned(),
                    Against::Earlier(title) => title,
                    Against::Procedure(because) => because.unwrap_or_default(),
                };
                (d.group, against)
            })
            .collect(),
        other => panic!("{other:?}"),
    }
}

fn open(rig: &TestRun, step: &str) -> Vec<&'static str> {
    let of = at(step);
    let asked = rig.state.step(&of).unwrap().kind.codes().unwrap();
    let so_far = rig.state.codes_so_far(&of).unwrap();
    let open = rig.state.groups_to_ask(asked, so_far);
    open.into_iter().map(ActiveGroup::word).collect()
}

fn value(rig: &TestRun, step: &str, group: ActiveGroup) -> Option<Value> {
    let read = rig.state.answer(&at(step))?.codes()?;
    rig.state.value_of_group(read, group)
}

fn word(text: &str) -> Value {
    Value::Word(text.to_owned())
}

/// The line and its values are stored as typed and as read; formulas and conditions use them.
#[test]
fn a_whole_line_answers_the_step_and_later_ones_use_it() {
    let mut rig = run();
    codes(&mut rig, at("control"), WHOLE).unwrap();
    let read = rig
        .state
        .answer(&at("control"))
        .and_then(Answer::codes)
        .unwrap();
    assert_eq!(read.typed, [WHOLE]);
    assert_eq!(read.of(ActiveGroup::WorkOffset), Some("G54"));
    assert_eq!(value(&rig, "control", ActiveGroup::Unit), Some(word("mm")));
    assert_eq!(
        value(&rig, "control", ActiveGroup::H),
        Some(Value::Quantity(Quantity::whole(1)))
    );
    let feed = value(&rig, "control", ActiveGroup::Feed).unwrap();
    assert_eq!(feed.filled(&rig.state.show()), "600 mm/min");
    let asked = |rig: &TestRun, step: &str| rig.state.asked().iter().any(|p| p.step.id == step);
    assert!(asked(&rig, "remarks") && !asked(&rig, "inches"));
    // An inch control, with an inch program.
    let inch = Examined {
        units: vec!["inch".into()],
        ..examined()
    };
    let mut rig = run_on("south", CODES, Some(inch));
    codes(&mut rig, at("control"), &WHOLE.replace("G21", "G70")).unwrap();
    assert!(asked(&rig, "inches"));
    let feed = value(&rig, "control", ActiveGroup::Feed).unwrap();
    assert_eq!(feed.filled(&rig.state.show().clone()), "15240 mm/min");
}

/// What the line leaves open is asked for alone, in the order of `must show`; each part is stored as it is typed.
#[test]
fn groups_that_are_missing_are_asked_for_alone_and_nothing_is_lost() {
    let mut rig = run();
    let events = codes(&mut rig, at("control"), "G54 G90 G94 G17 G40").unwrap();
    assert!(
        matches!(events.as_slice(), [Event::CodesTyped { .. }]),
        "{events:?}"
    );
    assert_eq!(
        open(&rig, "control"),
        ["unit", "length offset", "scaling", "rotation"]
    );
    codes(&mut rig, at("control"), "g71").unwrap();
    codes(&mut rig, at("control"), "G43").unwrap();
    assert_eq!(open(&rig, "control"), ["h", "scaling", "rotation"]);
    codes(&mut rig, at("control"), "1").unwrap();
    codes(&mut rig, at("control"), "none").unwrap();
    assert!(rig.state.answer(&at("control")).is_none());
    // A slip in one part leaves the others as they are.
    refusal(codes(&mut rig, at("control"), "G6O"));
    assert_eq!(open(&rig, "control"), ["rotation"]);
    codes(&mut rig, at("control"), "G69").unwrap();
    let read = rig
        .state
        .answer(&at("control"))
        .and_then(Answer::codes)
        .unwrap();
    assert_eq!(
        read.typed,
        ["G54 G90 G94 G17 G40", "g71", "G43", "1", "none", "G69"]
    );
    let values: Vec<_> = ["unit", "length offset", "h", "scaling", "rotation"]
        .map(|w| read.of(ActiveGroup::find(w).unwrap()).unwrap())
        .into();
    assert_eq!(values, ["mm", "G43", "1", "G50", "G69"]);
    assert!(rig.state.codes_so_far(&at("control")).is_none());
}

/// A whole line that is typed again stands for itself: nothing of the first is mixed into it.
#[test]
fn a_line_typed_again_replaces_the_first_and_one_code_corrects_it() {
    let mut rig = run();
    codes(
        &mut rig,
        at("control"),
        "G54 G21 G90 G94 G17 G43 H1 G40 G69",
    )
    .unwrap();
    codes(
        &mut rig,
        at("control"),
        "G54 G21 G90 G94 G17 G43 H1 G40 G50",
    )
    .unwrap();
    assert_eq!(open(&rig, "control"), ["rotation"]);
    codes(&mut rig, at("control"), "G69").unwrap();
    let mut rig = run();
    codes(
        &mut rig,
        at("control"),
        "G54 G21 G90 G94 G17 G43 H1 G40 G50 G61",
    )
    .unwrap();
    codes(&mut rig, at("control"), "G64").unwrap();
    assert_eq!(open(&rig, "control"), ["rotation"]);
    codes(&mut rig, at("control"), "G69").unwrap();
}

/// A machine without length offsets is asked for none; its formulas have none.
#[test]
fn nothing_asks_for_h_on_a_machine_without_length_offsets() {
    let without = Examined {
        length_offsets: vec![0],
        ..examined()
    };
    let mut rig = run_on("north", CODES, Some(without));
    codes(&mut rig, at("control"), "G54 G21 G90 G94 G17 G40 G50 G69").unwrap();
    assert_eq!(
        value(&rig, "control", ActiveGroup::H),
        Some(Value::Quantity(Quantity::whole(0)))
    );
    assert_eq!(
        value(&rig, "control", ActiveGroup::LengthOffset),
        Some(word("G49"))
    );
    assert!(!rig.state.asked().iter().any(|p| p.step.id == "remarks"));
    // Where one is active all the same, it is not taken for none.
    let line = "G54 G21 G90 G94 G17 G43 H5 G40 G50 G69";
    let found = differs(codes(&mut rig, at("control"), line));
    assert_eq!(found, [(ActiveGroup::H, "program".to_owned())]);
}

/// Compared by meaning: G21 and G71, G43 H0 and G49, whatever the order.
#[test]
fn the_codes_are_compared_with_the_program_by_meaning() {
    let mut rig = run();
    for (from, to, group) in [
        ("G21", "G20", ActiveGroup::Unit),
        ("G54", "G55", ActiveGroup::WorkOffset),
        ("G54", "G54.1 P1", ActiveGroup::WorkOffset),
        ("H1", "H2", ActiveGroup::H),
        ("G43 H1", "G49", ActiveGroup::H),
        ("G43 H1", "G43 H0", ActiveGroup::H),
    ] {
        let found = differs(codes(&mut rig, at("control"), &WHOLE.replace(from, to)));
        assert_eq!(found, [(group, "program".to_owned())], "{to}");
        // The part that is wrong is refused before anything else is asked for.
        let short = differs(codes(&mut rig, at("control"), &to.replace("G49", "G49 H9")));
        assert_eq!(short, found, "{to}");
    }
    codes(&mut rig, at("control"), &WHOLE.replace("G21", "G71")).unwrap();
    let without = Examined {
        length_offsets: vec![0],
        ..examined()
    };
    for same in ["G49", "G49 H3", "G43 H0"] {
        let mut rig = run_on("south", CODES, Some(without.clone()));
        codes(&mut rig, at("control"), &WHOLE.replace("G43 H1", same)).unwrap();
    }
    // Nothing is compared with a program that was not examined, or that cannot be vouched for.
    let unsure = Examined {
        verdict: Judged::CannotVouch,
        ..examined()
    };
    let mut rig = run_on("south", CODES, None);
    codes(&mut rig, at("control"), &WHOLE.replace("G54", "G55")).unwrap();
    let mut rig = TestRun::of(CODES);
    rig.state.begun.machine = "south".into();
    rig.try_do(Command::Answer {
        at: at("nc"),
        said: GivenAnswer::File {
            path: "a.nc".into(),
            fingerprint: rig.program.unwrap(),
            bytes: 9,
            examined: Some(Box::new(unsure)),
        },
        accept: Some("proven in air".into()),
    })
    .unwrap();
    codes(&mut rig, at("control"), &WHOLE.replace("H1", "H2")).unwrap();
}

#[test]
fn what_the_procedure_must_have_cannot_be_waived() {
    let mut rig = run();
    let line = WHOLE.replace("G90", "G91");
    let found = differs(with_reason(&mut rig, &line, "I know"));
    let because = "a jog in G91 counts from where the cutter is".to_owned();
    assert_eq!(found, [(ActiveGroup::Distance, because)]);
    let words = refusal(codes(&mut rig, at("control"), &line)).words();
    assert!(
        words.contains("incremental") && words.contains("`G90`"),
        "{words}"
    );
}

/// Each code that endangers is named with what it does, and needs a reason.
#[test]
fn what_is_left_over_is_named_with_its_consequence() {
    for (from, to, consequence) in [
        ("G50", "G51", "scaling is on"),
        ("G69", "G68", "rotation is on"),
        ("G40", "G41", "cutter compensation is on"),
        ("G40", "G42", "cutter compensation is on"),
        ("G80", "G81", "a drilling cycle is on"),
        ("G94", "G95", "per revolution"),
        ("G94", "G93", "one over the minutes"),
        ("G17", "G18", "the plane is ZX"),
        ("T3", "G92", "a shift is on"),
        ("T3", "G52", "a local shift is on"),
        ("T3", "M49", "the override knobs do nothing"),
        ("T3", "G51.1", "mirror image is on"),
        ("G43", "G44", "subtracted"),
    ] {
        let mut rig = run();
        let line = WHOLE.replace(from, to);
        let found = refusal(codes(&mut rig, at("control"), &line));
        assert!(matches!(found, CodesRefusal::Look(_)), "{to}: {found:?}");
        let words = found.words();
        assert!(
            words.contains(&format!("`{to}` is active")) && words.contains(consequence),
            "{words}"
        );
        assert!(
            !words.contains(from),
            "the right code is not shown: {words}"
        );
        let events = with_reason(&mut rig, &line, "meant so").unwrap();
        let accepted =
            |e: &Event| matches!(e, Event::Accepted { reason, .. } if reason == "meant so");
        assert!(events.iter().any(accepted), "{to}");
    }
}

/// A code that endangers is named before anything else is asked for, and its reason is asked for once.
#[test]
fn a_reason_given_while_groups_are_open_is_stored_with_the_answer() {
    let mut rig = run();
    let line = "G54 G21 G90 G94 G17 G43 H1 G40 G68";
    let found = refusal(codes(&mut rig, at("control"), line));
    assert!(matches!(found, CodesRefusal::Look(_)), "{found:?}");
    assert!(rig.state.codes_so_far(&at("control")).is_none());
    with_reason(&mut rig, line, "the plate is turned").unwrap();
    assert_eq!(open(&rig, "control"), ["scaling"]);
    let events = codes(&mut rig, at("control"), "G50").unwrap();
    let accepted =
        |e: &Event| matches!(e, Event::Accepted { reason, .. } if reason == "the plate is turned");
    assert!(events.iter().any(accepted));
    // Once it is cancelled, nothing was accepted.
    let mut rig = run();
    with_reason(&mut rig, line, "the plate is turned").unwrap();
    codes(&mut rig, at("control"), "G69").unwrap();
    let events = codes(&mut rig, at("control"), "G50").unwrap();
    assert!(!events.iter().any(|e| matches!(e, Event::Accepted { .. })));
    assert!(rig.state.deviations.is_empty());
}

/// The second reading is blind: a refusal shows no expected value, and what changed since the first is named.
#[test]
fn a_later_reading_is_compared_with_the_earlier_one_and_shows_nothing() {
    let before_second = || {
        // Without an examination only the earlier reading is there to compare with.
        let mut rig = run_on("south", CODES, None);
        codes(&mut rig, at("control"), WHOLE).unwrap();
        rig.say(at("remarks"), GivenAnswer::Text("none".into()))
            .unwrap();
        rig
    };
    let now = || pass("codes_now", 1);
    let title = "Active codes before touching".to_owned();
    for (from, to, group, page) in [
        ("G54", "G55", ActiveGroup::WorkOffset, "work offsets"),
        ("G21", "G20", ActiveGroup::Unit, "active codes"),
        ("H1", "H2", ActiveGroup::H, "tool offsets"),
        ("G50", "G51", ActiveGroup::Scaling, "active codes"),
    ] {
        let mut rig = before_second();
        let refused = codes(&mut rig, now(), &WHOLE.replace(from, to));
        let words = refusal(refused.clone()).words();
        assert!(
            words.contains(page) && !words.contains(&format!("`{from}`")),
            "{words}"
        );
        assert!(!words.contains(WHOLE));
        assert_eq!(differs(refused), [(group, title.clone())], "{to}");
    }
    let mut rig = before_second();
    let found = refusal(codes(&mut rig, now(), &WHOLE.replace("G17", "G18")));
    let CodesRefusal::Look(concerns) = found else {
        panic!()
    };
    assert!(
        matches!(concerns.as_slice(), [Concern::Unexpected(d)] if d.group == ActiveGroup::Plane)
    );
    // Motion, feed, speed and tool are what work changes.
    codes(
        &mut rig,
        now(),
        &WHOLE.replace("F600 S3000 T3", "G1 F250 S900 T4 M3"),
    )
    .unwrap();
}

/// The same codes in another order invalidate nothing; another value invalidates what depends on it.
#[test]
fn the_same_meaning_typed_again_invalidates_nothing() {
    let mut rig = run_on("south", CODES, None);
    codes(&mut rig, at("control"), WHOLE).unwrap();
    rig.say(at("remarks"), GivenAnswer::Text("none".into()))
        .unwrap();
    codes(&mut rig, pass("codes_now", 1), WHOLE).unwrap();
    codes(
        &mut rig,
        at("control"),
        &WHOLE.to_lowercase().replace("g21", "g71 "),
    )
    .unwrap();
    assert!(rig.state.answer(&pass("codes_now", 1)).is_some());
    codes(&mut rig, at("control"), &WHOLE.replace("G54", "G55")).unwrap();
    assert!(rig.state.answer(&pass("codes_now", 1)).is_none());
}

/// A control that was switched off may have other codes active: those that were read, or half read, are read again.
#[test]
fn a_lost_position_invalidates_codes_and_parts_of_them() {
    let lost = |rig: &mut TestRun| {
        rig.go(Command::Pause { how: "left".into() });
        rig.go(Command::Resume {
            by: "JT".into(),
            from: super::answer::Origin::Terminal,
            kept: Some(MachineContinuity::Lost),
            elsewhere: super::elsewhere::Elsewhere::default(),
        });
    };
    let mut rig = run();
    codes(&mut rig, at("control"), "G54 G21 G90").unwrap();
    assert!(rig.state.has_positions());
    lost(&mut rig);
    assert!(rig.state.codes_so_far(&at("control")).is_none());
    codes(&mut rig, at("control"), WHOLE).unwrap();
    lost(&mut rig);
    assert!(rig.state.answer(&at("control")).is_none());
}

/// A stop may have reset the control: the codes before the cut are read again.
#[test]
fn a_stopped_cut_invalidates_the_codes_of_its_pass() {
    let mut rig = run_on("south", CODES, None);
    codes(&mut rig, at("control"), WHOLE).unwrap();
    rig.say(at("remarks"), GivenAnswer::Text("none".into()))
        .unwrap();
    codes(&mut rig, pass("codes_now", 1), WHOLE).unwrap();
    rig.sign(pass("clear", 1)).unwrap();
    rig.release().unwrap();
    rig.start().unwrap();
    rig.go(ended(CutEnd::Stopped));
    assert!(rig.state.answer(&pass("codes_now", 1)).is_none());
    assert!(rig.state.answer(&at("control")).is_some());
}

/// Another program invalidates the codes that were compared with the first.
#[test]
fn another_program_invalidates_the_codes() {
    let mut rig = run();
    codes(&mut rig, at("control"), WHOLE).unwrap();
    let other = GivenAnswer::File {
        path: "b.nc".into(),
        fingerprint: crate::fingerprint::Fingerprint::of("other"),
        bytes: 9,
        examined: None,
    };
    rig.say(at("nc"), other).unwrap();
    assert!(rig.state.answer(&at("control")).is_none());
}

/// A limit may be a formula over earlier answers; `metric` is the millimetre.
#[test]
fn a_limit_may_name_an_earlier_answer() {
    let asked = "      - choose: program_unit
        title: Its unit
        why: Inches go deeper.
        options: { metric: millimetres, inch: inches }
      - codes: control\n";
    let limit = "must: { unit: program_unit, distance: G90,";
    let text = CODES
        .replacen("      - codes: control\n", asked, 1)
        .replacen("must: { distance: G90,", limit, 1);
    for (program, other) in [("metric", "G20"), ("inch", "G21")] {
        let mut rig = run_on("south", &text, None);
        rig.word(at("program_unit"), program).unwrap();
        let found = differs(codes(&mut rig, at("control"), &WHOLE.replace("G21", other)));
        assert_eq!(found[0].0, ActiveGroup::Unit);
        let right = if other == "G20" { "G21" } else { "G20" };
        codes(&mut rig, at("control"), &WHOLE.replace("G21", right)).unwrap();
    }
}

/// A control that shows its offsets otherwise, as its dialect says. Invented.
#[test]
fn the_dialect_of_the_machine_is_respected() {
    let mut rig = run();
    let shop = include_str!("../../tests/procedures/shop.yaml").replacen(
        "    length offsets: used\n",
        "    length offsets: used\n    dialect:\n      shown codes: { G500: G54, G505: G55, G710: G21, G187: nothing }\n",
        1,
    );
    let mut findings = crate::diagnostics::Findings::default();
    let shop = crate::procedure::shop::read(&shop, &mut findings);
    assert!(findings.is_empty(), "{:?}", findings.sorted());
    rig.state.shop = std::sync::Arc::new(shop.unwrap());
    let line = WHOLE.replace("G54", "G500 G187").replace("G21", "G710");
    let other = differs(codes(
        &mut rig,
        at("control"),
        &line.replace("G500", "G505"),
    ));
    assert_eq!(other, [(ActiveGroup::WorkOffset, "program".to_owned())]);
    codes(&mut rig, at("control"), &line).unwrap();
    let read = rig
        .state
        .answer(&at("control"))
        .and_then(Answer::codes)
        .unwrap();
    assert_eq!(read.of(ActiveGroup::WorkOffset), Some("G54"));
    assert!(read.unknown.is_empty() && read.typed[0].contains("G500"));
}
