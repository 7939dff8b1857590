//! Help with typing a line: answers given before, completion, and how a prompt is written.
//!
//! What may be recalled is decided by [`Question`](super::Question): only answers that were taken, and never what proves who
//! somebody is. An empty line is never completed, so that nobody answers with a key that happened to be pressed.

use crate::files;
use dialoguer::theme::Theme;
use dialoguer::{BasicHistory, Completion, History};
use std::fmt;
use std::path::PathBuf;

/// As many answers can be recalled; those of a whole run.
const RECALLED: usize = 200;

/// How prompts are written: `reading in mm> `, and for what is not shown `PIN (not shown)> `.
pub(crate) struct PromptTheme;

impl Theme for PromptTheme {
    fn format_input_prompt(
        &self,
        f: &mut dyn fmt::Write,
        prompt: &str,
        _default: Option<&str>,
    ) -> fmt::Result {
        write!(f, "{prompt}> ")
    }

    fn format_prompt(&self, f: &mut dyn fmt::Write, prompt: &str) -> fmt::Result {
        write!(f, "{prompt} (not shown)> ")
    }
}

/// A prompt as the theme writes it.
pub(crate) fn prompt_line(prompt: &str, shown: bool) -> String {
    let mut line = String::new();
    let written = if shown {
        PromptTheme.format_input_prompt(&mut line, prompt, None)
    } else {
        PromptTheme.format_prompt(&mut line, prompt)
    };
    // Writing to a text does not fail.
    written.map_or_else(|_| format!("{prompt}> "), |()| line)
}

/// The answers of one sitting that were taken, the last one first; in memory only.
pub(crate) struct Recall {
    history: BasicHistory,
    /// The answer given last, until it is known whether it was taken.
    pending: Option<String>,
}

impl fmt::Debug for Recall {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Recall")
    }
}

impl Recall {
    /// Nothing answered yet.
    pub(crate) fn new() -> Self {
        Self {
            history: BasicHistory::new()
                .max_entries(RECALLED)
                .no_duplicates(true),
            pending: None,
        }
    }

    /// Notes what was answered to a question, or forgets it where it must not be recalled.
    pub(crate) fn answered(&mut self, said: &str, may_be_recalled: bool) {
        let said = said.trim();
        self.pending = (may_be_recalled && !said.is_empty()).then(|| said.to_owned());
    }

    /// The answer noted last was taken.
    pub(crate) fn taken(&mut self) {
        if let Some(said) = self.pending.take() {
            self.history.write(&said);
        }
    }

    /// The answer noted last was not taken: it may have been anything.
    pub(crate) fn refused(&mut self) {
        self.pending = None;
    }

    /// What Up and Down step through.
    #[cfg(unix)]
    pub(crate) fn history(&self) -> &dyn History<String> {
        &self.history
    }
}

/// What Tab completes at a question.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Completions {
    /// Whole lines: the words of a choice, the commands of every prompt.
    pub words: Vec<String>,
    /// The folder that relative paths count from, where a path is asked for.
    pub paths: Option<PathBuf>,
}

impl Completions {
    /// These words.
    pub(crate) fn of<'a>(words: impl IntoIterator<Item = &'a str>) -> Self {
        Self {
            words: words.into_iter().map(str::to_owned).collect(),
            paths: None,
        }
    }
}

impl Completion for Completions {
    fn get(&self, input: &str) -> Option<String> {
        if input.trim().is_empty() {
            return None;
        }
        let path = self.paths.as_ref().and_then(|folder| {
            longest_beginning(input, &files::paths_beginning(folder, input), false)
        });
        path.or_else(|| longest_beginning(input, &self.words, true))
    }
}

/// The longest text that all candidates beginning with `input` begin with, where it is longer than `input`.
fn longest_beginning(input: &str, candidates: &[String], any_case: bool) -> Option<String> {
    let same = |a: char, b: char| a == b || (any_case && a.to_lowercase().eq(b.to_lowercase()));
    let shared = |a: &str, b: &str| {
        a.chars()
            .zip(b.chars())
            .take_while(|(a, b)| same(*a, *b))
            .count()
    };
    let length = input.chars().count();
    let mut fitting = candidates.iter().filter(|c| shared(c, input) == length);
    let first = fitting.next()?;
    let end = fitting.fold(first.chars().count(), |end, c| end.min(shared(first, c)));
    (end > length).then(|| first.chars().take(end).collect())
}

#[cfg(test)]
mod tests {
    use super::{Completions, Recall, prompt_line};
    use dialoguer::{Completion, History};

    #[test]
    fn only_answers_that_were_taken_are_recalled() {
        let mut recall = Recall::new();
        recall.answered("3000", true);
        recall.taken();
        recall.answered("123456", true);
        recall.refused();
        recall.taken();
        recall.answered("CODE", false);
        recall.taken();
        recall.answered("  ", true);
        recall.taken();
        let read = |n| History::<String>::read(&recall.history, n);
        assert_eq!(read(0).as_deref(), Some("3000"));
        assert_eq!(read(1), None);
    }

    fn words() -> Completions {
        Completions {
            words: ["handover", "holds", "em-12", "em-16", "Größe"]
                .map(str::to_owned)
                .into(),
            paths: None,
        }
    }

    #[test]
    fn a_beginning_is_completed_as_far_as_it_is_clear() {
        let of = |input: &str| words().get(input);
        assert_eq!(of("ho").as_deref(), Some("holds"));
        assert_eq!(of("e").as_deref(), Some("em-1"));
        assert_eq!(of("HA").as_deref(), Some("handover"));
        assert_eq!(of("grö").as_deref(), Some("Größe"));
        assert_eq!(of("h"), None);
        assert_eq!(of("holds"), None);
        assert_eq!(of("x"), None);
    }

    #[test]
    fn an_empty_line_is_never_completed() {
        let only = Completions {
            words: vec!["stopped".to_owned()],
            paths: Some(std::path::PathBuf::from(".")),
        };
        assert_eq!(only.get(""), None);
        assert_eq!(only.get("  "), None);
    }

    #[test]
    fn paths_are_completed_from_their_folder_on() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::create_dir(folder.path().join("programs")).unwrap();
        for name in ["programs/face-1.nc", "programs/face-2.nc", ".hidden.nc"] {
            std::fs::write(folder.path().join(name), "").unwrap();
        }
        let here = Completions {
            words: vec!["leave".to_owned()],
            paths: Some(folder.path().to_path_buf()),
        };
        assert_eq!(here.get("pro").as_deref(), Some("programs/"));
        assert_eq!(here.get("programs/f").as_deref(), Some("programs/face-"));
        assert_eq!(
            here.get("programs/face-2").as_deref(),
            Some("programs/face-2.nc")
        );
        assert_eq!(here.get("lea").as_deref(), Some("leave"));
        assert_eq!(here.get("h"), None);
        assert_eq!(here.get("nowhere/f"), None);
    }

    #[test]
    fn what_is_not_shown_is_said_in_the_prompt() {
        assert_eq!(prompt_line("reading in mm", true), "reading in mm> ");
        assert_eq!(prompt_line("PIN", false), "PIN (not shown)> ");
    }
}
