//! Procedures and shop files. They are read from YAML and checked completely before the first question.

pub(crate) mod choice_rules;
pub mod dialect;
pub mod facts;
pub(crate) mod fields;
pub mod file;
pub mod formula;
pub mod keys;
pub mod kinds;
pub mod model;
pub mod motion;
pub(crate) mod names;
pub mod node;
pub(crate) mod notes;
pub(crate) mod pass_rules;
pub mod practice;
pub(crate) mod program_facts;
pub mod read;
pub(crate) mod read_limit;
pub(crate) mod read_places;
pub mod read_step;
pub(crate) mod read_ways;
pub(crate) mod rules;
pub mod schema;
pub(crate) mod scope;
pub mod shop;
pub mod standing;
pub mod yaml;
pub(crate) mod yaml_fault;
pub(crate) mod yaml_text;

pub use model::{Kind, Limit, Limits, Options, Phase, Procedure, ShopList, Step};
pub use shop::Shop;
