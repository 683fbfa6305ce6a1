"""What a part wore over its running time, where that leads, and when it is at its limit."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon
from matplotlib.ticker import FuncFormatter, MaxNLocator

from rebuildbook.calculators.wear_life import HOUR, WearLife
from rebuildbook.figures.style import (
    ACCENT,
    FAINT,
    HEAVY,
    INK,
    LINE,
    MM_PER_INCH,
    PAGE_MM,
    PAPER,
    SMALL,
    SOFT,
    TEXT,
    THIN,
    WARM,
    new_figure,
    styled,
)
from rebuildbook.units import number, shown_unit, to_unit
from rebuildbook.units.show import grouped

LEFT, RIGHT, BOTTOM, HIGH = 20.0, 5.0, 19.0, 62.0  # mm
HEAD, TITLE = 12.0, 6.0  # mm over the axes
_SHORT = 36.0  # mm, height of the short form
_SMALL = {"mm": "µm", "in": "thou"}  # the unit that wear is told in
_FARTHEST = 4.0  # times the running time so far: how far ahead the axis goes at most


@styled()
def wear_trend(life: WearLife, unit: str = "mm", title: str = "") -> Figure:
    """Draw readings, line, interval and limit over the unit's running hours.

    Every part that ran has its own line from the size it was fitted with; that of the part now in
    runs on to the limit, with its interval as a band. The bar on the limit spans the times at which
    it may be reached. ``unit`` is "mm" or "in". Odd readings are crossed out.
    """
    if unit not in _SMALL:
        raise ValueError(f"unit {unit!r} given; sizes are drawn in {' or '.join(_SMALL)}")
    head = HEAD + (TITLE if title else 0.0)
    height = head + HIGH + BOTTOM
    figure = new_figure(PAGE_MM, height)
    axes = figure.add_axes(
        (
            LEFT / PAGE_MM,
            BOTTOM / height,
            (PAGE_MM - LEFT - RIGHT) / PAGE_MM,
            HIGH / height,
        )
    )
    now = life.lives[-1].since + life.age
    end = now + _ahead(life, now)
    _limits(axes, life, unit, end)
    _lines(axes, life, unit, end)
    _readings(axes, life, unit)
    _reach(axes, life, unit, now, end)
    _finish(figure, axes, unit)
    _words(figure, life, unit, title)
    return figure


@styled()
def wear_line(life: WearLife, unit: str = "mm") -> Figure:
    """Draw the trend of the part now in, in the short form that a page has room for.

    Its readings over its running hours, the line with its interval as a band, and the limit. Odd
    readings are crossed. ``unit`` is "mm" or "in".
    """
    if unit not in _SMALL:
        raise ValueError(f"unit {unit!r} given; sizes are drawn in {' or '.join(_SMALL)}")
    figure = new_figure(PAGE_MM * 0.6, _SHORT)
    width = PAGE_MM * 0.6
    axes = figure.add_axes((14.0 / width, 8.0 / _SHORT, (width - 32.0) / width, 1 - 10.0 / _SHORT))
    now, end = life.age, life.age + _ahead(life, life.lives[-1].since + life.age)
    fitted, growing = life.lives[-1].fitted, life.growing
    ages = np.linspace(0.0, end, 12)
    wear, half = life.line.wear(ages), life.line.half_width(ages)
    sides = [fitted + growing * (wear + sign * half) for sign in (1.0, -1.0)]
    hours = ages / HOUR
    outline = np.column_stack(
        [np.concatenate([hours, hours[::-1]]), np.concatenate([sides[0], sides[1][::-1]])]
    )
    outline[:, 1] = to_unit(1.0, unit) * outline[:, 1]
    axes.add_patch(Polygon(outline, facecolor=FAINT, clip_on=False, gid="interval"))
    axes.plot(
        [0.0, end / HOUR], to_unit(1.0, unit) * (fitted + growing * life.line.wear([0.0, end])),
        color=ACCENT, clip_on=False, gid="line",
    )  # fmt: skip
    limit = to_unit(life.limit, unit)
    axes.plot([0.0, end / HOUR], [limit, limit], color=INK, linewidth=LINE, clip_on=False)
    axes.text(end / HOUR, limit, f"  {_size(life.limit, unit)}", size=SMALL, va="center")
    _short_readings(axes, life, unit)
    axes.set_xlim(0.0, end / HOUR)
    axes.axvline(now / HOUR, color=SOFT, linewidth=THIN, clip_on=False, gid="now")
    axes.xaxis.set_major_locator(MaxNLocator(4))
    axes.yaxis.set_major_locator(MaxNLocator(3))
    axes.ticklabel_format(useOffset=False, style="plain")
    axes.set_xlabel("h", labelpad=1)
    axes.grid(visible=False)
    return figure


def _short_readings(axes: Axes, life: WearLife, unit: str) -> None:
    """The readings of the part now in; odd ones crossed out."""
    first = sum(len(one.times) for one in life.lives[:-1])
    part = life.lives[-1]
    for place, (time, size) in enumerate(zip(part.times, part.sizes, strict=True), start=first):
        odd = place in life.line.odd
        axes.plot(
            (time - part.since) / HOUR, to_unit(size, unit), "x" if odd else "o", markersize=4.0,
            color=WARM if odd else INK, clip_on=False, zorder=5, gid="odd" if odd else "readings",
        )  # fmt: skip


def _ahead(life: WearLife, now: float) -> float:
    """How far past the last entry the axis goes, s: to the limit's interval, within reason."""
    ran = now - life.lives[0].since
    times = [t for t in (life.time_high, life.time_left, life.time_low) if math.isfinite(t)]
    return min(1.12 * max(times, default=0.0) + 0.08 * ran, _FARTHEST * ran)


