//! The one table of marks: how each looks in characters, in SVG and in words.
//!
//! No mark depends on colour: glyphs, patterns, dashes and words differ. The safety colours of ANSI Z535 and ISO 3864 belong
//! to signal words and are not used here; nor is the triangle.

/// What can be seen in a scene. Where several fall on one character, the later one is drawn: bad news wins.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Mark {
    /// The outline of the plate.
    Edge,
    /// How high the metal stands, from 0 for the lowest to 9 for the highest.
    Relief(u8),
    /// Cut, or certain to be.
    Clean,
    /// Most likely cut.
    Likely,
    /// Nobody knows.
    Unknown,
    /// A rapid well above the metal.
    Rapid,
    /// A rapid of unknown height.
    RapidUnknown,
    /// Feed where the cutter is wholly off the plate.
    FeedOff,
    /// Feed.
    Feed,
    /// Old skin stays.
    Stays,
    /// A clamp or the like.
    Obstacle,
    /// A rapid at or below the top of the metal.
    RapidLow,
    /// The cutter, to scale.
    Cutter,
    /// A touched point.
    Touch,
    /// Where the path ends.
    End,
    /// Where the cutter leaves the metal for the last time.
    LastLift,
    /// Where the first cut begins.
    FirstCut,
    /// Where the path starts.
    Start,
    /// Straight down into the plate.
    Plunge,
    /// The place of a finding, by its place in the list of findings, from 0.
    Finding(u8),
}

/// How SVG draws a mark.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Ink {
    /// An area filled with a pattern.
    Area(Pattern),
    /// A line: colour, width and dashes in tenths of a letter's height.
    Line(&'static str, u8, &'static [u8]),
    /// A sign at a place.
    Point(Shape),
}

/// What fills an area.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Pattern {
    /// White.
    White,
    /// Dots.
    Dots,
    /// Slanted bars.
    Bars,
    /// Crossed lines.
    Cross,
    /// One grey, from 0 for the darkest to 9 for the lightest.
    Grey(u8),
}

/// A sign at a place.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Shape {
    /// A filled disc.
    Dot,
    /// A ring to the scale of the plate.
    Ring,
    /// A filled disc to the scale of the plate.
    Block,
    /// The mark's letter in a box.
    Letter,
    /// The mark's letter in a heavy ring, white on black.
    Alarm,
}

/// The row of a mark: glyph, glyph where only ASCII can be shown, word, SVG.
pub(crate) struct Sign {
    /// In a terminal that shows line drawing. All are in code page 437, the set of the oldest terminal fonts.
    pub glyph: char,
    /// In any terminal.
    pub ascii: char,
    /// In words.
    pub word: &'static str,
    /// In SVG.
    pub ink: Ink,
}

/// Dark, neither black nor one of the safety colours.
const PATH: &str = "#263238";
/// Stands out from it and is no safety colour.
const ALARM: &str = "#6a1b9a";
const GREY: &str = "#757575";

impl Mark {
    /// Its row in the table.
    pub(crate) fn sign(self) -> Sign {
        use Ink::{Area, Line, Point};
        let (glyph, ascii, word, ink) = match self {
            Self::Edge => ('═', '=', "edge of the plate", Line("#111", 2, &[])),
            Self::Relief(n) => {
                let digit = char::from(b'0' + n.min(9));
                let word = "height, 0 lowest to 9 highest";
                (digit, digit, word, Area(Pattern::Grey(n)))
            }
            Self::Clean => ('·', '.', "clean", Area(Pattern::White)),
            Self::Likely => ('~', '~', "likely clean", Area(Pattern::Dots)),
            Self::Unknown => ('?', '?', "not known", Area(Pattern::Bars)),
            Self::Stays => ('▓', '#', "old skin stays", Area(Pattern::Cross)),
            Self::Rapid => (':', ':', "rapid above the metal", Line(GREY, 1, &[5, 5])),
            Self::RapidUnknown => (';', ';', "rapid, height not known", Line(GREY, 2, &[1, 4])),
            Self::FeedOff => (
                ',',
                ',',
                "feed, cutter off the plate",
                Line(PATH, 1, &[1, 2]),
            ),
            Self::Feed => ('─', '-', "feed", Line(PATH, 1, &[])),
            Self::Obstacle => ('@', '@', "clamp", Point(Shape::Block)),
            Self::Cutter => ('o', 'o', "cutter, to scale", Point(Shape::Ring)),
            Self::Touch => ('+', '+', "touched", Point(Shape::Dot)),
            Self::End => ('E', 'E', "end", Point(Shape::Letter)),
            Self::LastLift => ('L', 'L', "last lift", Point(Shape::Letter)),
            Self::FirstCut => ('F', 'F', "first cut", Point(Shape::Letter)),
            Self::Start => ('S', 'S', "start", Point(Shape::Letter)),
            Self::Plunge => ('P', 'P', "PLUNGE into the plate", Point(Shape::Alarm)),
            Self::RapidLow => ('!', '!', "LOW RAPID", Line(ALARM, 4, &[8, 3])),
            Self::Finding(n) => {
                let letter = char::from(b'a' + n.min(25));
                (letter, letter, "findings", Point(Shape::Alarm))
            }
        };
        Sign {
            glyph,
            ascii,
            word,
            ink,
        }
    }

