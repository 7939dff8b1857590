//! After a rehearsal: what the plate was and is, each fault in the way, each answer that was not so, the score.

use crate::report::page::{Align, Item, Page, PageFact, Table, Tone};
use crate::simulator::words::length_with_unit;
use crate::simulator::world::{DrillEnd, Running, World};
use crate::simulator::{Score, plan};

/// The whole debrief.
pub(crate) fn debrief(world: &World, score: &Score, plain: bool) -> Page {
    Page::new()
        .gap()
        .title("Debrief of a rehearsal: practice, no real cut")
        .then(plate(world, plain))
        .then(passes(world))
        .then(drills(world))
        .then(decisions(world))
        .then(happened(world))
        .then(points(score))
}

fn plate(world: &World, plain: bool) -> Page {
    let (low, high) = world.plate.found_extremes();
    let show = |nm| length_with_unit(nm, world.mill.system);
    let mut page = Page::new().gap().toned(Tone::Strong, "The plate").text(format!(
        "Seed {}. As found it lay from {} to {} about its nominal top, {} from highest to lowest. {} of the face is clean now.",
        world.seed,
        show(low),
        show(high),
        show(high - low).trim_start_matches('+'),
        plan::thousandths(world.plate.cleaned())
    ));
    page = if plain {
        let items = plan::heights_in_numbers(&world.plate, world.mill.system);
        page.list(items.into_iter().map(Item::new))
    } else {
        page.text("As found:").scene(plan::relief(&world.plate))
    };
    page.text("As it is:").scene(plan::face(&world.plate))
}

fn passes(world: &World) -> Page {
    if world.passes.is_empty() {
        return Page::new();
    }
    let show = |nm| length_with_unit(nm, world.mill.system);
    let rows = world.passes.iter().enumerate().map(|(n, pass)| {
        vec![
            (n + 1).to_string(),
            show(pass.deepest).trim_start_matches('+').to_owned(),
            show(pass.lowest),
            format!("{} %", pass.feed),
            plan::thousandths(pass.cleaned),
        ]
    });
    let head = ["pass", "deepest bite", "plane", "feed", "clean after"];
    Page::new()
        .gap()
        .table(Table {
            head: head.map(str::to_owned).into(),
            rows: rows.collect(),
            align: vec![Align::Right; 5],
        })
        .working(world.waste_working())
}

fn how(world: &World, running: &Running) -> (Tone, &'static str) {
    match (running.end, running.held) {
        (Some(DrillEnd::Missed), true) => (Tone::Stop, "MISSED: held, and then not cleared"),
        (Some(DrillEnd::Missed), false) => (Tone::Stop, "MISSED"),
        (Some(DrillEnd::Caught), _) if world.in_order(running) => (Tone::Good, "CAUGHT"),
        (Some(DrillEnd::Caught), _) => (Tone::Look, "CAUGHT, cleared in part or out of order"),
        (None, _) if running.begun => (Tone::Look, "OPEN when the rehearsal ended"),
        (None, _) => (Tone::Quiet, "not reached"),
    }
}

fn drills(world: &World) -> Page {
    if world.drills.is_empty() {
        return Page::new();
    }
    let mut page = Page::new().gap().toned(Tone::Strong, "Faults in the way");
    for running in &world.drills {
        let (tone, how) = how(world, running);
        let drill = running.drill;
        page = page.toned(tone, format!("{how}: {} ({})", drill.title(), drill.id()));
        if !running.begun {
            continue;
        }
        let done: Vec<&str> = world
            .acts
            .get(running.since..)
            .unwrap_or_default()
            .iter()
            .map(String::as_str)
            .take_while(|act| *act != "start")
            .take(12)
            .collect();
        let order: Vec<String> = drill
            .order
            .iter()
            .map(|o| o.split('|').next().unwrap_or_default().to_owned())
            .collect();
        page = page.list([
            Item::new(format!("Known then: {}", drill.known)),
            Item::new(format!("Right: {}", drill.right)),
            Item::new(format!("In this order: {}.", order.join(", then "))),
            Item::new(if done.is_empty() {
                "Done: nothing at the mill.".to_owned()
            } else {
                format!("Done: {}.", done.join(", "))
            }),
        ]);
    }
    page
}

fn decisions(world: &World) -> Page {
    let bad: Vec<_> = world.decisions.iter().filter(|d| !d.good).collect();
    let good = world.decisions.len() - bad.len();
    let mut page = Page::new()
        .gap()
        .toned(Tone::Strong, "Answers")
        .text(format!(
            "{good} answers were as the workshop was; {} were not.",
            bad.len()
        ));
    for decision in bad {
        page = page.toned(
            Tone::Stop,
            format!("At `{}` you said `{}`.", decision.at, decision.said),
        );
        page = page.list([
            Item::new(format!("Known then: {}.", decision.known)),
            Item::new(format!("Right: {}.", decision.right)),
        ]);
    }
    page
}

fn happened(world: &World) -> Page {
    let faults: Vec<Item> = world
        .happened
        .iter()
        .filter(|h| h.what.is_fault())
        .map(|h| {
            let deep = if h.depth > 0 {
                format!(
                    ", {} deep",
                    length_with_unit(h.depth, world.mill.system).trim_start_matches('+')
                )
            } else {
                String::new()
            };
            let act = h.after.checked_sub(1).and_then(|i| world.acts.get(i));
            let after = act.map_or(String::new(), |a| format!(" after `{a}`"));
            Item::toned(
                Tone::Stop,
                format!("{}{deep}{after}; {}", h.what.words(), h.known),
            )
        })
        .collect();
    if faults.is_empty() {
        return Page::new();
    }
    Page::new()
        .gap()
        .toned(Tone::Strong, "What happened at the mill")
        .list(faults)
}

fn points(score: &Score) -> Page {
    let tone = if score.is_clean() {
        Tone::Good
    } else {
        Tone::Look
    };
    let mut lines = vec!["100 to begin with".to_owned()];
    lines.extend(score.because.iter().map(|b| format!("- {b}")));
    lines.push(format!("= {} points", score.points));
    Page::new()
        .gap()
        .toned(Tone::Strong, "Score")
        .working(lines)
        .status([
            PageFact::toned(
                "practice",
                if score.is_clean() {
                    "CLEAN"
                } else {
                    "not clean"
                },
                tone,
            ),
            PageFact::new("points", score.points.to_string()),
            PageFact::new("caught", score.caught.to_string()),
            PageFact::new("missed", score.missed.to_string()),
            PageFact::new(
                "time at the mill",
                crate::simulator::score::minutes(score.seconds),
            ),
        ])
        .toned(
            Tone::Quiet,
            "Time counts for nothing: haste is not rewarded.",
        )
}
