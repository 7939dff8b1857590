//! The integration tests, one binary: everything here drives the shipped program or reads the shipped files.

mod check;
