//! Speeds at corners, and times at constant acceleration.

/// Square of the speed at a corner, mm2/s2, at this acceleration, in mm/s2, where the path may leave the corner by
/// `deviation`, in mm.
///
/// Source: geometry. The circle that touches both legs and passes `deviation` from the corner has the radius
/// `deviation sin(t/2) / (1 - sin(t/2))`, t being the angle between the legs; on it `v^2 = a r`.
pub(super) fn corner(leave: [f64; 3], enter: [f64; 3], deviation: f64, acceleration: f64) -> f64 {
    let cosine: f64 = leave.iter().zip(enter).map(|(a, b)| a * b).sum();
    // The angle between the legs is 180 degrees minus the turn, so sin(t/2) is the cosine of half the turn.
    let sine = (f64::midpoint(1.0, cosine)).clamp(0.0, 1.0).sqrt();
    if sine >= 1.0 {
        return f64::INFINITY;
    }
    acceleration * deviation * sine / (1.0 - sine)
}

/// Whether a bend is so small that it does not limit the speed (its square is `fast`). Without square roots, because it
/// is evaluated at every block. With c the cosine of the turn, `s / (1 - s)` is `2 s (1 + s) / (1 - c)`, and from c =
/// 0.9 on at least `3.8 / (1 - c)`.
#[inline]
pub(super) fn bends_freely(
    leave: [f64; 3],
    enter: [f64; 3],
    deviation_by_acceleration: f64,
    fast: f64,
) -> bool {
    let cosine: f64 = leave[0] * enter[0] + leave[1] * enter[1] + leave[2] * enter[2];
    cosine >= 0.9 && 3.8 * deviation_by_acceleration >= fast * (1.0 - cosine)
}

/// Time over `length` from one speed to another (both given as squares) at the acceleration `a`, no faster than the
/// square root of `fastest`. Source: kinematics of constant acceleration; a trapezoid where the top speed is reached,
/// else a triangle.
pub(super) fn seconds(length: f64, from: f64, to: f64, fastest: f64, a: f64) -> f64 {
    let peak = f64::midpoint(from, to) + a * length;
    let (start, end) = (from.sqrt(), to.sqrt());
    if peak <= fastest {
        return ((2.0 * peak.sqrt() - start - end) / a).max(0.0);
    }
    let top = fastest.sqrt();
    let ramps = (2.0 * fastest - from - to) / (2.0 * a);
    (2.0 * top - start - end) / a + (length - ramps) / top
}
