"""The numbered tightening pattern of one joint, for the bench."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Any

import matplotlib.patches as shapes
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from rebuildbook.calculators.layout import Layout
from rebuildbook.calculators.tightening import Plan
from rebuildbook.figures import style
from rebuildbook.figures.measure import POINT_MM, extent, fitting

Point = tuple[float, float]

LARGEST_RING = 3.6  # mm, radius
SMALLEST_RING = 1.75  # below it two digits no longer fit: a dot with its numbers beside it
DOT = 0.7
CLOSEST = 1.9  # mm between neighbours below which the figure grows instead
MARGIN = 10.0  # room for a ring and its order beside it
DENSE_MARGIN = 14.0
TOP_ROOM = 1.0
TITLE_ROOM = 5.0
KEY_LINE = 3.0
MOST_STEPS_DRAWN = 4


@dataclass(frozen=True, slots=True)
class _Page:
    """The joint laid on paper: all in mm from the lower left corner, ``places`` by number."""

    width: float
    height: float
    places: dict[int, Point]
    outward: dict[int, Point]
    centre: Point
    half_width: float
    half_height: float
    margin: float
    ring: float
    pitch: float

    @property
    def dense(self) -> bool:
        return self.ring < SMALLEST_RING


@style.styled()
def tightening_pattern(plan: Plan, title: str = "", *, legend: bool = True) -> Figure:
    """Draw the positions of ``plan`` with their numbers and the order of tightening.

    In the ring (or first, where there are too many for rings) the position's number; beside it
    the order, 1st, 2nd …; the first is filled and the way to the next few is drawn faintly.
    Where positions are numbered by order one number says both. The sketch is in proportion
    unless the joint is very long or narrow. 80 mm wide; wider only for very many fasteners.
    Without ``legend`` a caption has to say how to read it.
    """
    key = _key(plan) if legend else ()
    page = _lay_out(plan.layout, bool(title), len(key))
    figure = style.new_figure(page.width, page.height)
    axes = style.page_axes(figure)
    _draw_outline(axes, plan.layout, page)
    if _steps_have_room(plan.layout, page):
        _draw_steps(axes, plan, page)
    for turn, number in enumerate(plan.order, start=1):
        if page.dense:
            _draw_dot(axes, page, number, turn, plan.numbering == "rotation")
        else:
            _draw_ring(axes, page, number, turn, plan.numbering == "rotation")
    _draw_top(axes, page)
    if plan.layout.count > 1:
        _draw_rotation(axes, plan.layout, page)
    if title:
        size = fitting(title, page.width - 3.0, style.TEXT, "bold")
        axes.text(
            page.width / 2, page.height - 1.0, title, ha="center", va="top", size=size,
            weight="bold",
        )  # fmt: skip
    for line, words in enumerate(reversed(key)):
        spot = (page.width / 2, 0.8 + KEY_LINE * line)
        axes.text(*spot, words, ha="center", va="bottom", size=style.SMALL - 0.5, color=style.SOFT)
    for drawn in axes.get_children():
        drawn.set_clip_on(False)  # nothing reaches past the paper, and each clip costs bytes
    return figure


def _key(plan: Plan) -> tuple[str, ...]:
    if plan.layout.count == 1:
        return ("one fastener",)
    if plan.numbering == "order":
        return ("the numbers are the order of tightening", "filled: the first")
    return (
        f"position numbers {plan.layout.numbering}",
        "beside them: order of tightening; filled: the first",
    )


# laying out: metres to paper


def _lay_out(layout: Layout, titled: bool, key_lines: int) -> _Page:
    width = style.COLUMN_MM
    while True:
        for margin, dense in ((MARGIN, False), (DENSE_MARGIN, True)):
            points, half_width, half_height = _scaled(layout, width - 2.0 * _side(layout, margin))
            pitch = _pitch(points)
            ring = DOT if dense else min(LARGEST_RING, 0.42 * pitch)
            if ring >= SMALLEST_RING:
                break
        if pitch >= CLOSEST:
            break
        width *= 1.05
    above = margin + TOP_ROOM + (TITLE_ROOM if titled else 0.0)
    below = KEY_LINE * key_lines + 1.0 + (LARGEST_RING + 5.5 if ring > DOT else margin)
    centre = (width / 2.0, below + half_height)
    numbers = range(1, layout.count + 1)
    return _Page(
        width,
        below + 2.0 * half_height + above,
        {k: (centre[0] + x, centre[1] + y) for k, (x, y) in zip(numbers, points, strict=True)},
        dict(zip(numbers, _outward(layout, points), strict=True)),
        centre,
        half_width,
        half_height,
        margin,
        ring,
        pitch,
    )


def _side(layout: Layout, margin: float) -> float:
    """Leave room at the sides: rows write the order above and below, the others also there."""
    return 6.0 if layout.shape in {"row", "manifold"} else margin


def _scaled(layout: Layout, room: float) -> tuple[list[Point], float, float]:
    """Scale the positions into ``room`` mm: the points, half their width, half their height.

    Few fasteners get less than the room there is; long or narrow joints lose their proportion.
    """
    room = min(room, 24.0 + 4.0 * layout.count)
    across = 2.0 * max(abs(x) for x, _ in layout.positions)
    upright = 2.0 * max(abs(y) for _, y in layout.positions)
    if layout.shape == "circle":
        radius = max(math.hypot(*point) for point in layout.positions)
        scale = room / 2.0 / radius if radius > 0.0 else 0.0
        half = room / 2.0 if radius > 0.0 else LARGEST_RING
        return [(x * scale, y * scale) for x, y in layout.positions], half, half
    columns, rows = _lines(layout)
    grid = layout.shape in {"row", "manifold"}
    least_height = 11.0 * (rows - 1) if grid else 0.3 * room
    least_width = 8.0 * (columns - 1) if grid else 0.3 * room
    wide, high = room, 0.0
    if across == 0.0:
        wide, high = 0.0, least_height
    elif upright > 0.0:
        high = max(room * upright / across, least_height)
        if high > 1.3 * room:
            high = max(1.3 * room, least_height)
            wide = min(room, max(high * across / upright, least_width))
    over, up = wide / across if across else 0.0, high / upright if upright else 0.0
    return [(x * over, y * up) for x, y in layout.positions], wide / 2.0, high / 2.0


def _lines(layout: Layout) -> tuple[int, int]:
    columns = {round(x, 9) for x, _ in layout.positions}
    rows = {round(y, 9) for _, y in layout.positions}
    return len(columns), len(rows)


def _pitch(points: list[Point]) -> float:
    pairs = itertools.combinations(points, 2)
    return min((math.dist(one, other) for one, other in pairs), default=10.0 * LARGEST_RING)


def _outward(layout: Layout, points: list[Point]) -> list[Point]:
    """Say for each point on which side its order is written: away from the joint."""
    half_width = max(abs(x) for x, _ in points) or 1.0
    half_height = max(abs(y) for _, y in points) or 1.0
    if layout.count == 1:
        return [(1.0, 0.0)]
    if layout.shape == "circle":
        return [(x / math.hypot(x, y), y / math.hypot(x, y)) for x, y in points]
    if layout.shape == "oval":
        normals = [(x / half_width**2, y / half_height**2) for x, y in points]
        return [(x / math.hypot(x, y), y / math.hypot(x, y)) for x, y in normals]
    return [_straight_side(layout, point, half_width, half_height) for point in points]


def _straight_side(layout: Layout, point: Point, half_width: float, half_height: float) -> Point:
    x, y = point[0] / half_width, point[1] / half_height
    if layout.shape == "rectangle":
        if abs(x) > 1.0 - 1e-6 and abs(y) > 1.0 - 1e-6:
            return (math.copysign(math.sqrt(0.5), x), math.copysign(math.sqrt(0.5), y))
        return (0.0, math.copysign(1.0, y)) if abs(y) > abs(x) else (math.copysign(1.0, x), 0.0)
    two_rows = layout.shape == "manifold" and _lines(layout)[1] == 2
    return (0.0, -1.0) if two_rows and y < 0.0 else (0.0, 1.0)


# drawing


def _draw_outline(axes: Axes, layout: Layout, page: _Page) -> None:
    look: dict[str, Any] = {
        "fill": False, "edgecolor": style.FAINT, "linewidth": style.LINE, "zorder": 1,
    }  # fmt: skip
    (x, y), wide, high = page.centre, 2.0 * page.half_width, 2.0 * page.half_height
    if layout.count == 1:
        return
    if layout.shape in {"row", "manifold"}:
        for line in sorted({round(place[1], 3) for place in page.places.values()}):
            axes.plot(
                [x - page.half_width, x + page.half_width], [line, line],
                color=style.FAINT, lw=style.LINE, zorder=1,
            )  # fmt: skip
        return
    if layout.shape == "rectangle":
        corner = (x - page.half_width, y - page.half_height)
        axes.add_patch(shapes.Rectangle(corner, wide, high, **look))
    else:
        axes.add_patch(shapes.Ellipse(page.centre, wide, high, **look))
    for across, up in ((2.0, 0.0), (0.0, 2.0)):  # the middle of the joint
        axes.plot(
            [x - across, x + across], [y - up, y + up], color=style.RULE, lw=style.HAIR, zorder=1
        )


def _steps_have_room(layout: Layout, page: _Page) -> bool:
    """Steps would run over what is written between three rows, or under a row of dots."""
    if layout.shape == "manifold":
        return _lines(layout)[1] == 2
    return not (layout.shape == "row" and page.dense)


def _draw_steps(axes: Axes, plan: Plan, page: _Page) -> None:
    shown = plan.order[: MOST_STEPS_DRAWN + 1]
    for one, other in itertools.pairwise(shown):
        start, end = page.places[one], page.places[other]
        bow = 0.0
        if plan.layout.shape == "row" or _passes_another(start, end, page):
            bow = _bow(start, end, page)
        axes.add_patch(
            shapes.FancyArrowPatch(
                start,
                end,
                connectionstyle=f"arc3,rad={bow}",
                arrowstyle="-|>,head_length=3,head_width=1.4",
                shrinkA=page.ring / POINT_MM,
                shrinkB=page.ring / POINT_MM + 0.5,
                color=style.RULE,
                linewidth=style.THIN,
                zorder=2,
            )
        )


def _bow(start: Point, end: Point, page: _Page) -> float:
    """Bend a step round what stands in its way: towards the middle, or below a row."""
    across, up = end[0] - start[0], end[1] - start[1]
    bend = max(0.3, 2.0 * (page.ring + 1.8) / math.hypot(across, up))
    x = page.centre[0] - (start[0] + end[0]) / 2.0
    y = page.centre[1] - (start[1] + end[1]) / 2.0
    inward = x * up - y * across
    if abs(inward) < 1e-6:
        inward = across if abs(across) > 1e-6 else 1.0
    return math.copysign(bend, inward)


def _passes_another(start: Point, end: Point, page: _Page) -> bool:
    length = math.dist(start, end)
    along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    for place in page.places.values():
        if place in {start, end}:
            continue
        x, y = place[0] - start[0], place[1] - start[1]
        before = x * along[0] + y * along[1]
        if 0.0 < before < length and abs(x * along[1] - y * along[0]) < page.ring:
            return True
    return False


def _draw_ring(axes: Axes, page: _Page, number: int, turn: int, both: bool) -> None:
    place = page.places[number]
    first = turn == 1
    face, ink = (style.INK, style.PAPER) if first else (style.PAPER, style.INK)
    axes.add_patch(
        shapes.Circle(
            place, page.ring, facecolor=face, edgecolor=style.INK, lw=style.LINE, zorder=3
        )
    )
    size = fitting(str(number), 1.35 * page.ring, style.TEXT + 1.0, "bold")
    axes.text(
        *place, str(number), ha="center", va="center_baseline", size=size, weight="bold",
        color=ink, zorder=4,
    )  # fmt: skip
    if not both:
        return
    words = ordinal(turn)
    size = fitting(words, 0.92 * page.pitch, style.SMALL, "normal")
    width, height = extent(words, size, "normal")
    x, y = page.outward[number]
    reach = page.ring + 0.9 + abs(x) * width / 2.0 + abs(y) * height / 2.0
    axes.text(
        place[0] + x * reach, place[1] + y * reach, words, ha="center", va="center", size=size,
        color=style.ACCENT, zorder=4,
    )  # fmt: skip


def _draw_dot(axes: Axes, page: _Page, number: int, turn: int, both: bool) -> None:
    """Draw a dot with its number, then its order, in a line leading away from the joint."""
    place = page.places[number]
    x, y = page.outward[number]
    face = style.INK if turn == 1 else style.PAPER
    axes.add_patch(
        shapes.Circle(place, DOT, facecolor=face, edgecolor=style.INK, lw=style.THIN, zorder=3)
    )
    slope = math.degrees(math.atan2(y, x))
    if x < -1e-9:
        slope += 180.0
    size = min(style.SMALL, 0.85 * page.pitch / POINT_MM)
    reach = DOT + 0.7
    labels = [(str(number), "bold", style.INK)]
    if both:
        labels.append((ordinal(turn), "normal", style.ACCENT))
    for words, weight, ink in labels:
        width, _ = extent(words, size, weight)
        middle = reach + width / 2.0
        axes.text(
            place[0] + x * middle, place[1] + y * middle, words, ha="center", va="center",
            rotation=slope, rotation_mode="anchor", size=size, weight=weight, color=ink, zorder=4,
        )  # fmt: skip
        reach += width + 1.2


def _draw_top(axes: Axes, page: _Page) -> None:
    x, y = page.centre[0], page.centre[1] + page.half_height + page.margin - 1.8
    mark = [(x - 1.1, y), (x + 1.1, y), (x, y + 2.1)]
    axes.add_patch(shapes.Polygon(mark, closed=True, facecolor=style.INK, zorder=4))
    axes.text(x + 1.8, y, "TOP", ha="left", va="baseline", size=style.SMALL, weight="bold")


def _draw_rotation(axes: Axes, layout: Layout, page: _Page) -> None:
    x, y = page.centre
    if layout.shape == "circle":
        reach = page.half_width + page.margin + 1.0
        turns = (math.radians(33.0), math.radians(57.0))
        ends = [(x + reach * math.sin(turn), y + reach * math.cos(turn)) for turn in turns]
        diagonal = (reach + 2.2) * math.sqrt(0.5)
        bow, spot, slope = -0.21, (x + diagonal, y + diagonal), -45.0
    else:
        line = y + page.half_height + page.margin - 0.8
        ends = [(x + 25.0, line), (x + 35.0, line)]
        bow, spot, slope = 0.0, (x + 17.0, line), 0.0
    axes.add_patch(
        shapes.FancyArrowPatch(
            ends[0],
            ends[1],
            connectionstyle=f"arc3,rad={bow}",
            arrowstyle="-|>,head_length=4,head_width=2",
            color=style.INK,
            linewidth=style.LINE,
            zorder=4,
        )
    )
    axes.text(
        *spot, "last rounds", ha="center", va="center", rotation=slope, rotation_mode="anchor",
        size=style.SMALL - 0.5, color=style.SOFT,
    )  # fmt: skip


def ordinal(turn: int) -> str:
    """Write a place in the order: 1st, 2nd, 3rd, 4th, 11th, 22nd.

    >>> [ordinal(turn) for turn in (1, 2, 3, 4, 11, 12, 13, 22, 111, 121)]
    ['1st', '2nd', '3rd', '4th', '11th', '12th', '13th', '22nd', '111th', '121st']
    """
    teens = turn % 100 in {11, 12, 13}
    return f"{turn}{'th' if teens else {1: 'st', 2: 'nd', 3: 'rd'}.get(turn % 10, 'th')}"
