//! A desk that answers from a YAML file: a map of step id to answer, a list where a step is asked more than once.
//!
//! It fails loudly when file and questions disagree: a question without an answer, an answer without a question, an
//! answer that was refused and was not meant to be, one that was meant to be refused and was taken.

use crate::diagnostics::{Findings, Span};
use crate::interlock::answer::Origin;
use crate::interlock::{Event, MachineContinuity};
use crate::procedure::node::{Node, Scalar};
use crate::procedure::yaml::parse;
use crate::report::page::Page;
use crate::terminal::prompt::{
    PromptError, Prompter, Question, QuestionPart, Reply, Taken, Wait, WaitEnd,
};
use crate::terminal::screen::Screen;
use std::collections::{BTreeMap, VecDeque};

/// One answer of the file.
#[derive(Clone, Debug)]
pub(crate) struct Item {
    /// What is typed.
    pub(crate) typed: Typed,
    /// The reason with which a soft limit is accepted.
    accept: Option<String>,
    /// Why something was stopped, where the answer stops it.
    why: Option<String>,
    /// Whether it is there to be refused.
    pub(crate) refused: bool,
}

impl Item {
    /// Whether it is a series of touches with no reading left.
    fn is_touched(&self) -> bool {
        matches!(&self.typed, Typed::Touches(points) if points.iter().all(|(_, r)| r.is_empty()))
    }
}

#[derive(Clone, Debug)]
pub(crate) enum Typed {
    Text(String),
    /// Points and their readings, in order; the closing touch last.
    Touches(VecDeque<(String, VecDeque<String>)>),
    /// Only a reason, for values that are worked out.
    Nothing,
}

/// A desk that answers from a file.
#[derive(Debug)]
pub struct Answers {
    file: String,
    screen: Screen,
    pub(crate) items: BTreeMap<String, VecDeque<Item>>,
    order: Vec<String>,
    now: Option<(String, Item)>,
    /// Who was named last: why they go on beside another run is asked after the machine.
    operator: Option<Item>,
    code: String,
}

/// The steps whose answer is not that of a step of the procedure.
pub const OPERATOR: &str = "operator";
/// Where the file says whether the machine stayed as it was; no id of a step has a blank.
pub(crate) const TAKEN_UP: &str = "taken up";
/// Where the file says which answers of earlier runs stand.
pub(crate) const EARLIER: &str = "earlier answers";

impl Answers {
    /// Reads an answers file; faults go to `findings`.
    pub fn read(file: &str, text: &str, screen: Screen, findings: &mut Findings) -> Option<Self> {
        let root = parse(text, findings)?;
        let Node::Map(pairs, _) = &root else {
            findings
                .error(root.span(), "an answers file is a map of step id to answer")
                .help("write for instance `eyes: worn`");
            return None;
        };
        let mut items = BTreeMap::new();
        let mut order = Vec::new();
        for (key, node) in pairs {
            let queue = match node {
                Node::List(entries, _) => {
                    entries.iter().filter_map(|n| item(n, findings)).collect()
                }
                one => item(one, findings).into_iter().collect::<VecDeque<Item>>(),
            };
            order.push(key.text.clone());
            items.insert(key.text.clone(), queue);
        }
        (!findings.any_error()).then(|| Self {
            file: file.to_owned(),
            screen,
            items,
            order,
            now: None,
            operator: None,
            code: String::new(),
        })
    }

    /// The first answer to a step, if the file has one: to see which machine a run is for.
    pub fn first(&self, step: &str) -> Option<String> {
        match &self.items.get(step)?.front()?.typed {
            Typed::Text(text) => Some(text.clone()),
            _ => None,
        }
    }

    /// Answers that no question asked for, by step.
    pub fn left_over(&self) -> Vec<String> {
        self.order
            .iter()
            // In a book without earlier runs nothing stands.
            .filter(|step| *step != EARLIER)
            .filter_map(|step| {
                let left = self.items.get(step).map_or(0, |queue| {
                    queue.iter().filter(|item| !item.is_touched()).count()
                });
                (left > 0).then(|| format!("{step} ({left})"))
            })
            .collect()
    }

    /// Drops answers to questions that a run taken up again has behind it.
    pub fn skip(&mut self, step: &str, count: usize) {
        if let Some(queue) = self.items.get_mut(step) {
            let count = count.min(queue.len());
            queue.drain(..count);
        }
    }

