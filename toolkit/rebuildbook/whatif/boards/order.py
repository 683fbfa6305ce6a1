"""The order of tightening: every fastener's preload step by step, and two orders compared.

On a flat gasket the bolts are followed with the worksheet's elastic model. Metal to metal they
hardly feel each other, and each keeps what its own torque gives.
"""

from __future__ import annotations

import functools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from rebuildbook.calculators.flange_model import Array, Flange, Gasket
from rebuildbook.calculators.interaction import ForcePass, joint, tighten
from rebuildbook.calculators.interaction import Joint as Assembled
from rebuildbook.calculators.layout import Layout, check_order, cross_order, quadrant_order
from rebuildbook.calculators.tightening import Plan
from rebuildbook.figures.order_steps import OrderCourse, order_steps
from rebuildbook.sheets import Case
from rebuildbook.units import number, to_unit, with_unit
from rebuildbook.whatif.boards import knobs, one_joint
from rebuildbook.whatif.boards.one_joint import OneJoint
from rebuildbook.whatif.question import Answer, Knob, Number, View
from rebuildbook.worksheet.evenness import ENOUGH
from rebuildbook.worksheet.model import Finding, Value
from rebuildbook.worksheet.plan import JointPlan
from rebuildbook.worksheet.tightened import (
    LEAST_MESH,
    NotFollowed,
    Setup,
    rotation_passes,
    setup_of,
    torque_passes,
)

PLANNED, ROUND, QUARTERS, TYPED = "as planned", "round", "by quarters", "typed"
PASSES = {"as planned": 0, "one pass": 1, "two passes": 2, "three passes": 3, "four passes": 4}
MOST_PASSES = 4
_METAL = "metal to metal: the bolts hardly feel each other"
_ELASTIC = "on its gasket, elastic: a bolt unloads its neighbours"


@dataclass(frozen=True, slots=True, eq=False)
class Followed:
    """Forces as shares of the target, the bolt and the pass of each step.

    ``skew`` is the greatest difference of the closing round the joint at any step, m per N of
    target; None where it is not followed.
    """

    forces: Array
    numbers: tuple[int, ...]
    passes: tuple[int, ...]
    skew: float | None


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """One order followed: what is drawn, and the skew on the way (m), None where not known."""

    drawn: OrderCourse
    skew: float | None


@dataclass(frozen=True, slots=True, eq=False)
class OrderPicture:
    """Both orders, the step shown, and the units of force."""

    first: OrderCourse
    second: OrderCourse
    step: int
    units: tuple[str, str]


class OrderBoard:
    """Step through the tightening of one joint."""

    name = "order"
    title = "Order of tightening, bolt by bolt"
    about = (
        "Step through a tightening order and see what each bolt holds, beside another order. "
        "A bolt tightened later presses the gasket on and unloads its neighbours: passes and a "
        "last round even that out. Crossing keeps the parts level on the way; in this elastic "
        "model it does not by itself leave less spread."
    )

    def picks(self, case: Case) -> dict[str, tuple[str, ...]]:
        """The joints with several fasteners."""
        return {"joint": one_joint.names(case, 2)}

    def knobs(self, case: Case, picked: Mapping[str, str]) -> tuple[Knob, ...]:
        """What the planned order is, and what the bolts feel each other by."""
        name = one_joint.picked_name(case, picked, 2)
        _, plan = one_joint.plan_of(case, name)
        kinds = ("cross", "rotation") if _is_row(plan) else ("cross", "quadrant", "rotation")
        order = knobs.choice(
            "order", "Planned order", f"joints.{name}.order", plan.joint.order, kinds,
            help="As the model sheet has it; cross is from the middle outwards off a circle",
        )  # fmt: skip
        return (order, *one_joint.torque_knobs(case, plan), *_elastic(case, plan))

    def views(self, case: Case, picked: Mapping[str, str]) -> tuple[View, ...]:
        """Orders, passes and the step."""
        _, plan = one_joint.plan_of(case, one_joint.picked_name(case, picked, 2))
        orders = _orders(plan)
        offered = (*orders, TYPED)
        most = MOST_PASSES + 1
        if plan.tightening is not None:
            most = max(most, sum(one.torque > 0.0 for one in plan.tightening.passes))
        return (
            View("order", "Order", offered),
            View("against", "Against", (*offered[-2:], *offered[:-2])),
            View("typed", "Typed order", text=" ".join(str(one) for one in orders[PLANNED]) or "1"),
            View("passes", "Passes", tuple(PASSES)),
            View("step", "After step (0: all done)", low=0, high=most * plan.joint.count),
        )

    def answer(self, case: Case, picked: Mapping[str, str], seen: Mapping[str, Any]) -> Answer:
        """Follow both orders through their passes."""
        one = one_joint.work(case, one_joint.picked_name(case, picked, 2))
        made = one.plan.tightening
        if made is None:
            raise ValueError(one_joint.no_clamp(one.plan))
        setup = _setup(one)
        offered = _orders(one.plan)
        courses = []
        for view, otherwise in (("order", PLANNED), ("against", ROUND)):
            name = str(seen.get(view) or otherwise)
            order = _order_named(name, offered, str(seen.get("typed", "")), one.plan)
            courses.append(_course(one, setup, name, order, str(seen.get("passes", PLANNED))))
        first, second = (course.drawn for course in courses)
        step = int(seen.get("step") or 0) or len(first.numbers)
        step = min(step, max(len(first.numbers), len(second.numbers)))
        units = one_joint.force_units(one.context, first.target)
        return Answer(
            tuple(_numbers(one, setup, courses, step)),
            tuple(_findings(one, first)),
            OrderPicture(first, second, step, units),
        )

    def draw(self, after: Answer, before: Answer, seen: Mapping[str, Any]) -> Figure:
        """Both patterns at the step, and the spread over all steps."""
        now, then = after.data, before.data
        same = now.first.forces.shape == then.first.forces.shape and np.array_equal(
            now.first.forces, then.first.forces
        )
        return order_steps(now.first, now.second, now.step, now.units, None if same else then.first)


