//! The modal groups of a control, and the words with a number that it shows with them.
//!
//! Sources: NISTIR 6556, table 4 (RS-274) for motion, plane, distance, feed mode, unit, cutter compensation, length
//! offset, retract, work offset and path; ISO 6983-1 for G70 and G71 (from memory). Scaling, mirror, rotation, polar
//! coordinates, local shift, macro calls and arc centres are common practice, no source. A code that two controls put in
//! one group and two groups stands in two here: the cycles (G80 to G89) next to the motion (G0 to G3).

use crate::quantity::Dimension;

/// The codes of a group: the letter, ten times the number, and the value that the group then has.
type Codes = &'static [(char, u16, &'static str)];

/// What a group is, in one row.
#[derive(Clone, Copy, Debug)]
pub struct GroupRow {
    /// Its word in `must show`.
    pub word: &'static str,
    /// What it decides, for the question that asks for it alone.
    pub about: &'static str,
    /// The page of the control that shows it, in general words.
    pub page: &'static str,
    /// Its codes; empty for a number.
    pub codes: Codes,
    /// The letter and the kind of a number; `None` for a group of codes.
    pub number: Option<(char, Dimension)>,
    /// The code that means that nothing of it is on, for groups that some controls show only while they are on.
    pub off: Option<&'static str>,
    /// Whether the height or place of the cutter depends on it.
    pub moves: bool,
}

macro_rules! groups {
    ($($group:ident: $word:literal, $about:literal, $page:expr, $codes:expr, $number:expr, $off:expr, $moves:literal;)*) => {
        /// A modal group, or a word with a number, that a control shows as active.
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub enum ActiveGroup {
            $(#[doc = $about] $group,)*
        }

        impl ActiveGroup {
            /// All of them.
            pub const ALL: &'static [Self] = &[$(Self::$group,)*];
            /// Their words.
            pub const WORDS: &'static [&'static str] = &[$($word,)*];

            /// What there is to know of it.
            pub const fn row(self) -> GroupRow {
                match self {
                    $(Self::$group => GroupRow {
                        word: $word, about: $about, page: $page, codes: $codes, number: $number, off: $off, moves: $moves,
                    },)*
                }
            }
        }
    };
}

const ACTIVE: &str = "active codes";
const OFFSETS: &str = "work offsets";
const TOOLS: &str = "tool offsets";

