//! Parameters and bracketed arithmetic (NISTIR 6556, 3.2.1 and 3.3.2.2 to 3.3.3).
//!
//! Evaluated while it is read. A parameter that this program never set is unknown, whatever the control's memory
//! holds, and so is everything worked out from it.

pub mod operations;
pub mod parameters;
pub mod read;

pub use parameters::Parameters;
pub use read::{NoValue, begins, value};
