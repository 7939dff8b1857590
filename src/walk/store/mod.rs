//! The typed streams of the book: runs, the list of people, accounts of plates; read, checked, added to.

pub mod accounts;
pub mod log;
pub mod people_list;
pub(crate) mod released;
pub mod replay;
pub(crate) mod retry;
