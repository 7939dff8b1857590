//! Procedures and shop files. They are read from YAML and checked completely before the first question.

pub mod choice_rules;
pub mod dialect;
pub mod facts;
pub mod fields;
pub mod file;
pub mod formula;
pub mod keys;
pub mod kinds;
pub mod model;
pub mod motion;
pub mod names;
pub mod node;
pub mod notes;
pub mod pass_rules;
pub mod practice;
pub mod program_facts;
pub mod read;
pub mod read_limit;
pub mod read_places;
pub mod read_step;
pub mod read_ways;
pub mod rules;
pub mod schema;
pub mod scope;
pub mod shop;
pub mod yaml;
pub mod yaml_fault;
pub mod yaml_text;

pub use model::{Kind, Limit, Limits, Options, Phase, Procedure, ShopList, Step};
pub use shop::Shop;
