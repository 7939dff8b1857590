//! What every command that reports takes: `--json`, and `--unit` where lengths are shown.

use crate::quantity::UnitSystem;

/// Options of a command that reports. Where its `--unit` means more than what is shown, it has one of its own.
#[derive(clap::Args, Clone, Copy, Debug, Default)]
pub(crate) struct JsonArg {
    /// Print one JSON object instead of text
    #[arg(long)]
    pub json: bool,
}

/// Options of a command whose report shows lengths.
#[derive(clap::Args, Clone, Copy, Debug, Default)]
pub(crate) struct ReportArgs {
    /// Print one JSON object instead of text; lengths are in millimetres
    #[arg(long)]
    pub json: bool,
    /// Show lengths in this unit first
    #[arg(long, value_parser = unit, value_name = "mm|inch")]
    pub unit: Option<UnitSystem>,
}

impl ReportArgs {
    /// The unit asked for, else millimetres.
    pub(crate) fn system(&self) -> UnitSystem {
        self.unit.unwrap_or(UnitSystem::Mm)
    }
}

/// Reads `mm`, `millimetre`, `in`, `inch` and their usual spellings.
pub(crate) fn unit(text: &str) -> Result<UnitSystem, String> {
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
