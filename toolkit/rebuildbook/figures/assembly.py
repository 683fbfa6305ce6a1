"""An assembly as a drawing: its steps as boxes and arrows, and what goes on, along the axis.

Both are told in grey by form alone: outline, corner, glyph. Names that find no room are left to
the table that stands with the drawing; numbers always stand.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, FancyArrowPatch, Polygon, Rectangle
from matplotlib.path import Path

from rebuildbook.calculators.assembly import direct
from rebuildbook.figures.style import (
    FAINT,
    FILL,
    HAIR,
    HEAVY,
    INK,
    LINE,
    MM_PER_INCH,
    PAGE_MM,
    PAPER,
    RULE,
    SMALL,
    SOFT,
    TEXT,
    THIN,
    TINY,
    new_figure,
    page_axes,
    styled,
)

Kind = Literal["part", "ring", "seal", "check", "joint"]

# millimetres
COLUMN, NARROWEST, NAMED = 30.0, 7.0, 14.0  # a level of the graph: widest, least, with names
GAP = 5.0  # between levels, for the arrows
HIGH, LOW = 9.5, 5.5  # a box with its name, with its number only
BETWEEN = 3.4  # between rows, where arrows pass
LANE_HEAD = 4.2
LETTER = 1.05  # a letter of a name, at most
PLACE = 9.4  # one thing on the axis
GLYPH = 13.0  # height of a thing
LONGEST, ALONG = 20, 1.35  # letters of a name below it, and what each takes at most


@dataclass(frozen=True, slots=True)
class Box:
    """One step of the graph; ``level`` is how many steps at least come before it."""

    number: int
    name: str
    station: str
    level: int
    joint: bool = False
    hold_point: bool = False


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that goes on, with the number of its step."""

    kind: Kind
    name: str
    step: int


@dataclass(frozen=True, slots=True)
class _Placed:
    """A box on the paper, in mm: its left, middle, width, height, and the gap at its right."""

    left: float
    middle: float
    wide: float
    high: float
    gap: float

    @property
    def right(self) -> float:
        return self.left + self.wide


@styled()
def assembly_graph(boxes: Sequence[Box], after: Mapping[str, Sequence[str]]) -> Figure:
    """Draw the steps from left to right by level, a lane for each station, arrows to what follows.

    ``after`` gives what each step waits for; arrows that say what others say already are left
    out. A joint has a heavy outline, a hold point a black corner. Raises ValueError without a
    step.
    """
    if not boxes:
        raise ValueError("no step is given; there is nothing to draw")
    columns = 1 + max(box.level for box in boxes)
    column = min(COLUMN, max(NARROWEST, (PAGE_MM + GAP) / columns))
    named = column >= NAMED
    high = HIGH if named else LOW
    lanes = _lanes(boxes)
    height = sum(LANE_HEAD + rows * (high + BETWEEN) for _, rows in lanes)
    gap = min(GAP, column / 3)
    figure = new_figure(max(PAGE_MM, columns * column - gap), height)
    axes = page_axes(figure)
    placed: dict[str, _Placed] = {}
    top = height
    for station, rows in lanes:
        _lane(axes, station, top, figure.get_size_inches()[0] * MM_PER_INCH)
        stacked: dict[int, int] = {}
        for box in (one for one in boxes if one.station == station):
            row = stacked.setdefault(box.level, 0)
            stacked[box.level] += 1
            middle = top - LANE_HEAD - BETWEEN / 2 - row * (high + BETWEEN) - high / 2
            placed[box.name] = _Placed(box.level * column, middle, column - gap, high, gap)
        top -= LANE_HEAD + rows * (high + BETWEEN)
    _arrows(axes, placed, direct(after))
    for box in boxes:
        _box(axes, box, placed[box.name], named=named)
    return figure


def _lanes(boxes: Sequence[Box]) -> list[tuple[str, int]]:
    """Stations as they come up, each with the rows that it needs."""
    found: list[tuple[str, int]] = []
    for station in dict.fromkeys(box.station for box in boxes):
        levels = [box.level for box in boxes if box.station == station]
        found.append((station, max(levels.count(level) for level in levels)))
    return found


def _lane(axes: Axes, station: str, top: float, wide: float) -> None:
    axes.plot([0.0, wide], [top - 0.3] * 2, color=RULE, lw=HAIR, clip_on=False)
    axes.text(0.6, top - LANE_HEAD / 2 - 0.3, station, size=SMALL, color=SOFT, va="center")


