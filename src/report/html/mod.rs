//! A page as one HTML file: no script, no font, nothing fetched. It prints on A4 and Letter in black and white: every
//! tone has its sign, and what a colour says stands there in words too.
//!
//! The template escapes whatever stands in it. Characters that would turn the direction of text, or that a file may not
//! hold, are made visible in the finished file.
//!
//! Source of the format: WHATWG, HTML Living Standard; W3C, CSS Paged Media, both from memory.

use super::page::{Align, Block, Item, Marker, Page, Table, Tone};
use crate::procedure::model::SignalWord;
use crate::scene::{Scene, svg};
use crate::visible;
use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: &str = include_str!("style.css");

/// The file's text.
pub(crate) fn document(title: &str, page: &Page) -> String {
    let first = page
        .blocks
        .iter()
        .position(|b| matches!(b, Block::Heading { .. }));
    let file = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    @for (n, block) in page.blocks.iter().enumerate() { (one(block, n, Some(n) == first)) "\n" }
                }
            }
        }
    };
    format!("{}\n", visible::text(&file.into_string()))
}

/// A scene as a file of its own.
pub(crate) fn drawing(scene: &Scene) -> String {
    let file = svg::svg(scene, "plan", true).into_string();
    format!("{}\n", visible::text(&file))
}

fn class(tone: Tone) -> &'static str {
    match tone {
        Tone::Plain => "plain",
        Tone::Strong => "strong",
        Tone::Quiet => "quiet",
        Tone::Action => "action",
        Tone::Good => "good",
        Tone::Look => "look",
        Tone::Stop => "stop",
    }
}

/// What a tone is called where it must not be missed.
fn sign(tone: Tone) -> &'static str {
    match tone {
        Tone::Look => "Look: ",
        Tone::Stop => "Stop: ",
        _ => "",
    }
}

fn signal(word: SignalWord) -> &'static str {
    match word {
        SignalWord::Danger => "danger",
        SignalWord::Warning => "warning",
        SignalWord::Caution => "caution",
        SignalWord::Notice => "notice",
    }
}

/// A block; `n` tells it from the others, `first` whether it is the heading of the whole.
fn one(block: &Block, n: usize, first: bool) -> Markup {
    match block {
        Block::Heading { title, .. } if first => html! { h1 { (title) } },
        Block::Heading { title, .. } => html! { h2 { (title) } },
        Block::Step { title, .. } => html! { h3 { (title) } },
        Block::Status(facts) => html! {
            @for fact in facts { p class=(class(fact.tone)) { (fact.label) " " (fact.value) } }
        },
        Block::Values(values) => html! {
            @for value in values { p class=(class(value.tone)) { (value.label) ": " (value.value) } }
        },
        Block::Text { tone, text } => html! {
            @for line in text.lines() { p class=(class(*tone)) { (sign(*tone)) (line) } }
        },
        Block::Signal { word, text } => html! {
            p.signal { strong class=(signal(*word)) { (word.word()) } ": " (text) }
        },
        Block::Working(lines) => html! { pre { (lines.join("\n")) } },
        Block::List(items) => html! { ul { @for item in items { (entry(item)) } } },
        Block::Options(choices) => html! {
            ul { @for choice in choices { li { (choice.word) " " (choice.description) } } }
        },
        Block::Table(table) => rows(table),
        Block::Scene(scene) => figure(scene, &format!("plan{n}")),
        Block::Next(text) => html! { p.action { (text) } },
        Block::Gap => html! {},
    }
}

fn entry(item: &Item) -> Markup {
    let before = match item.marker {
        Marker::Open => "Open: ".to_owned(),
        Marker::Number(n) => format!("{n}. "),
        Marker::Dot | Marker::Done | Marker::Now => sign(item.tone).to_owned(),
    };
    html! { li class=(class(item.tone)) { (before) (item.text) } }
}

/// A table that scrolls by itself where the screen is narrower; each row has as many cells as the widest.
fn rows(table: &Table) -> Markup {
    let most = table.rows.iter().map(Vec::len).chain([table.head.len()]);
    let count = most.max().unwrap_or(0);
    let side = |i: usize| (table.align.get(i) == Some(&Align::Right)).then_some("right");
    let cell = |row: &[String], i: usize| row.get(i).cloned().unwrap_or_default();
    html! {
        div.table {
            table {
                @if !table.head.is_empty() {
                    thead { tr { @for i in 0..count { th class=[side(i)] { (cell(&table.head, i)) } } } }
                }
                tbody {
                    @for row in &table.rows {
                        tr { @for i in 0..count { td class=[side(i)] { (breakable(&cell(row, i))) } } }
                    }
                }
            }
        }
    }
}

/// A text whose long words, such as digests, may be broken: no word makes a column wider than a page.
fn breakable(text: &str) -> Markup {
    const LONG: usize = 16;
    html! {
        @for (n, word) in text.split(' ').enumerate() {
            @if n > 0 { " " }
            @if word.len() <= 2 * LONG {
                (word)
            } @else {
                @for (n, c) in word.chars().enumerate() {
                    @if n > 0 && n % LONG == 0 { wbr; }
                    (c)
                }
            }
        }
    }
}

/// A scene with its legend beside it, in letters of the page.
fn figure(scene: &Scene, id: &str) -> Markup {
    html! {
        figure {
            (svg::svg(scene, id, false))
            figcaption {
                p.strong { (scene.title) "." }
                ul.legend {
                    @for entry in svg::legend(scene) {
                        li { (svg::swatch(scene, id, &entry)) span { (entry.text) } }
                    }
                }
                @for note in &scene.notes { p { (note) } }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::document;
    use crate::procedure::model::SignalWord;
    use crate::report::page::{Align, Item, Page, Table, Tone};

    #[test]
    fn a_page_becomes_a_file_that_carries_no_more_than_text() {
        let page = Page::new()
            .title("Run <1>")
            .title("Cuts & more")
            .toned(Tone::Stop, "a\nb")
            .signal(SignalWord::Warning, "\"sharp\"")
            .working(["x = 1", "  = 2"])
            .list([
                Item::toned(Tone::Look, "outside"),
                Item::new("in\u{202e}side\u{1}"),
            ])
            .table(Table {
                head: vec!["point".into(), "height".into()],
                rows: vec![vec!["C".into(), "-0.17".into()], vec!["SW".into()]],
                align: vec![Align::Left, Align::Right],
            });
        let file = document("a <run>", &page);
        for part in [
            "<title>a &lt;run&gt;</title>",
            "<h1>Run &lt;1&gt;</h1>",
            "<h2>Cuts &amp; more</h2>",
            "<p class=\"stop\">Stop: a</p><p class=\"stop\">Stop: b</p>",
            "<strong class=\"warning\">WARNING</strong>: &quot;sharp&quot;",
            "<pre>x = 1\n  = 2</pre>",
            "<li class=\"look\">Look: outside</li><li class=\"plain\">in\\u202eside\\u0001</li>",
            "<tr><td>C</td><td class=\"right\">-0.17</td></tr><tr><td>SW</td><td class=\"right\"></td></tr>",
        ] {
            assert!(file.contains(part), "{part} is missing in {file}");
        }
        for foreign in ["<script", "href", "src=", "url(", "@import"] {
            assert!(!file.contains(foreign), "{foreign} in {file}");
        }
    }
}
