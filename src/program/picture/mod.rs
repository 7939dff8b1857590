//! A program seen from above: the plate, the path over it, and what is not reached. A value, drawn by others.

pub mod findings;
pub mod record;
pub mod view;

pub use record::PathRecorder;
pub use view::{Area, Picture, Recorded, Spot, Trace, Upright};
