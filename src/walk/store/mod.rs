//! The typed streams of the book: runs, the list of people, accounts of plates, records of machines. Each is read, checked and
//! added to here, and a run goes on by one function, `commit`.

pub mod accounts;
pub(crate) mod commit;
pub(crate) mod experience;
pub mod log;
pub(crate) mod machines;
pub(crate) mod other_runs;
pub mod people_list;
pub(crate) mod released;
pub mod replay;
pub(crate) mod retry;
pub(crate) mod standing;
