//! Procedures and shop files: read from YAML, checked whole before anyone is asked anything.

pub mod facts;
pub mod fields;
pub mod file;
pub mod formula;
pub mod model;
pub mod names;
pub mod read;
pub mod read_step;
pub mod rules;
pub mod schema;
pub mod shop;
pub mod yaml;

pub use model::{Kind, Limit, Limits, Options, Phase, Procedure, ShopList, Step};
pub use shop::Shop;
