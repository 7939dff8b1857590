//! A plate seen from above: a rectangle in the coordinates of the program, with names for its sides.

use crate::scene::Rect;

/// A side of a plate.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Side {
    /// Where X is lowest.
    LowX,
    /// Where X is highest.
    HighX,
    /// Where Y is lowest.
    LowY,
    /// Where Y is highest.
    HighY,
}

/// The position of a part on the plate.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum PlatePart {
    /// It touches two sides that meet.
    Corner(Side, Side),
    /// It touches a side, perhaps from end to end.
    Edge(Side),
    /// It reaches from a side to the opposite one.
    Across(Side, Side),
    /// It touches all four sides.
    AllRound,
    /// It touches no side.
    Inside {
        /// The side nearest to the part.
        nearest: Side,
        /// Distance of the part from that side, mm.
        away: f64,
    },
}

impl Side {
    /// The name of the side: the axis and the end of it.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::LowX => "low X",
            Self::HighX => "high X",
            Self::LowY => "low Y",
            Self::HighY => "high Y",
        }
    }
}

impl Rect {
    /// Whether the two rectangles come within `near` mm of each other.
    pub(crate) fn meets(&self, other: &Self, near: f64) -> bool {
        let axes = self.low.iter().zip(&self.high);
        let others = other.low.iter().zip(&other.high);
        axes.zip(others)
            .all(|((low, high), (l, h))| *low <= h + near && *l <= high + near)
    }

    /// The position of a part on this plate; a distance of at most `near` mm from a side counts as touching it.
    pub(crate) fn place(&self, part: &Self, near: f64) -> PlatePart {
        let sides = [
            (Side::LowX, part.low[0] - self.low[0]),
            (Side::HighX, self.high[0] - part.high[0]),
            (Side::LowY, part.low[1] - self.low[1]),
            (Side::HighY, self.high[1] - part.high[1]),
        ];
        let nearer = |a: (Side, f64), b: (Side, f64)| if b.1 < a.1 { b } else { a };
        let x = nearer(sides[0], sides[1]);
        let y = nearer(sides[2], sides[3]);
        let touches = sides.map(|(_, away)| away <= near);
        match touches {
            [true, true, true, true] => PlatePart::AllRound,
            [true, true, false, false] => PlatePart::Across(Side::LowX, Side::HighX),
            [false, false, true, true] => PlatePart::Across(Side::LowY, Side::HighY),
            [true, true, ..] => PlatePart::Edge(y.0),
            [.., true, true] => PlatePart::Edge(x.0),
            _ => match (x.1 <= near, y.1 <= near) {
                (true, true) => PlatePart::Corner(x.0, y.0),
                (true, false) => PlatePart::Edge(x.0),
                (false, true) => PlatePart::Edge(y.0),
                (false, false) => {
                    let (nearest, away) = nearer(x, y);
                    PlatePart::Inside { nearest, away }
                }
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{PlatePart, Side};
    use crate::scene::Rect;

    #[test]
    fn a_part_is_named_by_the_sides_it_touches() {
        let plate = Rect::between([30.0, 150.0], [270.0, 30.0]);
        let place = |a, b| plate.place(&Rect::between(a, b), 0.2);
        assert_eq!(
            place([269.0, 149.0], [270.0, 150.0]),
            PlatePart::Corner(Side::HighX, Side::HighY)
        );
        assert_eq!(
            place([30.1, 60.0], [32.0, 70.0]),
            PlatePart::Edge(Side::LowX)
        );
        // A band along a whole side.
        assert_eq!(
            place([30.0, 30.0], [270.0, 31.0]),
            PlatePart::Edge(Side::LowY)
        );
        assert_eq!(
            place([268.0, 30.0], [270.0, 150.0]),
            PlatePart::Edge(Side::HighX)
        );
        assert_eq!(
            place([30.0, 60.0], [270.0, 61.0]),
            PlatePart::Across(Side::LowX, Side::HighX)
        );
        assert_eq!(place([30.0, 30.0], [270.0, 150.0]), PlatePart::AllRound);
        assert_eq!(
            place([100.0, 130.0], [110.0, 145.0]),
            PlatePart::Inside {
                nearest: Side::HighY,
                away: 5.0
            }
        );
    }
}
