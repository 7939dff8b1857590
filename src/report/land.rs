//! What the touches say of the plate, and what a plane will do to it: the map and the verdict, with the working.

use super::page::{Block, Item, Page, Picture, Tone};
use crate::plate::working::Working;
use crate::plate::{Bound, Land, Verdict};
use crate::quantity::{Length, UnitSystem, show::Show};

/// The map and the verdict for a plane; `cutter` is its diameter, drawn to scale.
pub fn page(land: &Land, verdict: &Verdict, cutter: Option<Length>, show: &Show) -> Page {
    let mut items = of_plane(land, verdict, show);
    items.extend(of_touches(land, verdict, show));
    map(land, verdict, cutter, show).list(items)
}

/// The same for another plane under the touches of a page shown before: what does not change with the plane is left out.
pub fn another(land: &Land, verdict: &Verdict, cutter: Option<Length>, show: &Show) -> Page {
    map(land, verdict, cutter, show).list(of_plane(land, verdict, show))
}

fn map(land: &Land, verdict: &Verdict, cutter: Option<Length>, show: &Show) -> Page {
    let plane = show.signed().both(verdict.plane.into());
    let mut page = Page::new().toned(
        Tone::Strong,
        format!("The plate at the plane {plane}, seen from above:"),
    );
    page.push(Block::Map(Box::new(Picture {
        land: land.clone(),
        plane: verdict.plane,
        cutter,
        show: *show,
    })));
    page
}

/// Ten-thousandths as per cent, never rounded up.
fn per_cent(parts: u32) -> String {
    match parts {
        10_000.. => "more than 99.9 %".to_owned(),
        p => format!("{}.{} %", p / 100, p % 100 / 10),
    }
}

/// What all of it rests on: how far touches are taken to be off.
fn doubts(land: &Land, show: &Show) -> String {
    let words = |bound: Bound| match bound {
        Bound::Limits(Length::ZERO) => None,
        Bound::Limits(a) => Some(format!("no more than {}", show.up(a))),
        Bound::Twice(u) => Some(format!("{} as twice a standard uncertainty", show.up(u))),
    };
    let each = words(land.doubt.touch).map_or_else(
        || "no touch is off at all".to_owned(),
        |far| format!("each touch is off by {far}"),
    );
    let shared = words(land.doubt.shared).map_or_else(
        || "nothing shifts all of them together".to_owned(),
        |far| format!("all of them together by {far}"),
    );
    format!("Assumed: {each}, and {shared}.")
}

/// A way along the plate, to a tenth of a millimetre or a hundredth of an inch: no one drives there more finely.
fn coarse(length: Length, show: &Show) -> String {
    let step = match show.system {
        UnitSystem::Mm => 1_000_000,
        UnitSystem::Inch => 2_540_000,
    };
    let near = (length.counts() + step / 2).div_euclid(step) * step;
    show.one(Length::from_counts(near).unwrap_or(length).into())
}

/// A place in words, from the plate's front left corner.
pub fn place(at: [Length; 2], show: &Show) -> String {
    let [x, y] = at.map(|l| coarse(l, show));
    format!("{x} from the left, {y} from the front")
}

/// `front, back and left`.
fn named(all: &[&str]) -> String {
    match all {
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
        [] => String::new(),
    }
}

/// What changes with the plane.
fn of_plane(land: &Land, verdict: &Verdict, show: &Show) -> Vec<Item> {
    let mut items = Vec::new();
    let n = land.spots.len();
    let low = &verdict.lowest;
    let clearance = show.signed().one(verdict.clearance.into());
    if verdict.clearance < Length::ZERO {
        items.push(Item::toned(
            Tone::Look,
            format!(
                "The lowest touch, {low}, lies {} below this plane: old skin stays there until a deeper one.",
                show.up(verdict.clearance.abs())
            ),
        ));
    } else {
        let sure = if verdict.certain {
            "certain, the clearance covers both hard limits".to_owned()
        } else if verdict.shares.is_none() {
            // No figure in per cent where the middle was never touched: it would be taken for the plate.
            format!(
                "not certain, heights are unsure by {}",
                show.up(verdict.standard)
            )
        } else {
            format!("at least {}", per_cent(verdict.sure))
        };
        let tone = if verdict.certain || verdict.sure >= 9500 {
            Tone::Good
        } else {
            Tone::Look
        };
        items.push(Item::toned(
            tone,
            format!("All {n} touched places clean up: {sure} (clearance {clearance} below {low}). This says nothing of the space between them."),
        ));
    }
    if let Some([cleans, likely, unknown, stays]) = verdict.shares {
        let share = |s: u32| format!("{} %", (s + 5) / 10);
        let text = format!(
            "Between the touches: {} cleans, {} likely but not proven, {} not known, {} stays.",
            share(cleans),
            share(likely),
            share(unknown),
            share(stays)
        );
        let tone = if likely + unknown + stays == 0 {
            Tone::Good
        } else {
            Tone::Look
        };
        items.push(Item::toned(tone, text));
        if let Some(worst) = &verdict.worst {
            let depth = if worst.depth < Length::ZERO {
                format!("{} below", show.up(worst.depth.abs()))
            } else {
                format!("{} above", show.down(worst.depth))
            };
            items.push(Item::new(format!(
                "Nearest to failing {}: {depth} the plane, give or take {}.",
                place([worst.x, worst.y], show),
                show.up(worst.scatter)
            )));
        }
    } else {
        let text = "These places say tilt and twist and nothing of the middle: no share of the plate can be given. It holds if the middle is no lower than the surface between them; touch the centre to know.";
        items.push(Item::toned(Tone::Look, text));
    }
    items
}

