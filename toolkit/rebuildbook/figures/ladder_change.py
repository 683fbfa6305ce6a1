"""The pressures of a pump before and after a change, on one ladder between them.

What has not changed goes right across and is named once, on the right; what has changed stands on
the left half as it was and on the right half as it is. Legible in grey.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from rebuildbook.figures import style
from rebuildbook.figures.pressure_ladder import (
    GAP_MM,
    LINE_MM,
    STYLES,
    Rung,
    Scale,
    digits_of,
    label_height,
    label_of,
    reach,
    round_pressures,
    spread,
    tick_words,
)
from rebuildbook.units import DIMENSIONS, shown_unit, to_unit

LEAST_MM = 62.0  # height of the ladder
FOOT_MM, HEAD_MM = 4.0, 11.0  # below and above it
RAILS = (72.0, 98.0)  # mm from the left edge
MIDDLE = 85.0  # where before ends and after begins
SCALE_MM = 9.5  # beside each rail, for the figures of its scale
NAMES_MM = 6.0  # further out, where the names begin
CLEAR_MM = 1.4  # between a lead and the middle of a number of the scale
ENDLESS_MM = 3.0  # above the ladder, for a pressure without limit
_WIDER = 0.6  # points more for what has changed

Text = list[str]


@dataclass(frozen=True, slots=True)
class _Side:
    """One half of the ladder: its rungs in rising order, their labels, what tells it apart."""

    rungs: list[Rung]
    texts: list[Text]
    word: str
    color: str

    @property
    def outward(self) -> float:
        return -1.0 if self.word == "before" else 1.0

    @property
    def needed(self) -> float:
        return sum(label_height(text) + GAP_MM for text in self.texts)


@style.styled()
def ladder_change(after: Sequence[Rung], before: Sequence[Rung], unit: str) -> Figure:
    """Draw the rungs of ``after`` against those of ``before``, told apart by their names.

    ``unit`` is a pressure unit, that of the left scale; the right one is the other system's. Raises
    ValueError for another unit or where no rung has a finite pressure.
    """
    kind = DIMENSIONS["pressure"]
    if unit not in (*kind.metric, *kind.us):
        raise ValueError(f"{unit!r} is no pressure unit; take one of {(*kind.metric, *kind.us)}")
    other = kind.us[0] if unit in kind.metric else kind.metric[0]
    finite = [rung for rung in (*after, *before) if math.isfinite(rung.pressure)]
    if not finite:
        raise ValueError("no rung has a finite pressure; there is nothing to draw")
    digits = digits_of(finite, (unit, other))
    gone = [rung for rung in before if rung not in after]
    sides = [
        _Side(sort, [label_of(rung, unit, other, digits) for rung in sort], word, color)
        for sort, word, color in (
            (_rising(after), "after", style.INK),
            (_rising(gone), "before", style.WARM),
        )
    ]
    scale = Scale(*reach(finite), max(LEAST_MM, *(side.needed for side in sides)))
    height = FOOT_MM + scale.height + HEAD_MM
    figure = style.new_figure(style.PAGE_MM, height)
    page = style.page_axes(figure)
    page.set_ylim(-FOOT_MM, scale.height + HEAD_MM)
    numbers = _rails(page, scale, (unit, other))
    for side in sides:
        for rung in side.rungs:
            changed = side.word == "before" or rung not in before
            if math.isfinite(rung.pressure):
                _draw(page, rung, scale, side, changed)
        _name(page, scale, side, before, numbers[side.word])
    _head(page, scale, changed=bool(gone) or any(rung not in before for rung in after))
    for drawn in page.get_children():
        drawn.set_clip_on(False)
    return figure


def _rising(rungs: Sequence[Rung]) -> list[Rung]:
    return sorted(rungs, key=lambda rung: rung.pressure)


def _rails(page: Axes, scale: Scale, units: tuple[str, str]) -> dict[str, list[float]]:
    """Draw both scales; give the heights of their numbers, mm, on the side before and after."""
    heights: dict[str, list[float]] = {}
    foot = 0.0 if scale.bottom == 0.0 else -2.0
    strokes: list[tuple[float, float]] = []
    look: Any = {"size": style.SMALL, "color": style.SOFT, "gid": "tick"}
    for rail, out, unit in ((RAILS[0], -1.0, units[0]), (RAILS[1], 1.0, units[1])):
        align = "right" if out < 0.0 else "left"
        strokes += [(rail, foot), (rail, scale.height), (np.nan, np.nan)]
        if scale.bottom > 0.0:  # a broken foot: this scale does not begin at zero
            for up in (-0.9, -0.1):
                strokes += [(rail - 0.9, up - 0.5), (rail + 0.9, up + 0.5), (np.nan, np.nan)]
        pressures = round_pressures(scale, unit)
        heights["before" if out < 0.0 else "after"] = [scale.mm(one) for one in pressures]
        for pressure in pressures:
            up = scale.mm(pressure)
            strokes += [(rail, up), (rail + 1.1 * out, up), (np.nan, np.nan)]
            words = tick_words(to_unit(pressure, unit))
            page.text(rail + 1.8 * out, up, words, ha=align, va="center_baseline", **look)
        page.text(
            rail + 1.8 * out, scale.height + 1.4, shown_unit(unit), size=style.SMALL, ha=align,
            va="bottom", weight="bold", gid="unit",
        )  # fmt: skip
    page.plot(*np.array(strokes).T, color=style.SOFT, lw=style.THIN, gid="rails")
    return heights


def _draw(page: Axes, rung: Rung, scale: Scale, side: _Side, changed: bool) -> None:
    line, width = STYLES[rung.kind]
    ends = RAILS
    if changed:
        ends = (RAILS[0], MIDDLE - 0.5) if side.word == "before" else (MIDDLE + 0.5, RAILS[1])
        width += _WIDER
    if rung.low is not None and rung.high is not None:
        low, high = scale.mm(rung.low), scale.mm(rung.high)
        page.fill(
            [ends[0], ends[1], ends[1], ends[0]], [low, low, high, high], facecolor=style.FAINT,
            edgecolor=side.color, linewidth=style.HAIR, zorder=1, gid="band",
        )  # fmt: skip
    up = scale.mm(rung.pressure)
    page.plot(
        ends, [up, up], linestyle=line, linewidth=width, color=side.color, zorder=3,
        solid_capstyle="butt", gid=f"rung-{side.word}",
    )  # fmt: skip


def _name(
    page: Axes, scale: Scale, side: _Side, before: Sequence[Rung], numbers: Sequence[float]
) -> None:
    """Names and pressures beside the ladder, moved apart, each with a lead to its rung.

    A lead that would run through one of the ``numbers`` of the scale begins behind it.
    """
    endless = scale.height + ENDLESS_MM
    wanted = [
        scale.mm(rung.pressure) if math.isfinite(rung.pressure) else endless for rung in side.rungs
    ]
    sizes = [label_height(text) + GAP_MM for text in side.texts]
    middles = spread(wanted, sizes, 0.0, endless)
    rail = RAILS[0] if side.outward < 0.0 else RAILS[1]
    edge = rail + side.outward * (SCALE_MM + NAMES_MM)
    leads: list[tuple[float, float]] = []
    for rung, text, at, middle in zip(side.rungs, side.texts, wanted, middles, strict=True):
        if math.isfinite(rung.pressure):
            near, far = rail + side.outward * SCALE_MM, edge - side.outward * 1.0
            clear = all(abs(at - height) > CLEAR_MM for height in numbers)
            leads += [(rail if clear else near, at), (near, at), (far, middle), (np.nan, np.nan)]
        changed = side.outward < 0.0 or rung not in before
        _write(page, rung, text, (edge, middle), side, changed)
    if leads:
        page.plot(
            *np.array(leads).T, color=style.RULE, lw=style.HAIR, zorder=0.5, dashes=(3, 2),
            gid="leads",
        )  # fmt: skip


def _write(
    page: Axes, rung: Rung, text: Text, spot: tuple[float, float], side: _Side, changed: bool
) -> None:
    """A label about its middle: the name in bold where the pressure has changed."""
    values = 2 if rung.low is not None and rung.high is not None else 1
    top = spot[1] + label_height(text) / 2.0
    align = "right" if side.outward < 0.0 else "left"
    for row, words in enumerate(text):
        bold = changed and row < len(text) - values
        page.text(
            spot[0], top - LINE_MM * (row + 0.5), words, size=style.SMALL, ha=align,
            va="center_baseline", weight="bold" if bold else "normal", gid="label",
        )  # fmt: skip


def _head(page: Axes, scale: Scale, *, changed: bool) -> None:
    """Which half is which."""
    up = scale.height + HEAD_MM - 2.0
    look: Any = {"size": style.SMALL, "va": "top", "weight": "bold", "gid": "words"}
    if not changed:
        page.text((RAILS[0] + RAILS[1]) / 2.0, up, "now", ha="center", **look)
        return
    page.text(MIDDLE - 2.0, up, "before", ha="right", **look)
    page.text(MIDDLE + 2.0, up, "after", ha="left", **look)
    page.plot([MIDDLE] * 2, [0.0, up], color=style.RULE, lw=style.HAIR, zorder=0.5, gid="middle")
