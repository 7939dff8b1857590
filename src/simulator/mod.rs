//! Practice: a virtual mill and a virtual plate, drills, and what a rehearsal is worth.
//!
//! Pure: no clock, no files, no chance but a seed. Everything that must be the same on every machine is whole nanometres:
//! one seed gives one plate everywhere. The mill does what it is told, also when that is wrong; nothing in here knows the
//! procedure's order, and nothing in here can release a real machine.

pub(crate) mod chance;
pub(crate) mod cutter;
pub(crate) mod doing;
pub mod drills;
pub(crate) mod facing;
pub(crate) mod facts;
pub(crate) mod looking;
pub(crate) mod mill;
pub(crate) mod moving;
pub(crate) mod place;
pub(crate) mod plan;
pub(crate) mod plate;
pub(crate) mod running;
pub(crate) mod scenario;
pub(crate) mod score;
pub(crate) mod setting;
pub(crate) mod setup;
pub(crate) mod tape;
pub(crate) mod words;
pub(crate) mod world;

pub(crate) use chance::Chance;
pub use cutter::Cutter;
pub use plate::{Level, Plate};
pub(crate) use score::{Decision, Score};
pub(crate) use setup::Setup;

/// A length in nanometres: a hundredth of a millimetre and half a thousandth of an inch are both whole.
pub(crate) type Nm = i64;

/// Nanometres in a millimetre.
pub const MM: Nm = 1_000_000;

/// Nanometres in a thousandth of an inch.
pub(crate) const THOU: Nm = 25_400;
