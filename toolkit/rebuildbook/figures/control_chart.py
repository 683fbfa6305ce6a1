"""Readings in the order they were taken, with centre line, control limits and window."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from rebuildbook.calculators.control_chart import Individuals
from rebuildbook.figures.style import (
    ACCENT,
    FILL,
    HEAVY,
    INK,
    LINE,
    PAGE_MM,
    PAPER,
    SMALL,
    SOFT,
    THIN,
    WARM,
    new_figure,
    styled,
)
from rebuildbook.units import number, shown_unit, to_unit

HIGH, LEFT, RIGHT, BOTTOM, TOP = 62.0, 15.0, 27.0, 11.0, 6.0  # mm
NAMED = 6  # readings outside that have their name beside them
ROOM = 0.3  # of the height between the outer lines, above and below them
_APART = 0.045  # of the height, between the words of two lines


@styled()
def control_chart(
    chart: Individuals,
    unit: str,
    window: tuple[float, float],
    breaks: Sequence[int] = (),
    names: Sequence[str] = (),
) -> Figure:
    """Draw a chart of SI readings in ``unit``; the window stands as a band behind.

    ``breaks`` are the places where another job begins; ``names`` what the readings outside the
    limits are called, in their order. Readings outside are crossed, so they tell in grey too; one
    that would leave the lines no room is an arrow at the edge, with its value.
    """
    figure = new_figure(PAGE_MM, HIGH)
    axes = figure.add_axes(
        (
            LEFT / PAGE_MM,
            BOTTOM / HIGH,
            1.0 - (LEFT + RIGHT) / PAGE_MM,
            1.0 - (BOTTOM + TOP) / HIGH,
        )
    )
    given = [to_unit(value, unit) for value in chart.values]
    edges = [to_unit(edge, unit) for edge in (*window, chart.low, chart.high)]
    room = ROOM * (max(edges) - min(edges)) or 1.0
    bottom, top = min(edges) - room, max(edges) + room
    values = [min(max(value, bottom), top) for value in given]
    axes.axhspan(*edges[:2], facecolor=FILL, zorder=0, gid="window")
    for place in breaks:
        axes.axvline(place + 0.5, color=SOFT, linewidth=THIN, linestyle=":", gid="job")
    axes.plot(range(1, len(values) + 1), values, color=SOFT, linewidth=THIN, gid="run")
    _points(axes, chart, given, values)
    axes.axhline(to_unit(chart.mean, unit), color=ACCENT, linewidth=LINE, gid="centre")
    for limit in edges[2:]:
        axes.axhline(limit, color=WARM, linewidth=HEAVY, linestyle="--", gid="limit")
    axes.set_xlim(0.5, len(values) + 0.5)
    axes.set_ylim(bottom, top)
    axes.xaxis.set_major_locator(MaxNLocator(8, integer=True))
    axes.yaxis.set_major_locator(MaxNLocator(5))
    axes.ticklabel_format(useOffset=False, style="plain")
    axes.grid(visible=False)
    axes.set_xlabel("reading, in the order taken", labelpad=1)
    axes.set_ylabel(shown_unit(unit), labelpad=2)
    _side(axes, (edges[2], to_unit(chart.mean, unit), edges[3]), (edges[0], edges[1]))
    _names(axes, chart, given, values, names)
    return figure


def _points(
    axes: Axes, chart: Individuals, given: Sequence[float], values: Sequence[float]
) -> None:
    """Dots inside, crosses outside; one that lies off the paper is an arrow at its edge."""
    out = set(chart.outside)
    kinds: dict[tuple[str, str], list[int]] = {}
    for place, (value, drawn) in enumerate(zip(given, values, strict=True)):
        off = "^" if value > drawn else "v" if value < drawn else ""
        kind = ("outside", off or "X") if place in out else ("inside", off or "o")
        kinds.setdefault(kind, []).append(place)
    for (gid, marker), places in kinds.items():
        axes.plot(
            [place + 1 for place in places], [values[place] for place in places], marker,
            linestyle="none", gid=gid, markersize=3.0 if gid == "inside" else 6.5,
            markerfacecolor=INK if gid == "inside" else WARM, markeredgecolor=PAPER,
            markeredgewidth=0.3, zorder=5, clip_on=False,
        )  # fmt: skip


def _side(axes: Axes, limits: Sequence[float], window: tuple[float, float]) -> None:
    """Say what each line is beside it, moved apart where they lie close."""
    said = [
        (limits[0], f"lower {number(limits[0])}", "bold"),
        (limits[1], f"mean {number(limits[1])}", "bold"),
        (limits[2], f"upper {number(limits[2])}", "bold"),
        (window[0], f"window {number(window[0])}", "normal"),
        (window[1], f"window {number(window[1])}", "normal"),
    ]
    bottom, top = axes.get_ylim()
    step = _APART * (top - bottom) * 1.6
    said.sort(key=lambda one: one[0])
    at = [place for place, _, _ in said]
    for index in range(1, len(at)):
        at[index] = max(at[index], at[index - 1] + step)
    over = max(0.0, at[-1] - top)
    at = [place - over for place in at]
    for index in range(len(at) - 2, -1, -1):
        at[index] = min(at[index], at[index + 1] - step)
    for place, (_, words, weight) in zip(at, said, strict=True):
        axes.annotate(
            words, (1.0, place), (4.0, 0.0), xycoords=axes.get_yaxis_transform(),
            textcoords="offset points", size=SMALL, weight=weight, va="center",
            annotation_clip=False,
        )  # fmt: skip


def _names(
    axes: Axes,
    chart: Individuals,
    given: Sequence[float],
    values: Sequence[float],
    names: Sequence[str],
) -> None:
    """Name readings outside, as far as their names stand apart; the table has them all."""
    taken: list[float] = []
    wide = max(1.0, len(values) * 0.24)
    for place, words in zip(chart.outside, names, strict=False):
        if len(taken) == NAMED or any(abs(place - other) < wide for other in taken):
            continue
        taken.append(place)
        off = given[place] != values[place]
        over = (given[place] > _middle(axes)) != off  # one at the edge is named inward
        right = place > 0.8 * len(values)
        axes.annotate(
            f"{words}: {number(given[place])}" if off else words, (place + 1, values[place]),
            (0.0, 5.0 if over else -5.0), size=SMALL, textcoords="offset points",
            va="bottom" if over else "top", annotation_clip=False, zorder=6,
            ha="right" if right else "left" if place < 0.2 * len(values) else "center",
        )  # fmt: skip


def _middle(axes: Axes) -> float:
    """The middle of the axes' height, in their unit."""
    return sum(axes.get_ylim()) / 2.0
