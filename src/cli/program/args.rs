//! The arguments of `skimgate program`, and the set-up they make.

use crate::cli::context::CommandContext;
use crate::cli::failure::Failure;
use crate::cli::files;
use crate::cli::missing::shop_item;
use crate::cli::reporting::{ReportArgs, unit};
use crate::procedure::model::ShopList;
use crate::program::dialect::Dialect;
use crate::program::setting::{LengthOffset, Units, WorkOffset};
use crate::program::setup::Setup;
use crate::program::time::Dynamics;
use crate::quantity::parse::{DecimalMark, quantity};
use crate::quantity::{Dimension, Unit, UnitSystem};
use crate::walk::program::{estimate, setup};
use clap::Args;
use std::path::PathBuf;

/// Examine an NC program: what it will do to this plate, with this cutter, on this machine, from these offsets
///
/// Read as ISO 6983 / RS-274 word address and followed motion by motion. What is not said here is not judged, and the
/// answer says so. Exit status: 0 nothing stops it (it may still want a look), 3 it must not be run so, or some of it
/// cannot be vouched for, 2 it cannot be read.
#[derive(Args, Debug)]
#[command(
    after_help = "Examples:\n  skimgate program checklists/answers/facing-12mm.nc\n  \
                  skimgate program checklists/answers/facing-12mm.nc --plate plate-1 --cutter em-12 --machine mill-a --corner 30,30\n  \
                  skimgate program --explain rapid-low"
)]
pub(crate) struct ProgramArgs {
    /// The program file
    #[arg(required_unless_present = "explain", value_name = "FILE")]
    pub file: Option<PathBuf>,
    /// How it is reported; the program's own unit where none is asked for.
    #[command(flatten)]
    pub report: ReportArgs,
    /// Explain a rule by its code
    #[arg(long, value_name = "CODE", conflicts_with_all = ["file", "unit"])]
    pub explain: Option<String>,
    /// Also write the drawing to a file of its own; needs the plate, and its corner here or in the shop file
    #[arg(
        long,
        value_name = "FILE",
        conflicts_with = "explain",
        requires = "plate"
    )]
    pub svg: Option<PathBuf>,
    /// Replace the drawing's file if it is there
    #[arg(long, requires = "svg")]
    pub force: bool,
    /// The shop file; the invented one if left out
    #[arg(long, value_name = "FILE")]
    pub shop: Option<PathBuf>,
    /// The plate, by its id in the shop file
    #[arg(long, value_name = "ID")]
    pub plate: Option<String>,
    /// The cutter, by its id in the shop file
    #[arg(long, value_name = "ID")]
    pub cutter: Option<String>,
    /// The machine, by its id in the shop file
    #[arg(long, value_name = "ID")]
    pub machine: Option<String>,
    /// X,Y of the plate's corner with the smallest coordinates, in the work offset; millimetres unless said
    #[arg(
        long,
        value_name = "X,Y",
        requires = "plate",
        allow_hyphen_values = true
    )]
    pub corner: Option<String>,
    /// The unit that the control is in, held against the program
    #[arg(long, value_parser = unit, value_name = "mm|inch")]
    pub control: Option<UnitSystem>,
    /// The work offset that was zeroed: G54 to G59.3
    #[arg(long, value_name = "CODE")]
    pub offset: Option<String>,
    /// The H number active at touch-off, or none
    #[arg(long, value_name = "H")]
    pub length_offset: Option<String>,
    /// The tool's number
    #[arg(long, value_name = "T")]
    pub tool: Option<u32>,
    /// Lowest Z it should cut to, in its own coordinates; millimetres unless said
    #[arg(long, value_name = "Z", allow_hyphen_values = true)]
    pub lowest_z: Option<String>,
    /// Z of the highest metal, in the program's coordinates; millimetres unless said
    #[arg(long, value_name = "Z", allow_hyphen_values = true)]
    pub stock_top: Option<String>,
    /// Machine coordinates of the work zero as the control's page of offsets has them, a length offset in use added to
    /// Z; millimetres unless said
    #[arg(
        long,
        value_name = "X,Y,Z",
        requires = "machine",
        allow_hyphen_values = true
    )]
    pub zero: Option<String>,
}

