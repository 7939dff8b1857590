//! The commands: each takes its parsed arguments, does its job through the layers below, and gives the exit status.

pub mod check;
