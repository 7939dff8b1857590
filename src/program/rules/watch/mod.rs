//! What the rules need to know of a program while it is followed; each watcher asks the rules of its subject.

pub mod extent;
pub mod height;
pub mod modal;
