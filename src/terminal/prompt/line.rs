//! What reading a line can come to, whatever it is read with, and which way of reading this platform has.

/// What there was to read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum LineRead {
    /// A whole line, without its end.
    Line(String),
    /// Nothing yet.
    Nothing,
    /// End of input.
    End,
    /// The prompt itself saw Ctrl-C.
    Interrupted,
}

#[cfg(unix)]
pub(crate) use super::edit::Lines;
#[cfg(not(unix))]
pub(crate) use super::portable::Lines;
