"""All joints of a unit in one picture: where each preload lies between opening and yielding.

Every row has the same scale, the share of the load at which its own fastener yields. The hump is
the spread of the trials, the bar under it holds the stated share of them. A wedge marks the preload
below which the joint opens, a cross that at which the tapped thread strips; words name them below.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from rebuildbook.figures.axes import BareAxes
from rebuildbook.figures.style import (
    ACCENT,
    FAINT,
    FILL,
    HAIR,
    HEAVY,
    INK,
    LINE,
    RULE,
    SMALL,
    SOFT,
    THIN,
    WARM,
    new_figure,
    styled,
)

_ROW_MM, _TOP_MM, _BOTTOM_MM = 11.0, 3.0, 15.0
_NAMES_MM, _RIGHT_MM = 34.0, 30.0
_BINS = 20
_LAST = 1.25  # share of yield where the scale ends; what lies beyond is told by an arrow


@dataclass(frozen=True, slots=True)
class PreloadRow:
    """One joint: trials, interval and limits, all as shares of its fastener's yield load.

    ``opens`` and ``strips`` are None where nothing opens or strips; ``interval`` holds the stated
    share of ``draws``; ``words`` stand at the right, such as "15 to 22 kN".
    """

    name: str
    draws: NDArray[np.float64]
    interval: tuple[float, float]
    opens: float | None
    strips: float | None
    words: str


@styled()
def preload_rows(rows: Sequence[PreloadRow], *, width_mm: float = 170.0) -> Figure:
    """Draw one row a joint; raises ValueError for none, and for a row without trials."""
    if not rows:
        raise ValueError("no joint was given; there is nothing to draw")
    for row in rows:
        if row.draws.size < 2 or not np.all(np.isfinite(row.draws)):
            raise ValueError(f"{row.name}: {row.draws.size} trials, all to be finite")
    height = _TOP_MM + _ROW_MM * len(rows) + _BOTTOM_MM
    figure = new_figure(width_mm, height)
    left, right = _NAMES_MM / width_mm, _RIGHT_MM / width_mm
    axes = figure.add_axes(
        (left, _BOTTOM_MM / height, 1.0 - left - right, _ROW_MM * len(rows) / height)
    )
    axes.set_xlim(0.0, _LAST)
    axes.set_ylim(len(rows), 0.0)
    axes.set_yticks([])
    axes.grid(visible=False)
    axes.spines["left"].set_visible(False)
    axes.set_xticks([0.0, 0.25, 0.5, 0.75, 1.0], ["0", "25", "50", "75", "100 %"])
    for share in (0.25, 0.5, 0.75):
        axes.axvline(share, color=FAINT, linewidth=HAIR, zorder=0, clip_on=False)
    axes.axvline(1.0, color=INK, linewidth=LINE, linestyle=(0, (4, 2)), zorder=1, clip_on=False)
    for place, row in enumerate(rows):
        _draw_row(axes, place, row)
    _legend(figure, width_mm, height)
    return figure


def _draw_row(axes: Axes, place: int, row: PreloadRow) -> None:
    base = place + 0.72
    counts, edges = np.histogram(row.draws, bins=_BINS)
    middle = (edges[1:] + edges[:-1]) / 2.0
    hump = base - 0.58 * counts / counts.max()
    axes.fill(
        [edges[0], *middle, edges[-1]],
        [base, *hump, base],
        facecolor=FILL,
        edgecolor=SOFT,
        linewidth=THIN,
        clip_on=False,
    )
    axes.plot([0.0, _LAST], [base, base], color=FAINT, linewidth=HAIR, zorder=0, clip_on=False)
    axes.plot(
        row.interval,
        [base + 0.06] * 2,
        color=ACCENT,
        linewidth=HEAVY,
        solid_capstyle="butt",
        clip_on=False,
    )
    if row.opens is not None:
        _mark(axes, row.opens, base, "<", WARM)
    if row.strips is not None:
        _mark(axes, row.strips, base, "x", INK)
    for x, words, align in ((-0.02, row.name, "right"), (_LAST + 0.02, row.words, "left")):
        axes.text(x, place + 0.55, words, ha=align, va="center", fontsize=SMALL, clip_on=False)
    if place:
        axes.axhline(place, color=RULE, linewidth=HAIR, clip_on=False)


def _mark(axes: Axes, share: float, base: float, marker: str, colour: str) -> None:
    if share > _LAST:
        return
    axes.plot(
        [share], [base - 0.08], marker=marker, color=colour, markersize=4.5, markeredgewidth=1.3,
        linestyle="none", zorder=3, clip_on=False,
    )  # fmt: skip


def _legend(figure: Figure, width_mm: float, height: float) -> None:
    axes = figure.add_axes((0.0, 0.0, 1.0, 6.0 / height), axes_class=BareAxes)
    axes.set_xlim(0.0, width_mm)
    axes.set_ylim(0.0, 6.0)
    x = _NAMES_MM
    axes.plot([x, x + 6.0], [3.0, 3.0], color=ACCENT, linewidth=HEAVY, solid_capstyle="butt")
    axes.plot([x + 33.0], [3.0], marker="<", color=WARM, markersize=4.5, linestyle="none")
    axes.plot([x + 59.0], [3.0], marker="x", color=INK, markersize=4.5, markeredgewidth=1.3)
    axes.plot([x + 89.0] * 2, [1.0, 5.0], color=INK, linewidth=LINE, linestyle=(0, (4, 2)))
    for at, words in ((8.0, "95 in 100"), (35.5, "opens below"), (61.5, "thread strips"),
                      (91.0, "yields")):  # fmt: skip
        axes.text(x + at, 3.0, words, ha="left", va="center", fontsize=SMALL)
    figure.text(
        (_NAMES_MM + (width_mm - _NAMES_MM - _RIGHT_MM) / 2.0) / width_mm,
        7.0 / height,
        "preload as a share of the load at which the fastener yields",
        ha="center",
        va="center",
        fontsize=SMALL,
    )
