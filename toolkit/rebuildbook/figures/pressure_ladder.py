"""The pressures of a pump on one ladder: what it works at, where the relief opens, what gives way.

Drawn for paper: legible 80 mm wide and in grey. Every rung has its own line style, name and
value, so that nothing hangs on colour.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from rebuildbook.figures.axes import BareAxes, Sheet
from rebuildbook.units import DIMENSIONS, number, shown_unit, to_unit, with_unit
from rebuildbook.units.show import grouped

Kind = Literal["working", "reseat", "set", "relieving", "stall", "test", "limit"]

WIDTH = 80.0  # mm
_LEFT, _RIGHT = 11.5, 22.5  # mm, the two rails
_OTHER_SCALE = 9.0  # mm kept for the figures of the right scale
_LABELS = 39.0  # mm, where the names begin
LINE_MM = 3.05  # mm from one line of a label to the next
GAP_MM = 1.3  # mm between two labels
_MARGIN = 7.0  # mm below and above the ladder
_LEAST_HEIGHT = 70.0  # mm of ladder
_CHARACTERS = 25  # that fit beside the ladder
_TITLE_CHARACTERS = 40
_SIZE = 7.0  # points
NO_LIMIT = "not limited"
_INK, PALE = "#1a1a1a", "#c8cdd2"
STYLES: dict[Kind, tuple[Any, float]] = {
    "working": ("-", 1.2),
    "reseat": (":", 1.4),
    "set": ("-", 1.6),
    "relieving": ("-.", 1.2),
    "stall": ("--", 1.2),
    "test": ((0, (7, 2)), 1.2),
    "limit": ("-", 2.8),
}


@dataclass(frozen=True, slots=True)
class Rung:
    """One pressure on the ladder, Pa gauge.

    ``low`` and ``high`` draw a band about it, as for a set pressure with its tolerance. An
    infinite pressure is named at the top, as for a drive that does not stall.
    """

    name: str
    pressure: float
    kind: Kind
    low: float | None = None
    high: float | None = None

    def __post_init__(self) -> None:
        bounds = [p for p in (self.low, self.pressure, self.high) if p is not None]
        if not bounds[0] >= 0.0 or bounds != sorted(bounds):
            raise ValueError(
                f"{self.name}: {self.low}, {self.pressure}, {self.high} Pa do not run upward from 0"
            )


@dataclass(frozen=True, slots=True)
class Scale:
    """Pressures, Pa, from ``bottom`` to ``top`` over a ladder ``height`` mm high."""

    bottom: float
    top: float
    height: float

    def mm(self, pressure: float) -> float:
        """Millimetres above the foot of the ladder."""
        return (pressure - self.bottom) / (self.top - self.bottom) * self.height


def pressure_ladder(rungs: Sequence[Rung], unit: str, title: str = "") -> Figure:
    """Draw the pressures on one vertical scale, ``unit`` on the left, its counterpart right.

    ``rungs`` in any order, at least one of them finite; limits at the same pressure share a rung.
    ``unit`` is a pressure unit such as "bar" or "psi". Raises ValueError for nothing to draw or a
    unit that is no pressure.
    """
    kind = DIMENSIONS["pressure"]
    if unit not in (*kind.metric, *kind.us):
        raise ValueError(f"{unit!r} is no pressure unit; take one of {(*kind.metric, *kind.us)}")
    other = kind.us[0] if unit in kind.metric else kind.metric[0]
    shared = sorted(_share(rungs), key=lambda rung: rung.pressure)
    finite = [rung for rung in shared if math.isfinite(rung.pressure)]
    if not finite:
        raise ValueError("no rung has a finite pressure; there is nothing to draw")
    digits = digits_of(finite, (unit, other))
    texts = [label_of(rung, unit, other, digits) for rung in shared]
    needed = sum(label_height(text) + GAP_MM for text in texts)
    bottom, top = reach(finite)
    scale = Scale(bottom, top, max(_LEAST_HEIGHT, needed))
    heading = textwrap.wrap(title, _TITLE_CHARACTERS)
    head = _MARGIN + 3.6 * len(heading) + 4.0
    figure, axes = _sheet(scale.height, head)
    _rails(axes, scale, unit, other)
    for rung in finite:
        _draw(axes, rung, scale)
    _name_rungs(axes, shared, texts, scale)
    for line, text in enumerate(heading):
        height = scale.height + head - 3.0 - 3.6 * line
        axes.text(1.5, height, text, size=_SIZE + 1.0, weight="bold", va="top", color=_INK)
    return figure


def _share(rungs: Sequence[Rung]) -> list[Rung]:
    """Put limits at one pressure on one rung, so that ten equal parts do not need ten labels."""
    out: list[Rung] = []
    for rung in rungs:
        same = [r for r in out if rung.kind == r.kind == "limit" and r.pressure == rung.pressure]
        if same:
            joined = replace(same[0], name=f"{same[0].name}, {rung.name}")
            out[out.index(same[0])] = joined
        else:
            out.append(rung)
    return out


def reach(finite: Sequence[Rung]) -> tuple[float, float]:
    """Ends of the scale: from zero, unless that would crush all rungs into the upper part."""
    lows = [rung.pressure if rung.low is None else rung.low for rung in finite]
    highs = [rung.pressure if rung.high is None else rung.high for rung in finite]
    low, high = min(lows), max(highs)
    if high == 0.0:
        return 0.0, 1.0
    span = high - low
    if 0.0 < span < 0.35 * high:
        return max(low - 0.25 * span, 0.0), high + 0.10 * span
    return 0.0, 1.06 * high


def _sheet(height: float, head: float) -> tuple[Figure, Axes]:
    """Make a page whose axes count in millimetres, so that sizes hold on paper."""
    total = _MARGIN + height + head
    figure = Sheet(figsize=(WIDTH / 25.4, total / 25.4), facecolor="white")
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0), axes_class=BareAxes)
    axes.set_xlim(0.0, WIDTH)
    axes.set_ylim(-_MARGIN, height + head)
    return figure, axes


def _rails(axes: Axes, scale: Scale, unit: str, other: str) -> None:
    pale: dict[str, Any] = {"color": _INK, "linewidth": 0.9, "solid_capstyle": "butt"}
    foot = 0.0 if scale.bottom == 0.0 else -2.2
    for x in (_LEFT, _RIGHT):
        axes.plot([x, x], [foot, scale.height], **pale)
        if scale.bottom > 0.0:  # a broken foot: this scale does not begin at zero
            axes.plot([x - 0.9, x + 0.9], [foot - 0.5, foot + 0.5], **pale)
            axes.plot([x - 0.9, x + 0.9], [foot - 1.3, foot - 0.3], **pale)
    for x, side, name in ((_LEFT, -1.0, unit), (_RIGHT, 1.0, other)):
        align = "right" if side < 0 else "left"
        for pressure in round_pressures(scale, name):
            height = scale.mm(pressure)
            axes.plot([x, x + 1.1 * side], [height, height], **pale)
            text = tick_words(to_unit(pressure, name))
            axes.text(
                x + 1.7 * side, height, text, size=_SIZE - 0.5, ha=align, va="center_baseline",
                color=_INK, zorder=2, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.4},
            )  # fmt: skip
        axes.text(
            x + 1.7 * side, scale.height + 1.6, shown_unit(name), size=_SIZE, ha=align, va="bottom",
            weight="bold", color=_INK,
        )  # fmt: skip


def round_pressures(scale: Scale, unit: str) -> list[float]:
    """Round pressures of ``unit`` between the ends, about 9 mm apart; Pa."""
    size = to_unit(scale.top, unit) / scale.top
    wanted = (scale.top - scale.bottom) * size * 9.0 / scale.height
    decade = 10.0 ** math.floor(math.log10(wanted))
    step = next(m * decade for m in (1.0, 2.0, 5.0, 10.0) if m * decade >= wanted)
    first = math.ceil(scale.bottom * size / step - 1e-9)
    last = math.floor(scale.top * size / step + 1e-9)
    return [k * step / size for k in range(first, last + 1)]


def tick_words(value: float) -> str:
    """A round number as it stands beside its tick."""
    return grouped(f"{value:.6g}")


def _draw(axes: Axes, rung: Rung, scale: Scale) -> None:
    line, width = STYLES[rung.kind]
    if rung.low is not None and rung.high is not None:
        low, high = scale.mm(rung.low), scale.mm(rung.high)
        size = (_RIGHT - _LEFT, high - low)
        axes.add_patch(
            Rectangle((_LEFT, low), *size, facecolor=PALE, edgecolor=_INK, linewidth=0.5, zorder=1)
        )
    height = scale.mm(rung.pressure)
    axes.plot(
        [_LEFT, _RIGHT], [height, height], linestyle=line, linewidth=width, color=_INK, zorder=3,
        solid_capstyle="butt", gid=f"rung-{rung.kind}",
    )  # fmt: skip


def digits_of(finite: Sequence[Rung], units: Sequence[str]) -> int:
    """Three figures, or as many more as it takes to tell close pressures apart, up to five."""
    pressures = {p for r in finite for p in (r.low, r.pressure, r.high) if p is not None}
    for digits in (3, 4):
        shown = [{_written(p, unit, digits) for p in pressures} for unit in units]
        if all(len(texts) == len(pressures) for texts in shown):
            return digits
    return 5


def label_of(rung: Rung, unit: str, other: str, digits: int) -> list[str]:
    """The lines beside a rung: its name, its pressure in both units, its band where it has one."""
    name = f"Limit: {rung.name}" if rung.kind == "limit" else rung.name
    lines = textwrap.wrap(name, _CHARACTERS)
    if not math.isfinite(rung.pressure):
        return [*lines, NO_LIMIT]
    both = (_written(rung.pressure, name, digits) for name in (unit, other))
    lines.append(" · ".join(both))
    if rung.low is not None and rung.high is not None:
        low = number(to_unit(rung.low, unit), digits)
        lines.append(f"{low} to {_written(rung.high, unit, digits)}")
    return lines


def _written(pressure: float, unit: str, digits: int) -> str:
    return with_unit(number(to_unit(pressure, unit), digits), unit)


def label_height(text: Sequence[str]) -> float:
    """Millimetres that the lines of a label take."""
    return LINE_MM * len(text)


def _name_rungs(
    axes: Axes, rungs: Sequence[Rung], texts: Sequence[Sequence[str]], scale: Scale
) -> None:
    wanted = [
        scale.mm(rung.pressure) if math.isfinite(rung.pressure) else scale.height + 3.0
        for rung in rungs
    ]
    sizes = [label_height(text) + GAP_MM for text in texts]
    middles = spread(wanted, sizes, 0.0, scale.height + 3.0)
    start = _RIGHT + _OTHER_SCALE
    for rung, text, at, middle in zip(rungs, texts, wanted, middles, strict=True):
        if math.isfinite(rung.pressure):
            points = [_RIGHT, start, _LABELS - 2.0, _LABELS - 0.7]
            axes.plot(
                points, [at, at, middle, middle], color=_INK, linewidth=0.4, zorder=0,
                dashes=(1.5, 1.5),
            )  # fmt: skip
        else:
            axes.annotate(
                "", (_LABELS - 2.2, middle + 2.4), (_LABELS - 2.2, middle - 2.4),
                arrowprops={"arrowstyle": "->", "linewidth": 0.9, "color": _INK},
            )  # fmt: skip
        _write(axes, rung, text, middle)


def _write(axes: Axes, rung: Rung, text: Sequence[str], middle: float) -> None:
    """Write a label about its middle: the name in bold, the values plain."""
    values = 2 if rung.low is not None and rung.high is not None else 1
    for k, line in enumerate(text):
        height = middle + label_height(text) / 2.0 - LINE_MM * (k + 0.5)
        weight = "bold" if k < len(text) - values else "normal"
        axes.text(
            _LABELS, height, line, size=_SIZE, weight=weight, va="center", ha="left", color=_INK,
            gid="label",
        )  # fmt: skip


def spread(wanted: Sequence[float], sizes: Sequence[float], low: float, high: float) -> list[float]:
    """Move the middles of labels apart until none overlaps, as little as can be.

    ``wanted`` middles in rising order, ``sizes`` heights, all within ``low`` and ``high``; labels
    that touch move as one block about the mean of where they want to be.

    >>> spread([10.0, 11.0, 30.0], [4.0, 4.0, 4.0], 0.0, 40.0)
    [8.5, 12.5, 30.0]
    """
    blocks: list[tuple[list[int], float]] = []
    for k, middle in enumerate(wanted):
        blocks.append(([k], _inside(middle, sizes[k], low, high)))
        while len(blocks) > 1 and _touch(blocks[-2], blocks[-1], sizes):
            members = blocks[-2][0] + blocks[-1][0]
            blocks[-2:] = [(members, _settle(members, wanted, sizes, low, high))]
    out = [0.0] * len(wanted)
    for members, middle in blocks:
        edge = middle - sum(sizes[k] for k in members) / 2.0
        for k in members:
            out[k] = edge + sizes[k] / 2.0
            edge += sizes[k]
    return out


def _touch(
    below: tuple[list[int], float], above: tuple[list[int], float], sizes: Sequence[float]
) -> bool:
    reach = sum(sizes[k] for k in below[0] + above[0]) / 2.0
    return above[1] - below[1] < reach - 1e-9


def _settle(
    members: Sequence[int], wanted: Sequence[float], sizes: Sequence[float], low: float, high: float
) -> float:
    """Middle of a block at which its labels are, on the whole, nearest to where they belong."""
    total = sum(sizes[k] for k in members)
    edge, offsets = -total / 2.0, []
    for k in members:
        offsets.append(wanted[k] - (edge + sizes[k] / 2.0))
        edge += sizes[k]
    return _inside(sum(offsets) / len(offsets), total, low, high)


def _inside(middle: float, size: float, low: float, high: float) -> float:
    return max(min(middle, high - size / 2.0), low + size / 2.0)
