//! What reading a line can come to, whatever it is read with, and which way of reading this platform has.

/// What there was to read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Got {
    /// A whole line, without its end.
    Line(String),
    /// Nothing yet.
    Nothing,
    /// End of input.
    End,
    /// The prompt itself saw Ctrl-C.
    Interrupted,
}

#[cfg(not(unix))]
pub use super::portable::Lines;
#[cfg(unix)]
pub use super::tty::Lines;

/// Bytes of a line as text, its end taken off. What is not UTF-8 becomes the replacement sign, which no answer contains.
pub fn text(bytes: &[u8]) -> String {
    let text = String::from_utf8_lossy(bytes);
    text.trim_end_matches(['\r', '\n']).to_owned()
}
