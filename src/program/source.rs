//! The source of a program's bytes.

/// Bytes that can be read from any position. A subprogram is further on in the file than its call, so reading in order
/// is not enough.
pub trait Source {
    /// Reads from byte `offset` on into `into`; gives the number of bytes, zero only at the end.
    fn read_at(&mut self, offset: u64, into: &mut [u8]) -> Result<usize, SourceError>;
}

/// Reading the program failed.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("cannot read the rest of the program: {0}")]
pub struct SourceError(pub String);

impl Source for &[u8] {
    fn read_at(&mut self, offset: u64, into: &mut [u8]) -> Result<usize, SourceError> {
        let rest = usize::try_from(offset)
            .ok()
            .and_then(|start| self.get(start..))
            .unwrap_or_default();
        let count = rest.len().min(into.len());
        if let (Some(to), Some(from)) = (into.get_mut(..count), rest.get(..count)) {
            to.copy_from_slice(from);
        }
        Ok(count)
    }
}
