//! How long a path takes on axes that must speed up and slow down.
//!
//! Each piece is run at constant acceleration up to its speed and down again; where pieces meet, the speed is what the
//! corner allows. Going backward over the pieces bounds each joint by what can still be braked, going forward by what
//! can be reached (the usual look-ahead of controls; common practice, no source). Not in it: jerk limits, overrides,
//! servo lag.
//!
//! Streaming: a joint whose speed the corner bounds, and not the braking after it, divides what comes before from what
//! comes after, so all before it is settled and forgotten. Where none is found in a full window, half of it is settled
//! as if the rest ended in a stop.

/// Shares of the acceleration for which the time is worked out: half, as given, twice.
pub const SHARES: [f64; 3] = [0.5, 1.0, 2.0];
/// Pieces looked ahead.
const WINDOW: usize = 2048;

/// A piece of a path.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Piece {
    /// Its length, mm; above nought.
    pub length: f64,
    /// Direction at its start, of length one.
    pub enter: [f64; 3],
    /// Direction at its end.
    pub leave: [f64; 3],
    /// Fastest it may be run, mm/s.
    pub speed: f64,
    /// Acceleration along it, mm/s2.
    pub acceleration: f64,
    /// Radius, where it is bent, mm.
    pub radius: Option<f64>,
}

/// A piece with what its joint to the one before allows.
#[derive(Clone, Copy, Debug)]
struct Planned {
    length: f64,
    leave: [f64; 3],
    acceleration: f64,
    /// Square of the speed by feed.
    fast: f64,
    /// Square of the speed by the bend at the acceleration given; grows with it.
    bend: f64,
    /// Square of the speed at the joint before it by the corner; grows with the acceleration.
    corner: f64,
}

impl Planned {
    fn fastest(&self, share: f64) -> f64 {
        self.fast.min(self.bend * share)
    }
}

/// Adds up the time while the path goes by.
#[derive(Clone, Debug)]
pub struct Planner {
    pieces: Vec<Planned>,
    window: usize,
    /// Squares of the speeds at the start of the first piece kept.
    entry: [f64; 3],
    seconds: [f64; 3],
    /// Deviation at a corner, none where it stops there.
    deviation: Option<f64>,
    stop: bool,
}

/// Square of the speed round a corner at this acceleration, the path cutting it by `deviation`.
///
/// Source: geometry. The circle that touches both legs and passes `deviation` from the corner has the radius
/// `deviation sin(t/2) / (1 - sin(t/2))`, t being the angle between the legs; on it `v^2 = a r`.
fn corner(leave: [f64; 3], enter: [f64; 3], deviation: f64, acceleration: f64) -> f64 {
    let cosine: f64 = leave.iter().zip(enter).map(|(a, b)| a * b).sum();
    // The angle between the legs is 180 degrees less the turn: sin(t/2) is the cosine of half the turn.
    let sine = (f64::midpoint(1.0, cosine)).clamp(0.0, 1.0).sqrt();
    if sine >= 1.0 {
        return f64::INFINITY;
    }
    acceleration * deviation * sine / (1.0 - sine)
}

/// Whether a bend is so small that it does not limit the speed (its square `fast`); without roots, since it is asked at
/// every block. With c the cosine of the turn, `s / (1 - s)` is `2 s (1 + s) / (1 - c)`, and from c = 0.9 on at least
/// `3.8 / (1 - c)`.
#[inline]
fn bends_freely(
    leave: [f64; 3],
    enter: [f64; 3],
    deviation_by_acceleration: f64,
    fast: f64,
) -> bool {
    let cosine: f64 = leave[0] * enter[0] + leave[1] * enter[1] + leave[2] * enter[2];
    cosine >= 0.9 && 3.8 * deviation_by_acceleration >= fast * (1.0 - cosine)
}

impl Planner {
    /// At a standstill.
    pub fn new(deviation: Option<f64>) -> Self {
        Self::looking(WINDOW, deviation)
    }

