//! The command's arguments, as typed and as checked.

use super::facts::{FactArgs, KnownFacts};
use super::places::{self, PointPlaces};
use super::readings::{self, Named};
use super::sense;
use crate::cli::failure::Failure;
use crate::cli::files;
use crate::cli::reporting::{JsonArg, unit};
use crate::plate::{HeightUncertainty, Limits, UncertaintyKind, ZSetting, ZeroMode};
use crate::quantity::parse::{self, DecimalMark};
use crate::quantity::{Length, UnitSystem};
use clap::{Args, ValueEnum};
use std::path::Path;

/// The last jog step of most, where nobody says another (common practice, no source).
pub(super) const TOUCH_WITHIN: &str = "0.01 mm";

const EXAMPLES: &str = "\
Examples:
  skimgate plane --unit mm --max-bite 0.25 --touch P1=0 --touch P2=-0.12 --touch P3=0.31
  skimgate plane --unit in --max-bite 10thou --clearance 2thou --finish 3thou touches.csv
  skimgate plane --unit mm --max-bite 0.25 --zero machine - < touches.csv
  skimgate plane --unit mm --shop my-shop.yaml --cutter em-12 --speed 8000 --feed 1200 touches.csv

Numbers are typed as they are said: -0.12, 6 thou, 1/64 in. A bare number
is in --unit; nought needs none. Plus is up in every column: a reading below
nought is a lower place.

FILE is comma-separated under a header: point,reading or point,machine or
point,reading,machine. Or it has one `P1: 0.31` a line (that much of YAML and
no more; with --zero machine the number is machine Z). Lines that start with #
are comments. Places on the plate, for its form and the map: columns x and y in
the file, `P1: 0.31 at 10, 20` in a line, or --at; counted from the front left
corner, to the right and away from the front. A point that comes twice is a repeat, in a file as among flags.

Exit status: 0 done, 1 the answer could not be written, 2 wrong usage or
unreadable input, 3 the two columns disagree, or a figure is past what cutter or
mill can take, so that no plane is given.";

/// Work out heights, planes and entries from touches
///
/// Takes the readings of a touch-off in the order they were made, works out the height of every point over the first,
/// and plans equal passes from the highest point down to the lowest less a clearance, with the working shown.
#[derive(Args, Clone, Debug)]
#[command(after_help = EXAMPLES)]
pub(crate) struct PlaneArgs {
    /// A touch: point and readout reading, in the order made
    #[arg(long = "touch", value_name = "POINT=READING", conflicts_with = "file")]
    pub touches: Vec<String>,

    /// Machine Z at a touch of that point, as a check on the readout or, with --zero machine, in its place
    #[arg(long = "machine", value_name = "POINT=Z", conflicts_with = "file")]
    pub machines: Vec<String>,

    /// Where a point lies: to the right and away from the front, from the plate's front left corner
    #[arg(long = "at", value_name = "POINT=X,Y")]
    pub places: Vec<String>,

    /// The plate's size, to the right and away from the front; the box around the places if left out
    #[arg(long, value_name = "X,Y")]
    pub size: Option<String>,

    /// The plane that map and verdict are for; the clearance below the lowest point if left out
    #[arg(long, value_name = "HEIGHT", allow_hyphen_values = true)]
    pub plane: Option<String>,

    /// How far a touch can be off at most, either way: the last jog step and the readout's own step
    #[arg(long, value_name = "LENGTH", default_value = TOUCH_WITHIN)]
    pub touch_within: String,

    /// How far the plane can land off at most when Z is set; from jog step, readout step, drift and tool length if left out
    #[arg(long, value_name = "LENGTH")]
    pub shared_within: Option<String>,

    /// How far an indicator moves over 100 mm of the old surface, beside its tilt; --plate's waviness, else 0.03 mm
    #[arg(long, value_name = "LENGTH")]
    pub waviness: Option<String>,

    /// Take both as twice a standard uncertainty, not as hard limits
    #[arg(long)]
    pub expanded: bool,

    /// What was read, and what was done to the readout between touches
    #[arg(long, value_enum, default_value_t = Zero::Running)]
    pub zero: Zero,

