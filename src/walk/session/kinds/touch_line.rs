//! What is typed for one touch: a reading in one column or two, the point's name where the operator names it, and where
//! it lies on the plate.

use crate::interlock::touching::DONE;
use crate::plate::{Reading, ZeroMode};
use crate::procedure::model::Touch;
use crate::quantity::Length;
use crate::quantity::parse::{quantity, rounded};
use crate::walk::session::Session;

/// Words that work while a series is read.
pub(crate) const TAKE_BACK: &str = "fix";
pub(crate) const AGAIN: &str = "again";
pub(crate) const EXTRA: &str = "extra";
/// Between a reading and the point's place on the plate.
const AT: &str = " at ";

/// What was typed for one touch.
pub(crate) enum TouchInput {
    Reading(String, Reading, Option<[Length; 2]>),
    Done,
    TakeBack,
    Again,
}

impl Session<'_> {
    /// Reads one line of a series. An error says why it cannot be read.
    pub(crate) fn typed(
        &self,
        said: &str,
        point: Option<&str>,
        columns: TouchColumns,
    ) -> Result<TouchInput, String> {
        match (said, point) {
            (TAKE_BACK, _) => return Ok(TouchInput::TakeBack),
            (AGAIN, _) => return Ok(TouchInput::Again),
            (DONE, None) => return Ok(TouchInput::Done),
            _ => {}
        }
        let extra = said.strip_prefix(EXTRA).filter(|r| r.starts_with(' '));
        let (name, values) = match (extra.map(str::trim), point) {
            (Some(rest), _) => split_name(rest, columns)?,
            (None, Some(point)) => (point, said),
            (None, None) => split_name(said, columns)?,
        };
        let (values, place) = match values.split_once(AT) {
            Some((values, place)) => (values.trim(), Some(place)),
            None => (values, None),
        };
        let length = |text: &str| -> Result<Length, String> {
            let typed = quantity(text.trim(), &self.unit(), self.state.procedure.decimal)
                .map_err(|e| e.to_string())?;
            Length::exactly(typed.quantity).ok_or_else(|| "beyond 100 m".to_owned())
        };
        // A place may be what a script worked out, with more decimals than a length is stored with.
        let coordinate = |text: &str| -> Result<Length, String> {
            let (typed, _) = rounded(text.trim(), &self.unit(), self.state.procedure.decimal)
                .map_err(|e| e.to_string())?;
            Length::nearest(typed.quantity).ok_or_else(|| "beyond 100 m".to_owned())
        };
        let place = place.map(|text| {
            // With a decimal comma the two are parted by a semicolon.
            let pair = text.split_once(';').or_else(|| text.split_once(','));
            let (x, y) = pair.ok_or_else(|| {
                format!("`{text}` is no place; type two lengths from the front left corner, such as `at 120,80`")
            })?;
            Ok::<_, String>([coordinate(x)?, coordinate(y)?])
        });
        let place = place.transpose()?;
        let reading = match (columns, values.split_once(';')) {
            (TouchColumns::Both, Some((readout, machine))) => Reading {
                readout: Some(length(readout)?),
                machine: Some(length(machine)?),
            },
            (TouchColumns::Both, None) => {
                return Err(
                    "two values are asked for, the work readout and machine Z, with a ; between"
                        .to_owned(),
                );
            }
            (_, Some(_)) => return Err("one value is asked for".to_owned()),
            (TouchColumns::Readout, None) => Reading {
                readout: Some(length(values)?),
                machine: None,
            },
            (TouchColumns::Machine, None) => Reading {
                readout: None,
                machine: Some(length(values)?),
            },
        };
        Ok(TouchInput::Reading(name.to_owned(), reading, place))
    }
}

/// Which columns are read at a touch.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum TouchColumns {
    Readout,
    Machine,
    Both,
}

impl TouchColumns {
    /// What is to be typed.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Readout => "Type what the work readout shows for Z.",
            Self::Machine => "Type machine Z.",
            Self::Both => {
                "Type what the work readout shows for Z, then machine Z, with a ; between."
            }
        }
    }

    /// A named point with its reading, as it may be typed.
    pub(crate) fn example(self) -> &'static str {
        match self {
            Self::Readout => "L1 -0.07",
            Self::Machine => "L1 -151.64",
            Self::Both => "L1 -0.07; -151.64",
        }
    }
}

/// The first touch of a machine-coordinate series places the work readout too: it is zeroed there.
pub(crate) fn columns(touch: &Touch, mode: ZeroMode, first: bool) -> TouchColumns {
    match mode {
        ZeroMode::Machine if first => TouchColumns::Both,
        ZeroMode::Machine => TouchColumns::Machine,
        _ if touch.machine_readings => TouchColumns::Both,
        _ => TouchColumns::Readout,
    }
}

fn split_name(text: &str, columns: TouchColumns) -> Result<(&str, &str), String> {
    text.split_once(char::is_whitespace)
        .map(|(name, rest)| (name, rest.trim()))
        .filter(|(name, rest)| {
            !name.is_empty() && !rest.is_empty() && name.starts_with(|c: char| c.is_alphabetic())
        })
        .ok_or_else(|| {
            format!(
                "type the point's name and its reading, such as `{}`",
                columns.example()
            )
        })
}
