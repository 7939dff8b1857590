//! A finding, and the list that collects findings.

use super::detail::{Detail, Figure};
use super::motion::FileLocation;
use super::rules::rule::{Grade, Rule};
use std::collections::BTreeMap;
use std::ops::Range;

/// Most findings of one rule that are stored with their location; further ones are only counted.
pub(crate) const MOST_OF_ONE: u32 = 5;
/// Most bytes of a line that are stored.
const MOST_TEXT: usize = 256;

/// A finding in a program.
#[derive(Clone, PartialEq, Debug)]
pub struct Finding {
    /// The rule that is broken.
    pub rule: &'static Rule,
    /// The line, from 1; zero where the finding is about the whole program.
    pub line: u32,
    /// The block's N word.
    pub number: Option<u32>,
    /// The text of the line; each byte that is not printable is replaced by a mark.
    pub text: String,
    /// The characters of the text that the finding marks.
    pub span: Range<usize>,
    /// The values, limits and positions that the title of the rule does not give.
    pub detail: Detail,
}

impl Finding {
    /// Title and detail; `show` formats each figure with its unit.
    pub(crate) fn message(&self, show: &dyn Fn(Figure) -> String) -> String {
        if self.detail.is_empty() {
            self.rule.title.to_owned()
        } else {
            format!("{}: {}", self.rule.title, self.detail.text(show))
        }
    }
}

/// A location in the file that outlives its block.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(crate) struct OwnedLocation {
    line: u32,
    number: Option<u32>,
    text: Vec<u8>,
}

impl OwnedLocation {
    /// Stores the location, reusing the memory.
    pub(crate) fn keep(&mut self, at: FileLocation<'_>) {
        self.line = at.line;
        self.number = at.number;
        self.text.clear();
        self.text.extend_from_slice(
            at.text
                .get(..at.text.len().min(MOST_TEXT))
                .unwrap_or_default(),
        );
    }

    /// A stored copy of a location.
    pub(crate) fn of(at: FileLocation<'_>) -> Self {
        let mut copy = Self::default();
        copy.keep(at);
        copy
    }

    /// The stored location.
    pub(crate) fn at(&self) -> FileLocation<'_> {
        FileLocation {
            line: self.line,
            number: self.number,
            text: &self.text,
        }
    }
}

/// All findings.
#[derive(Clone, Debug, Default)]
pub(crate) struct FindingList {
    list: Vec<Finding>,
    counts: BTreeMap<&'static str, u32>,
}

impl FindingList {
    /// Adds a finding of a rule at a block, or at some bytes of it.
    pub(crate) fn add<D: Into<Detail>>(
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

    /// Adds a finding that is reported once, not at each of the blocks that follow.
    pub(crate) fn once<D: Into<Detail>>(
        &mut self,
        rule: &'static Rule,
        at: FileLocation<'_>,
        detail: impl FnOnce() -> D,
    ) {
        if self.count(rule) == 0 {
            self.add(rule, at, None, detail);
        }
    }

    /// Adds a finding about the whole program.
    pub(crate) fn whole(&mut self, rule: &'static Rule, detail: impl Into<Detail>) {
        let nowhere = FileLocation {
            line: 0,
            number: None,
            text: &[],
        };
        self.add(rule, nowhere, None, || detail);
    }

    /// The number of findings of the rule.
    pub(crate) fn count(&self, rule: &Rule) -> u32 {
        self.counts.get(rule.code).copied().unwrap_or(0)
    }

    /// The findings in the order for reading.
    pub(crate) fn sorted(&self) -> Vec<Finding> {
        let mut list = self.list.clone();
        list.sort_by_key(order);
        list
    }

    /// The finding in the lowest line, of a rule that satisfies `is`; one about the whole program comes last.
    pub(crate) fn first(&self, is: impl Fn(&Rule) -> bool) -> Option<&Finding> {
        self.list
            .iter()
            .filter(|f| is(f.rule))
            .min_by_key(|f| f.line.checked_sub(1).unwrap_or(u32::MAX))
    }

    /// Every code found.
    pub(crate) fn codes(&self) -> Vec<&'static str> {
        self.counts.keys().copied().collect()
    }

    /// Every code found, with its number of findings.
    pub(crate) fn counts(&self) -> Vec<(&'static str, u32)> {
        self.counts.iter().map(|(code, n)| (*code, *n)).collect()
    }

    /// Whether a finding's rule satisfies `is`.
    pub(crate) fn any(&self, is: impl Fn(&Rule) -> bool) -> bool {
        self.list.iter().any(|f| is(f.rule))
    }
}

/// The order for reading: the most serious first. Among those, the ones that prevented following the program, because
/// they cause others; then by line. Findings about the whole program are last.
pub(super) fn order(finding: &Finding) -> (std::cmp::Reverse<Grade>, bool, u32) {
    // A lost position is a consequence of the other causes.
    let cause = finding.rule.unsure && finding.rule.code != "lost";
    let line = if finding.line == 0 {
        u32::MAX
    } else {
        finding.line
    };
    (std::cmp::Reverse(finding.rule.grade), !cause, line)
}

/// One character for each byte, so that a caret is under the byte it marks.
fn printable(byte: u8) -> char {
    match byte {
        b'\t' => ' ',
        0x20..=0x7e => char::from(byte),
        _ => '?',
    }
}
