//! The command line: one file a command, each with its arguments and a function that runs them.

pub mod plane;
pub mod status;

pub use status::Status;
