//! The kinds of step, each declared once: one file for each kind, with its keys and its reader.
//!
//! [`StepKind`] is made from one list. Each line needs a module with a `DESCRIPTOR` and a `read`, so a kind without one
//! of them does not compile. The JSON Schema, the table in the README and the hints in error messages are generated
//! from the descriptors.

mod choose;
mod codes;
mod confirm;
mod cut;
mod enter;
mod inspect;
pub(crate) mod key;
mod note;
mod program;
mod read;
mod sign;
mod touch;
mod wait;
mod work_out;

pub use key::{Descriptor, Form, Key, PRACTICE, Shape};

use super::fields::Fields;
use super::model::{Kind, Step};
use crate::diagnostics::Findings;

macro_rules! step_kinds {
    ($($(#[$about:meta])* $kind:ident in $module:ident,)*) => {
        /// A kind of step, without the content of a step.
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub enum StepKind {
            $($(#[$about])* $kind,)*
        }

        impl StepKind {
            /// All of them, in the order of the README.
            pub const ALL: &[Self] = &[$(Self::$kind,)*];

            /// The descriptor of the kind.
            pub(crate) const fn descriptor(self) -> &'static Descriptor {
                match self {
                    $(Self::$kind => &$module::DESCRIPTOR,)*
                }
            }

            /// Reads the keys that only this kind of step has. `repeated` is the earlier step that this one repeats.
            pub(crate) fn read(
                self,
                fields: &mut Fields,
                repeated: Option<&Step>,
                findings: &mut Findings,
            ) -> Option<Kind> {
                match self {
                    $(Self::$kind => $module::read(fields, repeated, findings),)*
                }
            }
        }
    };
}

step_kinds! {
    /// A state that is seen, stated in words.
    Confirm in confirm,
    /// One of several.
    Choose in choose,
    /// A number with a unit.
    Read in read,
    /// Free text.
    Note in note,
    /// A series of points touched off.
    Touch in touch,
    /// A value by formula.
    WorkOut in work_out,
    /// A value for the control, and its read-back.
    Enter in enter,
    /// The NC program.
    Program in program,
    /// The line of active codes of the control.
    Codes in codes,
    /// The hold point.
    Sign in sign,
    /// Cycle start.
    Cut in cut,
    /// What is clean and what is not.
    Inspect in inspect,
    /// A timer.
    Wait in wait,
}

impl StepKind {
    /// The word that starts a step of this kind.
    pub const fn word(self) -> &'static str {
        self.descriptor().word
    }

    /// The kind whose steps start with this word.
    pub(crate) fn from_word(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|k| k.word() == word)
    }
}

/// Every key that some kinds of step have and others do not.
pub fn own_keys() -> Vec<&'static str> {
    let mut names = Vec::new();
    for kind in StepKind::ALL {
        for name in kind.descriptor().own_keys() {
            if !names.contains(&name) {
                names.push(name);
            }
        }
    }
    names
}

/// The table of kinds as the README shows it, in Markdown.
pub fn table() -> String {
    let mut table = String::from("| step | asks | its own keys |\n|---|---|---|\n");
    for kind in StepKind::ALL {
        let descriptor = kind.descriptor();
        let keys: Vec<String> = descriptor
            .own_keys()
            .iter()
            .map(|k| format!("`{k}`"))
            .collect();
        table.push_str(&format!(
            "| `{}` | {} | {} |\n",
            descriptor.word,
            descriptor.asks,
            keys.join(", ")
        ));
    }
    table
}
