//! Reads the maps of a YAML tree key by key, so that every fault of a file is found at once.

use super::formula::{Formula, parse};
use super::node::{Node, Scalar};
use crate::diagnostics::{Findings, Span, nearest};
use std::collections::BTreeSet;

/// The pairs of one map, with the keys that were read so far.
pub(crate) struct Fields<'a> {
    pairs: &'a [(Scalar, Node)],
    /// The place of the map in the file.
    pub span: Span,
    /// What it is, for messages: "a step", "a machine".
    what: &'a str,
    known: BTreeSet<&'static str>,
}

impl<'a> Fields<'a> {
    /// The pairs of `node`. If it is not a map, this is reported.
    pub(crate) fn of(node: &'a Node, what: &'a str, findings: &mut Findings) -> Option<Self> {
        match node {
            Node::Map(pairs, span) => Some(Self {
                pairs,
                span: pairs.first().map_or(*span, |(k, _)| k.span),
                what,
                known: BTreeSet::new(),
            }),
            other => {
                findings
                    .error(
                        other.span(),
                        format!(
                            "{what} is a map of keys and values, and this is {}",
                            other.what()
                        ),
                    )
                    .help("write `key: value` lines under it, or `{ key: value }` behind it");
                None
            }
        }
    }

    /// All pairs, for maps whose keys are names.
    pub(crate) fn pairs(&self) -> &'a [(Scalar, Node)] {
        self.pairs
    }

    /// The pair of a key, if it is there. A blank value is reported, because a limit that is left blank must never
    /// count as no limit.
    pub(crate) fn pair(
        &mut self,
        key: &'static str,
        findings: &mut Findings,
    ) -> Option<&'a (Scalar, Node)> {
        self.pair_or(key, "write its value, or remove the key", findings)
    }

    fn pair_or(
        &mut self,
        key: &'static str,
        help: &str,
        findings: &mut Findings,
    ) -> Option<&'a (Scalar, Node)> {
        self.known.insert(key);
        let pair = self.pairs.iter().find(|(k, _)| k.text == key)?;
        if let Node::Blank(_) = pair.1 {
            findings
                .error(pair.0.span, format!("`{key}` is left blank"))
                .help(help);
            return None;
        }
        Some(pair)
    }

    /// The texts under a key, one or a list. Other values are not reported.
    pub(crate) fn scalars(&self, key: &str) -> Vec<&'a Scalar> {
        let node = self.pairs.iter().find(|(k, _)| k.text == key);
        let scalar = |node: &'a Node| match node {
            Node::Scalar(text) => Some(text),
            _ => None,
        };
        match node {
            Some((_, Node::List(items, _))) => items.iter().filter_map(scalar).collect(),
            Some((_, node)) => scalar(node).into_iter().collect(),
            None => Vec::new(),
        }
    }

    /// Whether the key is there, blank or not.
    pub(crate) fn has(&self, key: &str) -> bool {
        self.pairs.iter().any(|(k, _)| k.text == key)
    }

    /// The value of a key that may be absent.
    pub(crate) fn node(&mut self, key: &'static str, findings: &mut Findings) -> Option<&'a Node> {
        self.pair(key, findings).map(|(_, node)| node)
    }

    /// The value of a key that must be there.
    pub(crate) fn required(
        &mut self,
        key: &'static str,
        findings: &mut Findings,
    ) -> Option<&'a Node> {
        let found = self
            .pair_or(key, "write its value", findings)
            .map(|(_, node)| node);
        if found.is_none() && !self.has(key) {
            findings
                .error(self.span, format!("{} without `{key}`", self.what))
                .help(format!("add a line `{key}: ...`"));
        }
        found
    }

    /// The text of a key that may be absent.
    pub(crate) fn text(
        &mut self,
        key: &'static str,
        findings: &mut Findings,
    ) -> Option<&'a Scalar> {
        let node = self.node(key, findings)?;
        scalar(node, key, findings)
    }

    /// The text of a key that must be there.
    pub(crate) fn required_text(
        &mut self,
        key: &'static str,
        findings: &mut Findings,
    ) -> Option<&'a Scalar> {
        let node = self.required(key, findings)?;
        scalar(node, key, findings)
    }

    /// Whether the value is `yes`; an absent key counts as `no`.
    pub(crate) fn yes(&mut self, key: &'static str, findings: &mut Findings) -> bool {
        let Some(text) = self.text(key, findings) else {
            return false;
        };
        match text.text.as_str() {
            "yes" => true,
            "no" => false,
            _ => {
                findings
                    .error(text.span, format!("`{key}` is yes or no"))
                    .help(format!("write `{key}: yes`, or leave the key out"));
                false
            }
        }
    }

    /// A whole number from `least` to `most`; `otherwise` when absent.
    pub(crate) fn count(
        &mut self,
        key: &'static str,
        (least, most): (u32, u32),
        otherwise: u32,
        findings: &mut Findings,
    ) -> u32 {
        let Some(text) = self.text(key, findings) else {
            return otherwise;
        };
        match text.text.parse::<u32>() {
            Ok(n) if (least..=most).contains(&n) => n,
            _ => {
                findings
                    .error(
                        text.span,
                        format!("`{key}` is a whole number from {least} to {most}"),
                    )
                    .help(format!("write for instance `{key}: {otherwise}`"));
                otherwise
            }
        }
    }

    /// The texts of a list, or of a single text; empty when absent.
    pub(crate) fn texts(&mut self, key: &'static str, findings: &mut Findings) -> Vec<&'a Scalar> {
        match self.node(key, findings) {
            None => Vec::new(),
            Some(Node::List(items, span)) => {
                if items.is_empty() {
                    findings
                        .error(*span, format!("`{key}` is an empty list"))
                        .help("write its entries, or remove the key");
                }
                items
                    .iter()
                    .filter_map(|i| scalar(i, key, findings))
                    .collect()
            }
            Some(node) => scalar(node, key, findings).into_iter().collect(),
        }
    }

    /// The formula of a key that may be absent.
    pub(crate) fn formula(
        &mut self,
        key: &'static str,
        findings: &mut Findings,
    ) -> Option<Formula> {
        let text = self.text(key, findings)?;
        formula(text, findings)
    }

    /// The formula of a key that must be there.
    pub(crate) fn required_formula(
        &mut self,
        key: &'static str,
        findings: &mut Findings,
    ) -> Option<Formula> {
        let text = self.required_text(key, findings)?;
        formula(text, findings)
    }

    /// Reports every key that was not read. `also` are the keys that other kinds of this thing have.
    pub(crate) fn finish(self, also: &[&'static str], findings: &mut Findings) {
        for (key, _) in self.pairs {
            if self.known.contains(key.text.as_str()) {
                continue;
            }
            let finding =
                findings.error(key.span, format!("{} has no key `{}`", self.what, key.text));
            let known = self.known.iter().copied();
            match nearest(&key.text, known.clone()) {
                Some(near) => finding.help(format!("did you mean `{near}`?")),
                None if also.contains(&key.text.as_str()) => {
                    finding.help("that key belongs to another kind of step; remove it here")
                }
                None => finding.help(format!(
                    "the keys are: {}",
                    known.collect::<Vec<_>>().join(", ")
                )),
            };
        }
    }
}

/// Reads a formula; a fault goes to `findings`.
pub(crate) fn formula(text: &Scalar, findings: &mut Findings) -> Option<Formula> {
    match parse::formula(text) {
        Ok(found) => Some(found),
        Err(fault) => {
            let finding = findings.error(fault.span, fault.message);
            if let Some(help) = fault.help {
                finding.help(help);
            }
            None
        }
    }
}

/// The text of a node. If it is not a text, this is reported.
pub(crate) fn scalar<'a>(node: &'a Node, key: &str, findings: &mut Findings) -> Option<&'a Scalar> {
    match node {
        Node::Scalar(text) if text.text.trim().is_empty() => {
            findings
                .error(text.span, format!("`{key}` is left blank"))
                .help("write its value");
            None
        }
        Node::Scalar(text) => Some(text),
        Node::Blank(span) => {
            findings
                .error(*span, format!("an entry of `{key}` is left blank"))
                .help("write it, or remove its line");
            None
        }
        other => {
            let finding = findings.error(
                other.span(),
                format!("`{key}` is a text, and this is {}", other.what()),
            );
            match other {
                Node::Map(..) => finding.help("put it in quotes if it has a colon"),
                _ => finding.help("write one text, in quotes if it begins with [ or {"),
            };
            None
        }
    }
}

/// A name: small letters, digits and `joint`, starting with a letter.
pub(crate) fn name(text: &Scalar, joint: char, findings: &mut Findings) -> String {
    let sound = text.text.starts_with(|c: char| c.is_ascii_lowercase())
        && text.text.len() <= 40
        && text
            .text
            .chars()
            .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == joint);
    if !sound {
        findings
            .error(text.span, format!("`{}` cannot be a name", text.text))
            .help(format!(
                "small letters, digits and `{joint}`, starting with a letter, at most 40 of them"
            ));
    }
    text.text.clone()
}
