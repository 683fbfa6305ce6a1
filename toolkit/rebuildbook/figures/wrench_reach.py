"""A torque wrench with its adapter, to scale from above, and where the setting acts.

Below it two scales: the tool's own, with the mark it is set to and the one the formula asks for,
and the torque on the fastener against the maker's window.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import matplotlib.patches as shapes
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from rebuildbook.figures import style
from rebuildbook.figures.scales import Scale, breadth, draw_names, draw_scale
from rebuildbook.units import number, show, to_unit

Point = tuple[float, float]

WIDTH, HEIGHT = 130.0, 114.0  # mm
LEFT, RIGHT = 27.0, 114.0  # mm, ends of both scales
SKETCH = (8.0, 71.0, 122.0, 100.0)  # mm: left, foot, right, top
ON_TOOL, ON_FASTENER = 44.5, 15.0  # mm, heights of the scales
HEAD, HEX = 2.4, 1.7  # mm, radii
STEP = 3.6  # mm between the lines of dimensions
GUESS = 0.4  # m, drawn where the sheet gives no lever


@dataclass(frozen=True, slots=True)
class WrenchPicture:
    """One way to hold a tool on a fastener; lengths in m, angle in rad, torques in N·m.

    ``lever`` is None where the shop sheet does not give it, ``adapter`` empty where there is none.
    ``formula`` is the setting for the ``aim`` and ``forgotten`` what the fastener gets where the
    aim itself is set. ``delivered`` is the scatter on the fastener, ``usable`` the least share of
    full scale. ``scale_unit`` is the tool's, ``units`` those of the window and the other system.
    """

    tool: str
    lever: float | None
    marked: tuple[float, float]
    usable: float
    scale_unit: str
    adapter: str
    offset: float
    angle: float
    setting: float
    formula: float
    aim: float
    forgotten: float
    delivered: tuple[float, float]
    window: tuple[float, float]
    units: tuple[str, str]
    length_units: tuple[str, str]

    @property
    def reach(self) -> float:
        """Lever of the wrench, or one to draw it with (m)."""
        return self.lever or GUESS

    @property
    def fastener(self) -> Point:
        """Where the fastener is, from the grip (m)."""
        x = self.reach + self.offset * math.cos(self.angle)
        return x, self.offset * math.sin(self.angle)


@style.styled()
def wrench_reach(after: WrenchPicture, before: WrenchPicture) -> Figure:
    """Draw both states: the sketch before as a dashed outline, its settings as hollow marks."""
    figure = style.new_figure(WIDTH, HEIGHT)
    axes = style.page_axes(figure)
    place = _placing((after, before))
    if _differs(after, before):
        _outline(axes, before, place)
    _sketch(axes, after, place)
    _words(axes, after)
    _on_tool(axes, after, before)
    _on_fastener(axes, after, before)
    return figure


def _differs(after: WrenchPicture, before: WrenchPicture) -> bool:
    return (after.reach, *after.fastener) != (before.reach, *before.fastener)


# the sketch


@dataclass(frozen=True, slots=True)
class _Placing:
    """Metres from the grip to millimetres of the page."""

    scale: float
    x: float
    y: float

    def at(self, point: Point) -> Point:
        return self.x + self.scale * point[0], self.y + self.scale * point[1]


def _placing(states: Sequence[WrenchPicture]) -> _Placing:
    """As large as both states fit, the grip at the same spot."""
    xs = [x for one in states for x in (-0.12 * one.reach, one.reach, one.fastener[0])]
    ys = [y for one in states for y in (0.0, one.fastener[1])]
    left, foot, right, top = SKETCH
    room = (right - left - 4.0, top - foot - 2 * HEAD)
    scale = min(room[0] / (max(xs) - min(xs)), room[1] / max(max(ys) - min(ys), 1e-9))
    middle = (foot + top - scale * (min(ys) + max(ys))) / 2.0
    return _Placing(scale, left - scale * min(xs), middle)


def _outline(axes: Axes, state: WrenchPicture, place: _Placing) -> None:
    points = [place.at(point) for point in ((0.0, 0.0), (state.reach, 0.0), state.fastener)]
    look: dict[str, Any] = {"color": style.SOFT, "lw": style.THIN, "linestyle": (0, (3, 2))}
    axes.plot(*zip(*points, strict=True), zorder=1, gid="before", **look)
    axes.add_patch(shapes.Circle(points[2], HEX + 0.7, fill=False, ec=style.SOFT, lw=style.THIN))


def _sketch(axes: Axes, state: WrenchPicture, place: _Placing) -> None:
    grip, square, bolt = (
        place.at(point) for point in ((0.0, 0.0), (state.reach, 0.0), state.fastener)
    )
    handle = 0.12 * state.reach * place.scale
    level = [grip[1]] * 2
    axes.plot([grip[0], square[0]], level, color=style.SOFT, lw=3.0, gid="wrench")
    ends = [grip[0] - handle, grip[0] + handle]
    axes.plot(ends, level, color=style.INK, lw=7.0, solid_capstyle="round")
    if state.offset > 0.0 and state.adapter:
        axes.plot(
            *zip(square, bolt, strict=True), color=style.ACCENT, lw=4.0, solid_capstyle="round",
            gid="adapter", zorder=2,
        )  # fmt: skip
    ink: dict[str, Any] = {"ec": style.INK, "lw": style.LINE}
    axes.add_patch(shapes.Circle(square, HEAD, fc=style.PAPER, zorder=3, **ink))
    drive = shapes.RegularPolygon(square, 4, radius=1.3, orientation=math.pi / 4, fc=style.FAINT)
    drive.set(zorder=4, **ink)
    axes.add_patch(drive)
    axes.add_patch(
        shapes.RegularPolygon(bolt, 6, radius=HEX, fc=style.INK, ec=style.PAPER, lw=0.8, zorder=5)
    )
    _pull(axes, grip)
    low = min(grip[1], bolt[1]) - 4.4
    _dimension(axes, grip, square, low - STEP, "L")
    if bolt[0] != square[0]:
        _dimension(axes, grip, bolt, low - 2 * STEP - 0.8, "L + E cos θ")


def _pull(axes: Axes, grip: Point) -> None:
    """The pull at the middle of the grip, square to the wrench, that tightens clockwise."""
    axes.annotate(
        "", (grip[0], grip[1] - 1.6), (grip[0], grip[1] - 7.6), zorder=6,
        arrowprops={
            "arrowstyle": "-|>", "lw": 1.6, "color": style.INK, "shrinkA": 0.0, "shrinkB": 0.0,
            "mutation_scale": 8.0,
        },
    )  # fmt: skip
    axes.text(grip[0] + 1.8, grip[1] - 4.6, "pull", size=style.SMALL, va="center", gid="pull")


def _dimension(axes: Axes, one: Point, other: Point, height: float, words: str) -> None:
    look: dict[str, Any] = {"color": style.SOFT, "lw": style.HAIR}
    for x, y in (one, other):
        axes.plot([x, x], [y - HEAD - 0.6, height - 0.8], **look)
    axes.plot([one[0], other[0]], [height] * 2, gid="dimension", **look)
    for x in (one[0], other[0]):
        axes.plot([x - 0.7, x + 0.7], [height - 0.7, height + 0.7], color=style.SOFT, lw=style.LINE)
    axes.text(
        (one[0] + other[0]) / 2, height, words, ha="center", va="center", size=style.SMALL,
        gid="dimension-words", bbox={"facecolor": style.PAPER, "edgecolor": "none", "pad": 0.6},
    )  # fmt: skip


def _words(axes: Axes, state: WrenchPicture) -> None:
    lever = "length not on the shop sheet"
    if state.lever is not None:
        lever = f"L {_length(state, state.lever)}"
    lines = [f"{state.tool}: {lever}"]
    if state.adapter:
        angle = show(state.angle, "deg")
        lines.append(f"{state.adapter}: E {_length(state, state.offset)}, θ {angle}")
        ratio = state.forgotten / state.aim
        lines.append(f"the fastener gets {number(ratio, 4)} times the scale")
    else:
        lines.append("no adapter: the fastener gets what the scale says")
    for place, line in enumerate(lines):
        size = style.TEXT * min(1.0, (WIDTH - 4.0) / breadth(line, style.TEXT))
        axes.text(
            2.0, HEIGHT - 3.0 - 3.9 * place, line, va="center", size=size, gid="words",
            color=style.INK,
        )  # fmt: skip


def _length(state: WrenchPicture, metres: float) -> str:
    first, second = state.length_units
    words = show(metres, first)
    return f"{words} ({show(metres, second)})" if second else words


# the two scales


def _on_tool(axes: Axes, after: WrenchPicture, before: WrenchPicture) -> None:
    unit = after.scale_unit
    scale = Scale(0.0, after.marked[1], LEFT, RIGHT)
    foot, top = ON_TOOL, ON_TOOL + 3.6
    _label(axes, (foot + top) / 2, "on the", "tool")
    draw_scale(axes, scale, foot, unit)
    usable = scale.at(max(after.usable * after.marked[1], after.marked[0]))
    _band(axes, (LEFT, usable), (foot, top), "too-low", fc=style.PAPER, hatch="////")
    _band(axes, (usable, RIGHT), (foot, top), "usable", fc=style.FILL)
    named = [
        (scale.at(after.setting), f"▼ set to {_figure(after.setting, unit)}"),
        (scale.at(after.formula), f"┃ formula {_figure(after.formula, unit)}"),
    ]
    if not after.marked[0] * (1 - 1e-9) <= after.setting <= after.marked[1] * (1 + 1e-9):
        named[0] = (named[0][0], f"{named[0][1]}, off the scale")
    if before.setting != after.setting:
        x = scale.at(before.setting)
        _mark(axes, x, top + 1.0, "v", hollow=True)
        named.append((x, f"▽ before {_figure(before.setting, unit)}"))
    _mark(axes, scale.at(after.setting), top + 1.0, "v")
    axes.plot([scale.at(after.formula)] * 2, [foot, top], color=style.WARM, lw=style.HEAVY)
    draw_names(axes, top + 6.4, top + 2.4, named, WIDTH)


def _band(
    axes: Axes, across: tuple[float, float], up: tuple[float, float], gid: str, **look: Any
) -> None:
    corner, size = (across[0], up[0]), (across[1] - across[0], up[1] - up[0])
    look = {"ec": style.SOFT, "lw": style.HAIR, "zorder": 0, **look}
    axes.add_patch(shapes.Rectangle(corner, *size, gid=gid, **look))


def _figure(torque: float, unit: str) -> str:
    return number(to_unit(torque, unit), 4)


def _on_fastener(axes: Axes, after: WrenchPicture, before: WrenchPicture) -> None:
    unit, other = after.units
    ends = [*after.window, *after.delivered, *before.delivered, after.forgotten]
    room = 0.12 * (max(ends) - min(ends))
    scale = Scale(max(min(ends) - room, 0.0), max(ends) + room, LEFT, RIGHT)
    foot, top = ON_FASTENER, ON_FASTENER + 9.0
    _label(axes, (foot + top) / 2, "on the", "fastener")
    draw_scale(axes, scale, foot, unit)
    if other:
        draw_scale(axes, scale, foot - 7.8, other)
    left, right = (scale.at(torque) for torque in after.window)
    _band(axes, (left, right), (foot, top), "window", fc=style.FILL, lw=style.THIN)
    for name, state, height, width, ink in (
        ("before", before, foot + 6.6, style.LINE, style.SOFT),
        ("after", after, foot + 2.8, 5.0, style.ACCENT),
    ):
        _bar(axes, [scale.at(torque) for torque in state.delivered], height, width, ink)
        axes.text(
            RIGHT + 1.8, height, name, va="center", size=style.SMALL, color=style.SOFT, gid="state"
        )
    low, high = (_figure(torque, unit) for torque in after.window)
    named = [((left + right) / 2, f"▭ window {low} to {high}")]
    if after.adapter and abs(after.forgotten / after.aim - 1.0) > 1e-6:
        x = scale.at(after.forgotten)
        axes.plot([x], [top + 0.9], marker="x", color=style.WARM, ms=5.0, mew=1.6, ls="none")
        named.append((x, f"✕ formula forgotten {_figure(after.forgotten, unit)}"))
    draw_names(axes, top + 5.4, top + 1.9, named, WIDTH)


def _bar(axes: Axes, places: Sequence[float], height: float, width: float, ink: str) -> None:
    axes.plot(
        places, [height] * 2, color=ink, lw=width, solid_capstyle="butt", gid="delivered", zorder=3
    )


def _mark(axes: Axes, x: float, height: float, marker: str, *, hollow: bool = False) -> None:
    axes.plot(
        [x], [height], marker=marker, ms=5.5, mec=style.INK, mew=style.THIN, ls="none",
        mfc=style.PAPER if hollow else style.INK, zorder=3 if hollow else 4,
    )  # fmt: skip


def _label(axes: Axes, height: float, *words: str) -> None:
    axes.text(
        LEFT - 3.0, height, "\n".join(words), ha="right", va="center", size=style.SMALL,
        weight="bold", linespacing=1.15, gid="label",
    )  # fmt: skip
