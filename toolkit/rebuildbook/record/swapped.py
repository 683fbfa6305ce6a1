"""Columns that were swapped: each cell would be right in the other column."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from itertools import combinations

from rebuildbook.record.amounts import read_day
from rebuildbook.record.bench import Bench
from rebuildbook.record.raw import Raw
from rebuildbook.sheets import Problem
from rebuildbook.units import UnitProblem
from rebuildbook.units.parse import parse_unit

_NUMBER = re.compile(r"[+\-]?[\d.,]*\d")
_DIMENSION = {"torque": "torque", "measurement": "length"}
ALIKE = 1e-9  # relative; a reading that is a limit to its last place


def swapped_columns(raws: Sequence[Raw], bench: Bench) -> list[Problem]:
    """Name the columns that look swapped, once a sheet, at the first row that shows it.

    A row shows it where neither cell fits its own column and each fits the other's; a sheet where
    at least half the rows do that have both cells.
    """
    found = []
    for kind in dict.fromkeys((raw.kind, raw.place.file, raw.place.sheet) for raw in raws):
        rows = [raw for raw in raws if (raw.kind, raw.place.file, raw.place.sheet) == kind]
        for one, other in combinations(("fastener", "reading", "unit", "tool", "date"), 2):
            shown = [raw for raw in rows if _crossed(raw, one, other, bench)]
            both = sum(1 for raw in rows if _cell(raw, one) and _cell(raw, other))
            if shown and 2 * len(shown) >= both:
                found.append(_told(shown, one, other))
    return found or _limits_read(raws, bench)


def _told(rows: Sequence[Raw], one: str, other: str) -> Problem:
    first = rows[0]
    given = f"{_cell(first, one)} as {one}, {_cell(first, other)} as {other}"
    some = f"{len(rows)} rows" if len(rows) > 1 else "this row"
    message = f"the columns {one} and {other} look swapped in {some}: each would fit the other"
    return first.place.problem(one, given, message)


def _crossed(raw: Raw, one: str, other: str, bench: Bench) -> bool:
    here, there = _cell(raw, one), _cell(raw, other)
    if not here or not there:
        return False
    fits_one, fits_other = _fits(raw, one, bench), _fits(raw, other, bench)
    # a fastener's number is a number too, so that column alone decides for the pair
    wrong = not fits_one(here) and (one == "fastener" or not fits_other(there))
    return wrong and fits_one(there) and fits_other(here)


def _cell(raw: Raw, name: str) -> str:
    cells = {"fastener": raw.number, "reading": raw.value, "unit": raw.unit, "tool": raw.tool}
    return cells.get(name, raw.on)


def _fits(raw: Raw, name: str, bench: Bench) -> Callable[[str], bool]:
    def fastener(text: str) -> bool:
        count = bench.joints[raw.subject].count if raw.subject in bench.joints else 200
        return text.isdecimal() and 1 <= int(text) <= count

    def unit(text: str) -> bool:
        try:
            parse_unit(text, _DIMENSION.get(raw.kind, "pressure"))
        except UnitProblem:
            return False
        return True

    def day(text: str) -> bool:
        try:
            read_day(text)
        except ValueError:
            return False
        return True

    def number(text: str) -> bool:
        return _NUMBER.match(text) is not None and not day(text)

    def tool(text: str) -> bool:
        return text in bench.wrenches or text in bench.case.shop.gauges

    fits = {"fastener": fastener, "reading": number, "unit": unit, "tool": tool, "date": day}
    return fits[name]


def _limits_read(raws: Iterable[Raw], bench: Bench) -> list[Problem]:
    """Find a column of limits, or of new sizes, that was read as the measured one."""
    hits: Counter[str] = Counter()
    rows = [raw for raw in raws if raw.kind == "measurement" and raw.value]
    for raw in rows:
        limit = bench.case.model.wear_limits.get(raw.subject)
        if limit is None or _NUMBER.fullmatch(raw.value) is None:
            continue
        try:
            value = float(raw.value.replace(",", "."))
        except ValueError:
            continue
        for name, size in (("limit", limit.reuse_limit), ("new size", limit.new)):
            written = size.to(size.unit)
            hits[name] += abs(value - written) <= ALIKE * abs(written)
        if raw.shown and value in _numbers(limit.reuse_limit.canonical, limit.new.canonical):
            beside = raw.shown.replace(",", ".")
            hits["shown"] += _NUMBER.fullmatch(beside) is not None
    for name in ("shown", "limit", "new size"):
        least = 1 if name == "shown" else 2
        # a part as new is common, all of them as new to the last place is a column read wrongly
        if hits[name] >= least and hits[name] == len(rows):
            what = "limit" if name == "shown" else name
            message = (
                f"the measured column and the {what} look swapped: what was read is the {what}"
            )
            return [rows[0].place.problem("reading", rows[0].value, message)]
    return []


def _numbers(*texts: str) -> set[float]:
    return {float(text) for one in texts for text in re.findall(r"\d+(?:\.\d+)?", one)}