    fn looking(window: usize, deviation: Option<f64>) -> Self {
        Self {
            pieces: Vec::with_capacity(window),
            window,
            entry: [0.0; 3],
            seconds: [0.0; 3],
            deviation,
            stop: true,
        }
    }

    /// Another deviation at corners from here on; nothing for a stop at each.
    pub fn corners(&mut self, deviation: Option<f64>) {
        self.deviation = deviation;
    }

    /// The axes stand still before the next piece.
    pub fn stop(&mut self) {
        self.stop = true;
    }

    /// Takes in the next piece.
    #[inline]
    pub fn push(&mut self, piece: &Piece) {
        if !(piece.length > 0.0 && piece.speed > 0.0 && piece.acceleration > 0.0) {
            return;
        }
        if !self.goes_on(piece) {
            self.part(piece);
        }
    }

    /// Whether the piece goes straight on from the last one at the same speed, and so is one with it.
    #[inline]
    #[allow(clippy::float_cmp)]
    fn goes_on(&mut self, piece: &Piece) -> bool {
        let (false, Some(deviation), Some(last)) =
            (self.stop, self.deviation, self.pieces.last_mut())
        else {
            return false;
        };
        let fast = piece.speed * piece.speed;
        let same = fast == last.fast
            && last.bend == f64::INFINITY
            && piece.radius.is_none()
            && last.acceleration == piece.acceleration
            && bends_freely(
                last.leave,
                piece.enter,
                deviation * piece.acceleration * SHARES[0],
                fast,
            );
        if same {
            last.length += piece.length;
            last.leave = piece.leave;
        }
        same
    }

    fn part(&mut self, piece: &Piece) {
        let acceleration = piece.acceleration;
        let mut next = Planned {
            length: piece.length,
            leave: piece.leave,
            acceleration,
            fast: piece.speed * piece.speed,
            bend: piece.radius.map_or(f64::INFINITY, |r| acceleration * r),
            corner: 0.0,
        };
        if let (false, Some(deviation), Some(last)) =
            (self.stop, self.deviation, self.pieces.last_mut())
        {
            let least = acceleration.min(last.acceleration);
            // What neither corner nor feed parts is one piece: exact, and most of a finely cut path is of that kind.
            #[allow(clippy::float_cmp)]
            let same = next.fast == last.fast
                && bends_freely(
                    last.leave,
                    piece.enter,
                    deviation * least * SHARES[0],
                    next.fast,
                )
                && next.bend.min(last.bend) * SHARES[0] >= next.fast
                && (acceleration - last.acceleration).abs() <= 0.01 * least;
            if same {
                last.length += next.length;
                last.leave = next.leave;
                last.acceleration = least;
                return;
            }
            next.corner = corner(last.leave, piece.enter, deviation, least);
        }
        self.stop = false;
        self.pieces.push(next);
        if self.pieces.len() >= self.window {
            self.settle(false);
        }
    }

    /// The time of everything so far, ended by a stop: at half, full and twice the acceleration, seconds.
    pub fn finish(mut self) -> [f64; 3] {
        self.settle(true);
        self.seconds
    }

    /// Adds up what is settled and forgets it; everything at the end of the path.
    fn settle(&mut self, end: bool) {
        let count = self.pieces.len();
        let limits: Vec<[f64; 3]> = (0..count).map(|n| self.limits(n)).collect();
        // Squares of the speeds at the start of each piece from which the rest can still be braked, and at its end.
        let mut brake = vec![[0.0; 3]; count + 1];
        let mut ahead = [0.0; 3];
        let backward = self.pieces.iter().zip(&limits).zip(&mut brake);
        for ((piece, limit), slot) in backward.rev() {
            for ((ahead, limit), share) in ahead.iter_mut().zip(limit).zip(SHARES) {
                *ahead = (*ahead + 2.0 * piece.acceleration * share * piece.length).min(*limit);
            }
            *slot = ahead;
        }
        let settled = if end {
            count
        } else {
            #[allow(clippy::float_cmp)]
            let bound = (1..count).rev().find(|n| limits.get(*n) == brake.get(*n));
            bound.unwrap_or(count / 2)
        };
        for (piece, after) in self.pieces.iter().take(settled).zip(brake.iter().skip(1)) {
            for (n, share) in SHARES.iter().enumerate() {
                let (Some(from), Some(sum), Some(brake)) =
                    (self.entry.get_mut(n), self.seconds.get_mut(n), after.get(n))
                else {
                    continue;
                };
                let a = piece.acceleration * share;
                let to = brake.min(*from + 2.0 * a * piece.length);
                *sum += seconds(piece.length, *from, to, piece.fastest(*share), a);
                *from = to;
            }
        }
        self.pieces.drain(..settled);
    }

