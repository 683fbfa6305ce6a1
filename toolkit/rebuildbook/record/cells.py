"""What stands in a cell of a spreadsheet, as text and without a loss."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any


class CellProblem(ValueError):  # noqa: N818  (an answer to the one who filled it in)
    """A cell that is not taken, and why."""


class Cell:
    """One cell; ``told`` gathers what was done to make a text of it."""

    def __init__(self, cell: Any) -> None:
        self._value, self._type = cell.value, cell.data_type
        self.told: list[str] = []

    @property
    def shown(self) -> str:
        """The cell as a message quotes it."""
        return "" if self._value is None else str(getattr(self._value, "text", self._value))

    def text(self) -> str:
        """A name or a note; a number is written without a needless point."""
        value = self._plain()
        if isinstance(value, datetime | date | time | timedelta):
            raise CellProblem("holds a date or a time; wanted text")
        return _written(value) if isinstance(value, int | float) else str(value)

    def number(self) -> str:
        """A reading: a number to its last place, or text as it stands."""
        value = self._plain()
        if isinstance(value, datetime | date | time | timedelta):
            raise CellProblem(
                "holds a date or a time: the spreadsheet made one of what was typed; "
                "format the cell as a number and write the reading again"
            )
        if isinstance(value, int | float):
            return _written(value)
        if value:
            self.told.append(f"the reading is stored as text: {value}")
        return str(value)

    def day(self) -> str:
        """A day: a date cell, or text written as 2026-03-31."""
        value = self._plain()
        if isinstance(value, datetime):
            return value.date().isoformat()
        if isinstance(value, date):
            return value.isoformat()
        if isinstance(value, int | float | time | timedelta):
            raise CellProblem("is no date; wanted a date as 2026-03-31")
        return str(value)

    def _plain(self) -> Any:
        """The value; raises CellProblem for a formula, an error, and yes or no."""
        value = self._value
        if value is None:
            return ""
        if self._type == "f" or not isinstance(
            value, str | int | float | datetime | date | time | timedelta
        ):
            raise CellProblem("holds a formula; write what was read")
        if self._type == "e":
            raise CellProblem("holds a spreadsheet error; write what was read")
        if isinstance(value, bool):
            raise CellProblem("holds true or false; write what was read")
        return value.strip() if isinstance(value, str) else value


def _written(value: float) -> str:
    """Write a number so that it reads back the same: 48.5, 48, 0.1."""
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return repr(value)
