"""An O-ring in its gland, cut across: the ring free and squeezed, the gap, squeeze and fill.

Ring and gland are to scale. The squeezed ring keeps its area: flat faces with round ends, or,
where the groove is too narrow for that, a rectangle with round corners. It is drawn against the
wall that the pressure pushes it to. The dashed circle is the ring before it is squeezed. Drawn for
paper: legible 80 mm wide and in grey.
"""

from __future__ import annotations

import math
import textwrap
from dataclasses import dataclass

import matplotlib.patches as shapes
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from rebuildbook.calculators.bounds import not_negative
from rebuildbook.calculators.o_ring import Assessment, Spread
from rebuildbook.calculators.o_ring_gland import Gland, RadialGland
from rebuildbook.calculators.o_ring_sizes import ORing
from rebuildbook.figures import style
from rebuildbook.units import number, shop_unit, show, to_unit, with_unit

Point = tuple[float, float]
Outline = NDArray[np.float64]

RING_MM = 26.0  # the free section on paper, where the groove leaves it the width
BODY_MM = 64.0  # the widest the parts may be drawn
MATE_MM = 8.0  # of the facing part, above the joint
FLOOR_MM = 7.0  # of the grooved part, below the groove
KEY_LINE_MM = 3.2
DIMENSION_MM = 6.0
TITLE_MM = 6.0
TAG_MM, TEXT_MM = 3.0, 8.0
CHARACTERS = 52
_PARTS = {"male": ("piston or plug", "bore"), "female": ("housing", "rod")}


@dataclass(frozen=True, slots=True)
class _Page:
    """Metres of the section to millimetres of paper; the origin is the middle of the groove floor.

    ``up`` is −1 where the groove is cut in the upper part.
    """

    scale: float
    axis: float
    floor: float
    up: float

    def at(self, x: float, y: float) -> Point:
        return self.axis + x * self.scale, self.floor + self.up * y * self.scale


@style.styled()
def o_ring_gland(
    ring: ORing,
    gland: Gland,
    found: Assessment,
    clearance: float = 0.0,
    system: str = "metric",
    title: str = "",
    *,
    words: bool = True,
) -> Figure:
    """Draw ``ring`` in ``gland`` in section, at nominal sizes, with the results ``found``.

    ``clearance`` is the gap beside the groove as it opens on this side, in m; ``system`` is
    "metric" or "us" and chooses the units written. P marks the side of the pressure. Without
    ``words`` parts and results are left to a caption, and the drawing is small in bytes.
    """
    if system not in {"metric", "us"}:
        raise ValueError(f"system {system!r} given; it is metric or us")
    depth, width = found.depth.nominal, gland.width.nominal
    not_negative("clearance", clearance)
    if clearance >= depth:
        raise ValueError(f"a gap of {clearance:g} m leaves no groove of {depth:g} m depth")
    section = found.section.nominal
    wide = width + 1.3 * section
    scale = min(RING_MM / section, BODY_MM / wide)
    key = _key(ring, gland, found, clearance, system) if words else []
    flipped = isinstance(gland, RadialGland) and gland.kind == "female"
    parts = FLOOR_MM + max(depth * scale + MATE_MM, section * scale + 0.5)
    bottom = 2.5 + KEY_LINE_MM * len(key) + (0.0 if flipped else DIMENSION_MM)
    above = (DIMENSION_MM if flipped else 0.0) + (TITLE_MM if title else 1.0)
    height = bottom + parts + above
    figure = style.new_figure(style.COLUMN_MM, height)
    axes = style.page_axes(figure)
    floor = bottom + (parts - FLOOR_MM if flipped else FLOOR_MM)
    page = _Page(scale, style.COLUMN_MM / 2, floor, -1.0 if flipped else 1.0)
    _draw_parts(axes, page, gland, depth, clearance, wide)
    if words:
        _name_parts(axes, page, gland, depth, wide)
    _draw_ring(axes, page, found, width, 1 if words else 3)
    _draw_sizes(axes, page, gland, depth, wide, system)
    _draw_words(axes, key, title)
    for drawn in axes.get_children():
        drawn.set_clip_on(False)
    return figure


