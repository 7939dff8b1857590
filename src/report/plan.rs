//! What is known of a plate as a scene: the touched plate at a plane, and a program's path.

use super::lengths::{Lengths, number};
use super::touched_plate::left_out;
use crate::plate::{Class, TouchedPlate};
use crate::program::picture::view::millimetres;
use crate::program::picture::{Area, Picture, Spot, Trace as Recorded};
use crate::program::study::ProgramStudy;
use crate::quantity::{Length, Unit, UnitSystem, format::QuantityFormat};
use crate::scene::{Axes, Cutter, Ground, Mark, Rect, Scene, Touch, Trace, one_place};

/// Cells along the longer side of a touched plate.
const CELLS: f64 = 80.0;
/// Most levels of the feed that the legend names.
const LEVELS: usize = 4;

fn mark(class: Class) -> Mark {
    match class {
        Class::Cleans => Mark::Clean,
        Class::Likely => Mark::Likely,
        Class::NotKnown => Mark::Unknown,
        Class::Stays => Mark::Stays,
    }
}

/// The unit of values beside touches: millimetres, or thousandths of an inch.
fn unit(show: &QuantityFormat) -> Unit {
    match show.system {
        UnitSystem::Mm => UnitSystem::Mm.length(),
        UnitSystem::Inch => Unit::find("thou").unwrap_or_else(|| UnitSystem::Inch.length()),
    }
}

fn value(show: &QuantityFormat, depth: Length) -> String {
    let unit = unit(show);
    let text = show.in_unit(show.rounded(depth).into(), &unit);
    let text = text.trim_end_matches(unit.symbol.as_ref());
    text.trim_end().to_owned()
}

/// What stands beside a touch.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Values {
    /// Its height.
    Heights,
    /// What the plane takes off there.
    Bites,
}

/// The touched plate, and what a plane does to it; none where the touches say nothing of the space between them.
/// `cutter` is its diameter.
pub(crate) fn of_plate(
    land: &TouchedPlate,
    plane: Length,
    cutter: Option<Length>,
    values: Values,
    show: &QuantityFormat,
) -> Option<Scene> {
    let size = land.size();
    let most = size[0].max(size[1]).max(f64::MIN_POSITIVE);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // between 1 and CELLS
    let [columns, rows] = size.map(|s| (CELLS * s / most).round().clamp(1.0, CELLS) as usize);
    let map = land.map(plane, columns, rows).ok()?;
    let at = |x: Length, y: Length| [x.mm(), y.mm()];
    let plate = Rect::between(at(land.low[0], land.low[1]), at(land.high[0], land.high[1]));
    let title = format!(
        "The plate from above, for the plane {}",
        show.signed().both(plane.into())
    );
    let mut scene = Scene::of(plate, title);
    scene.ground = Some(Ground {
        columns,
        cells: map.cells.iter().map(|c| mark(c.class)).collect(),
    });
    scene.touches = land
        .spots
        .iter()
        .map(|spot| Touch {
            at: at(spot.x, spot.y),
            name: spot.point.clone(),
            value: match values {
                Values::Heights => value(show, spot.height),
                Values::Bites => value(show, spot.height.minus(plane).unwrap_or_default()),
            },
        })
        .collect();
    scene.cutter = cutter.filter(|d| *d > Length::ZERO).map(|d| Cutter {
        diameter: d.mm(),
        words: show.near(d),
        at: Some(lonely(&plate, &scene.touches)),
    });
    let clean = format!(
        "3 times its scatter or more above the plane, {} from a touch",
        show.down(land.clean_within())
    );
    let symbol = unit(show).symbol;
    let touched = match values {
        Values::Heights => format!("name and height in {symbol}"),
        Values::Bites => format!(
            "name, and what the plane takes off in {symbol}; below 0 it lies under the plane and stays"
        ),
    };
    scene.details = vec![(Mark::Clean, clean), (Mark::Touch, touched)];
    scene.notes.extend(left_out(land));
    Some(scene)
}

