"""Shared ways to put given quantities and plain facts on a worksheet."""

from __future__ import annotations

from typing import TypeVar

from rebuildbook.units import Amount
from rebuildbook.worksheet.model import Line, Value, given

Otherwise = TypeVar("Otherwise", float, None)


def nominal(amount: Amount | None, otherwise: Otherwise) -> float | Otherwise:
    """The SI value of a quantity, or what to take where nobody wrote one."""
    return otherwise if amount is None else amount.nominal


def given_line(id_: str, name: str, amount: Amount, data: str, symbol: str = "") -> Line:
    """A line for a quantity that somebody wrote: shown as written, in canonical spelling."""
    return Line(id_, name, given(amount), symbol, data=data)


def text_line(id_: str, name: str, text: str, data: str = "") -> Line:
    """A line whose value is plain text."""
    return Line(id_, name, text, data=data)


def bound(amount: Amount, side: str) -> Value:
    """One bound of a written range, in the unit it was written in."""
    si = amount.low if side == "low" else amount.high
    return Value(si, amount.dimension, amount.unit, 4)
