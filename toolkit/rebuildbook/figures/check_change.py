"""A check valve before and after a change: its ball on the seat, and its lift over a cycle.

After is drawn heavy and whole, before thin and dashed; what has not changed is drawn once. Legible
in grey: nothing hangs on colour. The axis is drawn upright, however the valve is mounted.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import matplotlib.patches as shapes
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import ArrayLike, NDArray

from rebuildbook.calculators.ball_check import BallCheck
from rebuildbook.calculators.ball_motion import BallMotion
from rebuildbook.calculators.ball_seat import ConeSeat, LappedSeat, SeatContact, ball_height
from rebuildbook.calculators.stroke_motion import Floats
from rebuildbook.figures import style
from rebuildbook.figures.box import Box
from rebuildbook.figures.check_valve import profile
from rebuildbook.units import number, shop_unit, show, shown_unit, to_unit

WIDE, HIGH = style.PAGE_MM, 78.0  # mm
SECTION = 62.0  # mm of the width, for ball and seat
LEFT, RIGHT, TOP, BOTTOM = 77.0, 3.0, 10.0, 9.5  # mm round the curves
ROOM = 12.0  # mm between them
HEAD_MM = 9.0  # mm of the section's height for its words, at top and foot
POINTS = 145  # of a whole cycle
CLOSING = 91  # of the closing drawn large
BORE_SHOWN = 0.22  # of the ball: how much of the bore is drawn below the seat
LARGEST = 1.6  # closing lags that are drawn large

AFTER: Any = {"color": style.INK, "lw": style.HEAVY, "zorder": 4}
BEFORE: Any = {"color": style.WARM, "lw": style.LINE, "ls": (0, (5, 2)), "zorder": 5}


@dataclass(frozen=True, slots=True)
class Shown:
    """A check as it is drawn; without ``motion`` it is drawn shut only.

    ``corners`` are the times, s, at which the piston's flow has one.
    """

    check: BallCheck
    contact: SeatContact
    motion: BallMotion | None = None
    corners: Sequence[float] = ()

    def same_parts(self, other: Shown) -> bool:
        """Whether ball, seat and lift are alike."""
        mine, its = self.check, other.check
        return (mine.ball, mine.seat, mine.lift) == (its.ball, its.seat, its.lift)


@style.styled()
def check_change(after: Shown, before: Shown, system: str = "metric") -> Figure:
    """Draw ``after`` over ``before``: section on the left, lift and closing on the right.

    ``system`` is "metric" or "us" and chooses the unit of lift. Where neither has a motion only the
    section is drawn.
    """
    if system not in {"metric", "us"}:
        raise ValueError(f"system {system!r} given; it is metric or us")
    moving = after.motion is not None or before.motion is not None
    wide = WIDE if moving else SECTION + 4.0
    figure = style.new_figure(wide, HIGH)
    page = style.page_axes(figure)
    _section(page, after, before, system)
    if moving:
        _motion(page, after, before, "mm" if system == "metric" else "in")
    for drawn in page.get_children():
        drawn.set_clip_on(False)
    return figure


# the section


def _section(page: Axes, after: Shown, before: Shown, system: str) -> None:
    pair = [after] if after.same_parts(before) else [after, before]
    low = max(BORE_SHOWN * one.check.ball for one in pair)
    top = max(_height(one) + one.check.ball / 2 + _lift(one) for one in pair)
    across = max(_body(one.check) for one in pair)
    room = HIGH - 2.0 * HEAD_MM - 2.0
    scale = min(room / (top + low), (SECTION - 2.0) / 2.0 / across)
    view = _View(scale, SECTION / 2.0 + 1.0, HEAD_MM + 1.0 + low * scale)
    _draw_seat(page, view, after, across, low)
    dots: Any = {"edgecolor": style.SOFT, "linewidth": style.LINE, "linestyle": (0, (1, 2))}
    view.ball(page, after, _lift(after), "lifted", fill=False, zorder=2, **dots)
    whole: Any = {"edgecolor": style.INK, "linewidth": style.HEAVY}
    view.ball(page, after, 0.0, "ball", facecolor=style.PAPER, zorder=3, **whole)
    _draw_contact(page, view, after)
    if len(pair) == 2:
        _draw_before(page, view, after, before, low)
    _section_words(page, after, before, system, view.axis)


@dataclass(frozen=True, slots=True)
class _View:
    """Metres of the valve to millimetres of paper; heights count from the seat's plane."""

    scale: float
    axis: float
    plane: float

    def at(self, points: ArrayLike) -> NDArray[np.float64]:
        return np.asarray(points) * self.scale + (self.axis, self.plane)

    def ball(self, page: Axes, one: Shown, up: float, gid: str, **look: Any) -> None:
        middle = self.axis, self.plane + (_height(one) + up) * self.scale
        page.add_patch(shapes.Circle(middle, one.check.ball / 2 * self.scale, gid=gid, **look))


