"""The ledger's file: its schema, how it is opened, and one clear error for what goes wrong.

A rollback journal rather than a write-ahead log: the ledger then is one file at rest, whole when
it is copied, and it may lie on a network drive, where a write-ahead log does not work. With
that journal a commit is the removal of a file, which a power cut may undo while the folder is not
synced too; so ``synchronous`` is EXTRA, which is FULL with that sync.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from rebuildbook.record.entry import KINDS

APPLICATION = 0x52424C31  # in the file's header; tells a ledger from other SQLite files
VERSION = 1
_KINDS = ", ".join(f"'{kind}'" for kind in KINDS)

# BEFORE INSERT guards the rows that INSERT OR REPLACE would remove without a word
SCHEMA = {
    "entries": f"""CREATE TABLE entries (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  entered TEXT NOT NULL,
  serial TEXT NOT NULL CHECK (serial <> ''),
  job TEXT NOT NULL CHECK (job <> ''),
  kind TEXT NOT NULL CHECK (kind IN ({_KINDS})),
  subject TEXT NOT NULL CHECK (subject <> ''),
  number INTEGER,
  given TEXT NOT NULL,
  si REAL,
  dimension TEXT NOT NULL CHECK ((dimension = '') = (si IS NULL)),
  tool TEXT NOT NULL,
  "on" TEXT NOT NULL,
  by TEXT NOT NULL,
  came_from TEXT NOT NULL,
  text TEXT NOT NULL,
  corrects INTEGER UNIQUE REFERENCES entries (id) CHECK (corrects < id),
  why TEXT NOT NULL CHECK ((corrects IS NULL) = (why = '')),
  hash TEXT NOT NULL UNIQUE
)""",
    "entries_by_unit": "CREATE INDEX entries_by_unit ON entries (serial, job, kind)",
    "entries_by_origin": "CREATE INDEX entries_by_origin ON entries (came_from, subject, number)",
    "entries_stay": """CREATE TRIGGER entries_stay BEFORE UPDATE ON entries
BEGIN SELECT RAISE(ABORT, 'an entry is never changed; append a correction'); END""",
    "entries_remain": """CREATE TRIGGER entries_remain BEFORE DELETE ON entries
BEGIN SELECT RAISE(ABORT, 'an entry is never removed; append a correction'); END""",
    "entries_once": """CREATE TRIGGER entries_once BEFORE INSERT ON entries
WHEN EXISTS (
  SELECT 1 FROM entries
  WHERE id = NEW.id OR corrects = NEW.corrects OR hash = NEW.hash
)
BEGIN SELECT RAISE(ABORT, 'an entry is never replaced; append a correction'); END""",
    "entries_fit": """CREATE TRIGGER entries_fit BEFORE INSERT ON entries
WHEN NEW.corrects IS NOT NULL AND NOT EXISTS (
  SELECT 1 FROM entries
  WHERE id = NEW.corrects AND serial = NEW.serial AND job = NEW.job
    AND kind = NEW.kind AND subject = NEW.subject
)
BEGIN SELECT RAISE(ABORT, 'a correction is of the same unit, job, kind and subject'); END""",
}


class LedgerError(Exception):
    """The ledger's file cannot be used: which file, and the reason."""

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(f"{path}: {reason}")
        self.path = path
        self.reason = reason

    def __reduce__(self) -> tuple[type[LedgerError], tuple[Path, str]]:
        return type(self), (self.path, self.reason)


@contextlib.contextmanager
def reading(path: Path, wait: float) -> Iterator[sqlite3.Connection | None]:
    """Open the ledger to read; gives None where it holds nothing yet."""
    with _told(path), _closing(path, wait, create=False) as connection:
        yield connection if connection and _is_made(path, connection) else None