def squeezed_outline(area: float, depth: float, width: float) -> Outline:
    """Trace a squeezed section of ``area`` (m²) in a groove of ``depth`` and ``width`` (m).

    Rows of x and y about the middle of the groove floor, in m. A section that does not reach the
    facing part stays a circle; one larger than the groove fills it, and no more is drawn.

    >>> outline = squeezed_outline(10e-6, 2.8e-3, 5e-3)
    >>> x, y = outline.T
    >>> round(float(abs(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2) * 1e6, 2)
    10.0
    """
    circle = math.sqrt(4.0 * area / math.pi)
    if circle <= depth:
        return _rounded(circle, circle, circle / 2.0)
    across = (area - math.pi * depth**2 / 4.0) / depth + depth
    if across <= width:
        return _rounded(across, depth, depth / 2.0)
    left = max(width * depth - area, 0.0) / (4.0 - math.pi)
    return _rounded(width, depth, min(math.sqrt(left), width / 2.0, depth / 2.0))


def _rounded(across: float, high: float, radius: float) -> Outline:
    """Trace a rectangle that stands on y = 0, its corners rounded."""
    turn = np.linspace(0.0, math.pi / 2.0, 40)
    corner = np.column_stack([np.cos(turn), np.sin(turn)]) * radius
    x, y = across / 2.0 - radius, high / 2.0 - radius
    quarters = [
        np.add(corner, (x, y)),
        np.add(corner[::-1] * (-1, 1), (-x, y)),
        np.add(corner * (-1, -1), (-x, -y)),
        np.add(corner[::-1] * (1, -1), (x, -y)),
    ]
    outline: Outline = np.add(np.vstack(quarters), (0.0, high / 2.0))
    return outline


def _draw_parts(
    axes: Axes, page: _Page, gland: Gland, depth: float, clearance: float, wide: float
) -> None:
    half, body = gland.width.nominal / 2.0, wide / 2.0
    land, below = depth - clearance, -FLOOR_MM / page.scale
    groove = [
        (-body, below), (-body, land), (-half, land), (-half, 0.0),
        (half, 0.0), (half, land), (body, land), (body, below),
    ]  # fmt: skip
    top = depth + MATE_MM / page.scale
    mate = [(-body, depth), (-body, top), (body, top), (body, depth)]
    for outline, hatch, gid in ((groove, "////", "groove"), (mate, "\\\\\\\\", "mate")):
        axes.add_patch(
            shapes.Polygon(
                [page.at(*point) for point in outline], closed=True, facecolor=style.FILL,
                edgecolor=style.INK, hatch=hatch, linewidth=style.THIN, zorder=1, gid=gid,
            )
        )  # fmt: skip


def _name_parts(axes: Axes, page: _Page, gland: Gland, depth: float, wide: float) -> None:
    below, body = -FLOOR_MM / page.scale, wide / 2.0
    names = _PARTS[gland.kind] if isinstance(gland, RadialGland) else ("flange", "facing part")
    lift = 0.5 * MATE_MM / page.scale
    left = 1.0 / page.scale - body
    places = ((left, below * 0.5), (left, depth + lift))
    for name, place in zip(names, places, strict=True):
        axes.text(
            *page.at(*place), name, ha="left", va="center", size=style.SMALL, zorder=8,
            bbox={"facecolor": style.PAPER, "edgecolor": "none", "pad": 1.2},
        )  # fmt: skip


def _draw_ring(axes: Axes, page: _Page, found: Assessment, width: float, every: int) -> None:
    depth, section = found.depth.nominal, found.section.nominal
    # a third of the points keeps the ends of each corner
    outline = squeezed_outline(found.fill.nominal * width * depth, depth, width)[::every]
    aside = width / 2.0 - float(outline[:, 0].max())  # to the wall away from the pressure
    axes.add_patch(
        shapes.Polygon(
            [page.at(x + aside, y) for x, y in outline], closed=True, facecolor=style.RULE,
            edgecolor=style.INK, linewidth=style.LINE, zorder=3, gid="squeezed",
        )
    )  # fmt: skip
    axes.add_patch(
        shapes.Circle(
            page.at(aside, section / 2.0), section / 2.0 * page.scale, fill=False,
            edgecolor=style.INK, linewidth=style.THIN, linestyle=(0, (4, 3)), zorder=5, gid="free",
        )
    )  # fmt: skip
    start = page.at(-width / 2.0 - 0.02 * section, depth / 2.0)
    left = page.axis + (float(outline[:, 0].min()) + aside) * page.scale
    if left - start[0] > 4.0:  # room between wall and ring for the arrow
        tip = (left - 0.3, start[1])
        axes.add_patch(
            shapes.FancyArrowPatch(
                (start[0] + 0.8, start[1]), tip, arrowstyle="-|>", mutation_scale=6,
                shrinkA=0, shrinkB=0, color=style.INK, linewidth=style.LINE, zorder=7, gid="arrow",
            )
        )  # fmt: skip


