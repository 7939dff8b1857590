//! Modal codes, which stay active until another of their group: modes, values, switches and offsets.

use super::codes::Group;
use super::decode::{Decoded, bit, fault};
use super::fact::{Cause, StateFact, UnknownReason};
use super::fault::FaultKind;
use super::machine::Machine;
use super::motion::FileLocation;
use super::observer::Observer;
use super::program_event::ProgramEventKind;
use super::setting::{
    Compensation, Coolant, Distance, FeedMode, LengthOffset, PathMode, Plane, Retract, Spindle,
    Units, WorkOffset,
};

impl Machine<'_> {
    pub(super) fn feed_mode(&mut self, decoded: &Decoded<'_>) {
        if let Some(code) = decoded.of(Group::FeedMode) {
            let mode = match code {
                930 => FeedMode::InverseTime,
                940 => FeedMode::PerMinute,
                _ => FeedMode::PerTurn,
            };
            // An F word set in another feed mode has no meaning in this one.
            if self.setting.feed_mode.known().is_some_and(|m| m != mode) {
                self.setting.feed = StateFact::Unset;
            }
            self.setting.feed_mode = StateFact::Known(mode);
        }
    }

    pub(super) fn values<O: Observer>(
        &mut self,
        decoded: &mut Decoded<'_>,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        let unknown = |why| Cause { line: at.line, why };
        if let Some(word) = decoded.take(b'F') {
            self.setting.feed = match word.value.real() {
                None => StateFact::Unknown(unknown(UnknownReason::Parameter)),
                Some(value) => match (self.setting.feed_mode, self.setting.units) {
                    (StateFact::Known(FeedMode::InverseTime), _) => StateFact::Known(value),
                    (_, StateFact::Known(units)) => StateFact::Known(value * units.mm()),
                    (_, StateFact::Unset) => StateFact::Unknown(unknown(UnknownReason::Units)),
                    (_, StateFact::Unknown(cause)) => StateFact::Unknown(cause),
                },
            };
            self.report(ProgramEventKind::Feed(self.setting.feed), at, observer);
        }
        if let Some(word) = decoded.take(b'S') {
            self.setting.speed = word.value.real().map_or(
                StateFact::Unknown(unknown(UnknownReason::Parameter)),
                StateFact::Known,
            );
            if self.setting.speed.known().is_some_and(|s| s < 0.0) {
                fault(FaultKind::BadValue, Some(&word), at, observer);
            }
            self.report(ProgramEventKind::Speed(self.setting.speed), at, observer);
        }
        if let Some(word) = decoded.take(b'T') {
            let tool = word.value.whole();
            if tool.is_none() {
                fault(FaultKind::BadValue, Some(&word), at, observer);
            }
            self.setting.chosen_tool = tool.map_or(
                StateFact::Unknown(unknown(UnknownReason::Parameter)),
                StateFact::Known,
            );
            self.report(
                ProgramEventKind::ChosenTool(self.setting.chosen_tool),
                at,
                observer,
            );
        }
    }

    pub(super) fn switches<O: Observer>(
        &mut self,
        decoded: &Decoded<'_>,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        if decoded.has_m(6) {
            let before = self.setting.tool;
            self.setting.tool = self.setting.chosen_tool;
            self.setting.spindle = StateFact::Known(Spindle::Stopped);
            let cause = Cause {
                line: at.line,
                why: UnknownReason::ToolChange,
            };
            // The position before the tool change no longer counts: the change may have moved the axes.
            self.at = [StateFact::Unknown(cause); 3];
            self.report(
                ProgramEventKind::ToolChange(self.setting.tool, before),
                at,
                observer,
            );
        }
        for code in decoded.m() {
            let spindle = match code {
                3 => Spindle::Clockwise,
                4 => Spindle::CounterClockwise,
                5 => Spindle::Stopped,
                _ => continue,
            };
            self.setting.spindle = StateFact::Known(spindle);
            self.report(ProgramEventKind::Spindle(spindle), at, observer);
        }
        let mut coolant = self.setting.coolant.known().unwrap_or_default();
        let mut said = false;
        for code in decoded.m() {
            match code {
                7 => coolant.mist = true,
                8 => coolant.flood = true,
                9 => coolant = Coolant::default(),
                _ => continue,
            }
            said = true;
        }
        if said {
            self.setting.coolant = StateFact::Known(coolant);
            self.report(ProgramEventKind::Coolant(coolant), at, observer);
        }
        for (code, on) in [(48, true), (49, false)] {
            if decoded.has_m(code) {
                self.setting.overrides = StateFact::Known(on);
                self.report(ProgramEventKind::Overrides(on), at, observer);
            }
        }
    }

    pub(super) fn modal<O: Observer>(
        &mut self,
        decoded: &mut Decoded<'_>,
        once: Option<u16>,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        if once == Some(40) {
            self.dwell(decoded, at, observer);
        }
        if let Some(code) = decoded.of(Group::Plane) {
            let plane = match code {
                170 => Plane::Xy,
                180 => Plane::Zx,
                _ => Plane::Yz,
            };
            self.setting.plane = StateFact::Known(plane);
            self.report(ProgramEventKind::Plane(plane), at, observer);
        }
        if let Some(code) = decoded.of(Group::Units) {
            let units = if matches!(code, 200 | 700) {
                Units::Inch
            } else {
                Units::Millimetre
            };
            self.setting.units = StateFact::Known(units);
            self.report(ProgramEventKind::Units(units), at, observer);
        }
        if let Some(code) = decoded.of(Group::Compensation) {
            let side = match code {
                400 => Compensation::Off,
                410 => Compensation::Left,
                _ => Compensation::Right,
            };
            if side != Compensation::Off {
                fault(FaultKind::NotFollowed, None, at, observer);
            }
            self.setting.compensation = StateFact::Known(side);
            self.report(ProgramEventKind::Compensation(side), at, observer);
        }
        // The number of an offset; it takes effect only under G41 and G42.
        decoded.used |= bit(b'D');
        if let Some(code) = decoded.of(Group::Length) {
            self.length_offset(code, decoded, at, observer);
        }
        if let Some(code) = decoded.of(Group::WorkOffset) {
            self.work_offset(code, at, observer);
        }
        if let Some(code) = decoded.of(Group::Path) {
            let path = match code {
                610 => PathMode::ExactPath,
                611 => PathMode::ExactStop,
                _ => PathMode::Continuous(
                    decoded
                        .take(b'P')
                        .and_then(|p| self.length(&p, at.line).known()),
                ),
            };
            self.setting.path = StateFact::Known(path);
            self.report(ProgramEventKind::Path(path), at, observer);
        }
        if let Some(code) = decoded.of(Group::Distance) {
            self.setting.distance = StateFact::Known(if code == 900 {
                Distance::Absolute
            } else {
                Distance::Incremental
            });
        }
        if let Some(code) = decoded.of(Group::Centres) {
            self.absolute_centres = code == 901;
        }
        if let Some(code) = decoded.of(Group::Retract) {
            self.setting.retract = StateFact::Known(if code == 980 {
                Retract::Start
            } else {
                Retract::R
            });
        }
        if decoded.of(Group::Transform).is_some() {
            fault(FaultKind::NotFollowed, None, at, observer);
            decoded.used |= decoded.mask;
            self.lose(UnknownReason::Transform, at, observer);
            self.lost = self.lost.or(Some(Cause {
                line: at.line,
                why: UnknownReason::Transform,
            }));
        }
        if decoded.of(Group::TransformOff).is_some()
            && self.lost.is_some_and(|c| c.why == UnknownReason::Transform)
        {
            self.lost = None;
        }
        if decoded.of(Group::Macro).is_some() {
            fault(FaultKind::FlowControl, None, at, observer);
            decoded.used |= decoded.mask;
            self.lose(UnknownReason::FlowControl, at, observer);
        }
    }

    fn dwell<O: Observer>(
        &mut self,
        decoded: &mut Decoded<'_>,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        let by_x = decoded.mask & bit(b'P') == 0;
        let word = decoded.take(b'P').or_else(|| decoded.take(b'X'));
        let Some(word) = word.or_else(|| decoded.take(b'U')) else {
            fault(FaultKind::MissingWord, None, at, observer);
            return;
        };
        let seconds = word.value.real().map(|p| {
            if !by_x && self.dialect.dwell_in_milliseconds {
                p / 1000.0
            } else {
                p
            }
        });
        if seconds.is_some_and(|s| s < 0.0) {
            fault(FaultKind::BadValue, Some(&word), at, observer);
        }
        let cause = Cause {
            line: at.line,
            why: UnknownReason::Parameter,
        };
        let fact = seconds.map_or(StateFact::Unknown(cause), StateFact::Known);
        self.report(ProgramEventKind::Dwell(fact), at, observer);
    }

    fn length_offset<O: Observer>(
        &mut self,
        code: u16,
        decoded: &mut Decoded<'_>,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        let cause = Cause {
            line: at.line,
            why: UnknownReason::LengthOffset,
        };
        let before = self.setting.length_offset;
        self.setting.length_offset = match code {
            490 => StateFact::Known(LengthOffset::Cancelled),
            430 => {
                if let Some(word) = decoded.take(b'H') {
                    let number = word.value.whole();
                    if number.is_none() {
                        fault(FaultKind::BadValue, Some(&word), at, observer);
                    }
                    number.map_or(StateFact::Unknown(cause), |n| {
                        StateFact::Known(LengthOffset::Number(n))
                    })
                } else {
                    fault(FaultKind::MissingWord, None, at, observer);
                    StateFact::Unknown(cause)
                }
            }
            _ => {
                decoded.used |= bit(b'H');
                fault(FaultKind::NotFollowed, None, at, observer);
                StateFact::Unknown(cause)
            }
        };
        if before != self.setting.length_offset
            && let Some(z) = self.at.get_mut(2)
            && z.known().is_some()
        {
            *z = StateFact::Unknown(cause);
        }
        if let StateFact::Known(offset) = self.setting.length_offset {
            self.report(ProgramEventKind::LengthOffset(offset), at, observer);
        }
    }

    fn work_offset<O: Observer>(&mut self, code: u16, at: FileLocation<'_>, observer: &mut O) {
        let number = match code {
            590..=593 => code - 590 + 6,
            _ => (code - 540) / 10 + 1,
        };
        let offset = WorkOffset(u8::try_from(number).unwrap_or(1));
        if self.setting.work_offset != StateFact::Known(offset) {
            let cause = Cause {
                line: at.line,
                why: UnknownReason::WorkOffset,
            };
            for axis in &mut self.at {
                if axis.known().is_some() {
                    *axis = StateFact::Unknown(cause);
                }
            }
        }
        self.setting.work_offset = StateFact::Known(offset);
        self.report(ProgramEventKind::WorkOffset(offset), at, observer);
    }
}
