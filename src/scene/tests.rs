//! The renderers against places known beforehand.

use super::marks::Stroke;
use super::raster::{Raster, raster};
use super::{Cutter, Ground, Mark, Obstacle, Rect, Scene, Touch, Trace, svg, words};
use std::collections::BTreeSet;

/// Invented: a plate of 240 x 120 mm from X30 Y30. Its back third keeps its skin, a strip in the middle is not reached; a row
/// of feed at Y90, a rapid at depth from corner to corner, a start in the air.
fn scene() -> Scene {
    let mut scene = Scene::of(
        Rect::between([30.0, 30.0], [270.0, 150.0]),
        "rows <1> & \"2\"".to_owned(),
    );
    scene.show(&Rect::between([6.0, 6.0], [294.0, 160.0]));
    scene.ground = Some(Ground {
        columns: 2,
        cells: [[Mark::Clean; 2], [Mark::Likely; 2], [Mark::Stays; 2]].concat(),
    });
    scene.left = vec![Rect::between([100.0, 60.0], [140.0, 60.5])];
    scene.obstacles = vec![Obstacle {
        at: [288.0, 90.0],
        radius: 5.0,
        name: "clamp".to_owned(),
    }];
    let trace = |mark, points: &[[f64; 2]]| Trace {
        mark,
        level: 0,
        points: points.to_vec(),
    };
    scene.path = vec![
        trace(Mark::Rapid, &[[10.0, 10.0], [20.0, 90.0]]),
        trace(Mark::FeedOff, &[[20.0, 90.0], [24.0, 90.0]]),
        trace(Mark::Feed, &[[24.0, 90.0], [276.0, 90.0]]),
        trace(Mark::RapidLow, &[[276.0, 90.0], [500.0, 90.0]]),
    ];
    scene.touches = vec![Touch {
        at: [42.0, 42.0],
        name: "SW".to_owned(),
        value: "-0.12".to_owned(),
    }];
    scene.spots = vec![
        (Mark::Start, [10.0, 10.0]),
        (Mark::FirstCut, [10.0, 10.0]),
        (Mark::Plunge, [200.0, 90.0]),
        (Mark::Finding(1), [276.0, 90.0]),
        (Mark::Finding(2), [10.0, 10.0]),
    ];
    scene.cutter = Some(Cutter {
        diameter: 12.0,
        words: "12 mm".to_owned(),
        at: Some([24.0, 90.0]),
    });
    scene.details = vec![(Mark::Start, "X10 Y10".to_owned())];
    scene.notes = vec!["Not reached: 8 % of the plate.".to_owned()];
    scene
}

fn drawn(scene: &Scene, columns: usize, rows: usize) -> Raster {
    let raster = raster(scene, columns, rows).unwrap();
    assert!(raster.rows.len() <= rows);
    assert!(raster.rows.iter().all(|r| r.len() <= columns));
    raster
}

fn text(raster: &Raster) -> Vec<String> {
    let glyph = |c: &super::raster::Cell| match (c.letter, c.mark) {
        (Some(letter), _) => letter,
        (None, Some(mark)) => c.stroke.glyph(mark, false),
        (None, None) => ' ',
    };
    let rows = raster.rows.iter();
    rows.map(|r| r.iter().map(glyph).collect()).collect()
}

/// Where a mark is, as column and row.
fn found(raster: &Raster, mark: Mark) -> Vec<[usize; 2]> {
    let rows = raster.rows.iter().enumerate();
    rows.flat_map(|(row, cells)| {
        let cells = cells.iter().enumerate();
        cells
            .filter(|(_, c)| c.mark == Some(mark))
            .map(move |(column, _)| [column, row])
            .collect::<Vec<_>>()
    })
    .collect()
}

// By hand: 62 columns less two of the outline over 240 mm give 4 mm each, 8 mm a row: 15 rows of the plate.
#[test]
fn a_bare_plate_in_characters_has_its_own_proportions() {
    let mut bare = Scene::of(Rect::between([0.0, 0.0], [240.0, 120.0]), String::new());
    bare.touches = vec![Touch {
        at: [2.0, 118.0],
        name: "NW".to_owned(),
        value: "0.1".to_owned(),
    }];
    let raster = drawn(&bare, 62, 99);
    assert_eq!((raster.rows.len(), raster.rows[0].len()), (17, 62));
    assert_eq!(found(&raster, Mark::Touch), [[1, 1]]);
    let lines = text(&raster);
    assert_eq!(lines[0], format!("[{}]", "=".repeat(60)));
    assert!(lines[1].starts_with("[+NW 0.1 "), "{}", lines[1]);
    // Little room either way still holds all of the plate.
    for (columns, rows) in [(20, 40), (80, 8), (12, 4), (300, 200)] {
        let raster = drawn(&bare, columns, rows);
        let corners = found(&raster, Mark::Edge);
        assert!(corners.contains(&[0, 0]));
        let last = [raster.rows[0].len() - 1, raster.rows.len() - 1];
        assert!(corners.contains(&last));
    }
    assert!(raster_of_nothing().is_none());
}

