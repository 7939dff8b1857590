//! Codes that act in their block only: written offsets, shifts, stops, calls and the end.

use super::decode::{AXES, Decoded, XYZ, bit, fault};
use super::fact::{Cause, StateFact, UnknownReason};
use super::fault::FaultKind;
use super::machine::{Machine, Next};
use super::motion::FileLocation;
use super::observer::Observer;
use super::program_event::ProgramEventKind;

impl Machine<'_> {
    pub(super) fn once<O: Observer>(
        &mut self,
        code: u16,
        decoded: &mut Decoded<'_>,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        match code {
            100 => {
                // L names the kind; in every case the program writes an offset.
                decoded.used |= decoded.mask & (XYZ | bit(b'L') | bit(b'P') | bit(b'R'));
                let cause = Cause {
                    line: at.line,
                    why: UnknownReason::Shift,
                };
                // L1, L10 and L11 write the tool table (from memory).
                let kind = decoded.word(b'L').and_then(|l| l.value.whole());
                let tool = matches!(kind, Some(1 | 10 | 11));
                if tool {
                    self.at[2] = StateFact::Unknown(cause);
                } else {
                    self.at = [StateFact::Unknown(cause); 3];
                }
                let what = if tool {
                    ProgramEventKind::ToolWritten
                } else {
                    ProgramEventKind::OffsetWritten
                };
                self.report(what, at, observer);
            }
            280 | 300 => self.home(decoded, at, observer),
            920..=923 => self.shift(code, decoded, at, observer),
            _ => {}
        }
    }

    fn shift<O: Observer>(
        &mut self,
        code: u16,
        decoded: &mut Decoded<'_>,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        let cause = Cause {
            line: at.line,
            why: UnknownReason::Shift,
        };
        match code {
            920 => {
                if !decoded.axes() {
                    fault(FaultKind::MissingWord, None, at, observer);
                }
                for (axis, letter) in AXES.into_iter().enumerate() {
                    let Some(word) = decoded.take(letter) else {
                        continue;
                    };
                    // From here on the current position of the axis has the given number as its coordinate.
                    let given = self.length(&word, at.line).known();
                    let here = self.at.get(axis).and_then(|c| c.known());
                    if let Some(shift) = self.setting.shift.get_mut(axis) {
                        *shift = here
                            .zip(given)
                            .map_or(StateFact::Unknown(cause), |(here, given)| {
                                StateFact::Known(here - given)
                            });
                    }
                }
            }
            // G92.3 restores a shift that is unknown here.
            923 => self.setting.shift = [StateFact::Unknown(cause); 3],
            _ => self.setting.shift = [StateFact::Known(0.0); 3],
        }
        self.report(ProgramEventKind::Shift, at, observer);
    }

    pub(super) fn stops<O: Observer>(
        &mut self,
        decoded: &mut Decoded<'_>,
        at: FileLocation<'_>,
        observer: &mut O,
    ) -> Next {
        if decoded.has_m(0) || decoded.has_m(60) {
            self.report(ProgramEventKind::Stop, at, observer);
        }
        if decoded.has_m(1) {
            self.report(ProgramEventKind::OptionalStop, at, observer);
        }
        for (code, number) in [(2, 2_u8), (30, 30)] {
            if decoded.has_m(code) {
                self.report(ProgramEventKind::End(number), at, observer);
                return Next::End;
            }
        }
        if decoded.has_m(99) {
            return Next::Return;
        }
        if decoded.has_m(98) {
            let label = decoded.take(b'P').and_then(|p| p.value.whole());
            let times = decoded.take(b'L').map_or(Some(1), |l| l.value.whole());
            return match label.zip(times) {
                // On some controls a longer number holds the count as well.
                Some((label, times)) if label <= 9999 => {
                    self.report(ProgramEventKind::Call(label), at, observer);
                    Next::Call { label, times }
                }
                _ => {
                    fault(FaultKind::BadValue, None, at, observer);
                    self.lose(UnknownReason::FlowControl, at, observer);
                    Next::On
                }
            };
        }
        Next::On
    }
}
