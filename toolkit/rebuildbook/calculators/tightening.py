"""In how many passes, at what torque and in what order the fasteners of a joint are brought up.

A fastener tightened later unloads its neighbours, and the joint tilts where one stands alone;
so the load is brought up in passes, each pass crosses the joint, and the last rounds go round
in rotation and take up what the crossing left [2].

References
----------
1. ASME PCC-1, Guidelines for Pressure Boundary Bolted Flange Joint Assembly: passes by hand, at
   20–30 %, 50–70 % and 100 % in the cross order, then in rotation until no nut moves (from memory).
2. J. H. Bickford, Introduction to the Design and Behavior of Bolted Joints: elastic interaction
   (from memory).
3. Small flanges in at least two passes, a look at the seals before the last pass, a limit on the
   rounds: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from rebuildbook.calculators.bounds import pass_fractions
from rebuildbook.calculators.layout import (
    Layout,
    check_order,
    cross_order,
    number_by_order,
    quadrant_order,
    rotation_order,
)

OrderKind = Literal["cross", "quadrant", "rotation"]
PassKind = Literal["snug", "cross", "rotation"]
Numbering = Literal["rotation", "order"]

_ORDERS: dict[str, Callable[[Layout], tuple[int, ...]]] = {
    "cross": cross_order,
    "quadrant": quadrant_order,
    "rotation": rotation_order,
}


@dataclass(frozen=True, slots=True)
class Pass:
    """One pass over the joint.

    ``kind`` is "snug" (by hand), "cross" (a torque pass in the plan's order, whichever that is)
    or "rotation" (the last rounds). ``torque`` is in N·m and ``fraction`` the part of the
    setting asked for, both zero by hand; ``order`` is the position numbers; ``below_wrench``
    says that the torque lies below the wrench's lowest mark.
    """

    number: int
    kind: PassKind
    torque: float
    fraction: float
    order: tuple[int, ...]
    below_wrench: bool = False
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """How one joint is tightened; the numbers in ``order`` and ``passes`` are ``layout``'s own.

    With ``numbering`` "rotation" the positions are numbered clockwise and ``order`` is a list
    to follow; with "order" they are renamed so that ``order`` is 1, 2, 3 …
    """

    layout: Layout
    order_kind: OrderKind
    order: tuple[int, ...]
    passes: tuple[Pass, ...]
    numbering: Numbering


def tightening_plan(
    layout: Layout,
    order_kind: OrderKind,
    fractions: Sequence[float],
    *,
    setting: float,
    step: float,
    wrench_low: float,
    window_low: float,
    window_high: float,
    numbering: Numbering = "rotation",
) -> Plan:
    """Plan the tightening of one joint: order, numbering and passes.

    ``layout`` as its constructor numbers it; torques in N·m, their meaning as in `passes`.
    Raises ValueError as `passes` and the orders do, and for an unknown order or numbering.

    >>> from rebuildbook.calculators.layout import circle
    >>> plan = tightening_plan(
    ...     circle(6, 0.1), "cross", (0.5, 1.0), setting=24.0, step=1.0, wrench_low=5.0,
    ...     window_low=21.0, window_high=27.0, numbering="order",
    ... )
    >>> plan.order, plan.passes[-1].order
    ((1, 2, 3, 4, 5, 6), (1, 3, 5, 2, 4, 6))
    """
    if order_kind not in _ORDERS:
        raise ValueError(f"order {order_kind!r} is not known; use one of {', '.join(_ORDERS)}")
    if numbering not in {"rotation", "order"}:
        raise ValueError(f"numbering {numbering!r} is not known; use rotation or order")
    order = _ORDERS[order_kind](layout)
    if numbering == "order":
        layout = number_by_order(layout, order)
        order = tuple(range(1, layout.count + 1))
    made = passes(
        window_low,
        window_high,
        setting,
        fractions,
        step,
        order=order,
        rotation=layout.rotation,
        wrench_low=wrench_low,
    )
    return Plan(layout, order_kind, order, made, numbering)


def passes(
    window_low: float,
    window_high: float,
    setting: float,
    fractions: Sequence[float],
    step: float,
    *,
    order: Sequence[int],
    rotation: Sequence[int] = (),
    wrench_low: float = 0.0,
    max_rounds: int = 4,
) -> tuple[Pass, ...]:
    """Divide the tightening of one joint into passes.

    First by hand; then each of ``fractions`` of ``setting`` on the wrench's nearest mark, in
    ``order``, the last one exactly ``setting``; then at ``setting`` round and round in
    ``rotation`` (1, 2, 3 … if not given) until no nut moves [1]. Fractions that fall on one
    mark make one pass. A single fastener goes straight to the setting; two or three get at
    least two torque passes, because their flange tilts [3].

    ``window_low``, ``window_high``, ``setting``, ``step`` (from mark to mark of the scale) and
    ``wrench_low`` (the lowest mark) are in N·m. ``fractions`` rise and end with 1.

    Raises ValueError for a setting outside its window, a step that is not above zero, and
    fractions that do not rise, lie outside 0 to 1 or do not end with 1.

    >>> made = passes(21.0, 27.0, 24.0, (0.3, 0.6, 1.0), 1.0, order=(1, 3, 2, 4), wrench_low=10.0)
    >>> [(one.kind, one.torque, one.below_wrench) for one in made]
    [('snug', 0.0, False), ('cross', 7.0, True), ('cross', 14.0, False),
     ('cross', 24.0, False), ('rotation', 24.0, False)]
    """
    count = len(order)
    if count < 1:
        raise ValueError("no order is given; a joint has at least one fastener")
    turn = tuple(rotation) or tuple(range(1, count + 1))
    check_order(order, count)
    check_order(turn, count)
    _check_torques(window_low, window_high, setting, step, wrench_low)
    pass_fractions(fractions)
    if max_rounds < 1:
        raise ValueError(f"{max_rounds} rounds in rotation given; at least one is needed")

    marks = _small_joint_marks(setting, fractions, step, count)
    by_hand = marks.pop(0)[1] if marks[0][0] == 0.0 else []
    made = [Pass(1, "snug", 0.0, 0.0, tuple(order), remarks=_snug_remarks(by_hand, count))]
    for torque, joined in marks:
        below = torque < wrench_low * (1.0 - 1e-9)
        remarks = _joined_remarks(joined)
        if torque == setting:
            remarks += _last_remarks(below, count, alone=len(marks) == 1)
        elif below:
            remarks += ("Below the lowest mark of this wrench: a smaller wrench, or by feel.",)
        made.append(Pass(len(made) + 1, "cross", torque, joined[-1], tuple(order), below, remarks))
    if count > 1:
        below = made[-1].below_wrench
        remarks = _round_remarks(max_rounds, count)
        made.append(Pass(len(made) + 1, "rotation", setting, 1.0, turn, below, remarks))
    return tuple(made)


def _small_joint_marks(
    setting: float, fractions: Sequence[float], step: float, count: int
) -> list[tuple[float, list[float]]]:
    if count == 1:
        return [(setting, [1.0])]
    marks = _marks(setting, fractions, step)
    if count <= 3 and sum(torque > 0.0 for torque, _ in marks) < 2:
        return _marks(setting, (0.5, 1.0), step)
    return marks


def _marks(
    setting: float, fractions: Sequence[float], step: float
) -> list[tuple[float, list[float]]]:
    """Put the fractions on marks: each torque with the fractions that fall on it.

    A mark within half a step of the setting cannot be told from it on the scale and is the
    setting; a fraction under half a step falls on zero.
    """
    marks: list[tuple[float, list[float]]] = []
    for fraction in fractions:
        torque = math.floor(fraction * setting / step + 0.5 + 1e-9) * step
        if fraction == fractions[-1] or torque > setting - step * (0.5 - 1e-9):
            torque = setting
        if marks and marks[-1][0] == torque:
            marks[-1][1].append(fraction)
        else:
            marks.append((torque, [fraction]))
    return marks


def _percents(fractions: Sequence[float]) -> str:
    return " and ".join(f"{100.0 * fraction:.3g} %" for fraction in fractions)


def _snug_remarks(by_hand: Sequence[float], count: int) -> tuple[str, ...]:
    seat = "By hand, evenly, until the faces meet all round." if count > 1 else "By hand to seat."
    if not by_hand:
        return (seat,)
    return (
        seat,
        f"{_percents(by_hand)} of the setting lies under the first mark: it is this pass.",
    )


def _joined_remarks(joined: Sequence[float]) -> tuple[str, ...]:
    if len(joined) == 1:
        return ()
    return (f"{_percents(joined)} of the setting fall on one mark: one pass.",)


def _last_remarks(below: bool, count: int, *, alone: bool) -> tuple[str, ...]:
    remarks = []
    if below:
        remarks.append("Below the lowest mark of this wrench: it cannot set this joint.")
    if count == 1:
        remarks.append("One fastener: straight to the setting in one steady pull.")
    else:
        remarks.append("First look all round: no gasket or O-ring pinched or out of its groove.")
    if 1 < count <= 3 and alone:
        remarks.append("No mark lies between: first bring them up in turn by feel.")
    return tuple(remarks)


def _round_remarks(max_rounds: int, count: int) -> tuple[str, ...]:
    way = "One after the other" if count == 2 else "Round in rotation"
    return (
        f"{way} until none moves. If one still moves in round {max_rounds}, stop and find out why: "
        "gasket creeping, screw bottomed or thread giving.",
    )


def _check_torques(low: float, high: float, setting: float, step: float, mark: float) -> None:
    if not all(math.isfinite(value) for value in (low, high, setting, step, mark)):
        raise ValueError(
            f"window {low} to {high}, setting {setting}, scale step {step} and lowest mark {mark} "
            "N·m: each must be a finite number"
        )
    if not 0.0 < low <= high:
        raise ValueError(f"the window {low} to {high} N·m must rise and lie above zero")
    slack = 1e-9 * high
    if not low - slack <= setting <= high + slack:
        raise ValueError(f"the setting {setting} N·m lies outside its window {low} to {high} N·m")
    if step <= 0.0:
        raise ValueError(f"the wrench's scale step is {step} N·m; it must be above zero")
    if mark < 0.0:
        raise ValueError(f"the wrench's lowest mark is {mark} N·m; it cannot be below zero")
