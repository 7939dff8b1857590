//! The control: carries out one block after another in the order of execution that RS-274 gives (NISTIR 6556, 3.8).

use super::block::{Block, Word};
use super::codes::{Group, group, m_group};
use super::cycle::Sticky;
use super::dialect::{Dialect, NoPoint};
use super::expr::Parameters;
use super::fact::{Cause, Fact, Why};
use super::fault::{Fault, FaultKind};
use super::happening::{Happening, What};
use super::lane::Lane;
use super::motion::{At, Coord};
use super::observer::Observer;
use super::setting::{
    Compensation, Coolant, Distance, FeedMode, LengthOffset, Mode, PathMode, Plane, Retract,
    Setting, Spindle, Units, WorkOffset,
};

/// Letters that are axes here.
pub(super) const AXES: [u8; 3] = [b'X', b'Y', b'Z'];
const XYZ: u32 = bit(b'X') | bit(b'Y') | bit(b'Z');
/// Letters whose values are dimensions.
const DIMENSIONS: u32 = XYZ | bit(b'I') | bit(b'J') | bit(b'K') | bit(b'R') | bit(b'Q');

pub(super) const fn bit(letter: u8) -> u32 {
    1 << letter.wrapping_sub(b'A').wrapping_rem(32)
}

/// Where control goes after a block.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Next {
    /// To the next line.
    On,
    /// The program ended.
    End,
    /// To a subprogram, so many times.
    Call {
        /// Its label.
        label: u32,
        /// How often.
        times: u32,
    },
    /// Back from a subprogram.
    Return,
}

/// The control.
pub struct Machine<'d> {
    pub(super) dialect: &'d Dialect,
    /// Modal state.
    pub setting: Setting,
    pub(super) at: [Coord; 3],
    /// Parameters set by the program.
    pub parameters: Parameters,
    /// Since when coordinates mean nothing any more.
    pub(super) lost: Option<Cause>,
    pub(super) absolute_centres: bool,
    pub(super) sticky: Sticky,
    /// Dimensions seen without and with a point.
    pub(super) points: [bool; 2],
    points_said: bool,
    pub(super) lane: Option<Lane>,
}

/// A block's words by letter and its codes.
pub(super) struct Decoded<'b> {
    pub(super) words: &'b [Word],
    pub(super) mask: u32,
    index: [u8; 26],
    g: [u16; 24],
    g_count: usize,
    m: [u16; 8],
    m_count: usize,
    pub(super) used: u32,
}

impl Decoded<'_> {
    pub(super) fn word(&self, letter: u8) -> Option<&Word> {
        if self.mask & bit(letter) == 0 {
            return None;
        }
        let index = self.index.get(usize::from(letter.wrapping_sub(b'A')))?;
        self.words.get(usize::from(*index))
    }

    pub(super) fn take(&mut self, letter: u8) -> Option<Word> {
        self.used |= bit(letter);
        self.word(letter).copied()
    }

    fn g(&self) -> &[u16] {
        self.g.get(..self.g_count).unwrap_or_default()
    }

    fn m(&self) -> &[u16] {
        self.m.get(..self.m_count).unwrap_or_default()
    }

    fn has_m(&self, code: u16) -> bool {
        self.m().contains(&code)
    }

    fn of(&self, wanted: Group) -> Option<u16> {
        self.g()
            .iter()
            .copied()
            .find(|code| group(*code) == Some(wanted))
    }

    pub(super) fn axes(&self) -> bool {
        self.mask & XYZ != 0
    }
}

/// Tells of a fault at a word, or at the whole line.
pub(super) fn fault<O: Observer>(
    kind: FaultKind,
    word: Option<&Word>,
    at: At<'_>,
    observer: &mut O,
) {
    let whole = 0..u32::try_from(at.text.len()).unwrap_or(u32::MAX);
    let span = word.map_or(whole, |w| w.start..w.end);
    observer.fault(&Fault { kind, span }, at);
}

impl<'d> Machine<'d> {
    /// A control in its start state.
    pub fn new(dialect: &'d Dialect) -> Self {
        let mut setting = dialect.start.clone();
        setting.shift = [Fact::Known(0.0); 3];
        Self {
            dialect,
            setting,
            at: [Fact::Unset; 3],
            parameters: Parameters::default(),
            lost: None,
            absolute_centres: dialect.absolute_centres,
            sticky: Sticky::default(),
            points: [false; 2],
            points_said: false,
            lane: None,
        }
    }

