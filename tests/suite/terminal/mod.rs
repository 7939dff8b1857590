//! Walks at a real terminal, as a person types them. Invented figures; the worked example of the touch-off where a whole
//! walk is made.

mod active_codes;
mod elsewhere;
mod forged;
mod from_program;
mod hold;
mod killed;
mod leaving;
mod names;
pub(super) mod people;
mod practised;
mod recovery;
mod release;
mod roles;
mod second;
mod service;
mod signals;
mod slips;
mod standing;
mod stopping;
mod stored;
mod takeover;
mod texts;
mod timers;
mod typing;
mod whole;
mod wording;
mod words;

use crate::operator::{Operator, Sitting, plain};
use crate::support::{Bench, flowing};

/// Takes the one open run up again; what is shown before the initials are asked.
fn takes_up(bench: &Bench) -> (Operator, String) {
    let mut at = Sitting::at(bench).walks();
    let shown = at.answers("initials", "ab");
    (at, flowing(&plain(&shown)))
}

/// The same once the machine is homed: it is asked about, and was neither switched off nor moved.
fn takes_up_homed(bench: &Bench) -> (Operator, String) {
    let (mut at, shown) = takes_up(bench);
    at.answers("machine since", "3");
    (at, shown)
}
