//! The people of a shop, and who may sign in which role. The list is built from the events of a ledger.
//!
//! It is pure, like the interlock: [`People::apply`] applies events and never validates, the functions of [`decide`]
//! give events or a refusal, and the caller passes time and keys. The owner who makes a change signs its event, over
//! the event's position and the list before it. Only events of a PIN prompt have no signature. [`People::check`] checks
//! the signatures when a record is verified.
//!
//! A book without people belongs to a one-person shop, which signs with typed initials. After the first person is
//! registered, only registered people can sign, with their keys.

pub(crate) mod decide;
pub(crate) mod event;
pub(crate) mod fold;
pub(crate) mod person;
pub(crate) mod practice;
#[cfg(test)]
mod practice_tests;
#[cfg(test)]
mod recovery_tests;
#[cfg(test)]
mod tests;

pub(crate) use decide::Refusal;
pub use event::{Event, Signed};
pub use fold::{Fault, People};
pub use person::{AloneScope, Initials, KeySpan, Person, Role};
pub use practice::{NamedScenario, PracticeDone, PracticeRequirement};
