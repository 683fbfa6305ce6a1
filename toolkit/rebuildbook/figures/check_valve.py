"""A ball on its seat, cut through the axis: where it touches, and what presses it there.

The parts are to scale; the arrows show direction and not size, their sizes stand in the key below.
The axis is drawn upright, however the valve is mounted: the arrow of the weight shows which way is
down. Drawn for paper: legible 80 mm wide and in grey.
"""

from __future__ import annotations

import math
import textwrap
from dataclasses import dataclass
from typing import Any

import matplotlib.patches as shapes
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from rebuildbook.calculators.ball_check import BallCheck, BallSeating
from rebuildbook.calculators.ball_seat import ConeSeat, LappedSeat, Seat, ball_height
from rebuildbook.figures import style
from rebuildbook.units import shop_unit, show, with_unit

Point = tuple[float, float]

BALL_MM = 30.0  # the ball on paper, where the seat leaves it the width
BODY_MM = 68.0  # the widest the seat may be
FOOT_MM = 8.0  # of bore drawn below the seat
DIMENSION_MM = 7.5  # below the seat, for the contact circle
ARROWS_MM = 10.0  # above the ball
KEY_LINE_MM = 3.2
TITLE_MM = 6.0
TAG_MM, TEXT_MM = 3.0, 7.0  # where a tag of the key and its words begin
CHARACTERS = 55  # that fit in a line of the key
MOST_LIFT = 0.8  # of the ball's diameter; a higher lift is told and not drawn

_RESTS = {
    "edge": "rests on the edge of the bore",
    "face": "rests on the face of the cone",
    "land": "rests on the whole land",
    ("cone", "inner edge"): "too small for the cone: rests on the edge of the bore",
    ("cone", "outer edge"): "too large for the cone: stands on its outer edge",
    ("lapped", "inner edge"): "smaller than the lap: first touches the inner edge",
    ("lapped", "outer edge"): "larger than the lap: first touches the outer edge",
}


@dataclass(frozen=True, slots=True)
class _Page:
    """Metres of the valve to millimetres of paper; heights count from the seat's plane."""

    scale: float
    axis: float
    plane: float

    def at(self, x: float, y: float) -> Point:
        return self.axis + x * self.scale, self.plane + y * self.scale


@style.styled()
def check_valve(
    check: BallCheck, seating: BallSeating, system: str = "metric", title: str = ""
) -> Figure:
    """Draw ``check`` in section with its contact circle and the forces of ``seating``.

    ``system`` is "metric" or "us" and chooses the units of the key. S is the spring, W the weight
    in the fluid, P the closing pressure, N the normal force of the seat; a force that is not there
    has no arrow. The dashed outline is the ball at full lift.
    """
    if system not in {"metric", "us"}:
        raise ValueError(f"system {system!r} given; it is metric or us")
    key = _key(check, seating, system)
    body = _half_body(check)
    scale = min(BALL_MM / check.ball, BODY_MM / 2 / body)
    centre = ball_height(check.ball, check.seat)
    lift = check.lift if check.lift <= MOST_LIFT * check.ball else 0.0
    below = 2.0 + KEY_LINE_MM * len(key) + DIMENSION_MM + FOOT_MM
    above = max((centre + check.ball / 2) * scale + max(lift * scale + 1.0, ARROWS_MM), ARROWS_MM)
    height = below + above + (TITLE_MM if title else 1.0)
    figure = style.new_figure(style.COLUMN_MM, height)
    axes = style.page_axes(figure)
    page = _Page(scale, style.COLUMN_MM / 2, below)
    _draw_seat(axes, page, check.seat, body)
    _draw_ball(axes, page, check, centre, lift)
    _draw_contact(axes, page, seating, centre)
    _draw_circle_size(axes, page, seating, system)
    _draw_forces(axes, page, check, seating, centre)
    _draw_key(axes, key)
    if title:
        axes.text(
            style.COLUMN_MM / 2, height - 1.0, title, ha="center", va="top", size=style.TEXT,
            weight="bold",
        )  # fmt: skip
    for drawn in axes.get_children():
        drawn.set_clip_on(False)
    return figure


def _half_body(check: BallCheck) -> float:
    """Half the width of the seat's body as drawn, m: it stands out beside the ball."""
    seat = check.seat
    outer = seat.outer if isinstance(seat, ConeSeat | LappedSeat) else seat.bore
    return 0.58 * max(outer, check.ball)


# parts


