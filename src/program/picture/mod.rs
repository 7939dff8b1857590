//! A program seen from above: the plate, the path over it, and what is not reached. A value, drawn by others.

pub(crate) mod findings;
pub(crate) mod record;
pub(crate) mod view;

pub(crate) use record::PathRecorder;
pub(crate) use view::{Area, Picture, Spot, Trace};