def _height(one: Shown) -> float:
    return ball_height(one.check.ball, one.check.seat)


def _lift(one: Shown) -> float:
    """The lift as drawn: a stop further away than the ball is wide is not shown to scale."""
    return min(one.check.lift, one.check.ball)


def _body(check: BallCheck) -> float:
    """Half the width of the seat's body as drawn, m: it stands out beside the ball."""
    seat = check.seat
    outer = seat.outer if isinstance(seat, ConeSeat | LappedSeat) else seat.bore
    return 0.58 * max(outer, check.ball)


def _draw_seat(page: Axes, view: _View, one: Shown, body: float, low: float) -> None:
    worked = profile(one.check.seat)
    outline = np.array([(worked[0][0], -low), *worked, (body, worked[-1][1]), (body, -low)])
    for side in (-1.0, 1.0):
        page.add_patch(
            shapes.Polygon(
                view.at(outline * (side, 1.0)), closed=True, facecolor=style.FILL, hatch="////",
                edgecolor=style.INK, linewidth=style.THIN, zorder=1, gid="seat",
            )
        )  # fmt: skip


def _draw_contact(page: Axes, view: _View, one: Shown) -> None:
    touch = one.contact.circle / 2
    up = _height(one) - touch / math.tan(one.contact.angle)
    spots = view.at([(-touch, up), (touch, up)]).T
    page.plot(
        *spots, ls=(0, (4, 2)), marker="o", ms=4.0, color=style.INK, lw=style.THIN, zorder=6,
        gid="contact",
    )  # fmt: skip


def _draw_before(page: Axes, view: _View, after: Shown, before: Shown, low: float) -> None:
    """What was otherwise before: the ball, its highest place, the seat."""
    was, now = before.check, after.check
    look: Any = {
        "fill": False, "edgecolor": BEFORE["color"], "linewidth": BEFORE["lw"], "zorder": 5,
        "linestyle": BEFORE["ls"],
    }  # fmt: skip
    moved = (was.ball, was.seat) != (now.ball, now.seat)
    if moved:
        view.ball(page, before, 0.0, "ball-before", **look)
    if not moved and was.lift != now.lift:
        view.ball(page, before, _lift(before), "lifted-before", **look)
    if was.seat != now.seat:
        worked = profile(was.seat)
        whole = np.array([(worked[0][0], -low), *worked])
        gap = [[np.nan, np.nan]]
        both = np.concatenate([whole * (-1.0, 1.0), gap, whole])
        page.plot(*view.at(both).T, gid="seat-before", **BEFORE)


def _section_words(page: Axes, after: Shown, before: Shown, system: str, axis: float) -> None:
    unit = shop_unit("length", system, after.contact.circle)
    circles = [show(one.contact.circle, unit, 4) for one in (after, before)]
    words = [f"touches at Ø {circles[0]}, on the {after.contact.rests_on}"]
    if circles[1] != circles[0]:
        words.append(f"before at Ø {circles[1]}, on the {before.contact.rests_on}")
    head = "dotted: at its stop"
    if not after.same_parts(before):
        head = "heavy: after; dashed: before; dotted: at its stop"
    look: Any = {"size": style.SMALL, "ha": "center", "va": "top", "gid": "words"}
    for row, text in enumerate(words):
        page.text(axis, 6.6 - 3.3 * row, text, **look)
    page.text(axis, HIGH - 1.6, head, **look)


# the motion


