//! The `skimgate` program.

fn main() {}
