"""Opening pressures of a bench test in the order read, against the set pressure and its tolerance.

Drawn for paper: legible 80 mm wide and in grey. Every mark has its own shape and its name in words.
"""

from __future__ import annotations

import math
import textwrap
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from rebuildbook.calculators.pop_test import PopVerdict
from rebuildbook.figures import style
from rebuildbook.units import DIMENSIONS, number, show, shown_unit, to_unit, with_unit

LEFT, RIGHT = 15.5, 2.0  # mm beside the strips
STRIP, SHUT_STRIP = 42.0, 16.0  # mm, height of the pops and of the reseats
FOOT, GAP = 9.0, 4.0  # mm under the last strip, between the two
LINE = 3.2  # mm from one line of words to the next
CHARACTERS, TITLE_CHARACTERS = 56, 44
MOST_NUMBERS = 10  # pops that can be numbered one by one
_REACH = 0.75  # how far an interval may widen the scale either way, as a share of the rest


@style.styled()
def pop_readings(verdict: PopVerdict, unit: str = "bar", title: str = "") -> Figure:
    """Draw the pops of ``verdict`` with the tolerance band, their mean and what the next may be.

    ``unit`` is a pressure unit. A first pop that stuck is an open diamond and stays out of the
    mean; an interval that leaves the scale ends in an arrow; reseats stand in a strip of their own.
    Raises ValueError for a unit that is no pressure.
    """
    _check_unit(unit)
    heading = textwrap.wrap(title, TITLE_CHARACTERS)
    words = [line for text in _words(verdict, unit) for line in textwrap.wrap(text, CHARACTERS)]
    head = 2.5 + LINE * (len(heading) + len(words)) + 2.0
    shut = SHUT_STRIP + GAP if verdict.test.reseats else 0.0
    height = head + STRIP + shut + FOOT
    figure = style.new_figure(style.COLUMN_MM, height)
    page = style.page_axes(figure)
    for row, text in enumerate([*heading, *words]):
        own: dict[str, Any] = {"weight": "bold"} if row < len(heading) else {"size": style.SMALL}
        down = 2.0 + LINE * row + (0.0 if row < len(heading) else 0.5)
        page.text(2.0, height - down, text, va="top", gid="words", **own)
    pops = _strip(figure, FOOT + shut, STRIP, height)
    _draw_pops(pops, verdict, unit)
    last = pops
    if verdict.test.reseats:
        last = _strip(figure, FOOT, SHUT_STRIP, height)
        _draw_reseats(last, verdict, unit)
        pops.tick_params(axis="x", labelbottom=False)
        last.set_xlim(pops.get_xlim())
    _number_pops(last, verdict)
    if last is not pops:
        pops.set_xticks(last.get_xticks())
    return figure


STRIP_MM = 30.0  # height of the small figure


