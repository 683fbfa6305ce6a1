"""Where findings change their level over a sweep, in words."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rebuildbook.units import with_unit
from rebuildbook.worksheet.model import LEVELS
from rebuildbook.worksheet.sweep import Sweep
from rebuildbook.worksheet.sweep_collect import Mark
from rebuildbook.worksheet.sweep_plan import Swept

_MARKS: tuple[Mark, ...] = (*LEVELS, "", "error")
MOST_RUNS = 6  # stretches of one level that are told one by one
MOST_NAMED = 6
WORDS: dict[Mark, str] = {
    "hold": "hold",
    "query": "query",
    "clear": "clear",
    "": "not raised",
    "error": "not worked out",
}


@dataclass(frozen=True, slots=True)
class Stretch:
    """Where one finding has one level: in words, at ``others`` of the fields that stay put."""

    finding: str
    level: str
    where: str
    others: str = ""


def stretches(sweep: Sweep) -> Iterator[Stretch]:
    """Tell, finding by finding, where its level changes along the first swept field.

    In a grid this is told at the lowest, the middle and the highest step of the second field, the
    others kept at their middle.
    """
    first = sweep.plan.swept[0]
    through = list(lines_through(sweep))
    for finding, marks in sweep.changing.items():
        told = [
            (others, list(ranges([marks[point] for point in points], first)))
            for others, points in through
        ]
        if len(told) > 1 and all(found == told[0][1] for _, found in told):
            told = [("any", told[0][1])]
        for others, found in told:
            yield from (Stretch(finding, level, where, others) for level, where in found)


def lines_through(sweep: Sweep) -> Iterator[tuple[str, list[int]]]:
    """Points along the first swept field: what the other fields stand at, and the points."""
    plan = sweep.plan
    if not plan.grid:
        yield "", list(range(len(plan)))
        return
    sizes = [len(one) for one in plan.swept]
    kept = [size // 2 for size in sizes]
    second = dict.fromkeys((0, sizes[1] // 2, sizes[1] - 1))
    for step in second:
        at = [*kept[:1], step, *kept[2:]]
        others = list(zip(plan.swept[1:], at[1:], strict=True))
        words = [f"{one.path} {worded(one, place)}" for one, place in others]
        if len(others) == 1:  # the head of its column names it
            words = [worded(*others[0])]
        yield ", ".join(words), [_point(sizes, [place, *at[1:]]) for place in range(sizes[0])]


def _point(sizes: Sequence[int], steps: Sequence[int]) -> int:
    """Number of a grid point whose last field changes fastest."""
    number = 0
    for size, step in zip(sizes, steps, strict=True):
        number = number * size + step
    return number


def ranges(marks: Sequence[Mark], swept: Swept) -> Iterator[tuple[str, str]]:
    """Each level and the values at which it stands; only points that were worked out are told."""
    if not swept.rising:
        yield from _by_value(marks, swept)
        return
    found = runs(marks)
    if len(found) > MOST_RUNS:
        yield from _counted(marks, swept)
        return
    last = len(marks) - 1
    for mark, begin, end in found:
        low, high = worded(swept, begin), worded(swept, end)
        if begin == 0 and end == last:
            where = "throughout"
        elif begin == end:
            where = f"at {low}"
        elif begin == 0:
            where = f"up to {high}"
        elif end == last:
            where = f"from {low}"
        else:
            where = between(swept, begin, end)
        yield WORDS[mark], where


def runs(marks: Sequence[Mark]) -> list[tuple[Mark, int, int]]:
    """Stretches of one mark: the mark, its first and its last place.

    >>> runs(["hold", "hold", "query", "clear", "clear"])
    [('hold', 0, 1), ('query', 2, 2), ('clear', 3, 4)]
    """
    found: list[tuple[Mark, int, int]] = []
    place = 0
    for mark, group in itertools.groupby(marks):
        size = len(list(group))
        found.append((mark, place, place + size - 1))
        place += size
    return found


def _by_value(marks: Sequence[Mark], swept: Swept) -> Iterator[tuple[str, str]]:
    for mark in _MARKS:
        places = [place for place, found in enumerate(marks) if found == mark]
        if places:
            named = ", ".join(worded(swept, place) for place in places[:MOST_NAMED])
            more = len(places) - MOST_NAMED
            yield WORDS[mark], named + (f" and {more} more" if more > 0 else "")


def _counted(marks: Sequence[Mark], swept: Swept) -> Iterator[tuple[str, str]]:
    """A level that comes and goes often: how many points have it, and between which."""
    for mark in _MARKS:
        places = [place for place, found in enumerate(marks) if found == mark]
        if places:
            where = between(swept, places[0], places[-1])
            yield WORDS[mark], f"{len(places)} of {len(marks)} points, {where}, on and off"


def worded(swept: Swept, place: int) -> str:
    """One value of a swept field, with as many figures as tell it from its neighbours."""
    value = swept.values[place]
    if isinstance(value, str):
        return value
    text = f"{value:.{decimals(swept)}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return with_unit(text.replace("-", "−"), swept.unit)


def between(swept: Swept, begin: int, end: int) -> str:
    """Two values of a swept field with their unit once."""
    low = worded(swept, begin).removesuffix(with_unit("", swept.unit))
    return f"{low} to {worded(swept, end)}"


def decimals(swept: Swept) -> int:
    """Decimal places that leave a tenth of the least step or less unsaid; none too many.

    >>> decimals(Swept("a", ("",) * 3, (15.0, 15.5, 16.0)))
    1
    """
    values = [float(value) for value in swept.values]
    step = min((abs(b - a) for a, b in itertools.pairwise(values) if a != b), default=1.0)
    most = max(0, 1 - math.floor(math.log10(step)))
    for places in range(most):
        if all(abs(round(value, places) - value) < 1e-9 * step for value in values):
            return places
    return most


def standing(sweep: Sweep) -> list[str]:
    """The findings that hold the job at every point that was worked out."""
    return [
        id_
        for id_, marks in sweep.levels.items()
        if {mark for mark in marks if mark != "error"} == {"hold"}
    ]