    /// Its word.
    pub(crate) fn word(self) -> &'static str {
        self.sign().word
    }
}

/// Which way a line runs through a character, or which part of the outline it is.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub(crate) enum Stroke {
    /// Left and right.
    #[default]
    Across,
    /// Front and back.
    Upright,
    /// Up to the right.
    Rising,
    /// Down to the right.
    Falling,
    /// Two of them.
    Crossing,
    /// To the right.
    Right,
    /// To the left.
    Left,
    /// A side of the outline: whether the right one.
    Side(bool),
    /// A corner of the outline: whether of the top, and of the right.
    Corner(bool, bool),
}

impl Stroke {
    /// The glyph of a mark that has different ones along its way.
    pub(crate) fn glyph(self, mark: Mark, unicode: bool) -> char {
        let sign = mark.sign();
        let [glyph, ascii] = match (mark, self) {
            (Mark::Feed, Self::Upright) => ['│', '|'],
            (Mark::Feed, Self::Rising) => ['/', '/'],
            (Mark::Feed, Self::Falling) => ['\\', '\\'],
            (Mark::Feed, Self::Crossing) => ['┼', '*'],
            (Mark::Feed, Self::Right) => ['→', '>'],
            (Mark::Feed, Self::Left) => ['←', '<'],
            (Mark::Edge, Self::Side(right)) => ['║', if right { ']' } else { '[' }],
            (Mark::Edge, Self::Corner(top, right)) => [
                match (top, right) {
                    (true, false) => '╔',
                    (true, true) => '╗',
                    (false, false) => '╚',
                    (false, true) => '╝',
                },
                if right { ']' } else { '[' },
            ],
            _ => [sign.glyph, sign.ascii],
        };
        if unicode { glyph } else { ascii }
    }
}

#[cfg(test)]
mod tests {
    use super::{Mark, Stroke};

    /// Every mark, digits and letters by their first and last.
    const ALL: [Mark; 22] = [
        Mark::Edge,
        Mark::Relief(0),
        Mark::Relief(9),
        Mark::Clean,
        Mark::Likely,
        Mark::Unknown,
        Mark::Rapid,
        Mark::RapidUnknown,
        Mark::FeedOff,
        Mark::Feed,
        Mark::Stays,
        Mark::Obstacle,
        Mark::Cutter,
        Mark::Touch,
        Mark::End,
        Mark::LastLift,
        Mark::FirstCut,
        Mark::Start,
        Mark::Plunge,
        Mark::RapidLow,
        Mark::Finding(0),
        Mark::Finding(8),
    ];

    #[test]
    fn no_two_marks_look_or_sound_alike() {
        for unicode in [true, false] {
            let mut seen: Vec<(char, Mark)> = Vec::new();
            for mark in ALL {
                for stroke in [
                    Stroke::Across,
                    Stroke::Upright,
                    Stroke::Rising,
                    Stroke::Falling,
                    Stroke::Crossing,
                    Stroke::Right,
                    Stroke::Left,
                    Stroke::Side(true),
                    Stroke::Corner(true, true),
                    Stroke::Corner(false, false),
                ] {
                    let glyph = stroke.glyph(mark, unicode);
                    assert!(unicode || glyph.is_ascii(), "{mark:?} {glyph}");
                    let other = seen.iter().find(|(g, m)| *g == glyph && *m != mark);
                    assert!(other.is_none(), "{glyph} is {mark:?} and {other:?}");
                    seen.push((glyph, mark));
                }
            }
        }
        for (n, a) in ALL.iter().enumerate() {
            for b in &ALL[..n] {
                let family = |m: &Mark| std::mem::discriminant(m);
                let alike = a.word() == b.word();
                assert_eq!(alike, family(a) == family(b), "{a:?} {b:?}");
                if family(a) != family(b) && a.sign().ink == b.sign().ink {
                    // The same shape carries another letter.
                    assert_ne!(a.sign().ascii, b.sign().ascii, "{a:?} {b:?}");
                }
            }
        }
    }
}
