use super::flatness;
use crate::plate::fit::reference::{entries, moody, plates, sites};
use crate::plate::fit::{FitError, Site};

// Source: tests/vectors/vectors.json: widths from a convex hull and from linear programs in turned frames.
#[test]
fn every_reference_plate_has_its_flatness() {
    for plate in plates() {
        let found = flatness(&plate.sites).unwrap();
        plate.close(found.zone, &plate.entry["minimum_zone"]["normal"], 1e-12);
        plate.close(
            found.least_squares,
            &plate.entry["lsq"]["orthogonal_range"],
            1e-12,
        );
    }
}

// Source: geometry. Widths of the regular solids of edge 1: tetrahedron 1/sqrt 2, octahedron sqrt(2/3), icosahedron
// (3 + sqrt 5)/(2 sqrt 3); right tetrahedron of leg 1: 1/sqrt 3. The tetrahedron needs two edges.
#[test]
fn solids_of_known_width_on_a_face_or_edge() {
    let far = 1e9;
    let site = |p: &[f64; 3]| {
        let [x, y, z] = p.map(|c| format!("{:.0}", c * far).parse().unwrap());
        Site { x, y, z }
    };
    let g = f64::midpoint(1.0, 5.0_f64.sqrt());
    let (mut octa, mut icosa) = (Vec::new(), Vec::new());
    for s in [-0.5, 0.5] {
        for k in 0..3 {
            let mut p = [0.0; 3];
            p[k] = s * 2.0_f64.sqrt();
            octa.push(p);
            for t in [-g / 2.0, g / 2.0] {
                let mut p = [0.0; 3];
                (p[k], p[(k + 1) % 3]) = (s, t);
                icosa.push(p);
            }
        }
    }
    let half = 0.5 / 2.0_f64.sqrt();
    let tetra = vec![
        [half, half, half],
        [half, -half, -half],
        [-half, half, -half],
        [-half, -half, half],
    ];
    let right = vec![[0.0; 3], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    let cases = [
        (&tetra, 0.5_f64.sqrt()),
        (&octa, (2.0_f64 / 3.0).sqrt()),
        (&icosa, (3.0 + 5.0_f64.sqrt()) / (2.0 * 3.0_f64.sqrt())),
        (&right, 1.0 / 3.0_f64.sqrt()),
    ];
    for (solid, width) in cases {
        let sites: Vec<Site> = solid.iter().map(site).collect();
        let found = flatness(&sites).unwrap().zone / far;
        assert!((found - width).abs() < 3e-9, "{found} for {width}");
    }
}

// Source: zone 163.67 microinch by three methods; on a plate of 64 inches the slope has no effect.
#[test]
fn a_published_surface_plate_measured_perpendicular_to_its_planes() {
    // Positions in the unit of the heights: hundredths of a microinch.
    let wide = moody().into_iter().map(|s| Site {
        x: s.x * 10_000,
        y: s.y * 10_000,
        z: s.z / 100,
    });
    let found = flatness(&wide.collect::<Vec<_>>()).unwrap();
    assert!((found.zone / 1e2 - 163.67).abs() < 0.02, "{}", found.zone);
    assert!((found.least_squares / 1e2 - 175.70).abs() < 0.02);
}

#[test]
fn positions_that_determine_no_plane_are_refused() {
    let found: Vec<_> = entries("degenerate")
        .iter()
        .map(|e| flatness(&sites(e)).map(|f| f.zone < 1e-9))
        .collect();
    let expected = [
        Err(FitError::OnOneLine),
        Err(FitError::TooFew),
        Ok(true),
        Err(FitError::TooFew),
    ];
    assert_eq!(found, expected);
}
