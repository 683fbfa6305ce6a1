"""One diagnosis: what may be wrong, the likeliest on top, and how the readings lie about it."""

from __future__ import annotations

import math
import re
import textwrap

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from rebuildbook.calculators.diagnosis import Compared, Diagnosis, Explanation
from rebuildbook.figures.style import (
    FAINT,
    HAIR,
    INK,
    LINE,
    PAGE_MM,
    PAPER,
    RULE,
    SMALL,
    SOFT,
    TEXT,
    THIN,
    new_figure,
    styled,
)

MOST = 6  # explanations shown
LEAST = 1e-3  # likely; the first is shown in any case
_NAMES = 60.0  # mm, left of the bars
_CHARACTERS = 40  # of a name, a line
_BARS = 92.0  # mm for a probability of one
_LINE, _ROOM = 3.1, 3.2  # mm: a line of words, and the room between two bars
_TITLE, _EDGE, _SCALE, _BETWEEN, _TICKS = 7.0, 3.0, 9.0, 12.0, 5.0
_THICK, _RULED = 3.6, 1.6  # mm: a bar, and between the lines of its texture
_READING = 4.4  # mm, a reading
_JOINED = re.compile(r"(?<! or)(?<! and) (?!or |and )")  # blanks within a name do not break
_SMALL_PART = 0.02  # parts below this are drawn as one
_FAR = 5.0  # errors beyond which a mark stands at the edge with its number


@styled()
def diagnosis_bars(diagnosis: Diagnosis, title: str = "", *, readings: bool = True) -> Figure:
    """Draw the ranked explanations of one unit, and below how far each reading lies from expected.

    A bar is split where its explanation is one of a group: every hypothesis has its own part, with
    its own texture, the likeliest first. Leading explanations are bold. Below, a dot is where a
    reading lies of what the best fit expects, in its own errors; a warning is written beneath.
    ``readings`` False leaves these two out.
    """
    ranked = diagnosis.explanations
    shown = ranked[:1] + tuple(one for one in ranked[1:MOST] if one.probability >= LEAST)
    words = [textwrap.wrap(_JOINED.sub("\u00a0", one.said), _CHARACTERS) for one in shown]
    heights = [max(len(lines), 1) * _LINE + _ROOM for lines in words]
    warning = textwrap.wrap(diagnosis.warning, 105) if readings else []
    top = _TITLE if title else _EDGE
    bars, rows = sum(heights), len(diagnosis.compared) * _READING + 2.0
    foot = _SCALE + len(warning) * _LINE + (1.0 if warning else 0.0)
    height = top + bars + (_BETWEEN + rows + foot if readings else _TICKS)
    figure = new_figure(PAGE_MM, height)
    if title:
        figure.text(
            2.0 / PAGE_MM, 1.0 - 2.0 / height, title, size=TEXT + 1, weight="bold", va="top"
        )
    upper = figure.add_axes(
        (_NAMES / PAGE_MM, 1.0 - (top + bars) / height, _BARS / PAGE_MM, bars / height)
    )
    _draw_bars(upper, shown, words, heights, len(diagnosis.leading))
    if not readings:
        return figure
    lower = figure.add_axes((_NAMES / PAGE_MM, foot / height, _BARS / PAGE_MM, rows / height))
    _draw_readings(lower, diagnosis.compared)
    for place, line in enumerate(warning):
        down = (len(warning) - place - 1) * _LINE + 1.5
        figure.text(2.0 / PAGE_MM, down / height, ("! " if place == 0 else "  ") + line, size=TEXT)
    return figure