groups! {
    Unit: "unit", "the unit of lengths: G20 or G70 inch, G21 or G71 mm", ACTIVE,
        &[('G', 200, "inch"), ('G', 210, "mm"), ('G', 700, "inch"), ('G', 710, "mm")], None, None, true;
    WorkOffset: "offset", "the work offset: G54 to G59.3, or G54.1 with its P", OFFSETS,
        &[
            ('G', 540, "G54"), ('G', 550, "G55"), ('G', 560, "G56"), ('G', 570, "G57"), ('G', 580, "G58"),
            ('G', 590, "G59"), ('G', 591, "G59.1"), ('G', 592, "G59.2"), ('G', 593, "G59.3"), ('G', 541, "G54.1"),
        ], None, None, true;
    Distance: "distance", "absolute or incremental: G90 or G91", ACTIVE,
        &[('G', 900, "G90"), ('G', 910, "G91")], None, None, false;
    FeedMode: "feed mode", "what F means: G93, G94 or G95", ACTIVE,
        &[('G', 930, "G93"), ('G', 940, "G94"), ('G', 950, "G95")], None, None, false;
    Plane: "plane", "the plane of arcs: G17, G18 or G19", ACTIVE,
        &[('G', 170, "G17"), ('G', 180, "G18"), ('G', 190, "G19")], None, None, false;
    LengthOffset: "length offset", "the tool length offset: G43 with its H, or G49", ACTIVE,
        &[
            ('G', 430, "G43"), ('G', 431, "G43.1"), ('G', 434, "G43.4"), ('G', 440, "G44"), ('G', 490, "G49"),
        ], None, Some("G49"), true;
    H: "h", "the number of the active length offset", TOOLS,
        &[], Some(('H', Dimension::RATIO)), None, true;
    CutterCompensation: "cutter compensation", "cutter radius compensation: G40, G41 or G42", ACTIVE,
        &[('G', 400, "G40"), ('G', 410, "G41"), ('G', 420, "G42")], None, Some("G40"), false;
    Scaling: "scaling", "scaling: G50 or G51", ACTIVE,
        &[('G', 500, "G50"), ('G', 510, "G51")], None, Some("G50"), true;
    Mirror: "mirror", "mirror image: G50.1 or G51.1", ACTIVE,
        &[('G', 501, "G50.1"), ('G', 511, "G51.1")], None, Some("G50.1"), true;
    Rotation: "rotation", "rotation: G68 or G69", ACTIVE,
        &[('G', 680, "G68"), ('G', 690, "G69")], None, Some("G69"), true;
    Polar: "polar", "polar coordinates: G15 or G16", ACTIVE,
        &[('G', 150, "G15"), ('G', 160, "G16")], None, Some("G15"), false;
    Shift: "shift", "a shift over the work offset: G92 or G52 while there is one", OFFSETS,
        &[
            ('G', 520, "G52"), ('G', 920, "G92"), ('G', 923, "G92"), ('G', 921, "none"), ('G', 922, "none"),
        ], None, Some("none"), true;
    Motion: "motion", "the kind of motion: G0, G1, G2 or G3; G80 where no motion is active", ACTIVE,
        &[
            ('G', 0, "G0"), ('G', 10, "G1"), ('G', 20, "G2"), ('G', 30, "G3"), ('G', 310, "G31"), ('G', 382, "G38.2"),
        ], None, None, false;
    Cycle: "cycle", "a drilling cycle: G73 to G89, or G80", ACTIVE,
        &[
            ('G', 800, "G80"), ('G', 730, "G73"), ('G', 740, "G74"), ('G', 760, "G76"), ('G', 810, "G81"),
            ('G', 820, "G82"), ('G', 830, "G83"), ('G', 840, "G84"), ('G', 850, "G85"), ('G', 860, "G86"),
            ('G', 870, "G87"), ('G', 880, "G88"), ('G', 890, "G89"),
        ], None, Some("G80"), false;
    ArcCentres: "arc centres", "how arc centres count: G90.1 or G91.1", ACTIVE,
        &[('G', 901, "G90.1"), ('G', 911, "G91.1")], None, None, false;
    Retract: "retract", "where drilling cycles return to: G98 or G99", ACTIVE,
        &[('G', 980, "G98"), ('G', 990, "G99")], None, None, false;
    Path: "path", "how corners are run: G61, G61.1 or G64", ACTIVE,
        &[('G', 610, "G61"), ('G', 611, "G61.1"), ('G', 640, "G64")], None, None, false;
    Macro: "macro", "a modal macro call: G66 or G67", ACTIVE,
        &[('G', 660, "G66"), ('G', 670, "G67")], None, Some("G67"), false;
    Spindle: "spindle", "whether the spindle turns: M3, M4 or M5", ACTIVE,
        &[('M', 30, "M3"), ('M', 40, "M4"), ('M', 50, "M5")], None, None, false;
    Coolant: "coolant", "flood coolant: M8 or M9", ACTIVE,
        &[('M', 80, "M8"), ('M', 90, "M9")], None, None, false;
    Mist: "mist", "mist coolant: M7", ACTIVE,
        &[('M', 70, "M7")], None, None, false;
    Overrides: "override", "whether the override knobs work: M48 or M49", ACTIVE,
        &[('M', 480, "M48"), ('M', 490, "M49")], None, None, false;
    Feed: "feed", "the feed F", ACTIVE,
        &[], Some(('F', Dimension::FEED)), None, false;
    Speed: "speed", "the spindle speed S", ACTIVE,
        &[], Some(('S', Dimension::SPINDLE_SPEED)), None, false;
    Tool: "tool", "the tool number T", ACTIVE,
        &[], Some(('T', Dimension::RATIO)), None, false;
    D: "d", "the number of the cutter radius offset", TOOLS,
        &[], Some(('D', Dimension::RATIO)), None, false;
}

/// Most numbers of G54.1 P. Common practice, no source.
pub const MOST_P: u32 = 300;

/// Codes that endanger when they are left over from other work, each with what it does.
const LEFT_OVER: &[(&str, &str)] = &[
    (
        "G91",
        "distances are incremental: each move counts from where the cutter is, not from the zero",
    ),
    (
        "G51",
        "scaling is on: every move is longer or shorter than the program says, also in Z",
    ),
    ("G51.1", "mirror image is on: an axis moves the other way"),
    (
        "G68",
        "rotation is on: every move in X and Y is turned about a point",
    ),
    (
        "G16",
        "polar coordinates are on: X is a radius and Y an angle",
    ),
    (
        "G41",
        "cutter compensation is on: the path is moved sideways by a number of the offset table",
    ),
    (
        "G42",
        "cutter compensation is on: the path is moved sideways by a number of the offset table",
    ),
    (
        "G44",
        "the length offset is subtracted: Z is off by twice the tool length",
    ),
    (
        "G43.4",
        "tool centre point control is on: Z follows the rotary axes",
    ),
    (
        "G92",
        "a shift is on: it moves the zero of every work offset, and the offset page does not show it",
    ),
    (
        "G52",
        "a local shift is on: it moves the zero of the work offset",
    ),
    (
        "G95",
        "F is a length per revolution: a feed of some hundred would be a crash, and a standing spindle means no feed",
    ),
    (
        "G93",
        "F is one over the minutes of a move: the same F runs short moves very fast",
    ),
    (
        "G18",
        "the plane is ZX: arcs and cycles run in the wrong plane",
    ),
    (
        "G19",
        "the plane is YZ: arcs and cycles run in the wrong plane",
    ),
    (
        "G66",
        "a modal macro call is on: each move also runs a macro",
    ),
    (
        "M49",
        "the override knobs do nothing: the feed cannot be turned down at the first approach",
    ),
];

