//! Practice: a virtual mill and a virtual plate, drills, and what a rehearsal is worth.
//!
//! Pure: no clock, no files, no chance but a seed. Everything that must be the same on every machine is whole nanometres:
//! one seed gives one plate everywhere. The mill does what it is told, also when that is wrong; nothing in here knows the
//! procedure's order, and nothing in here can release a real machine.

pub mod chance;
pub mod cutter;
pub mod doing;
pub mod drills;
pub mod facing;
pub mod facts;
pub mod looking;
pub mod mill;
pub mod moving;
pub mod place;
pub mod plan;
pub mod plate;
pub mod running;
pub mod scenario;
pub mod score;
pub mod setting;
pub mod setup;
pub mod tape;
pub mod words;
pub mod world;

pub use chance::Chance;
pub use cutter::Cutter;
pub use plate::{Level, Plate};
pub use score::{Decision, Score};
pub use setup::Setup;
pub use world::World;

/// A length in nanometres: a hundredth of a millimetre and half a thousandth of an inch are both whole.
pub type Nm = i64;

/// Nanometres in a millimetre.
pub const MM: Nm = 1_000_000;

/// Nanometres in a thousandth of an inch.
pub const THOU: Nm = 25_400;
