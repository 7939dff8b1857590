//! Parameters and arithmetic in brackets (NISTIR 6556, 3.2.1 and 3.3.2.2 to 3.3.3).
//!
//! An expression is evaluated while it is read. A parameter that this program never set is unknown, whatever the memory
//! of the control holds, and so is every value computed from it.

pub(crate) mod operations;
pub(crate) mod parameters;
pub(crate) mod read;

pub use parameters::Parameters;
pub use read::{NoValue, begins, value};
