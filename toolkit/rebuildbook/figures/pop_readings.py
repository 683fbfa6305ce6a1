"""Opening pressures of a bench test in the order read, against the set pressure and its tolerance.

Drawn for paper: legible 80 mm wide and in grey. Every mark has its own shape.
"""

from __future__ import annotations

import math
from typing import Any

from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from rebuildbook.calculators.pop_test import PopVerdict
from rebuildbook.figures import style
from rebuildbook.units import DIMENSIONS, to_unit

MOST_NUMBERS = 10  # pops that can be numbered one by one
STRIP_MM = 30.0  # height of the figure


@style.styled()
def pop_strip(verdict: PopVerdict, unit: str = "bar") -> Figure:
    """Draw the pops without words, for a caption to name: band, set, pops, mean.

    A first pop that stuck is an open diamond and stays out of the mean. ``unit`` is a pressure
    unit; raises ValueError for another one.
    """
    _check_unit(unit)
    test, count = verdict.test, len(verdict.test.readings)
    shown = [to_unit(pressure, unit) for pressure in test.readings]
    middle, band = (to_unit(pressure, unit) for pressure in (test.set_pressure, test.band))
    figure = style.new_figure(style.COLUMN_MM, STRIP_MM)
    axes = figure.add_axes((0.12, 0.15, 0.86, 0.82))
    ends = (0.5, count + 0.5)
    axes.fill(
        [ends[0], ends[1], ends[1], ends[0]], [middle - band] * 2 + [middle + band] * 2,
        color=style.FILL, clip_on=False, gid="band",
    )  # fmt: skip
    own: dict[str, Any] = {"color": style.INK, "clip_on": False}
    axes.plot(ends, [middle] * 2, "--", linewidth=style.THIN, gid="set", **own)
    stuck = 1 if verdict.first_sticks else 0
    mean = to_unit(verdict.settled.mean, unit)
    axes.plot([0.7 + stuck, count + 0.3], [mean] * 2, linewidth=style.LINE, gid="mean", **own)
    places = list(range(1, count + 1))
    axes.plot(places[stuck:], shown[stuck:], "o", markersize=3.5, gid="pops", **own)
    if stuck:
        axes.plot(1, shown[0], "D", markerfacecolor=style.PAPER, markersize=4.5, gid="first", **own)
    low, high = min([middle - band, *shown]), max([middle + band, *shown])
    axes.set_ylim(low - 0.05 * (high - low), high + 0.05 * (high - low))
    axes.set_xlim(*ends)
    axes.yaxis.set_major_locator(MaxNLocator(3))
    axes.set_xticks(places[:: max(1, math.ceil(count / MOST_NUMBERS))])
    axes.grid(visible=False)
    axes.tick_params(length=0.0, pad=2)
    return figure


def _check_unit(unit: str) -> None:
    kind = DIMENSIONS["pressure"]
    if unit not in (*kind.metric, *kind.us):
        raise ValueError(f"{unit!r} is no pressure unit; take one of {(*kind.metric, *kind.us)}")
