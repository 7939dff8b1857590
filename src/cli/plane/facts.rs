//! What the command is told of cutter, machine, plate and program: from a shop file, from flags, or both.

use super::args::length;
use crate::cli::failure::Failure;
use crate::cli::files;
use crate::cli::missing::shop_item;
use crate::cutting::deflection::CutterBody;
use crate::cutting::tram;
use crate::cutting::ways::CuttingConditions;
use crate::diagnostics::Findings;
use crate::files::ReadAs;
use crate::procedure::shop::{self, Item};
use crate::procedure::{Shop, ShopList};
use crate::quantity::format::QuantityFormat;
use crate::quantity::parse::{DecimalMark, quantity};
use crate::quantity::{Dimension, Length, Quantity, Unit, UnitSystem};
use clap::Args;
use std::cmp::Ordering;

/// Facts to weigh ways of taking it off by.
#[derive(Args, Clone, Debug, Default)]
#[command(next_help_heading = "To compare ways of taking it off")]
pub(crate) struct FactArgs {
    /// A shop file to take --cutter, --plate and --mill from
    #[arg(long, value_name = "FILE")]
    pub shop: Option<std::path::PathBuf>,
    /// The cutter's id in the shop file
    #[arg(long, value_name = "ID", requires = "shop")]
    pub cutter: Option<String>,
    /// The plate's id in the shop file
    #[arg(long, value_name = "ID", requires = "shop")]
    pub plate: Option<String>,
    /// The machine's id in the shop file
    #[arg(long, value_name = "ID", requires = "shop")]
    pub mill: Option<String>,
    /// Cutter diameter
    #[arg(long, value_name = "LENGTH")]
    pub diameter: Option<String>,
    /// Teeth of the cutter
    #[arg(long, value_name = "NUMBER")]
    pub teeth: Option<String>,
    /// Spindle speed
    #[arg(long, value_name = "RPM")]
    pub speed: Option<String>,
    /// Feed
    #[arg(long, value_name = "FEED")]
    pub feed: Option<String>,
    /// Step-over between rows
    #[arg(long, value_name = "LENGTH")]
    pub step_over: Option<String>,
    /// Feed override of the finishing skim, in percent
    #[arg(long = "override", value_name = "PERCENT")]
    pub finish_override: Option<String>,
    /// Free length of the cutter, nut to tip
    #[arg(long, value_name = "LENGTH")]
    pub stick_out: Option<String>,
    /// What the indicator showed, swept over --tram-span
    #[arg(long, value_name = "LENGTH", requires = "tram_span")]
    pub tram: Option<String>,
    /// Distance between the two contact points of the sweep
    #[arg(long, value_name = "LENGTH", requires = "tram")]
    pub tram_span: Option<String>,
    /// Formula, inputs and source of every figure
    #[arg(long)]
    pub why: bool,
}

impl FactArgs {
    /// What is known; and the cutter's deepest bite and the readout's step, where the shop file tells them.
    pub(super) fn setting(&self, unit: Option<UnitSystem>) -> Result<KnownFacts, Failure> {
        let shop = self.read_shop()?;
        let item = |list: ShopList, id: &Option<String>| item(shop.as_ref(), list, id.as_deref());
        let cutter = item(ShopList::Cutters, &self.cutter)?;
        let plate = item(ShopList::Plates, &self.plate)?;
        let mill = item(ShopList::Machines, &self.mill)?;
        let system = unit.unwrap_or(UnitSystem::Mm);
        let typed = |flag: &str, text: &Option<String>, dimension: Dimension| {
            let text = text.as_deref();
            text.map(|t| positive(flag, t, dimension, system, unit))
                .transpose()
        };
        let of = |item: Option<&Item>, name: &str| item.and_then(|i| i.quantity(name));
        let word =
            |item: Option<&Item>, name: &str| item.and_then(|i| i.word(name)).map(str::to_owned);
        let tilt = match (
            typed("--tram", &self.tram, Dimension::LENGTH)?,
            typed("--tram-span", &self.tram_span, Dimension::LENGTH)?,
        ) {
            (Some(difference), Some(span)) => tram::tilt(difference, span).ok(),
            _ => None,
        };
        let length = Dimension::LENGTH;
        let setting = CuttingConditions {
            diameter: typed("--diameter", &self.diameter, length)?.or(of(cutter, "diameter")),
            teeth: typed("--teeth", &self.teeth, Dimension::TEETH)?.or(of(cutter, "teeth")),
            corner: of(cutter, "corner"),
            least_chip: of(cutter, "least_chip_load"),
            most_chip: of(cutter, "most_chip_load"),
            body: word(cutter, "made_of").and_then(|w| CutterBody::from_word(&w)),
            stick_out: typed("--stick-out", &self.stick_out, length)?,
            spindle: typed("--speed", &self.speed, Dimension::SPINDLE_SPEED)?,
            feed: typed("--feed", &self.feed, Dimension::FEED)?,
            finish_override: typed("--override", &self.finish_override, Dimension::RATIO)?,
            step_over: typed("--step-over", &self.step_over, length)?,
            beyond: None,
            long: of(plate, "x_length"),
            wide: of(plate, "y_width"),
            material: word(plate, "material"),
            spindle_power: of(mill, "spindle_power"),
            tilt,
            steel: of(plate, "steel_depth"),
            thickness: of(plate, "thickness"),
            least_thickness: of(plate, "least_thickness"),
            finishing_bite: of(cutter, "finishing_bite"),
        };
        let show = QuantityFormat::new(system);
        for (flag, value, most, of) in [
            (
                "--speed",
                setting.spindle,
                of(cutter, "highest_speed"),
                "the cutter's highest speed",
            ),
            (
                "--speed",
                setting.spindle,
                of(mill, "highest_speed"),
                "the mill's highest speed",
            ),
            (
                "--feed",
                setting.feed,
                of(mill, "highest_feed"),
                "the mill's highest feed",
            ),
        ] {
            hold(flag, value, most, of, &show)?;
        }
        if let (Some(speed), Some(least)) = (setting.spindle, of(mill, "lowest_speed"))
            && speed.compare(least).is_ok_and(Ordering::is_lt)
        {
            let what = format!(
                "{} is below the mill's lowest speed, {}; choose one that it can turn",
                show.one(speed),
                show.one(least)
            );
            return Err(Failure::at("--speed", what).withheld("limit"));
        }
        Ok(KnownFacts {
            deepest: cutter.and_then(|c| c.length("deepest_bite")),
            finishing: cutter.and_then(|c| c.length("finishing_bite")),
            readout_step: mill.and_then(|m| m.length("readout_step")),
            offsets: word(mill, "length_offsets").is_none_or(|w| w == "used"),
            waviness: plate.and_then(|p| p.length("waviness")),
            setting,
        })
    }