    /// Squares of the speeds that the joint before a piece allows.
    fn limits(&self, number: usize) -> [f64; 3] {
        let Some(piece) = self.pieces.get(number) else {
            return [0.0; 3];
        };
        let Some(before) = number.checked_sub(1).and_then(|n| self.pieces.get(n)) else {
            return self.entry;
        };
        SHARES.map(|share| {
            (piece.corner * share)
                .min(piece.fastest(share))
                .min(before.fastest(share))
        })
    }
}

/// Time over `length` from one speed to another (squares) at acceleration `a`, no faster than the root of `fastest`.
/// Source: kinematics of constant acceleration; a trapezoid where the top speed is reached, else a triangle.
fn seconds(length: f64, from: f64, to: f64, fastest: f64, a: f64) -> f64 {
    let peak = f64::midpoint(from, to) + a * length;
    let (start, end) = (from.sqrt(), to.sqrt());
    if peak <= fastest {
        return ((2.0 * peak.sqrt() - start - end) / a).max(0.0);
    }
    let top = fastest.sqrt();
    let ramps = (2.0 * fastest - from - to) / (2.0 * a);
    (2.0 * top - start - end) / a + (length - ramps) / top
}

#[cfg(test)]
mod tests {
    use super::{Piece, Planner};
    use proptest::prelude::{prop, proptest};

    const X: [f64; 3] = [1.0, 0.0, 0.0];
    const Y: [f64; 3] = [0.0, 1.0, 0.0];

    fn piece(length: f64, way: [f64; 3], speed: f64, acceleration: f64) -> Piece {
        Piece {
            length,
            enter: way,
            leave: way,
            speed,
            acceleration,
            radius: None,
        }
    }

    fn time(deviation: Option<f64>, pieces: &[Piece]) -> [f64; 3] {
        let mut planner = Planner::new(deviation);
        for piece in pieces {
            planner.push(piece);
        }
        planner.finish()
    }

    fn near(found: f64, wanted: f64) {
        assert!(
            (found - wanted).abs() <= 1e-9 * wanted.max(1.0),
            "{found}, not {wanted}"
        );
    }

    // Kinematics: a trapezoid takes l/v + v/a, a triangle 2 sqrt(l/a).
    #[test]
    fn one_line_is_a_trapezoid_or_a_triangle() {
        let [half, full, twice] = time(Some(0.01), &[piece(100.0, X, 100.0, 500.0)]);
        near(full, 1.2);
        near(half, 1.4);
        near(twice, 1.1);
        near(
            time(Some(0.01), &[piece(10.0, X, 100.0, 500.0)])[1],
            2.0 * (10.0_f64 / 500.0).sqrt(),
        );
    }

