//! Pages drawn whole, at several widths and with more and less to draw with.

use super::render;
use crate::procedure::model::SignalWord;
use crate::report::page::{Align, Choice, Item, Marker, Page, PageFact, Table, Tone};
use crate::terminal::screen::style::{Depth, Style};
use crate::terminal::screen::words::width;

fn style(depth: Depth, unicode: bool, width: usize) -> Style {
    Style {
        depth,
        plain: false,
        unicode,
        still: false,
        width,
        height: None,
    }
}

/// Invented figures; the touch table is the worked example of the method.
fn question() -> Page {
    Page::new()
        .heading("Touch off", 3, 9)
        .status([
            PageFact::new("machine", "small mill"),
            PageFact::new("plate", "bed plate 1"),
            PageFact::new("cutter", "12 mm, 3 flutes"),
            PageFact::new("operator", "AB"),
            PageFact::new("pass", "2, roughing"),
            PageFact::toned("cycle start", "HELD, 4 reasons", Tone::Stop),
        ])
        .gap()
        .step("Touch the four corners and the middle", 4, 8)
        .signal(
            SignalWord::Warning,
            "The cutter turns while you touch off. Keep hands, sleeves and brush away from it; come down in steps of 0.01 mm.",
        )
        .text("Lower the slowly turning cutter over P3 until it just marks the plate.")
        .gap()
        .next("type what the Z readout shows, or why, back, note, hand over, stop")
}

fn rest() -> Page {
    Page::new()
        .working([
            "plane = lowest - clearance",
            "      = -0.24 mm - 0.05 mm = -0.29 mm",
            "chip load = feed / (teeth x speed) = 900 mm/min / (3 x 12000 rev/min) = 0.025 mm = 0.00098 in",
        ])
        .gap()
        .gap()
        .table(Table {
            head: ["touch", "readout", "do", "height"].map(String::from).to_vec(),
            rows: vec![
                ["P1", "zeroed", "", "0.00"].map(String::from).to_vec(),
                ["P2", "-0.12", "lower: zero here", "-0.12"].map(String::from).to_vec(),
            ],
            align: vec![Align::Left, Align::Right, Align::Left, Align::Right],
        })
        .options([
            Choice::new(1, "stopped", "the spindle stands still"),
            Choice::new(2, "coasting", "it still turns, although the control shows it off"),
        ])
        .list([
            Item::marked(Marker::Done, Tone::Good, "homed"),
            Item::marked(Marker::Now, Tone::Strong, "touch off"),
            Item::marked(Marker::Open, Tone::Plain, "sign"),
            Item::toned(Tone::Stop, "the program was changed after it was examined"),
            Item::new("nothing else"),
            Item::marked(Marker::Number(12), Tone::Plain, "twelfth"),
        ])
        .toned(Tone::Good, "in range")
        .toned(Tone::Look, "near the limit\nsecond paragraph")
        .toned(Tone::Quiet, "saved")
}

#[test]
fn a_question_at_80_columns() {
    insta::assert_snapshot!(render(&question(), &style(Depth::None, true, 80)));
}

#[test]
fn a_question_at_120_columns_is_drawn_for_100() {
    let wide = Style {
        plain: false,
        unicode: true,
        ..Style::plain(120)
    };
    insta::assert_snapshot!(render(&question(), &wide));
}

#[test]
fn a_question_in_colour() {
    let drawn = render(&question(), &style(Depth::Many, true, 80));
    insta::assert_snapshot!(drawn.replace('\x1b', "^"));
}

#[test]
fn a_question_narrated() {
    insta::assert_snapshot!(render(&question(), &Style::plain(80)));
}

#[test]
fn a_question_at_50_columns_in_ascii() {
    insta::assert_snapshot!(render(&question(), &style(Depth::None, false, 50)));
}

#[test]
fn the_other_blocks_at_80_columns() {
    insta::assert_snapshot!(render(&rest(), &style(Depth::None, true, 80)));
}

#[test]
fn the_other_blocks_at_50_columns_in_ascii() {
    insta::assert_snapshot!(render(&rest(), &style(Depth::None, false, 50)));
}

#[test]
fn the_other_blocks_narrated() {
    insta::assert_snapshot!(render(&rest(), &Style::plain(80)));
}

#[test]
fn paint_changes_nothing_but_colour() {
    for columns in [20, 33, 50, 80, 100] {
        let bare = style(Depth::None, true, columns);
        // Signal words have a panel in place of a colon, so they are left out here.
        let page = rest().then(Page::new().heading("Sign", 7, 9).step("Sign off", 1, 1));
        for depth in [Depth::Eight, Depth::Many] {
            let painted = render(&page, &style(depth, true, columns));
            assert_ne!(painted, render(&page, &bare));
            let stripped = console::strip_ansi_codes(&painted).into_owned();
            assert_eq!(stripped, render(&page, &bare));
        }
    }
}

#[test]
fn no_line_is_wider_than_the_screen_and_none_ends_in_spaces() {
    for columns in 24..=100 {
        for depth in [Depth::None, Depth::Many] {
            for plain in [true, false] {
                let style = Style {
                    plain,
                    ..style(depth, !plain, columns)
                };
                for line in render(&question().then(rest()), &style).lines() {
                    assert!(width(line) <= columns, "{columns}: {line}");
                    assert_eq!(line, line.trim_end_matches(' '));
                }
            }
        }
    }
}

#[test]
fn a_question_with_a_caution_fits_a_screen_of_24_lines_with_room_for_the_prompt() {
    assert!(
        render(&question(), &style(Depth::Many, true, 80))
            .lines()
            .count()
            <= 20
    );
}

#[test]
fn escape_sequences_in_any_text_stay_out() {
    let bad = "x\x1b[31m\u{7}y";
    let page = Page::new()
        .heading(bad, 1, 2)
        .step(bad, 1, 2)
        .status([PageFact::new(bad, bad)])
        .signal(SignalWord::Danger, bad)
        .text(bad)
        .working([bad])
        .list([Item::new(bad)])
        .options([Choice::new(1, bad, bad), Choice::new(2, bad, "")])
        .table(Table {
            head: vec![bad.into()],
            rows: vec![vec![bad.into(), bad.into()]],
            align: vec![],
        })
        .next(bad);
    for style in [
        Style::plain(80),
        style(Depth::None, true, 80),
        style(Depth::None, true, 20),
    ] {
        let drawn = render(&page, &style);
        assert!(
            !drawn.chars().any(|c| c.is_control() && c != '\n'),
            "{drawn:?}"
        );
    }
}
