//! What a rule is.

/// How grave a finding is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Grade {
    /// Good to know.
    Note,
    /// Somebody has to look and say why it is right.
    Look,
    /// The program must not be run so.
    Stop,
}

impl Grade {
    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Look => "look",
            Self::Stop => "stop",
        }
    }
}

/// One rule.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Rule {
    /// Stable: it does not change between versions.
    pub code: &'static str,
    /// How grave.
    pub grade: Grade,
    /// Whether what is found keeps the program from being followed, so that nothing else is vouched for.
    pub unsure: bool,
    /// What, in a few words.
    pub title: &'static str,
    /// Why it matters.
    pub why: &'static str,
    /// What to do.
    pub mend: &'static str,
}

/// A rule that stops.
pub const fn stop(
    code: &'static str,
    title: &'static str,
    why: &'static str,
    mend: &'static str,
) -> Rule {
    Rule {
        code,
        grade: Grade::Stop,
        unsure: false,
        title,
        why,
        mend,
    }
}

/// A rule that asks for a look.
pub const fn look(
    code: &'static str,
    title: &'static str,
    why: &'static str,
    mend: &'static str,
) -> Rule {
    Rule {
        grade: Grade::Look,
        ..stop(code, title, why, mend)
    }
}

/// A rule that notes.
pub const fn note(
    code: &'static str,
    title: &'static str,
    why: &'static str,
    mend: &'static str,
) -> Rule {
    Rule {
        grade: Grade::Note,
        ..stop(code, title, why, mend)
    }
}

/// A rule on what cannot be followed.
pub const fn unsure(
    code: &'static str,
    title: &'static str,
    why: &'static str,
    mend: &'static str,
) -> Rule {
    Rule {
        unsure: true,
        ..stop(code, title, why, mend)
    }
}

/// Declares the rules of a subject: `GRADE NAME = "code" { title: .., why: .., mend: .., }`. What is declared is in the
/// subject's `RULES`, and so in the table; what no planted program breaks fails a test.
macro_rules! rules {
    ($($grade:ident $name:ident = $code:literal {
        title: $title:literal,
        why: $why:literal,
        mend: $mend:literal,
    })*) => {
        $(
            #[doc = $title]
            pub const $name: $crate::program::rules::Rule =
                $crate::program::rules::rule::$grade($code, $title, $why, $mend);
        )*
        /// All of them.
        pub const RULES: &[&$crate::program::rules::Rule] = &[$(&$name),*];
    };
}
pub(super) use rules;