# orders


def _orders(plan: JointPlan) -> dict[str, tuple[int, ...]]:
    """Orders by name, in the numbers of the planned one."""
    if plan.tightening is None:
        return {PLANNED: ()}
    layout = plan.tightening.layout
    found = {PLANNED: plan.tightening.order}
    found["cross" if layout.shape == "circle" else "from the middle"] = cross_order(layout)
    if not _is_row(plan):
        found[QUARTERS] = quadrant_order(layout)
    found[ROUND] = layout.rotation
    return found


def _is_row(plan: JointPlan) -> bool:
    return plan.joint.layout is not None and plan.joint.layout.shape == "row"


def _order_named(
    name: str, offered: Mapping[str, tuple[int, ...]], typed: str, plan: JointPlan
) -> tuple[int, ...]:
    if name == TYPED:
        return read_order(typed, plan.joint.count)
    if name not in offered:
        raise ValueError(f"{name!r} is no order here; there are {', '.join(offered)}")
    return offered[name]


def read_order(typed: str, count: int) -> tuple[int, ...]:
    """Read a typed order; raises ValueError where it does not name each fastener once.

    >>> read_order("1, 3 2-4", 4)
    (1, 3, 2, 4)
    """
    words = typed.replace(",", " ").replace("-", " ").replace(";", " ").split()
    if not words or not all(word.isdecimal() for word in words):
        raise ValueError(f"{typed!r} is no order; write each of 1 to {count} once, as 1 3 2 4")
    order = tuple(int(word) for word in words)
    check_order(order, count)
    return order


# following the bolts


def _setup(one: OneJoint) -> Setup | None:
    """The joint in the elastic model's terms; None where there is no flat gasket.

    Raises ValueError where there is one and it cannot be followed.
    """
    gasket = one.plan.joint.gasket
    if gasket is None or gasket.kind != "flat":
        return None
    try:
        return setup_of(one.worked)
    except NotFollowed as gap:
        raise ValueError(f"{one.plan.name}: not followed, {gap}") from None


def _course(
    one: OneJoint, setup: Setup | None, name: str, order: tuple[int, ...], passes: str
) -> Course:
    made, clamp = one.plan.tightening, one.clamp
    assert made is not None  # noqa: S101
    asked = _passes(made, order, clamp.prevailing[1], passes)
    target = clamp.typical
    if setup is None:
        found = _apart(made.layout.count, asked)
    else:
        mesh = max(LEAST_MESH, made.layout.count)
        body = setup.flange, setup.gasket, made.layout, setup.bolt_stiffness, mesh
        found = _followed(body, asked)
    drawn = OrderCourse(
        name, made.layout.positions, found.forces * target, found.numbers, found.passes, target
    )
    return Course(drawn, None if found.skew is None else found.skew * target)


def _passes(
    made: Plan, order: tuple[int, ...], prevailing: float, passes: str
) -> tuple[ForcePass, ...]:
    """The passes in ``order`` as shares of the target, then the planned round in rotation."""
    if passes not in PASSES:
        raise ValueError(f"{passes!r} are no passes here; there are {', '.join(PASSES)}")
    rounds = rotation_passes(made, 1.0)
    if count := PASSES[passes]:
        return (*(ForcePass(order, (k + 1) / count) for k in range(count)), *rounds)
    return (*torque_passes(made, order, prevailing, 1.0), *rounds)


@functools.lru_cache(maxsize=64)
def _assembled(
    flange: Flange, gasket: Gasket, layout: Layout, stiffness: float, mesh: int
) -> Assembled:
    return joint(flange, gasket, layout.positions, stiffness, mesh=mesh)


@functools.lru_cache(maxsize=256)
def _followed(
    body: tuple[Flange, Gasket, Layout, float, int], passes: tuple[ForcePass, ...]
) -> Followed:
    """Forces as shares of the target: springs that only push keep their shares at any torque."""
    history = tighten(_assembled(*body), passes)
    return Followed(history.forces, history.numbers, history.passes, history.skew)


