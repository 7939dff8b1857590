//! One of several words: by its number, the word itself, or a beginning that fits only one; and why a line is none of them.

use crate::interlock::refusal::quoted;

/// The word that `said` names, or why it names none. `whole` words only where a slip of one letter could pass for another.
/// `what` are the words, in the plural: `answers`.
pub(crate) fn pick(
    said: &str,
    words: &[(String, String)],
    whole: bool,
    what: &str,
) -> Result<String, String> {
    let none = || {
        let known: Vec<&str> = words.iter().map(|(w, _)| w.as_str()).collect();
        Err(none_of(what, said, &known))
    };
    if let Ok(number) = said.parse::<usize>() {
        let word = number.checked_sub(1).and_then(|index| words.get(index));
        return word.map_or_else(none, |(w, _)| Ok(w.clone()));
    }
    let same = |w: &&(String, String)| w.0.eq_ignore_ascii_case(said);
    if let Some((word, _)) = words.iter().find(same) {
        return Ok(word.clone());
    }
    // The control shows `G21`, and the answer is called `metric: G21, millimetres`: what is read may be typed.
    let leads = |(_, meaning): &&(String, String)| {
        let first = meaning.split([',', ' ']).next().unwrap_or_default();
        first.chars().any(|c| c.is_ascii_digit()) && first.eq_ignore_ascii_case(said)
    };
    let mut led = words.iter().filter(leads);
    if let (false, Some((word, _)), None) = (whole, led.next(), led.next()) {
        return Ok(word.clone());
    }
    let lower = said.to_lowercase();
    let begins: Vec<&str> = words
        .iter()
        .map(|(word, _)| word.as_str())
        .filter(|word| !lower.is_empty() && word.to_lowercase().starts_with(&lower))
        .collect();
    match begins.as_slice() {
        [] => none(),
        [word] if whole => Err(format!(
            "`{said}` is short for `{word}`; here the word is typed whole, or its number"
        )),
        [word] => Ok((*word).to_owned()),
        several => Err(format!(
            "`{said}` may be {}; type more of the word, or its number",
            several
                .iter()
                .map(|word| format!("`{word}`"))
                .collect::<Vec<_>>()
                .join(" or ")
        )),
    }
}

/// What a line is that is none of the answers, and which there are.
pub(crate) fn none_of(what: &str, said: &str, words: &[&str]) -> String {
    format!(
        "`{said}` is none of the {what}; type a number or one of: {}",
        quoted(words)
    )
}

#[cfg(test)]
mod tests {
    use super::pick;

    fn words() -> Vec<(String, String)> {
        ["stopped", "turning", "still coasting"]
            .map(|w| (w.to_owned(), String::new()))
            .into()
    }

    fn picked(said: &str, whole: bool) -> Option<String> {
        pick(said, &words(), whole, "answers").ok()
    }

    #[test]
    fn a_word_is_picked_by_number_by_word_or_by_a_beginning_that_fits_one() {
        assert_eq!(picked("2", true).as_deref(), Some("turning"));
        assert_eq!(picked("Stopped", true).as_deref(), Some("stopped"));
        assert_eq!(picked("t", false).as_deref(), Some("turning"));
        for (said, whole) in [
            ("t", true),
            ("st", false),
            ("0", false),
            ("4", false),
            ("", false),
        ] {
            assert_eq!(picked(said, whole), None, "{said}");
        }
    }

    #[test]
    fn it_is_said_why_an_abbreviation_was_not_taken() {
        let why = |said: &str, whole| pick(said, &words(), whole, "answers").unwrap_err();
        assert_eq!(
            why("st", false),
            "`st` may be `stopped` or `still coasting`; type more of the word, or its number"
        );
        assert_eq!(
            why("turn", true),
            "`turn` is short for `turning`; here the word is typed whole, or its number"
        );
        assert!(why("x", true).starts_with("`x` is none of the answers"));
    }

    #[test]
    fn a_code_that_the_control_shows_stands_for_the_answer_it_explains() {
        let words = [("metric", "G21, millimetres"), ("inch", "G20, inches")]
            .map(|(w, m)| (w.to_owned(), m.to_owned()));
        let picked = |said: &str, whole| pick(said, &words, whole, "answers").ok();
        assert_eq!(picked("g21", false).as_deref(), Some("metric"));
        assert_eq!(picked("G2", false), None);
        assert_eq!(picked("millimetres", false), None);
        assert_eq!(picked("G21", true), None);
    }
}
