"""A unit over its jobs: how it wore, how its joints were done up, how it ran on test.

One strip for each, the jobs side by side in all of them. Every line has its own dashes and its own
mark, so that it is known in grey; its name stands beside the strip.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.textpath import TextPath
from matplotlib.ticker import MaxNLocator

from rebuildbook.figures import style

LEFT, RIGHT, BOTTOM, TOP = 12.0, 56.0, 11.0, 3.0  # mm; the names stand on the right
STRIP, GAP, HEADING = 36.0, 5.0, 5.0  # mm: a strip, the space to the next, the words over it
KEY, ROW, SAMPLE = 4.0, 2.9, 8.0  # mm: off the strip, a line of words, a piece of the line
MOST = 5  # lines in a strip; each has a look of its own
MARKS = ("o", "s", "^", "D", "v")
NAME, NAME_LINES = 34, 2  # characters in a line of a name, lines
JOB = 12  # characters of a job under the axis
POINTS = 72.0  # to an inch
APART = 0.07  # of the space of a job, between lines whose spans would cover each other


@dataclass(frozen=True, slots=True)
class Trend:
    """One line: a value for each job, nan where there is none, and how far the readings spread."""

    name: str
    values: tuple[float, ...]
    least: tuple[float, ...] = ()
    most: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Strip:
    """One strip of the figure; ``mark`` is a value that all are held against, nan for none.

    A mark with a name is a limit, and heavy.
    """

    heading: str
    trends: tuple[Trend, ...]
    mark: float = math.nan
    mark_name: str = ""


@style.styled()
def history(
    jobs: Sequence[str], days: Sequence[str], strips: Sequence[Strip], title: str = ""
) -> Figure:
    """Draw a strip for each of ``strips`` over the jobs, the oldest on the left.

    ``days`` are the jobs' days, written under them. A strip shows its first five trends and says
    how many more there are. Raises ValueError for no strips and for a trend that has not one
    value for each job.
    """
    _check(jobs, days, strips)
    head = TOP + (6.0 if title else 0.0)
    height = head + len(strips) * (HEADING + STRIP) + (len(strips) - 1) * GAP + BOTTOM
    figure = style.new_figure(style.PAGE_MM, height)
    page = style.page_axes(figure)
    if title:
        page.text(
            2.0, height - 2.0, textwrap.shorten(title, 80, placeholder=" …"), va="top",
            size=style.TEXT + 1.0, weight="bold", gid="words",
        )  # fmt: skip
    top = height - head
    wide = style.PAGE_MM - LEFT - RIGHT
    for place, strip in enumerate(strips):
        page.text(2.0, top, strip.heading, va="top", weight="bold", gid="words")
        low = top - HEADING - STRIP
        box = (LEFT / style.PAGE_MM, low / height, wide / style.PAGE_MM, STRIP / height)
        axes = figure.add_axes(box)
        _draw(axes, strip)
        _name(page, strip, low + STRIP)
        _jobs(axes, jobs, days, last=place == len(strips) - 1)
        top = low - GAP
    return figure


def _check(jobs: Sequence[str], days: Sequence[str], strips: Sequence[Strip]) -> None:
    if not strips or not all(strip.trends for strip in strips):
        raise ValueError("nothing to draw is given; at least one strip with one trend is needed")
    if len(days) != len(jobs):
        raise ValueError(f"{len(days)} days given for {len(jobs)} jobs")
    for strip in strips:
        for trend in strip.trends:
            for values in (trend.values, trend.least or trend.values, trend.most or trend.values):
                if len(values) != len(jobs):
                    raise ValueError(
                        f"{trend.name}: {len(values)} values given for {len(jobs)} jobs"
                    )


def look(place: int) -> dict[str, Any]:
    """The look of a strip's line: colour, dashes, mark; marks of odd places are open."""
    colour = style.SERIES[place]
    return {
        "color": colour,
        "linestyle": style.DASHES[place],
        "marker": MARKS[place],
        "markersize": 4.0,
        "markerfacecolor": style.PAPER if place % 2 else colour,
        "linewidth": style.LINE,
    }


