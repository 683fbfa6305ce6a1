"""The preload of one joint before and after a change, between opening and yielding.

Two rows on one scale, so that a change is seen as a shift. What lies past a limit is hatched and
every limit carries its name, so that nothing hangs on colour.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from rebuildbook.figures import style
from rebuildbook.figures.scales import Scale, breadth, draw_names, draw_scale
from rebuildbook.units import number, show, to_unit, with_unit

WIDTH, HEIGHT = 130.0, 84.0  # mm
LEFT, RIGHT = 15.0, 119.0  # mm, ends of the scale
ROWS = (("before", 50.0), ("after", 19.0))  # mm, the feet of the humps
HUMP, BAR, WINDOW, NAMES = 13.0, 2.2, 4.4, 19.5  # mm, from the foot of a row
KEY = 2.6  # mm
BINS = 40
LABEL_GAP = 2.0  # mm


@dataclass(frozen=True, slots=True, eq=False)
class PreloadPicture:
    """One state of a joint; forces in N.

    ``draws`` are trials of the preload in rising order and ``interval`` what 95 in 100 of them
    hold; ``window`` is what the maker's window leaves room for. Below ``opens`` the joint opens,
    at ``yields`` the fastener yields, at ``strips`` the tapped thread goes; None where not known.
    ``units`` are the shop's and the other system's, empty where there is no other.
    """

    draws: NDArray[np.float64]
    interval: tuple[float, float]
    typical: float
    window: tuple[float, float]
    opens: float | None
    proof: float
    yields: float
    strips: float | None
    units: tuple[str, str]


@style.styled()
def preload_change(after: PreloadPicture, before: PreloadPicture) -> Figure:
    """Draw both states on one scale of preload; raises ValueError for one without trials."""
    states = {"before": before, "after": after}
    for name, state in states.items():
        if state.draws.size < 2 or not np.all(np.isfinite(state.draws[[0, -1]])):
            raise ValueError(f"{name}: {state.draws.size} trials, all to be finite")
    figure = style.new_figure(WIDTH, HEIGHT)
    axes = style.page_axes(figure)
    scale = Scale(0.0, 1.04 * max(_farthest(state) for state in states.values()), LEFT, RIGHT)
    unit, other = after.units
    draw_scale(axes, scale, ROWS[1][1] - 7.0, unit)
    if other:
        draw_scale(axes, scale, HEIGHT - 7.5, other, above=True)
    for name, foot in ROWS:
        _row(axes, scale, name, foot, states[name], unit)
    _key(axes)
    return figure


def _farthest(state: PreloadPicture) -> float:
    """The highest preload worth showing; a thread that strips far beyond yield is not."""
    ends = [float(state.draws[-1]), state.yields, state.window[1], state.opens or 0.0]
    if state.strips is not None and state.strips < 1.3 * max(ends):
        ends.append(state.strips)
    return max(ends)


def _row(
    axes: Axes, scale: Scale, name: str, foot: float, state: PreloadPicture, unit: str
) -> None:
    axes.text(LEFT - 2.0, foot + 4.0, name, ha="right", va="center", weight="bold", gid="row")
    axes.plot([LEFT, RIGHT], [foot] * 2, color=style.FAINT, lw=style.HAIR, zorder=0)
    _hump(axes, scale, foot, state)
    low, high = (scale.at(force) for force in state.interval)
    axes.plot(
        [low, high], [foot - BAR] * 2, color=style.ACCENT, lw=style.HEAVY + 1.0,
        solid_capstyle="butt", gid="interval",
    )  # fmt: skip
    middle = scale.at(state.typical)
    axes.plot(
        [middle], [foot - BAR], marker="o", markersize=4.0, markerfacecolor=style.PAPER,
        markeredgecolor=style.INK, markeredgewidth=style.THIN, zorder=4,
    )  # fmt: skip
    low, high = (scale.at(force) for force in state.window)
    _bracket(axes, low, high, foot - WINDOW)
    words = " to ".join(number(to_unit(force, unit)) for force in state.interval)
    words = with_unit(words, unit)
    axes.text(
        *_beside(scale, state, foot, breadth(words, style.SMALL)), words, va="center",
        size=style.SMALL, color=style.INK, gid="interval-words",
    )  # fmt: skip
    _limits(axes, scale, foot, state, unit)


def _beside(scale: Scale, state: PreloadPicture, foot: float, width: float) -> tuple[float, float]:
    """Where the interval's words stand: after bar and bracket, before them where there is no room.

    Failing both, they stand at the end of the row and the bar runs under them.
    """
    last = scale.at(max(state.interval[1], state.window[1])) + LABEL_GAP
    first = scale.at(min(state.interval[0], state.window[0])) - LABEL_GAP - width
    if last + width <= WIDTH - 1.0:
        return last, foot - BAR - 0.4
    return (first if first >= 1.0 else WIDTH - 1.0 - width), foot - BAR - 0.4


def _hump(axes: Axes, scale: Scale, foot: float, state: PreloadPicture) -> None:
    """The trials as a stepped outline, filled; hatched where it lies past a limit."""
    edges = np.linspace(state.draws[0], max(state.draws[-1], state.draws[0] + 1e-6), BINS + 1)
    past = [force for force in (state.opens, _gives(state)) if force is not None]
    edges = np.unique([*edges, *(force for force in past if edges[0] < force < edges[-1])])
    # the draws are in order: a search is a tenth of the work of a histogram
    counts = np.diff(np.searchsorted(state.draws, edges))
    heights = counts / np.diff(edges)
    heights = HUMP * heights / heights.max()
    middles = (edges[1:] + edges[:-1]) / 2.0
    beyond = middles > _gives(state)
    if state.opens is not None:
        beyond |= middles < state.opens
    places = np.array([scale.at(float(edge)) for edge in edges])
    looks: tuple[tuple[str, NDArray[np.bool_], Any], ...] = (
        ("within", ~beyond, {"facecolor": style.FILL}),
        ("past", beyond, {"facecolor": style.PAPER, "hatch": "////", "edgecolor": style.INK}),
    )
    for name, chosen, look in looks:
        if np.any(chosen & (counts > 0)):
            axes.stairs(
                np.where(chosen, foot + heights, foot), places, baseline=foot, fill=True, lw=0.0,
                zorder=1, gid=name, **look,
            )  # fmt: skip
    axes.stairs(foot + heights, places, baseline=foot, color=style.INK, lw=style.THIN, zorder=2)


def _gives(state: PreloadPicture) -> float:
    """The preload at which fastener or thread gives way, N."""
    return min(state.yields, state.strips) if state.strips is not None else state.yields


def _bracket(axes: Axes, low: float, high: float, height: float) -> None:
    look: Any = {"color": style.SOFT, "lw": style.THIN}
    axes.plot([low, high], [height] * 2, gid="window", **look)
    axes.vlines([low, high], height - 0.9, height + 0.9, **look)


def _limits(axes: Axes, scale: Scale, foot: float, state: PreloadPicture, unit: str) -> None:
    """A line for each limit, its name and value above the hump, moved apart where they crowd."""
    known = [
        ("opens", state.opens, (0, (4, 1.5)), style.WARM),
        ("proof", state.proof, (0, (1, 1.3)), style.INK),
        ("yields", state.yields, "-", style.INK),
        ("strips", state.strips, (0, (6, 1.2, 1, 1.2)), style.INK),
    ]
    top, named = foot + HUMP + 2.0, []
    for name, force, dash, ink in known:
        if force is None:
            continue
        x, off = scale.at(force), force > scale.high
        named.append((x, f"{name}\n{show(force, unit)}{' →' if off else ''}"))
        if not off:
            axes.plot([x, x], [foot, top], color=ink, lw=style.LINE, linestyle=dash, zorder=3)
    draw_names(axes, foot + NAMES, top, named, WIDTH)


def _key(axes: Axes) -> None:
    x = LEFT
    axes.plot([x, x + 6], [KEY] * 2, color=style.ACCENT, lw=style.HEAVY + 1.0)
    axes.plot(
        [x + 3], [KEY], marker="o", markersize=4.0, markerfacecolor=style.PAPER,
        markeredgecolor=style.INK, markeredgewidth=style.THIN,
    )  # fmt: skip
    _words(axes, x + 7.5, "95 in 100, typical")
    _bracket(axes, x + 38.0, x + 44.0, KEY)
    _words(axes, x + 45.5, "room of the maker's window")
    axes.fill(
        [x + 85, x + 91, x + 91, x + 85], [KEY - 1.2, KEY - 1.2, KEY + 1.2, KEY + 1.2],
        facecolor=style.PAPER, edgecolor=style.INK, hatch="////", lw=style.HAIR,
    )  # fmt: skip
    _words(axes, x + 92.5, "past a limit")


def _words(axes: Axes, x: float, words: str) -> None:
    axes.text(x, KEY, words, va="center", size=style.SMALL, color=style.SOFT, gid="key")
