//! The control: carries out the blocks, each in the order of execution of RS-274 (NISTIR 6556, 3.8).

use super::block::Block;
use super::codes::Group;
use super::cycle::CycleWords;
use super::decode::{Decoded, XYZ, bit, fault};
use super::dialect::Dialect;
use super::expr::Parameters;
use super::fact::{Cause, StateFact, UnknownReason};
use super::fast_path::FastPath;
use super::fault::FaultKind;
use super::motion::{Coord, FileLocation};
use super::observer::Observer;
use super::program_event::{ProgramEvent, ProgramEventKind};
use super::setting::{Mode, Setting};

/// Where execution continues after a block.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Next {
    /// At the next line.
    On,
    /// Nowhere: the program ended.
    End,
    /// In a subprogram, `times` times.
    Call {
        /// The label of the subprogram.
        label: u32,
        /// How often it is run.
        times: u32,
    },
    /// After the call of the current subprogram.
    Return,
}

/// A control that follows a program: its modal state, and the position of each axis as far as it is known.
pub(crate) struct Machine<'d> {
    pub(super) dialect: &'d Dialect,
    /// The modal state.
    pub setting: Setting,
    pub(super) at: [Coord; 3],
    /// Parameters set by the program.
    pub parameters: Parameters,
    /// The reason why coordinates have no known meaning any more, if so.
    pub(super) lost: Option<Cause>,
    pub(super) absolute_centres: bool,
    pub(super) sticky: CycleWords,
    /// Whether dimensions without and with a decimal point have occurred.
    pub(super) points: [bool; 2],
    pub(super) points_said: bool,
    pub(super) fast_path: Option<FastPath>,
}

/// Whether a motion code claims the axis words that another code of the block uses. A move home is a rapid itself, so
/// G0 in the same block only sets the mode.
fn takes_axis_words(once: Option<u16>, explicit: Option<u16>) -> bool {
    match explicit {
        None | Some(800) => false,
        Some(0) => !matches!(once, Some(280 | 300)),
        Some(_) => true,
    }
}

impl<'d> Machine<'d> {
    /// A control in its start state.
    pub(crate) fn new(dialect: &'d Dialect) -> Self {
        let mut setting = dialect.start.clone();
        setting.shift = [StateFact::Known(0.0); 3];
        Self {
            dialect,
            setting,
            at: [StateFact::Unset; 3],
            parameters: Parameters::default(),
            lost: None,
            absolute_centres: dialect.absolute_centres,
            sticky: CycleWords::default(),
            points: [false; 2],
            points_said: false,
            fast_path: None,
        }
    }

    pub(super) fn report<O: Observer>(
        &self,
        what: ProgramEventKind,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        observer.event(&ProgramEvent {
            what,
            setting: &self.setting,
            at,
        });
    }

    /// Handles a block that cannot be carried out. If only its text or its words are wrong, the position of the axes
    /// and their motion mode become unknown, but no mode that the block does not name. Otherwise everything becomes
    /// unknown until the program sets it again. A full absolute position in known modes makes the position known again.
    pub(crate) fn lose<O: Observer>(
        &mut self,
        why: UnknownReason,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        let cause = Cause { line: at.line, why };
        self.fast_path = None;
        self.at = [StateFact::Unknown(cause); 3];
        self.parameters.forget();
        if matches!(why, UnknownReason::BlockInError | UnknownReason::Unreadable) {
            self.report(ProgramEventKind::Lost(cause), at, observer);
            return;
        }
        self.lose_all(why, at, observer);
    }

    /// Makes everything unknown until the program sets it again.
    pub(super) fn lose_all<O: Observer>(
        &mut self,
        why: UnknownReason,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        let cause = Cause { line: at.line, why };
        self.fast_path = None;
        self.at = [StateFact::Unknown(cause); 3];
        self.parameters.forget();
        self.setting = Setting {
            units: StateFact::Unknown(cause),
            distance: StateFact::Unknown(cause),
            plane: StateFact::Unknown(cause),
            feed_mode: StateFact::Unknown(cause),
            feed: StateFact::Unknown(cause),
            spindle: StateFact::Unknown(cause),
            speed: StateFact::Unknown(cause),
            coolant: StateFact::Unknown(cause),
            tool: StateFact::Unknown(cause),
            chosen_tool: StateFact::Unknown(cause),
            work_offset: StateFact::Unknown(cause),
            length_offset: StateFact::Unknown(cause),
            compensation: StateFact::Unknown(cause),
            path: StateFact::Unknown(cause),
            retract: StateFact::Unknown(cause),
            overrides: StateFact::Unknown(cause),
            mode: self.setting.mode,
            shift: self.setting.shift,
        };
        self.report(ProgramEventKind::Lost(cause), at, observer);
    }

