//! All rules, and the one of a code.

use super::rule::Rule;
use super::{machine_rules, text_rules};

/// Both tables.
pub const TABLES: [&[Rule]; 2] = [machine_rules::RULES, text_rules::RULES];

/// Every rule, by code.
pub fn all() -> Vec<&'static Rule> {
    let mut rules: Vec<&Rule> = TABLES.into_iter().flatten().collect();
    rules.sort_by_key(|r| r.code);
    rules
}

/// The rule of that code.
pub fn rule(code: &str) -> Option<&'static Rule> {
    TABLES.into_iter().flatten().find(|r| r.code == code)
}

#[cfg(test)]
mod tests {
    use super::{TABLES, all};
    use std::collections::BTreeSet;

    #[test]
    fn the_tables_are_sorted_and_say_everything() {
        for table in TABLES {
            assert!(table.is_sorted_by(|a, b| a.code < b.code));
        }
        let codes: BTreeSet<&str> = all().iter().map(|r| r.code).collect();
        assert_eq!(codes.len(), all().len(), "a code twice");
        for rule in all() {
            for text in [rule.title, rule.why, rule.mend] {
                assert!(
                    text.len() > 8 && !text.ends_with('.'),
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