    fn read_shop(&self) -> Result<Option<Shop>, Failure> {
        let Some(path) = &self.shop else {
            return Ok(None);
        };
        let text = files::text(path, ReadAs::Checklist)?;
        let mut findings = Findings::default();
        let read = shop::read(&text, &mut findings);
        let why = format!("has errors; `skimgate check {}` shows them", path.display());
        read.map(Some)
            .ok_or_else(|| Failure::at(format!("--shop {}", path.display()), why))
    }
}

/// What was told.
#[derive(Clone, Debug, Default)]
pub(crate) struct KnownFacts {
    /// For comparing ways.
    pub setting: CuttingConditions,
    /// The cutter's deepest bite.
    pub deepest: Option<Length>,
    /// The cutter's finishing bite.
    pub finishing: Option<Length>,
    /// The step of the machine's readout.
    pub readout_step: Option<Length>,
    /// Whether the machine uses length offsets; taken to where nobody says.
    pub offsets: bool,
    /// How far the plate's old surface waves.
    pub waviness: Option<Length>,
}

impl KnownFacts {
    /// Holds the bites asked for against the cutter's.
    pub(super) fn hold_bites(
        &self,
        max_bite: Option<Length>,
        finish: Option<Length>,
        system: UnitSystem,
    ) -> Result<(), Failure> {
        let show = QuantityFormat::new(system);
        for (flag, bite, most, of) in [
            (
                "--max-bite",
                max_bite,
                self.deepest,
                "the cutter's deepest bite",
            ),
            (
                "--finish",
                finish,
                self.finishing,
                "the cutter's finishing bite",
            ),
        ] {
            hold(
                flag,
                bite.map(Quantity::from),
                most.map(Quantity::from),
                of,
                &show,
            )?;
        }
        Ok(())
    }
}

/// A value past what is known to be the most is no figure to plan with.
fn hold(
    flag: &str,
    value: Option<Quantity>,
    most: Option<Quantity>,
    of: &str,
    show: &QuantityFormat,
) -> Result<(), Failure> {
    if let (Some(value), Some(most)) = (value, most)
        && value.compare(most).is_ok_and(Ordering::is_gt)
    {
        let what = format!("{} is above {of}, {}", show.both(value), show.both(most));
        return Err(Failure::at(flag, what).withheld("limit"));
    }
    Ok(())
}

fn item<'a>(
    shop: Option<&'a Shop>,
    list: ShopList,
    id: Option<&str>,
) -> Result<Option<&'a Item>, Failure> {
    let (Some(shop), Some(id)) = (shop, id) else {
        return Ok(None);
    };
    shop_item(shop, list, id).map(Some)
}

fn positive(
    flag: &str,
    text: &str,
    dimension: Dimension,
    system: UnitSystem,
    unit: Option<UnitSystem>,
) -> Result<Quantity, Failure> {
    let place = || format!("{flag} {text}");
    let found = if dimension == Dimension::LENGTH {
        Quantity::from(length(text, unit, flag)?)
    } else {
        let usual = if dimension == Dimension::RATIO {
            Unit::find("%")
        } else {
            Unit::usual(dimension, system)
        };
        let usual = usual.ok_or_else(|| Failure::at(place(), "has no unit"))?;
        let typed = quantity(text, &usual, DecimalMark::Point)
            .map_err(|e| Failure::at(place(), format!("`{text}`: {e}")))?;
        if typed.bare && dimension == Dimension::FEED && unit.is_none() {
            let what = format!(
                "`{text}` has no unit; add one (`{text} mm/min`, `{text} in/min`), or give --unit"
            );
            return Err(Failure::at(place(), what));
        }
        typed.quantity
    };
    if found.amount.is_zero() || found.amount.is_negative() {
        return Err(Failure::at(place(), "must be above 0"));
    }
    Ok(found)
}