    /// The most that one pass may take off; the cutter's deepest bite if left out and --cutter is given
    #[arg(
        long,
        value_name = "DEPTH",
        allow_hyphen_values = true,
        required_unless_present = "cutter"
    )]
    pub max_bite: Option<String>,

    /// How far below the lowest point roughing ends
    #[arg(
        long,
        value_name = "DEPTH",
        default_value = "0",
        allow_hyphen_values = true
    )]
    pub clearance: String,

    /// What a finishing pass takes off below that; no finishing pass if left out
    #[arg(long, value_name = "DEPTH", allow_hyphen_values = true)]
    pub finish: Option<String>,

    /// The readout's step, for planes that it can show exactly
    #[arg(long, value_name = "STEP", allow_hyphen_values = true)]
    pub step: Option<String>,

    /// The first point's reading when touched again at the end, as a check for drift
    #[arg(long, value_name = "READING", allow_hyphen_values = true)]
    pub closing: Option<String>,

    /// How far readout and machine Z may differ at one touch
    #[arg(
        long,
        value_name = "LENGTH",
        default_value = "0",
        allow_hyphen_values = true
    )]
    pub tolerance: String,

    /// The unit of bare numbers, and the one shown first
    #[arg(long, value_parser = unit, value_name = "mm|inch")]
    pub unit: Option<UnitSystem>,

    /// How it is reported.
    #[command(flatten)]
    pub report: JsonArg,

    /// What to compare ways by.
    #[command(flatten)]
    pub facts: FactArgs,

    /// A file of readings, or - for standard input
    #[arg(value_name = "FILE")]
    pub file: Option<String>,
}

/// Ways of touching off.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub(crate) enum Zero {
    /// The readout was zeroed again at every point lower than its nought
    Running,
    /// The readout was zeroed at the first point and left alone
    Fixed,
    /// Machine Z was read
    Machine,
}

impl From<Zero> for ZeroMode {
    fn from(zero: Zero) -> Self {
        match zero {
            Zero::Running => Self::Running,
            Zero::Fixed => Self::Fixed,
            Zero::Machine => Self::Machine,
        }
    }
}

/// What the arguments and the file ask for, every number read.
#[derive(Debug)]
pub(crate) struct PlaneRequest {
    /// Way of touching off.
    pub mode: ZeroMode,
    /// Touches in order.
    pub touches: Vec<Named>,
    /// The closing reading, in the mode's own column.
    pub closing: Option<Length>,
    /// Height of the lowest point over the last plane; not below nought.
    pub clearance: Length,
    /// How far the columns may differ.
    pub tolerance: Length,
    /// What binds the passes.
    pub limits: Limits,
    /// The unit system shown first.
    pub system: UnitSystem,
    /// What was told of cutter, machine and plate.
    pub told: KnownFacts,
    /// Places by point.
    pub places: PointPlaces,
    /// What is asked of the plate between the touches.
    pub land: MapRequest,
}

/// What is asked of the plate between the touches.
#[derive(Debug)]
pub(crate) struct MapRequest {
    /// The plate's size.
    pub size: Option<[Length; 2]>,
    /// The cutter's diameter.
    pub cutter: Option<Length>,
    /// The plane that the map is for.
    pub plane: Option<Length>,
    /// How far a touch may be off.
    pub touch: UncertaintyKind,
    /// How far the plane may be off, where somebody says.
    pub shared: Option<UncertaintyKind>,
    /// What setting Z adds otherwise, but for the drift.
    pub setting: ZSetting,
    /// How far the old surface waves, where somebody says.
    pub waviness: Option<Length>,
    /// Whether the doubt of a touch is what is usual, since nobody said another.
    pub assumed: bool,
}

impl MapRequest {
    /// What is not known of the heights, with the drift that was found.
    pub(super) fn doubt(&self, drift: Option<Length>) -> HeightUncertainty {
        let setting = ZSetting {
            drift,
            ..self.setting
        };
        HeightUncertainty {
            touch: self.touch,
            shared: self.shared.unwrap_or(UncertaintyKind::ZSetting(setting)),
        }
    }
}