/// What the touches say whatever the plane.
fn of_touches(land: &Land, verdict: &Verdict, show: &Show) -> Vec<Item> {
    let mut items = Vec::new();
    match (land.misses.as_slice(), land.typical, land.worst_miss()) {
        ([one], ..) => items.push(Item::new(format!(
            "Hiding {} and guessing it from its neighbours missed by {}.",
            one.point,
            show.up(one.off.abs())
        ))),
        (_, Some(typical), Some(worst)) => items.push(Item::new(format!(
            "Hiding each touch and guessing it from its neighbours missed by {} typically, {} at worst ({}).",
            show.up(typical),
            show.up(worst.off.abs()),
            worst.point
        ))),
        _ => {}
    }
    if let Some([two, three]) = verdict.planes {
        items.push(Item::new(format!(
            "A plane that clears every place by twice its scatter: {}; by three times: {}.",
            show.signed().down(two),
            show.signed().down(three)
        )));
    }
    match verdict.edges.as_slice() {
        [] => {}
        [one] => items.push(Item::toned(
            Tone::Look,
            format!("The {one} edge has a long stretch that was never touched."),
        )),
        some => items.push(Item::toned(
            Tone::Look,
            format!(
                "The {} edges have long stretches that were never touched.",
                named(some)
            ),
        )),
    }
    items.push(Item::new(format!(
        "A spot up to {} wide can lie unseen between the touches.",
        coarse(verdict.hides, show)
    )));
    if let Some(unseen) = verdict.unseen {
        items.push(Item::new(format!(
            "Rule of thumb: had these {} places been picked at random, up to {} % of the plate could lie below the plane and none of them show it (95 %).",
            land.spots.len(),
            unseen.div_ceil(10)
        )));
    }
    items.push(Item::new(doubts(land, show)));
    let why = if verdict.centre { " (the centre)" } else { "" };
    items.push(Item::toned(
        Tone::Action,
        format!(
            "One more touch would tell most {}{why}.",
            place(verdict.next, show)
        ),
    ));
    items
}

/// How the figures come about, with the formulas and their sources.
pub fn working(land: &Land, verdict: &Verdict, show: &Show) -> Working {
    let mut working = Working::new();
    working.push(format!(
        "standard uncertainty of a height = root of (that of a touch squared + the shared one squared) = {}; hard limits count as a / sqrt 3 (JCGM 100, from memory)",
        show.up(verdict.standard)
    ));
    if verdict.shares.is_some() {
        working.push(format!(
        "chance that all touched places clean, at the least = share of a normal distribution (bell curve) that lies below clearance / standard uncertainty = {} / {}: {} (derived: it fails only where the lowest place was read too high by more than the clearance)",
        show.up(verdict.clearance), show.up(verdict.standard), per_cent(verdict.sure)
    ));
    }
    for miss in &land.misses {
        working.push(format!(
            "{} - guess from its neighbours = {}",
            miss.point,
            show.signed().one(miss.off.into()).trim_start_matches('~')
        ));
        if land.misses.len() > 25 {
            working.push(format!("and so on for {} touches", land.misses.len()));
            break;
        }
    }
    if let Some(typical) = land.typical {
        working.push(format!(
            "scatter away from a touch = root of (standard uncertainty squared + (usual miss x way to the touch / usual way between touches) squared), usual miss = root mean square of the misses = {}, usual way between touches = {} (derived)",
            show.up(typical), show.up(land.spacing)
        ));
    }
    working.push(format!(
        "a spot that can hide = twice the way from the place furthest from any touch to the nearest one = {} (geometry; 1.41 times the pitch of a square grid)",
        coarse(verdict.hides, show)
    ));
    if let Some(unseen) = verdict.unseen {
        working.push(format!(
            "share that can hide = 1 - 0.05^(1 / {}) = {}.{} % (derived: no low place among as many random picks, 95 %)",
            land.spots.len(),
            unseen / 10,
            unseen % 10
        ));
    }
    working
}
