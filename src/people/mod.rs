//! Who may sign as what: the people of a shop, folded from the events of a ledger.
//!
//! Pure, as the interlock is: [`People::apply`] folds and never validates, the functions of [`decide`] give events or a
//! refusal, time and keys come in with the call. Every event but a wrong PIN is signed by the owner who did it, over its
//! place and the state it was done on; [`People::check`] checks that, for whoever verifies a record.
//!
//! A book without people is a one-person shop: initials are typed. From the first registered person on only registered
//! people sign, with their keys.

pub mod decide;
pub mod event;
pub mod fold;
pub mod person;
pub mod practice;
#[cfg(test)]
mod tests;

pub use decide::Refusal;
pub use event::{Event, Signed};
pub use fold::{Fault, People};
pub use person::{AloneScope, Initials, KeySpan, Person, Role};
pub use practice::{NamedScenario, PracticeDone, PracticeRequirement};
