//! A scene in words, for whoever listens or has no room for a picture.

use super::{Mark, Rect, Scene, Trace};
use std::collections::BTreeMap;

/// Parts of a plate from the front, and from the left.
const PARTS: [&str; 3] = ["front", "middle", "back"];
const SIDES: [&str; 3] = ["left", "middle", "right"];

/// What a ninth of a plate is called; `row` counts from the front, `column` from the left.
pub(crate) fn ninth(column: usize, row: usize) -> String {
    let [part, side] = [(&PARTS, row), (&SIDES, column)].map(|(n, i)| n.get(i).copied());
    match (part.unwrap_or("middle"), side.unwrap_or("middle")) {
        (part, side) if part == side => part.to_owned(),
        (part, side) => format!("{part} {side}"),
    }
}

/// The sentences.
pub(crate) fn lines(scene: &Scene) -> Vec<String> {
    let mut out = ninths(scene);
    for (mark, text) in scene.legend(&scene.marks()) {
        let said = scene.details.iter().any(|(m, _)| *m == mark);
        match mark {
            Mark::Stays if !scene.left.is_empty() => {
                out.push(format!("{text}, {}.", within(&scene.left)));
            }
            Mark::Touch => out.push(format!("{text}. {}.", touches(scene))),
            Mark::RapidLow | Mark::RapidUnknown | Mark::FeedOff => {
                out.push(format!("{text}. {}", reach(scene, mark)));
            }
            Mark::Plunge | Mark::Finding(_) => {
                let spots = scene.spots.iter();
                let alike = spots.filter(|(m, _)| m.word() == mark.word());
                let all: Vec<String> = alike.map(|(m, at)| spot(*m, *at)).collect();
                out.push(format!("{text}: {}.", all.join("; ")));
            }
            Mark::Obstacle => {
                let all = scene.obstacles.iter();
                let all: Vec<String> = all
                    .map(|o| format!("{} at {}", o.name, place(o.at)))
                    .collect();
                out.push(format!("{}.", all.join("; ")));
            }
            Mark::Cutter => {
                let words = scene.cutter.as_ref().map_or("", |c| &c.words);
                out.push(format!("cutter: {words}."));
            }
            // Where parts are left, that the rest is clean says nothing of where.
            Mark::Clean if !scene.left.is_empty() => {}
            Mark::Start | Mark::End | Mark::FirstCut | Mark::LastLift if !said => {
                let at = scene.spots.iter().find(|(m, _)| *m == mark);
                out.extend(at.map(|(_, at)| format!("{text}: {}.", place(*at))));
            }
            // What the parts say by name needs a word more only where the scene adds one.
            _ if said => out.push(format!("{text}.")),
            _ => {}
        }
    }
    out.extend(scene.notes.iter().cloned());
    out
}

fn spot(mark: Mark, at: [f64; 2]) -> String {
    match mark {
        Mark::Finding(_) => format!("{} at {}", mark.sign().ascii, place(at)),
        _ => place(at),
    }
}

fn place([x, y]: [f64; 2]) -> String {
    format!("X{} Y{}", short(x), short(y))
}

/// To a hundredth, without trailing noughts.
fn short(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0" } else { text }.to_owned()
}

fn touches(scene: &Scene) -> String {
    let all: Vec<String> = scene
        .touches
        .iter()
        .map(|t| format!("{} {}", t.name, t.value).trim_end().to_owned())
        .collect();
    all.join(", ")
}

/// How far the traces of a kind reach.
fn reach(scene: &Scene, mark: Mark) -> String {
    let traces: Vec<&Trace> = scene.path.iter().filter(|t| t.mark == mark).collect();
    let spots = scene.spots.iter().filter(|(m, _)| *m == mark);
    let spots: Vec<Rect> = spots.map(|(_, at)| Rect::between(*at, *at)).collect();
    let pieces = traces.iter().flat_map(|t| t.points.windows(2));
    let pieces = pieces.filter_map(|w| Some(Rect::between(*w.first()?, *w.last()?)));
    let all: Vec<Rect> = pieces.chain(spots.iter().copied()).collect();
    let places = match traces.len() + spots.len() {
        1 => "1 place".to_owned(),
        n => format!("{n} places"),
    };
    format!("{places}, {}.", within(&all))
}

/// The box around some places.
fn within(parts: &[Rect]) -> String {
    let least = |axis: usize| {
        let all = parts.iter().map(|p| p.low[axis]);
        all.fold(f64::INFINITY, f64::min)
    };
    let most = |axis: usize| {
        let all = parts.iter().map(|p| p.high[axis]);
        all.fold(f64::NEG_INFINITY, f64::max)
    };
    format!(
        "within X{} to X{}, Y{} to Y{}",
        short(least(0)),
        short(most(0)),
        short(least(1)),
        short(most(1))
    )
}

/// What becomes of each ninth of the plate, the worst first.
fn ninths(scene: &Scene) -> Vec<String> {
    let Some(ground) = scene.ground.as_ref().filter(|g| g.rows() > 0) else {
        return Vec::new();
    };
    if let Some(first) = ground.cells.first()
        && ground.cells.iter().all(|m| m == first)
    {
        let left = !scene.left.is_empty();
        let word = first.word();
        let whole = (!left).then(|| format!("All of the plate: {word}."));
        return whole.into_iter().collect();
    }
    let rows = ground.rows();
    // A ninth of a coarse ground is at least one of its cells.
    let third = |n: usize, of: usize| n * of / 3..((n + 1) * of / 3).max(n * of / 3 + 1);
    let mut parts: Vec<BTreeMap<Mark, usize>> = vec![BTreeMap::new(); 9];
    for (n, part) in parts.iter_mut().enumerate() {
        for row in third(n / 3, rows) {
            for mark in third(n % 3, ground.columns).filter_map(|c| ground.at(c, row)) {
                *part.entry(mark).or_insert(0) += 1;
            }
        }
    }
    let mut out = Vec::new();
    for (n, part) in parts.iter().enumerate() {
        let all: usize = part.values().sum();
        if let (Some((Mark::Relief(low), _)), Some((Mark::Relief(high), _))) =
            (part.first_key_value(), part.last_key_value())
        {
            out.push(format!("{}: height {low} to {high}.", ninth(n % 3, n / 3)));
            continue;
        }
        let shares: Vec<String> = part
            .iter()
            .rev()
            .map(|(mark, count)| match (count * 100).div_ceil(all.max(1)) {
                100 if *count == all => mark.word().to_owned(),
                // Rounded up, but less than all of it is not 100 %.
                share => format!("{} {} %", mark.word(), share.min(99)),
            })
            .collect();
        if !shares.is_empty() {
            out.push(format!("{}: {}.", ninth(n % 3, n / 3), shares.join(", ")));
        }
    }
    out
}