def _draw_sizes(
    axes: Axes, page: _Page, gland: Gland, depth: float, wide: float, system: str
) -> None:
    """Write the depth beside the parts and the width on the floor side of them."""
    half = gland.width.nominal / 2.0
    right = page.at(wide / 2.0, 0.0)[0] + 2.5
    low, high = page.at(0.0, 0.0)[1], page.at(0.0, depth)[1]
    for y in (low, high):
        axes.plot([right - 2.0, right + 0.8], [y, y], color=style.INK, lw=style.HAIR)
    _arrow(axes, (right, low), (right, high))
    axes.text(
        right + 0.9, (low + high) / 2.0, _length(depth, system), rotation=90, ha="left",
        va="center", size=style.SMALL,
    )  # fmt: skip
    foot = page.floor - page.up * FLOOR_MM
    line = foot - page.up * 1.6
    left, far = page.at(-half, 0.0)[0], page.at(half, 0.0)[0]
    for x in (left, far):
        axes.plot(
            [x, x], [foot - page.up * 0.4, line - page.up * 0.6], color=style.INK, lw=style.HAIR
        )
    _arrow(axes, (left, line), (far, line))
    axes.text(
        (left + far) / 2.0, line - page.up * 0.7, _length(gland.width.nominal, system),
        ha="center", va="top" if page.up > 0 else "bottom", size=style.SMALL,
    )  # fmt: skip
    axes.text(
        page.at(-wide / 2.0, 0.0)[0] - 2.5, page.at(0.0, depth)[1], "P", ha="center",
        va="center", size=style.TEXT, weight="bold",
    )  # fmt: skip


def _arrow(axes: Axes, start: Point, end: Point) -> None:
    axes.add_patch(
        shapes.FancyArrowPatch(
            start, end, arrowstyle="<|-|>", mutation_scale=5, shrinkA=0, shrinkB=0,
            color=style.INK, linewidth=style.HAIR,
        )
    )  # fmt: skip


def _draw_words(axes: Axes, key: list[tuple[str, str]], title: str) -> None:
    if title:
        axes.text(
            style.COLUMN_MM / 2, axes.get_ylim()[1] - 1.0, title, ha="center", va="top",
            size=style.TEXT, weight="bold",
        )  # fmt: skip
    for line, (tag, words) in enumerate(reversed(key)):
        y = 1.4 + KEY_LINE_MM * line
        axes.text(TAG_MM, y, tag, weight="bold", va="baseline", size=style.SMALL)
        axes.text(TEXT_MM, y, words, va="baseline", size=style.SMALL)


def _key(
    ring: ORing, gland: Gland, found: Assessment, clearance: float, system: str
) -> list[tuple[str, str]]:
    """The lines below the drawing: a tag and its words."""
    sizes = " × ".join(_length(one.nominal, system) for one in (ring.inside, ring.section))
    kept = [("- -", f"free ring {sizes}" + (f", {ring.name}" if "AS568" in ring.name else ""))]
    squeeze = _length(found.squeeze.nominal, system)
    kept.append(("", f"squeeze {squeeze}, {_share(found.squeeze_share)}"))
    kept.append(("", f"fill {_share(found.fill)}"))
    held_inside = (
        gland.kind == "male" if isinstance(gland, RadialGland) else gland.pressure_from == "outside"
    )
    if held_inside:
        kept.append(("", f"stretch {_share(found.stretch)}"))
    else:
        kept.append(("", f"larger than the outer wall by {_share(found.interference)}"))
    kept.append(("", f"gap {_length(clearance, system)}" if clearance > 0.0 else "no gap"))
    kept.append(("P", "side of the pressure"))
    if found.fill.nominal >= 1.0:
        kept.append(("!", "more rubber than room: drawn only as far as the groove"))
    if found.squeeze.nominal <= 0.0:
        kept.append(("!", "does not touch the facing part"))
    return [
        (tag if line == 0 else "", words)
        for tag, text in kept
        for line, words in enumerate(textwrap.wrap(text, CHARACTERS))
    ]


def _share(spread: Spread) -> str:
    """A share with its worst limits, in percent."""
    middle, low, high = (
        number(to_unit(value, "%"), 2 if abs(value) < 0.1 else 3)
        for value in (spread.nominal, spread.low, spread.high)
    )
    return f"{with_unit(middle, '%')} ({low} to {high} %)"


def _length(si: float, system: str) -> str:
    return show(si, shop_unit("length", system, si))
