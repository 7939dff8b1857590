//! One entry of the book and its digest.

use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, ToSql, ToSqlOutput, ValueRef};
use rusqlite::{Row, Transaction};

use crate::fingerprint::Fingerprint;

/// The name of the encoding, part of every digest, so that a later encoding cannot be mistaken for this one.
const ENCODING: &str = "skimgate entry 1";

/// The first character of a ledger's name where a run's name is possible too.
pub(super) const LEDGER: char = ':';

/// An entry to be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Draft {
    /// The time at which it happened, RFC 3339 in UTC. The book does not read it.
    pub at: String,
    /// The kind of entry, a word of the layer above.
    pub kind: String,
    /// The version of the body's layout.
    pub version: u32,
    /// The content, JSON. The book does not read it.
    pub body: String,
}

/// An entry in the book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// The number in the book: 1, 2, 3 and so on over all runs, without gaps.
    pub seq: u64,
    /// The run that it belongs to; for an entry of a ledger, a colon and the ledger's name.
    pub run: String,
    /// The number in the run: 1, 2, 3 and so on, without gaps.
    pub n: u32,
    /// The time at which it happened, RFC 3339 in UTC.
    pub at: String,
    /// The kind of entry, a word of the layer above.
    pub kind: String,
    /// The version of the body's layout.
    pub version: u32,
    /// The content, JSON.
    pub body: String,
    /// The machine, only in the entry that opens its run.
    pub opens: Option<String>,
    /// Whether the run ends with this entry.
    pub ends: bool,
    /// The digest of the entry before it in the book; [`Fingerprint::NONE`] for the first.
    pub previous: Fingerprint,
    /// The digest of this entry.
    pub digest: Fingerprint,
}

impl Entry {
    /// The digest that the entry's content must have: a fingerprint over the fields `skimgate entry 1`, previous (64
    /// hexadecimal digits), seq, run, n, at, kind, version, body, opens (empty when absent) and ends (`0` or `1`), in
    /// this order, numbers in decimal digits, text in UTF-8.
    ///
    /// An empty and an absent `opens` cannot be confused, because `run` and `n` show which of the two it is.
    pub fn expected_digest(&self) -> Fingerprint {
        Fingerprint::builder()
            .field(ENCODING)
            .field(self.previous.to_string())
            .field(self.seq.to_string())
            .field(&self.run)
            .field(self.n.to_string())
            .field(&self.at)
            .field(&self.kind)
            .field(self.version.to_string())
            .field(&self.body)
            .field(self.opens.as_deref().unwrap_or_default())
            .field(if self.ends { "1" } else { "0" })
            .finish()
    }

    /// The ledger that it belongs to; `None` for an entry of a run.
    pub fn ledger(&self) -> Option<&str> {
        self.run.strip_prefix(LEDGER)
    }

    /// The columns that [`Entry::from_row`] reads, in its order.
    pub(super) const COLUMNS: &str =
        "seq, run, n, at, kind, version, body, opens, ends, previous, digest";

    pub(super) fn from_row(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            seq: row.get(0)?,
            run: row.get(1)?,
            n: row.get(2)?,
            at: row.get(3)?,
            kind: row.get(4)?,
            version: row.get(5)?,
            body: row.get(6)?,
            opens: row.get(7)?,
            ends: row.get(8)?,
            previous: row.get(9)?,
            digest: row.get(10)?,
        })
    }

    pub(super) fn insert(&self, transaction: &Transaction<'_>) -> rusqlite::Result<()> {
        transaction
            .prepare_cached(
                "INSERT INTO entries (seq, run, n, at, kind, version, body, opens, ends, previous, digest)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)",
            )?
            .execute(rusqlite::params![
                self.seq,
                self.run,
                self.n,
                self.at,
                self.kind,
                self.version,
                self.body,
                self.opens,
                self.ends,
                self.previous,
                self.digest,
            ])?;
        Ok(())
    }
}

impl ToSql for Fingerprint {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(self.to_string().into())
    }
}

impl FromSql for Fingerprint {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        value.as_str()?.parse().map_err(FromSqlError::other)
    }
}

#[cfg(test)]
mod tests {
    use super::Entry;
    use crate::fingerprint::Fingerprint;

    fn entry() -> Entry {
        Entry {
            seq: 7,
            run: "r1".into(),
            n: 1,
            at: "2026-03-01T13:32:05.250Z".into(),
            kind: "begun".into(),
            version: 2,
            body: "{\"plate\":\"größe\"}".into(),
            opens: Some("mill".into()),
            ends: false,
            previous: Fingerprint::NONE,
            digest: Fingerprint::NONE,
        }
    }

    /// Source: Python 3 hashlib over the encoding that `expected_digest` describes:
    /// ```text
    /// fields = ["skimgate entry 1", "0" * 64, "7", "r1", "1", "2026-03-01T13:32:05.250Z", "begun", "2",
    ///           '{"plate":"größe"}', "mill", "0"]
    /// sha256(b"".join(len(f.encode()).to_bytes(8, "big") + f.encode() for f in fields)).hexdigest()
    /// ```
    #[test]
    fn digest_is_the_one_described() {
        assert_eq!(
            entry().expected_digest().to_string(),
            "0bd31e4ec743d9d7ca28141f849ff3adfa7860d72434b12223050e611431aad5"
        );
    }

    #[test]
    fn every_field_counts() {
        let whole = entry().expected_digest();
        let changes: [fn(&mut Entry); 10] = [
            |e| e.seq += 1,
            |e| e.run.push('x'),
            |e| e.n += 1,
            |e| e.at.push('x'),
            |e| e.kind.push('x'),
            |e| e.version += 1,
            |e| e.body.push(' '),
            |e| e.opens = None,
            |e| e.ends = true,
            |e| e.previous = Fingerprint::of(""),
        ];
        for (number, change) in changes.iter().enumerate() {
            let mut changed = entry();
            change(&mut changed);
            assert_ne!(changed.expected_digest(), whole, "change {number}");
        }
    }
}
