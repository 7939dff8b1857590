//! Exit statuses.

/// How a command ended, as its exit status tells.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Status {
    /// 0: done.
    Fine,
    /// 1: something failed that is neither usage nor a reason to hold.
    Failed,
    /// 2: wrong usage or unreadable input.
    Usage,
    /// 3: held.
    Held,
    /// 4: the book is damaged.
    Damaged,
    /// 130: interrupted, and saved.
    Interrupted,
}

impl Status {
    /// The number.
    pub fn code(self) -> u8 {
        match self {
            Self::Fine => 0,
            Self::Failed => 1,
            Self::Usage => 2,
            Self::Held => 3,
            Self::Damaged => 4,
            Self::Interrupted => 130,
        }
    }
}
