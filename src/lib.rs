//! Walks a plate skim on a small CNC mill step by step, computes every depth with its working shown, and holds
//! cycle start until it is signed off.
//!
//! The library is layered; arrows only go down (`tests/suite/layers.rs` fails on one that goes up). Everything from
//! the interlock down is pure: no input or output, no clock, no environment.
// What only the crate uses says so, and what nothing uses then shows.
#![warn(unreachable_pub)]
// The documentation is for contributors, who build it with private items.
#![allow(rustdoc::private_intra_doc_links)]
#![cfg_attr(
    test,
    allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)
)]

pub mod book;
pub mod cli;
pub mod clock;
pub mod cutting;
pub mod diagnostics;
pub mod files;
pub mod fingerprint;
pub mod interlock;
pub mod keys;
pub mod people;
pub mod plate;
pub mod procedure;
pub mod program;
pub mod quantity;
pub mod report;
pub mod scene;
pub mod settings;
pub mod simulator;
pub mod stock;
pub mod terminal;
pub mod visible;
pub mod walk;
