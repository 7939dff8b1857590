//! The one reader of `--unit`.

use crate::quantity::UnitSystem;

/// Reads `mm`, `millimetre`, `in`, `inch` and their usual spellings.
pub fn unit(text: &str) -> Result<UnitSystem, String> {
    UnitSystem::from_word(text).ok_or_else(|| format!("`{text}` is not mm or inch"))
}

#[cfg(test)]
mod tests {
    use super::unit;
    use crate::quantity::UnitSystem::{Inch, Mm};

    #[test]
    fn usual_spellings_are_read_and_other_words_are_not() {
        for (text, read) in [
            ("in", Inch),
            ("inch", Inch),
            ("IN", Inch),
            ("mm", Mm),
            ("MM", Mm),
            ("millimetre", Mm),
        ] {
            assert_eq!(unit(text), Ok(read), "{text}");
        }
        assert_eq!(
            unit("furlong"),
            Err("`furlong` is not mm or inch".to_owned())
        );
        assert!(unit("thou").is_err());
    }
}