impl ActiveGroup {
    /// The group of this word.
    pub fn find(word: &str) -> Option<Self> {
        Self::ALL.iter().find(|g| g.word() == word).copied()
    }

    /// Its word in `must show`.
    pub const fn word(self) -> &'static str {
        self.row().word
    }

    /// Its name in formulas: the word with underscores.
    pub fn name(self) -> String {
        self.word().replace(' ', "_")
    }

    /// The group of this name in formulas.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.iter().find(|g| g.name() == name).copied()
    }

    /// The values that it can have, each once; empty for a number.
    pub fn values(self) -> Vec<String> {
        let mut values: Vec<String> = Vec::new();
        for (_, _, value) in self.row().codes {
            if *value == "G54.1" {
                values.extend((1..=MOST_P).map(|p| format!("G54.1 P{p}")));
            } else if !values.iter().any(|v| v == value) {
                values.push((*value).to_owned());
            }
        }
        if self == Self::Motion {
            values.push("G80".to_owned());
        }
        values
    }

    /// The group and value of a code, given as letter and ten times its number.
    pub fn of_code(letter: char, tenfold: u16) -> Option<(Self, &'static str)> {
        Self::ALL.iter().find_map(|group| {
            let row = group.row();
            let found = row
                .codes
                .iter()
                .find(|(l, n, _)| (*l, *n) == (letter, tenfold));
            found.map(|(_, _, value)| (*group, *value))
        })
    }

    /// The group of a letter with a number.
    pub fn of_letter(letter: char) -> Option<Self> {
        let has = |g: &&Self| g.row().number.is_some_and(|(l, _)| l == letter);
        Self::ALL.iter().find(has).copied()
    }

    /// What endangers while this value is active; `None` where nothing does.
    pub fn left_over(self, value: &str) -> Option<&'static str> {
        if self == Self::Cycle && value != "G80" {
            return Some("a drilling cycle is on: the next move in X or Y drills");
        }
        let row = LEFT_OVER.iter().find(|(code, _)| *code == value);
        row.map(|(_, what)| *what)
    }
}

#[cfg(test)]
mod tests {
    use super::{ActiveGroup, LEFT_OVER};
    use crate::program::codes::{Group, group, m_group};
    use std::collections::BTreeSet;

    #[test]
    fn each_word_letter_and_code_belongs_to_one_group() {
        let mut seen = BTreeSet::new();
        for of in ActiveGroup::ALL {
            assert_eq!(ActiveGroup::find(of.word()), Some(*of));
            assert_eq!(ActiveGroup::named(&of.name()), Some(*of));
            assert_eq!(of.row().codes.is_empty(), of.row().number.is_some());
            for (letter, number, _) in of.row().codes {
                assert!(seen.insert((*letter, *number)), "{letter}{number}");
            }
        }
        for (code, _) in LEFT_OVER {
            let one = |g: &&ActiveGroup| g.values().iter().any(|v| v == code);
            assert!(ActiveGroup::ALL.iter().any(|g| one(&g)), "{code}");
        }
    }

    /// The follower of programs has the groups of NISTIR 6556, table 4. Here they are the same, except where this table
    /// divides one.
    #[test]
    fn the_groups_are_those_of_the_follower_of_programs() {
        for tenfold in 0..1000 {
            let shown = ActiveGroup::of_code('G', tenfold).map(|(g, _)| g);
            let Some(of) = group(tenfold) else {
                // Mirror image and G54.1 are shown by controls, and the follower does not vouch for them.
                assert!(
                    shown.is_none() || [501, 511, 541].contains(&tenfold),
                    "{tenfold}"
                );
                continue;
            };
            let fits = match of {
                Group::Once => matches!(shown, None | Some(ActiveGroup::Shift)),
                Group::Motion => {
                    matches!(shown, Some(ActiveGroup::Motion | ActiveGroup::Cycle) | None)
                }
                Group::Plane => shown == Some(ActiveGroup::Plane),
                Group::Distance => shown == Some(ActiveGroup::Distance),
                Group::Centres => shown == Some(ActiveGroup::ArcCentres),
                Group::FeedMode => shown == Some(ActiveGroup::FeedMode),
                Group::Units => shown == Some(ActiveGroup::Unit),
                Group::Compensation => shown == Some(ActiveGroup::CutterCompensation),
                Group::Length => shown == Some(ActiveGroup::LengthOffset),
                Group::Retract => shown == Some(ActiveGroup::Retract),
                Group::WorkOffset => shown == Some(ActiveGroup::WorkOffset),
                Group::Path => shown == Some(ActiveGroup::Path),
                Group::Transform | Group::TransformOff => shown.is_some(),
                // G65 runs its macro once.
                Group::Macro => shown.is_some() == (tenfold == 660),
            };
            assert!(fits, "{tenfold}: {of:?} {shown:?}");
        }
        for code in [3, 4, 5, 7, 8, 9, 48, 49] {
            assert!(m_group(code).is_some() && ActiveGroup::of_code('M', code * 10).is_some());
        }
    }
}