def _draw(axes: Axes, strip: Strip) -> None:
    if math.isfinite(strip.mark):
        width = style.HEAVY if strip.mark_name else style.THIN
        axes.axhline(strip.mark, color=style.INK, linewidth=width, zorder=1.5, gid="mark")
        axes.annotate(
            strip.mark_name, (0.008, strip.mark), (0.0, 2.0), size=style.SMALL, weight="bold",
            xycoords=axes.get_yaxis_transform(), textcoords="offset points", va="bottom",
            gid="mark-name",
        )  # fmt: skip
    shown = strip.trends[:MOST]
    for place, trend in enumerate(shown):
        values = np.array(trend.values, dtype=float)
        known = np.flatnonzero(np.isfinite(values))  # a job without the reading is bridged
        spread = bool(trend.least and trend.most)
        shift = APART * (place - (len(shown) - 1) / 2.0) if spread else 0.0
        if spread:
            axes.vlines(
                known + shift, np.array(trend.least)[known], np.array(trend.most)[known],
                color=style.SERIES[place], linewidth=style.THIN, gid=f"spread-{place}",
            )  # fmt: skip
        axes.plot(known + shift, values[known], gid=f"trend-{place}", zorder=3, **look(place))
    axes.margins(y=0.12)
    axes.yaxis.set_major_locator(MaxNLocator(5))
    axes.ticklabel_format(axis="y", useOffset=False, style="plain")
    axes.tick_params(length=0.0, pad=2)
    axes.grid(visible=False, axis="x")


def _name(page: Axes, strip: Strip, top: float) -> None:
    """The names beside the strip, each behind a piece of its line."""
    left = style.PAGE_MM - RIGHT + KEY
    down = top - 1.0
    for place, trend in enumerate(strip.trends[:MOST]):
        middle = down - ROW / 2.0
        page.plot(
            [left, left + SAMPLE / 2.0, left + SAMPLE], [middle] * 3, markevery=[1], **look(place)
        )
        for line in _lines(trend.name):
            page.text(
                left + SAMPLE + 2.0, down, line, va="top", size=style.SMALL, gid="name",
            )  # fmt: skip
            down -= ROW
        down -= 0.5
    more = len(strip.trends) - MOST
    if more > 0:
        page.text(left, down, f"and {more} more", va="top", size=style.SMALL, gid="name")


def _lines(name: str) -> list[str]:
    lines = textwrap.wrap(name, NAME - 8) or [""]
    if len(lines) > NAME_LINES:
        lines = [*lines[: NAME_LINES - 1], f"{lines[NAME_LINES - 1][: NAME - 10]} …"]
    return lines


def _jobs(axes: Axes, jobs: Sequence[str], days: Sequence[str], *, last: bool) -> None:
    axes.set_xlim(-0.5, len(jobs) - 0.5)
    names = [job if len(job) <= JOB else f"{job[: JOB - 1]}…" for job in jobs]
    widest = max(_width(text) for text in (*names, *days)) + 3.0
    step = math.ceil(len(jobs) * widest / (style.PAGE_MM - LEFT - RIGHT))
    places = list(range(len(jobs) - 1, -1, -step))[::-1]  # the newest is always named
    axes.set_xticks(places)
    if last:
        labels = [f"{names[place]}\n{days[place]}" for place in places]
        axes.set_xticklabels(labels, parse_math=False)
    else:
        axes.set_xticklabels([])


def _width(text: str) -> float:
    """How wide a small text is, mm."""
    plain = text.replace("$", r"\$")  # else it is read as mathematics
    outline = TextPath((0.0, 0.0), plain, size=style.SMALL, usetex=False)
    return float(outline.get_extents().width) / POINTS * style.MM_PER_INCH if text.strip() else 0.0
