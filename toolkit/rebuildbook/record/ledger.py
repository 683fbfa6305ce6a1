"""The ledger: every entry of the record, appended and never changed, in one SQLite file.

A correction is a new entry that names the old one. Each row carries a hash over itself and the
row before it, so a row that was changed, removed or slipped in by other means is found by
``verify``. The hash needs no secret: it shows a change, it does not stop a forger who writes the
whole chain anew; against that, write the last hash on paper (``head`` gives it).
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Literal

from rebuildbook.record.entry import Entry, Kind
from rebuildbook.record.kept import (
    COLUMNS,
    ENTRY_COLUMNS,
    Kept,
    chained,
    check_text,
    checked,
    fields_of,
    kept_from,
    row_of,
)
from rebuildbook.record.ledger_file import LedgerError, missing_guard, reading, writing

__all__ = ["NAME", "Ledger", "LedgerError", "Misfit"]
NAME = "ledger.sqlite"  # in the parameters folder, beside the shop sheet
WAIT = 30.0  # s, for other programs to finish writing

_NAMES = ", ".join(f'e."{name}"' for name in COLUMNS)
_SELECT = f"SELECT {_NAMES}, c.id FROM entries e"  # noqa: S608
_JOIN = "LEFT JOIN entries c ON c.corrects = e.id"
_KEPT = f"{_SELECT} {_JOIN}"
_BARE = f"SELECT {_NAMES} FROM entries e ORDER BY e.id"  # noqa: S608
_SAME = " AND ".join(f'e."{name}" IS ?' for name in ENTRY_COLUMNS)
_INSERT = f"INSERT INTO entries VALUES ({', '.join('?' * len(COLUMNS))})"  # noqa: S608


@dataclass(frozen=True, slots=True)
class Misfit:
    """The first thing in a ledger that does not fit: the row's id, if it is a row, and why."""

    id: int | None
    reason: str

    def __str__(self) -> str:
        return self.reason if self.id is None else f"entry {self.id}: {self.reason}"


class Ledger:
    """The ledger in the file ``path``; a file that is not there yet is made by the first append.

    Nothing stays open between calls, and several processes may use one file. ``wait`` (s) is how
    long a call waits for the others. Every method raises LedgerError where the file cannot be
    used, with nothing written.
    """

    def __init__(
        self,
        path: Path | str,
        *,
        wait: float = WAIT,
        now: Callable[[], datetime] = lambda: datetime.now(UTC),
    ) -> None:
        self.path = Path(path)
        self._wait = wait
        self._now = now

    def append(
        self, entries: Iterable[Entry], *, again: Literal["skip", "keep"] = "skip"
    ) -> tuple[Kept, ...]:
        """Put entries in, all or nothing; gives each as it is kept, once it is safe on the disk.

        An entry that is there already, word for word and read from the same place
        (``came_from``), is not put in twice: its row comes back with ``known`` set, and tells by
        ``corrected_by`` whether it was corrected since. ``again="keep"`` doubles it. Raises
        ValueError for an entry that cannot be kept.
        """
        good = [checked(entry) for entry in entries]
        if not good:
            return ()
        with writing(self.path, self._wait) as connection:
            kept = []
            for entry in good:
                there = _same(connection, entry) if again == "skip" else None
                kept.append(there or self._put(connection, entry))
        return tuple(kept)

    def correct(self, id_: int, entry: Entry, why: str) -> Kept:
        """Put in an entry that takes the place of entry ``id_``, which stays and is marked.

        Both are of the same unit, job, kind, subject and dimension. Raises ValueError for an
        entry that is not there or was corrected before, for one that differs in those or in
        nothing, and for no reason given.
        """
        entry = checked(entry)
        if not why.strip():
            raise ValueError(f"correction of entry {id_}: no reason is given; say why")
        check_text(f"correction of entry {id_}", "the reason", why)
        _check_correction(id_, self.get(id_), entry)  # first, so that a mistake makes no file
        with writing(self.path, self._wait) as connection:
            _check_correction(id_, _one(connection, id_), entry)
            return self._put(connection, entry, id_, why)

    def get(self, id_: int) -> Kept | None:
        """The entry of that id, or None."""
        with reading(self.path, self._wait) as connection:
            return _one(connection, id_) if connection else None

    def entries(
        self,
        serial: str | None = None,
        job: str | None = None,
        kind: Kind | None = None,
        superseded: bool = False,
    ) -> tuple[Kept, ...]:
        """Entries in the order they came in; those that were corrected only if ``superseded``."""
        asked = {"serial": serial, "job": job, "kind": kind}
        given = {name: value for name, value in asked.items() if value is not None}
        wanted = [f"e.{name} = ?" for name in given] + ([] if superseded else ["c.id IS NULL"])
        where = f" WHERE {' AND '.join(wanted)}" if wanted else ""
        with reading(self.path, self._wait) as connection:
            if connection is None:
                return ()
            rows = connection.execute(f"{_KEPT}{where} ORDER BY e.id", tuple(given.values()))
            return tuple(kept_from(row) for row in rows)

    def units(self) -> tuple[str, ...]:
        """The serials of all units that have entries, sorted."""
        with reading(self.path, self._wait) as connection:
            if connection is None:
                return ()
            rows = connection.execute("SELECT DISTINCT serial FROM entries ORDER BY serial")
            return tuple(serial for (serial,) in rows)

    def head(self) -> tuple[int, str]:
        """The last entry's id and hash; (0, "") while there is none."""
        with reading(self.path, self._wait) as connection:
            return _head(connection) if connection else (0, "")

    def verify(self) -> Misfit | None:
        """Find the first row that was not put in by the ledger as it stands now; None if all were.

        Rows that were removed from the end show by their ids, as long as SQLite's own counter was
        not set back too.
        """
        with reading(self.path, self._wait) as connection:
            if connection is None:
                return None
            misfit = _first_misfit(connection.execute(_BARE), _last_given(connection))
            if misfit:
                return misfit
            missing = missing_guard(connection)
            (sound,) = connection.execute("PRAGMA integrity_check(1)").fetchone()
            unsound = "" if sound == "ok" else f"the file is damaged: {' '.join(sound.split())}"
            return Misfit(None, missing or unsound) if missing or unsound else None

    def _put(
        self,
        connection: sqlite3.Connection,
        entry: Entry,
        corrects: int | None = None,
        why: str = "",
    ) -> Kept:
        _, previous = _head(connection)
        entered = self._now().astimezone(UTC).isoformat(timespec="milliseconds")
        row = row_of(_last_given(connection) + 1, entered, entry, corrects, why)
        hash_ = chained(previous, row)
        connection.execute(_INSERT, (*row, hash_))
        return kept_from((*row, hash_, None))


