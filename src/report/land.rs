//! What the touches say of the plate, and what a plane will do to it: the map and the verdict, with the working.

use super::page::{Block, Item, Page, Picture, Tone};
use crate::plate::working::Working;
use crate::plate::{Bound, Land, Verdict};
use crate::quantity::{Length, show::Show};

/// The map and the verdict for a plane; `cutter` is its diameter, drawn to scale.
pub fn page(land: &Land, verdict: &Verdict, cutter: Option<Length>, show: &Show) -> Page {
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
    page.list(items(land, verdict, show))
}

/// Ten-thousandths as per cent, never rounded up.
fn per_cent(parts: u32) -> String {
    match parts {
        10_000.. => "more than 99.9 %".to_owned(),
        p => format!("{}.{} %", p / 100, p % 100 / 10),
    }
}

/// What a round spot that wide is of the plate's area, rounded up to a per cent and never above all of it.
fn share_hidden(land: &Land, verdict: &Verdict) -> String {
    let [long, wide] = land.size();
    let area = std::f64::consts::FRAC_PI_4 * verdict.hides.mm().powi(2);
    let share = (100.0 * area / (long * wide)).ceil();
    if share.is_finite() && share < 100.0 {
        format!("{share} %")
    } else {
        "all".to_owned()
    }
}

/// What all of it rests on: how far touches are taken to be off.
fn doubts(land: &Land, show: &Show) -> String {
    let words = |bound: Bound| match bound {
        Bound::Limits(a) => format!("no further off than {}", show.one(a.into())),
        Bound::Twice(u) => format!(
            "off by {} as twice a standard uncertainty",
            show.one(u.into())
        ),
    };
    format!(
        "This takes each touch to be {}, and all together {}.",
        words(land.doubt.touch),
        words(land.doubt.shared)
    )
}

/// A place in words, from the plate's front left corner.
pub fn place(at: [Length; 2], show: &Show) -> String {
    // To a tenth of a millimetre or a hundredth of an inch: no one drives there more finely.
    let tenth = |l: Length| {
        let step = if show.system == crate::quantity::UnitSystem::Mm {
            1_000_000
        } else {
            2_540_000
        };
        let near = (l.counts() + step / 2).div_euclid(step) * step;
        show.one(Length::from_counts(near).unwrap_or(l).into())
    };
    format!(
        "{} from the left, {} from the front",
        tenth(at[0]),
        tenth(at[1])
    )
}

fn items(land: &Land, verdict: &Verdict, show: &Show) -> Vec<Item> {
    let mut items = Vec::new();
    let n = land.spots.len();
    let low = &verdict.lowest;
    let clearance = show.signed().one(verdict.clearance.into());
    if verdict.clearance < Length::ZERO {
        items.push(Item::toned(
            Tone::Stop,
            format!(
                "The lowest touch, {low}, lies {} below this plane: old skin stays there.",
                show.up(verdict.clearance.abs())
            ),
        ));
    } else {
        let sure = if verdict.certain {
            "certain, the clearance covers both hard limits".to_owned()
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
    match (verdict.shares, land.typical) {
        (Some([cleans, likely, unknown, stays]), Some(typical)) => {
            let share = |s: u32| format!("{} %", (s + 5) / 10);
            let text = format!(
                "Between the touches: {} cleans, {} likely but not proven, {} not known, {} stays.",
                share(cleans), share(likely), share(unknown), share(stays)
            );
            items.push(Item::toned(if likely + unknown + stays == 0 { Tone::Good } else { Tone::Look }, text));
            if let Some(miss) = land.worst_miss() {
                items.push(Item::new(format!(
                    "Hiding each touch and guessing it from its neighbours missed by {} typically, {} at worst ({}).",
                    show.up(typical), show.up(miss.off.abs()), miss.point
                )));
            }
            if let Some(worst) = &verdict.worst {
                items.push(Item::new(format!(
                    "Nearest to failing {}: {} above the plane, give or take {}.",
                    place([worst.x, worst.y], show), show.down(worst.depth), show.up(worst.scatter)
                )));
            }
            if let Some([two, three]) = verdict.planes {
                items.push(Item::new(format!(
                    "A plane that clears every place by twice its scatter: {}; by three times: {}.",
                    show.signed().down(two), show.signed().down(three)
                )));
            }
        }
        _ => items.push(Item::toned(
            Tone::Look,
            "These places say tilt and twist and nothing of the middle: no share of the plate can be given. It holds if the middle is no lower than the surface between them; touch the centre to know.",
        )),
    }
    for edge in &verdict.edges {
        items.push(Item::toned(
            Tone::Look,
            format!("The {edge} edge has a long stretch that was never touched."),
        ));
    }
    items.push(Item::new(format!(
        "A spot up to {} wide, {} of the plate, can lie unseen between the touches.",
        show.up(verdict.hides),
        share_hidden(land, verdict)
    )));
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
        "standard uncertainty u' = root of (u of a touch squared + shared squared) = {}; hard limits count as a / sqrt 3 (JCGM 100, from memory)",
        show.up(verdict.standard)
    ));
    working.push(format!(
        "chance that all touched places clean >= Phi(clearance / u') = Phi({} / {}) = {} (derived: it fails only where the lowest place was read too high by more than the clearance)",
        show.up(verdict.clearance), show.up(verdict.standard), per_cent(verdict.sure)
    ));
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
            "scatter d away from a touch = root of (u'^2 + (L d / h)^2) with L = root mean square of the misses = {}, h = usual distance between touches = {} (derived)",
            show.up(typical), show.up(land.spacing)
        ));
    }
    working.push(format!(
        "a spot that can hide = 1.41 h = {} (geometry of a square grid)",
        show.up(verdict.hides)
    ));
    working
}
