//! Flat triangles between scattered positions. The only file that names the triangulation crate.

use delaunator::{Point, triangulate};

/// The triangles, and the outline around them, as indexes of positions.
#[derive(Clone, Debug)]
pub(super) struct Mesh {
    pub triangles: Vec<[usize; 3]>,
    pub rim: Vec<usize>,
}

/// Triangulates positions; `None` for positions on one line.
pub(super) fn joined(places: &[[f64; 3]]) -> Option<Mesh> {
    let points: Vec<Point> = places.iter().map(|p| Point { x: p[0], y: p[1] }).collect();
    let found = triangulate(&points);
    let triangles: Vec<[usize; 3]> = found
        .triangles
        .chunks_exact(3)
        .filter_map(|t| t.try_into().ok())
        .collect();
    (!triangles.is_empty()).then_some(Mesh {
        triangles,
        rim: found.hull,
    })
}
