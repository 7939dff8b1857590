//! Asking what a cut left: clean or not, and where not; then what was expected beside what was found.

use crate::interlock::command::GivenAnswer;
use crate::interlock::{Event, Instance};
use crate::procedure::Step;
use crate::procedure::model::{CLEAN, SKIN_LEFT};
use crate::report::page::{Choice, Page};
use crate::terminal::prompt::QuestionPart;
use crate::walk::error::WalkError;
use crate::walk::prompts::Prompted;
use crate::walk::prompts::choices::pick;
use crate::walk::prompts::kit::{self, AtStep};
use crate::walk::session::Session;
use crate::walk::session::answer_step::answered;

/// Between the answer and the points: `skin left near SE C`.
const NEAR: &str = " near ";
/// The answer of somebody who cannot say where.
const UNKNOWN: &str = "unknown";

impl Session<'_> {
    /// Asks whether a face is clean, and near which points it is not.
    pub(crate) fn inspect(&mut self, at: &Instance, step: &Step) -> Prompted<()> {
        let words = [
            (CLEAN, "no old skin, ink or grey patch anywhere"),
            (SKIN_LEFT, "some of the old surface is still there"),
        ]
        .map(|(w, d)| (w.to_owned(), d.to_owned()));
        let choices = words
            .iter()
            .enumerate()
            .map(|(i, (word, meaning))| Choice::new(i + 1, word, meaning));
        self.asked = Page::new().options(choices);
        self.may_be_recalled = false;
        self.offered = words.iter().map(|(word, _)| word.clone()).collect();
        self.prompter.show(&self.asked)?;
        loop {
            let said = self.listen(at, step.kind.word(), &QuestionPart::Answer)?;
            let (head, tail) = match said.split_once(NEAR) {
                Some((head, tail)) => (head.trim(), Some(tail)),
                None => (said.as_str(), None),
            };
            let word = match pick(head, &words, true, "answers") {
                Ok(word) => word,
                Err(why) => {
                    self.refuse(at, &said, &why)?;
                    continue;
                }
            };
            let answer = if word == SKIN_LEFT {
                let near = match tail {
                    Some(tail) => points(tail),
                    None => self.near(at)?,
                };
                GivenAnswer::SkinLeft { near }
            } else if tail.is_some() {
                let why = format!(
                    "`{CLEAN}` is clean everywhere; say `{SKIN_LEFT}{NEAR}POINT` where it is not"
                );
                self.refuse(at, &said, &why)?;
                continue;
            } else {
                GivenAnswer::Word(word)
            };
            if self.give(at, &said, answered(at, answer))? {
                return Ok(());
            }
        }
    }

    /// Near which touched points the skin is. Asked only of a person, and only where something comes of it.
    fn near(&mut self, at: &Instance) -> Prompted<Vec<String>> {
        let spots = self.state.spots();
        if self.reads_file() || !matches!(self.state.land(), Some(Ok(_))) {
            return Ok(Vec::new());
        }
        let names: Vec<&str> = spots.iter().map(|s| s.point.as_str()).collect();
        let page = Page::new().next(format!(
            "Near which touched points is it? Type their names, such as `{}`, or `{UNKNOWN}`. Touched were: {}.",
            names.first().copied().unwrap_or("P1"),
            names.join(", ")
        ));
        self.prompter.show(&page)?;
        let part = QuestionPart::Other("near".to_owned());
        kit::until(
            &mut AtStep { session: self, at },
            "near points",
            &part,
            |said| {
                if said.eq_ignore_ascii_case(UNKNOWN) {
                    return Ok(Vec::new());
                }
                let near = points(said);
                match near.iter().find(|p| !names.contains(&p.as_str())) {
                    None if !near.is_empty() => Ok(near),
                    wrong => {
                        let wrong = wrong.map_or(said, String::as_str);
                        Err(format!(
                            "`{wrong}` is not a touched point; type names of those above, or `{UNKNOWN}`"
                        ))
                    }
                }
            },
        )
    }

    /// What was expected of the plane beside what was found.
    pub(crate) fn compare(&mut self, events: &[Event]) -> Result<(), WalkError> {
        for event in events {
            if let Event::Looked(looked) = event {
                self.prompter
                    .show(&crate::report::inspection::page(looked, &self.show()))?;
            }
        }
        Ok(())
    }
}

/// Names of points, parted by blanks or commas, each once.
fn points(text: &str) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for name in text.split([' ', ',', ';', '\t']).filter(|n| !n.is_empty()) {
        if !found.iter().any(|f| f == name) {
            found.push(name.to_owned());
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::points;

    #[test]
    fn points_are_parted_by_blanks_and_commas() {
        assert_eq!(points(" SE,C  SE; NW"), ["SE", "C", "NW"]);
        assert!(points(" , ").is_empty());
    }
}
