"""Two changed values on paper: one line of the worksheet as a map, and where findings stand on it.

The number is told by shade and by labelled contours, the level by hatch, border and word.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.figure import Figure
from matplotlib.patches import Patch, Rectangle
from matplotlib.ticker import FuncFormatter, MaxNLocator
from numpy.typing import NDArray

from rebuildbook.figures.style import (
    ACCENT,
    FAINT,
    INK,
    LINE,
    MM_PER_INCH,
    PAGE_MM,
    PAPER,
    SMALL,
    SOFT,
    TEXT,
    THIN,
    new_figure,
    styled,
)
from rebuildbook.figures.sweep import (
    LOOKS,
    MOST_TICKS,
    WORDS,
    Curve,
    Scale,
    Strip,
    edges,
    figures,
    folded,
    limits,
    named,
    word_width,
    write_title,
)

LEFT, BOTTOM, WIDE, HIGH = 24.0, 19.5, 116.0, 84.0  # mm, the map on the page
HEAD = 20.0  # mm over the map for title, note and the name of the line
EDGE = 4.0  # mm from the edge within which a contour is not labelled
BAR = 4.0  # mm, width of the scale of shades
_SHADES = LinearSegmentedColormap.from_list("shades", [PAPER, "#9cc4dd", ACCENT])
Box = tuple[int, int, int, int]  # rows and columns of cells, first and last


@styled()
def sweep_map(
    across: Scale, up: Scale, curve: Curve, levels: Strip, *, title: str = "", note: str = ""
) -> Figure:
    """Draw one line of the worksheet over two swept values, and the level at every point.

    ``curve`` and ``levels`` run through the points with ``up`` changing fastest. ``note`` says
    what else stands still. Raises ValueError for values that do not fill the map.
    """
    shape = len(across.values), len(up.values)
    if not len(curve.values) == len(levels.levels) == shape[0] * shape[1]:
        raise ValueError(
            f"{len(curve.values)} values and {len(levels.levels)} levels do not fill a map of "
            f"{shape[0]} by {shape[1]} points"
        )
    numbers = np.array(curve.values, dtype=float).reshape(shape).T
    marks = np.array(levels.levels, dtype=object).reshape(shape).T
    bottom = BOTTOM + (5.0 if across.words else 0.0)
    height = bottom + HIGH + HEAD
    figure = new_figure(PAGE_MM, height)
    write_title(figure, title, note, LEFT)
    for words, over, look in (
        (named(curve.name, curve.unit), 7.5, {"size": TEXT, "weight": "bold"}),
        (curve.id, 4.0, {"size": SMALL, "color": SOFT}),
    ):
        place = (bottom + HIGH + over) / height
        figure.text(LEFT / PAGE_MM, place, words, va="top", **look)  # type: ignore[arg-type]
    axes = figure.add_axes((LEFT / PAGE_MM, bottom / height, WIDE / PAGE_MM, HIGH / height))
    axes.grid(visible=False)
    axes.set_xlim(*limits(across))
    axes.set_ylim(*limits(up))
    _draw_numbers(figure, axes, across, up, numbers, curve)
    _draw_levels(axes, across, up, marks)
    _draw_axes(axes, across, up)
    _draw_legend(figure, marks, levels.name)
    return figure


def _draw_numbers(
    figure: Figure,
    axes: Axes,
    across: Scale,
    up: Scale,
    numbers: NDArray[np.float64],
    curve: Curve,
) -> None:
    shown = np.ma.masked_invalid(numbers)
    if shown.count() == 0:
        return
    mesh = axes.pcolormesh(
        np.array(edges(across)), np.array(edges(up)), shown, cmap=_SHADES, alpha=0.75,
        linewidth=0, rasterized=True, zorder=1, gid="numbers",
    )  # fmt: skip
    x, y, _, high = axes.get_position().bounds
    box = figure.add_axes((x + (WIDE + 4.0) / PAGE_MM, y, BAR / PAGE_MM, high))
    bar = figure.colorbar(mesh, cax=box)
    box.tick_params(length=2, width=0.6, labelcolor=INK, pad=2)
    box.yaxis.set_major_formatter(FuncFormatter(figures))
    box.grid(visible=False)
    bar.set_label(named(curve.name, curve.unit), size=SMALL, color=INK)
    if across.words or up.words or min(numbers.shape) < 3 or float(np.ptp(shown)) <= 0.0:
        return
    lines = axes.contour(
        across.places, up.places, shown, levels=7, colors=INK, linewidths=THIN, zorder=3
    )
    for label in axes.clabel(lines, fontsize=SMALL, fmt=figures, inline=False):
        label.set(zorder=6, bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.6})
        x, y = axes.transAxes.inverted().transform(axes.transData.transform(label.get_position()))
        beside = min(x, 1.0 - x) * WIDE, min(y, 1.0 - y) * HIGH  # mm to the nearest edges
        label.set_visible(min(beside) > EDGE)


def _draw_levels(axes: Axes, across: Scale, up: Scale, marks: NDArray[np.object_]) -> None:
    """Hatch of every level, run by run, a border between levels, and each level's word."""
    x, y = edges(across), edges(up)
    rows, columns = marks.shape
    for row in range(rows):
        begin = 0
        for column in range(1, columns + 1):
            if column < columns and marks[row, column] == marks[row, begin]:
                continue
            hatch = LOOKS[str(marks[row, begin])][1]
            if hatch:
                axes.add_patch(
                    Rectangle(
                        (x[begin], y[row]), x[column] - x[begin], y[row + 1] - y[row],
                        facecolor="none", edgecolor=SOFT, hatch=hatch, linewidth=0, zorder=2,
                        gid=f"level-{marks[row, begin] or 'none'}",
                    )
                )  # fmt: skip
            begin = column
    sides = [
        [(x[column], y[row]), (x[column], y[row + 1])]
        for row in range(rows)
        for column in range(1, columns)
        if marks[row, column] != marks[row, column - 1]
    ] + [
        [(x[column], y[row]), (x[column + 1], y[row])]
        for row in range(1, rows)
        for column in range(columns)
        if marks[row, column] != marks[row - 1, column]
    ]
    axes.add_collection(
        LineCollection(sides, colors=INK, linewidths=1.4 * LINE, capstyle="round", zorder=4)
    )
    for level in dict.fromkeys(marks.ravel().tolist()):
        _write_word(axes, x, y, np.asarray(marks == level), WORDS.get(level, level))


