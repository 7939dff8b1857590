//! What a program reaches of the plate, and how long it takes, in words and as a drawing.

use super::lengths::{Lengths, MM_PER_INCH, number};
use super::page::{Page, Tone};
use crate::program::coverage::{Coverage, CoverageGaps, PlatePart};
use crate::program::time::Estimate;
use crate::scene::{Rect, Scene};

/// The drawing, and what it shows in words, for those to whom it is not drawn. What cannot be vouched for is not said.
pub(crate) fn page(
    scene: Scene,
    covered: &Coverage,
    doubts: &CoverageGaps,
    lengths: Lengths,
) -> Page {
    let page = Page::new().scene(scene);
    if doubts.any() {
        return doubted(doubts)
            .into_iter()
            .fold(page, |p, t| p.toned(Tone::Look, t));
    }
    let tone = if covered.missed.patches.is_empty() {
        Tone::Good
    } else {
        Tone::Look
    };
    details(covered, lengths)
        .into_iter()
        .fold(page.toned(tone, reached(covered, lengths)), Page::text)
}

/// The same as sentences.
pub(crate) fn words(covered: &Coverage, doubts: &CoverageGaps, lengths: Lengths) -> Vec<String> {
    if doubts.any() {
        return doubted(doubts);
    }
    std::iter::once(reached(covered, lengths))
        .chain(details(covered, lengths))
        .collect()
}

/// How much is not reached, in one sentence.
pub(crate) fn reached(covered: &Coverage, lengths: Lengths) -> String {
    let count = covered.missed.patches.len();
    match count {
        0 => "The cutter's flat reaches all of the plate.".to_owned(),
        _ => format!(
            "Not reached: {} of the plate, {}, in {count} {}.",
            percent(covered.percent()),
            lengths.area(covered.area()),
            if count == 1 { "place" } else { "places" },
        ),
    }
}

/// A share that is not nought never reads as nought.
pub(crate) fn percent(share: f64) -> String {
    match share {
        0.0 => "nothing".to_owned(),
        s if s >= 0.95 => format!("{s:.1} %"),
        s if s >= 0.001 => format!("{s:.3} %"),
        _ => "less than 0.001 %".to_owned(),
    }
}

/// A figure to a hundredth, finer where it is less than a tenth.
fn short(length: f64) -> String {
    if length != 0.0 && length.abs() < 0.1 {
        format!("{length:.4}")
    } else {
        format!("{length:.2}")
    }
}

fn figure(lengths: Lengths, mm: f64) -> String {
    let metric = format!("{} mm", short(mm));
    if lengths.in_inches() {
        format!("{} in ({metric})", number(mm / MM_PER_INCH))
    } else {
        metric
    }
}

fn size(frame: &Rect, lengths: Lengths) -> String {
    let [x, y] = frame.size();
    lengths.pair(x, y, " x ", short)
}

fn place(at: PlatePart, lengths: Lengths) -> String {
    match at {
        PlatePart::Corner(x, y) => format!("at the corner {}, {}", x.name(), y.name()),
        PlatePart::Edge(side) => format!("at the {} edge", side.name()),
        PlatePart::Across(a, b) => format!("from the {} to the {} edge", a.name(), b.name()),
        PlatePart::AllRound => "touching all four edges".to_owned(),
        PlatePart::Inside { nearest, away } => {
            format!(
                "{} inside the {} edge",
                figure(lengths, away),
                nearest.name()
            )
        }
    }
}

fn details(covered: &Coverage, lengths: Lengths) -> Vec<String> {
    let mut out = Vec::new();
    if let Some((patch, at)) = covered.largest() {
        let [low, high] = [patch.frame.low, patch.frame.high];
        out.push(format!(
            "The largest: {} {}, X {}, Y {}.",
            size(&patch.frame, lengths),
            place(at, lengths),
            lengths.pair(low[0], high[0], " to ", short),
            lengths.pair(low[1], high[1], " to ", short),
        ));
        if let Some(step) = covered.passes.step_at(&patch.frame) {
            let [a, b] = step.lines;
            out.push(format!(
                "It lies between the rows of lines {} and {}, which are {} apart; the flat is {} wide.",
                a.min(b),
                a.max(b),
                figure(lengths, step.wide),
                figure(lengths, 2.0 * covered.task.flat),
            ));
        }
    }
    if let (Some(usual), Some(widest)) = (covered.passes.usual(), covered.passes.widest()) {
        out.push(format!(
            "{} rows along {}, {} apart, {} at the most.",
            covered.passes.count,
            if covered.passes.along_x { "X" } else { "Y" },
            figure(lengths, usual),
            figure(lengths, widest.wide),
        ));
    }
    out
}

