"""What each bolt holds while a joint is tightened: one strip for each order compared."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from rebuildbook.calculators.interaction import History
from rebuildbook.units import shown_unit, to_unit

MM_PER_INCH = 25.4
WIDTH = 170.0  # mm
STRIP = 52.0  # mm, height of one order's strip
TOP, BOTTOM, LEFT, RIGHT = 14.0, 19.0, 15.0, 2.0
BETWEEN = 19.0  # mm, under each strip for its steps and the next one's name
BARS = 40.0  # mm, width of the bars at the end
GAP = 11.0  # mm, between steps and bars
MOST_NUMBERS = 64  # steps whose bolt can be written under them
MOST_BARS = 24  # bars whose number can be written under them

_INK, _SOFT, _FAINT, _BAND = "#1a1a1a", "#666666", "#a8a8a8", "#e8e8e8"
_SETTINGS: Any = {"font.size": 7.0, "svg.fonttype": "path", "hatch.linewidth": 0.5}


def preload_history(
    results: Mapping[str, History], unit: str = "kN", *, share: float = 0.10, title: str = ""
) -> Figure:
    """Draw every bolt's preload after every step, an order to a strip, and the bars it ends with.

    ``results`` are histories by the name of their order. Under each step stands the bolt
    tightened in it. The bolt that ends lowest is dashed, the one that ends highest heavy, the
    rest faint; the band is ± ``share`` of the target. Forces are shown in ``unit``.

    Raises ValueError for nothing to draw.
    """
    if not results:
        raise ValueError("no results are given; at least one order is needed")
    count = len(results)
    height = TOP + count * STRIP + (count - 1) * BETWEEN + BOTTOM
    top = max(_largest(history) for history in results.values())
    limit = 1.08 * to_unit(top, unit)
    with matplotlib.rc_context(_SETTINGS):
        figure = Figure(figsize=(WIDTH / MM_PER_INCH, height / MM_PER_INCH), dpi=150)
        if title:
            figure.text(LEFT / WIDTH, 1.0 - 2.0 / height, title, size=9, weight="bold", va="top")
        for place, (name, history) in enumerate(results.items()):
            low = height - TOP - STRIP - place * (STRIP + BETWEEN)
            steps = WIDTH - LEFT - GAP - BARS - RIGHT
            left = _axes(figure, (LEFT, low, steps, STRIP), height)
            right = _axes(figure, (LEFT + steps + GAP, low, BARS, STRIP), height)
            _draw_steps(left, history, unit, share)
            _draw_bars(right, history, unit, share)
            left.set_title(name, loc="left", size=8, weight="bold", pad=4)
            for axes in (left, right):
                axes.set_ylim(0.0, limit)
        left.set_xlabel("number of the bolt tightened, step by step", labelpad=3)
        right.set_xlabel("bolt", labelpad=3)
    return figure


def _axes(figure: Figure, box: tuple[float, float, float, float], height: float) -> Axes:
    x, y, wide, high = box
    axes = figure.add_axes((x / WIDTH, y / height, wide / WIDTH, high / height))
    axes.spines[["top", "right"]].set_visible(False)
    axes.tick_params(length=2, width=0.6, labelsize=6.5, colors=_INK, pad=2)
    axes.yaxis.set_major_locator(MaxNLocator(5))
    return axes


def _largest(history: History) -> float:
    return max(float(history.forces.max()), float(history.target.max()))


def _draw_target(axes: Axes, history: History, unit: str, share: float) -> None:
    """Band and line of the target; only where it is one for all bolts."""
    low, high = (to_unit(float(value), unit) for value in (history.target.min(), history.target.max()))
    if math.isclose(low, high):
        axes.axhspan(low * (1 - share), high * (1 + share), color=_BAND, linewidth=0, zorder=0)
        axes.axhline(high, color=_SOFT, linewidth=0.7, linestyle=(0, (5, 2)), zorder=1)


def _draw_steps(axes: Axes, history: History, unit: str, share: float) -> None:
    forces = np.vstack([np.zeros(len(history.final)), history.forces])
    shown = np.vectorize(lambda force: to_unit(force, unit))(forces)
    count = len(history.numbers)
    edges = np.arange(count + 1) + 0.5
    _draw_target(axes, history, unit, share)
    lowest, highest = int(np.argmin(history.final)), int(np.argmax(history.final))
    for bolt in range(shown.shape[1]):
        look: dict[str, Any] = {"color": _FAINT, "linewidth": 0.6, "zorder": 2}
        if bolt == lowest:
            look = {"color": _INK, "linewidth": 1.2, "linestyle": (0, (3, 1.2)), "zorder": 4}
        elif bolt == highest:
            look = {"color": _INK, "linewidth": 1.6, "zorder": 3}
        axes.stairs(shown[1:, bolt], edges, baseline=None, gid=f"bolt-{bolt + 1}", **look)
    _mark_passes(axes, history)
    axes.set_xlim(0.5, count + 0.5)
    axes.set_ylabel(f"preload, {shown_unit(unit)}", labelpad=3)
    if count <= MOST_NUMBERS:
        size = float(np.clip(6.5 * 32 / count, 4.2, 6.5))
        axes.set_xticks(range(1, count + 1), [str(number) for number in history.numbers], size=size)
        axes.tick_params(axis="x", length=1.5)
    else:
        axes.xaxis.set_major_locator(MaxNLocator(8, integer=True))


def _mark_passes(axes: Axes, history: History) -> None:
    """A line where each pass begins and its number above it."""
    starts = [0, *(np.flatnonzero(np.diff(history.passes)) + 1), len(history.passes)]
    for begin, end in zip(starts[:-1], starts[1:], strict=True):
        if begin:
            axes.axvline(begin + 0.5, color=_SOFT, linewidth=0.5, zorder=1)
        axes.text(
            (begin + end + 1) / 2, 1.0, f"pass {history.passes[begin]}", size=6, color=_INK,
            ha="center", va="bottom", transform=axes.get_xaxis_transform(), gid="pass",
        )  # fmt: skip
