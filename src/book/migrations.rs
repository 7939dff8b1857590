//! The migrations from each layout of the book to the next.
//!
//! Layout 1 has only runs. Layout 2 adds ledgers: `entries` no longer requires that each entry belongs to a run on a
//! machine, and `ledgers` is an index over the entries of ledgers, as `runs` is over those of runs. A name that begins
//! with a colon belongs to a ledger, so the entry itself shows, protected by its digest, which of the two it belongs
//! to.

/// One migration for each layout. They are only ever added, because books of every layout exist.
pub(super) const MIGRATIONS: [&str; 2] = ["
CREATE TABLE runs (
    first_seq INTEGER PRIMARY KEY,
    run       TEXT NOT NULL UNIQUE,
    machine   TEXT NOT NULL,
    first_at  TEXT NOT NULL,
    last_at   TEXT NOT NULL,
    entries   INTEGER NOT NULL,
    open      INTEGER NOT NULL CHECK (open IN (0, 1))
) STRICT;

CREATE UNIQUE INDEX one_open_run_to_a_machine ON runs (machine) WHERE open = 1;

CREATE TABLE entries (
    seq      INTEGER PRIMARY KEY,
    run      TEXT NOT NULL REFERENCES runs (run),
    n        INTEGER NOT NULL,
    at       TEXT NOT NULL,
    kind     TEXT NOT NULL,
    version  INTEGER NOT NULL,
    body     TEXT NOT NULL,
    opens    TEXT CHECK ((opens IS NOT NULL) = (n = 1)),
    ends     INTEGER NOT NULL CHECK (ends IN (0, 1)),
    previous TEXT NOT NULL,
    digest   TEXT NOT NULL,
    UNIQUE (run, n)
) STRICT;

CREATE TRIGGER entries_follow BEFORE INSERT ON entries
WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM entries)
  OR NEW.n IS NOT (SELECT coalesce(max(n), 0) + 1 FROM entries WHERE run = NEW.run)
  OR NEW.previous IS NOT coalesce((SELECT digest FROM entries WHERE seq = NEW.seq - 1), printf('%064d', 0))
BEGIN SELECT raise(ABORT, 'an entry must follow from the last one'); END;

CREATE TRIGGER entries_stay BEFORE UPDATE ON entries
BEGIN SELECT raise(ABORT, 'entries are never changed'); END;

CREATE TRIGGER entries_remain BEFORE DELETE ON entries
BEGIN SELECT raise(ABORT, 'entries are never removed'); END;

CREATE TABLE documents (
    fingerprint TEXT NOT NULL PRIMARY KEY,
    content     TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TRIGGER documents_are_new BEFORE INSERT ON documents
WHEN EXISTS (SELECT 1 FROM documents WHERE fingerprint = NEW.fingerprint)
BEGIN SELECT raise(ABORT, 'documents are never replaced'); END;

CREATE TRIGGER documents_stay BEFORE UPDATE ON documents
BEGIN SELECT raise(ABORT, 'documents are never changed'); END;

CREATE TRIGGER documents_remain BEFORE DELETE ON documents
BEGIN SELECT raise(ABORT, 'documents are never removed'); END;
", "
CREATE TABLE entries_as_of_2 (
    seq      INTEGER PRIMARY KEY,
    run      TEXT NOT NULL,
    n        INTEGER NOT NULL,
    at       TEXT NOT NULL,
    kind     TEXT NOT NULL,
    version  INTEGER NOT NULL,
    body     TEXT NOT NULL,
    opens    TEXT CHECK ((opens IS NOT NULL) = (n = 1 AND substr(run, 1, 1) <> ':')),
    ends     INTEGER NOT NULL CHECK (ends IN (0, 1)),
    previous TEXT NOT NULL,
    digest   TEXT NOT NULL,
    UNIQUE (run, n)
) STRICT;

INSERT INTO entries_as_of_2 SELECT seq, run, n, at, kind, version, body, opens, ends, previous, digest
FROM entries ORDER BY seq;

DROP TABLE entries;

ALTER TABLE entries_as_of_2 RENAME TO entries;

CREATE TRIGGER entries_follow BEFORE INSERT ON entries
WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM entries)
  OR NEW.n IS NOT (SELECT coalesce(max(n), 0) + 1 FROM entries WHERE run = NEW.run)
  OR NEW.previous IS NOT coalesce((SELECT digest FROM entries WHERE seq = NEW.seq - 1), printf('%064d', 0))
BEGIN SELECT raise(ABORT, 'an entry must follow from the last one'); END;

CREATE TRIGGER entries_stay BEFORE UPDATE ON entries
BEGIN SELECT raise(ABORT, 'entries are never changed'); END;

CREATE TRIGGER entries_remain BEFORE DELETE ON entries
BEGIN SELECT raise(ABORT, 'entries are never removed'); END;

CREATE TABLE ledgers (
    ledger  TEXT NOT NULL PRIMARY KEY,
    entries INTEGER NOT NULL,
    last_at TEXT NOT NULL
) STRICT, WITHOUT ROWID;
"];