def _limits(axes: Axes, life: WearLife, unit: str, end: float) -> None:
    sizes = [size for one in life.lives for size in (one.fitted, *one.sizes)]
    low, high = min(*sizes, life.new, life.limit), max(*sizes, life.new, life.limit)
    room = 0.12 * (high - low)
    axes.set_ylim(to_unit(low - room, unit), to_unit(high + room, unit))
    axes.set_xlim(life.lives[0].since / HOUR, end / HOUR)
    limit = to_unit(life.limit, unit)
    axes.axhline(limit, color=INK, linewidth=HEAVY, zorder=2, gid="limit")
    axes.annotate(
        f"limit {_size(life.limit, unit)}", (0.008, limit), (0.0, 3.0 * life.growing), size=SMALL,
        weight="bold", xycoords=axes.get_yaxis_transform(), textcoords="offset points",
        va="bottom" if life.growing > 0 else "top", gid="limit-word",
    )  # fmt: skip


def _lines(axes: Axes, life: WearLife, unit: str, end: float) -> None:
    for one in life.lives:
        last = one.until is None
        times = np.linspace(one.since, end if last else one.until, 200)  # type: ignore[arg-type]
        ages = times - one.since
        wear, half = life.line.wear(ages), life.line.half_width(ages)

        def drawn(worn: Any, fitted: float = one.fitted) -> Any:
            return to_unit(1.0, unit) * (fitted + life.growing * worn)

        hours = times / HOUR
        if last:
            axes.fill_between(
                hours, drawn(wear - half), drawn(wear + half), color=FAINT, alpha=0.55,
                linewidth=0, zorder=1, gid="interval",
                label=f"{100.0 * life.confidence:.0f} % interval",
            )  # fmt: skip
        axes.plot(
            hours, drawn(wear), color=ACCENT, linewidth=LINE if last else THIN, zorder=3,
            linestyle="-" if last else "--", gid="line" if last else "line-before",
            label="line" if last else "_",
        )  # fmt: skip
        if not last:
            axes.axvline(hours[-1], color=SOFT, linewidth=THIN, linestyle=":", gid="changed")
            axes.text(
                hours[-1], 0.02, "new part", size=SMALL, color=SOFT, rotation=90.0,
                ha="right", va="bottom", transform=axes.get_xaxis_transform(),
            )  # fmt: skip


def _readings(axes: Axes, life: WearLife, unit: str) -> None:
    place = 0
    labels = {True: "reading", False: "reading, part before"}
    for one in life.lives:
        hours = [time / HOUR for time in one.times]
        sizes = [to_unit(size, unit) for size in one.sizes]
        last = one.until is None
        axes.plot(
            hours, sizes, "o", markersize=4.5, markerfacecolor=INK if last else PAPER,
            markeredgecolor=INK, markeredgewidth=THIN, zorder=5, gid="readings",
            label=labels.pop(last, "_") if hours else "_",
        )  # fmt: skip
        for hour, size in zip(hours, sizes, strict=True):
            if place in life.line.odd:
                axes.plot(
                    hour, size, "x", markersize=9.0, markeredgecolor=WARM, markeredgewidth=LINE,
                    zorder=6, gid="odd",
                )  # fmt: skip
            place += 1


