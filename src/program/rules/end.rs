//! How a program ends.

use super::list::{distance_end, end_coolant, end_spindle, line_ends, no_end, shift_active};
use crate::program::finding::Found;
use crate::program::follow::Followed;
use crate::program::happening::{Happening, What};

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
        end_spindle::ends(happening, found);
        end_coolant::ends(happening, found);
        distance_end::ends(happening, found);
    }

    /// Judges the file's end.
    pub fn end(&self, followed: &Followed, found: &mut Found) {
        no_end::end(self.code, found);
        line_ends::end(followed, found);
        shift_active::end(followed, found);
    }
}