def _motion(page: Axes, after: Shown, before: Shown, unit: str) -> None:
    changed = not _same(after.motion, before.motion)
    drawn = [(after, AFTER, "after"), (before, BEFORE, "before")][: 2 if changed else 1]
    moving = [(one, one.motion, look, word) for one, look, word in drawn if one.motion is not None]
    high, wide = (HIGH - TOP - BOTTOM - ROOM) / 2.0, WIDE - LEFT - RIGHT
    scale, motions = to_unit(1.0, unit), [motion for _, motion, _, _ in moving]
    most = 1.08 * scale * max(motion.greatest_lift for motion in motions) or 1.0
    upper = Box(LEFT, BOTTOM + high + ROOM, wide, high, (0.0, 1.0), (0.0, most))
    name = f"lift, {shown_unit(unit)}"
    parts = ((0.0, "0"), (0.25, "¼"), (0.5, "½"), (0.75, "¾"), (1.0, "1"))
    upper.frame(page, ("part of a cycle", name), (parts, None), (4, 3))
    span = -max(map(_ahead, motions)), max(map(_past, motions))
    curves = [_closing(motion, span) for motion in motions]
    most = 1.12 * scale * max(float(lift.max()) for _, lift in curves) or 1.0
    lower = Box(LEFT, BOTTOM, wide, high, (1e3 * span[0], 1e3 * span[1]), (0.0, most))
    lower.frame(page, ("ms after the piston's turn", name), most=(6, 3))
    turn: Any = {"color": style.SOFT, "lw": style.LINE, "zorder": 1, "gid": "turn"}
    page.plot(*lower.at((0.0, 0.0), lower.y), **turn)
    for (one, motion, look, word), (times, lift) in zip(moving, curves, strict=True):
        at = np.union1d(np.linspace(0.0, motion.cycle, POINTS), np.asarray(one.corners, float))
        whole = scale * np.interp(at, motion.time, motion.lift)
        page.plot(*upper.at(at / motion.cycle, whole), gid=f"lift-{word}", **look)
        page.plot(*upper.at([motion.reversal / motion.cycle] * 2, upper.y), **turn)
        page.plot(*lower.at(1e3 * times, scale * lift), gid=f"closing-{word}", **look)
        if motion.closes:
            _mark_home(page, lower, motion, word)
    _motion_words(page, after, before, changed)


def _same(one: BallMotion | None, other: BallMotion | None) -> bool:
    if one is None or other is None or one is other:
        return one is other
    return one.cycle == other.cycle and np.array_equal(one.lift, other.lift)


def _closing(motion: BallMotion, span: tuple[float, float]) -> tuple[Floats, Floats]:
    """Time after the piston's turn, s, and lift, m, where the ball comes home."""
    start, end = (motion.reversal + side for side in span)
    times = np.linspace(max(start, 0.0), min(end, motion.cycle), CLOSING)
    return times - motion.reversal, np.interp(times, motion.time, motion.lift)


def _mark_home(page: Axes, box: Box, motion: BallMotion, word: str) -> None:
    spot = box.at(1e3 * motion.closing_lag, 0.0)
    look: Any = {"marker": "o", "ms": 4.5, "color": style.INK, "zorder": 7}
    if word == "before":  # larger and open, so that both are seen where they fall together
        look = {
            "marker": "D", "ms": 7.0, "markerfacecolor": "none", "markeredgecolor": style.WARM,
            "zorder": 8,
        }  # fmt: skip
    page.plot(*spot, ls="", gid=f"home-{word}", **look)


def _past(motion: BallMotion) -> float:
    """How far past the piston's turn the ball is drawn, s."""
    if not motion.closes:
        return motion.cycle - motion.reversal
    reach = max(LARGEST * abs(motion.closing_lag), 0.01 * motion.cycle)
    return min(reach, motion.cycle - motion.reversal)


def _ahead(motion: BallMotion) -> float:
    return min(2.0 * _past(motion), motion.reversal)


def _motion_words(page: Axes, after: Shown, before: Shown, changed: bool) -> None:
    """What each line is and when that ball is home, each with a piece of its line."""
    kept = [(after, AFTER, "after" if changed else "now")]
    if changed:
        kept.append((before, BEFORE, "before"))
    for row, (one, look, word) in enumerate(kept):
        height = HIGH - 2.6 - 3.4 * row
        page.plot([LEFT, LEFT + 8.0], [height, height], **look)
        told = "not followed" if one.motion is None else _home(one.motion)
        page.text(
            LEFT + 9.5, height, f"{word}: {told}", size=style.SMALL, va="center_baseline",
            gid="words",
        )  # fmt: skip


def _home(motion: BallMotion) -> str:
    if not math.isfinite(motion.opening_delay):
        return "does not open"
    if not motion.closes:
        return "not home before its next stroke"
    lag, share = 1e3 * motion.closing_lag, 100.0 * motion.back_flow_share
    side = "after" if lag >= 0.0 else "before"
    return f"home {number(abs(lag))} ms {side} the turn, {number(share, 2)} % of a stroke runs back"
