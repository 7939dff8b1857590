//! What the touches say of the plate, and what a plane will do to it: the map and the verdict, with the working.

use super::page::{Item, Page, Tone};
use super::plan::{self, Values};
use crate::plate::interpolation::verdict::shared_out;
use crate::plate::working::Working;
use crate::plate::{TouchedPlate, UncertaintyKind, Verdict, ZSetting};
use crate::quantity::{Length, UnitSystem, format::QuantityFormat};

/// All that can be said of a plane; `of_the_touches` adds what the touches say whatever the plane.
pub(crate) fn all_items(
    land: &TouchedPlate,
    verdict: &Verdict,
    of_the_touches: bool,
    show: &QuantityFormat,
) -> Vec<Item> {
    let mut items = plane_items(land, verdict, show);
    if of_the_touches {
        items.extend(touch_items(land, verdict, show));
    }
    items
}

/// The same in one sentence or two: what is sure to clean, what stays, what nobody knows.
pub(crate) fn brief(land: &TouchedPlate, verdict: &Verdict, show: &QuantityFormat) -> Item {
    let plane = show.signed().one(verdict.plane.into());
    let n = land.touches().count();
    let touched = if verdict.clearance < Length::ZERO {
        format!(
            "At {plane} old skin stays: the lowest touch, {}, is {} below it.",
            verdict.lowest,
            show.up(verdict.clearance.abs())
        )
    } else if verdict.certain {
        format!("At {plane} all {n} touched places clean up for certain.")
    } else if verdict.shares.is_none() {
        format!(
            "At {plane} all {n} touched places clean up, heights unsure by {}.",
            show.up(verdict.standard)
        )
    } else {
        format!(
            "At {plane} all {n} touched places clean up: at least {}.",
            per_cent(verdict.sure)
        )
    };
    let (between, known) = if let Some(shares) = verdict.shares {
        let [cleans, likely, unknown, stays] = shared_out(shares, 100);
        let text = format!(
            "Between the touches {cleans} % cleans, {likely} % likely, {unknown} % not known, {stays} % stays."
        );
        (text, likely + unknown + stays == 0)
    } else {
        let text = "Nothing is known of the middle: touch the centre to know.";
        (text.to_owned(), false)
    };
    let tone = if known { Tone::Good } else { Tone::Look };
    Item::toned(tone, format!("{touched} {between}"))
}

/// The map of a plane; `cutter` is its diameter, drawn to scale.
pub(crate) fn map(
    land: &TouchedPlate,
    verdict: &Verdict,
    cutter: Option<Length>,
    show: &QuantityFormat,
) -> Page {
    let plane = show.signed().both(verdict.plane.into());
    let mut page = Page::new().toned(
        Tone::Strong,
        format!("The plate at the plane {plane}, seen from above:"),
    );
    if let Some(scene) = plan::of_plate(land, verdict.plane, cutter, Values::Bites, show) {
        page = page.scene(scene);
    }
    page
}

/// Ten-thousandths as per cent, never rounded up.
fn per_cent(parts: u32) -> String {
    match parts {
        10_000.. => "more than 99.9 %".to_owned(),
        p => format!("{}.{} %", p / 100, p % 100 / 10),
    }
}

/// A plus-or-minus in words; `None` where there is none.
fn far(bound: UncertaintyKind, show: &QuantityFormat) -> Option<String> {
    match bound {
        UncertaintyKind::Limits(Length::ZERO) => None,
        UncertaintyKind::Limits(a) => Some(format!("no more than {}", show.up(a))),
        UncertaintyKind::Twice(u) => {
            Some(format!("{} as twice a standard uncertainty", show.up(u)))
        }
        UncertaintyKind::ZSetting(z) => z.limit().map(|a| format!("no more than {}", show.up(a))),
    }
}

/// What the verdict assumes of touches and plate.
fn uncertainties(land: &TouchedPlate, show: &QuantityFormat) -> String {
    let each = far(land.doubt.touch, show).map_or_else(
        || "no touch is off at all".to_owned(),
        |far| format!("each touch is off by {far}"),
    );
    let source = if land.waviness_assumed {
        " (common practice, no source; the plate's `waviness` in the shop file says otherwise)"
    } else {
        ""
    };
    let waves = show.up(land.waviness);
    format!("Assumed: {each}, and the old surface waves by {waves}{source}.")
}

/// How far the plane may land off when Z is set, with its parts.
pub(crate) fn z_setting(setting: ZSetting, show: &QuantityFormat) -> String {
    let far = setting
        .limit()
        .map_or_else(|| "more than 100 m".to_owned(), |a| show.up(a));
    let parts: Vec<String> = setting
        .parts()
        .iter()
        .map(|(name, part)| format!("{name} {}", show.up(*part)))
        .collect();
    format!(
        "Setting Z can put this plane up to {far} off: {}.",
        parts.join(" + ")
    )
}

