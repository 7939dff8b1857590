//! The integration tests, one binary: everything here drives the shipped program or reads the shipped files.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[cfg(unix)]
mod desk;
#[cfg(unix)]
mod operator;
mod plane;
mod support;
#[cfg(unix)]
mod terminal;
mod walk;