fn raster_of_nothing() -> Option<Raster> {
    let empty = Scene::of(Rect::between([0.0, 0.0], [0.0, 120.0]), String::new());
    raster(&empty, 80, 20)
}

#[test]
fn places_stand_where_they_are_and_bad_news_wins() {
    let raster = drawn(&scene(), 80, 30);
    let lines = text(&raster).join("\n");
    // The strip is half a millimetre wide, and shows.
    let strip = found(&raster, Mark::Stays);
    let at = |x: f64, y: f64| {
        // The plate's own characters: after the outline, of equal size.
        let edges = found(&raster, Mark::Edge);
        let (low, high) = (edges.first().unwrap(), edges.last().unwrap());
        let share = |v: f64, low: f64, high: f64, of: usize| {
            #[allow(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                clippy::cast_precision_loss
            )]
            let n = ((v - low) / (high - low) * of as f64) as usize;
            n.min(of - 1)
        };
        let (wide, tall) = (high[0] - low[0] - 1, high[1] - low[1] - 1);
        [
            low[0] + 1 + share(x, 30.0, 270.0, wide),
            high[1] - 1 - share(y, 30.0, 150.0, tall),
        ]
    };
    assert!(strip.contains(&at(101.0, 60.2)) && strip.contains(&at(139.0, 60.2)));
    assert!(!strip.contains(&at(90.0, 60.2)));
    assert!(strip.contains(&at(31.0, 149.0)) && !strip.contains(&at(31.0, 69.0)));
    assert_eq!(found(&raster, Mark::Touch), [at(42.0, 42.0)]);
    assert_eq!(found(&raster, Mark::Plunge), [at(200.0, 90.0)], "{lines}");
    assert_eq!(found(&raster, Mark::Start).len(), 1);
    // The first cut lies under the start, the finding on the rapid at depth.
    assert!(found(&raster, Mark::FirstCut).is_empty());
    assert_eq!(found(&raster, Mark::Finding(1)).len(), 1);
    // A finding at the start stands next to it.
    let [column, row] = found(&raster, Mark::Start)[0];
    assert_eq!(found(&raster, Mark::Finding(2)), [[column + 1, row]]);
    let [low_row, ..] = found(&raster, Mark::RapidLow)[..] else {
        panic!("{lines}")
    };
    assert_eq!(low_row[1], at(150.0, 90.0)[1]);
    assert!(lines.contains('>') && lines.contains("SW -0.12"), "{lines}");
    let row = &raster.rows[at(150.0, 90.0)[1]];
    assert!(row.iter().any(|c| c.stroke == Stroke::Right));
}

#[test]
fn in_words_every_part_and_every_danger_has_its_place() {
    let said = words::lines(&scene()).join("\n");
    for part in [
        "front left: clean.",
        "middle: likely clean.",
        "back right: old skin stays.",
        "touched. SW -0.12.",
        "first cut: X10 Y10.",
        "old skin stays, within X100 to X140, Y60 to Y60.5.",
        "LOW RAPID. 1 place, within X276 to X500, Y90 to Y90.",
        "PLUNGE into the plate: X200 Y90.",
        "start: X10 Y10.",
        "findings: b at X276 Y90; c at X10 Y10.",
        "clamp at X288 Y90.",
        "cutter: 12 mm.",
        "Not reached: 8 % of the plate.",
    ] {
        assert!(said.contains(part), "{part} is missing in {said}");
    }
}

/// Numbers of an attribute.
fn numbers(text: &str) -> Vec<f64> {
    text.split([' ', ','])
        .map(|n| n.parse().unwrap_or_else(|_| panic!("{text}")))
        .collect()
}

