#![allow(clippy::cast_precision_loss)] // small counts

use super::lines;
use crate::plate::{Bound, Doubt, Facts, Land, Spot};
use crate::quantity::{Length, UnitSystem, show::Show};
use crate::report::page::Picture;
use crate::screen::style::{Depth, Style};

fn um(n: i64) -> Length {
    Length::from_counts(n * 10_000).unwrap()
}

/// Invented: nine touches, the middle low.
fn picture(wide: i64, deep: i64) -> Picture {
    let heights = [45, 10, -30, 30, -40, -25, 20, 5, -15];
    let names = ["SW", "S", "SE", "W", "C", "E", "NW", "N", "NE"];
    let spot = |(i, name): (i64, &&str)| Spot {
        point: (*name).into(),
        x: um((i % 3) * wide * 500),
        y: um((i / 3) * deep * 500),
        height: um(heights[usize::try_from(i).unwrap()] * 2),
    };
    let spots: Vec<Spot> = (0..).zip(&names).map(spot).collect();
    let doubt = Doubt {
        touch: Bound::Limits(um(10)),
        shared: Bound::Limits(um(5)),
    };
    Picture {
        land: Land::of(&spots, Facts::doubting(doubt)).unwrap(),
        plane: um(-30),
        cutter: Some(um(12_000)),
        show: Show::new(UnitSystem::Mm),
    }
}

fn drawn(width: u16) -> Style {
    Style {
        plain: false,
        ..Style::plain(width)
    }
}

#[test]
fn a_wide_plate_at_80_columns() {
    insta::assert_snapshot!(lines(&picture(240, 120), 2, &drawn(80)).join("\n"));
}

#[test]
fn a_portrait_plate_narrated_at_80_columns() {
    insta::assert_snapshot!(lines(&picture(100, 240), 0, &Style::plain(80)).join("\n"));
}

#[test]
fn colour_repeats_what_the_letters_say() {
    let bare = lines(&picture(240, 120), 2, &drawn(120));
    let style = Style {
        depth: Depth::Many,
        ..drawn(120)
    };
    let painted = lines(&picture(240, 120), 2, &style);
    let stripped: Vec<String> = painted
        .iter()
        .map(|l| console::strip_ansi_codes(l).into_owned())
        .collect();
    assert_eq!(stripped, bare);
    assert!(painted.join("").contains("\x1b[31m") && painted.join("").contains("\x1b[32m"));
}

#[test]
fn proportions_are_the_plates_own_and_no_line_is_too_wide() {
    for (wide, deep) in [(240, 120), (120, 240), (100, 100), (900, 20), (20, 900)] {
        for width in [20, 50, 80, 120] {
            let all = lines(&picture(wide, deep), 2, &drawn(width));
            let frame = all.iter().find(|l| l.contains("+-")).unwrap().trim().len() - 2;
            let rows = all
                .iter()
                .filter(|l| l.trim_start().starts_with('|'))
                .count();
            assert!(
                frame + 4 <= usize::from(width.min(100)),
                "{wide} {deep} {width}"
            );
            if rows > 2 && frame > 3 {
                let ratio = 2.0 * rows as f64 / frame as f64 / (deep as f64 / wide as f64);
                assert!(
                    (0.8..1.25).contains(&ratio),
                    "{wide} {deep} {width}: {ratio}"
                );
            }
        }
    }
}
