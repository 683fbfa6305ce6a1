"""What torque, friction, gasket and pressure do to the preload of one joint."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from matplotlib.figure import Figure

from rebuildbook.calculators.preload import preload_from_nut_factor
from rebuildbook.figures.preload_change import PreloadPicture, preload_change
from rebuildbook.sheets import Case
from rebuildbook.sheets.model import Gasket
from rebuildbook.units import Amount
from rebuildbook.whatif.boards import knobs, one_joint
from rebuildbook.whatif.boards.answers import worst_first
from rebuildbook.whatif.boards.one_joint import OneJoint
from rebuildbook.whatif.question import Answer, Knob, Number, View
from rebuildbook.worksheet.joints import joints
from rebuildbook.worksheet.plan import JointPlan
from rebuildbook.worksheet.preload import preloads
from rebuildbook.worksheet.service import service

_TORQUE = ("setting", "delivered-low", "delivered-high")
_PRELOAD = ("least", "typical", "most")
_STRENGTH = ("proof", "combined", "strips")
_SERVICE = (
    "left", "pull", "clamp", "margin", "greatest", "face-assembled", "face", "amplitude", "endured"
)  # fmt: skip
_PRESSURE = "The joint is judged at the highest of working, test and full relief pressure"
_GASKET: tuple[tuple[str, str, str, float, float], ...] = (
    ("seating_stress", "Stress that seats the gasket", "stress", 1e6, 80e6),
    ("least_stress", "Stress the gasket needs in service", "stress", 1e6, 80e6),
    ("most_stress", "Stress that crushes the gasket", "stress", 10e6, 250e6),
    ("creep", "Load lost as the gasket creeps", "fraction", 0.01, 0.5),
    ("modulus", "Gasket's compression modulus", "stress", 20e6, 2000e6),
)


class JointBoard:
    """Preload of one joint between opening and yielding."""

    name = "joint"
    title = "A joint: what the torque does"
    about = (
        "Change torque, friction, gasket or pressure and see where the preload ends up between "
        "the load at which the joint opens and the one at which its fastener yields. "
        "A torque holds the preload only loosely: one number on the wrench is a range of preloads."
    )

    def picks(self, case: Case) -> dict[str, tuple[str, ...]]:
        """The joints of the model."""
        return {"joint": one_joint.names(case)}

    def knobs(self, case: Case, picked: Mapping[str, str]) -> tuple[Knob, ...]:
        """Fields of the joint's sheet and of the card's duty."""
        name = one_joint.picked_name(case, picked)
        _, plan = one_joint.plan_of(case, name)
        return (
            *one_joint.torque_knobs(case, plan),
            *one_joint.friction_knobs(case, plan),
            *_prevailing(case, plan),
            *_gasket(case, plan),
            *_engagement(case, plan),
            *_pressures(case, plan),
        )

    def views(self, case: Case, picked: Mapping[str, str]) -> tuple[View, ...]:
        """Nothing but the case decides what is shown."""
        return ()

    def answer(self, case: Case, picked: Mapping[str, str], seen: Mapping[str, Any]) -> Answer:
        """Work the joint out as the worksheet does."""
        joint = one_joint.work(case, one_joint.picked_name(case, picked))
        context, plan = joint.context, joint.plan
        sections = (
            joints(context, [plan]),
            preloads(context, [joint.worked]),
            service(context, [joint.worked]),
        )
        wanted = (f"preload.{plan.name}.{line}" for line in _PRELOAD)
        then = (
            *(f"joints.{plan.name}.{line}" for line in _TORQUE),
            *(f"preload.{plan.name}.{line}" for line in _STRENGTH),
            *(f"service.{plan.name}.{line}" for line in _SERVICE),
        )
        return Answer(
            (
                *one_joint.fields(sections, wanted),
                *_own(joint),
                *one_joint.fields(sections, then),
            ),
            worst_first(finding for section in sections for finding in section.findings()),
            _picture(joint),
        )

    def draw(self, after: Answer, before: Answer, seen: Mapping[str, Any]) -> Figure:
        """The spread of the preload after and before, on one scale."""
        return preload_change(after.data, before.data)


def _own(joint: OneJoint) -> Iterator[Number]:
    """What the worksheet has no line for: the interval's ends, and the room on both sides."""
    context, plan, clamp, load = joint.context, joint.plan, joint.clamp, joint.worked.load
    id_ = f"joint.{plan.name}"
    yield Number(f"{id_}.low", "95 in 100 hold at least", context.value(clamp.draws.low, "force"))
    yield Number(f"{id_}.high", "95 in 100 hold at most", context.value(clamp.draws.high, "force"))
    opens = load.opens_below() if load else None
    if load and load.pressed and opens is not None:
        yield Number(
            f"{id_}.pressure", "Highest pressure it can see",
            context.value(load.pressed.pressure, "pressure"),
        )  # fmt: skip
        yield Number(
            f"{id_}.opens", "Opens there below a preload of", context.value(opens, "force")
        )
        yield Number(
            f"{id_}.to-opening", "Least preload above that",
            context.value(clamp.least - opens, "force"),
        )  # fmt: skip
    yields = plan.thread.stress_area * plan.strength.yield_strength
    yield Number(f"{id_}.yields", "Fastener yields at", context.value(yields, "force"))
    yield Number(
        f"{id_}.to-yield", "Most preload below that", context.value(yields - clamp.most, "force")
    )


