//! `touch`: a series of points touched off.

use super::super::fields::Fields;
use super::super::model::{Kind, Step, Touch, ZeroBy};
use super::super::node::Scalar;
use super::super::read_limit::both_limits;
use super::super::read_places::places;
use super::key::{DRILL, Descriptor, EXPECT, FIRST, Form, Key, MUST, Shape, practice};
use crate::diagnostics::Findings;
use crate::plate::ZeroMode;

/// The fact of the shop file that says how the readout of a machine is zeroed, as `zero` names it.
const OF_MACHINE: &str = "machine.readout_zero";

/// The descriptor of the kind.
pub(crate) const DESCRIPTOR: Descriptor = Descriptor {
    word: "touch",
    asks: "a series of points",
    forms: &[Form::new(
        "touch",
        "A series of points touched off",
        &[
            Key::required(
                "points",
                Shape::Points,
                "Names of the points in order, or `named by the operator`",
            ),
            Key::required(
                "zero",
                Shape::Text,
                "running, fixed, machine, `machine.readout_zero` of the shop file, or the id of a choose step that offers these words",
            ),
            Key::optional(
                "machine readings",
                Shape::YesNo,
                "Machine Z is asked in addition to the readout",
            ),
            Key::optional("repeats", Shape::Count(1, 9), "Touches of each point"),
            Key::optional(
                "closing",
                Shape::YesNo,
                "The first point is touched again at the end",
            ),
            Key::optional(
                "continues",
                Shape::StepId,
                "The touch step whose heights these continue",
            ),
            Key::optional(
                "tip stays",
                Shape::YesNo,
                "One point, named by the operator, where the tip then stays; a point touched before keeps its height",
            ),
            Key::optional(
                "places",
                Shape::Places,
                "The places of points on the plate: the distance from its left and from its front edge, each a length or a share",
            ),
            Key::optional(
                "doubt",
                Shape::Formula,
                "How far each touch may be wrong, up or down; for what is shown between the points",
            ),
            MUST,
            EXPECT,
            practice(&[FIRST, DRILL]),
        ],
    )],
};

/// Reads the keys of a touch step.
pub(crate) fn read(
    fields: &mut Fields,
    _repeated: Option<&Step>,
    findings: &mut Findings,
) -> Option<Kind> {
    fields.required("points", findings);
    let points = fields.texts("points", findings);
    let named = matches!(points.as_slice(), [one] if one.text == "named by the operator");
    let mut names: Vec<String> = Vec::new();
    if !named {
        for point in points {
            point_name(point, &mut names, findings);
        }
    }
    let zero = fields.required_text("zero", findings);
    let machine_readings = fields.yes("machine readings", findings);
    let repeats = fields.count("repeats", (1, 9), 1, findings);
    let closing = fields.yes("closing", findings);
    let continues = fields.text("continues", findings).map(|t| t.text.clone());
    let tip_stays = fields.yes("tip stays", findings);
    if tip_stays && !(named && continues.is_some() && !closing) {
        findings
            .error(
                fields.span,
                "`tip stays` is one touch at a point that the operator names",
            )
            .help(
                "write `points: named by the operator` and `continues:`, and leave `closing` out",
            );
    }
    let limits = both_limits(fields, findings);
    let places = places(fields, &names, named, findings);
    let doubt = fields.formula("doubt", findings);
    let zero = match zero?.text.as_str() {
        "running" => ZeroBy::Fixed(ZeroMode::Running),
        "fixed" => ZeroBy::Fixed(ZeroMode::Fixed),
        "machine" => ZeroBy::Fixed(ZeroMode::Machine),
        OF_MACHINE => ZeroBy::OfMachine,
        other => ZeroBy::Chosen(other.to_owned()),
    };
    Some(Kind::Touch(Box::new(Touch {
        points: names,
        zero,
        machine_readings,
        repeats,
        closing,
        continues,
        tip_stays,
        limits,
        places,
        doubt,
    })))
}

fn point_name(point: &Scalar, names: &mut Vec<String>, findings: &mut Findings) {
    let sound = point.text.len() <= 12
        && point
            .text
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_');
    if !sound {
        findings
            .error(
                point.span,
                format!("`{}` cannot be the name of a point", point.text),
            )
            .help("letters, digits, - and _, at most 12 of them, such as P1 or NE");
    } else if names.contains(&point.text) {
        findings
            .error(
                point.span,
                format!("the point `{}` is here twice", point.text),
            )
            .help("for more touches of every point write `repeats: 2`");
    } else if matches!(point.text.to_lowercase().as_str(), "closing" | "done") {
        findings
            .error(
                point.span,
                format!("`{}` is a word with its own meaning here", point.text),
            )
            .help("give the point another name");
    }
    names.push(point.text.clone());
}
