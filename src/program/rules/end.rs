//! How a program ends.

use crate::program::fact::Fact;
use crate::program::finding::Found;
use crate::program::follow::Followed;
use crate::program::happening::{Happening, What};
use crate::program::setting::{Coolant, Distance, Spindle};

/// Watches the end.
#[derive(Debug, Default)]
pub struct End {
    /// M2 or M30.
    pub code: Option<u8>,
}

impl End {
    /// Looks at a happening.
    pub fn happening(&mut self, happening: &Happening<'_>, found: &mut Found) {
        let What::End(code) = happening.what else {
            return;
        };
        self.code = Some(code);
        let (at, setting) = (happening.at, happening.setting);
        if matches!(
            setting.spindle,
            Fact::Known(Spindle::Clockwise | Spindle::CounterClockwise)
        ) {
            found.add("end-spindle", at, None, String::new);
        }
        if setting.coolant.known().is_some_and(Coolant::on) {
            found.add("end-coolant", at, None, String::new);
        }
        if setting.distance == Fact::Known(Distance::Incremental) {
            found.add("distance-end", at, None, String::new);
        }
    }

    /// Judges the file's end.
    pub fn end(&self, followed: &Followed, found: &mut Found) {
        if self.code.is_none() && found.count("cut-off") + found.count("flow") == 0 {
            found.whole("no-end", String::new());
        }
        if followed.ends.mixed() {
            found.whole("line-ends", String::new());
        }
        let shifted = |s: &Fact<f64>| s.known().is_some_and(|s| s != 0.0);
        if followed.setting.shift.iter().any(shifted) && found.count("shift-active") == 0 {
            found.whole("shift-active", "at the end".to_owned());
        }
    }
}
