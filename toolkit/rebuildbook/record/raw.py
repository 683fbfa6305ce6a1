"""What a file holds, before anything of it is judged: plain text with its place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from rebuildbook.record.entry import Kind
from rebuildbook.record.remarks import Remark
from rebuildbook.sheets import Problem


@dataclass(frozen=True, slots=True)
class Place:
    """Where a row was read: file, sheet (where the file has several), row, and its columns.

    ``columns`` gives the column that each field came from, as a letter or as its heading. ``path``
    is the place in a YAML file and ``line`` its line, ``full`` the file as it was named. What a
    place is called does not hang on the folder that the file lies in.
    """

    file: str
    sheet: str = ""
    row: int = 0
    columns: Mapping[str, str] = field(default_factory=dict)
    path: str = ""
    line: int = 0
    full: str = ""

    def __str__(self) -> str:
        parts = [self.file, self.sheet, f"row {self.row}" if self.row else "", self.path]
        return ", ".join(part for part in parts if part)

    def problem(self, name: str, given: str, message: str) -> Problem:
        """Describe what is wrong with one field of this row."""
        column = self.columns.get(name, "")
        given = given if len(given) <= 80 else given[:77] + "…"
        file = self.full or self.file
        if self.sheet:
            where = f"{self.sheet}!{column}{self.row}" if column else f"{self.sheet} row {self.row}"
            return Problem(file, None, where, given, message)
        return Problem(file, self.line or self.row or None, self.path or column, given, message)


@dataclass(frozen=True, slots=True)
class Raw:
    """One reading as it stands in a file.

    ``number`` is the fastener, ``value`` the number alone or with its unit, ``on`` the day as ISO
    8601, ``time`` the time of day as ISO 8601. ``comma`` says how a comma in a number is read: as
    the decimal mark, never, or (empty) by the rule of ``amounts``. ``shown`` is the
    window or limit that stands beside the reading in the file, where there is one. ``remarks``
    are what the reader of the file had to say about this row.
    """

    kind: Kind
    subject: str
    value: str
    place: Place
    unit: str = ""
    number: str = ""
    tool: str = ""
    on: str = ""
    time: str = ""
    by: str = ""
    note: str = ""
    comma: str = ""
    shown: str = ""
    remarks: tuple[Remark, ...] = ()


@dataclass(slots=True)
class Found:
    """All of a file: its readings, what makes it unfit, and what else is to be said about it."""

    raws: list[Raw] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    told: list[str] = field(default_factory=list)