def _box(axes: Axes, box: Box, at: _Placed, *, named: bool) -> None:
    low = at.middle - at.high / 2
    axes.add_patch(
        Rectangle(
            (at.left + 0.3, low), at.wide - 0.3, at.high, facecolor=FILL if box.joint else PAPER,
            edgecolor=INK, lw=HEAVY if box.joint else THIN, zorder=3, clip_on=False,
            gid=f"step {box.number}",
        )
    )  # fmt: skip
    if box.hold_point:
        corner = [(at.right, low + at.high), (at.right - 2.4, low + at.high)]
        axes.add_patch(
            Polygon(
                [*corner, (at.right, low + at.high - 2.4)], facecolor=INK, lw=0, zorder=4,
                clip_on=False,
            )
        )  # fmt: skip
    lines = _wrapped(box.name, int((at.wide - 1.0) / LETTER)) if named else []
    middle = at.left + 0.15 + at.wide / 2
    up = at.middle + (1.25 * len(lines) if lines else 0.0)
    axes.text(
        middle, up, str(box.number), size=TEXT if named else SMALL, weight="bold", ha="center",
        va="center", zorder=5,
    )  # fmt: skip
    for index, line in enumerate(lines):
        axes.text(
            middle, up - 2.9 - 2.3 * index, line, size=TINY, ha="center", va="center", zorder=5
        )


def _wrapped(name: str, letters: int) -> list[str]:
    """A name on two lines at most, broken at a hyphen where it has one, shortened if it must."""
    words = name.split("-")
    best = ("", name)
    for cut in range(1, len(words)):
        pair = ("-".join(words[:cut]) + "-", "-".join(words[cut:]))
        if max(map(len, pair)) < max(map(len, best)):
            best = pair
    lines = [name] if len(name) <= letters else [line for line in best if line]
    return [line if len(line) <= letters else line[: max(1, letters - 1)] + "…" for line in lines]


def _arrows(axes: Axes, placed: Mapping[str, _Placed], after: Mapping[str, Sequence[str]]) -> None:
    lines = list(placed)
    for name, befores in after.items():
        for before in befores:
            between = (at for other, at in placed.items() if other not in {before, name})
            points = _way(
                placed[before],
                placed[name],
                list(between),
                lines.index(before) % 3,
                lines.index(name) % 3,
            )
            axes.add_patch(
                FancyArrowPatch(
                    path=Path(points), arrowstyle="-|>,head_width=1.2,head_length=2.6",
                    lw=THIN, color=SOFT, shrinkA=0, shrinkB=0, zorder=2, clip_on=False,
                    gid=f"{before} to {name}",
                )
            )  # fmt: skip


def _way(
    start: _Placed, end: _Placed, others: Sequence[_Placed], leaving: int, coming: int
) -> list[tuple[float, float]]:
    """The corners of an arrow that runs under no box.

    Down or up it goes in the gap between two levels, along in the gap between two rows.
    ``leaving`` and ``coming`` (0, 1, 2) keep the arrows of different steps apart.
    """
    first, last = (start.right, start.middle), (end.left + 0.2, end.middle)
    into = end.left - start.gap * (0.38 + 0.14 * coming)
    under = any(
        other.middle == start.middle and start.right < other.right and other.left < into
        for other in others
    )
    if not under:
        level = start.middle == end.middle
        return [first, last] if level else [first, (into, first[1]), (into, last[1]), last]
    out = start.right + start.gap * (0.12 + 0.1 * leaving)
    up = 1.0 if end.middle > start.middle else -1.0
    along = start.middle + up * (start.high / 2 + BETWEEN / 2 + (leaving - 1) * 0.8)
    return [first, (out, first[1]), (out, along), (into, along), (into, last[1]), last]


