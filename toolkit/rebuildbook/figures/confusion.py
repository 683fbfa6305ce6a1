"""How often a diagnosis is right: what was called for what was planted, before and after a test."""

from __future__ import annotations

import textwrap

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from rebuildbook.calculators.diagnosis_trial import ConfusionTable
from rebuildbook.calculators.pump_model import Array
from rebuildbook.figures.style import (
    FAINT,
    HAIR,
    HEAVY,
    INK,
    PAGE_MM,
    PAPER,
    SMALL,
    SOFT,
    TEXT,
    TINY,
    new_figure,
    styled,
)

_NAMES = 29.0  # mm, left of the tables
_HEAD, _LETTER = 9.0, 1.15  # mm, above each table: its heading, and a letter of upright names
_GAP, _EDGE, _TITLE, _KEY = 4.0, 2.0, 7.0, 8.0
_CELL_HEIGHT = 5.0
_LEAST = 0.005  # shares below this are left white and unnamed
_DARK = 0.55  # shares above this are written in white
_FITS = 22  # characters of a name that fit left of the tables


@styled()
def confusion(table: ConfusionTable, title: str = "") -> Figure:
    """Draw what ranked first for each thing planted, in per cent, by the usual card and after.

    Rows are planted, columns called; every share is written in its cell, the darker the larger.
    A heavy frame is the thing itself, a dashed one the others of its group, which the usual card
    cannot part. Raises ValueError for an empty table.
    """
    rows, columns = table.usual.shape
    if rows == 0 or columns == 0:
        raise ValueError("the confusion table is empty; plant at least one fault")
    wide = (PAGE_MM - _NAMES - _GAP - _EDGE) / 2.0
    tall = rows * _CELL_HEIGHT
    above = _HEAD + _LETTER * max(len(name) for name in table.called)
    height = (_TITLE if title else _EDGE) + above + tall + _KEY
    figure = new_figure(PAGE_MM, height)
    if title:
        figure.text(
            _EDGE / PAGE_MM, 1.0 - 2.0 / height, title, size=TEXT + 1, weight="bold", va="top"
        )
    parts = ((table.usual, "By the usual card"), (table.after, "With the named test"))
    for place, (shares, head) in enumerate(parts):
        left = _NAMES + place * (wide + _GAP)
        axes = figure.add_axes((left / PAGE_MM, _KEY / height, wide / PAGE_MM, tall / height))
        _cells(axes, shares)
        _frames(axes, table)
        _dress(axes, table, head, above, named=place == 0)
    key = (
        "% of draws.  Heavy frame: called right.  Dashed frame: others the usual card cannot part."
    )
    figure.text(_NAMES / PAGE_MM, 2.4 / height, key, size=SMALL, color=SOFT)
    return figure


def _cells(axes: Axes, shares: Array) -> None:
    rows, columns = shares.shape
    size = float(np.clip(TINY * 14 / columns, 2.6, TINY))
    for row in range(rows):
        for column in range(columns):
            share = float(shares[row, column])
            grey = f"{1.0 - 0.8 * share:.3f}" if share >= _LEAST else PAPER
            axes.add_patch(
                Rectangle((column, row), 1.0, 1.0, facecolor=grey, edgecolor=FAINT, linewidth=HAIR)
            )
            if share >= _LEAST:
                axes.text(
                    column + 0.5, row + 0.52, f"{100.0 * share:.0f}", size=size, ha="center",
                    va="center", color=PAPER if share > _DARK else INK, gid="share",
                )  # fmt: skip


def _frames(axes: Axes, table: ConfusionTable) -> None:
    """Frame what would be right: the thing itself, and the others of its group."""
    for row, planted in enumerate(table.planted):
        group = next((g for g in table.groups if planted in g), (planted,))
        for column, called in enumerate(table.called):
            if called in group:
                own = called == planted
                axes.add_patch(
                    Rectangle(
                        (column + 0.06, row + 0.06), 0.88, 0.88, fill=False, edgecolor=INK,
                        linewidth=HEAVY / 2 if own else HAIR * 1.5,
                        linestyle="-" if own else (0, (2, 1.2)),
                        gid="right" if own else "alike", zorder=3,
                    )
                )  # fmt: skip


def _dress(axes: Axes, table: ConfusionTable, head: str, above: float, *, named: bool) -> None:
    rows, columns = len(table.planted), len(table.called)
    axes.set_xlim(0.0, columns)
    axes.set_ylim(rows, 0.0)
    axes.grid(False)
    axes.tick_params(length=0.0, colors=INK, pad=1.5)
    for spine in axes.spines.values():
        spine.set_visible(False)
    axes.xaxis.tick_top()
    size = float(np.clip(SMALL * 14 / columns, 2.8, SMALL - 0.5))
    axes.set_xticks(np.arange(columns) + 0.5, table.called, rotation=90, size=size)
    words = [textwrap.shorten(name, _FITS, placeholder="…") for name in table.planted]
    axes.set_yticks(np.arange(rows) + 0.5, words if named else [""] * rows, size=SMALL)
    axes.text(
        0.0, 1.0 + (above - 3.5) / (rows * _CELL_HEIGHT), head, size=TEXT, weight="bold",
        transform=axes.transAxes, va="center",
    )  # fmt: skip
    axes.text(
        1.0, 1.0 + (above - 3.5) / (rows * _CELL_HEIGHT), "called first", size=SMALL, color=SOFT,
        transform=axes.transAxes, va="center", ha="right",
    )  # fmt: skip
    if named:
        axes.text(
            -0.02, 1.0 + 2.0 / (rows * _CELL_HEIGHT), "planted", size=SMALL, color=SOFT,
            transform=axes.transAxes, ha="right",
        )  # fmt: skip