def _write_word(
    axes: Axes, x: Sequence[float], y: Sequence[float], there: NDArray[np.bool_], word: str
) -> None:
    """Write a level's word where it has most room, upright where it is narrow, else not at all."""
    down, over = HIGH / there.shape[0], WIDE / there.shape[1]  # mm of a cell

    def room(box: Box) -> float:
        return float(min((box[3] - box[2] + 1) * over, 3.0 * (box[1] - box[0] + 1) * down))

    top, bottom, left, right = max(_boxes(there), key=room)
    wide, high = (right - left + 1) * over, (bottom - top + 1) * down
    need = word_width(word, TEXT) + 2.0
    if max(wide, high) < need or min(wide, high) < 4.0:
        return
    x_middle, y_middle = (x[left] + x[right + 1]) / 2, (y[top] + y[bottom + 1]) / 2
    level = wide >= need
    axes.text(
        x_middle, y_middle, word, size=TEXT, weight="bold", ha="center", va="center",
        rotation=0 if level else 90, zorder=7, gid="word",
        bbox={"facecolor": PAPER, "edgecolor": FAINT, "pad": 1.6},
    )  # fmt: skip
    _clear_labels(axes, x_middle, y_middle, (need, 5.0) if level else (5.0, need))


def _clear_labels(axes: Axes, x: float, y: float, size: tuple[float, float]) -> None:
    """Take away the labels of contours that a word of this size (mm) would cover."""
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    for label in [text for text in axes.texts if text.get_gid() != "word"]:
        across = abs(label.get_position()[0] - x) / (right - left) * WIDE
        up = abs(label.get_position()[1] - y) / (high - low) * HIGH
        if across < size[0] / 2 + 2.0 and up < size[1] / 2 + 3.0:
            label.set_visible(False)


def _boxes(there: NDArray[np.bool_]) -> Iterator[Box]:
    """Boxes of cells that are all there: each run along a row, as far up and down as it goes."""
    for row in range(there.shape[0]):
        cells = there[row].tolist()
        begin = 0
        for column in range(1, len(cells) + 1):
            if column < len(cells) and cells[column] == cells[begin]:
                continue
            if cells[begin]:
                full = np.all(there[:, begin:column], axis=1).tolist()
                top = bottom = row
                while top > 0 and full[top - 1]:
                    top -= 1
                while bottom < len(full) - 1 and full[bottom + 1]:
                    bottom += 1
                yield top, bottom, begin, column - 1
            begin = column


def _draw_axes(axes: Axes, across: Scale, up: Scale) -> None:
    axes.tick_params(length=2, width=0.6, labelcolor=INK, pad=2)
    for axis, scale in ((axes.xaxis, across), (axes.yaxis, up)):
        if scale.words:
            every = -(-len(scale.values) // MOST_TICKS)
            names = [_short(str(value)) for value in scale.values]
            axis.set_ticks(range(0, len(names), every), names[::every])
        else:
            axis.set_major_locator(MaxNLocator(8))
            axis.set_major_formatter(FuncFormatter(figures))
    axes.set_xlabel(folded(across.label, 74), labelpad=2)
    axes.set_ylabel(folded(up.label, 52), labelpad=3)


def _short(word: str) -> str:
    """A name on at most three short lines."""
    lines = textwrap.wrap(word, 13, break_long_words=False)
    return "\n".join(lines[:3] + (["…"] if len(lines) > 3 else []))


def _draw_legend(figure: Figure, marks: NDArray[np.object_], name: str) -> None:
    height = figure.get_size_inches()[1] * MM_PER_INCH
    there = set(marks.ravel().tolist())
    keys = [
        Patch(
            facecolor=PAPER, edgecolor=SOFT, hatch=2 * LOOKS[level][1], linewidth=THIN,
            label=WORDS.get(level, level),
        )
        for level in LOOKS
        if level in there
    ]  # fmt: skip
    figure.legend(
        handles=keys, loc="lower left", bbox_to_anchor=(LEFT / PAGE_MM, 5.2 / height),
        ncols=len(keys), handlelength=3.2, handleheight=1.5, borderaxespad=0.0, borderpad=0.0,
        columnspacing=1.6,
    )  # fmt: skip
    figure.text(LEFT / PAGE_MM, 1.6 / height, name, size=SMALL, color=INK, va="bottom")
