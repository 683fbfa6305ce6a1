"""One number read as four torque units: what the preload comes to, on a scale of powers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import matplotlib.patches as shapes
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from rebuildbook.figures import style
from rebuildbook.figures.scales import Scale, breadth, draw_names, draw_scale
from rebuildbook.units import show

WIDTH, HEIGHT = 130.0, 88.0  # mm
LEFT, RIGHT = 34.0, 103.0  # mm, ends of the scale
FOOT, TOP = 20.0, 68.0  # mm, of all rows together
KEY = 2.6  # mm
ROOM = 1.6  # factor that the scale goes on beyond the outermost preload


@dataclass(frozen=True, slots=True)
class Reading:
    """The number read in one unit: its name, the torque in words, preloads (N), the outcome.

    ``outcome`` are few words ("yields"); ``meant`` says that this is the unit on the sheet and
    ``plausible`` that a torque of this size can be meant for the fastener.
    """

    unit: str
    torque: str
    least: float
    typical: float
    most: float
    outcome: str
    meant: bool
    plausible: bool


@dataclass(frozen=True, slots=True)
class MixUpPicture:
    """All readings of one number, and the preloads (N) at which the joint opens and gives way.

    ``units`` of force are the shop's and the other system's, empty where there is no other.
    """

    readings: tuple[Reading, ...]
    opens: float | None
    yields: float
    strips: float | None
    units: tuple[str, str]


@style.styled()
def unit_mixup(after: MixUpPicture, before: MixUpPicture) -> Figure:
    """Draw a row for each unit: the range now heavy, the range before thin above it.

    Raises ValueError for no reading.
    """
    if not after.readings:
        raise ValueError("no reading is given; there is nothing to draw")
    figure = style.new_figure(WIDTH, HEIGHT)
    axes = style.page_axes(figure)
    scale = _scale((after, before))
    draw_scale(axes, scale, FOOT, after.units[0])
    if after.units[1]:
        draw_scale(axes, scale, TOP + 12.5, after.units[1], above=True)
    _limits(axes, scale, after)
    known = {reading.unit: reading for reading in before.readings}
    high = (TOP - FOOT) / len(after.readings)
    for place, reading in enumerate(after.readings):
        middle = TOP - high * (place + 0.5)
        axes.plot([1.5, WIDTH - 1.5], [middle - high / 2] * 2, color=style.FAINT, lw=style.HAIR)
        _row(axes, scale, middle, reading, known.get(reading.unit))
    _key(axes)
    return figure


def _scale(pictures: Sequence[MixUpPicture]) -> Scale:
    """Four decades at most, about the limits: a preload far beyond them need not be in reach."""
    ends = [
        force
        for one in pictures
        for force in (one.yields, one.opens, *_forces(one.readings))
        if force is not None and force > 0.0
    ]
    high = max(ends)
    return Scale(max(min(ends) / ROOM, high * 1e-4), high * ROOM, LEFT, RIGHT, powers=True)


def _forces(readings: Sequence[Reading]) -> list[float]:
    return [force for one in readings for force in (one.least, one.most)]


def _limits(axes: Axes, scale: Scale, picture: MixUpPicture) -> None:
    """Hatched where the joint opens or the fastener yields; the names stand over the rows."""
    look: dict[str, Any] = {"facecolor": style.PAPER, "edgecolor": style.FAINT, "lw": 0.0}
    gives = min(force for force in (picture.yields, picture.strips) if force is not None)
    spans = [(scale.at(gives), RIGHT, "xxx")]
    if picture.opens is not None:
        spans.append((LEFT, scale.at(picture.opens), "///"))
    for left, right, hatch in spans:
        axes.add_patch(
            shapes.Rectangle(
                (left, FOOT), right - left, TOP - FOOT, hatch=hatch, zorder=0, gid="past", **look
            )
        )
    known = [
        (scale.at(force), f"{name} {show(force, picture.units[0])}", dash)
        for name, force, dash in (
            ("opens below", picture.opens, (0, (4, 1.5))),
            ("yields", picture.yields, "-"),
            ("strips", picture.strips, (0, (6, 1.2, 1, 1.2))),
        )
        if force is not None and force < scale.high
    ]
    for x, _, dash in known:
        axes.plot([x, x], [FOOT, TOP + 1.0], color=style.INK, lw=style.LINE, linestyle=dash)
    draw_names(axes, TOP + 4.6, TOP + 1.0, [(x, words) for x, words, _ in known], WIDTH)


def _row(axes: Axes, scale: Scale, height: float, reading: Reading, before: Reading | None) -> None:
    weight = "bold" if reading.meant else "normal"
    size = style.TEXT * min(1.0, 0.85 * (LEFT - 3.0) / breadth(reading.torque, style.TEXT))
    axes.text(
        1.5, height + 1.7, reading.torque, va="center", size=size, weight=weight, gid="torque"
    )
    second = "as written" if reading.meant else "" if reading.plausible else "not plausible"
    if reading.meant and not reading.plausible:
        second = "as written, not plausible"
    axes.text(
        1.5, height - 1.9, second or "plausible", va="center", size=style.SMALL, color=style.SOFT,
        gid="plausible",
    )  # fmt: skip
    if before is not None:
        _bar(axes, scale, height + 2.0, before, style.LINE, style.SOFT)
    _bar(axes, scale, height - 0.6, reading, 4.5, style.ACCENT if reading.meant else style.INK)
    middle = scale.at(reading.typical)
    axes.plot(
        [middle], [height - 0.6], marker="o", markersize=3.6, markerfacecolor=style.PAPER,
        markeredgecolor=style.INK, markeredgewidth=style.THIN, zorder=4,
    )  # fmt: skip
    axes.text(
        RIGHT + 2.0, height - 0.6, reading.outcome, va="center", size=style.SMALL, gid="outcome",
        weight="normal" if reading.outcome == "holds" else "bold",
    )  # fmt: skip


def _bar(axes: Axes, scale: Scale, height: float, reading: Reading, width: float, ink: str) -> None:
    ends = [scale.at(reading.least), scale.at(reading.most)]
    axes.plot(ends, [height] * 2, color=ink, lw=width, solid_capstyle="butt", gid="range", zorder=3)


def _key(axes: Axes) -> None:
    x = LEFT
    axes.plot([x, x + 6], [KEY] * 2, color=style.INK, lw=4.5, solid_capstyle="butt")
    axes.plot(
        [x + 3], [KEY], marker="o", markersize=3.6, markerfacecolor=style.PAPER,
        markeredgecolor=style.INK, markeredgewidth=style.THIN, zorder=4,
    )  # fmt: skip
    axes.plot([x + 50, x + 56], [KEY] * 2, color=style.SOFT, lw=style.LINE)
    for at, words in ((7.5, "after: least, typical, most"), (57.5, "before")):
        axes.text(x + at, KEY, words, va="center", size=style.SMALL, color=style.SOFT, gid="key")
    axes.text(
        (LEFT + RIGHT) / 2, FOOT - 9.0, "preload of one fastener", ha="center", va="center",
        size=style.SMALL, color=style.SOFT, gid="title",
    )  # fmt: skip
