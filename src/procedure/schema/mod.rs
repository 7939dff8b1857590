//! The JSON Schemas (draft 2020-12) of both file formats, for editors that complete and check while typing.
//!
//! A schema describes keys, shapes and fixed words. Only the reader checks formulas, names and the rules between steps,
//! so a file that matches its schema must still be checked.

mod write;

pub use write::procedure;

/// The schema of shop files.
pub const SHOP: &str = include_str!("shop.schema.json");
