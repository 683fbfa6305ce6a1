"""How the pressure climbs, stroke by stroke, with the outlet closed and the relief valve stuck.

Drawn for paper: legible 80 mm wide and in grey. Limits, test and burst pressures each have their
own line style and their name in words.
"""

from __future__ import annotations

import math
import textwrap
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from rebuildbook.calculators.relief_stuck import Kind, Milestone, StuckRise
from rebuildbook.figures import style
from rebuildbook.figures.pressure_ladder import spread
from rebuildbook.units import DIMENSIONS, number, shown_unit, to_unit, with_unit

LEFT, NAMES, RIGHT = 13.5, 33.0, 0.5  # mm: scale, names beside the chart, margin
LEAST_HEIGHT, FOOT = 50.0, 9.0  # mm of chart, and under it
LINE, GAP = 2.9, 1.0  # mm from one line of a name to the next, and between names
CHARACTERS, TITLE_CHARACTERS = 20, 44
MOST_MARKS = 40  # whole strokes that can be marked one by one
POINTS = 241
_LOOKS: dict[Kind, tuple[Any, float]] = {
    "limit": ("-", style.HEAVY),
    "test": ((0, (7, 2)), style.LINE),
    "burst": ("-.", style.LINE),
}
_WORDS: dict[Kind, str] = {"limit": "limit", "test": "test", "burst": "bursts"}


@style.styled()
def stuck_rise(rise: StuckRise, unit: str = "bar", title: str = "") -> Figure:
    """Draw the pressure of ``rise`` over strokes against what its parts stand.

    ``unit`` is a pressure unit. The curve ends at the stall or at the highest mark of a part; a dot
    stands on every whole stroke where they are few enough. A mark that the drive does not reach has
    no stroke in its name. Raises ValueError for a unit that is no pressure or nothing to draw.
    """
    top = _top(rise, unit)
    rows = _rows(rise, unit)
    needed = sum(LINE * len(text) + GAP for _, text, _ in rows)
    heading = textwrap.wrap(title, TITLE_CHARACTERS)
    chart = max(LEAST_HEIGHT, needed)
    height = FOOT + chart + 3.0 + 3.4 * len(heading) + 1.0
    figure = style.new_figure(style.COLUMN_MM, height)
    page = style.page_axes(figure)
    for row, text in enumerate(heading):
        page.text(2.0, height - 1.5 - 3.4 * row, text, va="top", weight="bold", gid="words")
    wide = style.COLUMN_MM - LEFT - NAMES - RIGHT
    share = (style.COLUMN_MM, height)
    axes = figure.add_axes((LEFT / share[0], FOOT / share[1], wide / share[0], chart / share[1]))
    axes.set_ylim(0.0, 1.05 * to_unit(top, unit))
    _draw_curve(axes, rise, unit, top)
    for pressure, _, look in rows:
        axes.axhline(
            to_unit(pressure, unit), linestyle=look[0], linewidth=look[1], color=style.SOFT,
            zorder=1, gid="mark",
        )  # fmt: skip
    _name_marks(page, rows, chart, 1.05 * top)
    axes.set_ylabel(f"Pressure, {shown_unit(unit)}", labelpad=2)
    axes.grid(visible=False)
    return figure


STRIP_MM = 40.0  # height of the small figure


@style.styled()
def stuck_strip(rise: StuckRise, unit: str = "bar") -> Figure:
    """Draw the rise small and without words, for a caption to name.

    Marks as in ``stuck_rise``, each with the place of its part in ``rise.ranking``, from 1 on.
    Raises ValueError as that does.
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


def _draw_curve(axes: Axes, rise: StuckRise, unit: str, top: float) -> None:
    last = float(rise.section.volume_to(min(top, max(rise.stall, rise.start)), rise.start))
    strokes = max(last / rise.displaced, 1e-9) * (1.15 if math.isfinite(rise.stall) else 1.0)
    places = np.linspace(0.0, strokes, POINTS)
    axes.plot(
        places, [to_unit(p, unit) for p in rise.pressures(places)], color=style.INK,
        linewidth=style.LINE, zorder=3, gid="rise",
    )  # fmt: skip
    whole = np.arange(0.0, math.floor(strokes) + 1.0)
    if 1 < whole.size <= MOST_MARKS:
        axes.plot(
            whole, [to_unit(p, unit) for p in rise.pressures(whole)], "o", color=style.INK,
            markersize=3.0, zorder=4, gid="strokes",
        )  # fmt: skip
    axes.set_xlim(0.0, strokes)
    axes.xaxis.set_major_locator(MaxNLocator(4, integer=strokes >= 4.0))
    axes.yaxis.set_major_locator(MaxNLocator(6))
    seconds = strokes / rise.rate
    axes.set_xlabel(f"Strokes or turns ({number(seconds, 2)} s in all)", labelpad=2)


def _rows(rise: StuckRise, unit: str) -> list[tuple[float, list[str], tuple[Any, float]]]:
    """Pressure (Pa), lines of its name (the value last) and look of every mark, rising."""
    found = [(mark.pressure, _name(mark, unit), _LOOKS[mark.kind]) for mark in rise.milestones]
    if math.isfinite(rise.stall):
        stall = ["Drive stalls", _written(rise.stall, unit)]
        found.append((rise.stall, stall, (":", style.LINE)))
    return sorted(found, key=lambda row: row[0])


def _name(mark: Milestone, unit: str) -> list[str]:
    value = _written(mark.pressure, unit)
    when = f"stroke {number(mark.strokes)}" if mark.reached else "not reached"
    return [*textwrap.wrap(f"{mark.name}: {_WORDS[mark.kind]}", CHARACTERS), f"{value}, {when}"]


def _written(pressure: float, unit: str) -> str:
    return with_unit(number(to_unit(pressure, unit)), unit)


def _name_marks(
    page: Axes, rows: list[tuple[float, list[str], tuple[Any, float]]], chart: float, top: float
) -> None:
    """Write the names beside the chart, moved apart, each with a thin lead to its line."""
    wanted = [pressure / top * chart for pressure, _, _ in rows]
    middles = spread(wanted, [LINE * len(text) + GAP for _, text, _ in rows], 0.0, chart)
    edge = style.COLUMN_MM - NAMES - RIGHT
    for (_, text, _), at, middle in zip(rows, wanted, middles, strict=True):
        page.plot(
            [edge, edge + 2.6], [FOOT + at, FOOT + middle], color=style.SOFT, linewidth=style.HAIR
        )
        for row, words in enumerate(text):
            height = FOOT + middle + LINE * (len(text) / 2.0 - row - 0.5)
            page.text(
                edge + 3.0, height, words, size=style.SMALL, va="center", gid="name",
                weight="bold" if row < len(text) - 1 else "normal",
            )  # fmt: skip