@style.styled()
def pop_strip(verdict: PopVerdict, unit: str = "bar") -> Figure:
    """Draw the pops small and without words, for a caption to name: band, set, pops, mean.

    ``unit`` is a pressure unit. Marks as in ``pop_readings``. Raises ValueError for a unit that is
    no pressure.
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


def _words(verdict: PopVerdict, unit: str) -> list[str]:
    """The answer and its numbers, a line each."""
    test = verdict.test
    low, high = (_value(test.set_pressure + side * test.band, unit) for side in (-1.0, 1.0))
    found = [
        "; ".join(verdict.words).capitalize() + ".",
        f"Set {_written(test.set_pressure, unit)}, band {low} to {with_unit(high, unit)}.",
    ]
    of = "others" if verdict.first_sticks else "pops"
    mean = f"Mean of {verdict.settled.count} {of} {_value(verdict.settled.mean, unit)}"
    if math.isfinite(verdict.doubt):
        mean += f" ± {number(to_unit(verdict.doubt, unit), 2)}"
    found.append(f"{with_unit(mean, unit)}, {show(test.confidence, '%', 2)} confidence.")
    if verdict.blowdown is not None:
        shut = verdict.blowdown
        found.append(
            f"Blowdown {show(shut.mean, '%')} of set, from {show(shut.least, '%')} to "
            f"{show(shut.largest, '%')}."
        )
    return found


def _value(pressure: float, unit: str) -> str:
    return number(to_unit(pressure, unit), 4)


def _written(pressure: float, unit: str) -> str:
    return with_unit(_value(pressure, unit), unit)


def _strip(figure: Figure, low: float, high: float, height: float) -> Axes:
    wide = style.COLUMN_MM
    return figure.add_axes((LEFT / wide, low / height, (wide - LEFT - RIGHT) / wide, high / height))


def _draw_pops(axes: Axes, verdict: PopVerdict, unit: str) -> None:
    test = verdict.test
    shown = [to_unit(pressure, unit) for pressure in test.readings]
    middle, band = (to_unit(pressure, unit) for pressure in (test.set_pressure, test.band))
    count = len(shown)
    axes.axhspan(
        middle - band, middle + band, facecolor=style.FILL, edgecolor=style.RULE,
        linewidth=style.HAIR, zorder=0, gid="band",
    )  # fmt: skip
    axes.axhline(middle, color=style.SOFT, linewidth=style.THIN, linestyle=(0, (5, 2)), gid="set")
    places = range(1, count + 1)
    axes.plot(places, shown, color=style.RULE, linewidth=style.THIN, zorder=2)
    stuck = 1 if verdict.first_sticks else 0
    axes.plot(
        places[stuck:], shown[stuck:], "o", color=style.INK, markersize=4.0, zorder=4, gid="pops"
    )
    if stuck:
        axes.plot(
            1, shown[0], "D", markersize=5.0, markerfacecolor=style.PAPER, zorder=4,
            markeredgecolor=style.INK, markeredgewidth=style.LINE, gid="first",
        )  # fmt: skip
    mean = to_unit(verdict.settled.mean, unit)
    axes.plot(
        [1 + stuck, _ends(count)[0]],
        [mean, mean],
        color=style.INK,
        linewidth=style.LINE,
        gid="mean",
    )
    halves = [to_unit(h, unit) for h in (verdict.doubt, verdict.settled.next_half)]
    axes.set_ylim(*_limits([middle - band, middle + band, *shown], mean, max(halves)))
    ends = _ends(count)
    axes.set_xlim(1.0 - 0.6 * (ends[0] - count), ends[1] + 0.6 * (ends[0] - count))
    for place, half, name in zip(ends, halves, ("mean", "next"), strict=True):
        _interval(axes, place, mean, half, name)
    axes.yaxis.set_major_locator(MaxNLocator(6))
    axes.set_ylabel(f"Opens at, {shown_unit(unit)}", labelpad=3)
    axes.grid(visible=False, axis="x")


def _limits(marks: list[float], mean: float, half: float) -> tuple[float, float]:
    """Ends of the scale: all marks, and of the widest interval as much as leaves them readable."""
    low, high = min(marks), max(marks)
    room = _REACH * (high - low)
    bottom = max(min(low, mean - half), low - room)
    top = min(max(high, mean + half), high + room)
    margin = 0.06 * (top - bottom)
    return bottom - margin, top + margin


def _interval(axes: Axes, place: float, mean: float, half: float, name: str) -> None:
    """A bar with caps; arrows instead of caps where it goes on beyond the scale."""
    bottom, top = axes.get_ylim()
    bottom, top = bottom + 0.03 * (top - bottom), top - 0.03 * (top - bottom)
    low, high = max(mean - half, bottom), min(mean + half, top)
    axes.vlines(place, low, high, color=style.INK, linewidth=style.LINE, gid=f"interval-{name}")
    for edge, held, arrow in ((low, mean - half >= bottom, "v"), (high, mean + half <= top, "^")):
        axes.plot(
            place, edge, "_" if held else arrow, color=style.INK, markersize=6.0 if held else 4.0,
            clip_on=False, gid="cap" if held else "arrow",
        )  # fmt: skip
    axes.plot(place, mean, "s", color=style.INK, markersize=3.5, zorder=4)


def _draw_reseats(axes: Axes, verdict: PopVerdict, unit: str) -> None:
    shown = [to_unit(pressure, unit) for pressure in verdict.test.reseats]
    axes.plot(range(1, len(shown) + 1), shown, color=style.RULE, linewidth=style.THIN)
    axes.plot(
        range(1, len(shown) + 1), shown, "v", markersize=4.5, markerfacecolor=style.PAPER,
        markeredgecolor=style.INK, zorder=4, gid="reseats",
    )  # fmt: skip
    span = max(max(shown) - min(shown), 0.02 * max(shown))
    middle = (max(shown) + min(shown)) / 2.0
    axes.set_ylim(middle - 0.8 * span, middle + 0.8 * span)
    axes.yaxis.set_major_locator(MaxNLocator(3))
    axes.set_ylabel("Shuts at", labelpad=3)
    axes.grid(visible=False, axis="x")


def _ends(count: int) -> tuple[float, float]:
    """Places of the two intervals, far enough from the last pop and apart for their names."""
    step = max(1.0, count / 7.0)
    return count + step, count + 2.0 * step


def _number_pops(axes: Axes, verdict: PopVerdict) -> None:
    count = len(verdict.test.readings)
    step = max(1, math.ceil(count / MOST_NUMBERS))
    places = [k for k in range(1, count + 1, step) if step == 1 or k <= count - step / 2]
    axes.set_xticks([*places, *_ends(count)], [*(str(k) for k in places), "mean", "next"])
    axes.tick_params(axis="x", length=0.0, pad=2)
    axes.set_xlabel("Pop", labelpad=1, loc="left")