    /// Carries out a block.
    #[inline]
    pub(crate) fn block<O: Observer>(
        &mut self,
        block: &Block,
        at: FileLocation<'_>,
        observer: &mut O,
    ) -> Next {
        if self.run_on_fast_path(block, at, observer) {
            return Next::On;
        }
        if let Some(fast_path) = self.fast_path.take() {
            self.at = fast_path.at.map(StateFact::Known);
        }
        let next = self.word_by_word(block, at, observer);
        self.fast_path = self.fast_path();
        next
    }

    fn word_by_word<O: Observer>(
        &mut self,
        block: &Block,
        at: FileLocation<'_>,
        observer: &mut O,
    ) -> Next {
        if !block.faults.is_empty() {
            self.lexical(block, at, observer);
        }
        let mut decoded = self.decode(block, at, observer);
        let next = self.carry_out(&mut decoded, at, observer);
        let unused = decoded.mask & !decoded.used;
        if unused != 0 {
            self.unused(&decoded, unused, at, observer);
        }
        for (number, value) in &block.assignments {
            self.parameters.set(*number, *value);
        }
        next
    }

    #[cold]
    fn lexical<O: Observer>(&mut self, block: &Block, at: FileLocation<'_>, observer: &mut O) {
        for fault in &block.faults {
            observer.fault(fault, at);
        }
        if block.lost {
            let flow = block
                .faults
                .iter()
                .any(|f| f.kind == FaultKind::FlowControl);
            let why = if flow {
                UnknownReason::FlowControl
            } else {
                UnknownReason::Unreadable
            };
            self.lose(why, at, observer);
        }
    }

    fn carry_out<O: Observer>(
        &mut self,
        decoded: &mut Decoded<'_>,
        at: FileLocation<'_>,
        observer: &mut O,
    ) -> Next {
        if decoded.g_count > 0 {
            self.feed_mode(decoded);
        }
        if decoded.mask & (bit(b'F') | bit(b'S') | bit(b'T')) != 0 {
            self.values(decoded, at, observer);
        }
        if decoded.m_count > 0 {
            self.switches(decoded, at, observer);
        }
        let mut once = None;
        if decoded.g_count > 0 {
            once = decoded.of(Group::Once);
            self.modal(decoded, once, at, observer);
            if let Some(code) = once {
                self.once(code, decoded, at, observer);
            }
        }
        let explicit = decoded.motion_code();
        if let Some(code) = explicit {
            self.setting.mode = match code {
                0 => StateFact::Known(Mode::Rapid),
                10 => StateFact::Known(Mode::Feed),
                20 => StateFact::Known(Mode::Clockwise),
                30 => StateFact::Known(Mode::CounterClockwise),
                800 => StateFact::Known(Mode::Cancelled),
                310 | 380..=389 => {
                    fault(FaultKind::NotFollowed, None, at, observer);
                    let cause = Cause {
                        line: at.line,
                        why: UnknownReason::Probe,
                    };
                    self.at = [StateFact::Unknown(cause); 3];
                    decoded.used |= XYZ;
                    StateFact::Unknown(cause)
                }
                other => StateFact::Known(Mode::Cycle(u8::try_from(other / 10).unwrap_or(0))),
            };
        }
        // A dwell without P counts its X, as in ISO 6983 (from memory).
        let dwells = once == Some(40) && decoded.mask & bit(b'P') == 0;
        let spoken = dwells || matches!(once, Some(100 | 280 | 300 | 920));
        if decoded.axes() && !spoken {
            self.motion(decoded, once == Some(530), at, observer);
        } else if explicit.is_some_and(|c| c != 800) && !spoken {
            self.motion_without_axes(decoded, at, observer);
        } else if spoken && decoded.axes() && !dwells && takes_axis_words(once, explicit) {
            fault(FaultKind::AxisWordsTwice, None, at, observer);
            self.lose(UnknownReason::BlockInError, at, observer);
        }
        if decoded.m_count > 0 {
            return self.stops(decoded, at, observer);
        }
        Next::On
    }
}
