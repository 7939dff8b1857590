//! Motion: straight moves (NISTIR 6556, 3.5.1 and 3.5.2), moves in machine coordinates, and moves home.

use super::arc::Arc;
use super::codes::Group;
use super::decode::{AXES, Decoded, bit, fault};
use super::fact::{Cause, StateFact, UnknownReason};
use super::fault::FaultKind;
use super::machine::Machine;
use super::motion::{Coord, FileLocation, Motion, MotionKind};
use super::observer::Observer;
use super::program_event::ProgramEventKind;
use super::setting::{Distance, FeedMode, Mode};

impl Machine<'_> {
    /// Moves the axes and reports the motion.
    pub(super) fn go<O: Observer>(
        &mut self,
        kind: MotionKind,
        to: [Coord; 3],
        arc: Option<&Arc>,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        let from = self.at;
        self.at = to;
        let mut motion = Motion {
            kind,
            from,
            to,
            arc,
            feed: StateFact::Unset,
            setting: &self.setting,
            at,
        };
        if kind != MotionKind::Rapid {
            motion.feed = match self.setting.feed_mode {
                // A program that never sets the feed mode is taken to use feed per minute; the rule `feed-mode-unset`
                // reports it.
                StateFact::Known(FeedMode::PerMinute) | StateFact::Unset => self.setting.feed,
                StateFact::Known(FeedMode::InverseTime) => match motion.length() {
                    Some(length) => self.setting.feed.map(|f| f * length),
                    None => self.setting.feed.map(|_| f64::NAN),
                },
                StateFact::Known(FeedMode::PerTurn) => match self.setting.speed {
                    StateFact::Known(speed) => self.setting.feed.map(|f| f * speed),
                    other => other,
                },
                StateFact::Unknown(cause) => StateFact::Unknown(cause),
            };
            if motion.feed.known().is_some_and(f64::is_nan) {
                motion.feed = StateFact::Unknown(Cause {
                    line: at.line,
                    why: UnknownReason::Incremental,
                });
            }
        }
        observer.motion(&motion);
    }

    /// Carries out axis words under the active motion mode.
    #[inline]
    pub(super) fn motion<O: Observer>(
        &mut self,
        decoded: &mut Decoded<'_>,
        in_machine: bool,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        if in_machine {
            return self.in_machine(decoded, at, observer);
        }
        match self.setting.mode {
            StateFact::Known(Mode::Rapid) => {
                let to = self.targets(decoded, at.line);
                self.go(MotionKind::Rapid, to, None, at, observer);
            }
            StateFact::Known(Mode::Feed) => {
                // Inverse time needs its F on every line (NISTIR 6556, 3.5.19).
                if self.setting.feed_mode == StateFact::Known(FeedMode::InverseTime)
                    && decoded.mask & bit(b'F') == 0
                {
                    self.setting.feed = StateFact::Unset;
                }
                let to = self.targets(decoded, at.line);
                self.go(MotionKind::Feed, to, None, at, observer);
            }
            StateFact::Known(Mode::Clockwise) => self.circle(decoded, true, at, observer),
            StateFact::Known(Mode::CounterClockwise) => self.circle(decoded, false, at, observer),
            StateFact::Known(Mode::Cycle(number)) => self.cycle(number, decoded, at, observer),
            StateFact::Known(Mode::Cancelled) => {
                self.nowhere(FaultKind::MotionCancelled, decoded, at, observer);
            }
            StateFact::Unset => self.nowhere(FaultKind::NoMotionMode, decoded, at, observer),
            StateFact::Unknown(cause) => {
                let _ = self.targets(decoded, at.line);
                decoded.used |= decoded.mask;
                self.at = [StateFact::Unknown(cause); 3];
            }
        }
    }

    fn nowhere<O: Observer>(
        &mut self,
        kind: FaultKind,
        decoded: &mut Decoded<'_>,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        fault(kind, None, at, observer);
        let cause = Cause {
            line: at.line,
            why: UnknownReason::BlockInError,
        };
        for (letter, place) in AXES.into_iter().zip(&mut self.at) {
            if decoded.mask & bit(letter) != 0 {
                *place = StateFact::Unknown(cause);
            }
        }
        decoded.used |= decoded.mask;
    }

    /// A motion code without axis words: a full circle, a cycle in place, or an error.
    pub(super) fn motion_without_axes<O: Observer>(
        &mut self,
        decoded: &mut Decoded<'_>,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        match self.setting.mode {
            StateFact::Known(Mode::Clockwise | Mode::CounterClockwise)
                if decoded.mask & (bit(b'I') | bit(b'J') | bit(b'K')) != 0 =>
            {
                // RS-274 requires an axis word and refuses the block; controls that accept it make a full circle (from
                // memory).
                let clockwise = self.setting.mode == StateFact::Known(Mode::Clockwise);
                self.circle(decoded, clockwise, at, observer);
            }
            StateFact::Known(Mode::Cycle(_)) => {
                self.nowhere(FaultKind::MissingWord, decoded, at, observer);
            }
            // `G0` or `G1` alone sets the mode and moves nothing; RS-274 calls it an error, controls accept it.
            _ => {}
        }
    }

    /// G53: one move in machine coordinates; the position in the work offset is unknown afterwards.
    fn in_machine<O: Observer>(
        &mut self,
        decoded: &mut Decoded<'_>,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        let kind = match self.setting.mode {
            StateFact::Known(Mode::Rapid) => MotionKind::Rapid,
            StateFact::Known(Mode::Feed) => MotionKind::Feed,
            _ => {
                return self.nowhere(FaultKind::NotAllowed, decoded, at, observer);
            }
        };
        let cause = Cause {
            line: at.line,
            why: UnknownReason::MachineCoordinates,
        };
        let mut to = self.at;
        for (letter, place) in AXES.into_iter().zip(&mut to) {
            if let Some(word) = decoded.take(letter) {
                // Zero in machine coordinates is home.
                let home = word.value.real() == Some(0.0);
                *place = StateFact::Unknown(if home {
                    Cause {
                        why: UnknownReason::Home,
                        ..cause
                    }
                } else {
                    cause
                });
            }
        }
        self.report(ProgramEventKind::MachineMove, at, observer);
        self.go(kind, to, None, at, observer);
    }

    /// G28, G30: a rapid to the programmed point, then the named axes to the reference point (all axes where none is
    /// named).
    pub(super) fn home<O: Observer>(
        &mut self,
        decoded: &mut Decoded<'_>,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        // G30 goes to a second reference point, which may be lower.
        let first = decoded.of(Group::Once) == Some(280);
        let cause = Cause {
            line: at.line,
            why: if first {
                UnknownReason::Home
            } else {
                UnknownReason::MachineCoordinates
            },
        };
        self.report(ProgramEventKind::MachineMove, at, observer);
        if decoded.axes() {
            let to = self.targets(decoded, at.line);
            self.go(MotionKind::Rapid, to, None, at, observer);
        }
        let mut to = self.at;
        for (letter, place) in AXES.into_iter().zip(&mut to) {
            if !decoded.axes() || decoded.mask & bit(letter) != 0 {
                *place = StateFact::Unknown(cause);
            }
        }
        self.go(MotionKind::Rapid, to, None, at, observer);
    }

    /// Whether axis words count from the current position.
    pub(super) fn incremental(&self) -> bool {
        self.setting.distance == StateFact::Known(Distance::Incremental)
    }
}
