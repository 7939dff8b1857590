//! All rules, and the one of a code.

use super::list;
use super::rule::Rule;

/// One table a subject.
pub const TABLES: [&[Rule]; 34] = [
    list::arcs::RULES,
    list::bite::RULES,
    list::block_delete::RULES,
    list::bytes::RULES,
    list::chip_load::RULES,
    list::comments::RULES,
    list::coolant::RULES,
    list::depth::RULES,
    list::distance::RULES,
    list::end::RULES,
    list::feed::RULES,
    list::feed_mode::RULES,
    list::followed::RULES,
    list::home::RULES,
    list::length_offset::RULES,
    list::line_numbers::RULES,
    list::lost::RULES,
    list::overrides::RULES,
    list::plane::RULES,
    list::points::RULES,
    list::purpose::RULES,
    list::rapids::RULES,
    list::reach::RULES,
    list::rows::RULES,
    list::shift::RULES,
    list::speed::RULES,
    list::spindle::RULES,
    list::stops::RULES,
    list::tool::RULES,
    list::units::RULES,
    list::values::RULES,
    list::ways_down::RULES,
    list::words::RULES,
    list::work_offset::RULES,
];

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
