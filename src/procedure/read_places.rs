//! `places` of a touch step: the places of its points on the plate. They are only for what is shown. No depth depends
//! on them, so a changed place invalidates nothing.

use super::fields::{Fields, formula, scalar};
use super::formula::ast::ExprKind;
use super::model::{PointPlaces, SidePosition};
use super::node::{Node, Scalar};
use crate::diagnostics::{Findings, nearest};
use crate::quantity::{Dimension, Exact, Length};

const HOW: &str = "write the way from the left edge and from the front edge, each as a length or as a share of the plate, such as `[20 mm, 50%]`";

/// Reads the map; empty where there is none. `named` is whether the operator names the points.
pub(crate) fn places(
    fields: &mut Fields,
    points: &[String],
    named: bool,
    findings: &mut Findings,
) -> PointPlaces {
    let Some(node) = fields.node("places", findings) else {
        return PointPlaces::new();
    };
    let Some(inner) = Fields::of(node, "`places`", findings) else {
        return PointPlaces::new();
    };
    if named {
        findings
            .error(
                node.span(),
                "the operator names these points, so they have no places beforehand",
            )
            .help("leave `places` out; a place is typed behind a reading, such as `L1 -0.07 at 120,80`");
        return PointPlaces::new();
    }
    let mut found = PointPlaces::new();
    for (key, node) in inner.pairs() {
        if !points.contains(&key.text) {
            let finding = findings.error(
                key.span,
                format!("`{}` is not one of this step's points", key.text),
            );
            match nearest(&key.text, points.iter().map(String::as_str)) {
                Some(near) => finding.help(format!("did you mean `{near}`?")),
                None => finding.help(format!("its points are: {}", points.join(", "))),
            };
            continue;
        }
        let Some(at) = pair(key, node, findings) else {
            continue;
        };
        if let Some((other, _)) = found.iter().find(|(_, a)| *a == at) {
            findings
                .error(
                    node.span(),
                    format!("`{}` has the same place as `{other}`", key.text),
                )
                .help("give each point its own place");
        }
        found.push((key.text.clone(), at));
    }
    found
}

fn pair(key: &Scalar, node: &Node, findings: &mut Findings) -> Option<[SidePosition; 2]> {
    let Node::List(items, _) = node else {
        findings
            .error(
                node.span(),
                format!("the place of `{}` is a pair", key.text),
            )
            .help(HOW);
        return None;
    };
    let [x, y] = items.as_slice() else {
        findings
            .error(
                node.span(),
                format!(
                    "the place of `{}` is two figures, not {}",
                    key.text,
                    items.len()
                ),
            )
            .help(HOW);
        return None;
    };
    let x = along(scalar(x, "places", findings)?, findings);
    let y = along(scalar(y, "places", findings)?, findings);
    Some([x?, y?])
}

fn along(text: &Scalar, findings: &mut Findings) -> Option<SidePosition> {
    // The help says what to write here. A fault of the formula itself would mislead, so it is not reported.
    let read = formula(text, &mut Findings::default()).map(|f| f.expr.kind);
    let found = match read {
        Some(ExprKind::Number(q)) if q.dimension == Dimension::LENGTH => {
            Length::exactly(q).map(SidePosition::From)
        }
        Some(ExprKind::Number(q))
            if q.dimension == Dimension::RATIO && q.amount <= Exact::whole(1) =>
        {
            Some(SidePosition::Share(q.amount))
        }
        _ => None,
    };
    if found.is_none() {
        findings
            .error(
                text.span,
                format!(
                    "`{}` is not a distance from the front left corner of the plate",
                    text.text
                ),
            )
            .help(HOW);
    }
    found
}
