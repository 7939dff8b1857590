//! A plate's account: what its cuts took off, how thin it is, how much is left, when it is to be retired.
//!
//! Invariants: an account is the fold of its entries, and entries are only ever added; the fold never fails. A plate is
//! reckoned at the place that loses most, so the real plate is never thinner than its account says, as far as what was
//! recorded goes. A measured thickness sets the account right, with a name and a reason. Steel only ever comes nearer:
//! a measurement that finds the plate thicker does not push it deeper.

mod account;
mod entry;
mod retire;

pub use account::{Account, Line};
pub use entry::{Basis, MeasuredBy, RecordedCut, StockEntry, VERSION, ledger_of, plate_of};
pub use retire::Retire;
