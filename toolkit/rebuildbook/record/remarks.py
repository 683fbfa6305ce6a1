"""What stands against a reading, as it is written into the text of its entry and read from it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, cast

Level = Literal["told", "query", "hold"]
_MARK = re.compile(r"(?:^|; )(told|query|hold): ")


@dataclass(frozen=True, slots=True)
class Remark:
    """What stands against a reading that is taken: something done, to ask about, or to stop at."""

    level: Level
    text: str

    def __str__(self) -> str:
        return f"{self.level}: {self.text}"


def with_remarks(note: str, remarks: Iterable[Remark]) -> str:
    """Write a note and the remarks as one text.

    >>> with_remarks("new stud", [Remark("hold", "above the window"), Remark("query", "no date")])
    'new stud; hold: above the window; query: no date'
    """
    return "; ".join(text for text in (note, *map(str, remarks)) if text)


def note_in(text: str) -> str:
    """Read the note out of the text of an entry, without the remarks.

    >>> note_in("new stud; hold: above the window"), note_in("hold: above the window")
    ('new stud', '')
    """
    return _MARK.split(text)[0]


def remarks_in(text: str) -> tuple[Remark, ...]:
    """Read the remarks out of the text of an entry; a note that is written like one counts as one.

    >>> [remark.level for remark in remarks_in("new stud; hold: above the window; query: no date")]
    ['hold', 'query']
    """
    pieces = _MARK.split(text)[1:]
    pairs = zip(pieces[::2], pieces[1::2], strict=True)
    return tuple(Remark(cast(Level, level), told) for level, told in pairs)