def _draw_bars(
    axes: Axes,
    shown: tuple[Explanation, ...],
    words: list[list[str]],
    heights: list[float],
    leading: int,
) -> None:
    down = 0.0
    for place, (one, lines, height) in enumerate(zip(shown, words, heights, strict=True)):
        middle, down = down + height / 2.0, down + height
        left = 0.0
        for order, part in enumerate(_parts(one)):
            axes.barh(
                middle, part, _THICK, left=left, facecolor=PAPER if order else FAINT,
                edgecolor=INK, linewidth=THIN, gid="part",
            )  # fmt: skip
            _texture(axes, middle, left, part, order)
            left += part
        weight = "bold" if place < leading else "normal"
        axes.text(
            -0.02, middle, "\n".join(lines), size=SMALL, weight=weight, ha="right", va="center",
            linespacing=1.15, gid="explanation",
        )  # fmt: skip
        axes.text(
            one.probability + 0.012, middle, _percent(one.probability), size=SMALL, va="center",
            weight=weight, gid="probability",
        )  # fmt: skip
    axes.set_xlim(0.0, 1.0)
    axes.set_ylim(down, 0.0)
    axes.grid(False)
    axes.set_yticks([])
    axes.set_xticks([0.0, 0.25, 0.5, 0.75, 1.0], ["0", "25", "50", "75", "100 %"])
    axes.tick_params(length=2.0)


def _texture(axes: Axes, middle: float, left: float, width: float, order: int) -> None:
    """Rule the second part of a bar upright, the third along, the fourth both ways.

    Lines in one path: a hatch of the library is a picture of its own, many times as large.
    """
    top, bottom, right = middle - _THICK / 2.0, middle + _THICK / 2.0, left + width
    lines: list[tuple[float, float]] = []
    if order in {1, 3}:
        count = int(width * _BARS / _RULED)
        for place in range(1, count + 1):
            at = left + place * width / (count + 1)
            lines += [(at, top), (at, bottom), (math.nan, math.nan)]
    if order in {2, 3}:
        for at in (middle - _THICK / 6.0, middle + _THICK / 6.0):
            lines += [(left, at), (right, at), (math.nan, math.nan)]
    if lines:
        across, down = zip(*lines, strict=True)
        axes.plot(across, down, color=SOFT, linewidth=HAIR, clip_on=False, gid="texture")


def _parts(one: Explanation) -> list[float]:
    """Probabilities of an explanation's hypotheses, the small ones together at the end."""
    parts = [part for _, part in one.hypotheses if part >= _SMALL_PART]
    rest = one.probability - sum(parts)
    return [*parts, rest] if rest > 0.0 else parts


def _percent(share: float) -> str:
    if share > 0.99:
        return "over 99 %"
    return f"{100.0 * share:.1f} %" if share < 0.1 else f"{100.0 * share:.0f} %"


def _errors(off: float) -> str:
    sign = "+" if off > 0.0 else "−"
    return f"{sign}{abs(off):.1f}" if abs(off) < 100.0 else f"over {sign}99"


def _draw_readings(axes: Axes, compared: tuple[Compared, ...]) -> None:
    """Where each reading lies of what the best fit expects, in its own errors."""
    axes.axvspan(-2.0, 2.0, color="#ececec", linewidth=0.0)
    axes.axvline(0.0, color=SOFT, linewidth=THIN)
    for place, one in enumerate(compared):
        at = min(max(one.off, -_FAR), _FAR)
        beyond = abs(one.off) > _FAR
        axes.plot([0.0, at], [place, place], color=RULE, linewidth=LINE, solid_capstyle="butt")
        axes.plot(
            at, place, marker=(">" if at > 0 else "<") if beyond else "o", markersize=3.6,
            markerfacecolor=INK if abs(one.off) > 2.0 else PAPER, markeredgecolor=INK,
            markeredgewidth=THIN, clip_on=False, gid="reading",
        )  # fmt: skip
        if abs(one.off) > 2.0:
            side = 1 if at > 0 else -1
            axes.text(
                at + side * 0.25, place, _errors(one.off), size=SMALL, va="center",
                ha="left" if side > 0 else "right", gid="off",
            )  # fmt: skip
    axes.set_xlim(-_FAR - 2.0, _FAR + 2.0)
    axes.set_xticks([-4, -2, 0, 2, 4], ["−4", "−2", "0", "+2", "+4"])
    axes.set_ylim(len(compared) - 0.4, -0.6)
    axes.set_yticks(range(len(compared)), [one.name for one in compared], size=SMALL)
    axes.tick_params(length=0.0, axis="y", colors=INK)
    axes.tick_params(length=2.0, axis="x")
    axes.grid(True, axis="x", linewidth=HAIR)
    axes.grid(False, axis="y")
    axes.spines["left"].set_visible(False)
    axes.set_xlabel("read less expected of the best fit, in errors of the reading", labelpad=2)
