"""Numbers and dates as a bench writes them, read by rules that are told and never by guessing."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from pydantic_core import PydanticCustomError

from rebuildbook.sheets.fields import Quantity
from rebuildbook.units import Amount
from rebuildbook.units.parse import parse_unit

_COMMA = re.compile(r"[+\-−]?(\d*),(\d+)")
_UNIT_IN = re.compile(r"[^\W\d_]|[\"'°%#]")
_EXPONENT = re.compile(r"(?<=\d)[eE][+\-]?\d+")
_THOUSANDS = re.compile(r"[1-9]\d{0,2}")


@dataclass(frozen=True, slots=True)
class Read:
    """A reading as understood: the amount, the text it is put on record with, and what was done."""

    amount: Amount
    given: str
    told: tuple[str, ...]


def read_amount(value: str, unit: str, quantity: Quantity, comma: str = "") -> Read:
    """Read a number and its unit, which stands with the number or in ``unit``, or in both alike.

    ``quantity`` is what the field takes. ``comma`` is "decimal" or "never" where the file says
    it; else a comma with nothing that looks like thousands behind it is decimal, and told. Raises
    ValueError for anything else, with words for the one who wrote it.

    >>> torque = Quantity("torque", ("single",))
    >>> read_amount("48,5", "N·m", torque).given, read_amount("48 ft-lb", "", torque).given
    ('48.5 N·m', '48 ft-lb')
    >>> read_amount("1,250", "N·m", torque)
    Traceback (most recent call last):
    ...
    ValueError: '1,250' could be 1.25 or 1250; write 1.250 or 1250
    """
    number, told = _point(value.strip(), comma)
    own = _UNIT_IN.search(_EXPONENT.sub("", number)) is not None
    given = number if own or not unit else f"{number} {unit}"
    try:
        amount = quantity.read(given)
        if own and unit and parse_unit(unit, amount.dimension)[0] != amount.unit:
            raise ValueError(f"{value!r} has a unit of its own, and the unit beside it is {unit}")
    except PydanticCustomError as problem:
        raise ValueError(str((problem.context or {})["message"])) from None
    return Read(amount, given, told)


def _point(text: str, comma: str) -> tuple[str, tuple[str, ...]]:
    match = _COMMA.match(text)
    if "," not in text or match is None:
        return text, ()
    if comma == "never":
        raise ValueError(f"{text!r} has a comma, and the column map says: decimal point")
    if text.count(",") > 1 or "." in match.string[: match.end() + 1]:
        raise ValueError(f"{text!r} has more than one mark in its number; write it without")
    whole, rest = match[1], match[2]
    if not comma and len(rest) == 3 and _THOUSANDS.fullmatch(whole):
        raise ValueError(
            f"{text!r} could be {float(f'{whole}.{rest}'):g} or {whole}{rest}; "
            f"write {whole}.{rest} or {whole}{rest}"
        )
    pointed = text.replace(",", ".", 1)
    return pointed, (f"decimal comma: {text} read as {pointed}",)


def read_day(text: str) -> date:
    """Read a day written as 2026-03-31, the one way that is the same in every country."""
    try:
        if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
            raise ValueError(text)
        return date.fromisoformat(text)
    except ValueError:
        raise ValueError("wanted a date as 2026-03-31") from None