    /// The item that answers a step now, taken from its queue.
    fn take(&mut self, step: &str, part: &QuestionPart) -> Result<&mut Item, PromptError> {
        let same = self.now.as_ref().is_some_and(|(of, _)| of == step);
        let goes_on = matches!(
            part,
            QuestionPart::Point(_)
                | QuestionPart::Zeroed(_)
                | QuestionPart::Other(_)
                | QuestionPart::Code(_)
                | QuestionPart::Accept
                | QuestionPart::Cause
        );
        if !(same && goes_on) {
            // Every reading of it is recorded; a run broken off just then asks for no more of that series.
            let new_series = match part {
                QuestionPart::Point(name) => !name.is_empty(),
                _ => false,
            };
            if new_series && let Some(queue) = self.items.get_mut(step) {
                while queue.front().is_some_and(Item::is_touched) {
                    queue.pop_front();
                }
            }
            let next = self.items.get_mut(step).and_then(VecDeque::pop_front);
            let Some(next) = next else {
                return Err(PromptError::Disagrees(format!(
                    "{} has no answer left for the step `{step}`; the question stands above. Add it to the file, or walk at a terminal",
                    self.file
                )));
            };
            if step == OPERATOR {
                self.operator = Some(next.clone());
            }
            self.now = Some((step.to_owned(), next));
        }
        match &mut self.now {
            Some((_, item)) => Ok(item),
            None => Err(PromptError::Disagrees(format!(
                "{} has no answer for `{step}`",
                self.file
            ))),
        }
    }

    fn reply(&mut self, ask: &Question<'_>) -> Result<String, PromptError> {
        let step = match ask.key.part {
            QuestionPart::Earlier => EARLIER.to_owned(),
            _ => ask.key.step.clone(),
        };
        let file = self.file.clone();
        let wrong = |what: &str| {
            PromptError::Disagrees(format!(
                "{file}: the answer to `{step}` is no {what}; see the question above"
            ))
        };
        match &ask.key.part {
            QuestionPart::Code(_) => return Ok(self.code.clone()),
            QuestionPart::Started => return Ok("started".to_owned()),
            QuestionPart::Zeroed(_) => return Ok("0".to_owned()),
            QuestionPart::Accept => {
                if step == OPERATOR {
                    self.now = self.operator.clone().map(|item| (step.clone(), item));
                }
                let item = self.take(&step, &ask.key.part);
                // A value that is worked out has no question of its own before the one for the reason.
                let reason = match item {
                    Ok(item) => item.accept.clone(),
                    Err(e) => return Err(e),
                };
                return reason.ok_or_else(|| wrong("reason: write `{value: ..., accept: why}`"));
            }
            // A file stands for no machine, and nothing walked from one releases any: unless it says so, none was moved.
            QuestionPart::Kept if self.items.get(&step).is_none_or(VecDeque::is_empty) => {
                return Ok(MachineContinuity::Kept.word().to_owned());
            }
            // Unless the file says that they stand, its own answers count.
            QuestionPart::Earlier if self.items.get(&step).is_none_or(VecDeque::is_empty) => {
                return Ok("none".to_owned());
            }
            QuestionPart::Service => {
                return Err(PromptError::NotForFile(format!(
                    "{file} stands for nobody at the machine, which is out of service; it is put back at a terminal"
                )));
            }
            QuestionPart::Cause => {
                let cause = self.take(&step, &ask.key.part)?.why.clone();
                return cause
                    .ok_or_else(|| wrong("reason: write `{value: stopped, why: planned}`"));
            }
            _ => {}
        }
        let part = ask.key.part.clone();
        let item = self.take(&step, &part)?;
        match (&mut item.typed, &part) {
            (Typed::Touches(points), QuestionPart::Point(_) | QuestionPart::Other(_)) => {
                Ok(next_touch(points, &part))
            }
            (Typed::Text(text), _) => Ok(text.clone()),
            (Typed::Touches(_), _) => Err(wrong("text")),
            (Typed::Nothing, _) => Err(wrong("value")),
        }
    }
}

/// What is typed for the touch that is due: its reading, an extra point first if the file has one there, or the end.
fn next_touch(points: &mut VecDeque<(String, VecDeque<String>)>, part: &QuestionPart) -> String {
    let wanted = match part {
        QuestionPart::Point(name) => name.as_str(),
        _ => "closing",
    };
    while points.front().is_some_and(|(_, r)| r.is_empty()) {
        points.pop_front();
    }
    let Some((name, readings)) = points.front_mut() else {
        return "done".to_owned();
    };
    let reading = readings.pop_front().unwrap_or_default();
    if wanted == name {
        reading
    } else if wanted.is_empty() {
        format!("{name} {reading}")
    } else {
        format!("extra {name} {reading}")
    }
}

fn item(node: &Node, findings: &mut Findings) -> Option<Item> {
    let plain = |typed| Item {
        typed,
        accept: None,
        why: None,
        refused: false,
    };
    match node {
        Node::Scalar(text) => Some(plain(Typed::Text(text.text.clone()))),
        Node::Map(pairs, span) => from_map(pairs, *span, findings),
        Node::List(_, span) => {
            findings.error(*span, "a list inside a list").help(
                "one answer of a list is a text, a map of touches, or `{value: ..., accept: why}`",
            );
            None
        }
        Node::Blank(span) => {
            findings
                .error(*span, "an answer is left blank")
                .help("write it, or remove the key");
            None
        }
    }
}

