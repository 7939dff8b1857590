//! The type of a rule, and the macro that declares rules.

/// How serious a finding is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Grade {
    /// For information.
    Note,
    /// A person has to check it, and to say why it is right.
    Look,
    /// The program must not be run as it is.
    Stop,
}

impl Grade {
    /// The grade as a word.
    pub(crate) fn word(self) -> &'static str {
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
    /// The code of the rule. It never changes between versions.
    pub code: &'static str,
    /// How serious its findings are.
    pub grade: Grade,
    /// Whether a finding means that the program cannot be followed, so that nothing else is vouched for.
    pub unsure: bool,
    /// What is wrong, in a few words.
    pub title: &'static str,
    /// Why it matters.
    pub why: &'static str,
    /// What to do.
    pub mend: &'static str,
}

/// A rule of grade `Stop`.
pub(crate) const fn stop(
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

/// A rule of grade `Look`.
pub(crate) const fn look(
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

/// A rule of grade `Note`.
pub(crate) const fn note(
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

/// A rule about text that cannot be followed.
pub(crate) const fn unsure(
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

/// Declares the rules of a subject: `GRADE NAME = "code" { title: .., why: .., mend: .., }`. Every declared rule is in
/// the subject's `RULES`, and so in the table; a test fails for a rule that no planted program breaks.
macro_rules! rules {
    ($($grade:ident $name:ident = $code:literal {
        title: $title:literal,
        why: $why:literal,
        mend: $mend:literal,
    })*) => {
        $(
            #[doc = $title]
            pub(crate) const $name: $crate::program::rules::Rule =
                $crate::program::rules::rule::$grade($code, $title, $why, $mend);
        )*
        /// All rules of the subject.
        pub(crate) const RULES: &[&$crate::program::rules::Rule] = &[$(&$name),*];
    };
}
pub(super) use rules;
