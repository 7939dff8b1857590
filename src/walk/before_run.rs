//! Questions asked before there is a run in hand: who, on which machine, which run. Nothing can be recorded yet, so of the
//! words that work at every prompt only help and leaving do something; none of them is ever taken for initials.

use super::error::WalkError;
use crate::report::page::{Page, Tone};
use crate::terminal::prompt::{Prompter, Question, Reply};

/// Asks until something is said that is no such word, trimmed. `None` when the person leaves, which is shown.
pub fn ask(prompter: &mut dyn Prompter, ask: &Question<'_>) -> Result<Option<String>, WalkError> {
    loop {
        let said = match prompter.ask(ask)? {
            Reply::Said(said) => said.trim().to_owned(),
            Reply::Interrupted | Reply::Closed => return left(prompter),
        };
        let text = match said.to_lowercase().as_str() {
            "leave" | "stop" | "end" => return left(prompter),
            "?" | "why" | "help" => {
                "Answer the question above, or type `leave`. The other words work once a run is in hand."
            }
            "back" | "holds" | "note" | "handover" | "keep" => {
                "That word works once a run is in hand. Answer the question above, or type `leave`."
            }
            _ => return Ok(Some(said)),
        };
        prompter.show(&Page::new().toned(Tone::Look, text))?;
        prompter.refused(text)?;
    }
}

fn left(prompter: &mut dyn Prompter) -> Result<Option<String>, WalkError> {
    let text = "Left. Nothing was recorded by this.";
    prompter.show(&Page::new().gap().toned(Tone::Strong, text))?;
    Ok(None)
}
