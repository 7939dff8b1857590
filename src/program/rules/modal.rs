//! What must have been said before a cut: units, zero, feed, speed, spindle, coolant, tool.

use crate::program::fact::{Fact, Why};
use crate::program::finding::Found;
use crate::program::happening::{Happening, What};
use crate::program::motion::{At, Motion, MotionKind, Straight};
use crate::program::setting::{FeedMode, LengthOffset, Plane, Setting, Spindle, Units, WorkOffset};
use crate::program::setup::Setup;
use std::collections::BTreeSet;

/// Most different values kept for the summary.
const MOST: usize = 100;

/// Watches modal state.
#[derive(Debug)]
pub struct Modal {
    setup: Setup,
    /// Something changed since a cut was looked at.
    changed: bool,
    said: BTreeSet<&'static str>,
    /// Feeds cut with, in hundredths of a mm/min.
    pub feeds: BTreeSet<i64>,
    /// Speeds cut with, in hundredths of a turn a minute.
    pub speeds: BTreeSet<i64>,
    /// Work offsets cut in.
    pub offsets: BTreeSet<WorkOffset>,
    /// Length offsets cut with, 0 for none.
    pub lengths: BTreeSet<u32>,
    /// Units set.
    pub units: Vec<Units>,
    /// Tools changed to.
    pub tools: Vec<u32>,
    changes: u32,
    calls_tool: Option<u32>,
    last_feed: f64,
}

#[allow(clippy::cast_possible_truncation)]
fn hundredths(value: f64) -> i64 {
    (value * 100.0).round() as i64
}

impl Modal {
    /// Against a set-up.
    pub fn new(setup: Setup) -> Self {
        Self {
            setup,
            changed: true,
            said: BTreeSet::new(),
            feeds: BTreeSet::new(),
            speeds: BTreeSet::new(),
            offsets: BTreeSet::new(),
            lengths: BTreeSet::new(),
            units: Vec::new(),
            tools: Vec::new(),
            changes: 0,
            calls_tool: None,
            last_feed: f64::NAN,
        }
    }

    /// A finding that is worth saying once, not at each of the blocks that follow.
    fn once(
        &mut self,
        found: &mut Found,
        code: &'static str,
        at: At<'_>,
        detail: impl FnOnce() -> String,
    ) {
        if self.said.insert(code) {
            found.add(code, at, None, detail);
        }
    }

    /// Looks at a motion.
    #[inline]
    pub fn motion(&mut self, motion: &Motion<'_>, found: &mut Found) {
        for coord in &motion.to {
            if let Fact::Unknown(cause) = coord {
                self.unknown(cause.why, motion.at, found);
            }
        }
        if motion.kind == MotionKind::Rapid {
            return;
        }
        match motion.feed {
            Fact::Known(feed) => {
                if feed.to_bits() != self.last_feed.to_bits() {
                    self.last_feed = feed;
                    self.feed(feed, motion, found);
                }
            }
            Fact::Unset => self.once(found, "feed-unset", motion.at, String::new),
            Fact::Unknown(cause) => self.unknown(cause.why, motion.at, found),
        }
        if self.changed {
            self.changed = false;
            self.cut(motion, found);
        }
        if motion.kind == MotionKind::Arc {
            self.plane(motion, found);
        }
    }

    /// Looks at a straight cut: there is nothing new to one in the state of the one before.
    #[inline]
    pub fn straight(&mut self, cut: &Straight<'_>, found: &mut Found) {
        if self.changed || !cut.steady {
            self.motion(&cut.motion(), found);
        }
    }

    #[cold]
    fn unknown(&mut self, why: Why, at: At<'_>, found: &mut Found) {
        match why {
            Why::Units => self.once(found, "no-units", at, String::new),
            Why::Distance => self.once(found, "distance-unset", at, String::new),
            _ => {}
        }
    }

    fn plane(&mut self, motion: &Motion<'_>, found: &mut Found) {
        match motion.setting.plane {
            Fact::Unset => self.once(found, "plane-unset", motion.at, String::new),
            Fact::Known(Plane::Zx | Plane::Yz) => {
                self.once(found, "plane-xy", motion.at, String::new);
            }
            _ => {}
        }
    }