/// The place on a coarse grid that lies furthest from every touch.
fn lonely(plate: &Rect, touches: &[Touch]) -> [f64; 2] {
    let [wide, high] = plate.size();
    let mut best = ([plate.low[0] + wide / 2.0, plate.low[1] + high / 4.0], 0.0);
    for i in 1..8 {
        for j in 1..8 {
            let at = [
                plate.low[0] + wide * f64::from(i) / 8.0,
                plate.low[1] + high * f64::from(j) / 8.0,
            ];
            let away = touches
                .iter()
                .map(|t| (t.at[0] - at[0]).hypot(t.at[1] - at[1]))
                .fold(f64::INFINITY, f64::min);
            if away > best.1 + 1e-6 {
                best = (at, away);
            }
        }
    }
    best.0
}

/// A studied program over the plate, where it is known where that lies, with its findings as far as they are placed.
pub(crate) fn of_study(study: &ProgramStudy, lengths: Lengths) -> Option<Scene> {
    let picture = study.picture.as_ref()?;
    let mut scene = of_program(picture, lengths);
    let named: Vec<String> = picture
        .findings
        .iter()
        .enumerate()
        .filter_map(|(k, (n, _))| {
            let finding = study.examination.findings.get(*n)?;
            Some(format!("{} {}", letter(k), finding.rule.code))
        })
        .collect();
    if !named.is_empty() {
        scene.details.push((Mark::Finding(0), named.join(", ")));
    }
    Some(scene)
}

/// The letter in the drawing of a finding, by its place in the list of findings.
pub(crate) fn letter_of(picture: &Picture, finding: usize) -> Option<char> {
    let place = picture.findings.iter().position(|(n, _)| *n == finding);
    place.map(letter)
}

fn letter(k: usize) -> char {
    Mark::Finding(u8::try_from(k).unwrap_or(u8::MAX))
        .sign()
        .ascii
}

/// A program's path over the plate. Places are in the program's own coordinates; the legend shows lengths as `lengths` does.
fn of_program(picture: &Picture, lengths: Lengths) -> Scene {
    let plate = picture.plate.mm();
    let mut scene = Scene::of(plate, "The path of the program over the plate".to_owned());
    scene.sight = picture.sight();
    let place = |[x, y]: [f64; 2]| {
        if lengths.in_inches() {
            let [x, y] = [x, y].map(|v| number(v / super::lengths::MM_PER_INCH));
            format!("X{x} Y{y} in")
        } else {
            format!("X{} Y{}", number(x), number(y))
        }
    };
    scene.axes = Axes {
        back: "Y up",
        front: "X to the right",
        corners: Some([place(plate.low), place(plate.high)]),
    };
    if picture.judged {
        scene.ground = Some(Ground {
            columns: 1,
            cells: vec![Mark::Clean],
        });
        let reached = "the flat of the cutter reaches it".to_owned();
        scene.details.push((Mark::Clean, reached));
    }
    scene.left = picture.missed.iter().map(Area::mm).collect();
    if !scene.left.is_empty() {
        let missed = "not reached".to_owned();
        scene.details.push((Mark::Stays, missed));
    }
    let radius = picture.cutter.map_or(0.0, millimetres) / 2.0;
    paths(&mut scene, picture, radius, lengths);
    spots(&mut scene, picture, radius, &place);
    scene.cutter = picture.cutter.map(|d| Cutter {
        diameter: millimetres(d),
        words: lengths.one(millimetres(d)),
        at: first_cut(picture).or(picture.start()).map(Spot::mm),
    });
    scene
}

/// Where the first cut at or below the top of the metal begins.
fn first_cut(picture: &Picture) -> Option<Spot> {
    let cuts = |t: &&Recorded| !t.rapid && low(t, picture.top);
    picture
        .path
        .traces
        .iter()
        .find(cuts)?
        .spots
        .first()
        .copied()
}

/// Whether a trace is for certain no higher than the metal may stand.
fn low(trace: &Recorded, top: Option<i64>) -> bool {
    trace.low.zip(top).is_some_and(|(low, top)| low <= top)
}

