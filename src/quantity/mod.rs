//! Exact quantities.

pub mod moment;