#[test]
fn the_svg_is_sound_and_names_nothing_outside() {
    for alone in [true, false] {
        let file = svg::svg(&scene(), "p1", alone).into_string();
        let document = roxmltree::Document::parse(&file).unwrap();
        let root = document.root_element();
        assert_eq!(
            root.tag_name().namespace(),
            Some("http://www.w3.org/2000/svg")
        );
        let [left, top, wide, high] = numbers(root.attribute("viewBox").unwrap())[..] else {
            panic!("{file}")
        };
        assert!(left < 0.0 && top < 0.0 && wide > 288.0 && high > 154.0);
        let mut ids = BTreeSet::new();
        for node in document.descendants().filter(roxmltree::Node::is_element) {
            assert!(!["script", "style", "image", "use"].contains(&node.tag_name().name()));
            for attribute in node.attributes() {
                let value = attribute.value();
                assert!(!attribute.name().contains("href") && !attribute.name().starts_with("on"));
                if attribute.name() == "id" {
                    assert!(ids.insert(value.to_owned()), "{value} comes twice");
                }
                if let Some(name) = value.strip_prefix("url(") {
                    assert!(name.starts_with("#p1-"), "{value}");
                }
                for wrong in ["NaN", "inf"] {
                    assert!(!value.contains(wrong), "{value}");
                }
            }
        }
        for name in document.descendants().filter_map(|n| {
            n.attribute("fill")?
                .strip_prefix("url(#")?
                .strip_suffix(')')
        }) {
            assert!(ids.contains(name), "{name} is nowhere");
        }
        let child = |tag: &str| {
            let node = root
                .children()
                .find(|n| n.has_tag_name(("http://www.w3.org/2000/svg", tag)));
            node.and_then(|n| n.text()).unwrap_or_default().to_owned()
        };
        assert_eq!(child("title"), "rows <1> & \"2\"");
        assert!(child("desc").contains("PLUNGE into the plate: X200 Y90."));
        let legend = file.contains(">edge of the plate<") || file.contains(">old skin stays<");
        assert_eq!(legend, alone);
    }
}

// By hand: the sight is X6 to X294, Y6 to Y160, so X is less 6 and Y is 160 less Y.
#[test]
fn coordinates_of_the_svg_are_those_of_the_data() {
    let file = svg::svg(&scene(), "p1", true).into_string();
    let document = roxmltree::Document::parse(&file).unwrap();
    let of = |tag: &str, attribute: &str, value: &str| {
        let mut nodes = document.descendants();
        nodes.any(|n| n.tag_name().name() == tag && n.attribute(attribute) == Some(value))
    };
    assert!(of("polyline", "points", "18,70 270,70"), "{file}");
    assert!(of("polyline", "points", "270,70 494,70"));
    let circles: Vec<[String; 3]> = document
        .descendants()
        .filter(|n| n.has_tag_name(("http://www.w3.org/2000/svg", "circle")))
        .map(|n| ["cx", "cy", "r"].map(|a| n.attribute(a).unwrap_or_default().to_owned()))
        .collect();
    let circle = |cx: &str, cy: &str| circles.iter().find(|c| c[0] == cx && c[1] == cy);
    // Touch, plunge, and the cutter and the clamp to scale.
    assert!(circle("36", "118").is_some() && circle("194", "70").is_some());
    assert_eq!(circle("18", "70").unwrap()[2], "6");
    assert_eq!(circle("282", "70").unwrap()[2], "5");
    let strip = document
        .descendants()
        .find(|n| n.attribute("height") == Some("0.5"));
    let strip = strip.unwrap();
    assert_eq!(strip.attribute("x"), Some("94"));
    assert_eq!(strip.attribute("y"), Some("99.5"));
    assert_eq!(strip.attribute("width"), Some("40"));
    assert!(file.contains(">S F</text>"));
}

// Three touches a few millimetres apart on a narrow plate: a label beside the wrong one would be read as its value.
#[test]
fn a_label_is_nearest_to_its_own_touch_or_left_out() {
    let mut scene = Scene::of(
        Rect::between([0.0, 0.0], [600.0, 60.0]),
        "narrow".to_owned(),
    );
    for (name, y) in [("A1", 3.0), ("A2", 30.0), ("A3", 57.0)] {
        scene.touches.push(Touch {
            at: [300.0, y],
            name: name.to_owned(),
            value: "0.10".to_owned(),
        });
    }
    let file = svg::svg(&scene, "p1", true).into_string();
    let document = roxmltree::Document::parse(&file).unwrap();
    let mut labels = 0;
    for node in document
        .descendants()
        .filter(|n| n.tag_name().name() == "text")
    {
        let text = node.text().unwrap_or_default();
        let Some(touch) = scene.touches.iter().find(|t| text.starts_with(&t.name)) else {
            continue;
        };
        labels += 1;
        let y: f64 = node.attribute("y").unwrap().parse().unwrap();
        let away = |t: &Touch| (60.0 - t.at[1] - y).abs();
        let nearest = scene
            .touches
            .iter()
            .min_by(|a, b| away(a).total_cmp(&away(b)));
        assert_eq!(nearest.unwrap().name, touch.name, "{text}");
    }
    assert!(labels >= 1);
}
