"""Which points a sweep goes through: what is changed, to what, and how the changes combine."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from pydantic_core import PydanticCustomError

from rebuildbook.sheets.fields import Quantity
from rebuildbook.sheets.overrides import Sheets
from rebuildbook.sheets.paths import Field, field_at
from rebuildbook.sheets.source import Problem, SheetError
from rebuildbook.units import Amount
from rebuildbook.worksheet.as_setting import (
    ends_about,
    half_share,
    in_unit,
    single_text,
    window_text,
    written,
)

LEAST_POINTS, MOST_POINTS = 2, 10_000  # of one range
MOST_IN_ALL = 100_000
USUAL_POINTS = 50
USUAL_GRID = 15  # points of each range where several make a grid
_RANGE = re.compile(r"\s(?:to|\.\.\.?)\s")


@dataclass(frozen=True, slots=True)
class Swept:
    """One field and what it is set to at each step, ready for ``--set``.

    ``values`` are numbers in ``unit`` or texts. Where the field is a window they are its middle,
    and ``lows`` and ``highs`` its ends.
    """

    path: str
    settings: tuple[str, ...]
    values: tuple[float, ...] | tuple[str, ...]
    unit: str = ""
    lows: tuple[float, ...] = ()
    highs: tuple[float, ...] = ()

    def __len__(self) -> int:
        return len(self.settings)

    @property
    def numeric(self) -> bool:
        """Whether the values are numbers."""
        return not isinstance(self.values[0], str)

    @property
    def rising(self) -> bool:
        """Whether the values are numbers that rise, so that "up to" and "from" mean something."""
        if not self.numeric:
            return False
        return all(low < high for low, high in itertools.pairwise(self.values))  # type: ignore[operator]


@dataclass(frozen=True, slots=True)
class Plan:
    """All points: every combination of the swept fields, or all of them stepped together."""

    swept: tuple[Swept, ...]
    together: bool = False

    def __len__(self) -> int:
        sizes = [len(one) for one in self.swept]
        return sizes[0] if self.together else math.prod(sizes)

    @property
    def grid(self) -> bool:
        """Whether more than one field changes on its own."""
        return len(self.swept) > 1 and not self.together

    def steps(self) -> Iterator[tuple[int, ...]]:
        """Every point as the step of each swept field; the last field changes fastest."""
        if self.together:
            return ((step,) * len(self.swept) for step in range(len(self)))
        return itertools.product(*(range(len(one)) for one in self.swept))

    def settings(self, steps: tuple[int, ...]) -> list[str]:
        """The settings of one point."""
        return [one.settings[step] for one, step in zip(self.swept, steps, strict=True)]


def make_plan(
    overs: Sequence[str], sheets: Sheets, points: int | None = None, together: bool = False
) -> Plan:
    """Read what is to be swept ("path=LOW to HIGH UNIT", "path=value, value, …").

    Raises SheetError with everything that cannot be swept.
    """
    wanted: list[tuple[str, Field, str]] = []
    problems: list[Problem] = []
    for over in overs:
        try:
            wanted.append(_wanted(over, sheets))
        except SheetError as error:
            problems += error.problems
    paths = [(field.sheet, field.steps) for _, field, _ in wanted]
    for position, (over, field, _) in enumerate(wanted):
        if paths[position] in paths[:position]:
            problems.append(_problem(over, field, "is swept twice"))
    count = _count(points, [text for _, _, text in wanted], together)
    swept: list[Swept] = []
    for over, field, text in wanted:
        try:
            swept.append(_swept(over, field, text, count))
        except SheetError as error:
            problems += error.problems
    if problems:
        raise SheetError(problems)
    plan = Plan(tuple(swept), together and len(swept) > 1)
    _check_size(plan)
    return plan


def _check_size(plan: Plan) -> None:
    if plan.together and len({len(one) for one in plan.swept}) > 1:
        told = ", ".join(f"{one.path} has {len(one)}" for one in plan.swept)
        message = f"values that step together must be as many: {told}"
        raise SheetError([Problem("--together", None, "", "", message)])
    if len(plan) > MOST_IN_ALL:
        sizes = " × ".join(str(len(one)) for one in plan.swept)
        message = f"{sizes} are {len(plan)} points; at most {MOST_IN_ALL}"
        raise SheetError([Problem("--points", None, "", "", message)])


def _wanted(over: str, sheets: Sheets) -> tuple[str, Field, str]:
    path, equals, text = over.partition("=")
    if not equals or not all(step.strip() for step in path.split(".")) or not text.strip():
        message = "wanted path=LOW to HIGH UNIT, as joints.cover.torque='15 to 30 N*m', or a list"
        raise SheetError([Problem(f"--over {over}", None, "", "", message)])
    return over, field_at(path, sheets, f"--over {over}"), text.strip()


def _count(points: int | None, texts: list[str], together: bool) -> int:
    if points is not None:
        if not LEAST_POINTS <= points <= MOST_POINTS:
            message = f"wanted {LEAST_POINTS} to {MOST_POINTS} points of each range"
            raise SheetError([Problem(f"--points {points}", None, "", "", message)])
        return points
    if len(texts) < 2:
        return USUAL_POINTS
    if not together:
        return USUAL_GRID
    lists = [len(_items(text)) for text in texts if len(_items(text)) > 1]
    return lists[0] if lists else USUAL_POINTS


def _items(text: str) -> list[str]:
    """The values of a list; semicolons part values that have commas in them."""
    return [item.strip() for item in text.split(";" if ";" in text else ",")]


def _swept(over: str, field: Field, text: str, count: int) -> Swept:
    path = over.partition("=")[0].strip()
    if field.quantity is None:
        return _listed_texts(over, field, path, text)
    if re.search(r"\d,\d", text):
        message = "is a comma between digits a decimal comma or the next value? Write decimal "
        message += "points, and a space or a semicolon between two values"
        raise SheetError([_problem(over, field, message)])
    items = _items(text)
    if not all(items):
        raise SheetError([_problem(over, field, "a value of the list is empty")])
    if len(items) == 1:
        values, unit, reference = _spaced(over, field, text, count)
        return _set_to(over, field, path, values, unit, reference)
    amounts = [_read(over, field, item, *_list_forms(field.quantity)) for item in items]
    return _listed(over, field, path, amounts)


def _listed_texts(over: str, field: Field, path: str, text: str) -> Swept:
    items = _items(text)
    if len(items) < 2 or not all(items):
        what = "is not a quantity that a range could run through; give a list of two values or more"
        raise SheetError([_problem(over, field, f"{what}, as 'one, another' or 'one; another'")])
    return Swept(path, tuple(f"{path}={item}" for item in items), tuple(items))


def _spaced(over: str, field: Field, text: str, count: int) -> tuple[list[float], str, str]:
    """Evenly spaced values in the unit of the range, its ends exactly as written."""
    if not _RANGE.search(text):
        message = "is one value; wanted LOW to HIGH UNIT, or a list of two values or more"
        raise SheetError([_problem(over, field, message)])
    amount = _read(over, field, text, "range")
    low, high = (in_unit(si, amount.unit) for si in (amount.low, amount.high))
    if low == high:
        raise SheetError([_problem(over, field, "both ends are the same; there is no range")])
    values = [float(written(value)) for value in np.linspace(low, high, count)]
    if len(set(values)) < count:
        raise SheetError([_problem(over, field, f"the range is too narrow for {count} points")])
    return values, amount.unit, amount.reference


def _list_forms(quantity: Quantity) -> tuple[str, ...]:
    return tuple(dict.fromkeys(("single", *quantity.forms)))


def _read(over: str, field: Field, text: str, *forms: str) -> Amount:
    assert field.quantity is not None  # noqa: S101
    taker = replace(field.quantity, forms=forms)  # type: ignore[arg-type]
    try:
        return taker.read(text)
    except PydanticCustomError as refused:
        words = str((refused.context or {}).get("message", refused))
        raise SheetError([_problem(over, field, words)]) from None


def _listed(over: str, field: Field, path: str, amounts: list[Amount]) -> Swept:
    """A list of quantities: single values, or windows as they are written."""
    assert field.quantity is not None  # noqa: S101
    unit = amounts[-1].unit
    if {amount.form for amount in amounts} == {"single"}:
        values = [in_unit(amount.nominal, unit) for amount in amounts]
        return _set_to(over, field, path, values, unit, amounts[-1].reference)
    settings = tuple(f"{path}={amount.text.strip()}" for amount in amounts)
    if {amount.form for amount in amounts} == {"spread"}:
        spreads = tuple(in_unit(amount.high, unit) for amount in amounts)
        return Swept(path, settings, spreads, unit)
    if any(amount.form not in field.quantity.forms for amount in amounts):
        raise SheetError([_problem(over, field, "mixes single values and windows; write one kind")])
    lows, middles, highs = (
        tuple(in_unit(si, unit) for si in each)
        for each in zip(*((a.low, (a.low + a.high) / 2, a.high) for a in amounts), strict=True)
    )
    return Swept(path, settings, middles, unit, lows, highs)


def _set_to(
    over: str, field: Field, path: str, values: list[float], unit: str, reference: str
) -> Swept:
    """Set a field to single numbers: as they are, or as the middle of its window."""
    assert field.quantity is not None  # noqa: S101
    forms = field.quantity.forms
    if "single" in forms or forms == ("spread",):
        texts = (single_text(value, unit, forms, reference) for value in values)
        return Swept(path, tuple(f"{path}={text}" for text in texts), tuple(values), unit)
    share = _half_width(over, field)
    lows, highs = zip(*(ends_about(value, share) for value in values), strict=True)
    settings = tuple(
        f"{path}={window_text(low, high, unit, reference)}"
        for low, high in zip(lows, highs, strict=True)
    )
    return Swept(path, settings, tuple(values), unit, lows, highs)


def _half_width(over: str, field: Field) -> float:
    """Half the width of the window that the sheet gives, as a share of its middle."""
    if field.plain is None:
        message = "the sheet gives no window here whose width could be kept; list the windows"
        raise SheetError([_problem(over, field, message)])
    assert field.quantity is not None  # noqa: S101
    return half_share(_read(over, field, str(field.plain), *field.quantity.forms))


def _problem(over: str, field: Field, message: str) -> Problem:
    return Problem(f"--over {over}", None, ".".join(field.steps), "", message)
