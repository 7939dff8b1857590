use super::{FitError, Site, Zone, minimum};
use crate::plate::fit::reference::{entries, moody, plates, sites};
use crate::quantity::Exact;
use proptest::prelude::*;

/// Checks the five sums, which prove that no narrower zone exists.
fn proves(sites: &[Site], zone: &Zone) {
    let sum = |f: &dyn Fn(&Site) -> i64, signed: bool| {
        zone.holders.iter().fold(Exact::ZERO, |sum, h| {
            let s = if signed && !h.top { -1 } else { 1 };
            sum.plus(h.weight.times(Exact::whole(s * f(&sites[h.site]))).unwrap())
                .unwrap()
        })
    };
    assert!(zone.holders.len() <= 4 && zone.holders.iter().all(|h| !h.weight.is_negative()));
    assert_eq!(sum(&|_| 1, false), Exact::ONE);
    for f in [|_: &Site| 1, |s: &Site| s.x, |s: &Site| s.y] {
        assert_eq!(sum(&f, true), Exact::ZERO);
    }
    assert_eq!(sum(&|s| s.z, true).times(Exact::whole(2)), Some(zone.width));
    // An independent check: every reading is within half the width of the middle plane.
    let [c, a, b] = zone.middle;
    for s in sites {
        let from = |v: i64, first: i64| Exact::whole(v - first);
        let (ax, by) = (
            a.times(from(s.x, sites[0].x)),
            b.times(from(s.y, sites[0].y)),
        );
        let plane = c.plus(ax.unwrap()).unwrap().plus(by.unwrap()).unwrap();
        let off = from(s.z, sites[0].z).minus(plane).unwrap().abs();
        assert!(off.times(Exact::whole(2)).unwrap() <= zone.width);
    }
}

// Source: tests/vectors/vectors.json, exact rationals by another program.
#[test]
fn every_reference_plate_is_exact_and_proves_its_result() {
    for plate in plates() {
        let zone = minimum(&plate.sites).unwrap();
        let exact = plate.entry["minimum_zone"]["vertical_counts_exact"].as_str();
        let exact = Exact::from_text(exact.unwrap());
        assert_eq!(Some(zone.width), exact, "{}", plate.entry["name"]);
        proves(&plate.sites, &zone);
    }
}

#[test]
fn positions_that_determine_no_plane_are_refused() {
    let found: Vec<_> = entries("degenerate")
        .iter()
        .map(|e| minimum(&sites(e)).map(|z| z.width))
        .collect();
    let expected = [
        Err(FitError::OnOneLine),
        Err(FitError::TooFew),
        Ok(Exact::ZERO),
        Err(FitError::TooFew),
    ];
    assert_eq!(found, expected);
    assert_eq!(minimum(&[]), Err(FitError::TooFew));
    let far = [(0, 0, 0), (i64::MAX, 1, 0), (0, 9, 0)].map(|(x, y, z)| Site { x, y, z });
    assert_eq!(minimum(&far), Err(FitError::TooFar));
}

// Source: heights recomputed from Moody's readings of 1955; zone 163.67 microinch by three methods.
#[test]
fn a_published_surface_plate() {
    let sites = moody();
    let zone = minimum(&sites).unwrap();
    assert!(
        (zone.width.to_f64() / 1e4 - 163.67).abs() < 0.005,
        "{}",
        zone.width.to_f64()
    );
    proves(&sites, &zone);
}

// Source: twist example, zone 2.0, and nine points, zone 4.0; derived and computed from the formula.
#[test]
fn worked_examples() {
    let twist = [(-6, -4, 1), (6, -4, -1), (-6, 4, -1), (6, 4, 1), (0, 0, 0)];
    let heights = [4, 2, 6, 1, -2, 3, 2, 0, 8]; // halves
    let nine = heights
        .iter()
        .zip(0_i64..)
        .map(|(z, i)| (5 * (i % 3 - 1), 3 * (i / 3 - 1), *z));
    let width = |all: Vec<(i64, i64, i64)>| {
        let sites: Vec<Site> = all.into_iter().map(|(x, y, z)| Site { x, y, z }).collect();
        minimum(&sites).unwrap().width
    };
    assert_eq!(width(twist.to_vec()), Exact::whole(2));
    assert_eq!(width(nine.collect()), Exact::whole(8));
}

// Lengths on the grid of a tenth of a nanometre, as a mixture of inch and millimetre readings gives: no common step.
#[test]
fn lengths_of_a_tenth_of_a_nanometre_suffice_across_a_plate() {
    let mm = 10_000_000;
    let at = |x, y, z| Site { x, y, z };
    let mut four = [
        at(0, 0, 0),
        at(6_000 * mm, 1, 0),
        at(3, 4_000 * mm, 70_001),
        at(6_000 * mm + 1, 4_000 * mm - 1, -3),
    ];
    let zone = minimum(&four).unwrap();
    assert!(
        (zone.width.to_f64() - 35_002.0).abs() < 0.001,
        "{:?}",
        zone.width
    );
    proves(&four, &zone);
    four[1].x = 7_000 * mm;
    assert_eq!(minimum(&four), Err(FitError::TooFar));
    // A step that all lengths share does not matter; only the counts in that step do.
    let coarse = four.map(|s| at(s.x / mm * mm, s.y / mm * mm, s.z));
    assert!(minimum(&coarse).is_ok());
}

proptest! {
    #[test]
    fn far_apart_and_fine_the_zone_still_proves_itself(
        all in prop::collection::vec((-1_i64 << 34..1 << 34, -1_i64 << 34..1 << 34, -1_i64 << 36..1 << 36), 4..12),
    ) {
        let sites: Vec<Site> = all.iter().map(|(x, y, z)| Site { x: *x, y: *y, z: *z }).collect();
        proves(&sites, &minimum(&sites).unwrap());
    }

    #[test]
    fn tilt_shift_and_order_keep_the_zone(
        all in prop::collection::vec((-9_i64..9, -9_i64..9, -20_i64..20), 3..24), a in -9_i64..9, b in -9_i64..9, c in -999_i64..999,
    ) {
        let sites: Vec<Site> = all.iter().map(|(x, y, z)| Site { x: *x, y: *y, z: *z }).collect();
        let mut moved: Vec<Site> = sites.iter().map(|s| Site { z: s.z + a * s.x + b * s.y + c, ..*s }).collect();
        moved.reverse();
        let (one, two) = (minimum(&sites), minimum(&moved));
        prop_assert_eq!(one.as_ref().map(|z| z.width), two.as_ref().map(|z| z.width));
        if let Ok(zone) = one {
            proves(&sites, &zone);
        }
    }
}