impl PlaneArgs {
    /// Reads every number, from standard input where `-` stands for the file.
    pub(crate) fn checked(&self) -> Result<PlaneRequest, Failure> {
        let unit = self.unit;
        let optional = |flag: &str, text: &Option<String>| {
            let text = text.as_deref();
            text.map(|t| length(t, unit, flag)).transpose()
        };
        let told = self.facts.setting(unit)?;
        let max_bite = optional("--max-bite", &self.max_bite)?.or(told.deepest);
        let finish = optional("--finish", &self.finish)?;
        told.hold_bites(max_bite, finish, unit.unwrap_or(UnitSystem::Mm))?;
        let none = "give the depth that cutter and machine can take";
        let limits = Limits {
            max_bite: max_bite.ok_or_else(|| Failure::at("--max-bite", none))?,
            finish,
            step: optional("--step", &self.step)?.or(told.readout_step),
        };
        sense::of_limits(&limits)?;
        let not_below = |flag: &str, text: &str| {
            let read = length(text, unit, flag)?;
            if read < Length::ZERO {
                let what = "must not be below 0; give it without a minus sign";
                return Err(Failure::at(format!("{flag} {text}"), what));
            }
            Ok(read)
        };
        let mode = ZeroMode::from(self.zero);
        let touches = match &self.file {
            Some(name) => readings::from_file(name, mode, unit)?,
            None => readings::from_flags(&self.touches, &self.machines, unit)?,
        };
        if touches.is_empty() {
            let place = self
                .file
                .as_deref()
                .map_or("--touch".to_owned(), |f| files::shown(Path::new(f)));
            let what = "no readings; give each touch as --touch P1=0, or a file of them";
            return Err(Failure::at(place, what));
        }
        let mut places = PointPlaces::default();
        for named in &touches {
            if let Some(at) = named.at {
                places.set(&named.point, at, &named.place)?;
            }
        }
        for text in &self.places {
            places::from_flag(text, unit, &mut places)?;
        }
        let size = self
            .size
            .as_deref()
            .map(|t| places::pair(t, unit, "--size"));
        let size = size.transpose()?;
        if size.is_some_and(|s| s.iter().any(|l| *l <= Length::ZERO)) {
            return Err(Failure::at(
                "--size",
                "both sizes must be above 0; is one left out?",
            ));
        }
        let bound = if self.expanded {
            UncertaintyKind::Twice
        } else {
            UncertaintyKind::Limits
        };
        let perhaps = |flag: &str, text: &Option<String>| {
            let text = text.as_deref();
            text.map(|t| not_below(flag, t)).transpose()
        };
        let touch = not_below("--touch-within", &self.touch_within)?;
        let land = MapRequest {
            size,
            cutter: told.setting.diameter.and_then(Length::nearest),
            plane: optional("--plane", &self.plane)?,
            touch: bound(touch),
            shared: perhaps("--shared-within", &self.shared_within)?.map(bound),
            setting: ZSetting {
                jog: touch,
                readout: limits.step.unwrap_or(touch),
                drift: None,
                offsets: told.offsets,
            },
            waviness: perhaps("--waviness", &self.waviness)?.or(told.waviness),
            assumed: self.touch_within == TOUCH_WITHIN,
        };
        Ok(PlaneRequest {
            places,
            land,
            mode,
            touches,
            closing: optional("--closing", &self.closing)?,
            clearance: not_below("--clearance", &self.clearance)?,
            tolerance: not_below("--tolerance", &self.tolerance)?,
            limits,
            told,
            system: unit.unwrap_or(UnitSystem::Mm),
        })
    }
}

/// Reads a length as typed at `place`; a bare number other than nought needs the unit flag.
/// One finer than a tenth of a nanometre, as a script writes it, is rounded to that.
pub(super) fn length(text: &str, unit: Option<UnitSystem>, place: &str) -> Result<Length, Failure> {
    rounded(text, unit, place).map(|(length, _)| length)
}

/// The same, and whether it was rounded.
pub(super) fn rounded(
    text: &str,
    unit: Option<UnitSystem>,
    place: &str,
) -> Result<(Length, bool), Failure> {
    let at = || {
        if place.starts_with("--") && !place.contains(' ') {
            format!("{place} {text}")
        } else {
            place.to_owned()
        }
    };
    let system = unit.unwrap_or(UnitSystem::Mm);
    let (typed, was_rounded) = parse::rounded(text, &system.length(), DecimalMark::Point)
        .map_err(|e| Failure::at(at(), format!("`{text}`: {e}")))?;
    if typed.bare && unit.is_none() && !typed.quantity.amount.is_zero() {
        let what = format!(
            "`{text}` has no unit; add one (`{text} mm`, `{text} in`), or give --unit mm or --unit in for all"
        );
        return Err(Failure::at(at(), what));
    }
    let length = Length::exactly(typed.quantity).ok_or_else(|| {
        let what = format!("`{text}` is beyond 100 m; is the unit right?");
        Failure::at(at(), what)
    })?;
    Ok((length, was_rounded))
}
