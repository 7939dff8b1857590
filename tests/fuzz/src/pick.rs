//! Bytes as choices. Never ends: behind the last byte every choice is the first.

/// What is left of the bytes.
pub struct Picks<'a>(pub &'a [u8]);

impl Picks<'_> {
    pub fn is_over(&self) -> bool {
        self.0.is_empty()
    }

    pub fn byte(&mut self) -> u8 {
        match self.0.split_first() {
            Some((first, rest)) => {
                self.0 = rest;
                *first
            }
            None => 0,
        }
    }

    /// A number below `end`.
    pub fn below(&mut self, end: usize) -> usize {
        let number = if end > 256 {
            usize::from(self.byte()) << 16 | usize::from(self.byte()) << 8
        } else {
            0
        };
        (number | usize::from(self.byte())) % end.max(1)
    }

    pub fn yes(&mut self) -> bool {
        self.byte() % 2 == 1
    }

    pub fn of<T: Clone>(&mut self, all: &[T]) -> T {
        all[self.below(all.len())].clone()
    }

    pub fn long(&mut self) -> i64 {
        let mut bytes = [0; 8];
        bytes.fill_with(|| self.byte());
        i64::from_le_bytes(bytes)
    }

    /// Up to fifteen bytes as text.
    pub fn text(&mut self) -> String {
        let length = usize::from(self.byte() % 16).min(self.0.len());
        let (text, rest) = self.0.split_at(length);
        self.0 = rest;
        String::from_utf8_lossy(text).into_owned()
    }
}
