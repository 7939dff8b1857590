//! A page as one HTML file: no script, no font, nothing fetched. It prints on A4 and Letter in black and white: every
//! tone has its sign, and what a colour says stands there in words too.
//!
//! Source of the format: WHATWG, HTML Living Standard; W3C, CSS Paged Media, both from memory.

mod plate;

use super::markup::escaped;
use super::page::{Align, Block, Item, Marker, Page, Table, Tone};
use super::svg::svg;
use crate::program::picture::Picture as Path;
use std::fmt::Write;

const STYLE: &str = "\
@page{margin:14mm}
*{box-sizing:border-box}
body{font:15px/1.45 sans-serif;color:#111;background:#fff;max-width:60em;margin:0 auto;padding:1.2em}
h1{font-size:1.5em;margin:0 0 .5em}
h2{font-size:1.15em;margin:1.6em 0 .4em;border-bottom:1px solid #888;break-after:avoid}
p{margin:.4em 0}
ul{margin:.3em 0;padding-left:1.3em}
table{border-collapse:collapse;width:100%;margin:.5em 0;font-variant-numeric:tabular-nums}
th,td{border:1px solid #bbb;padding:.2em .5em;text-align:left;vertical-align:top;overflow-wrap:anywhere}
th{background:#eee;white-space:nowrap}
td.right,th.right{text-align:right}
tr{break-inside:avoid}
thead{display:table-header-group}
pre{white-space:pre-wrap;margin:.4em 0;font-size:.92em}
figure{margin:.8em 0;break-inside:avoid}
figcaption{margin-top:.3em}
svg{max-height:150mm}
.quiet{color:#444;font-size:.9em;overflow-wrap:anywhere}
.strong,.stop{font-weight:bold}
.signal{border:2px solid #111;padding:.4em .6em;margin:.5em 0}
@media print{body{font-size:9.5pt;max-width:none;padding:0}}
";

/// The file's text.
pub fn document(title: &str, page: &Page) -> String {
    let mut out = format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" \
         content=\"width=device-width\">\n<title>{}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<main>\n",
        escaped(title)
    );
    let mut headed = false;
    for block in &page.blocks {
        one(&mut out, block, &mut headed);
    }
    out.push_str("</main>\n</body>\n</html>\n");
    out
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

// Writing to a String cannot fail.
fn one(out: &mut String, block: &Block, headed: &mut bool) {
    match block {
        Block::Heading { title, .. } => {
            let level = if *headed { 2 } else { 1 };
            *headed = true;
            let _ = writeln!(out, "<h{level}>{}</h{level}>", escaped(title));
        }
        Block::Step { title, .. } => {
            let _ = writeln!(out, "<h3>{}</h3>", escaped(title));
        }
        Block::Status(facts) => {
            for fact in facts {
                let (label, value) = (escaped(&fact.label), escaped(&fact.value));
                let _ = writeln!(out, "<p class=\"{}\">{label} {value}</p>", class(fact.tone));
            }
        }
        Block::Text { tone, text } => {
            for line in text.lines() {
                let _ = writeln!(
                    out,
                    "<p class=\"{}\">{}{}</p>",
                    class(*tone),
                    sign(*tone),
                    escaped(line)
                );
            }
        }
        Block::Signal { word, text } => {
            let text = escaped(text);
            let _ = writeln!(
                out,
                "<p class=\"signal\"><strong>{}</strong>: {text}</p>",
                word.word()
            );
        }
        Block::Working(lines) => {
            let lines: Vec<String> = lines.iter().map(|l| escaped(l)).collect();
            let _ = writeln!(out, "<pre>{}</pre>", lines.join("\n"));
        }
        Block::List(items) => list(out, items),
        Block::Options(choices) => {
            out.push_str("<ul>\n");
            for choice in choices {
                let (word, about) = (escaped(&choice.word), escaped(&choice.description));
                let _ = writeln!(out, "<li>{word} {about}</li>");
            }
            out.push_str("</ul>\n");
        }
        Block::Table(table) => rows(out, table),
        Block::Drawing(picture) => drawing(out, picture),
        Block::Map(picture) => out.push_str(&plate::figure(picture)),
        Block::Next(text) => {
            let _ = writeln!(out, "<p class=\"action\">{}</p>", escaped(text));
        }
        Block::Gap => {}
    }
}

fn list(out: &mut String, items: &[Item]) {
    out.push_str("<ul>\n");
    for item in items {
        let before = match item.marker {
            Marker::Open => "Open: ".to_owned(),
            Marker::Number(n) => format!("{n}. "),
            Marker::Dot | Marker::Done | Marker::Now => sign(item.tone).to_owned(),
        };
        let (class, text) = (class(item.tone), escaped(&item.text));
        let _ = writeln!(out, "<li class=\"{class}\">{before}{text}</li>");
    }
    out.push_str("</ul>\n");
}

fn rows(out: &mut String, table: &Table) {
    let side = |i: usize| match table.align.get(i) {
        Some(Align::Right) => " class=\"right\"",
        _ => "",
    };
    let cells = |out: &mut String, tag: &str, cells: &[String]| {
        out.push_str("<tr>");
        for i in 0..cells.len().max(table.head.len()) {
            let text = cells.get(i).map_or(String::new(), |c| escaped(c));
            let _ = write!(out, "<{tag}{}>{text}</{tag}>", side(i));
        }
        out.push_str("</tr>\n");
    };
    out.push_str("<table>\n<thead>");
    cells(out, "th", &table.head);
    out.push_str("</thead>\n<tbody>\n");
    for row in &table.rows {
        cells(out, "td", row);
    }
    out.push_str("</tbody>\n</table>\n");
}

fn drawing(out: &mut String, picture: &Path) {
    let _ = writeln!(
        out,
        "<figure>\n{}</figure>",
        svg(picture, "The path of the program over the plate", &[])
    );
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
            .list([Item::toned(Tone::Look, "outside"), Item::new("inside")])
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
            "<p class=\"stop\">Stop: a</p>\n<p class=\"stop\">Stop: b</p>",
            "<strong>WARNING</strong>: &quot;sharp&quot;",
            "<pre>x = 1\n  = 2</pre>",
            "<li class=\"look\">Look: outside</li>\n<li class=\"plain\">inside</li>",
            "<tr><td>C</td><td class=\"right\">-0.17</td></tr>\n<tr><td>SW</td><td class=\"right\"></td></tr>",
        ] {
            assert!(file.contains(part), "{part} is missing in {file}");
        }
        for foreign in ["<script", "href", "src=", "url(", "@import"] {
            assert!(!file.contains(foreign), "{foreign} in {file}");
        }
    }
}
