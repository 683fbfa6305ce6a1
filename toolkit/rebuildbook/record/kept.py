"""What the ledger holds of an entry: its number, its time, what it corrects, and its hash."""

from __future__ import annotations

import hashlib
import json
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any

from rebuildbook.record.entry import KINDS, Entry

ENTRY_COLUMNS = tuple(field.name for field in fields(Entry))
COLUMNS = ("id", "entered", *ENTRY_COLUMNS, "corrects", "why", "hash")
LARGEST_NUMBER = 2**31 - 1
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")  # a terminal would obey some
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}(?:[T ].+)?\Z")


@dataclass(frozen=True, slots=True)
class Kept:
    """An entry as the ledger holds it.

    ``entered`` is the time it was put in, UTC, ISO 8601. ``corrects`` is the id of the entry that
    this one replaces, ``corrected_by`` of the one that replaces it (None while it stands), ``why``
    the reason given. ``hash`` is over the row and the hash of the row before it. ``known`` tells
    an append that found the entry there already.
    """

    id: int
    entered: str
    entry: Entry
    corrects: int | None
    why: str
    hash: str
    corrected_by: int | None = None
    known: bool = False


def checked(entry: Entry) -> Entry:
    """Give the entry with plain numbers; raises ValueError for what no ledger could keep.

    >>> checked(Entry("SP-1", "J-1", "torque", "cover", si=float("nan")))
    Traceback (most recent call last):
    ...
    ValueError: entry on 'cover' of J-1: si nan given; a number is wanted
    """
    place = f"entry on {entry.subject!r} of {entry.job}"
    for name in ENTRY_COLUMNS:
        value = getattr(entry, name)
        if name not in {"si", "number"}:
            check_text(place, name, value)
    if entry.kind not in KINDS:
        raise ValueError(f"{place}: kind {entry.kind!r} given; there are {', '.join(KINDS)}")
    for name in ("serial", "job", "subject"):
        if not getattr(entry, name).strip():
            raise ValueError(f"{place}: no {name} is given")
    _check_day(place, entry.on)
    si = None if entry.si is None else float(entry.si) + 0.0  # SQLite keeps no minus on a zero
    if si is not None and not math.isfinite(si):
        raise ValueError(f"{place}: si {si} given; a number is wanted")
    if not (si is None) == (entry.dimension == "") == (entry.given == ""):
        raise ValueError(
            f"{place}: given {entry.given!r}, si {si}, dimension {entry.dimension!r}; "
            "a quantity has all three, any other entry none"
        )
    number = entry.number
    if number is not None:
        number = int(number)
        if number != entry.number or not 0 <= number <= LARGEST_NUMBER:
            raise ValueError(f"{place}: number {entry.number} given; 0 to {LARGEST_NUMBER} allowed")
    plain = {name: getattr(entry, name) for name in ENTRY_COLUMNS}
    return Entry(**{**plain, "si": si, "number": number})


def check_text(place: str, name: str, value: Any) -> None:
    """Raise ValueError for what is no plain Unicode text."""
    if not isinstance(value, str):
        raise ValueError(f"{place}: {name} {value!r} given; text is wanted")
    control = _CONTROL.search(value)
    if control:
        raise ValueError(
            f"{place}: {name} holds a control character (U+{ord(control[0]):04X}); plain text is "
            "wanted"
        )
    try:
        value.encode()
    except UnicodeEncodeError:
        raise ValueError(f"{place}: {name} {value!r} is not Unicode text") from None


def _check_day(place: str, on: str) -> None:
    try:
        if on and not (_DAY.match(on) and datetime.fromisoformat(on)):
            raise ValueError
    except ValueError:
        raise ValueError(f"{place}: day {on!r} given; wanted as 2026-09-30") from None


def chained(previous: str, row: Sequence[Any]) -> str:
    """The hash of a row, given without its hash, after the one with the hash ``previous``.

    SHA-256 over the previous hash, a line end, and the row as a JSON list in plain ASCII.

    >>> chained("", (1, "then"))[:12]  # sha256 of '\\n[1,"then"]'
    'd9169cc9c88d'
    """
    content = json.dumps(list(row), ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(f"{previous}\n{content}".encode()).hexdigest()


def row_of(id_: int, entered: str, entry: Entry, corrects: int | None, why: str) -> tuple[Any, ...]:
    """A row in the order of the columns, without its hash."""
    return (id_, entered, *fields_of(entry), corrects, why)


def fields_of(entry: Entry) -> tuple[Any, ...]:
    """The entry's fields in the order of the columns."""
    return tuple(getattr(entry, name) for name in ENTRY_COLUMNS)


def kept_from(row: Sequence[Any]) -> Kept:
    """Read a row in the order of the columns, with the id of its correction behind it."""
    id_, entered, *values, corrects, why, hash_, corrected_by = row
    return Kept(id_, entered, Entry(*values), corrects, why, hash_, corrected_by)
