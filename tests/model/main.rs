//! Explores every order of events of a small run with the real `decide` and `State::apply`, and compares it with a
//! second, deliberately naive statement of the rules.
//!
//! `world` is what is explored, `shadow` the second statement over the procedures by hand in `table`, `key` what makes two
//! worlds the same, `keyed` a world with its key, `list` who is registered, `two_runs` and `standing` models of their own,
//! `fault` the planted faults, `planted` that each of them is found, `explore` the search.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod act;
mod check;
mod explore;
mod fault;
mod key;
mod keyed;
mod list;
mod planted;
mod runs;
mod shadow;
mod standing;
mod table;
mod two_runs;
mod world;
