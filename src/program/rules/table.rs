//! The table of all rules, sorted by code.

use super::rule::Rule;
use super::{cutting, ending, heights, reach, settings, text};
use std::sync::LazyLock;

static ALL: LazyLock<Vec<&'static Rule>> = LazyLock::new(|| {
    let mut all = [
        cutting::RULES,
        ending::RULES,
        heights::RULES,
        reach::RULES,
        settings::RULES,
        text::RULES,
    ]
    .concat();
    all.sort_unstable_by_key(|r| r.code);
    all
});

/// Every rule, by code.
pub fn all() -> &'static [&'static Rule] {
    &ALL
}

/// The rule with that code.
pub fn rule(code: &str) -> Option<&'static Rule> {
    all().iter().copied().find(|r| r.code == code)
}

#[cfg(test)]
mod tests {
    use super::all;

    #[test]
    fn the_table_is_sorted_and_complete() {
        assert!(
            all().is_sorted_by(|a, b| a.code < b.code),
            "sorted, and no code twice"
        );
        for rule in all() {
            for text in [rule.title, rule.why, rule.mend] {
                assert!(
                    text.len() > 8 && !text.ends_with(['.', '?']),
                    "{}: {text}",
                    rule.code
                );
            }
            assert!(
                rule.code
                    .bytes()
                    .all(|b| b.is_ascii_lowercase() || b == b'-')
            );
        }
    }
}
