//! The documents that runs use, each stored once under its fingerprint.

use std::path::Path;

use rusqlite::{OptionalExtension, Transaction, params};

use super::error::{BookError, Damage, at};
use super::opening::Book;
use crate::fingerprint::Fingerprint;

impl Book {
    /// The document with this fingerprint.
    ///
    /// # Errors
    /// [`BookError::NoSuchDocument`], [`BookError::Damaged`] where the text is not the one that was stored, and disk
    /// errors.
    pub fn document(&self, fingerprint: Fingerprint) -> Result<String, BookError> {
        let path = || self.path().to_path_buf();
        let content: Option<String> = self
            .connection()
            .query_row(
                "SELECT content FROM documents WHERE fingerprint = ?1",
                [fingerprint],
                |row| row.get(0),
            )
            .optional()
            .map_err(at(self.path()))?;
        match content {
            None => Err(BookError::NoSuchDocument {
                path: path(),
                fingerprint,
            }),
            Some(content) if Fingerprint::of(&content) == fingerprint => Ok(content),
            Some(_) => {
                let damage = Damage::Document {
                    fingerprint: fingerprint.to_string(),
                };
                Err(BookError::Damaged {
                    path: path(),
                    damage,
                })
            }
        }
    }
}

/// Stores a document, unless it is stored already.
pub(super) fn store(
    transaction: &Transaction<'_>,
    path: &Path,
    fingerprint: Fingerprint,
    content: &str,
) -> Result<(), BookError> {
    let own = Fingerprint::of(content);
    if own != fingerprint {
        return Err(BookError::WrongFingerprint { fingerprint, own });
    }
    let kept: Option<String> = transaction
        .query_row(
            "SELECT content FROM documents WHERE fingerprint = ?1",
            [fingerprint],
            |row| row.get(0),
        )
        .optional()
        .map_err(at(path))?;
    match kept {
        Some(kept) if kept == content => Ok(()),
        Some(_) => {
            let damage = Damage::Document {
                fingerprint: fingerprint.to_string(),
            };
            Err(BookError::Damaged {
                path: path.to_path_buf(),
                damage,
            })
        }
        None => transaction
            .execute(
                "INSERT INTO documents (fingerprint, content) VALUES (?1, ?2)",
                params![fingerprint, content],
            )
            .map(drop)
            .map_err(at(path)),
    }
}

#[cfg(test)]
mod tests {
    use crate::book::testing::{draft, new_path};
    use crate::book::{Book, BookError, Damage};
    use crate::fingerprint::Fingerprint;
    use rusqlite::Connection;

    #[test]
    fn a_document_is_stored_once_and_checked_on_reading() {
        let (_folder, path) = new_path();
        let mut book = Book::open(&path).unwrap();
        let text = (Fingerprint::of("text"), "text");
        book.begin("r1", "mill", &[text, text], &[draft("1")])
            .unwrap();
        book.begin("r2", "router", &[text], &[draft("1")]).unwrap();
        assert_eq!(book.document(text.0).unwrap(), "text");
        let plain = Connection::open(&path).unwrap();
        plain
            .execute_batch("DROP TRIGGER documents_stay; UPDATE documents SET content = 'other'")
            .unwrap();
        let damage = Damage::Document {
            fingerprint: text.0.to_string(),
        };
        for error in [
            book.document(text.0).unwrap_err(),
            book.begin("r3", "lathe", &[text], &[draft("1")])
                .unwrap_err(),
        ] {
            let BookError::Damaged { damage: found, .. } = error else {
                panic!("{error}")
            };
            assert_eq!(found, damage);
        }
    }
}
