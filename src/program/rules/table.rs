//! All rules, and the one of a code.

use super::list;
use super::rule::Rule;

/// Every rule, by code.
pub fn all() -> &'static [&'static Rule] {
    list::ALL
}

/// The rule of that code.
pub fn rule(code: &str) -> Option<&'static Rule> {
    all().iter().copied().find(|r| r.code == code)
}

#[cfg(test)]
mod tests {
    use super::all;

    #[test]
    fn the_table_is_sorted_and_says_everything() {
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