@styled()
def exploded_strip(items: Sequence[Item]) -> Figure:
    """Draw what goes on along the axis, in order, under the number of its step.

    A block is a part, two dots an O-ring in section, two angles another seal, a ball on a cone a
    check valve, a screw a threaded joint. Raises ValueError without an item.
    """
    if not items:
        raise ValueError("no item is given; there is nothing to draw")
    places = int(PAGE_MM / PLACE)
    rows = math.ceil(len(items) / places)
    places = math.ceil(len(items) / rows)
    words = 1.5 + ALONG * max(len(_short(item.name)) for item in items)
    row_height = GLYPH + words + 4.0
    height = rows * row_height
    figure = new_figure(PAGE_MM, height)
    axes = page_axes(figure)
    for row in range(rows):
        here = items[row * places : (row + 1) * places]
        axis = height - row * row_height - 4.0 - GLYPH / 2
        wide = len(here) * PLACE
        axes.plot([0.0, wide], [axis] * 2, "-.", color=SOFT, lw=HAIR, clip_on=False)
        _numbers(axes, here, axis)
        for place, item in enumerate(here):
            middle = (place + 0.5) * PLACE
            _GLYPHS[item.kind](axes, middle, axis)
            axes.text(
                middle, axis - GLYPH / 2 - 0.6, _short(item.name), size=SMALL, rotation=90,
                ha="center", va="top",
            )  # fmt: skip
    return figure


def _short(name: str) -> str:
    return name if len(name) <= LONGEST else name[: LONGEST - 1] + "…"


def _numbers(axes: Axes, here: Sequence[Item], axis: float) -> None:
    """The number of each step over what it brings, under a line as long as that."""
    top = axis + GLYPH / 2 + 0.4
    runs = list(_runs(here))
    ends = [[first * PLACE + 1.0, (last + 1) * PLACE - 1.0] for first, last in runs]
    _pieces(axes, [(one, [top] * 2) for one in ends], THIN)
    for (first, _), one in zip(runs, ends, strict=True):
        axes.text(
            sum(one) / 2, top + 1.9, str(here[first].step), size=SMALL, weight="bold",
            ha="center", va="center",
        )  # fmt: skip


def _runs(here: Sequence[Item]) -> Iterator[tuple[int, int]]:
    first = 0
    for place in range(1, len(here) + 1):
        if place == len(here) or here[place].step != here[first].step:
            yield first, place - 1
            first = place


def _part(axes: Axes, x: float, y: float) -> None:
    axes.add_patch(
        Rectangle(
            (x - 2.4, y - 5.0), 4.8, 10.0, facecolor=FILL, edgecolor=INK, lw=LINE, zorder=3,
            clip_on=False,
        )
    )  # fmt: skip


def _ring(axes: Axes, x: float, y: float) -> None:
    for side in (-3.6, 3.6):
        axes.add_patch(
            Circle((x, y + side), 1.1, facecolor=INK, edgecolor=INK, lw=0, zorder=3, clip_on=False)
        )


def _seal(axes: Axes, x: float, y: float) -> None:
    across = [x + 1.7, x - 1.4, x + 1.7]
    up = [4.8, 3.6, 2.4]
    _pieces(axes, [(across, [y + side * one for one in up]) for side in (1.0, -1.0)], HEAVY)


def _check(axes: Axes, x: float, y: float) -> None:
    for side in (-1.0, 1.0):
        seat = [(x - 2.8, y + side * 1.1), (x - 2.8, y + side * 4.6), (x + 0.4, y + side * 4.6)]
        axes.add_patch(
            Polygon(seat, facecolor=FAINT, edgecolor=INK, lw=THIN, zorder=3, clip_on=False)
        )
    axes.add_patch(
        Circle((x + 0.9, y), 2.7, facecolor=PAPER, edgecolor=INK, lw=LINE, zorder=4, clip_on=False)
    )


def _joint(axes: Axes, x: float, y: float) -> None:
    for left, wide, high in ((x + 1.2, 1.8, 5.6), (x - 3.2, 4.4, 2.6)):
        axes.add_patch(
            Rectangle(
                (left, y - high / 2), wide, high, facecolor=PAPER, edgecolor=INK, lw=LINE,
                zorder=3, clip_on=False,
            )
        )  # fmt: skip
    turns = [x - 2.9 + turn * 0.9 for turn in range(4)]
    _pieces(axes, [([at, at + 0.5], [y - 1.3, y + 1.3]) for at in turns], HAIR)


def _pieces(axes: Axes, pieces: Sequence[tuple[list[float], list[float]]], wide: float) -> None:
    """Draw lines apart from each other as one: a drawing of few paths is small in bytes."""
    across, up = ([one for piece in pieces for one in (*piece[k], math.nan)] for k in (0, 1))
    axes.plot(across, up, color=INK, lw=wide, zorder=4, clip_on=False)


_GLYPHS = {"part": _part, "ring": _ring, "seal": _seal, "check": _check, "joint": _joint}
