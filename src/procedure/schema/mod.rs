//! The JSON Schemas (draft 2020-12) of both file formats, for editors that complete and check while typing.
//!
//! A schema knows keys, shapes and fixed words. Formulas, names and what must hold between steps are known only to the
//! reader; a file that fits its schema is therefore still to be checked.

mod write;

pub use write::procedure;

/// The schema of shop files.
pub const SHOP: &str = include_str!("shop.schema.json");