    // Kinematics and geometry: round a right angle v^2 = a d s / (1 - s), s = sin 45 degrees; each leg a trapezoid from
    // nought over v_max to v, or back.
    #[test]
    fn a_right_angle_is_rounded_or_stopped_at() {
        let legs = [piece(100.0, X, 50.0, 500.0), piece(100.0, Y, 50.0, 500.0)];
        let s = 0.5_f64.sqrt();
        let v = (500.0 * 0.05 * s / (1.0 - s)).sqrt();
        let ramps = 50.0 / 500.0 + (50.0 - v) / 500.0;
        let on_ramps = (2500.0 + 2500.0 - v * v) / 1000.0;
        near(
            time(Some(0.05), &legs)[1],
            2.0 * (ramps + (100.0 - on_ramps) / 50.0),
        );
        near(time(None, &legs)[1], 2.0 * (100.0 / 50.0 + 50.0 / 500.0));
        // Straight back is a stop under any tolerance.
        let back = [legs[0], piece(100.0, [-1.0, 0.0, 0.0], 50.0, 500.0)];
        near(time(Some(0.05), &back)[1], time(None, &legs)[1]);
    }

    // Kinematics: on a circle no faster than sqrt(a r).
    #[test]
    fn a_bend_limits_the_speed() {
        let bent = Piece {
            radius: Some(2.0),
            ..piece(1000.0, X, 500.0, 200.0)
        };
        near(time(Some(0.01), &[bent])[1], 1000.0 / 20.0 + 20.0 / 200.0);
    }

    #[test]
    fn a_line_in_many_blocks_takes_no_longer_unless_each_is_stopped_at() {
        let whole = time(Some(0.01), &[piece(150.0, X, 30.0, 300.0)]);
        let blocks = vec![piece(0.15, X, 30.0, 300.0); 1000];
        for (one, many) in whole.iter().zip(time(Some(0.01), &blocks)) {
            near(many, *one);
        }
        // Triangles: 2 sqrt(l/a) each.
        near(
            time(None, &blocks)[1],
            1000.0 * 2.0 * (0.15_f64 / 300.0).sqrt(),
        );
    }

    // Invented figures, kept to see what the time hangs on: 0.15 mm blocks at 30 mm/s with a stop at each take 2.8 times
    // the plain time at 3000 mm/s2 and 15 times at 100.
    #[test]
    fn exact_stops_dominate_fine_blocks() {
        for (acceleration, times) in [(3000.0, 2.83), (100.0, 15.49)] {
            let blocks = vec![piece(0.15, X, 30.0, acceleration); 4000];
            let plain = 4000.0 * 0.15 / 30.0;
            let found = time(None, &blocks)[1] / plain;
            assert!((found - times).abs() < 0.01, "{found}");
        }
    }

    // Invented: a raster of long rows at 20 mm/s takes at most 4 % longer than length over feed, whatever the acceleration.
    #[test]
    fn long_rows_hardly_depend_on_the_acceleration() {
        for acceleration in [3000.0, 500.0, 100.0] {
            for deviation in [Some(0.05), None] {
                let row = |n: usize| {
                    let way = if n.is_multiple_of(2) {
                        X
                    } else {
                        [-1.0, 0.0, 0.0]
                    };
                    [
                        piece(300.0, way, 20.0, acceleration),
                        piece(0.4, Y, 20.0, acceleration),
                    ]
                };
                let pieces: Vec<Piece> = (0..500).flat_map(row).collect();
                let plain: f64 = pieces.iter().map(|p| p.length / p.speed).sum();
                let more = time(deviation, &pieces)[1] / plain - 1.0;
                assert!((0.0..0.04).contains(&more), "{more}");
            }
        }
    }

    proptest! {
        // A short look-ahead gives what a look at the whole gives.
        #[test]
        fn looking_ahead_is_enough(
            blocks in prop::collection::vec((0.5_f64..20.0, -0.6_f64..0.6, 5.0_f64..40.0), 1..200),
        ) {
            let mut heading = 0.0_f64;
            let mut short = Planner::looking(40, Some(0.01));
            let mut long = Planner::looking(1000, Some(0.01));
            for (length, turn, speed) in blocks {
                heading += turn;
                let p = piece(length, [heading.cos(), heading.sin(), 0.0], speed, 300.0);
                short.push(&p);
                long.push(&p);
            }
            for (s, l) in short.finish().iter().zip(long.finish()) {
                assert!((s - l).abs() < 1e-6 * l, "{s} {l}");
            }
        }
    }
}