/// The same as a sum.
pub(crate) fn z_setting_working(setting: ZSetting, show: &QuantityFormat) -> [String; 2] {
    let parts = setting.parts();
    let names: Vec<&str> = parts.iter().map(|p| p.0).collect();
    let values: Vec<String> = parts.iter().map(|p| show.up(p.1)).collect();
    let sum = setting.limit().unwrap_or_default();
    [
        format!(
            "doubt of a plane = {} (common practice, no source)",
            names.join(" + ")
        ),
        format!(
            "doubt of a plane = {} = {} at most, when Z is set",
            values.join(" + "),
            show.up(sum)
        ),
    ]
}

/// The same for whatever was assumed of it.
pub(crate) fn plane_uncertainty(shared: UncertaintyKind, show: &QuantityFormat) -> String {
    match shared {
        UncertaintyKind::ZSetting(setting) => z_setting(setting, show),
        said => far(said, show).map_or_else(
            || "Setting Z is taken to put this plane nowhere else.".to_owned(),
            |far| format!("Setting Z is taken to put this plane off by {far}."),
        ),
    }
}

/// Which touches the map leaves out, where there are any.
pub(crate) fn left_out(land: &TouchedPlate) -> Option<String> {
    let names: Vec<&str> = land.unplaced.iter().map(|u| u.point.as_str()).collect();
    match names.as_slice() {
        [] => None,
        [one] => Some(format!("{one} has no place: the map leaves it out.")),
        all => Some(format!(
            "{} have no place: the map leaves them out.",
            named(all)
        )),
    }
}

/// A tenth of a millimetre or a hundredth of an inch: no one drives along a plate more finely.
fn coarse_step(show: &QuantityFormat) -> i64 {
    match show.system {
        UnitSystem::Mm => 1_000_000,
        UnitSystem::Inch => 2_540_000,
    }
}

fn coarse(length: Length, show: &QuantityFormat) -> String {
    let step = coarse_step(show);
    let near = (length.counts() + step / 2).div_euclid(step) * step;
    show.one(Length::from_counts(near).unwrap_or(length).into())
}

/// The same for what is said as "up to": never less than it is.
fn coarse_up(length: Length, show: &QuantityFormat) -> String {
    let step = coarse_step(show);
    let above = (length.counts() + step - 1).div_euclid(step) * step;
    show.one(Length::from_counts(above).unwrap_or(length).into())
}

/// A place in words, from the plate's front left corner.
pub(crate) fn place(at: [Length; 2], show: &QuantityFormat) -> String {
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
fn plane_items(land: &TouchedPlate, verdict: &Verdict, show: &QuantityFormat) -> Vec<Item> {
    let mut items = Vec::new();
    let n = land.touches().count();
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
    if let Some(shares) = verdict.shares {
        let [cleans, likely, unknown, stays] = shared_out(shares, 100);
        let text = format!(
            "Between the touches: {cleans} % cleans, {likely} % likely but not proven, {unknown} % not known, {stays} % stays. Only what lies within {} of a touch is called clean.",
            show.down(land.clean_within())
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
    items.extend(left_out(land).map(|text| Item::toned(Tone::Look, text)));
    items.push(Item::new(plane_uncertainty(land.doubt.shared, show)));
    items
}

/// What the touches say whatever the plane.
fn touch_items(land: &TouchedPlate, verdict: &Verdict, show: &QuantityFormat) -> Vec<Item> {
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
        coarse_up(verdict.hides, show)
    )));
    if let Some(unseen) = verdict.unseen {
        items.push(Item::new(format!(
            "Rule of thumb: had these {} places been picked at random, up to {} % of the plate could lie below the plane and none of them show it (95 %).",
            land.spots.len(),
            unseen.div_ceil(10)
        )));
    }
    items.push(Item::new(uncertainties(land, show)));
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
pub(crate) fn working(land: &TouchedPlate, verdict: &Verdict, show: &QuantityFormat) -> Working {
    let mut working = Working::new();
    working.push(format!(
        "standard uncertainty of a height = root of (that of a touch squared + that of setting Z squared) = {}; hard limits count as a / sqrt 3 (JCGM 100, from memory)",
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
            "scatter away from a touch = root of (standard uncertainty squared + hidden hollow squared / 3 + lean squared / 3 + (usual miss x (way to the touch + radius) / usual way between touches) squared), lean = radius of the cutter x slope of the plate = {}, radius = {}, usual miss = root mean square of the misses = {}, usual way between touches = {} (derived)",
            show.up(land.lean), show.up(land.radius()), show.up(typical), show.up(land.spacing)
        ));
        working.push(format!(
            "hidden hollow = waviness x width of the cutter in inches where that is over 1 = {} (derived: under a wider rim lies a wider hollow, and of the same steepness it is deeper)",
            show.up(land.hollow())
        ));
        working.push(format!(
            "cleans = 3 times its scatter or more above the plane, and within {} of a touch: the width of the cutter, at most half the usual way between touches (nothing shorter than twice the way between samples shows in them: sampling theorem, from memory)",
            show.down(land.clean_within())
        ));
    }
    working.push(format!(
        "a spot that can hide = twice the way from the place furthest from any touch to the nearest one = {} (geometry; 1.41 times the pitch of a square grid)",
        coarse_up(verdict.hides, show)
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
