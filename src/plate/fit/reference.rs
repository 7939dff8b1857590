//! Reference plates for tests, from tests/vectors; made by another program.

#![allow(clippy::cast_precision_loss)] // small counts

use super::zone::Site;
use serde_json::Value;

const VECTORS: &str = include_str!("../../../tests/vectors/vectors.json");
const MOODY: &str = include_str!("../../../tests/vectors/moody1955_heights.csv");
const PONTIUS: &str = include_str!("../../../tests/vectors/nist_pontius_as_plane.csv");

pub(crate) fn entries(list: &str) -> Vec<Value> {
    let all: Value = serde_json::from_str(VECTORS).unwrap();
    all[list].as_array().unwrap().clone()
}

pub(crate) fn sites(entry: &Value) -> Vec<Site> {
    let column = |k: &str| -> Vec<i64> {
        let column = entry[k].as_array().unwrap();
        column.iter().map(|v| v.as_i64().unwrap()).collect()
    };
    let (x, y, z) = (column("x"), column("y"), column("z"));
    let site = |i: usize| Site {
        x: x[i],
        y: y[i],
        z: z[i],
    };
    (0..x.len()).map(site).collect()
}

/// A plate with positions and heights in one step, and the number of steps in its unit.
pub(crate) struct Plate {
    pub entry: Value,
    pub sites: Vec<Site>,
    pub per_unit: f64,
}

pub(crate) fn plates() -> Vec<Plate> {
    let plate = |entry: Value| {
        let per = |k: &str| entry[k].as_i64().unwrap();
        let (flat, high) = (per("xy_counts_per_unit"), per("z_counts_per_unit"));
        let wider = |s: Site| Site {
            x: s.x * (high / flat),
            y: s.y * (high / flat),
            z: s.z,
        };
        assert_eq!(high % flat, 0);
        let sites = sites(&entry).into_iter().map(wider).collect();
        Plate {
            entry,
            sites,
            per_unit: high as f64,
        }
    };
    entries("plates").into_iter().map(plate).collect()
}

impl Plate {
    /// Asserts that `counts` equals the value in the file, to within this number of counts of its spread.
    pub(crate) fn close(&self, counts: f64, value: &Value, within: f64) {
        let value = value.as_f64().unwrap();
        let spread = self.entry["spread"].as_f64().unwrap();
        let off = (counts / self.per_unit - value).abs();
        assert!(
            off <= within * spread,
            "{}: {counts} for {value}",
            self.entry["name"]
        );
    }
}

fn numbers(text: &str) -> Vec<Vec<String>> {
    let lines = text.lines().filter(|l| !l.starts_with(['#', 'x']));
    lines
        .map(|l| l.split(',').map(str::to_owned).collect())
        .collect()
}

fn count(text: &str, scale: f64) -> i64 {
    format!("{:.0}", text.parse::<f64>().unwrap() * scale)
        .parse()
        .unwrap()
}

/// Moody's plate: positions in ten-thousandths of an inch, heights in ten-thousandths of a microinch.
pub(crate) fn moody() -> Vec<Site> {
    let site = |c: &Vec<String>| Site {
        x: count(&c[0], 1e4),
        y: count(&c[1], 1e4),
        z: count(&c[2], 1e4),
    };
    numbers(MOODY).iter().map(site).collect()
}

/// NIST's Pontius over (x, x squared), heights in hundred-thousandths.
pub(crate) fn pontius() -> Vec<Site> {
    let site = |c: &Vec<String>| Site {
        x: count(&c[0], 1.0),
        y: count(&c[1], 1.0),
        z: count(&c[2], 1e5),
    };
    numbers(PONTIUS).iter().map(site).collect()
}
