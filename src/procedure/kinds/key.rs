//! The keys of the maps in a procedure file, each declared once with its shape and meaning. The JSON Schema, the table
//! in the README and the hints in error messages are generated from these.

use crate::quantity::Dimension;

/// A key of a map.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Key {
    /// The key as it is written.
    pub name: &'static str,
    /// Its meaning, in one line.
    pub about: &'static str,
    /// The form of its value.
    pub shape: Shape,
    /// Whether the map must have it.
    pub required: bool,
}

/// The form of a key's value.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Shape {
    /// A text.
    Text,
    /// A text or a list of texts.
    Texts,
    /// `yes` or `no`.
    YesNo,
    /// A formula.
    Formula,
    /// A formula for a quantity of this kind.
    FormulaFor(Dimension),
    /// A limit or a list of limits.
    Limits,
    /// The id of a step, a phase or a pass.
    StepId,
    /// The id of a procedure or a caution.
    Name,
    /// One of these words.
    Words(&'static [&'static str]),
    /// One or several of these words.
    SomeOf(&'static [&'static str]),
    /// Only this word.
    Only(&'static str),
    /// The version of the file format.
    Format,
    /// A whole number from the first to the second.
    Count(u32, u32),
    /// At least two words, each with its meaning.
    Options,
    /// Names of points, or the words that mean that the operator names them.
    Points,
    /// Points, each with a pair of lengths or shares.
    Places,
    /// A formula over facts of the practice workshop.
    Fact,
    /// A condition over facts of the practice workshop, or words with a condition each.
    Facts,
    /// Lines typed at the practice mill.
    Acts,
    /// One or several drills.
    Drills,
    /// A map of these keys.
    Map(&'static [Key]),
    /// Named maps, each with this definition in the schema.
    Named(Shaped),
    /// A list of maps, each with this definition in the schema.
    ListOf(&'static str),
}

/// The schema definitions for a map of named maps.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Shaped {
    /// The schema definition of the names.
    pub names: &'static str,
    /// The schema definition of the maps.
    pub maps: &'static str,
}

/// A form that a step of a kind can have, with its definition in the schema.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Form {
    /// The name of its definition in the schema.
    pub definition: &'static str,
    /// Its description, in one line.
    pub about: &'static str,
    /// The keys that only this form has.
    pub keys: &'static [Key],
    /// Whether it repeats an earlier step, so that the keys of that step may be left out.
    pub repeats: bool,
}

/// The declaration of a kind of step.
#[derive(Clone, Copy, Debug)]
pub struct Descriptor {
    /// The word that starts a step of this kind.
    pub word: &'static str,
    /// What a step of this kind asks, for the table in the README.
    pub asks: &'static str,
    /// Its forms, the usual one first.
    pub forms: &'static [Form],
}

impl Key {
    /// A key that must be there.
    pub(crate) const fn required(name: &'static str, shape: Shape, about: &'static str) -> Self {
        Self {
            name,
            about,
            shape,
            required: true,
        }
    }

    /// A key that may be left out.
    pub(crate) const fn optional(name: &'static str, shape: Shape, about: &'static str) -> Self {
        Self {
            required: false,
            ..Self::required(name, shape, about)
        }
    }
}

impl Form {
    /// The usual form of a kind.
    pub(crate) const fn new(
        definition: &'static str,
        about: &'static str,
        keys: &'static [Key],
    ) -> Self {
        Self {
            definition,
            about,
            keys,
            repeats: false,
        }
    }
}

impl Descriptor {
    /// The names of its own keys, each once, in the order of its forms.
    pub(crate) fn own_keys(&self) -> Vec<&'static str> {
        let mut names: Vec<&'static str> = Vec::new();
        for key in self.forms.iter().flat_map(|f| f.keys) {
            if !names.contains(&key.name) {
                names.push(key.name);
            }
        }
        names
    }
}

/// The limits that nobody can waive.
pub(crate) const MUST: Key = Key::optional("must", Shape::Limits, "Limits that nobody can waive");
/// The limits outside of which a named person may accept a value.
pub(crate) const EXPECT: Key = Key::optional(
    "expect",
    Shape::Limits,
    "Limits outside of which a named person may accept a value with a reason",
);

/// How long an answer stands in later runs.
pub(crate) const STANDS_FOR: Key = Key::optional(
    "stands for",
    Shape::Formula,
    "How long an answer of an earlier finished run stands, such as 30 d",
);
/// What must be the same while an answer stands.
pub(crate) const WHILE: Key = Key::optional(
    "while",
    Shape::Texts,
    "What must be the same for it to stand: machine, plate, cutter, program, or a fact of the shop file",
);

/// The key of what a step says about practice.
pub const PRACTICE: &str = "practice";

/// That key, with these keys below it.
pub(crate) const fn practice(keys: &'static [Key]) -> Key {
    Key::optional(
        PRACTICE,
        Shape::Map(keys),
        "What a rehearsal on the practice mill knows of it",
    )
}

/// When the state asked for is there.
pub(crate) const TRUE_WHEN: Key = Key::optional(
    "true when",
    Shape::Facts,
    "When the answer is so in the practice workshop; for a choice, a condition for each of its words",
);
/// What is read in the workshop.
pub(crate) const READS: Key = Key::optional(
    "reads",
    Shape::Fact,
    "What an honest answer is: a fact of the practice workshop",
);
/// What is done before the answer.
pub(crate) const FIRST: Key = Key::optional(
    "first",
    Shape::Acts,
    "What a demonstration does at the mill before it answers",
);
/// What is done where the answer is not so.
pub(crate) const MEND: Key = Key::optional(
    "mend",
    Shape::Acts,
    "What makes the answer so where it is not; the facts know it themselves where this is left out",
);
/// What is answered where nothing decides.
pub(crate) const DEMO_ANSWER: Key = Key::optional(
    "answer",
    Shape::Text,
    "What a demonstration answers where nothing in the workshop decides",
);
/// The faults that come here.
pub(crate) const DRILL: Key = Key::optional(
    "drill",
    Shape::Drills,
    "Drills whose fault comes at this step",
);
