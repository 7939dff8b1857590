//! The words that work at every prompt: what they are, and which of them a line is. What each does depends on where it is
//! typed: at a question of a run all of them work, before there is a run only help and leaving.

/// A word that works at every prompt.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum PromptCommand {
    /// Why something is asked, or how a value was worked out.
    Help,
    /// To a question answered earlier.
    Back,
    /// What holds cycle start.
    Holds,
    /// The plate at the plane chosen last.
    Map,
    /// What the last summary left out.
    More,
    /// Ways of taking it off side by side.
    Ways,
    /// Everything that the examination found in the program.
    Findings,
    /// In which units quantities are shown.
    Units,
    /// A note for the record.
    Note,
    /// The run goes to another person.
    HandOver,
    /// The run is left, to be resumed.
    Leave,
    /// Something is wrong.
    Stop,
    /// The run is given up.
    End,
}

/// Each command: its word, what may follow it, and what it does, as the help shows them.
pub(crate) const COMMANDS: [(PromptCommand, &str, &str, &str); 13] = [
    (
        PromptCommand::Help,
        "?",
        "STEP",
        "why this is asked, or how the value of a step came about",
    ),
    (
        PromptCommand::Back,
        "back",
        "STEP",
        "to the question before, or to a step by its id",
    ),
    (
        PromptCommand::Holds,
        "holds",
        "",
        "everything that holds cycle start",
    ),
    (
        PromptCommand::Map,
        "map",
        "",
        "the plate at the plane chosen last",
    ),
    (
        PromptCommand::More,
        "more",
        "",
        "the working of the values shown last, and all that is known of their planes",
    ),
    (
        PromptCommand::Ways,
        "ways",
        "",
        "ways of taking it off, compared",
    ),
    (
        PromptCommand::Findings,
        "findings",
        "",
        "everything that was found in the program",
    ),
    (
        PromptCommand::Units,
        "units",
        "both",
        "show inches and millimetres; `units one` shows one of them again",
    ),
    (
        PromptCommand::Note,
        "note",
        "TEXT",
        "write a note into the record",
    ),
    (
        PromptCommand::HandOver,
        "handover",
        "INITIALS",
        "hand the run to somebody else",
    ),
    (
        PromptCommand::Leave,
        "leave",
        "",
        "leave; the run resumes at this question",
    ),
    (
        PromptCommand::Stop,
        "stop",
        "REASON",
        "something is wrong: record it and hold",
    ),
    (PromptCommand::End, "end", "", "give this run up for good"),
];

/// The word that keeps an answer that was gone back to.
pub(crate) const KEEP: &str = "keep";

/// The word that leaves a command, once it asks for more.
pub(crate) const CANCEL: &str = "cancel";

/// Other words for help.
const HELP: [&str; 2] = ["why", "help"];

impl PromptCommand {
    /// The command that a line is, and what follows its word, trimmed. A command that takes nothing is none where something
    /// follows: the line is left to the question.
    pub(crate) fn read(said: &str) -> Option<(Self, &str)> {
        let said = said.trim();
        let (word, rest) = said.split_once(char::is_whitespace).unwrap_or((said, ""));
        let word = word.to_lowercase();
        let rest = rest.trim();
        if HELP.contains(&word.as_str()) {
            return Some((Self::Help, rest));
        }
        COMMANDS
            .iter()
            .find(|(_, known, ..)| *known == word)
            .filter(|(_, _, takes, _)| rest.is_empty() || !takes.is_empty())
            .map(|(command, ..)| (*command, rest))
    }
}

/// Their words, for completion.
pub(crate) fn words() -> impl Iterator<Item = String> {
    COMMANDS.iter().map(|(_, word, ..)| (*word).to_owned())
}

/// The reason after the stop word, where a line begins with it; it may be empty.
pub(crate) fn stop_reason(said: &str) -> Option<&str> {
    match PromptCommand::read(said)? {
        (PromptCommand::Stop, reason) => Some(reason),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::{COMMANDS, PromptCommand, stop_reason};
    use crate::procedure::model::{WORDS_ALONE, WORDS_FIRST};

    #[test]
    fn no_answer_of_a_procedure_can_be_one_of_these_words() {
        for (_, word, ..) in COMMANDS {
            assert!(
                WORDS_ALONE.contains(&word) || WORDS_FIRST.contains(&word),
                "{word}"
            );
        }
    }

    #[test]
    fn a_line_is_a_command_by_its_first_word() {
        use PromptCommand::{Back, Help, Leave};
        assert_eq!(
            PromptCommand::read(" Back  cutter "),
            Some((Back, "cutter"))
        );
        assert_eq!(PromptCommand::read("why"), Some((Help, "")));
        assert_eq!(PromptCommand::read("LEAVE"), Some((Leave, "")));
        assert_eq!(PromptCommand::read("leave it"), None);
        assert_eq!(PromptCommand::read("backwards"), None);
        assert_eq!(PromptCommand::read(""), None);
        assert_eq!(
            stop_reason("Stop a clamp is loose"),
            Some("a clamp is loose")
        );
        assert_eq!(stop_reason("stopped"), None);
    }
}