/// The traces by how they are run; a feed is parted where the cutter leaves the plate.
fn paths(scene: &mut Scene, picture: &Picture, radius: f64, lengths: Lengths) {
    let near = scene.plate.grown(radius);
    let feeds = picture.path.traces.iter().filter(|t| !t.rapid);
    let mut levels: Vec<i64> = feeds.filter(|t| !t.sloped).filter_map(|t| t.low).collect();
    levels.sort_unstable();
    levels.dedup();
    for trace in &picture.path.traces {
        let points: Vec<[f64; 2]> = trace.spots.iter().map(|s| s.mm()).collect();
        if trace.rapid {
            let mark = match (trace.low, picture.top) {
                (None, _) => Mark::RapidUnknown,
                (Some(low), Some(top)) if low <= top => Mark::RapidLow,
                _ => Mark::Rapid,
            };
            scene.path.push(Trace {
                mark,
                level: 0,
                points,
            });
            continue;
        }
        let level = trace.low.and_then(|z| levels.binary_search(&z).ok());
        let level = level.unwrap_or(0);
        for (mark, points) in parted(&points, &near) {
            scene.path.push(Trace {
                mark,
                level,
                points,
            });
        }
    }
    if levels.len() > 1 {
        let named = levels.iter().take(LEVELS);
        scene.levels = named
            .map(|z| format!("Z {}", lengths.one(millimetres(*z))))
            .collect();
        if let Some(more) = levels.len().checked_sub(LEVELS).filter(|n| *n > 0) {
            scene.levels.push(format!("{more} more above"));
        }
    }
    if let Some(top) = picture.top {
        let text = format!("at or below Z {}", lengths.one(millimetres(top)));
        scene.details.push((Mark::RapidLow, text));
    }
}

/// A feed in parts by whether the cutter meets the plate.
fn parted(points: &[[f64; 2]], near: &Rect) -> Vec<(Mark, Vec<[f64; 2]>)> {
    let mut out: Vec<(Mark, Vec<[f64; 2]>)> = Vec::new();
    let mut add = |mark: Mark, a: [f64; 2], b: [f64; 2]| match out.last_mut() {
        Some((m, points)) if *m == mark => points.push(b),
        _ => out.push((mark, vec![a, b])),
    };
    for pair in points.windows(2) {
        let &[a, b] = pair else { continue };
        let at = |t: f64| [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
        let Some([from, to]) = near.clip(a, b) else {
            add(Mark::FeedOff, a, b);
            continue;
        };
        if from > 0.0 {
            add(Mark::FeedOff, a, at(from));
        }
        add(Mark::Feed, at(from), at(to));
        if to < 1.0 {
            add(Mark::FeedOff, at(to), b);
        }
    }
    out
}

/// Start, end, first cut, last lift, plunges and findings; what lies out of sight is said in words.
fn spots(scene: &mut Scene, picture: &Picture, radius: f64, place: &impl Fn([f64; 2]) -> String) {
    let lift = picture.path.lift.map(|l| l.at);
    for (mark, spot) in [
        (Mark::Start, picture.start()),
        (Mark::FirstCut, first_cut(picture)),
        (Mark::LastLift, lift),
        (Mark::End, picture.end()),
    ] {
        let Some(at) = spot.map(Spot::mm) else {
            continue;
        };
        if scene.sight.holds(at) {
            // One character shows one mark, so the first of a place names the others.
            let here = scene
                .spots
                .iter()
                .find(|(_, p)| one_place(*p, at))
                .map(|s| s.0);
            if let Some(first) = here {
                scene.details.push((first, format!("also {}", mark.word())));
            }
            scene.details.push((mark, place(at)));
            scene.spots.push((mark, at));
        } else {
            let text = format!("Out of the picture: {}, {}.", mark.word(), place(at));
            scene.notes.push(text);
        }
    }
    let near = scene.plate.grown(radius);
    for down in &picture.path.downs {
        let at = down.at.mm();
        if picture.top.is_some_and(|top| down.low <= top) && scene.sight.holds(at) {
            if near.holds(at) {
                scene.spots.push((Mark::Plunge, at));
            } else if down.rapid {
                scene.spots.push((Mark::RapidLow, at));
            }
        }
    }
    for (k, (_, spot)) in (0..).zip(&picture.findings) {
        scene.spots.push((Mark::Finding(k), spot.mm()));
    }
}
