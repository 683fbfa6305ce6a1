"""Scales drawn on a page in millimetres: one quantity, in the shop's unit and in the other one.

Made for figures that are drawn anew while a slider moves: few artists, and words measured letter
by letter, because a whole word that was not seen before takes milliseconds.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.font_manager import findfont, get_font
from matplotlib.ticker import MaxNLocator

from rebuildbook.figures import style
from rebuildbook.figures.measure import POINT_MM
from rebuildbook.figures.pressure_ladder import spread
from rebuildbook.units import from_unit, shown_unit, to_unit
from rebuildbook.units.show import grouped, plain

_TICK = 1.2  # mm
_STEPS = (1.0, 2.0, 5.0)


@dataclass(frozen=True, slots=True)
class Scale:
    """Values from ``low`` to ``high`` (SI) laid from ``left`` to ``right`` mm, or their powers."""

    low: float
    high: float
    left: float
    right: float
    powers: bool = False

    def at(self, si: float) -> float:
        """Place of a value, kept within the scale (mm)."""
        inside = min(max(si, self.low), self.high)
        if self.powers:
            share = math.log(inside / self.low) / math.log(self.high / self.low)
        else:
            share = (inside - self.low) / (self.high - self.low)
        return self.left + share * (self.right - self.left)

    def ticks(self, unit: str, most: int = 6) -> list[tuple[float, str]]:
        """Round values in ``unit``: their places (mm) and how they are written."""
        low, high = to_unit(self.low, unit), to_unit(self.high, unit)
        values = _powers(low, high) if self.powers else _even(low, high, most)
        slack = 1e-9 * (high - low)
        return [
            (self.at(from_unit(value, unit)), grouped(plain(value)))
            for value in values
            if low - slack <= value <= high + slack
        ]


def _even(low: float, high: float, most: int) -> Sequence[float]:
    found = MaxNLocator(most, steps=[1, 2, 2.5, 5, 10]).tick_values(low, high)
    return [0.0 if abs(value) < 1e-9 * high else float(value) for value in found]


def _powers(low: float, high: float) -> Sequence[float]:
    first, last = math.floor(math.log10(low)), math.ceil(math.log10(high))
    steps = _STEPS if last - first <= 3 else _STEPS[:1]
    return [step * 10.0**power for power in range(first, last + 1) for step in steps]


def draw_scale(
    axes: Axes, scale: Scale, height: float, unit: str, *, above: bool = False, most: int = 6
) -> None:
    """Draw a scale at ``height`` mm, its numbers below it or above; the unit stands at its end."""
    way = 1.0 if above else -1.0
    axes.plot([scale.left, scale.right], [height] * 2, color=style.SOFT, lw=style.THIN)
    ticks = scale.ticks(unit, most)
    places = [x for x, _ in ticks]
    axes.vlines(places, height, height + way * _TICK, color=style.SOFT, lw=style.THIN)
    for x, words in ticks:
        axes.text(
            x, height + way * (_TICK + 0.6), words, ha="center", va="bottom" if above else "top",
            size=style.SMALL, color=style.SOFT, gid="tick",
        )  # fmt: skip
    axes.text(
        scale.right + 1.8, height, shown_unit(unit), ha="left", va="center", size=style.SMALL,
        color=style.SOFT, gid="unit",
    )  # fmt: skip


def breadth(words: str, size: float) -> float:
    """Width of words in the plain letters of all figures, mm."""
    return sum(map(_advance, words)) * size * POINT_MM


@functools.cache
def _advance(letter: str) -> float:
    """How far a letter moves the pen, as a share of its size."""
    font = get_font(findfont("DejaVu Sans"))
    font.set_size(100.0, 72)
    return float(font.load_char(ord(letter)).linearHoriAdvance) / 65536.0 / 100.0


def draw_names(
    axes: Axes, height: float, foot: float, named: Sequence[tuple[float, str]], page: float
) -> None:
    """Write names at ``height`` over their places, moved apart where they crowd.

    A thin line leads from each name down to its place at ``foot``; ``page`` is as wide as the
    names may go (all in mm).
    """
    rows = sorted(named)
    lines = [words.split("\n") for _, words in rows]
    widths = [max(breadth(line, style.SMALL) for line in one) + 3.0 for one in lines]
    middles = spread([x for x, _ in rows], widths, 1.0, page - 1.0)
    under = height - 1.6 * max((len(one) for one in lines), default=1)
    leaders = [[(x, foot), (middle, under)] for (x, _), middle in zip(rows, middles, strict=True)]
    axes.add_collection(LineCollection(leaders, colors=style.RULE, linewidths=style.HAIR))
    for (_, words), middle in zip(rows, middles, strict=True):
        axes.text(
            middle, height, words, ha="center", va="center", size=style.SMALL, linespacing=1.1,
            gid="named",
        )  # fmt: skip
