"""What each bolt holds while a joint is tightened: one strip for each order compared."""

from __future__ import annotations

import itertools
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
STRIP = 42.0  # mm, height of one order's strip
HEAD = 14.5  # mm, over each strip for its name, its key and its passes
FOOT = 8.0  # mm, under each for the numbers of its bolts
TITLE, BOTTOM, LEFT, RIGHT = 5.0, 9.0, 14.0, 3.0
BARS = 44.0  # mm, width of the bars
GAP = 6.0  # mm, between steps and bars
MOST_NUMBERS = 64  # steps whose bolts can be named under them
MOST_BARS = 16  # bars whose numbers can be written under them
MOST_PASS_WORDS = 9

_INK, _SOFT, _FAINT, _BAND, _PAPER = "#1a1a1a", "#666666", "#a8a8a8", "#e8e8e8", "#ffffff"
_SETTINGS: Any = {"font.size": 7.0, "hatch.linewidth": 0.5}


def preload_history(
    results: Mapping[str, History], unit: str = "kN", *, share: float = 0.10, title: str = ""
) -> Figure:
    """Draw every bolt's preload after every step, an order to a strip, and the bars it ends with.

    ``results`` are histories by the name of their order. Under each step stands the bolt
    tightened in it, a ring on its force (steps are counted where there are too many). The bolt
    that ends lowest is dashed, the one that ends highest heavy, the rest faint; the band is
    ± ``share`` of the target. Forces are shown in ``unit``.

    Raises ValueError for nothing to draw.
    """
    if not results:
        raise ValueError("no results are given; at least one order is needed")
    scale, count = to_unit(1.0, unit), len(results)
    top = TITLE if title else 0.0
    height = top + count * (HEAD + STRIP) + (count - 1) * FOOT + BOTTOM
    limit = 1.08 * scale * max(_largest(history) for history in results.values())
    steps = WIDTH - LEFT - GAP - BARS - RIGHT
    with matplotlib.rc_context(_SETTINGS):
        figure = Figure(figsize=(WIDTH / MM_PER_INCH, height / MM_PER_INCH), dpi=150)
        if title:
            figure.text(LEFT / WIDTH, 1.0 - 2.0 / height, title, size=9, weight="bold", va="top")
        for place, (name, history) in enumerate(results.items()):
            low = height - top - (place + 1) * (HEAD + STRIP) - place * FOOT
            left = _axes(figure, (LEFT, low, steps, STRIP), height)
            right = _axes(figure, (LEFT + steps + GAP, low, BARS, STRIP), height)
            for axes in (left, right):
                _draw_target(axes, history, scale, share)
                axes.set_ylim(0.0, limit)
            _draw_steps(left, history, scale)
            _draw_bars(right, history, scale)
            left.set_ylabel(f"preload, {shown_unit(unit)}", labelpad=3)
            left.set_title(name, loc="left", size=8, weight="bold", pad=21)
            right.set_xlabel("bolt", labelpad=2)
            right.set_title(_summary(history), loc="left", size=6.5, pad=4)
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


def _summary(history: History) -> str:
    low, high = (100.0 * float(part) for part in (min(history.residual), max(history.residual)))
    return f"at the end: {low:.0f} to {high:.0f} % of target"


def _draw_target(axes: Axes, history: History, scale: float, share: float) -> None:
    """Band and line of the target, where it is one for all bolts."""
    target = scale * history.target
    if np.ptp(target) <= 1e-9 * target[0]:
        axes.axhspan(
            target[0] * (1 - share), target[0] * (1 + share), color=_BAND, linewidth=0, zorder=0,
            gid="band",
        )  # fmt: skip
        axes.axhline(target[0], color=_SOFT, linewidth=0.7, linestyle=(0, (5, 2)), zorder=1)


