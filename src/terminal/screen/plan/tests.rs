use super::lines;
use crate::scene::{Cutter, Ground, Mark, Rect, Scene, Touch, Trace};
use crate::terminal::screen::style::{Depth, Style};
use crate::terminal::screen::words::width;

/// Invented: nine touches, the middle low.
fn plate(wide: f64, deep: f64) -> Scene {
    let mut scene = Scene::of(Rect::between([0.0, 0.0], [wide, deep]), String::new());
    let names = ["SW", "S", "SE", "W", "C", "E", "NW", "N", "NE"];
    let values = [
        "0.12", "0.05", "-0.03", "0.09", "-0.05", "-0.02", "0.07", "0.04", "0",
    ];
    for (n, (name, value)) in (0_u8..).zip(names.iter().zip(values)) {
        scene.touches.push(Touch {
            at: [f64::from(n % 3) * wide / 2.0, f64::from(n / 3) * deep / 2.0],
            name: (*name).to_owned(),
            value: value.to_owned(),
        });
    }
    let ninths = [
        [Mark::Clean, Mark::Likely, Mark::Stays],
        [Mark::Likely, Mark::Stays, Mark::Unknown],
        [Mark::Likely, Mark::Unknown, Mark::Unknown],
    ];
    scene.ground = Some(Ground {
        columns: 3,
        cells: ninths.concat(),
    });
    scene.cutter = Some(Cutter {
        diameter: 12.0,
        words: "12 mm".to_owned(),
        at: None,
    });
    scene.details = vec![(
        Mark::Touch,
        "name, and what the plane takes off in mm; below 0 it lies under the plane and stays"
            .to_owned(),
    )];
    scene
}

/// Invented: rows along X with a place left out, a rapid home at depth, a plunge.
fn path() -> Scene {
    let plate = Rect::between([30.0, 30.0], [270.0, 150.0]);
    let mut scene = Scene::of(plate, String::new());
    scene.show(&Rect::between([0.0, 0.0], [280.0, 150.0]));
    scene.ground = Some(Ground {
        columns: 1,
        cells: vec![Mark::Clean],
    });
    let mut add = |mark: Mark, points: &[[f64; 2]]| {
        scene.path.push(Trace {
            mark,
            level: 0,
            points: points.to_vec(),
        });
    };
    add(Mark::Rapid, &[[0.0, 0.0], [20.0, 35.0]]);
    for n in 0..6 {
        let y = 35.0 + 20.0 * f64::from(n);
        let (a, b) = if n % 2 == 0 {
            (20.0, 280.0)
        } else {
            (280.0, 20.0)
        };
        add(Mark::Feed, &[[a, y], [b, y]]);
        if n < 5 {
            add(Mark::Feed, &[[b, y], [b, y + 20.0]]);
        }
    }
    add(Mark::RapidLow, &[[20.0, 135.0], [0.0, 0.0]]);
    scene.left = vec![Rect::between([100.0, 60.0], [140.0, 62.0])];
    scene.spots = vec![
        (Mark::Start, [0.0, 0.0]),
        (Mark::FirstCut, [20.0, 35.0]),
        (Mark::Plunge, [150.0, 75.0]),
        (Mark::LastLift, [20.0, 135.0]),
    ];
    scene.details = vec![(Mark::RapidLow, "at or below Z 0.5 mm".to_owned())];
    scene
}

fn style(unicode: bool, columns: u16, lines: u16) -> Style {
    Style {
        plain: false,
        unicode,
        ..Style::plain(columns).at(columns, lines)
    }
}

#[test]
fn a_touched_plate_is_drawn_to_the_window() {
    insta::assert_snapshot!(lines(&plate(240.0, 120.0), 2, &style(true, 80, 24)).join("\n"));
    insta::assert_snapshot!(lines(&plate(100.0, 240.0), 2, &style(false, 80, 24)).join("\n"));
}

#[test]
fn a_path_is_drawn_to_the_window_with_its_dangers() {
    insta::assert_snapshot!(lines(&path(), 2, &style(false, 80, 24)).join("\n"));
    insta::assert_snapshot!(lines(&path(), 2, &style(true, 100, 40)).join("\n"));
}

#[test]
fn narrated_the_same_is_told_in_words() {
    insta::assert_snapshot!(lines(&path(), 0, &Style::plain(80)).join("\n"));
    // As where there is no room to draw.
    let narrow = Style {
        width: 7,
        ..style(false, 80, 24)
    };
    let colour = Style {
        depth: Depth::Many,
        ..style(true, 80, 24)
    };
    let painted = lines(&path(), 0, &colour).join("");
    assert!(painted.contains("\x1b[31m") && painted.contains("\x1b[32m"));
    let told = lines(&plate(240.0, 120.0), 0, &narrow).join(" ");
    assert!(told.contains("front left: clean."), "{told}");
}

#[test]
fn nothing_is_wider_or_higher_than_the_window_and_colour_adds_no_sign() {
    for scene in [
        plate(240.0, 120.0),
        plate(20.0, 900.0),
        plate(900.0, 20.0),
        path(),
    ] {
        for (columns, rows) in [(40, 24), (80, 24), (80, 50), (100, 40)] {
            let bare = lines(&scene, 2, &style(true, columns, rows));
            assert!(bare.iter().all(|l| width(l) <= usize::from(columns)));
            assert!(
                bare.len() <= usize::from(rows) - 5,
                "{} lines of {columns} x {rows}: {}",
                bare.len(),
                bare.join("\n")
            );
            let colour = Style {
                depth: Depth::Many,
                ..style(true, columns, rows)
            };
            let painted = lines(&scene, 2, &colour).join("\n");
            assert_eq!(console::strip_ansi_codes(&painted), bare.join("\n"));
        }
    }
}

#[test]
fn proportions_are_the_plates_own() {
    for (wide, deep) in [(240.0, 120.0), (120.0, 240.0), (100.0, 100.0)] {
        for (columns, rows) in [(60, 30), (80, 24), (100, 60)] {
            let all = lines(&plate(wide, deep), 2, &style(false, columns, rows));
            let count = all.iter().filter(|l| l.starts_with("  [")).count() - 2;
            let across = all.iter().find(|l| l.contains("[=")).unwrap().trim().len() - 2;
            #[allow(clippy::cast_precision_loss)] // small counts
            let ratio = 2.0 * count as f64 / across as f64 / (deep / wide);
            assert!(
                (0.8..1.25).contains(&ratio),
                "{wide} {deep} {columns}: {ratio}"
            );
        }
    }
}