    fn feed(&mut self, feed: f64, motion: &Motion<'_>, found: &mut Found) {
        let at = motion.at;
        if self.feeds.len() < MOST {
            self.feeds.insert(hundredths(feed));
        }
        if feed <= 0.0 {
            found.add("feed-zero", at, None, || format!("{feed} mm/min"));
            return;
        }
        if feed < 10.0 {
            found.add("feed-low", at, None, || format!("{feed:.3} mm/min"));
        }
        if let Some(highest) = self.setup.mill.and_then(|m| m.highest_feed)
            && feed > highest * (1.0 + 1e-9)
        {
            found.add("feed-high", at, None, || {
                format!("{feed:.0} mm/min, highest {highest:.0}")
            });
        }
    }

    /// Chip load is judged where the cutter moves across: the way down is slower on purpose.
    fn chip_load(&mut self, motion: &Motion<'_>, speed: f64, found: &mut Found) {
        let Some(cutter) = self.setup.cutter else {
            return;
        };
        let across = motion.from[0] != motion.to[0] || motion.from[1] != motion.to[1];
        if !across {
            // The next motion across is to be looked at.
            self.changed = true;
            return;
        }
        if let (Some(teeth), Some([least, most]), Some(feed)) =
            (cutter.teeth, cutter.chip_load, motion.feed.known())
            && speed > 0.0
            && feed > 0.0
        {
            let load = feed / (speed * teeth);
            if load < least * (1.0 - 1e-9) || load > most * (1.0 + 1e-9) {
                self.once(found, "chip-load", motion.at, || {
                    format!(
                        "{feed:.0} mm/min / ({speed:.0} rpm x {teeth:.0}) = {load:.4} mm, range {least} to {most}"
                    )
                });
            }
        }
    }

    fn cut(&mut self, motion: &Motion<'_>, found: &mut Found) {
        let (at, setting) = (motion.at, motion.setting);
        match setting.spindle {
            Fact::Known(Spindle::Stopped) | Fact::Unset => {
                self.once(found, "spindle-off", at, String::new);
            }
            Fact::Known(Spindle::CounterClockwise) => {
                self.once(found, "spindle-left", at, String::new);
            }
            Fact::Known(Spindle::Clockwise) | Fact::Unknown(_) => {}
        }
        match setting.speed {
            Fact::Unset => self.once(found, "speed-unset", at, || "no S".to_owned()),
            Fact::Known(0.0) => self.once(found, "speed-unset", at, || "S0".to_owned()),
            Fact::Known(speed) => {
                self.speed(speed, at, found);
                self.chip_load(motion, speed, found);
            }
            Fact::Unknown(_) => {}
        }
        let has_coolant = self.setup.mill.and_then(|m| m.coolant).unwrap_or(true);
        let dry = match setting.coolant {
            Fact::Known(coolant) => !coolant.on(),
            Fact::Unset => true,
            Fact::Unknown(_) => false,
        };
        if dry && has_coolant {
            self.once(found, "coolant-off", at, String::new);
        }
        match setting.length_offset {
            Fact::Known(LengthOffset::Number(number)) => {
                self.lengths.insert(number);
            }
            Fact::Known(LengthOffset::Cancelled) | Fact::Unset => {
                self.lengths.insert(0);
            }
            Fact::Unknown(_) => {}
        }
        match setting.work_offset {
            Fact::Unset => self.once(found, "offset-unset", at, String::new),
            Fact::Known(offset) => {
                self.offsets.insert(offset);
                if let Some(read) = self.setup.work_offset
                    && read != offset
                {
                    self.once(found, "offset-differs", at, || {
                        format!("cuts in {}, read back {}", offset.code(), read.code())
                    });
                }
            }
            Fact::Unknown(_) => {}
        }
        self.length(setting, at, found);
        match setting.feed_mode {
            Fact::Unset => self.once(found, "feed-mode-unset", at, String::new),
            Fact::Known(FeedMode::InverseTime | FeedMode::PerTurn) => {
                self.once(found, "feed-mode", at, String::new);
            }
            _ => {}
        }
        if setting.shift.iter().any(|s| {
            *s != Fact::Known(0.0) && !matches!(s, Fact::Unknown(c) if c.why != Why::Shift)
        }) {
            self.once(found, "shift-active", at, || "at a cut".to_owned());
        }
        if setting.overrides == Fact::Known(false) {
            self.once(found, "override-off", at, String::new);
        }
        if let (Some(called), 0) = (self.calls_tool, self.changes) {
            self.once(found, "tool-unchanged", at, || format!("T{called}"));
        }
    }