def _picture(joint: OneJoint) -> PreloadPicture:
    context, plan, clamp, load = joint.context, joint.plan, joint.clamp, joint.worked.load
    area, strength = plan.thread.stress_area, plan.strength
    yields = area * strength.yield_strength
    return PreloadPicture(
        clamp.draws.draws,
        (clamp.draws.low, clamp.draws.high),
        clamp.typical,
        window_preloads(joint),
        load.opens_below() if load else None,
        area * strength.proof_strength,
        yields,
        clamp.strip.weakest if clamp.strip else None,
        one_joint.force_units(context, yields),
    )


def window_preloads(joint: OneJoint) -> tuple[float, float]:
    """Least and most preload (N) that the maker's window itself leaves room for."""
    torque, diameter = joint.plan.joint.torque, joint.plan.thread.major
    factor, before = joint.clamp.nut_factor, joint.clamp.prevailing
    return (
        float(preload_from_nut_factor.si(torque.low, factor.high, diameter, before[2])),
        float(preload_from_nut_factor.si(torque.high, factor.low, diameter, before[0])),
    )


def _prevailing(case: Case, plan: JointPlan) -> Iterator[Knob]:
    own = plan.joint.prevailing_torque
    if own is not None:
        yield knobs.quantity(
            case, "prevailing_torque", "Torque the locking takes",
            f"joints.{plan.name}.prevailing_torque", own, (0.1 * own.low, 3.0 * own.high), "torque",
        )  # fmt: skip


def _gasket(case: Case, plan: JointPlan) -> Iterator[Knob]:
    gasket = plan.joint.gasket
    if gasket is None or gasket.kind != "flat":
        return
    for field, label, dimension, low, high in _GASKET:
        yield knobs.quantity(
            case, field, label, f"joints.{plan.name}.gasket.{field}", _of(gasket, field),
            (low, high), dimension,
        )  # fmt: skip


def _of(gasket: Gasket, field: str) -> Amount | None:
    amount: Amount | None = getattr(gasket, field)
    return amount


def _engagement(case: Case, plan: JointPlan) -> Iterator[Knob]:
    tapped = plan.joint.tapped
    if tapped is not None:
        own = tapped.engagement
        yield knobs.quantity(
            case, "engagement", f"Thread engaged in {tapped.material}",
            f"joints.{plan.name}.tapped.engagement", own,
            (0.3 * plan.thread.major, 2.5 * plan.thread.major), "length",
        )  # fmt: skip


def _pressures(case: Case, plan: JointPlan) -> Iterator[Knob]:
    if plan.joint.holds is None:
        return
    duty = case.job.duty
    top = 2.0 * case.model.pressure_parts[plan.joint.holds].max_working_pressure.nominal
    for field, label in (
        ("working_pressure", "Working pressure"),
        ("test_pressure", "Test pressure"),
    ):
        yield knobs.quantity(
            case, field, label, f"duty.{field}", getattr(duty, field), (0.02 * top, top),
            "pressure", help=_PRESSURE,
        )  # fmt: skip


BOARD = JointBoard()