def profile(seat: Seat) -> NDArray[np.float64]:
    """Trace the worked side of ``seat`` from bore to top face, m: radius and height, in rows.

    Heights count from the face of a sharp seat, from the small end of a cone or land.

    >>> profile(ConeSeat(0.016, 0.022, math.pi / 2)).round(4).tolist()
    [[0.008, 0.0], [0.011, 0.003]]
    """
    if isinstance(seat, ConeSeat):
        step = (seat.outer - seat.bore) / 2
        top = step / math.tan(seat.included_angle / 2)
        return np.array([[seat.bore / 2, 0.0], [seat.outer / 2, top]])
    if isinstance(seat, LappedSeat):
        radii = np.linspace(seat.bore / 2, seat.outer / 2, 15)
        hollow = np.sqrt(seat.lap_radius**2 - radii**2)
        return np.column_stack([radii, hollow[0] - hollow])
    turn = np.linspace(0.0, math.pi / 2, 9)
    r = seat.edge_radius
    return np.column_stack([seat.bore / 2 + r * (1 - np.cos(turn)), r * (np.sin(turn) - 1)])


def _draw_seat(axes: Axes, page: _Page, seat: Seat, body: float) -> None:
    worked = profile(seat)
    foot = -FOOT_MM / page.scale
    outline = [(worked[0][0], foot), *worked, (body, worked[-1][1]), (body, foot)]
    for side in (-1.0, 1.0):
        axes.add_patch(
            shapes.Polygon(
                [page.at(side * x, y) for x, y in outline], closed=True, facecolor=style.FILL,
                edgecolor=style.INK, hatch="////", linewidth=style.THIN, zorder=1, gid="seat",
            )
        )  # fmt: skip


def _draw_ball(axes: Axes, page: _Page, check: BallCheck, centre: float, lift: float) -> None:
    radius = check.ball / 2 * page.scale
    if lift > 0.0:
        axes.add_patch(
            shapes.Circle(
                page.at(0.0, centre + lift), radius, fill=False, edgecolor=style.RULE,
                linewidth=style.THIN, linestyle=(0, (4, 3)), zorder=2, gid="lifted",
            )
        )  # fmt: skip
    axes.add_patch(
        shapes.Circle(
            page.at(0.0, centre), radius, facecolor=style.PAPER, edgecolor=style.INK,
            linewidth=style.LINE, zorder=3, gid="ball",
        )
    )  # fmt: skip
    middle, bottom = page.at(0.0, centre), page.plane - FOOT_MM
    axes.plot(
        [page.axis, page.axis], [bottom, middle[1] + radius + 1.0], color=style.RULE,
        lw=style.HAIR, dashes=(12, 3, 2, 3), zorder=4,
    )  # fmt: skip


def _draw_contact(axes: Axes, page: _Page, seating: BallSeating, centre: float) -> None:
    contact = seating.contact
    touch = _touch(seating, centre)
    left, right = page.at(-touch[0], touch[1]), page.at(*touch)
    axes.plot(*zip(left, right, strict=True), color=style.INK, lw=style.THIN, ls="--", zorder=4)
    axes.plot(
        *zip(left, right, strict=True), ls="", marker="o", ms=4.0, color=style.INK, zorder=6,
        gid="contact",
    )  # fmt: skip
    middle = page.at(0.0, centre)
    axes.plot(*zip(middle, right, strict=True), color=style.SOFT, lw=style.THIN, zorder=4)
    turn = math.degrees(contact.angle)
    axes.add_patch(
        shapes.Arc(
            middle, 11.0, 11.0, theta1=270.0, theta2=270.0 + turn, color=style.SOFT,
            lw=style.THIN, zorder=4,
        )
    )  # fmt: skip
    half = contact.angle / 2
    spot = (middle[0] + 7.4 * math.sin(half), middle[1] - 7.4 * math.cos(half))
    axes.text(*spot, "θ", ha="center", va="center", size=style.TEXT, zorder=5)


def _touch(seating: BallSeating, centre: float) -> Point:
    """Where the ball touches on the right-hand side, m."""
    radius = seating.contact.circle / 2
    return radius, centre - radius / math.tan(seating.contact.angle)


def _draw_circle_size(axes: Axes, page: _Page, seating: BallSeating, system: str) -> None:
    half = seating.contact.circle / 2 * page.scale
    words = f"contact circle Ø {_length(seating.contact.circle, system)}"
    foot = page.plane - FOOT_MM
    line = foot - 2.2
    for side in (-1.0, 1.0):
        x = page.axis + side * half
        axes.plot([x, x], [foot - 0.6, line - 0.8], color=style.INK, lw=style.HAIR)
    _arrow(axes, (page.axis - half, line), (page.axis + half, line), both=True)
    axes.text(page.axis, line - 1.3, words, ha="center", va="top", size=style.SMALL)


# forces