def _head(connection: sqlite3.Connection) -> tuple[int, str]:
    found = connection.execute("SELECT id, hash FROM entries ORDER BY id DESC LIMIT 1").fetchone()
    return found or (0, "")


def _last_given(connection: sqlite3.Connection) -> int:
    """The highest id that ever was given; SQLite remembers it when the row is gone."""
    found = connection.execute("SELECT seq FROM sqlite_sequence WHERE name = 'entries'").fetchone()
    return int(found[0]) if found else 0


def _one(connection: sqlite3.Connection, id_: int) -> Kept | None:
    if not 0 < id_ < 2**63:
        return None
    row = connection.execute(f"{_KEPT} WHERE e.id = ?", (id_,)).fetchone()
    return kept_from(row) if row else None


def _same(connection: sqlite3.Connection, entry: Entry) -> Kept | None:
    """The same entry from the same place; one that came from no place is always a new one."""
    if not entry.came_from:
        return None
    # the index named: SQLite would walk all rows by id, or all of the unit, for the first of them
    found = f"{_SELECT} INDEXED BY entries_by_origin {_JOIN} WHERE e.corrects IS NULL AND {_SAME}"
    row = connection.execute(f"{found} ORDER BY e.id LIMIT 1", fields_of(entry)).fetchone()
    return replace(kept_from(row), known=True) if row else None


def _check_correction(id_: int, old: Kept | None, new: Entry) -> None:
    if old is None:
        raise ValueError(f"entry {id_} is not in the ledger")
    if old.corrected_by is not None:
        raise ValueError(f"entry {id_} was corrected by entry {old.corrected_by}; correct that one")
    for name in ("serial", "job", "kind", "subject", "dimension"):
        was, given = getattr(old.entry, name), getattr(new, name)
        if was != given:
            raise ValueError(
                f"correction of entry {id_}: {name} {given!r} given, and the entry has {was!r}; "
                "a correction keeps it"
            )
    if replace(new, came_from="", by="") == replace(old.entry, came_from="", by=""):
        raise ValueError(f"correction of entry {id_}: nothing differs from the entry")


def _first_misfit(rows: Iterator[tuple[Any, ...]], last_given: int) -> Misfit | None:
    previous, before = "", 0
    for *row, hash_ in rows:
        if row[0] != before + 1:
            gone = f"entry {before + 1}" + (f" to {row[0] - 1}" if row[0] > before + 2 else "")
            return Misfit(row[0], f"{gone} before it is missing")
        if not _fits(previous, row, hash_):
            return Misfit(row[0], "is not as it was put in, or the one before it is not")
        previous, before = hash_, row[0]
    if before != last_given:
        return Misfit(before + 1, f"is missing; {last_given} were put in")
    return None


def _fits(previous: str, row: list[Any], hash_: Any) -> bool:
    try:
        return bool(chained(previous, row) == hash_)
    except TypeError:  # bytes where text was put in
        return False
