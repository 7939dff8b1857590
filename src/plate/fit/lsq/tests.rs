use super::plane;
use crate::plate::fit::reference::{entries, moody, plates, pontius, sites};
use crate::plate::fit::{FitError, Site};

// Source: tests/vectors/vectors.json, exact rationals by another program.
#[test]
fn every_reference_plate_has_its_plane() {
    for plate in plates() {
        let (fit, given) = (plane(&plate.sites).unwrap(), &plate.entry["lsq"]);
        let first = plate.sites[0];
        // The file counts z from zero at its own origin.
        let level =
            fit.level + first.z as f64 - fit.right * first.x as f64 - fit.back * first.y as f64;
        plate.close(level, &given["c"], 1e-11);
        for (slope, key) in [(fit.right, "a"), (fit.back, "b")] {
            let off = slope - given[key].as_f64().unwrap();
            assert!(off.abs() < 1e-14, "{} {key} {off}", plate.entry["name"]);
        }
        plate.close(fit.range, &given["residual_range"], 1e-12);
        plate.close(fit.rms, &given["rms"], 1e-12);
    }
}

// Source: NIST StRD, Pontius, certified values; plain normal equations lose them from the 12th digit on.
#[test]
fn nist_certified_values_to_thirteen_digits() {
    let fit = plane(&pontius()).unwrap();
    let first = pontius()[0];
    let level = fit.level + first.z as f64 - fit.right * first.x as f64 - fit.back * first.y as f64;
    // The level is 160 times further from the first height than the values around it.
    let off = level / 1e5 / 0.673_565_789_473_684e-3 - 1.0;
    assert!(off.abs() < 2e-12, "{level}: {off}");
    for (found, certified) in [
        (fit.right / 1e5, 0.732_059_160_401_003e-6),
        (fit.back / 1e5, -0.316_081_871_345_029e-14),
        (fit.squares / 1e10, 0.155_761_768_796_992e-5),
    ] {
        let off = (found / certified - 1.0).abs();
        assert!(off < 2e-13, "{found} for {certified}: {off}");
    }
}

// Source: range 175.70 microinch, recomputed by another program from Moody's readings of 1955.
#[test]
fn a_published_surface_plate() {
    let fit = plane(&moody()).unwrap();
    assert!((fit.range / 1e4 - 175.70).abs() < 0.005, "{}", fit.range);
}

// Source: nine points, a .16667, b -.05556, c 1.33333, range 4.3333, and a twist of range 2.0: computed from the formula.
#[test]
fn worked_examples() {
    let heights = [4, 2, 6, 1, -2, 3, 2, 0, 8]; // halves
    let nine: Vec<Site> = heights
        .iter()
        .zip(0_i64..)
        .map(|(z, i)| Site {
            x: 5 * (i % 3 - 1),
            y: 3 * (i / 3 - 1),
            z: *z,
        })
        .collect();
    let fit = plane(&nine).unwrap();
    let middle = fit.level + 4.0 + 5.0 * fit.right + 3.0 * fit.back;
    let found = [fit.right, fit.back, middle, fit.range].map(|v| v / 2.0);
    for (found, expected) in found.iter().zip([0.166_67, -0.055_56, 1.333_33, 4.333_33]) {
        assert!((found - expected).abs() < 1e-4, "{found} for {expected}");
    }
    let twist = [(-6, -4, 1), (6, -4, -1), (-6, 4, -1), (6, 4, 1), (0, 0, 0)];
    let twist = twist.map(|(x, y, z)| Site { x, y, z });
    assert!((plane(&twist).unwrap().range - 2.0).abs() < 1e-9);
}

// A line of positions entered twice must give no slope across and the slope of the line along it. Source: derived.
#[test]
fn a_line_entered_twice_keeps_its_slope() {
    let heights = [3, 1, 4, 1, 5, 9, 2, 6];
    let two = |y: i64| {
        heights
            .iter()
            .zip(0_i64..)
            .map(move |(z, x)| Site { x, y, z: *z })
    };
    let all: Vec<Site> = two(-1).chain(two(1)).collect();
    let fit = plane(&all).unwrap();
    // sum (x - 3.5)(z - 3.875) = 22.5 and sum (x - 3.5)^2 = 42, by hand.
    assert!(fit.back.abs() < 1e-15 && (fit.right - 22.5 / 42.0).abs() < 1e-15);
}

#[test]
fn positions_that_determine_no_plane_are_refused() {
    let found: Vec<_> = entries("degenerate")
        .iter()
        .map(|e| plane(&sites(e)).map(|f| f.range < 1e-9))
        .collect();
    let expected = [
        Err(FitError::OnOneLine),
        Err(FitError::TooFew),
        Ok(true),
        Err(FitError::TooFew),
    ];
    assert_eq!(found, expected);
}
