"""Two orders of tightening side by side: the bolts at one step, and the spread over all steps."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import matplotlib.patches as shapes
import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PatchCollection
from matplotlib.figure import Figure
from numpy.typing import NDArray

from rebuildbook.figures import style
from rebuildbook.figures.measure import POINT_MM
from rebuildbook.figures.scales import Scale, breadth, draw_scale
from rebuildbook.units import shown_unit

Array = NDArray[np.float64]
Point = tuple[float, float]

WIDTH, HEIGHT = 150.0, 118.0  # mm
PATTERNS = ((38.0, 80.5), (112.0, 80.5))  # mm, their middles
ACROSS, UPRIGHT = 44.0, 40.0  # mm, room of a pattern between the middles of its bolts
RING, SMALLEST = 3.4, 1.1  # mm, radii
LEFT, RIGHT, FOOT, TOP = 17.0, 133.0, 13.0, 45.0  # mm, the strip
MOST_TWICE = 8  # bolts up to which both patterns carry their numbers
ROWS_APART = 12.0  # mm, room for a ring and a share over it
SLIM = 0.35  # least height of a pattern, as a share of its width, so that rows stay apart


@dataclass(frozen=True, slots=True, eq=False)
class OrderCourse:
    """One order on one joint: ``forces`` (N, steps × bolts) after each step.

    ``numbers`` is the bolt tightened in each step (from 1) and ``passes`` the pass it belongs to;
    ``target`` the preload aimed at (N). ``positions`` (m) stand by bolt, x to the right, y up.
    """

    name: str
    positions: tuple[Point, ...]
    forces: Array
    numbers: tuple[int, ...]
    passes: tuple[int, ...]
    target: float

    def at(self, step: int) -> Array:
        """Force of each bolt after a step, as a share of the target; none before the first."""
        if step == 0:
            return np.zeros(self.forces.shape[1])
        share: Array = self.forces[min(step, len(self.forces)) - 1] / self.target
        return share

    @property
    def least(self) -> Array:
        """Least force of any bolt after each step, from the start (N)."""
        return np.concatenate([[0.0], self.forces.min(axis=1)])

    @property
    def most(self) -> Array:
        """Greatest force of any bolt after each step, from the start (N)."""
        return np.concatenate([[0.0], self.forces.max(axis=1)])


@style.styled()
def order_steps(
    first: OrderCourse,
    second: OrderCourse,
    step: int,
    units: tuple[str, str],
    before: OrderCourse | None = None,
) -> Figure:
    """Draw both orders after ``step`` steps, and least and most over all steps below.

    The fill of a ring is the preload, the number beside it the share of the target in %; a bold
    ring is the bolt just tightened. ``before`` is the first order in the state before. ``units``
    of force are the shop's and the other system's, empty where there is no other.
    """
    figure = style.new_figure(WIDTH, HEIGHT)
    axes = style.page_axes(figure)
    many = len(first.positions) > MOST_TWICE
    for course, middle in zip((first, second), PATTERNS, strict=True):
        numbered = course is first or not many
        _pattern(axes, course, min(step, len(course.numbers)), middle, numbered=numbered)
    if many:
        words = "numbered as on the left"
        axes.text(
            PATTERNS[1][0], HEIGHT - 6.6, words, ha="center", va="center", size=style.SMALL,
            color=style.SOFT, gid="as-left",
        )  # fmt: skip
    words = "beside each bolt: what it holds, in % of the preload aimed at"
    axes.text(
        WIDTH / 2, 51.0, words, ha="center", va="center", size=style.SMALL, color=style.SOFT,
        gid="how-to-read",
    )  # fmt: skip
    _strip(axes, (first, second), before, step, units)
    return figure


# the pattern


def _pattern(axes: Axes, course: OrderCourse, step: int, middle: Point, *, numbered: bool) -> None:
    points = _placed(course.positions, middle)
    pitch = min(
        (math.dist(one, other) for one, other in itertools.combinations(points, 2)), default=20.0
    )
    radius = min(RING, max(0.36 * pitch, SMALLEST))
    shares = course.at(step)
    turned = course.numbers[step - 1] if step else 0
    head = course.name
    if step:
        head += f": step {step} of {len(course.numbers)}, pass {course.passes[step - 1]}"
    axes.text(
        middle[0], HEIGHT - 3.0, head, ha="center", va="center", gid="head", weight="bold",
        size=style.TEXT * min(1.0, 0.8 * WIDTH / 2 / breadth(head, style.TEXT)),
    )  # fmt: skip
    _rings(axes, points, shares, radius, turned)
    size = min(style.SMALL, 1.25 * radius / POINT_MM)
    sides = _sides(points, middle)
    for bolt, (point, share, (x, y)) in enumerate(zip(points, shares, sides, strict=True), start=1):
        if numbered:
            axes.text(
                *point, str(bolt), ha="center", va="center_baseline", size=size, weight="bold",
                color=style.INK, zorder=5, gid="bolt",
            )  # fmt: skip
        words = f"{100 * share:.0f}"
        small = min(style.SMALL, 0.8 * pitch / POINT_MM / max(len(words), 2) / 0.64)
        reach = radius + 1.3 + abs(x) * breadth(words, small) / 2 + abs(y) * small * POINT_MM / 2
        axes.text(
            point[0] + x * reach, point[1] + y * reach, words, ha="center", va="center",
            size=small, color=style.INK, zorder=5, gid="share",
        )  # fmt: skip


def _placed(positions: Sequence[Point], middle: Point) -> list[Point]:
    """Positions on paper, in proportion unless the joint is very long or narrow."""
    half = max(abs(x) for x, _ in positions), max(abs(y) for _, y in positions)
    longest = max(half) or 1.0
    widest = min(ACROSS / 2 / (half[0] or longest), UPRIGHT / 2 / (half[1] or longest))
    scales = [widest, widest]
    lines = len({round(y, 9) for _, y in positions})
    for side, least in enumerate((SLIM * ACROSS, max(SLIM * UPRIGHT, ROWS_APART * (lines - 1)))):
        if 0.0 < 2.0 * half[side] * widest < min(least, UPRIGHT):
            scales[side] = min(least, UPRIGHT) / 2.0 / half[side]
    return [(middle[0] + scales[0] * x, middle[1] + scales[1] * y) for x, y in positions]


def _sides(points: Sequence[Point], middle: Point) -> list[Point]:
    """The side on which each share is written: away from the joint, over and under a row."""
    apart = [(x - middle[0], y - middle[1]) for x, y in points]
    rows = {round(y, 3) for _, y in apart}
    widest = max(abs(x) for x, _ in apart)
    sides = []
    for x, y in apart:
        inner = abs(y) < 1e-6 and abs(x) < widest - 1e-6
        if len(rows) <= 2 or inner:
            sides.append((0.0, -1.0 if y < -1e-6 else 1.0))
        else:
            length = math.hypot(x, y)
            sides.append((x / length, y / length))
    return sides


def _rings(axes: Axes, points: Sequence[Point], shares: Array, radius: float, turned: int) -> None:
    """Rings filled from below as far as the bolt is loaded; the bolt just tightened is bold."""
    fills = [
        _filled(point, radius, float(share))
        for point, share in zip(points, shares, strict=True)
        if share > 0.0
    ]
    axes.add_collection(PatchCollection(fills, facecolors=style.FAINT, linewidths=0.0, zorder=2))
    rings = [shapes.Circle(point, radius) for point in points]
    widths = [style.HEAVY if bolt == turned else style.THIN for bolt in range(1, len(points) + 1)]
    axes.add_collection(
        PatchCollection(rings, facecolors="none", edgecolors=style.INK, linewidths=widths, zorder=3)
    )
    if turned:
        x, y = points[turned - 1]
        axes.add_patch(
            shapes.Circle(
                (x, y),
                radius + 0.8,
                fill=False,
                ec=style.WARM,
                lw=style.LINE,
                zorder=3,
                gid="turned",
            )
        )


def _filled(point: Point, radius: float, share: float) -> shapes.Patch:
    """The part of a disc below a level; full at the target and beyond."""
    level = 2.0 * min(share, 1.0) - 1.0
    turn = math.degrees(math.asin(level))
    arc = np.radians(np.linspace(180.0 - turn, 360.0 + turn, 24))
    places = np.column_stack([point[0] + radius * np.cos(arc), point[1] + radius * np.sin(arc)])
    return shapes.Polygon(places, closed=True)


# the strip


def _strip(
    axes: Axes,
    courses: Sequence[OrderCourse],
    before: OrderCourse | None,
    step: int,
    units: tuple[str, str],
) -> None:
    drawn = [*courses, *([before] if before else [])]
    steps = Scale(0.0, float(max(len(one.numbers) for one in drawn)), LEFT, RIGHT)
    highest = max(max(float(one.forces.max()), 1.1 * one.target) for one in drawn)
    force = Scale(0.0, 1.04 * highest, FOOT, TOP)
    first = courses[0]
    _frame(axes, first, steps, force, units)
    look: tuple[dict[str, Any], ...] = (
        {"color": style.INK, "lw": style.HEAVY - 0.4},
        {"color": style.ACCENT, "lw": style.HEAVY - 0.4, "linestyle": (0, (4, 1.6))},
        {"color": style.SOFT, "lw": style.THIN, "linestyle": (0, (1, 1.4))},
    )
    for course, one in zip(drawn, look, strict=False):
        places = [steps.at(float(at)) for at in range(len(course.numbers) + 1)]
        for edge in (course.least, course.most):
            heights = [force.at(float(value)) for value in edge]
            axes.plot(places, heights, drawstyle="steps-pre", gid="edge", zorder=3, **one)
    now = steps.at(float(min(step, len(first.numbers))))
    axes.plot([now, now], [FOOT, TOP + 1.5], color=style.WARM, lw=style.LINE, zorder=2, gid="now")
    names = [one.name for one in courses] + (["before"] if before else [])
    _key(axes, list(zip(names, look, strict=False)))


def _frame(
    axes: Axes, course: OrderCourse, steps: Scale, force: Scale, units: tuple[str, str]
) -> None:
    """Target, passes and both scales of force."""
    draw_scale(axes, steps, FOOT, "", most=5)
    axes.text(
        (LEFT + RIGHT) / 2, FOOT - 6.4, "steps", ha="center", va="center", size=style.SMALL,
        color=style.SOFT, gid="title",
    )  # fmt: skip
    target = force.at(course.target)
    axes.plot([LEFT, RIGHT], [target] * 2, color=style.RULE, lw=style.THIN, gid="target", zorder=1)
    starts = [k for k in range(1, len(course.passes)) if course.passes[k] != course.passes[k - 1]]
    axes.vlines([steps.at(float(k)) for k in starts], FOOT, TOP, color=style.FAINT, lw=style.THIN)
    for unit, x, way in ((units[0], LEFT, -1.0), (units[1], RIGHT, 1.0)):
        if not unit:
            continue
        ticks = force.ticks(unit, 4)
        axes.vlines([x], FOOT, TOP, color=style.SOFT, lw=style.THIN)
        axes.hlines([y for y, _ in ticks], x, x + way, color=style.SOFT, lw=style.THIN)
        for y, words in ticks:
            axes.text(
                x + 1.6 * way, y, words, ha="right" if way < 0 else "left", va="center",
                size=style.SMALL, color=style.SOFT, gid="tick",
            )  # fmt: skip
        axes.text(
            x, TOP + 3.0, shown_unit(unit), ha="center", va="center", size=style.SMALL,
            color=style.SOFT, gid="unit",
        )  # fmt: skip


def _key(axes: Axes, named: Sequence[tuple[str, dict[str, Any]]]) -> None:
    x = 2.0
    for name, look in named:
        words = f"{name}: least and most"
        axes.plot([x, x + 8.0], [2.6] * 2, **look)
        axes.text(x + 9.5, 2.6, words, va="center", size=style.SMALL, color=style.SOFT, gid="key")
        x += 14.0 + breadth(words, style.SMALL)
