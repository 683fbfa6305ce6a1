"""Tables of a fleet: numbers stay numbers for the spreadsheet, the page shows the worst of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from rebuildbook.units import number, shown_unit
from rebuildbook.units.show import plain
from rebuildbook.worksheet.model import Table

Cell = str | float | int | date | None
MOST_ROWS = 40  # of a table on the page


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, the unit its numbers stand in, how wide a spreadsheet makes it.

    Without ``paper`` it stands in the spreadsheet alone; a page has room for so many.
    """

    title: str
    unit: str = ""
    width: int = 12
    paper: bool = True

    @property
    def heading(self) -> str:
        """The heading with the unit."""
        return f"{self.title}, {shown_unit(self.unit)}" if self.unit else self.title


@dataclass(frozen=True, slots=True)
class FleetTable:
    """A table with its numbers in the units of its columns, the worst rows first."""

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    note: str = ""

    def shown(self, most: int = MOST_ROWS) -> Table:
        """The table as the page shows it."""
        places = [place for place, column in enumerate(self.columns) if column.paper]
        rows = tuple(tuple(_text(row[place]) for place in places) for row in self.rows[:most])
        left = len(self.rows) - len(rows)
        note = f"{left} more rows stand in the spreadsheet. {self.note}" if left else self.note
        header = tuple(self.columns[place].heading for place in places)
        return Table(self.title, header, rows, note.strip())


def _text(cell: Cell) -> str:
    if cell is None:
        return "–"
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, float):
        return number(cell) if abs(cell) < 1e4 else plain(round(cell))
    return str(cell)


def few(names: Sequence[str], most: int = 8) -> str:
    """Names in a row, the first of them where they are many."""
    told = ", ".join(names[:most])
    return f"{told} and {len(names) - most} more" if len(names) > most else told


def counted(count: int, one: str, many: str = "") -> str:
    """A count with its noun.

    >>> counted(1, "unit"), counted(3, "query", "queries")
    ('1 unit', '3 queries')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"