    pub(super) fn tell<O: Observer>(&self, what: What, at: At<'_>, observer: &mut O) {
        observer.happening(&Happening {
            what,
            setting: &self.setting,
            at,
        });
    }

    /// Something may have changed anything: nothing is known any more, and no coordinate will be again.
    pub fn lose<O: Observer>(&mut self, why: Why, at: At<'_>, observer: &mut O) {
        let cause = Cause { line: at.line, why };
        self.lane = None;
        self.lost = self.lost.or(Some(cause));
        self.setting = Setting {
            units: Fact::Unknown(cause),
            distance: Fact::Unknown(cause),
            plane: Fact::Unknown(cause),
            feed_mode: Fact::Unknown(cause),
            feed: Fact::Unknown(cause),
            spindle: Fact::Unknown(cause),
            speed: Fact::Unknown(cause),
            coolant: Fact::Unknown(cause),
            tool: Fact::Unknown(cause),
            chosen_tool: Fact::Unknown(cause),
            work_offset: Fact::Unknown(cause),
            length_offset: Fact::Unknown(cause),
            compensation: Fact::Unknown(cause),
            path: Fact::Unknown(cause),
            retract: Fact::Unknown(cause),
            overrides: Fact::Unknown(cause),
            mode: self.setting.mode,
            shift: [Fact::Unknown(cause); 3],
        };
        self.at = [Fact::Unknown(cause); 3];
        self.parameters.forget();
        self.tell(What::Lost(cause), at, observer);
    }

    /// Carries out a block.
    #[inline]
    pub fn block<O: Observer>(&mut self, block: &Block, at: At<'_>, observer: &mut O) -> Next {
        if self.in_lane(block, at, observer) {
            return Next::On;
        }
        if let Some(lane) = self.lane.take() {
            self.at = lane.at.map(Fact::Known);
        }
        let next = self.word_by_word(block, at, observer);
        self.lane = self.lane();
        next
    }