fn length(option: &str, text: &str) -> Result<f64, Failure> {
    let wrong = |why: String| Failure::usage(format!("--{option} {text}: {why}"));
    let mm = Unit::find("mm").ok_or_else(|| wrong("no unit".to_owned()))?;
    let typed = quantity(text.trim(), &mm, DecimalMark::Point).map_err(|e| wrong(e.to_string()))?;
    if typed.quantity.dimension != Dimension::LENGTH {
        return Err(wrong("this is no length; write 5 mm or 0.2 in".to_owned()));
    }
    let amount = typed
        .quantity
        .in_unit(&mm)
        .map_err(|e| wrong(e.to_string()))?;
    Ok(amount.to_f64())
}

/// Lengths with commas between.
fn lengths<const N: usize>(option: &str, text: &str, example: &str) -> Result<[f64; N], Failure> {
    let all: Vec<f64> = text
        .split(',')
        .map(|part| length(option, part))
        .collect::<Result<_, _>>()?;
    all.try_into().map_err(|_| {
        Failure::usage(format!(
            "--{option} {text}: {N} lengths with commas between"
        ))
        .hint(format!("such as {example}"))
    })
}

/// What a program is judged against, and the machine's figures for its time.
#[derive(Clone, Debug, Default)]
pub(crate) struct ExaminationSetup {
    /// Plate, cutter, machine, offsets.
    pub setup: Setup,
    /// How the machine's axes move.
    pub dynamics: Option<Dynamics>,
    /// How its control reads programs.
    pub dialect: Dialect,
}

impl ProgramArgs {
    /// What the program is judged against.
    pub(crate) fn against(&self, context: &CommandContext) -> Result<ExaminationSetup, Failure> {
        let mut setup = Setup::default();
        let mut dynamics = None;
        let mut dialect = Dialect::default();
        if self.plate.is_some() || self.cutter.is_some() || self.machine.is_some() {
            let shop = files::shop(self.shop.as_deref(), context)?.content;
            if let Some(id) = &self.plate {
                setup.plate = setup::plate(shop_item(&shop, ShopList::Plates, id)?);
            }
            if let Some(id) = &self.cutter {
                setup.cutter = setup::cutter(shop_item(&shop, ShopList::Cutters, id)?);
            }
            if let Some(id) = &self.machine {
                let machine = shop_item(&shop, ShopList::Machines, id)?;
                setup.mill = Some(setup::mill(machine));
                dynamics = estimate::dynamics(machine);
                dialect = setup::dialect(machine);
            }
        }
        if let (Some(plate), Some(corner)) = (&mut setup.plate, &self.corner) {
            let example = "--corner 30,30 or --corner -1in,-1in";
            plate.corner = Some(lengths("corner", corner, example)?);
        }
        setup.units = self.control.map(|unit| match unit {
            UnitSystem::Mm => Units::Millimetre,
            UnitSystem::Inch => Units::Inch,
        });
        if let Some(code) = &self.offset {
            let place = WorkOffset::ALL
                .iter()
                .position(|c| c.eq_ignore_ascii_case(code));
            let number = place
                .and_then(|p| u8::try_from(p + 1).ok())
                .ok_or_else(|| {
                    Failure::usage(format!("--offset {code}: no work offset is called so"))
                        .hint(format!("one of {}", WorkOffset::ALL.join(", ")))
                })?;
            setup.work_offset = Some(WorkOffset(number));
        }
        if let Some(said) = &self.length_offset {
            let digits = said.trim_start_matches(['H', 'h']);
            setup.length_offset = Some(if said.eq_ignore_ascii_case("none") {
                LengthOffset::Cancelled
            } else {
                LengthOffset::Number(digits.parse().map_err(|_| {
                    Failure::usage(format!("--length-offset {said}: a number, or none"))
                })?)
            });
        }
        setup.tool = self.tool;
        let z = |option: &str, text: &Option<String>| {
            text.as_deref().map(|t| length(option, t)).transpose()
        };
        setup.lowest_z = z("lowest-z", &self.lowest_z)?;
        setup.stock_top = z("stock-top", &self.stock_top)?;
        if let Some(zero) = &self.zero {
            setup.zero = Some(lengths("zero", zero, "--zero 60,40,-120")?);
        }
        Ok(ExaminationSetup {
            setup,
            dynamics,
            dialect,
        })
    }
}
