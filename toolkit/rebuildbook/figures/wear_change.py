"""What a pump delivers over the size of one leak, and what it loses, before and after a change.

After is drawn heavy and whole, before thin and dashed. Legible in grey.
"""

from __future__ import annotations

import math
import textwrap
from dataclasses import dataclass
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from rebuildbook.calculators.stroke_motion import Floats
from rebuildbook.calculators.volumetric import Kind, Volumetric
from rebuildbook.figures import style
from rebuildbook.figures.box import Box
from rebuildbook.units import number, show, shown_unit, to_unit

HIGH = 74.0  # mm
PLOT = (16.0, 11.0, 70.0, 48.0)  # mm: left, low, wide, high
BARS, BAR_MM, VALUE_MM = 97.0, 40.0, 33.0  # mm: where bars begin, the longest, figures behind it
NARROW = 4.0  # mm: where they begin without a plot
HEAD_MM = 5.5  # for the words over the bars
ROWS = 6  # losses that are shown one by one
NAME_MM, STROKE_MM, GAP_MM = 3.4, 2.7, 1.4  # a row: its name, one bar, the room after it
CHARACTERS = 34  # of a name

AFTER: Any = {"color": style.INK, "lw": style.HEAVY, "zorder": 4}
BEFORE: Any = {"color": style.WARM, "lw": style.LINE, "ls": (0, (5, 2)), "zorder": 5}


@dataclass(frozen=True, slots=True)
class Curve:
    """Flow, m³/s, over the size of one leak, m; ``at`` is the size in hand, with its flow.

    ``what`` names the size; ``reuse`` is where the part's reuse limit lies on it.
    """

    what: str
    sizes: Floats
    flows: Floats
    at: float
    flow: float
    reuse: float | None = None


@dataclass(frozen=True, slots=True)
class Shown:
    """A pump as it is drawn; None for what the sheets do not tell. ``wanted`` is a flow, m³/s."""

    result: Volumetric | None
    curve: Curve | None = None
    wanted: float | None = None


@style.styled()
def wear_change(
    after: Shown, before: Shown, flow_unit: str = "L/min", size_unit: str = "µm"
) -> Figure:
    """Draw ``after`` over ``before``: the flow over the size on the left, the losses on the right.

    Where neither has a curve only the losses are drawn.
    """
    plotted = after.curve is not None or before.curve is not None
    rows = _losses(after.result, before.result)
    left, high = (BARS, HIGH) if plotted else (NARROW, 2.0 * HEAD_MM + sum(map(_room, rows)))
    figure = style.new_figure(left + BAR_MM + VALUE_MM, high)
    page = style.page_axes(figure)
    if plotted:
        _plot(page, after, before, flow_unit, size_unit)
    _bars(page, rows, (left, high - 1.6), told=after.result is not None)
    for drawn in page.get_children():
        drawn.set_clip_on(False)
    return figure


# the flow over the size


def _plot(page: Axes, after: Shown, before: Shown, flow_unit: str, size_unit: str) -> None:
    pair = [(after, AFTER, "after")]
    if not _same(after.curve, before.curve):
        pair.append((before, BEFORE, "before"))
    curves = [one.curve for one, _, _ in pair if one.curve is not None]
    flow, size = to_unit(1.0, flow_unit), to_unit(1.0, size_unit)
    wanted = after.wanted
    far = size * max(float(curve.sizes.max()) for curve in curves) or 1.0
    box = Box(*PLOT, (0.0, far), _ends(curves, wanted, flow))
    what = curves[0].what
    from_0 = "" if box.y[0] == 0.0 else "; not from 0"
    names = f"{what}, {shown_unit(size_unit)}", f"flow, {shown_unit(flow_unit)}{from_0}"
    box.frame(page, names)
    lines: list[str] = []
    for one, look, word in pair:
        if one.curve is None:
            continue
        page.plot(*box.at(size * one.curve.sizes, flow * one.curve.flows), gid=word, **look)
        _mark(page, box, size * one.curve.at, flow * one.curve.flow, word)
    drawn = next(one.curve for one, _, _ in pair if one.curve is not None)
    if drawn.reuse is not None and drawn.reuse > 0.0:
        _reuse(page, box, size * drawn.reuse)
    if wanted is not None:
        _wanted(page, box, flow * wanted, flow * float(drawn.flows[0]))
    for row, (one, look, word) in enumerate(pair):
        height = HIGH - 2.6 - 3.4 * row
        page.plot([PLOT[0], PLOT[0] + 8.0], [height, height], **look)
        name = word if len(pair) > 1 else "now"
        lines.append(f"{name}: {_told(one, flow_unit, size_unit)}")
        page.text(
            PLOT[0] + 9.5, height, lines[-1], size=style.SMALL, va="center_baseline", gid="words"
        )


def _ends(curves: list[Curve], wanted: float | None, scale: float) -> tuple[float, float]:
    """Ends of the flow's scale: from zero, unless that would crush all into its upper part."""
    marks = [wanted] if wanted is not None else []
    low = scale * min(*marks, *(float(curve.flows.min()) for curve in curves), math.inf)
    high = scale * max(*marks, *(float(curve.flows.max()) for curve in curves), 0.0) or 1.0
    span = high - low
    if 0.0 < span < 0.5 * high:
        return max(low - 0.35 * span, 0.0), high + 0.15 * span
    return 0.0, 1.08 * high


def _same(one: Curve | None, other: Curve | None) -> bool:
    if one is None or other is None:
        return one is other
    return (
        (one.what, one.at, one.flow, one.reuse) == (other.what, other.at, other.flow, other.reuse)
        and one.flows.shape == other.flows.shape
        and bool((one.flows == other.flows).all())
    )


