//! Questions asked before there is a run in hand: who, on which machine, which run. Nothing can be recorded yet, so of the
//! words that work at every prompt only help and leaving do something; none of them is ever taken for initials.

use super::error::WalkError;
use crate::desk::{Ask, Desk, Reply};
use crate::report::page::{Page, Tone};

/// Asks until something is said that is no such word, trimmed. `None` when the person leaves, which is shown.
pub fn ask(desk: &mut dyn Desk, ask: &Ask<'_>) -> Result<Option<String>, WalkError> {
    loop {
        let said = match desk.ask(ask)? {
            Reply::Said(said) => said.trim().to_owned(),
            Reply::Interrupted | Reply::Closed => return left(desk),
        };
        let text = match said.to_lowercase().as_str() {
            "leave" | "stop" | "end" => return left(desk),
            "?" | "why" | "help" => {
                "Answer the question above, or type `leave`. The other words work once a run is in hand."
            }
            "back" | "holds" | "note" | "handover" | "keep" => {
                "That word works once a run is in hand. Answer the question above, or type `leave`."
            }
            _ => return Ok(Some(said)),
        };
        desk.show(&Page::new().toned(Tone::Look, text))?;
        desk.refused(text)?;
    }
}

fn left(desk: &mut dyn Desk) -> Result<Option<String>, WalkError> {
    let text = "Left. Nothing was recorded by this.";
    desk.show(&Page::new().gap().toned(Tone::Strong, text))?;
    Ok(None)
}
