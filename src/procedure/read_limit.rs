//! Reads limits: a map of bounds, or a list of such maps.

use super::fields::Fields;
use super::formula::Formula;
use super::formula::ast::ExprKind;
use super::model::{Limit, Limits};
use super::node::Node;
use crate::diagnostics::{Findings, Span};

/// The keys of a limit that set a bound.
pub(crate) const BOUNDS: [&str; 5] = ["at least", "at most", "more than", "less than", "exactly"];

/// The limits under `must` and `expect`.
pub(crate) fn both_limits(fields: &mut Fields, findings: &mut Findings) -> Limits {
    Limits {
        must: limits(fields, "must", findings),
        expect: limits(fields, "expect", findings),
    }
}

/// The limits under one key.
pub(crate) fn limits(
    fields: &mut Fields,
    key: &'static str,
    findings: &mut Findings,
) -> Vec<Limit> {
    match fields.node(key, findings) {
        None => Vec::new(),
        Some(Node::List(items, span)) => {
            if items.is_empty() {
                findings
                    .error(*span, format!("`{key}` is an empty list"))
                    .help("write its limits, or remove the key");
            }
            items
                .iter()
                .filter_map(|i| limit(i, key, findings))
                .collect()
        }
        Some(node) => limit(node, key, findings).into_iter().collect(),
    }
}

fn limit(node: &Node, key: &str, findings: &mut Findings) -> Option<Limit> {
    let what = format!("`{key}`");
    let mut fields = Fields::of(node, &what, findings)?;
    let limit = Limit {
        at_least: fields.formula("at least", findings),
        at_most: fields.formula("at most", findings),
        more_than: fields.formula("more than", findings),
        less_than: fields.formula("less than", findings),
        exactly: fields.formula("exactly", findings),
        because: fields.text("because", findings).map(|t| t.text.clone()),
    };
    let written = BOUNDS.iter().any(|k| fields.has(k));
    if !written {
        findings
            .error(fields.span, format!("`{key}` sets no limit"))
            .help("write `at least`, `at most`, `more than`, `less than` or `exactly`");
    }
    contradiction(&limit, fields.span, findings);
    fields.finish(&[], findings);
    Some(limit)
}

/// Reports a limit of written-out numbers that no value can meet.
fn contradiction(limit: &Limit, span: Span, findings: &mut Findings) {
    let number = |f: &Option<Formula>| match f.as_ref().map(|f| &f.expr.kind) {
        Some(ExprKind::Number(q)) => Some(*q),
        _ => None,
    };
    let low = number(&limit.at_least).or(number(&limit.more_than));
    let high = number(&limit.at_most).or(number(&limit.less_than));
    if let (Some(low), Some(high)) = (low, high)
        && low.compare(high).is_ok_and(std::cmp::Ordering::is_gt)
    {
        findings
            .error(span, "no value can meet both ends of this limit")
            .help("the lower end is above the upper one");
    }
}