def _mark(page: Axes, box: Box, size: float, flow: float, word: str) -> None:
    look: Any = {"marker": "o", "ms": 5.0, "color": style.INK, "zorder": 7}
    if word == "before":  # larger and open, so that both are seen where they fall together
        look = {
            "marker": "D", "ms": 7.0, "markerfacecolor": "none", "markeredgecolor": style.WARM,
            "zorder": 8,
        }  # fmt: skip
    page.plot(*box.at(size, flow), ls="", gid=f"mark-{word}", **look)


def _reuse(page: Axes, box: Box, size: float) -> None:
    look: Any = {"color": style.SOFT, "lw": style.LINE, "ls": (0, (7, 2, 1, 2)), "zorder": 2}
    x, y = box.at((size, size), box.y)
    page.plot(x, y, gid="reuse", **look)
    page.text(
        float(x[0]), float(y[1]) + 0.8, "reuse limit", size=style.SMALL, ha="center", va="bottom",
        gid="reuse-name",
    )  # fmt: skip


def _wanted(page: Axes, box: Box, flow: float, start: float) -> None:
    """The flow that is wanted; its name on the side that the curve leaves free at its start."""
    x, y = box.at(box.x, (flow, flow))
    page.plot(x, y, color=style.SOFT, lw=style.LINE, ls=(0, (2, 2)), zorder=2, gid="wanted")
    below = start >= flow
    page.text(
        float(x[0]) + 1.5, float(y[0]) + (-0.7 if below else 0.7), "wanted",
        size=style.SMALL, va="top" if below else "bottom", gid="wanted-name",
    )  # fmt: skip


def _told(one: Shown, flow_unit: str, size_unit: str) -> str:
    if one.result is None:
        return "not told by the sheets"
    if not one.result.delivers:
        return "does not reach the pressure"
    share = number(100.0 * one.result.efficiency)
    tight = one.curve is None or one.curve.at <= 0.0
    size = "tight" if one.curve is None or tight else show(one.curve.at, size_unit)
    return f"{size}, {show(one.result.flow, flow_unit)}, {share} % delivered"


# the losses


def _bars(page: Axes, rows: list[_Row], spot: tuple[float, float], *, told: bool) -> None:
    left, top = spot
    look: Any = {"size": style.SMALL, "va": "top", "gid": "words"}
    if not rows:
        words = "Nothing is lost." if told else "No rate: what is lost is not told."
        page.text(left, top, words, **look)
        return
    page.text(left, top, "lost, of the displacement", weight="bold", **look)
    scale = BAR_MM / max(max(row.after, row.before) for row in rows)
    top -= HEAD_MM
    for row in rows:
        page.text(left, top, row.name, **{**look, "gid": "name"})
        bars = [(row.after, True), (row.before, False)][: 2 if row.changed else 1]
        for place, (share, now) in enumerate(bars):
            corner = left, top - NAME_MM - place * STROKE_MM
            _bar(page, row, corner, scale * share, share, now=now)
        top -= _room(row)


@dataclass(frozen=True, slots=True)
class _Row:
    name: str
    kind: Kind
    after: float
    before: float

    @property
    def changed(self) -> bool:
        return self.after != self.before


def _room(row: _Row) -> float:
    return NAME_MM + (2.0 if row.changed else 1.0) * STROKE_MM + GAP_MM


def _losses(after: Volumetric | None, before: Volumetric | None) -> list[_Row]:
    """Every loss by name, the largest first; past six the smallest are one."""
    shares: dict[str, list[float]] = {}
    kinds: dict[str, Kind] = {}
    for place, result in enumerate((after, before)):
        for loss in result.losses if result is not None else ():
            kinds[loss.name] = loss.kind
            shares.setdefault(loss.name, [0.0, 0.0])[place] += loss.share
    ranked = sorted(
        (_Row(_short(name), kinds[name], *both) for name, both in shares.items() if max(both) > 0),
        key=lambda row: -max(row.after, row.before),
    )
    if len(ranked) <= ROWS:
        return ranked
    rest = ranked[ROWS - 1 :]
    name = f"{len(rest)} smaller losses"
    both = sum(row.after for row in rest), sum(row.before for row in rest)
    return [*ranked[: ROWS - 1], _Row(name, rest[0].kind, *both)]


def _short(name: str) -> str:
    return textwrap.shorten(name, CHARACTERS, placeholder=" …")


def _bar(
    page: Axes, row: _Row, spot: tuple[float, float], long: float, share: float, *, now: bool
) -> None:  # fmt: skip
    """One bar, its share behind it: leaks dark, what the fluid takes light, before an outline."""
    high = 0.72 * STROKE_MM
    fill = style.SOFT if row.kind == "leak" else style.FAINT
    look: Any = {"facecolor": fill, "edgecolor": style.INK, "linewidth": style.HAIR}
    if not now:
        look = {
            "facecolor": "none", "edgecolor": style.WARM, "linewidth": style.LINE,
            "linestyle": (0, (3, 1)),
        }  # fmt: skip
    corner = (spot[0], spot[1] - high)
    word = "after" if now else "before"
    page.add_patch(Rectangle(corner, max(long, 0.0), high, gid=f"bar-{word}", **look))
    words = f"{number(100.0 * share, 3)} %" + (f" {word}" if row.changed else "")
    page.text(
        spot[0] + max(long, 0.0) + 1.5, spot[1] - high / 2.0, words, size=style.SMALL,
        va="center_baseline", gid="figures",
    )  # fmt: skip
