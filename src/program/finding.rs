//! What was found, and the list it collects in.

use super::detail::{Detail, Figure};
use super::motion::FileLocation;
use super::rules::rule::{Grade, Rule};
use std::collections::BTreeMap;
use std::ops::Range;

/// Most findings of one rule that are kept with their places; the rest are counted.
pub const MOST_OF_ONE: u32 = 5;
/// Most bytes of a line that are kept.
const MOST_TEXT: usize = 256;

/// Something found in a program.
#[derive(Clone, PartialEq, Debug)]
pub struct Finding {
    /// The rule it breaks.
    pub rule: &'static Rule,
    /// The line, from 1; nought where it is about the program whole.
    pub line: u32,
    /// The block's N word.
    pub number: Option<u32>,
    /// The line as it reads; bytes that are no text as a mark.
    pub text: String,
    /// Which characters of the text.
    pub span: Range<usize>,
    /// What the rule's title does not say: values, limits, places.
    pub detail: Detail,
}

impl Finding {
    /// Title and detail, each figure with its unit as `show` writes it.
    pub fn message(&self, show: &dyn Fn(Figure) -> String) -> String {
        if self.detail.is_empty() {
            self.rule.title.to_owned()
        } else {
            format!("{}: {}", self.rule.title, self.detail.text(show))
        }
    }
}

/// A place that outlives its block.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct OwnedLocation {
    line: u32,
    number: Option<u32>,
    text: Vec<u8>,
}

impl OwnedLocation {
    /// Keeps the place, reusing its room.
    pub fn keep(&mut self, at: FileLocation<'_>) {
        self.line = at.line;
        self.number = at.number;
        self.text.clear();
        self.text.extend_from_slice(
            at.text
                .get(..at.text.len().min(MOST_TEXT))
                .unwrap_or_default(),
        );
    }

    /// A place to keep.
    pub fn of(at: FileLocation<'_>) -> Self {
        let mut kept = Self::default();
        kept.keep(at);
        kept
    }

    /// As a place.
    pub fn at(&self) -> FileLocation<'_> {
        FileLocation {
            line: self.line,
            number: self.number,
            text: &self.text,
        }
    }
}

/// All findings.
#[derive(Clone, Debug, Default)]
pub struct FindingList {
    list: Vec<Finding>,
    counts: BTreeMap<&'static str, u32>,
}

impl FindingList {
    /// Adds a finding of a rule at a block, or at some bytes of it.
    pub fn add<D: Into<Detail>>(
        &mut self,
        rule: &'static Rule,
        at: FileLocation<'_>,
        span: Option<&Range<u32>>,
        detail: impl FnOnce() -> D,
    ) {
        let count = self.counts.entry(rule.code).or_insert(0);
        *count = count.saturating_add(1);
        if *count > MOST_OF_ONE {
            return;
        }
        let bytes = at
            .text
            .get(..at.text.len().min(MOST_TEXT))
            .unwrap_or_default();
        let text: String = bytes.iter().map(|b| printable(*b)).collect();
        let to = |n: u32| usize::try_from(n).unwrap_or(usize::MAX).min(text.len());
        let trimmed = text.trim_end().len();
        let from = text.len() - text.trim_start().len();
        let span = span.map_or(from..trimmed.max(from), |s| to(s.start)..to(s.end));
        self.list.push(Finding {
            rule,
            line: at.line,
            number: at.number,
            text,
            span,
            detail: detail().into(),
        });
    }

    /// Adds a finding that is worth saying once, not at each of the blocks that follow.
    pub fn once<D: Into<Detail>>(
        &mut self,
        rule: &'static Rule,
        at: FileLocation<'_>,
        detail: impl FnOnce() -> D,
    ) {
        if self.count(rule) == 0 {
            self.add(rule, at, None, detail);
        }
    }

    /// Adds a finding about the program whole.
    pub fn whole(&mut self, rule: &'static Rule, detail: impl Into<Detail>) {
        let nowhere = FileLocation {
            line: 0,
            number: None,
            text: &[],
        };
        self.add(rule, nowhere, None, || detail);
    }

    /// How often the rule is broken.
    pub fn count(&self, rule: &Rule) -> u32 {
        self.counts.get(rule.code).copied().unwrap_or(0)
    }

    /// In the order in which they are read.
    pub fn sorted(&self) -> Vec<Finding> {
        let mut list = self.list.clone();
        list.sort_by_key(order);
        list
    }

    /// Every code found.
    pub fn codes(&self) -> Vec<&'static str> {
        self.counts.keys().copied().collect()
    }

    /// Every code found and how often.
    pub fn counts(&self) -> Vec<(&'static str, u32)> {
        self.counts.iter().map(|(code, n)| (*code, *n)).collect()
    }

    /// Whether some finding is so.
    pub fn any(&self, is: impl Fn(&Rule) -> bool) -> bool {
        self.list.iter().any(|f| is(f.rule))
    }
}

/// The order in which findings are read: the gravest first; among those, what kept the program from being followed, since
/// it is the cause of others; then by line, what is about the program whole last.
pub(super) fn order(finding: &Finding) -> (std::cmp::Reverse<Grade>, bool, u32) {
    // That the place is lost is what the causes come to.
    let cause = finding.rule.unsure && finding.rule.code != "lost";
    let line = if finding.line == 0 {
        u32::MAX
    } else {
        finding.line
    };
    (std::cmp::Reverse(finding.rule.grade), !cause, line)
}

/// One column a byte, so that a caret stands where the byte is.
fn printable(byte: u8) -> char {
    match byte {
        b'\t' => ' ',
        0x20..=0x7e => char::from(byte),
        _ => '?',
    }
}
