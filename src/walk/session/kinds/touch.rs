//! Asking a series of touches: what to touch, what it reads, what to do with the readout.

use crate::interlock::answer_status::Next;
use crate::interlock::touches::{due, series};
use crate::interlock::touching::{DONE, NextTouch};
use crate::interlock::{Command, Event, Instance};
use crate::plate::{Advice, Reading, ZeroMode};
use crate::procedure::Kind;
use crate::procedure::model::Touch;
use crate::quantity::{Length, Unit};
use crate::report::page::{Page, Tone};
use crate::terminal::prompt::{QuestionPart, Taken};
use crate::walk::error::WalkError;
use crate::walk::prompts::Prompted;
use crate::walk::session::Session;
use crate::walk::session::kinds::touch_line::{AGAIN, EXTRA, TAKE_BACK, TouchInput, columns};
use crate::walk::store::commit::Committed;
use std::ops::ControlFlow;

impl Session<'_> {
    /// Asks every touch of a series, then records what it says. Gone back to, the old series stays until the first new
    /// touch.
    pub(crate) fn touch(&mut self, at: &Instance, touch: &Touch) -> Prompted<()> {
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
                return Ok(());
            }
            begun = true;
            let next = due(&self.state, at).map_err(|r| fault(r, self))?;
            let series = match next {
                NextTouch::Point(point) => self.point(at, touch, mode, Some(&point), false)?,
                NextTouch::Any => self.point(at, touch, mode, None, false)?,
                NextTouch::Closing(point) => self.point(at, touch, mode, Some(&point), true)?,
                NextTouch::Zero(point) => self.zero(at, &point)?,
                NextTouch::Nothing => self.finish(at)?,
            };
            if series.is_break() {
                return Ok(());
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
        let points = if touch.tip_stays {
            format!(
                "Type the name of the place and its reading, such as `{example}`. A new place may have `at 120,80` behind it: to the right and away from the front of the plate's front left corner."
            )
        } else if touch.points.is_empty() {
            format!(
                "Type the point's name and its reading, such as `{example}`; `{DONE}` ends. Where it lies may stand behind it, `at 120,80`: to the right and away from the front, counted from the plate's front left corner, for the map."
            )
        } else {
            format!("Points: {}.", touch.points.join(", "))
        };
        let text = format!(
            "{points} Way of touching: {way}. Plus is up. Also: `{EXTRA} NAME`, `{TAKE_BACK}` takes the last reading back, `{AGAIN}` begins anew."
        );
        if touch.tip_stays {
            return Ok(self.prompter.show(&Page::new().text(points))?);
        }
        Ok(self.prompter.show(&Page::new().text(text))?)
    }

    pub(crate) fn unit(&self) -> Unit {
        self.state.begun.unit.length()
    }

    /// Asks one touch; whether the series goes on.
    fn point(
        &mut self,
        at: &Instance,
        touch: &Touch,
        mode: ZeroMode,
        point: Option<&str>,
        closing: bool,
    ) -> Prompted<ControlFlow<()>> {
        let first = self.state.touching.as_ref().is_none_or(|t| t.at != *at);
        let columns = columns(touch, mode, first && touch.continues.is_none());
        let what = match point {
            Some(p) if closing => format!("Touch {p} again, to close the series."),
            Some(p) => {
                let place = self.state.place_of(p).map_or(String::new(), |at| {
                    format!(
                        ", {}",
                        crate::report::touched_plate::place(at, &self.show())
                    )
                });
                format!("Touch {p}{place}. {}", columns.words())
            }
            None if touch.tip_stays => {
                format!(
                    "Leave the tip on the place. Type its name. {}",
                    columns.words()
                )
            }
            None => format!("Touch a low place. {}", columns.words()),
        };
        self.prompter.show(&Page::new().next(what))?;
        let symbol = self.unit().symbol;
        let prompt = match point {
            Some(p) => format!("{p} in {symbol}"),
            None => format!("point, {symbol}"),
        };
        let part = match point {
            Some(_) if closing => QuestionPart::Other("closing".to_owned()),
            Some(p) => QuestionPart::Point(p.to_owned()),
            None => QuestionPart::Point(String::new()),
        };
        loop {
            let said = self.listen(at, &prompt, &part)?;
            match self.typed(&said, point, columns) {
                Ok(TouchInput::Reading(name, reading, place)) => {
                    if self.read_touch(at, &said, (&name, reading, place), closing)? {
                        return Ok(ControlFlow::Continue(()));
                    }
                }
                Ok(TouchInput::Done) => return self.finish(at),
                Ok(TouchInput::TakeBack) => {
                    match self.commit(&Command::TakeBack { at: at.clone() })? {
                        Committed::Stored(_) => {
                            self.prompter.show(
                                &Page::new().toned(Tone::Look, "The last reading is taken back."),
                            )?;
                            return Ok(ControlFlow::Continue(()));
                        }
                        Committed::Refused(r) => self.refuse(at, &said, &r.words(&self.show()))?,
                    }
                }
                Ok(TouchInput::Again) => {
                    self.must_commit(&Command::RestartTouches { at: at.clone() })?;
                    self.prompter
                        .show(&Page::new().toned(Tone::Look, "The series begins anew."))?;
                    return Ok(ControlFlow::Continue(()));
                }
                Err(why) => self.refuse(at, &said, &why)?,
            }
        }
    }

    /// Records one reading and says what to do; whether it was taken.
    fn read_touch(
        &mut self,
        at: &Instance,
        said: &str,
        (point, reading, place): (&str, Reading, Option<[Length; 2]>),
        closing: bool,
    ) -> Prompted<bool> {
        let command = |accept| Command::Touch {
            at: at.clone(),
            point: point.to_owned(),
            reading,
            closing,
            place,
            accept,
        };
        let taken = self.give(at, said, command)?;
        if taken {
            self.advise()?;
        }
        Ok(taken)
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
        Ok(self.prompter.show(&page)?)
    }

    /// The readout is to be zeroed, and read.
    fn zero(&mut self, at: &Instance, point: &str) -> Prompted<ControlFlow<()>> {
        let page = Page::new().next(format!(
            "{point} is lower: zero the Z readout here, tip on {point}. Then type what it shows."
        ));
        self.prompter.show(&page)?;
        let unit = self.unit();
        let prompt = format!("shows now, {}", unit.symbol);
        loop {
            let part = QuestionPart::Zeroed(point.to_owned());
            let said = self.listen(at, &prompt, &part)?;
            if said == TAKE_BACK {
                match self.commit(&Command::TakeBack { at: at.clone() })? {
                    Committed::Stored(_) => return Ok(ControlFlow::Continue(())),
                    Committed::Refused(r) => self.refuse(at, &said, &r.words(&self.show()))?,
                }
                continue;
            }
            let shows = match self.reads(&said, &unit) {
                Ok(shows) => shows,
                Err(why) => {
                    self.refuse(at, &said, &why)?;
                    continue;
                }
            };
            let command = Command::Zeroed {
                at: at.clone(),
                shows,
            };
            match self.commit(&command)? {
                Committed::Stored(events) => {
                    self.prompter.taken(Taken::Recorded(&events))?;
                    return Ok(ControlFlow::Continue(()));
                }
                Committed::Refused(r) => self.refuse(at, &said, &r.words(&self.show()))?,
            }
        }
    }

    /// Records what the series says and shows it whole; the series ends.
    fn finish(&mut self, at: &Instance) -> Prompted<ControlFlow<()>> {
        match self.commit(&Command::FinishTouches { at: at.clone() })? {
            Committed::Stored(events) => {
                self.prompter.taken(Taken::Otherwise)?;
                let named = matches!(self.state.step(at).map(|s| &s.kind), Some(Kind::Touch(t)) if t.points.is_empty());
                let page = crate::report::touches::summary(&events, &self.show(), named);
                self.prompter.show(&page)?;
                let fell: Vec<Event> = events
                    .into_iter()
                    .filter(|e| matches!(e, Event::Voided { .. }))
                    .collect();
                self.prompter
                    .show(&crate::report::words::recorded(&fell, "", &self.state))?;
            }
            Committed::Refused(r) => self.refuse(at, DONE, &r.words(&self.show()))?,
        }
        Ok(ControlFlow::Break(()))
    }
}
