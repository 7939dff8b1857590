//! Helpers that build the figures of a way, and the two figures that several others use.

use super::setting::CuttingConditions;
use super::worked::WorkedFigure;
use crate::cutting::{load, speeds};
use crate::quantity::{Exact, Quantity, QuantityError, Unit};

pub(super) const PRACTICE: &str = "common practice, no source";
pub(super) const DERIVED: &str = "derived";

/// Computes a figure; `None` where an input is unknown or the result is out of range.
pub(super) fn worked(
    (key, unit, name): (&'static str, &'static str, &'static str),
    value: Result<Quantity, QuantityError>,
    formula: &'static str,
    inputs: &[(&'static str, Quantity)],
    source: impl Into<String>,
) -> Option<WorkedFigure> {
    Some(WorkedFigure {
        key,
        unit,
        name,
        value: value.ok()?,
        formula,
        inputs: inputs.to_vec(),
        source: source.into(),
    })
}

pub(super) fn length(text: (i128, i128)) -> Option<Quantity> {
    Quantity::of(Exact::fraction(text.0, text.1)?, &Unit::find("mm")?).ok()
}

pub(super) fn below(a: Quantity, b: Quantity) -> bool {
    a.compare(b).is_ok_and(std::cmp::Ordering::is_lt)
}

/// The chip load of the program.
pub(super) fn chip(s: &CuttingConditions) -> Option<WorkedFigure> {
    let (feed, spindle, teeth) = (s.feed?, s.spindle?, s.teeth?);
    worked(
        ("chip_load_mm_per_tooth", "mm/tooth", "chip load"),
        speeds::chip_load(feed, spindle, teeth),
        "feed / (speed x teeth)",
        &[("feed", feed), ("speed", spindle), ("teeth", teeth)],
        "Stanford University student shop handout, 2001",
    )
}

/// Energy per volume for planning, with its source.
pub(super) fn energy(s: &CuttingConditions) -> Option<WorkedFigure> {
    let found = load::specific_energy(s.material.as_deref()?)?;
    let chip = chip(s)?.value;
    let factor = load::thin_chip_factor(chip);
    worked(
        ("energy_j_per_mm3", "J/mm3", "energy to plan with"),
        load::planning_energy(&found, chip),
        "sharp x dull x thin chip",
        &[
            ("sharp", found.sharp),
            ("dull", load::dull()),
            ("thin chip", factor),
        ],
        format!(
            "{}; thin chips: Machinery's Handbook, from memory",
            found.source
        ),
    )
}