@contextlib.contextmanager
def writing(path: Path, wait: float) -> Iterator[sqlite3.Connection]:
    """Open the ledger, or make it, to write one transaction: all of it or nothing."""
    with _told(path), _closing(path, wait, create=True) as connection:
        assert connection is not None  # noqa: S101  (it was asked for)
        connection.execute("PRAGMA journal_mode = DELETE")
        connection.execute("PRAGMA synchronous = EXTRA")
        connection.execute("PRAGMA fullfsync = 1")  # macOS only: through the drive's own cache
        connection.execute("PRAGMA foreign_keys = 1")
        try:
            connection.execute("BEGIN IMMEDIATE")
            if not _is_made(path, connection):
                _make(connection)
            missing = missing_guard(connection)
            if missing:
                raise LedgerError(path, f"{missing}; entries may have been changed unseen")
            yield connection
            connection.execute("COMMIT")
        except BaseException:
            with contextlib.suppress(sqlite3.Error):
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
            raise


def missing_guard(connection: sqlite3.Connection) -> str:
    """Say which part of the schema is not as it was made; empty where all is there."""
    found = dict(connection.execute("SELECT name, sql FROM sqlite_master").fetchall())
    for name, sql in SCHEMA.items():
        if found.get(name) != sql:
            how = "not as it was made" if name in found else "missing"
            return f"{name} of its schema is {how}"
    return ""


@contextlib.contextmanager
def _closing(path: Path, wait: float, *, create: bool) -> Iterator[sqlite3.Connection | None]:
    if path.is_dir():
        raise LedgerError(path, "is a folder; wanted the ledger's file")
    if not create and not path.exists():
        yield None
        return
    # mode=rw to read as well: what a killed writer left behind is rolled back by the next reader
    uri = f"{path.absolute().as_uri()}?mode={'rwc' if create else 'rw'}"
    connection = sqlite3.connect(uri, uri=True, timeout=wait, isolation_level=None)
    connection.text_factory = lambda raw: raw.decode("utf-8", "surrogateescape")
    try:
        yield connection
    finally:
        connection.close()


def _is_made(path: Path, connection: sqlite3.Connection) -> bool:
    """Whether the file is a ledger of ours; False for an empty file, an error for any other."""
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    (parts,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    if application == 0 and version == 0 and parts == 0:
        return False
    if application != APPLICATION:
        raise LedgerError(path, "is a SQLite file of another program, not a ledger")
    if version > VERSION:
        raise LedgerError(
            path,
            f"was written by a newer rebuildbook (its form is {version}, this one reads up to "
            f"{VERSION}); install that one",
        )
    if version < VERSION or not parts:
        raise LedgerError(path, f"is a ledger of form {version}, which never was; it is damaged")
    return True


def _make(connection: sqlite3.Connection) -> None:
    connection.execute(f"PRAGMA application_id = {APPLICATION}")
    connection.execute(f"PRAGMA user_version = {VERSION}")
    for sql in SCHEMA.values():
        connection.execute(sql)


@contextlib.contextmanager
def _told(path: Path) -> Iterator[None]:
    try:
        yield
    except sqlite3.Error as error:
        raise LedgerError(path, _reason(path, error)) from error
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise LedgerError(path, f"cannot be opened: {reason}") from error


def _reason(path: Path, error: sqlite3.Error) -> str:
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    told = {
        sqlite3.SQLITE_FULL: "the disk is full; nothing was written",
        sqlite3.SQLITE_READONLY: "may not be written to; nothing was written",
        sqlite3.SQLITE_NOTADB: "is not a ledger, nor any SQLite file",
        sqlite3.SQLITE_CORRUPT: "is damaged; go back to a copy",
        sqlite3.SQLITE_BUSY: "is in use by another program; nothing was done, try again",
        sqlite3.SQLITE_LOCKED: "is in use by another program; nothing was done, try again",
        sqlite3.SQLITE_CANTOPEN: f"cannot be opened: {_why_not(path)}",
        sqlite3.SQLITE_IOERR: f"cannot be read or written: {error}",
    }
    return told.get(code, f"cannot be used: {error}")


def _why_not(path: Path) -> str:
    if not path.absolute().parent.is_dir():
        return f"there is no folder {path.absolute().parent}"
    if path.exists() and not path.is_file():
        return "it is no file"
    if path.exists() and not os.access(path, os.R_OK):
        return "permission denied"
    if not os.access(path.absolute().parent, os.W_OK):
        return f"the folder {path.absolute().parent} may not be written to"
    return "it, or its journal, cannot be made"
