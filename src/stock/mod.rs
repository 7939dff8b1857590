//! A plate's account: what its cuts took off, how thin it is, how much is left, and when it must be retired.
//!
//! Invariants: an account is computed from its entries, entries are only ever added, and the computation never fails.
//! The account counts the place that loses most, so according to the record the real plate is never thinner than its
//! account. A measured thickness corrects the account, with a name and a reason. The depth of steel only ever
//! decreases: a measurement that finds the plate thicker does not increase it.

mod account;
mod entry;
mod retire;

pub use account::{Account, Line};
pub use entry::{Basis, MeasuredBy, RecordedCut, StockEntry, VERSION, ledger_of, plate_of};
pub(crate) use retire::Retire;
