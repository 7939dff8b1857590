//! Asking a series of touches: what to touch, what it reads, what to do with the readout.

use super::error::WalkError;
use super::listen::Heard;
use super::session::{Flow, Session};
use super::touch_line::{AGAIN, EXTRA, TAKE_BACK, Typed, columns};
use crate::desk::{Part, Taken};
use crate::interlock::standing::Next;
use crate::interlock::touches::{due, series};
use crate::interlock::touching::{DONE, Due};
use crate::interlock::{Command, Event, Instance};
use crate::plate::{Advice, Reading, ZeroMode};
use crate::procedure::Kind;
use crate::procedure::model::Touch;
use crate::quantity::parse::quantity;
use crate::quantity::{Length, Unit};
use crate::report::page::{Page, Tone};

/// What became of one reading.
enum Read {
    Taken,
    Refused,
    /// The question ends otherwise.
    Ends(Flow),
}

impl Session<'_> {
    /// Asks every touch of a series, then records what it says. Gone back to, the old series stays until the first new
    /// touch.
    pub(super) fn touch(&mut self, at: &Instance, touch: &Touch) -> Result<Flow, WalkError> {
        let fault = |r: crate::interlock::Refusal, s: &Self| WalkError::Fault(r.words(&s.show()));
        let mode = series(&self.state, at).map_err(|r| fault(r, self))?.mode();
        self.introduce(touch, mode)?;
        let mut begun = false;
        loop {
            // Something that lapsed during a long series is asked before it goes on.
            let now = self.now();
            if begun
                && !self.state.answers.contains_key(at)
                && !matches!(self.state.next(now), Next::Ask(of, _) if of == *at)
            {
                return Ok(Flow::Next);
            }
            begun = true;
            let next = due(&self.state, at).map_err(|r| fault(r, self))?;
            let ends = match next {
                Due::Point(point) => self.point(at, touch, mode, Some(&point), false)?,
                Due::Any => self.point(at, touch, mode, None, false)?,
                Due::Closing(point) => self.point(at, touch, mode, Some(&point), true)?,
                Due::Zero(point) => self.zero(at, &point)?,
                Due::Nothing => Some(self.finish(at)?),
            };
            if let Some(flow) = ends {
                return Ok(flow);
            }
        }
    }

    fn introduce(&mut self, touch: &Touch, mode: ZeroMode) -> Result<(), WalkError> {
        let way = match mode {
            ZeroMode::Running => {
                "zero the readout at the first point, and again wherever a point is lower"
            }
            ZeroMode::Fixed if touch.continues.is_some() => "leave the readout's zero as it is",
            ZeroMode::Fixed => "zero the readout at the first point, then leave it alone",
            ZeroMode::Machine => {
                "read machine Z at every point; zero the work readout at the first"
            }
        };
        let example = columns(touch, mode, false).example();
        let points = if touch.points.is_empty() {
            format!(
                "Type the point's name and its reading, such as `{example}`; `{DONE}` ends. Where it lies may stand behind it, `at 120,80`: to the right and away from the front, counted from the plate's front left corner, for the map."
            )
        } else {
            format!("Points: {}.", touch.points.join(", "))
        };
        let text = format!(
            "{points} Way of touching: {way}. Plus is up. Also: `{EXTRA} NAME`, `{TAKE_BACK}` takes the last reading back, `{AGAIN}` begins anew."
        );
        Ok(self.desk.show(&Page::new().text(text))?)
    }

    pub(super) fn unit(&self) -> Unit {
        self.state.begun.unit.length()
    }

    /// Asks one touch. `None` when the series goes on.
    fn point(
        &mut self,
        at: &Instance,
        touch: &Touch,
        mode: ZeroMode,
        point: Option<&str>,
        closing: bool,
    ) -> Result<Option<Flow>, WalkError> {
        let first = self.state.touching.as_ref().is_none_or(|t| t.at != *at);
        let columns = columns(touch, mode, first && touch.continues.is_none());
        let what = match point {
            Some(p) if closing => format!("Touch {p} again, to close the series."),
            Some(p) => {
                let place = self.state.place_of(p).map_or(String::new(), |at| {
                    format!(", {}", crate::report::land::place(at, &self.show()))
                });
                format!("Touch {p}{place}. {}", columns.words())
            }
            None => format!("Touch a low place. {}", columns.words()),
        };
        self.desk.show(&Page::new().next(what))?;
        let symbol = self.unit().symbol;
        let prompt = match point {
            Some(p) => format!("{p} in {symbol}"),
            None => format!("point, {symbol}"),
        };
        let part = match point {
            Some(_) if closing => Part::Other("closing".to_owned()),
            Some(p) => Part::Point(p.to_owned()),
            None => Part::Point(String::new()),
        };
        loop {
            let said = match self.answer_or_keep(at, &prompt, &part)? {
                Heard::Said(said) => said,
                Heard::Flow(flow) => return Ok(Some(flow)),
            };
            match self.typed(&said, point, columns) {
                Ok(Typed::Reading(name, reading, place)) => {
                    match self.read_touch(at, &said, (&name, reading, place), closing)? {
                        Read::Refused => {}
                        Read::Taken => return Ok(None),
                        Read::Ends(flow) => return Ok(Some(flow)),
                    }
                }
                Ok(Typed::Done) => return self.finish(at).map(Some),
                Ok(Typed::TakeBack) => match self.carry(&Command::TakeBack { at: at.clone() })? {
                    Ok(_) => {
                        self.desk.show(
                            &Page::new().toned(Tone::Look, "The last reading is taken back."),
                        )?;
                        return Ok(None);
                    }
                    Err(r) => self.refuse(at, &said, &r.words(&self.show()))?,
                },
                Ok(Typed::Again) => {
                    self.must_carry(&Command::RestartTouches { at: at.clone() })?;
                    self.desk
                        .show(&Page::new().toned(Tone::Look, "The series begins anew."))?;
                    return Ok(None);
                }
                Err(why) => self.refuse(at, &said, &why)?,
            }
        }
    }

    /// Records one reading and says what to do.
    fn read_touch(
        &mut self,
        at: &Instance,
        said: &str,
        (point, reading, place): (&str, Reading, Option<[Length; 2]>),
        closing: bool,
    ) -> Result<Read, WalkError> {
        let command = |accept| Command::Touch {
            at: at.clone(),
            point: point.to_owned(),
            reading,
            closing,
            place,
            accept,
        };
        match self.give_command(at, said, command)? {
            None => Ok(Read::Refused),
            Some(Flow::Leave(left)) => Ok(Read::Ends(Flow::Leave(left))),
            // Gone back, or handed over, from the question for a reason.
            Some(Flow::Next) if self.back_to.is_some() => Ok(Read::Ends(Flow::Next)),
            Some(Flow::Next) => {
                self.advise()?;
                Ok(Read::Taken)
            }
        }
    }

    /// The height just read, and what to do with the readout.
    fn advise(&mut self) -> Result<(), WalkError> {
        let show = self.show();
        let Some(last) = self
            .state
            .touching
            .as_ref()
            .and_then(|t| t.series().last().cloned())
        else {
            return Ok(());
        };
        let mut page = Page::new().working(last.working(&show).lines().iter().cloned());
        if last.advice == Advice::Leave && !last.closing {
            page = page.toned(Tone::Quiet, "Leave the readout as it is.");
        }
        Ok(self.desk.show(&page)?)
    }

    /// The readout is to be zeroed, and read.
    fn zero(&mut self, at: &Instance, point: &str) -> Result<Option<Flow>, WalkError> {
        let page = Page::new().next(format!(
            "{point} is lower: zero the Z readout here, tip on {point}. Then type what it shows."
        ));
        self.desk.show(&page)?;
        let unit = self.unit();
        let prompt = format!("shows now, {}", unit.symbol);
        loop {
            let part = Part::Zeroed(point.to_owned());
            let said = match self.answer_or_keep(at, &prompt, &part)? {
                Heard::Said(said) => said,
                Heard::Flow(flow) => return Ok(Some(flow)),
            };
            if said == TAKE_BACK {
                match self.carry(&Command::TakeBack { at: at.clone() })? {
                    Ok(_) => return Ok(None),
                    Err(r) => self.refuse(at, &said, &r.words(&self.show()))?,
                }
                continue;
            }
            let shows = match quantity(&said, &unit, self.state.procedure.decimal) {
                Ok(typed) => typed.quantity,
                Err(e) => {
                    self.refuse(at, &said, &e.to_string())?;
                    continue;
                }
            };
            let command = Command::Zeroed {
                at: at.clone(),
                shows,
            };
            match self.carry(&command)? {
                Ok(events) => {
                    self.desk.taken(Taken::Recorded(&events))?;
                    return Ok(None);
                }
                Err(r) => self.refuse(at, &said, &r.words(&self.show()))?,
            }
        }
    }

    /// Records what the series says and shows it whole.
    fn finish(&mut self, at: &Instance) -> Result<Flow, WalkError> {
        match self.carry(&Command::FinishTouches { at: at.clone() })? {
            Ok(events) => {
                self.desk.taken(Taken::Otherwise)?;
                let named = matches!(self.state.step(at).map(|s| &s.kind), Some(Kind::Touch(t)) if t.points.is_empty());
                let page = crate::report::touches::summary(&events, &self.show(), named);
                self.desk.show(&page)?;
                let fell: Vec<Event> = events
                    .into_iter()
                    .filter(|e| matches!(e, Event::Voided { .. }))
                    .collect();
                self.desk
                    .show(&crate::report::words::recorded(&fell, &self.state))?;
                Ok(Flow::Next)
            }
            Err(r) => {
                self.refuse(at, DONE, &r.words(&self.show()))?;
                Ok(Flow::Next)
            }
        }
    }
}
