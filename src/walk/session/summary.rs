//! Values worked out in a row, shown together before the next question: the result first, the working where the window
//! has room, and the rest for whoever asks with a word.

use crate::interlock::Instance;
use crate::procedure::{Kind, Step};
use crate::report;
use crate::report::page::{Block, Page, PageFact, Tone};
use crate::walk::error::WalkError;
use crate::walk::session::Session;

/// Lines that the next question takes, as a rule.
const QUESTION: usize = 13;
/// Lines that are left free below a summary with its working: two thirds of the smallest usual window stay for what is asked.
const BELOW_WORKING: usize = 17;
/// Fewest lines in which a map of a plate can be read.
const MAP: usize = 13;

/// A value that was worked out since the last question.
#[derive(Clone, Debug)]
struct WorkedOut {
    /// Of which asking.
    at: Instance,
    /// The step's title.
    title: String,
    /// The value in words.
    result: String,
    /// How it came about, without the result.
    lines: Vec<String>,
}

/// What is shown before the next question, and what it left out.
#[derive(Debug, Default)]
pub(crate) struct Summary {
    /// Values worked out since the last question, not shown yet.
    worked_out: Vec<WorkedOut>,
    /// What was left out last, for the person who types `more`.
    more: Page,
    /// Whether the word `more` has been named.
    more_named: bool,
}

impl Session<'_> {
    /// Shows the values worked out since the last question, if there are any. `all` shows their working whatever the window.
    pub(super) fn show_worked_out(&mut self, all: bool) -> Result<(), WalkError> {
        let worked = std::mem::take(&mut self.summary.worked_out);
        if worked.is_empty() {
            return Ok(());
        }
        let facts = worked
            .iter()
            .map(|w| PageFact::toned(&w.title, &w.result, Tone::Strong));
        let facts = Page::new().values(facts);
        let working = worked.iter().fold(Page::new(), |page, w| {
            page.toned(Tone::Strong, format!("{}: {}", w.title, w.result))
                .working(w.lines.clone())
        });
        let (planes, verdicts) = self.planes(&worked);
        let compares = worked.iter().any(|w| {
            self.state.step(&w.at).is_some_and(
                |step| matches!(&step.kind, Kind::WorkOut { ways, .. } if !ways.is_empty()),
            )
        });
        let with_working = working.clone().then(planes.clone());
        let roomy = self.prompter.lines_left(&with_working) >= BELOW_WORKING;
        let mut page = if all || roomy {
            with_working
        } else {
            facts.then(planes)
        };
        if !verdicts.blocks.is_empty() {
            let ways = if compares { ", `ways`" } else { "" };
            let hint = format!("`more`, `map`{ways} and `why STEP` show the rest.");
            page = page.toned(Tone::Quiet, hint);
            page = self.with_map(page);
        } else if !(all || roomy || self.summary.more_named) {
            page = page.toned(Tone::Quiet, "`more` shows the working.");
            self.summary.more_named = true;
        }
        self.summary.more = working.then(verdicts);
        Ok(self.prompter.show(&page)?)
    }

    /// What the planes among these values do to the plate, in a line each, and all that can be said of them.
    fn planes(&self, worked: &[WorkedOut]) -> (Page, Page) {
        let (mut short, mut whole) = (Page::new(), Page::new());
        let mut shown = Vec::new();
        for of in worked {
            let Some(step) = self.state.step(&of.at).cloned() else {
                continue;
            };
            let Some(plane) = self.plane_of(&of.at, &step) else {
                continue;
            };
            if shown.contains(&plane) {
                continue;
            }
            shown.push(plane);
            let (line, verdict) = self.plane_pages(plane, shown.len() > 1);
            short = short.then(line);
            whole = whole.then(verdict);
        }
        (short, whole)
    }

    /// The page with the map of its plane, where the window has room for it above the next question.
    fn with_map(&mut self, page: Page) -> Page {
        let left = self.prompter.lines_left(&page).saturating_sub(QUESTION);
        if left < MAP {
            return page;
        }
        let Some(mut map) = self.map_page() else {
            return page;
        };
        for block in &mut map.blocks {
            if let Block::Scene(scene) = block {
                scene.most_lines = Some(left.saturating_sub(1));
            }
        }
        let whole = page.clone().then(map);
        if self.prompter.lines_left(&whole) < QUESTION {
            return page;
        }
        whole
    }

    /// What the last page left out.
    pub(super) fn show_more(&mut self) -> Result<(), WalkError> {
        let page = if self.summary.more.blocks.is_empty() {
            Page::new().toned(Tone::Look, "There is nothing more to show here.")
        } else {
            self.summary.more.clone()
        };
        Ok(self.prompter.show(&page)?)
    }

    /// The ways compared last, side by side.
    pub(super) fn show_ways(&mut self) -> Result<(), WalkError> {
        let asked = self.state.asked();
        let compared = asked.iter().rev().find_map(|place| {
            let at = place.instance();
            let answered = self.state.answers.contains_key(&at);
            match &place.step.kind {
                Kind::WorkOut { ways, .. } if answered && !ways.is_empty() => self.ways(&at, ways),
                _ => None,
            }
        });
        let page = match compared {
            Some(ways) => Page::new()
                .toned(Tone::Quiet, "Ways of taking it off. The first is what is planned; a smaller bite is chosen with a smaller `deepest bite` of the cutter.")
                .then(report::ways::page(&ways, &self.show())),
            None => Page::new().toned(
                Tone::Look,
                "There are no ways to compare yet: that needs the touches and a plane to come down to.",
            ),
        };
        Ok(self.prompter.show(&page)?)
    }

    /// Adds a value to those shown before the next question.
    pub(super) fn worked(&mut self, at: &Instance, step: &Step, lines: Vec<String>) {
        let mut lines = lines;
        let result = lines.pop().unwrap_or_default();
        self.summary.worked_out.retain(|w| w.at != *at);
        self.summary.worked_out.push(WorkedOut {
            at: at.clone(),
            title: step.title.clone(),
            result: result.trim_start_matches([' ', '=']).to_owned(),
            lines,
        });
    }
}