fn doubted(doubts: &CoverageGaps) -> Vec<String> {
    let say = |line: Option<u32>, what: &str| {
        line.map(|l| format!("From line {l} on {what}, so what is reached cannot be vouched for."))
    };
    [
        say(
            doubts.unknown,
            "cuts start or end at places that are not known",
        ),
        say(doubts.other_offset, "cuts are made in another work offset"),
        say(
            doubts.compensated,
            "cuts are moved aside by cutter radius compensation",
        ),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// How long it takes, with its range, and what that rests on.
pub(crate) fn time(estimate: &Estimate) -> Vec<String> {
    let mut out = vec![format!(
        "About {}, between {} and {}: the machine's accelerations, taken twice and by half. Length over feed alone: {}.",
        spoken(estimate.likely),
        spoken(estimate.least),
        spoken(estimate.most),
        spoken(estimate.plain),
    )];
    if estimate.waits > 0.0 {
        out.push(format!(
            "In it: {} of dwells, tool changes and spindle starts.",
            spoken(estimate.waits)
        ));
    }
    if estimate.stops > 0 {
        out.push(format!(
            "Not in it: {} stops for the operator.",
            estimate.stops
        ));
    }
    if let Some((count, line)) = estimate.untimed {
        out.push(format!(
            "Not in it: {count} moves or waits of unknown time, the first in line {line}."
        ));
    }
    out
}

/// Seconds as `4:05 min` or `1:02:03 h`.
pub(crate) fn spoken(seconds: f64) -> String {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let whole = seconds.round().clamp(0.0, 1e12) as u64;
    let (hours, minutes, seconds) = (whole / 3600, whole / 60 % 60, whole % 60);
    match hours {
        0 => format!("{minutes}:{seconds:02} min"),
        _ => format!("{hours}:{minutes:02}:{seconds:02} h"),
    }
}

#[cfg(test)]
mod tests {
    use super::{page, time};
    use crate::program::coverage::tracker::CoverageTracker;
    use crate::program::coverage::{CoverageGaps, CoverageTask};
    use crate::program::time::Estimate;
    use crate::quantity::UnitSystem;
    use crate::report::lengths::Lengths;
    use crate::report::page::Block;
    use crate::scene::{Rect, Scene};

    fn words(rows: &[f64], unknown: Option<u32>) -> String {
        let plate = Rect::between([0.0, 0.0], [100.0, 40.0]);
        let task = CoverageTask {
            plate,
            flat: 5.0,
            depth: 0.0,
        };
        let mut cover = CoverageTracker::new(task).unwrap();
        for (line, y) in (1..).zip(rows) {
            cover.straight([-6.0, *y, 0.0], [106.0, *y, 0.0], 0.0, line);
        }
        let covered = cover.finish();
        let doubts = CoverageGaps {
            unknown,
            ..CoverageGaps::default()
        };
        page(
            Scene::of(plate, String::new()),
            &covered,
            &doubts,
            Lengths::new(UnitSystem::Mm),
        )
        .blocks
        .iter()
        .filter_map(|b| match b {
            Block::Text { text, .. } => Some(text.clone()),
            _ => None,
        })
        .collect::<Vec<_>>()
        .join("\n")
    }

    #[test]
    fn what_is_missed_is_said_with_its_place() {
        insta::assert_snapshot!(words(&[5.0, 15.0, 25.0, 35.04], None), @r"
        Not reached: 0.100 % of the plate, 4.0 mm2, in 1 place.
        The largest: 100.00 x 0.0400 mm from the low X to the high X edge, X 0.00 to 100.00 mm, Y 30.00 to 30.04 mm.
        It lies between the rows of lines 3 and 4, which are 10.04 mm apart; the flat is 10.00 mm wide.
        4 rows along X, 10.00 mm apart, 10.04 mm at the most.
        ");
        insta::assert_snapshot!(words(&[5.0, 15.0, 25.0, 34.0], None), @r"
        Not reached: 2.5 % of the plate, 100.0 mm2, in 1 place.
        The largest: 100.00 x 1.00 mm at the high Y edge, X 0.00 to 100.00 mm, Y 39.00 to 40.00 mm.
        4 rows along X, 10.00 mm apart, 10.00 mm at the most.
        ");
        insta::assert_snapshot!(words(&[5.0, 15.0, 25.0, 35.0], None), @r"
        The cutter's flat reaches all of the plate.
        4 rows along X, 10.00 mm apart, 10.00 mm at the most.
        ");
        insta::assert_snapshot!(
            words(&[5.0, 15.0], Some(7)),
            @"From line 7 on cuts start or end at places that are not known, so what is reached cannot be vouched for."
        );
    }

    #[test]
    fn the_time_is_said_with_its_range() {
        let estimate = Estimate {
            plain: 240.4,
            likely: 251.0,
            least: 244.0,
            most: 3723.0,
            waits: 8.0,
            untimed: Some((2, 14)),
            ..Estimate::default()
        };
        insta::assert_snapshot!(time(&estimate).join("\n"), @r"
        About 4:11 min, between 4:04 min and 1:02:03 h: the machine's accelerations, taken twice and by half. Length over feed alone: 4:00 min.
        In it: 0:08 min of dwells, tool changes and spindle starts.
        Not in it: 2 moves or waits of unknown time, the first in line 14.
        ");
    }
}