    fn speed(&mut self, speed: f64, at: At<'_>, found: &mut Found) {
        if self.speeds.len() < MOST {
            self.speeds.insert(hundredths(speed));
        }
        let machine = self.setup.mill.and_then(|m| m.speeds);
        let highest = [
            machine.map(|s| s[1]),
            self.setup.cutter.and_then(|c| c.highest_speed),
        ];
        let highest = highest.into_iter().flatten().fold(f64::INFINITY, f64::min);
        if speed > highest * (1.0 + 1e-9) {
            self.once(found, "speed-high", at, || {
                format!("S{speed:.0}, highest {highest:.0}")
            });
        }
        if let Some([lowest, _]) = machine
            && speed < lowest * (1.0 - 1e-9)
        {
            self.once(found, "speed-low", at, || {
                format!("S{speed:.0}, lowest {lowest:.0}")
            });
        }
    }

    fn length(&mut self, setting: &Setting, at: At<'_>, found: &mut Found) {
        let named = |offset: LengthOffset| match offset {
            LengthOffset::Cancelled => "none".to_owned(),
            LengthOffset::Number(h) => format!("H{h}"),
        };
        match (setting.length_offset, self.setup.length_offset) {
            (Fact::Unset, Some(LengthOffset::Number(h))) => {
                self.once(found, "length-unset", at, || format!("read back H{h}"));
            }
            (Fact::Known(LengthOffset::Cancelled), Some(LengthOffset::Number(h))) => {
                self.once(found, "length-unset", at, || {
                    format!("read back H{h}, cancelled here")
                });
            }
            (Fact::Known(is), Some(read)) if is != read => {
                self.once(found, "length-differs", at, || {
                    format!("{} here, read back {}", named(is), named(read))
                });
            }
            _ => {}
        }
        if let (Fact::Known(LengthOffset::Number(h)), Some(tool)) =
            (setting.length_offset, setting.tool.known())
            && h != tool
        {
            self.once(found, "length-tool", at, || format!("H{h} with T{tool}"));
        }
    }

    /// Looks at a happening.
    pub fn happening(&mut self, happening: &Happening<'_>, found: &mut Found) {
        self.changed = true;
        let at = happening.at;
        match happening.what {
            What::Units(units) => {
                if self.units.iter().any(|u| *u != units) {
                    found.add("units-mixed", at, None, String::new);
                }
                if !self.units.contains(&units) {
                    self.units.push(units);
                }
                if let Some(read) = self.setup.units
                    && read != units
                {
                    self.once(found, "units-differ", at, || {
                        format!("{} here, read back {}", units.symbol(), read.symbol())
                    });
                }
            }
            What::ChosenTool(tool) => {
                self.calls_tool = tool.known();
                if let (Some(called), Some(said)) = (tool.known(), self.setup.tool)
                    && called != said
                {
                    found.add("tool-differs", at, None, || {
                        format!("T{called}, said T{said}")
                    });
                }
            }
            What::ToolChange(tool, _) => {
                self.changes += 1;
                if self.changes > 1 {
                    found.add("tool-change", at, None, String::new);
                }
                if let Some(tool) = tool.known()
                    && self.tools.len() < MOST
                {
                    self.tools.push(tool);
                }
            }
            What::Feed(Fact::Unknown(cause)) => self.unknown(cause.why, at, found),
            What::OffsetWritten => found.add("offset-written", at, None, String::new),
            What::Stop => found.add("stops", at, None, || "M0".to_owned()),
            What::OptionalStop => found.add("stops", at, None, || "M1".to_owned()),
            What::Cycle(number) => self.once(found, "cycle", at, || format!("G{number}")),
            _ => {}
        }
    }
}