def _draw_steps(axes: Axes, history: History, scale: float) -> None:
    count = len(history.numbers)
    edges = np.arange(count + 1) + 0.5
    ends = _ends(history)
    for bolt, forces in enumerate(scale * history.forces.T):
        name = f"bolt-{bolt + 1}"
        if bolt in ends:
            word, look = ends[bolt]
            axes.stairs(
                forces, edges, baseline=None, gid=name, color=_INK,
                label=f"bolt {bolt + 1}, ends {word}", **look,
            )  # fmt: skip
        else:  # no risers: those of many bolts would hide everything
            color = _FAINT if ends else _INK
            axes.hlines(forces, edges[:-1], edges[1:], color=color, linewidth=0.8, gid=name)
    if ends:
        axes.legend(
            loc="lower left", bbox_to_anchor=(0.0, 1.1), ncols=2, frameon=False, fontsize=6.5,
            handlelength=2.6, borderpad=0.0, borderaxespad=0.0, columnspacing=1.4,
        )  # fmt: skip
    _mark_passes(axes, history)
    axes.set_xlim(0.5, count + 0.5)
    if count <= MOST_NUMBERS:
        size = float(np.clip(6.5 * 36 / count, 3.8, 6.5))
        axes.set_xticks(range(1, count + 1), [str(number) for number in history.numbers], size=size)
        axes.tick_params(axis="x", length=1.5)
        axes.set_xlabel("bolt tightened (○)", labelpad=2)
        own = history.forces[np.arange(count), np.array(history.numbers) - 1]
        axes.plot(
            range(1, count + 1), scale * own, "o", markersize=2.6, markerfacecolor=_PAPER,
            markeredgecolor=_INK, markeredgewidth=0.6, zorder=5, gid="tightened",
        )  # fmt: skip
    else:
        axes.xaxis.set_major_locator(MaxNLocator(8, integer=True))
        axes.set_xlabel("step", labelpad=2)


def _mark_passes(axes: Axes, history: History) -> None:
    """A line where each pass begins, and its number above."""
    starts = [0, *(np.flatnonzero(np.diff(history.passes)) + 1).tolist(), len(history.passes)]
    word = "pass " if len(starts) <= MOST_PASS_WORDS else ""
    for begin, end in itertools.pairwise(starts):
        if begin:
            axes.axvline(begin + 0.5, color=_SOFT, linewidth=0.5, zorder=1)
        axes.text(
            (begin + end + 1) / 2, 1.015, f"{word}{history.passes[begin]}", size=6.5, color=_INK,
            ha="center", va="bottom", transform=axes.get_xaxis_transform(), gid="pass",
        )  # fmt: skip


def _ends(history: History) -> dict[int, tuple[str, dict[str, Any]]]:
    """Bolts (from 0) that end lowest and highest in parts of target, and how to draw their lines.

    None where all end alike.
    """
    if np.ptp(history.residual) < 1e-3:
        return {}
    return {
        int(np.argmin(history.residual)): (
            "lowest", {"linewidth": 1.1, "linestyle": (0, (3, 1.2)), "zorder": 4},
        ),
        int(np.argmax(history.residual)): ("highest", {"linewidth": 1.6, "zorder": 3}),
    }  # fmt: skip


def _draw_bars(axes: Axes, history: History, scale: float) -> None:
    count = len(history.final)
    ends = _ends(history)
    looks = {"lowest": {"facecolor": _PAPER, "hatch": "/////"}, "highest": {"facecolor": _SOFT}}
    for bolt, force in enumerate(scale * history.final):
        look: dict[str, Any] = looks[ends[bolt][0]] if bolt in ends else {"facecolor": _FAINT}
        axes.bar(bolt + 1, force, 0.74, edgecolor=_INK, linewidth=0.6, zorder=2, **look)
    axes.set_xlim(0.3, count + 0.7)
    if count <= MOST_BARS:
        size = float(np.clip(6.5 * 14 / count, 3.8, 6.5))
        axes.set_xticks(range(1, count + 1), [str(bolt + 1) for bolt in range(count)], size=size)
        axes.tick_params(axis="x", length=0)
    else:
        axes.xaxis.set_major_locator(MaxNLocator(6, integer=True))
    axes.tick_params(axis="y", labelleft=False)
