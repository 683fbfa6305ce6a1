"""The points of a sweep gathered into columns: numbers over the points, texts, levels."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from rebuildbook.worksheet.model import LEVELS
from rebuildbook.worksheet.sweep_points import Head, Part, Point

Mark = Literal["", "clear", "query", "hold", "error"]  # "" where the finding was not made
_Alike = tuple[list[int], list[Part]]  # points, and a section with the same lines at each
_SAME = 1e-12  # relative; less is noise of the last bit


@dataclass(slots=True)
class Numbers:
    """A numeric line over the points, SI; NaN where a point does not have it.

    The shop's unit goes by size: the largest value chooses it for all.
    """

    title: str
    computed: bool
    si: NDArray[np.float64]
    unit: str = ""
    largest: float = -1.0
    largest_at: int = 0

    def add(self, points: NDArray[np.intp], si: NDArray[np.float64], unit: str) -> None:
        """Take in the numbers at some rising points, all in one unit of the shop."""
        self.si[points] = si
        sizes = np.where(np.isnan(si), -1.0, np.abs(si))
        top = int(sizes.argmax())
        largest, at = float(sizes[top]), int(points[top])
        if (largest, -at) > (self.largest, -self.largest_at):
            self.unit, self.largest, self.largest_at = unit, largest, at

    @property
    def changes(self) -> bool:
        """Whether the number is not the same at all points that have it."""
        there = self.si[~np.isnan(self.si)]
        if there.size == 0:
            return False
        return bool(np.ptp(there) > _SAME * np.abs(there).max())


@dataclass(slots=True)
class Collected:
    """Lines and findings over all points, each kind in the order in which it first comes up."""

    numbers: dict[str, Numbers] = field(default_factory=dict)
    texts: dict[str, list[str]] = field(default_factory=dict)
    titles: dict[str, str] = field(default_factory=dict)
    levels: dict[str, list[Mark]] = field(default_factory=dict)
    worst: list[Mark] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)


def collect(points: list[Point]) -> Collected:
    """Gather the points of a plan, in its order."""
    made, count = Collected(), len(points)
    alike: dict[tuple[Head, ...], _Alike] = {}
    known: dict[int, _Alike] = {}  # by the very heads, of which there are few
    missing: list[Mark] = ["error" if isinstance(point, str) else "" for point in points]
    for place, point in enumerate(points):
        if isinstance(point, str):
            made.errors.append(point)
            made.worst.append("error")
            continue
        made.errors.append("")
        made.worst.append(LEVELS[min(part.worst for part in point)])
        for part in point:
            same = known.get(id(part.heads))
            if same is None:
                same = known[id(part.heads)] = alike.setdefault(part.heads, ([], []))
            where, parts = same
            where.append(place)
            parts.append(part)
            for id_, level in part.levels:
                made.levels.setdefault(id_, list(missing))[place] = level
            for id_, title, words in part.texts:
                made.titles.setdefault(id_, title)
                made.texts.setdefault(id_, [""] * count)[place] = words
    for heads, (where, parts) in alike.items():
        _spread(made.numbers, heads, np.array(where), parts, count)
    return made


def _spread(
    numbers: dict[str, Numbers],
    heads: tuple[Head, ...],
    where: NDArray[np.intp],
    parts: list[Part],
    count: int,
) -> None:
    """Lay the numbers of sections that have the same lines into the columns of these."""
    block = np.array([part.numbers for part in parts])
    for place, head in enumerate(heads):
        kept = numbers.get(head.id)
        if kept is None:
            kept = Numbers(head.title, head.computed, np.full(count, np.nan))
            numbers[head.id] = kept
        kept.add(where, block[:, place], head.unit)