def _draw_forces(
    axes: Axes, page: _Page, check: BallCheck, seating: BallSeating, centre: float
) -> None:
    middle = page.at(0.0, centre)
    radius = check.ball / 2 * page.scale
    if check.spring_force > 0.0:
        top = middle[1] + radius
        _arrow(axes, (middle[0], top + 8.5), (middle[0], top), "S", (2.0, -1.0))
    if seating.weight != 0.0:
        down = math.copysign(1.0, seating.weight)
        x, y = math.sin(check.tilt) * down, -math.cos(check.tilt) * down
        beside = (6.3 * x - 2.0 * abs(y), 6.3 * y + 2.0 * abs(x))
        _arrow(axes, middle, (middle[0] + 9.0 * x, middle[1] + 9.0 * y), "W", beside)
    if check.closing_pressure > 0.0:
        for share in (-0.85, -0.5, 0.5, 0.85):
            across = share * seating.contact.circle / 2 * page.scale
            top = middle[1] + math.sqrt(radius**2 - across**2) + 0.3
            start = (middle[0] + across, middle[1] + radius + 5.0)
            tag = "P" if share == 0.85 else ""
            _arrow(axes, start, (middle[0] + across, top), tag, (2.0, -1.0))
    if seating.at_pressure.force > 0.0:
        touch = _touch(seating, centre)
        for side in (-1.0, 1.0):
            start = page.at(side * touch[0], touch[1])
            x, y = (middle[0] - start[0]) / radius, (middle[1] - start[1]) / radius
            reach = 0.42 * radius
            beside = (0.6 * reach * x - 2.2 * y, 0.6 * reach * y + 2.2 * x)
            end = (start[0] + reach * x, start[1] + reach * y)
            _arrow(axes, start, end, "N" if side < 0.0 else "", beside)


def _arrow(
    axes: Axes, start: Point, end: Point, tag: str = "", aside: Point = (2.0, 0.0), *,
    both: bool = False,
) -> None:  # fmt: skip
    """Draw an arrow, and its tag beside its tail by ``aside`` in mm."""
    look = "head_length=3,head_width=1.4"
    axes.add_patch(
        shapes.FancyArrowPatch(
            start, end, arrowstyle=f"<|-|>,{look}" if both else f"-|>,{look}", shrinkA=0.0,
            shrinkB=0.0, color=style.INK, lw=style.HAIR if both else style.LINE, zorder=7,
            gid=f"arrow-{tag}" if tag else None,
        )
    )  # fmt: skip
    if tag:
        spot = (start[0] + aside[0], start[1] + aside[1])
        axes.text(*spot, tag, ha="center", va="center", size=style.TEXT, weight="bold", zorder=8)


# key


def _draw_key(axes: Axes, key: list[tuple[str, str]]) -> None:
    look: dict[str, Any] = {"va": "baseline", "size": style.SMALL}
    for line, (tag, words) in enumerate(reversed(key)):
        y = 1.4 + KEY_LINE_MM * line
        axes.text(TAG_MM, y, tag, weight="bold", **look)
        axes.text(TEXT_MM, y, words, **look)


def _key(check: BallCheck, seating: BallSeating, system: str) -> list[tuple[str, str]]:
    """The lines below the drawing: a tag and its words."""
    at = seating.at_pressure
    contact = seating.contact
    turn = show(contact.angle, "deg")
    kept = [("θ", f"{turn} to the axis; ball Ø {_length(check.ball, system)}")]
    kept.append(("●", _rests(check.seat, contact.rests_on)))
    if check.spring_force > 0.0:
        kept.append(("S", f"spring {_force(check.spring_force, system)}"))
    if seating.weight != 0.0:
        sort = "weight in the fluid" if seating.weight > 0.0 else "the ball floats with"
        kept.append(("W", f"{sort} {_force(abs(seating.weight), system)}"))
    if check.closing_pressure > 0.0:
        pressure = show(check.closing_pressure, shop_unit("pressure", system))
        push = _force(check.closing_pressure * seating.sealing_area, system)
        kept.append(("P", f"{pressure} on the circle closes with {push}"))
    if at.force > 0.0:
        load = show(at.line_load, shop_unit("spring rate", system))  # a force for each length
        peak = show(at.peak, shop_unit("stress", system))
        width = _length(at.width, system)
        kept.append(("N", f"{load} round the circle"))
        kept.append(("", f"contact {width} wide, peak pressure {peak}"))
    if not seating.closes:
        kept.append(("!", "does not close by itself"))
    if check.lift > MOST_LIFT * check.ball:
        kept.append(("", f"lift {_length(check.lift, system)}, not drawn"))
    else:
        kept.append(("- -", f"at full lift, {_length(check.lift, system)}"))
    return [
        (tag if first else "", words)
        for tag, text in kept
        for first, words in _wrapped(text)
    ]  # fmt: skip


def _wrapped(text: str) -> list[tuple[bool, str]]:
    return [(line == 0, words) for line, words in enumerate(textwrap.wrap(text, CHARACTERS))]


def _rests(seat: Seat, where: str) -> str:
    if where in _RESTS:
        return _RESTS[where]
    return _RESTS["cone" if isinstance(seat, ConeSeat) else "lapped", where]


def _length(si: float, system: str) -> str:
    return show(si, shop_unit("length", system, si))


def _force(si: float, system: str) -> str:
    if si == 0.0:
        return with_unit("0", shop_unit("force", system, si))
    return show(si, shop_unit("force", system, si))
