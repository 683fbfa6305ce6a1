"""How the pressure climbs, stroke by stroke, with the outlet closed and the relief valve stuck.

Drawn for paper: legible 80 mm wide and in grey. Limits, test and burst pressures each have their
own line style.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from rebuildbook.calculators.relief_stuck import Kind, StuckRise
from rebuildbook.figures import style
from rebuildbook.figures.pressure_ladder import spread
from rebuildbook.units import DIMENSIONS, to_unit

STRIP_MM = 40.0  # height of the figure
_LOOKS: dict[Kind, tuple[Any, float]] = {
    "limit": ("-", style.HEAVY),
    "test": ((0, (7, 2)), style.LINE),
    "burst": ("-.", style.LINE),
}


@style.styled()
def stuck_strip(rise: StuckRise, unit: str = "bar") -> Figure:
    """Draw the pressure of ``rise`` over strokes, without words, for a caption to name.

    Each limit, test and burst pressure has the place of its part in ``rise.ranking`` beside it,
    from 1 on; the curve ends at the stall or at the highest of them. ``unit`` is a pressure unit.
    Raises ValueError for another one or nothing to draw.
    """
    top = _top(rise, unit)
    figure = style.new_figure(style.COLUMN_MM, STRIP_MM)
    axes = figure.add_axes((0.12, 0.12, 0.80, 0.85))
    strokes = max(float(rise.section.volume_to(top, rise.start)) / rise.displaced, 1e-9)
    places = np.linspace(0.0, strokes, 25 if rise.section.gas else 2)
    if math.isfinite(rise.stall):  # the corner where the drive stalls
        stall = float(rise.section.volume_to(max(rise.stall, rise.start), rise.start))
        places = np.union1d(places, min(stall / rise.displaced, strokes))
    own: dict[str, Any] = {"color": style.INK, "clip_on": False}
    shown = [to_unit(p, unit) for p in rise.pressures(places)]
    axes.plot(places, shown, linewidth=style.LINE, gid="rise", **own)
    place_of = {ranked.part.name: place for place, ranked in enumerate(rise.ranking, 1)}
    names: dict[float, list[int]] = {}
    looks: dict[float, tuple[Any, float]] = {}
    for mark in rise.milestones:
        height = to_unit(mark.pressure, unit)
        names.setdefault(height, []).append(place_of[mark.name])
        looks.setdefault(height, _LOOKS[mark.kind])
    if math.isfinite(rise.stall):
        names.setdefault(to_unit(rise.stall, unit), [])
        looks.setdefault(to_unit(rise.stall, unit), (":", style.LINE))
    for height, look in looks.items():
        axes.plot(
            [0.0, strokes], [height] * 2, linestyle=look[0], linewidth=style.THIN,
            color=style.SOFT, clip_on=False, gid="mark",
        )  # fmt: skip
    _number_marks(axes, names, strokes, 1.05 * to_unit(top, unit))
    axes.xaxis.set_major_locator(MaxNLocator(4))
    axes.yaxis.set_major_locator(MaxNLocator(4))
    axes.tick_params(length=0.0, pad=2)
    axes.grid(visible=False)
    return figure


def _number_marks(axes: Axes, names: dict[float, list[int]], strokes: float, top: float) -> None:
    """Write the places of the parts beside their marks, moved apart."""
    axes.set_xlim(0.0, strokes)
    axes.set_ylim(0.0, top)
    heights = sorted(height for height in names if names[height])
    wanted = [height / top for height in heights]
    middles = spread(wanted, [0.07] * len(wanted), 0.0, 1.0)
    for height, middle in zip(heights, middles, strict=True):
        axes.text(
            1.01 * strokes, middle * top, _runs(sorted(names[height])), size=style.SMALL,
            va="center", gid="name",
        )  # fmt: skip


def _runs(places: list[int]) -> str:
    """Write places briefly: 1 2 3 5 as "1–3 5"."""
    runs: list[list[int]] = []
    for place in places:
        if runs and place == runs[-1][-1] + 1:
            runs[-1].append(place)
        else:
            runs.append([place])
    return " ".join(f"{r[0]}–{r[-1]}" if len(r) > 1 else str(r[0]) for r in runs)


def _top(rise: StuckRise, unit: str) -> float:
    """Highest pressure to draw, Pa; raises ValueError for a wrong unit or nothing to draw."""
    kind = DIMENSIONS["pressure"]
    if unit not in (*kind.metric, *kind.us):
        raise ValueError(f"{unit!r} is no pressure unit; take one of {(*kind.metric, *kind.us)}")
    ends = [mark.pressure for mark in rise.milestones]
    stalls = [rise.stall] if math.isfinite(rise.stall) else []
    if not ends and not stalls:
        raise ValueError("neither a part's limit nor a stall is known; there is nothing to draw")
    return max([*ends, *stalls])
