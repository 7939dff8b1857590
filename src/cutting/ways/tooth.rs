//! The load of a way on tooth, spindle and cutter.

use super::figure::{DERIVED, PRACTICE, below, chip, energy, length, worked};
use super::setting::CuttingConditions;
use super::way::CutWay;
use crate::cutting::deflection::{self, CutterBody};
use crate::cutting::{load, speeds, thinning};
use crate::quantity::{Exact, Quantity, Unit};

impl CutWay {
    /// Adds the chip load of roughing and finishing, and whether the cutter rubs.
    pub(super) fn chips(&mut self, s: &CuttingConditions) -> Option<()> {
        let chip = self.add(chip(s))?;
        let least = s.least_chip.or_else(|| {
            let thin = Quantity::of(Exact::fraction(5, 10_000)?, &Unit::find("in/tooth")?);
            thin.ok()
        })?;
        let whose = if s.least_chip.is_some() {
            "the cutter's least"
        } else {
            "0.0005 in, common practice, no source"
        };
        if self.roughing() > 0 && below(chip, least) {
            self.remarks
                .push(format!("roughing rubs: the chip load is below {whose}"));
        }
        if s.most_chip.is_some_and(|most| below(most, chip)) {
            self.remarks
                .push("the chip load is above the cutter's most".to_owned());
        }
        let bite = self.bite(true)?;
        let slower = s.finish_override.unwrap_or(Quantity::whole(1));
        let corner = s.corner.or_else(|| length((0, 1)))?;
        let thin = thinning::under_the_corner(bite, corner).ok()?;
        let fine = self.add(worked(
            (
                "finishing_chip_load_mm_per_tooth",
                "mm/tooth",
                "chip load, finishing",
            ),
            chip.times(slower),
            "chip load x override",
            &[("chip load", chip), ("override", slower)],
            "Stanford University student shop handout, 2001",
        ))?;
        let thick = fine.times(thin).ok()?;
        if below(fine, least) {
            self.remarks.push(format!(
                "the finishing skim rubs: its chip load is below {whose}; turn the override up"
            ));
        } else if below(thick, least) {
            self.remarks.push(format!(
                "under a corner as round as this cutter's the finishing chip is thinner than {whose}; it may rub"
            ));
        }
        Some(())
    }

    /// Adds the load of the largest bite on spindle and cutter.
    pub(super) fn loads(&mut self, s: &CuttingConditions) -> Option<()> {
        let (bite, wide, feed) = (self.heaviest()?, s.diameter?, s.feed?);
        let rate = self.add(worked(
            ("removal_rate_cm3_per_min", "cm3/min", "removal rate"),
            speeds::removal_rate(bite, wide, feed),
            "bite x full width x feed",
            &[("bite", bite), ("width", wide), ("feed", feed)],
            "SME student-chapter formula sheet",
        ))?;
        let energy = energy(s)?;
        let power = self.add(worked(
            ("power_w", "W", "power at the cutter"),
            load::power(energy.value, rate),
            "energy x removal rate",
            &[("energy", energy.value), ("removal rate", rate)],
            energy.source.clone(),
        ))?;
        if let Some(spindle) = s.spindle_power {
            self.add(worked(
                ("power_share_percent", "%", "share of the spindle's power"),
                power.over(spindle),
                "power at the cutter / spindle power",
                &[("power", power), ("spindle power", spindle)],
                DERIVED,
            ));
        }
        let spindle = s.spindle?;
        let torque = self.add(worked(
            ("torque_nm", "N.m", "torque"),
            load::torque(power, spindle),
            "power / (2 pi speed)",
            &[("power", power), ("speed", spindle)],
            "definition",
        ))?;
        let mean = load::rim_force(torque, wide).ok()?;
        let chip = chip(s)?.value;
        let force = self.add(worked(
            ("side_force_n", "N", "side force"),
            load::side_force(mean, energy.value, bite, chip),
            "the larger of 2 torque / diameter and energy x bite x chip",
            &[
                ("torque", torque),
                ("diameter", wide),
                ("energy", energy.value),
                ("bite", bite),
                ("chip", chip),
            ],
            DERIVED,
        ))?;
        let (body, free) = (s.body?, s.stick_out?);
        let bend = deflection::bend(force, free, wide, body).ok()?;
        let inputs = [
            ("force", force),
            ("free length", free),
            ("diameter", wide),
            ("modulus in GPa", gigapascals(body)?),
        ];
        let source = "Kops and Vo, CIRP Annals 39/1, 1990: a fluted rod counts as 0.8 of its diameter; modulus from memory";
        self.add(worked(
            ("bend_sideways_mm", "mm", "tip bends sideways"),
            Ok(bend.sideways),
            "F L^3 / (3 E I), I = pi (0.8 D)^4 / 64",
            &inputs,
            source,
        ));
        self.add(worked(
            ("bend_down_mm", "mm", "rim tips down"),
            Ok(bend.down),
            "F L^2 / (2 E I) x D / 2",
            &inputs,
            source,
        ));
        if length((1, 100)).is_some_and(|felt| below(felt, bend.down)) {
            self.remarks.push(format!(
                "the bent cutter tips its rim down by more than a hundredth of a millimetre: lighter bites, or less free length ({PRACTICE})"
            ));
        }
        Some(())
    }
}

/// The modulus in the unit that people know: one joule per cubic millimetre is one gigapascal.
fn gigapascals(body: CutterBody) -> Option<Quantity> {
    let one = Quantity::of(Exact::whole(1), &Unit::find("J/mm3")?).ok()?;
    body.modulus().over(one).ok()
}