def _apart(count: int, passes: tuple[ForcePass, ...]) -> Followed:
    """Bolts that do not feel each other: each holds the most it was brought up to."""
    forces, numbers, of_pass = [], [], []
    held = np.zeros(count)
    for place, one in enumerate(passes, start=1):
        for bolt in one.order:
            held[bolt - 1] = max(held[bolt - 1], float(np.max(one.force)))
            forces.append(held.copy())
            numbers.append(bolt)
            of_pass.append(place)
    return Followed(np.array(forces), tuple(numbers), tuple(of_pass), None)


# what is said


def _numbers(
    one: OneJoint, setup: Setup | None, courses: Sequence[Course], step: int
) -> Iterator[Number]:
    """The ends first: by them a case that was tried is known again."""
    id_, context = f"order.{one.plan.name}", one.context
    named = tuple(zip(("first", "second"), courses, strict=True))
    for place, followed in named:
        yield from _at_the_end(f"{id_}.{place}", followed.drawn)
        if followed.skew is not None:
            skew = Value(followed.skew, "length", "µm")
            yield Number(
                f"{id_}.{place}.skew",
                f"{followed.drawn.name}: out of level on the way, at most",
                skew,
            )
    for place, followed in named:
        course, before = followed.drawn, f"{id_}.{place}"
        at = min(step, len(course.numbers))
        bolt = course.numbers[at - 1]
        yield Number(f"{before}.order", f"Order, {course.name}", _sequence(course))
        own = context.value(float(course.forces[at - 1, bolt - 1]), "force")
        yield Number(f"{before}.own", f"{course.name}: no. {bolt}, tightened in step {at}", own)
        words = f"{course.name}: least and most after step {at}"
        yield Number(f"{before}.step", words, _percents(course.at(at)))
    yield from _each(one, courses[0].drawn)
    yield Number(f"{id_}.target", "Preload aimed at", context.value(one.clamp.typical, "force"))
    yield Number(f"{id_}.model", "Followed", _METAL if setup is None else _ELASTIC)


def _sequence(course: OrderCourse) -> str:
    return " ".join(str(bolt) for bolt in course.numbers[: course.forces.shape[1]])


def _percents(shares: Array) -> str:
    low, high = int(shares.argmin()), int(shares.argmax())
    return (
        f"{100 * shares[low]:.0f} % (no. {low + 1}) to {100 * shares[high]:.0f} % (no. {high + 1})"
    )


def _at_the_end(before: str, course: OrderCourse) -> Iterator[Number]:
    final = course.forces[-1]
    least = Value(float(final.min()) / course.target, "fraction", "%")
    most = Value(float(final.max()) / course.target, "fraction", "%")
    spread = Value(float(np.ptp(final) / final.mean()), "fraction", "%")
    yield Number(f"{before}.least", f"{course.name}: least left at the end, of the aim", least)
    yield Number(f"{before}.most", f"{course.name}: most at the end, of the aim", most)
    yield Number(f"{before}.spread", f"{course.name}: spread at the end", spread)


def _each(one: OneJoint, course: OrderCourse) -> Iterator[Number]:
    unit = one.context.value(course.target, "force").unit
    ends = "  ".join(number(to_unit(float(force), unit)) for force in course.forces[-1])
    yield Number(
        f"order.{one.plan.name}.ends", f"Each at the end, {course.name}, 1 to {len(course.at(0))}",
        with_unit(ends, unit),
    )  # fmt: skip


def _findings(one: OneJoint, course: OrderCourse) -> Iterator[Finding]:
    """Whether the first order leaves the bolts within what friction scatters by anyway."""
    shares = course.forces[-1] / course.target
    off = float(np.abs(shares - 1.0).max())
    even = off <= ENOUGH + 1e-9
    yield Finding(
        f"order.{one.plan.name}.even",
        "clear" if even else "query",
        f"{one.plan.name}, {course.name}: bolts left {'even enough' if even else 'uneven'}",
        f"{_percents(shares)} of the preload aimed at, against ± {ENOUGH:.0%}",
        f"{100 * abs(ENOUGH - off):.0f} % {'to spare' if even else 'beyond'}",
        "" if even else "Go round in rotation until none moves, or bring it up in more passes.",
        "elastic balance of bolts, flange and gasket; judgement of this toolkit",
    )


# knobs


def _elastic(case: Case, plan: JointPlan) -> Iterator[Knob]:
    gasket, flange = plan.joint.gasket, plan.joint.flange
    if gasket is None or gasket.kind != "flat":
        return
    path = f"joints.{plan.name}"
    yield knobs.quantity(
        case, "modulus", "Gasket's compression modulus", f"{path}.gasket.modulus", gasket.modulus,
        (20e6, 2000e6), "stress", help="As installed; the softer, the more the bolts take",
    )  # fmt: skip
    yield knobs.quantity(
        case, "gasket_thickness", "Gasket's thickness", f"{path}.gasket.thickness",
        gasket.thickness, (0.5e-3, 6e-3), "length",
    )  # fmt: skip
    if flange is not None:
        own = flange.thickness
        yield knobs.quantity(
            case, "flange_thickness", "Flange's thickness", f"{path}.flange.thickness", own,
            (0.4 * own.low, 2.0 * own.high), "length",
        )  # fmt: skip


BOARD = OrderBoard()
