"""How even the planned passes leave a joint: every bolt step by step, and the orders' ends.

Words are few here, each letter being an outline of its own in the page; the caption has them.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, MaxNLocator
from numpy.typing import NDArray

from rebuildbook.calculators.interaction import History
from rebuildbook.figures import style
from rebuildbook.units import shown_unit, to_unit

HEIGHT = 46.0  # mm
LEFT, TOP, BOTTOM, RIGHT = 14.0, 3.0, 6.0, 3.0  # mm
STRIP = 41.0  # mm, width of the orders' strip
NAMES = 23.0  # mm, between steps and strip, for the bolts' numbers and the orders' names
UNSEEN = 0.012  # share of the axis (0.4 mm) within which a line may run beside its points
MOST_LINES = 16  # bolts with a line of their own; more are drawn as the range they fill
BOLD = 1.7  # points
ALIKE = 1e-3  # share of the target below which all bolts end alike

Array = NDArray[np.float64]
Ends = tuple[tuple[float, float], ...]


@style.styled()
def evenness(
    history: History, orders: Mapping[str, Ends], unit: str = "kN", *, share: float = 0.20
) -> Figure:
    """Draw each bolt's preload after every step, and beside it where each order ends.

    ``orders`` holds, by its name, the least and most that a bolt has (in parts of the target)
    after the torque passes (thin) and after the round that follows (heavy). The bolt that ends
    lowest is dashed, the one that ends highest heavy, both numbered; the numbers below count the
    steps to the end of each pass, and the band is ± ``share`` of the target.

    Raises ValueError for no orders.
    """
    if not orders:
        raise ValueError("no orders are given; at least the planned one is needed")
    figure = style.new_figure(style.PAGE_MM, HEIGHT)
    width = style.PAGE_MM - LEFT - NAMES - STRIP - RIGHT
    _steps(_axes(figure, LEFT, width), history, unit, share)
    _orders(_axes(figure, LEFT + width + NAMES, STRIP), orders, share)
    return figure


def _axes(figure: Figure, left: float, width: float) -> Axes:
    low, high = BOTTOM / HEIGHT, (HEIGHT - BOTTOM - TOP) / HEIGHT
    axes = figure.add_axes((left / style.PAGE_MM, low, width / style.PAGE_MM, high))
    axes.grid(visible=False)
    axes.tick_params(length=0, pad=3)
    return axes


def _steps(axes: Axes, history: History, unit: str, share: float) -> None:
    scale = to_unit(1.0, unit)
    target = scale * float(history.target[0])
    forces = scale * np.vstack([np.zeros(history.forces.shape[1]), history.forces])
    top = 1.05 * max(float(forces.max()), target * (1.0 + share))
    axes.axhspan(target * (1 - share), target * (1 + share), color=style.FILL, lw=0, gid="band")
    lowest, highest = int(np.argmin(forces[-1])), int(np.argmax(forces[-1]))
    if forces[-1, highest] - forces[-1, lowest] < ALIKE * target:
        lowest = highest = -1
    _others(axes, np.delete(forces, [bolt for bolt in (lowest, highest) if bolt >= 0], 1), top)
    for bolt, width, dashes, side in (
        (highest, BOLD, "-", "bottom"),
        (lowest, style.LINE, (0, (3, 1.2)), "top"),
    ):
        if bolt >= 0:
            axes.plot(
                *_corners(forces[:, bolt], UNSEEN * top).T, color=style.INK, linewidth=width,
                linestyle=dashes, clip_on=False, gid=f"bolt-{bolt + 1}",
            )  # fmt: skip
            place = (1.01 * (len(forces) - 1), forces[-1, bolt])
            axes.text(*place, str(bolt + 1), va=side, size=style.SMALL)
    _passes(axes, history)
    axes.set_ylim(0.0, top)
    axes.yaxis.set_major_locator(MaxNLocator(3))
    axes.set_ylabel(shown_unit(unit), labelpad=2)


def _others(axes: Axes, forces: Array, top: float) -> None:
    """Thin lines, all one path that is lifted between bolts; or the range that many bolts fill."""
    look: dict[str, Any] = {"color": style.SOFT, "linewidth": style.HAIR, "clip_on": False}
    if forces.shape[1] > MOST_LINES:
        low, high = forces.min(axis=1), forces.max(axis=1)
        axes.fill_between(np.arange(len(forces)), low, high, **{**look, "color": style.FAINT})
    elif forces.shape[1]:
        gap = np.full((1, 2), np.nan)
        lines = [_corners(held, UNSEEN * top) for held in forces.T]
        joined = np.vstack([part for line in lines for part in (line, gap)])
        axes.plot(*joined.T, gid="others", **look)


def _corners(held: Array, unseen: float) -> Array:
    """Those points (step, force) that a line needs to run nowhere farther off than ``unseen``."""
    keep, spans = {0, len(held) - 1}, [(0, len(held) - 1)]
    while spans:
        first, last = spans.pop()
        between = np.arange(first, last + 1)
        off = np.abs(held[between] - np.interp(between, (first, last), held[[first, last]]))
        worst = first + int(off.argmax())
        if off.max() > unseen:
            keep.add(worst)
            spans += [(first, worst), (worst, last)]
    places = np.array(sorted(keep))
    return np.column_stack([places.astype(float), held[places]])


def _passes(axes: Axes, history: History) -> None:
    """A line where each pass ends, and how many steps there have been."""
    count = len(history.passes)
    turns = enumerate(itertools.pairwise(history.passes), start=1)
    ends = [place for place, (one, then) in turns if one != then]
    for end in ends:
        axes.axvline(end, color=style.RULE, linewidth=style.HAIR, zorder=1)
    axes.set_xlim(0.0, count)
    axes.xaxis.set_major_locator(FixedLocator([*ends, count]))
    axes.set_xticklabels([str(end) for end in [*ends, count]])


def _orders(axes: Axes, orders: Mapping[str, Ends], share: float) -> None:
    """A row for each order: thin from least to most after the torque passes, heavy at the end."""
    axes.axvspan(100 * (1 - share), 100 * (1 + share), color=style.FILL, lw=0)
    axes.axvline(100, color=style.RULE, linewidth=style.HAIR)
    for row, (before, end) in enumerate(orders.values()):
        for (low, high), width, shift in ((before, style.LINE, -0.15), (end, 4.0, 0.15)):
            middle, half = 50 * (low + high), max(50 * (high - low), 0.4)  # never out of sight
            axes.plot(
                [middle - half, middle + half], [row + shift] * 2, color=style.INK,
                linewidth=width, solid_capstyle="butt", clip_on=False,
            )  # fmt: skip
    every = [part for ends in orders.values() for span in ends for part in span]
    axes.set_xlim(100 * min(0.97 - share, *every), 100 * max(1.03 + share, *every))
    axes.set_ylim(len(orders) - 0.4, -0.6)
    axes.set_yticks(range(len(orders)), list(orders))
    axes.spines["left"].set_visible(False)
    axes.xaxis.set_major_locator(MaxNLocator(3))
    axes.xaxis.set_major_formatter("{x:.0f}%")
