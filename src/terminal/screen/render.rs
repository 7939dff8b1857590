//! Draws a page for a style. Pure: same page and style, same text.
//!
//! Headings, steps and the status stand at the left edge, everything else two columns in (none when narrated, where
//! indentation only costs a listener time). Paint goes on after wrapping, so widths are counted on bare text.

use super::paint;
use super::plan;
use super::style::Style;
use super::table;
use super::words::{clean, width, wrap, wrap_hanging};
use crate::procedure::model::SignalWord;
use crate::report::page::{Block, Choice, Item, Page, PageFact, Progress, Tone};

/// Draws the page; every line ends with a line end.
pub(crate) fn render(page: &Page, style: &Style) -> String {
    let mut pen = Pen {
        style,
        out: String::new(),
    };
    for block in &page.blocks {
        pen.block(block);
    }
    pen.out
}

/// How many lines of the window a page leaves free; of 24 where there is no window.
pub(crate) fn lines_left(page: &Page, style: &Style) -> usize {
    let taken = render(page, style).lines().count();
    style.height.unwrap_or(24).saturating_sub(taken)
}

struct Pen<'a> {
    style: &'a Style,
    out: String,
}

impl Pen<'_> {
    fn block(&mut self, block: &Block) {
        match block {
            Block::Heading { title, place } => self.heading(title, *place),
            Block::Step { title, place } => self.step(title, *place),
            Block::Status(facts) => {
                let colon = if self.style.plain { ": " } else { " " };
                self.next_to_each_other(facts, colon);
            }
            Block::Values(values) => self.next_to_each_other(values, ": "),
            Block::Text { tone, text } => {
                let sign = paint::sign(*tone, self.style);
                let under = if self.style.plain {
                    String::new()
                } else {
                    " ".repeat(width(sign))
                };
                for (n, part) in text.lines().enumerate() {
                    let lead = if n == 0 { sign } else { &under };
                    self.hang(self.indent(), lead, *tone, part, *tone);
                }
            }
            Block::Signal { word, text } => self.signal(*word, text),
            Block::Working(lines) => self.working(lines),
            Block::List(items) => self.list(items),
            Block::Options(choices) => self.options(choices),
            Block::Table(rows) => {
                for line in table::lines(rows, self.indent(), self.style) {
                    self.line(&line);
                }
            }
            Block::Scene(scene) => {
                for line in plan::lines(scene, self.indent(), self.style) {
                    self.line(&line);
                }
            }
            Block::Next(text) => {
                let sign = if self.style.plain {
                    "Next: "
                } else {
                    paint::sign(Tone::Action, self.style)
                };
                self.hang(self.indent(), sign, Tone::Action, text, Tone::Plain);
            }
            Block::Gap => {
                // A gap that opens a page parts it from the page before.
                if self.out != "\n" && !self.out.ends_with("\n\n") {
                    self.line("");
                }
            }
        }
    }

    fn indent(&self) -> usize {
        if self.style.plain { 0 } else { 2 }
    }

    fn line(&mut self, text: &str) {
        self.out.push_str(text.trim_end_matches(' '));
        self.out.push('\n');
    }

    fn paint(&self, tone: Tone, text: &str) -> String {
        paint::tone(tone, text, self.style)
    }

    /// Text behind a lead, later lines under the first word. Where the lead leaves too little room, they start at the
    /// indentation instead.
    fn hang(&mut self, indent: usize, lead: &str, lead_tone: Tone, text: &str, tone: Tone) {
        let lead_width = width(lead);
        let room = self.style.width.saturating_sub(indent + lead_width);
        let pad = " ".repeat(indent);
        if lead_width > 0 && room < 12 {
            let lead = self.paint(lead_tone, lead.trim_end());
            self.line(&format!("{pad}{lead}"));
            return self.hang(indent, "", Tone::Plain, text, tone);
        }
        let under = " ".repeat(lead_width);
        let lead = self.paint(lead_tone, lead);
        for (n, line) in wrap(text, room, self.style).iter().enumerate() {
            let lead = if n == 0 { &lead } else { &under };
            let line = self.paint(tone, line);
            self.line(&format!("{pad}{lead}{line}"));
        }
    }

    fn heading(&mut self, title: &str, place: Option<Progress>) {
        let style = self.style;
        if style.plain {
            let lead = place.map_or_else(String::new, |p| counted("Phase", p, ": "));
            return self.hang(0, &lead, Tone::Plain, title, Tone::Plain);
        }
        let count = place.map_or_else(String::new, |p| {
            format!("{}{}", counted("phase", p, ""), paint::between(style))
        });
        let title = clean(title, style.unicode);
        let taken = 3 + width(&count) + width(&title) + 1;
        if taken + 3 > style.width {
            return self.hang(0, &count, Tone::Quiet, &title, Tone::Strong);
        }
        let head = [
            self.paint(Tone::Quiet, &paint::rule(2, style)),
            " ".to_owned(),
            self.paint(Tone::Quiet, &count),
            self.paint(Tone::Strong, &title),
            " ".to_owned(),
            self.paint(Tone::Quiet, &paint::rule(style.width - taken, style)),
        ];
        self.line(&head.concat());
    }

    fn step(&mut self, title: &str, place: Option<Progress>) {
        let lead = match (place, self.style.plain) {
            (None, _) => String::new(),
            (Some(p), true) => format!("Question {} of about {}: ", p.number, p.of),
            (Some(p), false) => format!(
                "question {} of about {}{}",
                p.number,
                p.of,
                paint::between(self.style)
            ),
        };
        self.hang(0, &lead, Tone::Quiet, title, Tone::Strong);
    }

    /// Facts side by side as far as they fit; one is broken only where it alone is wider than the line.
    fn next_to_each_other(&mut self, facts: &[PageFact], colon: &str) {
        let style = self.style;
        let gap = paint::between(style);
        let pad = " ".repeat(self.indent());
        let mut line = pad.clone();
        let mut taken = self.indent();
        for fact in facts {
            let label = format!("{}{colon}", clean(&fact.label, style.unicode));
            let value = clean(&fact.value, style.unicode);
            let wide = width(&label) + width(&value);
            let fresh = taken == self.indent();
            if !fresh && taken + width(gap) + wide > style.width {
                self.line(&line);
                line.clone_from(&pad);
                taken = self.indent();
            } else if !fresh {
                line.push_str(&self.paint(Tone::Quiet, gap));
                taken += width(gap);
            }
            if self.indent() + wide > style.width {
                self.hang(self.indent(), &label, Tone::Quiet, &value, fact.tone);
                continue;
            }
            line.push_str(&self.paint(Tone::Quiet, &label));
            line.push_str(&self.paint(fact.tone, &value));
            taken += wide;
        }
        if taken > self.indent() {
            self.line(&line);
        }
    }

    fn signal(&mut self, word: SignalWord, text: &str) {
        let lead = paint::signal(word, self.style);
        let lead_width = width(&lead);
        let pad = " ".repeat(self.indent());
        let room = self.style.width.saturating_sub(self.indent() + lead_width);
        let wrapped = wrap(text, room.max(12), self.style);
        if room < 12 {
            self.line(&format!("{pad}{lead}"));
        }
        for (n, line) in wrapped.iter().enumerate() {
            match (room < 12, n) {
                (true, _) => self.line(&format!("{pad}{line}")),
                (false, 0) => self.line(&format!("{pad}{lead}{line}")),
                (false, _) => self.line(&format!("{pad}{}{line}", " ".repeat(lead_width))),
            }
        }
    }

    fn working(&mut self, lines: &[String]) {
        let indent = self.indent() * 2;
        let pad = " ".repeat(indent);
        for line in lines {
            let line = clean(line, self.style.unicode);
            if indent + width(&line) <= self.style.width {
                self.line(&format!("{pad}{line}"));
                continue;
            }
            // Continuations stand deeper than the line's own indentation, so that a new formula is seen to start.
            let own = line.len() - line.trim_start_matches(' ').len();
            let room = self.style.width.saturating_sub(indent + own).max(16);
            for piece in wrap_hanging(line.trim(), room, "    ", self.style) {
                self.line(&format!("{pad}{}{piece}", " ".repeat(own)));
            }
        }
    }

    fn list(&mut self, items: &[Item]) {
        for item in items {
            let lead = paint::marker(&item.marker, item.tone, self.style);
            let tone = match item.tone {
                Tone::Strong | Tone::Quiet => item.tone,
                _ => Tone::Plain,
            };
            self.hang(self.indent(), &lead, item.tone, &item.text, tone);
        }
    }

    fn options(&mut self, choices: &[Choice]) {
        let style = self.style;
        let digits = choices
            .iter()
            .map(|c| c.number.to_string().len())
            .max()
            .unwrap_or(1);
        let longest = choices
            .iter()
            .filter(|c| !c.description.is_empty())
            .map(|c| width(&clean(&c.word, style.unicode)))
            .max()
            .unwrap_or(0)
            .min(style.width / 3);
        let narrow = style.width < self.indent() + digits + longest + 4 + 20;
        for choice in choices {
            let word = clean(&choice.word, style.unicode);
            let pad = " ".repeat(self.indent());
            if style.plain || narrow || choice.description.is_empty() || width(&word) > longest {
                let number = if style.plain {
                    format!("{}: ", choice.number)
                } else {
                    format!("{:>digits$}  ", choice.number)
                };
                let colon = if style.plain { ". " } else { ": " };
                let text = if choice.description.is_empty() {
                    word
                } else {
                    format!("{word}{colon}{}", choice.description)
                };
                self.hang(self.indent(), &number, Tone::Action, &text, Tone::Strong);
                continue;
            }
            let number = format!("{:>digits$}", choice.number);
            let fill = " ".repeat(longest - width(&word));
            let lead = format!(
                "{pad}{}  {}{fill}  ",
                self.paint(Tone::Action, &number),
                self.paint(Tone::Strong, &word),
            );
            let lead_width = width(&lead);
            let room = style.width.saturating_sub(lead_width).max(12);
            for (n, line) in wrap(&choice.description, room, style).iter().enumerate() {
                match n {
                    0 => self.line(&format!("{lead}{line}")),
                    _ => self.line(&format!("{}{line}", " ".repeat(lead_width))),
                }
            }
        }
    }
}

fn counted(what: &str, place: Progress, after: &str) -> String {
    format!("{what} {} of {}{after}", place.number, place.of)
}

#[cfg(test)]
mod tests;