def _reach(axes: Axes, life: WearLife, unit: str, now: float, end: float) -> None:
    """A bar on the limit over the times at which it may be reached; the next service."""
    limit = to_unit(life.limit, unit)
    if math.isfinite(life.time_low) and now + life.time_low < end:
        open_end = now + life.time_high > end
        high = end if open_end else now + life.time_high
        axes.plot(
            [(now + life.time_low) / HOUR, high / HOUR], [limit, limit], color=ACCENT,
            linewidth=5.0, solid_capstyle="butt", zorder=4, gid="reach",
            label="limit reached",
        )  # fmt: skip
        if open_end:
            axes.plot(
                end / HOUR, limit, ">", color=ACCENT, markersize=7.0, clip_on=False, zorder=5,
                gid="reach-open",
            )  # fmt: skip
    service = now + life.next_service
    if math.isfinite(service) and service < end:
        axes.axvline(
            service / HOUR, color=WARM, linewidth=LINE, linestyle="-.", zorder=2, gid="service",
            label="measure again by then",
        )  # fmt: skip


def _finish(figure: Figure, axes: Axes, unit: str) -> None:
    axes.set_xlabel("running time of the unit, h", labelpad=2)
    axes.set_ylabel(f"measured size, {shown_unit(unit)}", labelpad=3)
    axes.xaxis.set_major_locator(MaxNLocator(8))
    axes.yaxis.set_major_locator(MaxNLocator(6))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: grouped(f"{value:g}")))
    axes.ticklabel_format(axis="y", useOffset=False, style="plain")
    axes.set_axisbelow(True)
    height = figure.get_figheight() * MM_PER_INCH
    handles, labels = axes.get_legend_handles_labels()
    figure.legend(
        handles, labels, loc="lower left", ncols=len(handles), borderpad=0.0, borderaxespad=0.0,
        handlelength=2.0, columnspacing=1.4, bbox_to_anchor=(4.0 / PAGE_MM, 2.0 / height),
    )  # fmt: skip


def _words(figure: Figure, life: WearLife, unit: str, title: str) -> None:
    height = figure.get_figheight() * MM_PER_INCH
    top = height - 2.0
    if title:
        figure.text(2.0 / PAGE_MM, top / height, title, size=TEXT + 1.0, weight="bold", va="top")
        top -= TITLE
    for line in (_life_words(life), _rate_words(life, unit)):
        figure.text(2.0 / PAGE_MM, top / height, line, size=TEXT, va="top", gid="words")
        top -= 4.2


def _life_words(life: WearLife) -> str:
    if life.verdict == "at the limit":
        return "At its limit now: nothing left."
    after = _hours(life.next_service)
    again = f"; measure again after {after} h" if math.isfinite(life.next_service) else ""
    if life.verdict == "no wear seen":
        return f"No wear seen: no end to be told from these readings{again}."
    span = f"from {_hours(life.time_low)} h"
    span += f" to {_hours(life.time_high)} h" if math.isfinite(life.time_high) else " on"
    return f"{_hours(life.time_left)} h left to the limit, {span}{again}."


def _rate_words(life: WearLife, unit: str) -> str:
    small = _SMALL[unit]
    low, rate, high = (
        number(to_unit(1000.0 * HOUR * one, small))
        for one in (life.line.rate_low, life.line.rate, life.line.rate_high)
    )
    if life.verdict == "no wear seen":
        return f"Wears at most {high} {shown_unit(small)} in 1000 h."
    odd = " Crossed-out readings are far off: read again." if life.line.odd else ""
    sure = f"({100.0 * life.confidence:.0f} %)"
    return f"Wears {rate} {shown_unit(small)} in 1000 h, from {low} to {high} {sure}.{odd}"


def _hours(time: float) -> str:
    return number(time / HOUR)


def _size(size: float, unit: str) -> str:
    return f"{to_unit(size, unit):.{2 if unit == 'mm' else 4}f} {shown_unit(unit)}"
