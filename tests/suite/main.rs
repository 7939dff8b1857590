//! The integration tests, one binary: everything here drives the shipped program or reads the shipped files.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod active_codes;
mod attention;
mod chain;
mod check;
#[cfg(unix)]
mod crash;
mod developers;
#[cfg(unix)]
mod disk;
mod expressions;
#[cfg(unix)]
mod files;
mod handbook;
mod help;
mod invented;
mod layers;
mod layout;
#[cfg(unix)]
mod mapped;
#[cfg(unix)]
mod operator;
mod plane;
mod practice;
mod procedure;
mod program;
#[cfg(unix)]
mod prompter;
mod quantity;
#[cfg(unix)]
mod race;
mod readme;
mod rehearse;
mod reporting;
mod roster;
mod schema;
mod seeds;
mod sheet;
mod slip_table;
mod stock;
mod support;
#[cfg(unix)]
mod terminal;
#[cfg(unix)]
mod visible;
mod walk;
mod workshop;
