"""What a part wore over its running time, where that leads, and when it is at its limit."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon
from matplotlib.ticker import MaxNLocator

from rebuildbook.calculators.wear_life import HOUR, WearLife
from rebuildbook.figures.style import (
    ACCENT,
    FAINT,
    INK,
    LINE,
    PAGE_MM,
    SMALL,
    SOFT,
    THIN,
    WARM,
    new_figure,
    styled,
)
from rebuildbook.units import shown_unit, to_unit

_HIGH = 36.0  # mm
_UNITS = ("mm", "in")
_FARTHEST = 4.0  # times the running time so far: how far ahead the axis goes at most


@styled()
def wear_line(life: WearLife, unit: str = "mm") -> Figure:
    """Draw the trend of the part now in.

    Its readings over its running hours, the line with its interval as a band, and the limit. Odd
    readings are crossed. ``unit`` is "mm" or "in".
    """
    if unit not in _UNITS:
        raise ValueError(f"unit {unit!r} given; sizes are drawn in {' or '.join(_UNITS)}")
    figure = new_figure(PAGE_MM * 0.6, _HIGH)
    width = PAGE_MM * 0.6
    axes = figure.add_axes((14.0 / width, 8.0 / _HIGH, (width - 32.0) / width, 1 - 10.0 / _HIGH))
    now, end = life.age, life.age + _ahead(life, life.lives[-1].since + life.age)
    fitted, growing = life.lives[-1].fitted, life.growing
    ages = np.linspace(0.0, end, 12)
    wear, half = life.line.wear(ages), life.line.half_width(ages)
    sides = [fitted + growing * (wear + sign * half) for sign in (1.0, -1.0)]
    hours = ages / HOUR
    outline = np.column_stack(
        [np.concatenate([hours, hours[::-1]]), np.concatenate([sides[0], sides[1][::-1]])]
    )
    outline[:, 1] = to_unit(1.0, unit) * outline[:, 1]
    axes.add_patch(Polygon(outline, facecolor=FAINT, clip_on=False, gid="interval"))
    axes.plot(
        [0.0, end / HOUR], to_unit(1.0, unit) * (fitted + growing * life.line.wear([0.0, end])),
        color=ACCENT, clip_on=False, gid="line",
    )  # fmt: skip
    limit = to_unit(life.limit, unit)
    axes.plot([0.0, end / HOUR], [limit, limit], color=INK, linewidth=LINE, clip_on=False)
    axes.text(end / HOUR, limit, f"  {_size(life.limit, unit)}", size=SMALL, va="center")
    _readings(axes, life, unit)
    axes.set_xlim(0.0, end / HOUR)
    axes.axvline(now / HOUR, color=SOFT, linewidth=THIN, clip_on=False, gid="now")
    axes.xaxis.set_major_locator(MaxNLocator(4))
    axes.yaxis.set_major_locator(MaxNLocator(3))
    axes.ticklabel_format(useOffset=False, style="plain")
    axes.set_xlabel("h", labelpad=1)
    axes.grid(visible=False)
    return figure


def _readings(axes: Axes, life: WearLife, unit: str) -> None:
    """The readings of the part now in; odd ones crossed out."""
    first = sum(len(one.times) for one in life.lives[:-1])
    part = life.lives[-1]
    for place, (time, size) in enumerate(zip(part.times, part.sizes, strict=True), start=first):
        odd = place in life.line.odd
        axes.plot(
            (time - part.since) / HOUR, to_unit(size, unit), "x" if odd else "o", markersize=4.0,
            color=WARM if odd else INK, clip_on=False, zorder=5, gid="odd" if odd else "readings",
        )  # fmt: skip


def _ahead(life: WearLife, now: float) -> float:
    """How far past the last entry the axis goes, s: to the limit's interval, within reason."""
    ran = now - life.lives[0].since
    times = [t for t in (life.time_high, life.time_left, life.time_low) if math.isfinite(t)]
    return min(1.12 * max(times, default=0.0) + 0.08 * ran, _FARTHEST * ran)


def _size(size: float, unit: str) -> str:
    return f"{to_unit(size, unit):.{2 if unit == 'mm' else 4}f} {shown_unit(unit)}"