    fn word_by_word<O: Observer>(&mut self, block: &Block, at: At<'_>, observer: &mut O) -> Next {
        if !block.faults.is_empty() {
            self.lexical(block, at, observer);
        }
        let mut decoded = Decoded {
            words: &block.words,
            mask: 0,
            index: [0; 26],
            g: [0; 24],
            g_count: 0,
            m: [0; 8],
            m_count: 0,
            used: 0,
        };
        for (index, word) in block.words.iter().enumerate() {
            match word.letter {
                b'G' => self.decode_g(word, &mut decoded, at, observer),
                b'M' => self.decode_m(word, &mut decoded, at, observer),
                letter => {
                    let bit = bit(letter);
                    if decoded.mask & bit != 0 {
                        fault(FaultKind::RepeatedWord, Some(word), at, observer);
                        self.lose(Why::BlockInError, at, observer);
                    }
                    decoded.mask |= bit;
                    if let Some(slot) = decoded
                        .index
                        .get_mut(usize::from(letter.wrapping_sub(b'A')))
                    {
                        *slot = u8::try_from(index).unwrap_or(u8::MAX);
                    }
                    if bit & DIMENSIONS != 0 {
                        self.point(word, at, observer);
                    }
                }
            }
        }
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
    fn lexical<O: Observer>(&mut self, block: &Block, at: At<'_>, observer: &mut O) {
        for fault in &block.faults {
            observer.fault(fault, at);
        }
        if block.lost {
            let flow = block
                .faults
                .iter()
                .any(|f| f.kind == FaultKind::FlowControl);
            let why = if flow {
                Why::FlowControl
            } else {
                Why::Unreadable
            };
            self.lose(why, at, observer);
        }
    }

    fn point<O: Observer>(&mut self, word: &Word, at: At<'_>, observer: &mut O) {
        let super::number::Value::Exact(number) = word.value else {
            return;
        };
        // Nought is nought in every reading.
        if number.mantissa == 0 {
            return;
        }
        if !number.has_point && self.dialect.no_point == NoPoint::Forbid {
            fault(FaultKind::PointMissing, Some(word), at, observer);
        }
        self.points[usize::from(number.has_point)] = true;
        if self.points == [true, true] && !self.points_said {
            self.points_said = true;
            fault(FaultKind::MixedPoints, Some(word), at, observer);
        }
    }

    fn decode_g<O: Observer>(
        &mut self,
        word: &Word,
        decoded: &mut Decoded<'_>,
        at: At<'_>,
        observer: &mut O,
    ) {
        let code = word.value.tenfold();
        let Some((code, of)) = code.and_then(|c| Some((c, group(c)?))) else {
            fault(FaultKind::UnknownG, Some(word), at, observer);
            self.lose(Why::UnknownWord, at, observer);
            return;
        };
        if matches!(code, 700 | 710) {
            fault(FaultKind::OldUnits, Some(word), at, observer);
        }
        // G53 is good for its block and stands beside other codes of its group in no block either.
        let clash = decoded
            .g()
            .iter()
            .any(|c| group(*c) == Some(of) && *c != code);
        if clash || decoded.g_count >= decoded.g.len() {
            fault(FaultKind::Conflict, Some(word), at, observer);
            self.lose(Why::BlockInError, at, observer);
            return;
        }
        if let Some(slot) = decoded.g.get_mut(decoded.g_count) {
            *slot = code;
            decoded.g_count += 1;
        }
    }

    fn decode_m<O: Observer>(
        &mut self,
        word: &Word,
        decoded: &mut Decoded<'_>,
        at: At<'_>,
        observer: &mut O,
    ) {
        let whole = word.value.tenfold().filter(|c| c % 10 == 0).map(|c| c / 10);
        if whole.is_some_and(|c| self.dialect.harmless.contains(&c)) {
            return;
        }
        let Some((code, of)) = whole.and_then(|c| Some((c, m_group(c)?))) else {
            fault(FaultKind::UnknownM, Some(word), at, observer);
            self.lose(Why::UnknownWord, at, observer);
            return;
        };
        if decoded.m_count >= 4 {
            fault(FaultKind::ManyM, Some(word), at, observer);
            if decoded.m_count >= decoded.m.len() {
                self.lose(Why::BlockInError, at, observer);
                return;
            }
        }
        if decoded.m().iter().any(|c| m_group(*c) == Some(of)) {
            fault(FaultKind::Conflict, Some(word), at, observer);
            self.lose(Why::BlockInError, at, observer);
            return;
        }
        if let Some(slot) = decoded.m.get_mut(decoded.m_count) {
            *slot = code;
            decoded.m_count += 1;
        }
    }

    #[cold]
    fn unused<O: Observer>(
        &mut self,
        decoded: &Decoded<'_>,
        unused: u32,
        at: At<'_>,
        observer: &mut O,
    ) {
        for word in decoded.words {
            if word.letter == b'G' || word.letter == b'M' || unused & bit(word.letter) == 0 {
                continue;
            }
            if b"HDPLQRIJKXYZ".contains(&word.letter) {
                fault(FaultKind::UnusedWord, Some(word), at, observer);
            } else {
                fault(FaultKind::UnknownLetter, Some(word), at, observer);
                self.lose(Why::UnknownWord, at, observer);
            }
        }
    }

    /// Millimetres in a dimension word, before any zero is counted in.
    pub(super) fn length(&self, word: &Word, line: u32) -> Coord {
        let Some(mut raw) = word.value.real() else {
            return Fact::Unknown(Cause {
                line,
                why: Why::Parameter,
            });
        };
        if let super::number::Value::Exact(number) = word.value
            && !number.has_point
            && self.dialect.no_point == NoPoint::Increments
        {
            raw *= match self.setting.units {
                Fact::Known(Units::Inch) => 0.0001,
                _ => 0.001,
            };
        }
        match self.setting.units {
            Fact::Known(units) => Fact::Known(raw * units.mm()),
            Fact::Unset => Fact::Unknown(Cause {
                line,
                why: Why::Units,
            }),
            Fact::Unknown(cause) => Fact::Unknown(cause),
        }
    }

    /// Where an axis word leads.
    #[inline]
    pub(super) fn target(&self, axis: usize, word: &Word, line: u32) -> Coord {
        if let Some(cause) = self.lost {
            return Fact::Unknown(cause);
        }
        let length = match self.length(word, line) {
            Fact::Known(length) => length,
            other => return other,
        };
        let other = match self.setting.distance {
            Fact::Known(Distance::Absolute) => self.setting.shift.get(axis),
            Fact::Known(Distance::Incremental) => self.at.get(axis),
            Fact::Unset => {
                return Fact::Unknown(Cause {
                    line,
                    why: Why::Distance,
                });
            }
            Fact::Unknown(cause) => return Fact::Unknown(cause),
        };
        match other.copied().unwrap_or_default() {
            Fact::Known(from) => Fact::Known(from + length),
            Fact::Unset => Fact::Unknown(Cause {
                line,
                why: Why::Incremental,
            }),
            Fact::Unknown(cause) => Fact::Unknown(cause),
        }
    }

    /// Where the block's axis words lead; axes without a word stay.
    #[inline]
    pub(super) fn targets(&self, decoded: &mut Decoded<'_>, line: u32) -> [Coord; 3] {
        let mut to = self.at;
        for (axis, (letter, to)) in AXES.into_iter().zip(&mut to).enumerate() {
            if let Some(word) = decoded.word(letter) {
                *to = self.target(axis, word, line);
            }
        }
        decoded.used |= XYZ & decoded.mask;
        to
    }

    fn carry_out<O: Observer>(
        &mut self,
        decoded: &mut Decoded<'_>,
        at: At<'_>,
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
        let explicit = decoded.of(Group::Motion);
        if let Some(code) = explicit {
            self.setting.mode = match code {
                0 => Fact::Known(Mode::Rapid),
                10 => Fact::Known(Mode::Feed),
                20 => Fact::Known(Mode::Clockwise),
                30 => Fact::Known(Mode::CounterClockwise),
                800 => Fact::Known(Mode::Cancelled),
                310 | 380..=389 => {
                    fault(FaultKind::NotFollowed, None, at, observer);
                    let cause = Cause {
                        line: at.line,
                        why: Why::Probe,
                    };
                    self.at = [Fact::Unknown(cause); 3];
                    decoded.used |= XYZ;
                    Fact::Unknown(cause)
                }
                other => Fact::Known(Mode::Cycle(u8::try_from(other / 10).unwrap_or(0))),
            };
        }
        let spoken = matches!(once, Some(100 | 280 | 300 | 920));
        if decoded.axes() && !spoken {
            self.motion(decoded, once == Some(530), at, observer);
        } else if explicit.is_some() && !spoken {
            self.motion_without_axes(decoded, at, observer);
        } else if spoken && decoded.axes() && explicit.is_some_and(|c| c != 800) {
            fault(FaultKind::AxisWordsTwice, None, at, observer);
            self.lose(Why::BlockInError, at, observer);
        }
        if decoded.m_count > 0 {
            return self.stops(decoded, at, observer);
        }
        Next::On
    }

    fn feed_mode(&mut self, decoded: &Decoded<'_>) {
        if let Some(code) = decoded.of(Group::FeedMode) {
            let mode = match code {
                930 => FeedMode::InverseTime,
                940 => FeedMode::PerMinute,
                _ => FeedMode::PerTurn,
            };
            // An F of another mode means nothing in this one.
            if self.setting.feed_mode.known().is_some_and(|m| m != mode) {
                self.setting.feed = Fact::Unset;
            }
            self.setting.feed_mode = Fact::Known(mode);
        }
    }

    fn values<O: Observer>(&mut self, decoded: &mut Decoded<'_>, at: At<'_>, observer: &mut O) {
        let unknown = |why| Cause { line: at.line, why };
        if let Some(word) = decoded.take(b'F') {
            self.setting.feed = match word.value.real() {
                None => Fact::Unknown(unknown(Why::Parameter)),
                Some(value) => match (self.setting.feed_mode, self.setting.units) {
                    (Fact::Known(FeedMode::InverseTime), _) => Fact::Known(value),
                    (_, Fact::Known(units)) => Fact::Known(value * units.mm()),
                    (_, Fact::Unset) => Fact::Unknown(unknown(Why::Units)),
                    (_, Fact::Unknown(cause)) => Fact::Unknown(cause),
                },
            };
            self.tell(What::Feed(self.setting.feed), at, observer);
        }
        if let Some(word) = decoded.take(b'S') {
            self.setting.speed = word
                .value
                .real()
                .map_or(Fact::Unknown(unknown(Why::Parameter)), Fact::Known);
            if self.setting.speed.known().is_some_and(|s| s < 0.0) {
                fault(FaultKind::BadValue, Some(&word), at, observer);
            }
            self.tell(What::Speed(self.setting.speed), at, observer);
        }
        if let Some(word) = decoded.take(b'T') {
            let tool = word.value.whole();
            if tool.is_none() {
                fault(FaultKind::BadValue, Some(&word), at, observer);
            }
            self.setting.chosen_tool =
                tool.map_or(Fact::Unknown(unknown(Why::Parameter)), Fact::Known);
            self.tell(What::ChosenTool(self.setting.chosen_tool), at, observer);
        }
    }

    fn switches<O: Observer>(&mut self, decoded: &Decoded<'_>, at: At<'_>, observer: &mut O) {
        if decoded.has_m(6) {
            let before = self.setting.tool;
            self.setting.tool = self.setting.chosen_tool;
            self.setting.spindle = Fact::Known(Spindle::Stopped);
            let cause = Cause {
                line: at.line,
                why: Why::ToolChange,
            };
            for axis in &mut self.at {
                if axis.known().is_some() {
                    *axis = Fact::Unknown(cause);
                }
            }
            self.tell(What::ToolChange(self.setting.tool, before), at, observer);
        }
        for code in decoded.m() {
            let spindle = match code {
                3 => Spindle::Clockwise,
                4 => Spindle::CounterClockwise,
                5 => Spindle::Stopped,
                _ => continue,
            };
            self.setting.spindle = Fact::Known(spindle);
            self.tell(What::Spindle(spindle), at, observer);
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
            self.setting.coolant = Fact::Known(coolant);
            self.tell(What::Coolant(coolant), at, observer);
        }
        for (code, on) in [(48, true), (49, false)] {
            if decoded.has_m(code) {
                self.setting.overrides = Fact::Known(on);
                self.tell(What::Overrides(on), at, observer);
            }
        }
    }

    fn modal<O: Observer>(
        &mut self,
        decoded: &mut Decoded<'_>,
        once: Option<u16>,
        at: At<'_>,
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
            self.setting.plane = Fact::Known(plane);
            self.tell(What::Plane(plane), at, observer);
        }
        if let Some(code) = decoded.of(Group::Units) {
            let units = if matches!(code, 200 | 700) {
                Units::Inch
            } else {
                Units::Millimetre
            };
            self.setting.units = Fact::Known(units);
            self.tell(What::Units(units), at, observer);
        }
        if let Some(code) = decoded.of(Group::Compensation) {
            let side = match code {
                400 => Compensation::Off,
                410 => Compensation::Left,
                _ => Compensation::Right,
            };
            if side != Compensation::Off {
                decoded.used |= bit(b'D');
                fault(FaultKind::NotFollowed, None, at, observer);
            }
            self.setting.compensation = Fact::Known(side);
            self.tell(What::Compensation(side), at, observer);
        }
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
            self.setting.path = Fact::Known(path);
            self.tell(What::Path(path), at, observer);
        }
        if let Some(code) = decoded.of(Group::Distance) {
            self.setting.distance = Fact::Known(if code == 900 {
                Distance::Absolute
            } else {
                Distance::Incremental
            });
        }
        if let Some(code) = decoded.of(Group::Centres) {
            self.absolute_centres = code == 901;
        }
        if let Some(code) = decoded.of(Group::Retract) {
            self.setting.retract = Fact::Known(if code == 980 {
                Retract::Start
            } else {
                Retract::R
            });
        }
        if decoded.of(Group::Transform).is_some() {
            fault(FaultKind::NotFollowed, None, at, observer);
            decoded.used |= decoded.mask;
            self.lose(Why::Transform, at, observer);
        }
        if decoded.of(Group::Macro).is_some() {
            fault(FaultKind::FlowControl, None, at, observer);
            decoded.used |= decoded.mask;
            self.lose(Why::FlowControl, at, observer);
        }
    }

    fn dwell<O: Observer>(&mut self, decoded: &mut Decoded<'_>, at: At<'_>, observer: &mut O) {
        let Some(word) = decoded.take(b'P') else {
            fault(FaultKind::MissingWord, None, at, observer);
            return;
        };
        let seconds = word.value.real().map(|p| {
            if self.dialect.dwell_in_milliseconds {
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
            why: Why::Parameter,
        };
        let fact = seconds.map_or(Fact::Unknown(cause), Fact::Known);
        self.tell(What::Dwell(fact), at, observer);
    }

    fn length_offset<O: Observer>(
        &mut self,
        code: u16,
        decoded: &mut Decoded<'_>,
        at: At<'_>,
        observer: &mut O,
    ) {
        let cause = Cause {
            line: at.line,
            why: Why::LengthOffset,
        };
        let before = self.setting.length_offset;
        self.setting.length_offset = match code {
            490 => Fact::Known(LengthOffset::Cancelled),
            430 => {
                if let Some(word) = decoded.take(b'H') {
                    let number = word.value.whole();
                    if number.is_none() {
                        fault(FaultKind::BadValue, Some(&word), at, observer);
                    }
                    number.map_or(Fact::Unknown(cause), |n| {
                        Fact::Known(LengthOffset::Number(n))
                    })
                } else {
                    fault(FaultKind::MissingWord, None, at, observer);
                    Fact::Unknown(cause)
                }
            }
            _ => {
                decoded.used |= bit(b'H');
                fault(FaultKind::NotFollowed, None, at, observer);
                Fact::Unknown(cause)
            }
        };
        if before != self.setting.length_offset
            && let Some(z) = self.at.get_mut(2)
            && z.known().is_some()
        {
            *z = Fact::Unknown(cause);
        }
        if let Fact::Known(offset) = self.setting.length_offset {
            self.tell(What::LengthOffset(offset), at, observer);
        }
    }

    fn work_offset<O: Observer>(&mut self, code: u16, at: At<'_>, observer: &mut O) {
        let number = match code {
            590..=593 => code - 590 + 6,
            _ => (code - 540) / 10 + 1,
        };
        let offset = WorkOffset(u8::try_from(number).unwrap_or(1));
        if self.setting.work_offset != Fact::Known(offset) {
            let cause = Cause {
                line: at.line,
                why: Why::WorkOffset,
            };
            for axis in &mut self.at {
                if axis.known().is_some() {
                    *axis = Fact::Unknown(cause);
                }
            }
        }
        self.setting.work_offset = Fact::Known(offset);
        self.tell(What::WorkOffset(offset), at, observer);
    }

    fn once<O: Observer>(
        &mut self,
        code: u16,
        decoded: &mut Decoded<'_>,
        at: At<'_>,
        observer: &mut O,
    ) {
        match code {
            100 => {
                // L says of what kind; whichever, an offset is written.
                decoded.used |= decoded.mask & (XYZ | bit(b'L') | bit(b'P') | bit(b'R'));
                let cause = Cause {
                    line: at.line,
                    why: Why::Shift,
                };
                self.at = [Fact::Unknown(cause); 3];
                self.tell(What::OffsetWritten, at, observer);
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
        at: At<'_>,
        observer: &mut O,
    ) {
        let cause = Cause {
            line: at.line,
            why: Why::Shift,
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
                    // From here on the place where the axis stands is called by the given number.
                    let given = self.length(&word, at.line).known();
                    let here = self.at.get(axis).and_then(|c| c.known());
                    if let Some(shift) = self.setting.shift.get_mut(axis) {
                        *shift = here
                            .zip(given)
                            .map_or(Fact::Unknown(cause), |(here, given)| {
                                Fact::Known(here - given)
                            });
                    }
                }
            }
            // G92.3 brings back what is not known here.
            923 => self.setting.shift = [Fact::Unknown(cause); 3],
            _ => self.setting.shift = [Fact::Known(0.0); 3],
        }
        self.tell(What::Shift, at, observer);
    }

    fn stops<O: Observer>(
        &mut self,
        decoded: &mut Decoded<'_>,
        at: At<'_>,
        observer: &mut O,
    ) -> Next {
        if decoded.has_m(0) || decoded.has_m(60) {
            self.tell(What::Stop, at, observer);
        }
        if decoded.has_m(1) {
            self.tell(What::OptionalStop, at, observer);
        }
        for (code, number) in [(2, 2_u8), (30, 30)] {
            if decoded.has_m(code) {
                self.tell(What::End(number), at, observer);
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
                // Longer numbers hold the count as well on some controls.
                Some((label, times)) if label <= 9999 => {
                    self.tell(What::Call(label), at, observer);
                    Next::Call { label, times }
                }
                _ => {
                    fault(FaultKind::BadValue, None, at, observer);
                    self.lose(Why::FlowControl, at, observer);
                    Next::On
                }
            };
        }
        Next::On
    }
}
