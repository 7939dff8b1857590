//! The keys of a procedure file that belong to no kind of step: its head, cautions, passes, phases, limits, and the
//! keys that every step has.

use super::kinds::key::{Form, Key, Shape, Shaped};
use super::read::MOST_PASSES;

/// The keys at the top of a procedure file, above its phases.
pub const HEAD: &[Key] = &[
    Key::required("format", Shape::Format, "The version of the file format"),
    Key::required("procedure", Shape::Name, "The procedure's id"),
    Key::required("title", Shape::Text, "Its title"),
    Key::required(
        "version",
        Shape::Text,
        "Its version; raise it with every change",
    ),
    Key::required(
        "unit",
        Shape::Words(&["mm", "inch"]),
        "The unit for typed values, unless the walk sets another one",
    ),
    Key::optional(
        "decimal",
        Shape::Words(&["point", "comma"]),
        "The decimal mark that is allowed in addition to the point",
    ),
    Key::required("applies to", Shape::Text, "What it is for"),
    Key::required(
        "defers to",
        Shape::Texts,
        "What has priority over it, shown at the start",
    ),
    Key::optional(
        "cautions",
        Shape::Named(Shaped {
            names: "name",
            maps: "caution",
        }),
        "Cautions by name",
    ),
    Key::optional(
        "passes",
        Shape::Named(Shaped {
            names: "stepId",
            maps: "pass",
        }),
        "How often the phases of each pass are repeated",
    ),
    Key::required(
        "phases",
        Shape::ListOf("phase"),
        "The phases in their order",
    ),
];

/// A caution.
pub const CAUTION: &[Key] = &[
    Key::required(
        "word",
        Shape::Words(&["danger", "warning", "caution", "notice"]),
        "danger, warning or caution where somebody can be hurt, notice where not",
    ),
    Key::required("hazard", Shape::Text, "The hazard, one short sentence"),
    Key::required(
        "consequence",
        Shape::Text,
        "What happens, one short sentence",
    ),
    Key::required("avoid", Shape::Text, "What to do, one short sentence"),
    Key::required(
        "source",
        Shape::Text,
        "Where it is from, or: common practice, no source",
    ),
];

/// A pass that ends by what is seen, and one that is walked a fixed number of times.
pub const PASS: [&[Key]; 2] = [
    &[
        Key::required(
            "until",
            Shape::StepId,
            "The inspect step whose `clean` ends it",
        ),
        Key::required(
            "at most",
            Shape::Count(1, MOST_PASSES),
            "Most passes walked",
        ),
    ],
    &[Key::required(
        "times",
        Shape::Count(1, MOST_PASSES),
        "How often it is walked",
    )],
];

/// A phase.
pub const PHASE: &[Key] = &[
    Key::required("phase", Shape::StepId, "The phase's id"),
    Key::required("title", Shape::Text, "Its title"),
    Key::optional("each", Shape::StepId, "The pass it is walked again for"),
    Key::required(
        "steps",
        Shape::ListOf("step"),
        "Its steps; more than nine questions invite skipping",
    ),
];

/// A limit; one of the first five must be there.
pub const LIMIT: &[Key] = &[
    Key::optional("at least", Shape::Formula, "Smallest value that passes"),
    Key::optional("at most", Shape::Formula, "Largest value that passes"),
    Key::optional("more than", Shape::Formula, "The value must be above this"),
    Key::optional("less than", Shape::Formula, "The value must be below this"),
    Key::optional("exactly", Shape::Formula, "The only value that passes"),
    Key::optional(
        "because",
        Shape::Text,
        "Why; in quotes if it has a comma or colon",
    ),
];

/// The keys that every step has in addition to its kind and id.
pub const STEP: &[Key] = &[
    Key::required("title", Shape::Text, "The challenge, short"),
    Key::optional("do", Shape::Text, "What to do now"),
    Key::optional(
        "in short",
        Shape::Text,
        "The same in a few words, for a person who did it often",
    ),
    Key::required("why", Shape::Text, "Why, for learning"),
    Key::optional("cautions", Shape::Texts, "Names of cautions shown here"),
    Key::optional("when", Shape::Formula, "Asked only if this is true"),
    Key::optional(
        "fresh for",
        Shape::Formula,
        "How long the answer is valid, such as 15 min",
    ),
    Key::optional(
        "asked of the person",
        Shape::YesNo,
        "Asked again after a hand-over",
    ),
    Key::optional(
        "again after lost position",
        Shape::YesNo,
        "Asked again when the machine may have lost its position; heights, entries and active codes are always asked again",
    ),
    Key::optional(
        "again after emergency stop",
        Shape::YesNo,
        "Older name of `again after lost position`",
    ),
    Key::optional(
        "rests on",
        Shape::Texts,
        "Steps that it depends on physically, where no formula shows it",
    ),
    Key::optional(
        "proves",
        Shape::Text,
        "What the answer can prove and what it cannot; shown in the record too",
    ),
];

/// Whether a step of this form must have a key that every step has. A step that repeats another takes missing keys from
/// that step.
pub(crate) fn step_needs(form: &Form, key: &Key) -> bool {
    key.required && !form.repeats
}