fn from_map(pairs: &[(Scalar, Node)], span: Span, findings: &mut Findings) -> Option<Item> {
    let text = |key: &str| {
        pairs
            .iter()
            .find(|(k, _)| k.text == key)
            .and_then(|(_, n)| match n {
                Node::Scalar(s) => Some(s.text.clone()),
                _ => None,
            })
    };
    let known = ["value", "accept", "why", "try"];
    if !pairs.iter().any(|(k, _)| known.contains(&k.text.as_str())) {
        let points = touches(pairs, findings)?;
        return Some(Item {
            typed: Typed::Touches(points),
            accept: None,
            why: None,
            refused: false,
        });
    }
    for (key, _) in pairs
        .iter()
        .filter(|(k, _)| !known.contains(&k.text.as_str()))
    {
        findings
            .error(key.span, format!("an answer has no key `{}`", key.text))
            .help("write `{value: ..., accept: why}` or `{try: ...}`");
    }
    let (value, accept, tried) = (text("value"), text("accept"), text("try"));
    if (value.is_some() || accept.is_some()) == tried.is_some() {
        findings
            .error(
                span,
                "is this an answer, or one that is there to be refused?",
            )
            .help("write `{value: ..., accept: why}` or `{try: ...}`");
        return None;
    }
    let refused = tried.is_some();
    Some(Item {
        typed: value.or(tried).map_or(Typed::Nothing, Typed::Text),
        accept,
        why: text("why"),
        refused,
    })
}

fn touches(
    pairs: &[(Scalar, Node)],
    findings: &mut Findings,
) -> Option<VecDeque<(String, VecDeque<String>)>> {
    let reading = |node: &Node, findings: &mut Findings| -> Option<String> {
        match node {
            Node::Scalar(text) => Some(text.text.clone()),
            Node::Map(pairs, _) => {
                let of = |key: &str| {
                    pairs.iter().find_map(|(k, n)| match n {
                        Node::Scalar(s) if k.text == key => Some(s.text.clone()),
                        _ => None,
                    })
                };
                Some(format!("{};{}", of("readout")?, of("machine")?))
            }
            other => {
                findings.error(
                    other.span(),
                    "a reading is a value, or `{readout: ..., machine: ...}`",
                );
                None
            }
        }
    };
    pairs
        .iter()
        .map(|(key, node)| {
            let readings: Option<VecDeque<String>> = match node {
                Node::List(items, _) => items.iter().map(|n| reading(n, findings)).collect(),
                one => reading(one, findings).map(|r| VecDeque::from([r])),
            };
            Some((key.text.clone(), readings?))
        })
        .collect()
}

impl Prompter for Answers {
    fn origin(&self) -> Origin {
        Origin::AnswersFile
    }

    fn show(&mut self, page: &Page) -> Result<(), PromptError> {
        self.screen
            .show(page)
            .map_err(|source| PromptError::Terminal {
                doing: "showing a page",
                source,
            })
    }

    fn lines_left(&self, page: &Page) -> usize {
        self.screen.lines_left(page)
    }

    fn ask(&mut self, ask: &Question<'_>) -> Result<Reply, PromptError> {
        let said = self.reply(ask)?;
        // What a person would have typed stands where they would have typed it.
        self.show(&Page::new().text(format!("{}> {said}", ask.prompt)))?;
        Ok(Reply::Said(said))
    }

    fn watch(&mut self, _watch: &Wait<'_>) -> Result<WaitEnd, PromptError> {
        Ok(WaitEnd::Enter {
            elapsed: std::time::Duration::ZERO,
            said: String::new(),
        })
    }

    fn pick_order(&mut self, n: usize) -> Result<Vec<usize>, PromptError> {
        Ok((0..n).collect())
    }

    fn code(&mut self) -> Result<String, PromptError> {
        "FILE".clone_into(&mut self.code);
        Ok(self.code.clone())
    }

    fn refused(&mut self, why: &str) -> Result<(), PromptError> {
        match self.now.take() {
            Some((_, item)) if item.refused => Ok(()),
            Some((step, _)) => Err(PromptError::Disagrees(format!(
                "{}: the answer to `{step}` was refused: {why}",
                self.file
            ))),
            None => Ok(()),
        }
    }

    fn taken(&mut self, taken: Taken<'_>) -> Result<(), PromptError> {
        if let Taken::Recorded(events) = taken {
            for event in events {
                // The file has an answer for a book in which none stands.
                if let Event::Answered {
                    at, seen: Some(_), ..
                } = event
                {
                    self.drop_answer(&at.step);
                    return Ok(());
                }
            }
        }
        match &self.now {
            Some((step, item)) if item.refused => Err(PromptError::Disagrees(format!(
                "{}: the answer to `{step}` was to be refused, and was taken",
                self.file
            ))),
            _ => Ok(()),
        }
    }
}
