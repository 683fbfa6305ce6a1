"""The number of a torque window read in the wrong unit, and what its preload comes to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from matplotlib.figure import Figure

from rebuildbook.calculators.preload import preload_from_nut_factor
from rebuildbook.calculators.torque import suspect_mix_up
from rebuildbook.figures.unit_mixup import MixUpPicture, Reading, unit_mixup
from rebuildbook.sheets import Case
from rebuildbook.units import Amount, shown_unit, to_unit, with_unit
from rebuildbook.units.show import plain
from rebuildbook.whatif.boards import one_joint
from rebuildbook.whatif.boards.answers import worst_first
from rebuildbook.whatif.boards.one_joint import OneJoint
from rebuildbook.whatif.question import Answer, Knob, Number, View
from rebuildbook.worksheet.joint_findings import joint_findings
from rebuildbook.worksheet.model import Finding
from rebuildbook.worksheet.plan import JointPlan

UNITS = ("N*m", "ft*lbf", "in*lbf", "kgf*m")


@dataclass(frozen=True, slots=True)
class Limits:
    """Preloads (N) between which a joint holds; None where the sheets do not tell."""

    opens: float | None
    yields: float
    strips: float | None

    def outcome(self, least: float, most: float) -> str:
        """Say what becomes of a joint with preloads from ``least`` to ``most`` N.

        >>> Limits(5e3, 30e3, None).outcome(10e3, 31e3)
        'may yield'
        >>> Limits(5e3, 30e3, 20e3).outcome(31e3, 60e3)
        'yields, strips'
        """
        said = []
        for limit, sure, perhaps in (
            (self.yields, "yields", "may yield"),
            (self.strips, "strips", "may strip"),
        ):
            if limit is not None and most > limit:
                said.append(sure if least > limit else perhaps)
        if self.opens is not None and least < self.opens:
            said.append("opens" if most < self.opens else "may open")
        if not said and most <= 0.0:
            said.append("clamps nothing")
        return ", ".join(said) or "holds"


class MixUpBoard:
    """One number, four units."""

    name = "mixup"
    title = "A torque in the wrong unit"
    about = (
        "Take the number of a torque window and read it as N·m, ft·lbf, in·lbf and kgf·m: the "
        "same figure on four wrenches. See which preload each leaves, whether the joint opens, "
        "holds or yields with it, and what the toolkit would say of such a window."
    )

    def picks(self, case: Case) -> dict[str, tuple[str, ...]]:
        """The joints of the model."""
        return {"joint": one_joint.names(case)}

    def knobs(self, case: Case, picked: Mapping[str, str]) -> tuple[Knob, ...]:
        """The window and what is on the thread."""
        _, plan = one_joint.plan_of(case, one_joint.picked_name(case, picked))
        window = (knob for knob in one_joint.torque_knobs(case, plan) if knob.name == "torque")
        return (*window, *one_joint.friction_knobs(case, plan))

    def views(self, case: Case, picked: Mapping[str, str]) -> tuple[View, ...]:
        """All four are always shown."""
        return ()

    def answer(self, case: Case, picked: Mapping[str, str], seen: Mapping[str, Any]) -> Answer:
        """Read the window in every unit and follow each to its preload."""
        joint = one_joint.work(case, one_joint.picked_name(case, picked))
        plan, load, strip = joint.plan, joint.worked.load, joint.clamp.strip
        limits = Limits(
            load.opens_below() if load else None,
            plan.thread.stress_area * plan.strength.yield_strength,
            strip.weakest if strip else None,
        )
        windows = {unit: read_as(plan.joint.torque, unit) for unit in units(plan)}
        readings = {unit: _reading(joint, limits, window) for unit, window in windows.items()}
        return Answer(
            (
                *_outcomes(joint, windows, readings),
                *_limit_rows(joint, limits),
                *_rows(joint, windows, readings),
            ),
            worst_first(_said(joint, window) for window in windows.values()),
            MixUpPicture(
                tuple(readings.values()),
                limits.opens,
                limits.yields,
                limits.strips,
                one_joint.force_units(joint.context, limits.yields),
            ),
        )

    def draw(self, after: Answer, before: Answer, seen: Mapping[str, Any]) -> Figure:
        """All readings on one scale of preload."""
        return unit_mixup(after.data, before.data)


def units(plan: JointPlan) -> tuple[str, ...]:
    """The units tried: the four of the shop's wrenches, and the sheet's own where it is another."""
    own = plan.joint.torque.unit
    return UNITS if own in UNITS else (own, *UNITS)


def read_as(window: Amount, unit: str) -> Amount:
    """The same figures as ``window``, taken for ``unit``."""
    low, middle, high = (
        one_joint.in_unit(si, window.unit, unit) for si in (window.low, window.nominal, window.high)
    )
    return replace(window, low=low, nominal=middle, high=high, unit=unit, text="")


def preloads(joint: OneJoint, window: Amount) -> tuple[float, float, float]:
    """Least, typical and most preload (N) of a window, whatever tool sets it."""
    factor, before = joint.clamp.nut_factor, joint.clamp.prevailing
    pairs = (
        (window.low, factor.high, before[2]),
        (window.nominal, factor.typical, before[1]),
        (window.high, factor.low, before[0]),
    )
    least, typical, most = (
        float(preload_from_nut_factor.si(torque, k, joint.plan.thread.major, lost))
        for torque, k, lost in pairs
    )
    return least, typical, most


def _reading(joint: OneJoint, limits: Limits, window: Amount) -> Reading:
    least, typical, most = preloads(joint, window)
    return Reading(
        shown_unit(window.unit),
        _figures(window),
        least,
        typical,
        most,
        limits.outcome(least, most),
        window.unit == joint.plan.joint.torque.unit,
        suspect_mix_up(window.low, window.high, *joint.plan.plausible) is None,
    )


def _figures(window: Amount) -> str:
    low, high = (plain(to_unit(si, window.unit)) for si in (window.low, window.high))
    return with_unit(f"{low} to {high}", window.unit)


def _limit_rows(joint: OneJoint, limits: Limits) -> Iterator[Number]:
    for id_, label, force in (
        ("opens", "Opens below a preload of", limits.opens),
        ("yields", "Fastener yields at", limits.yields),
        ("strips", "Tapped thread strips at", limits.strips),
    ):
        if force is not None:
            yield Number(
                f"mixup.{joint.plan.name}.{id_}", label, joint.context.value(force, "force")
            )


def _outcomes(
    joint: OneJoint, windows: Mapping[str, Amount], readings: Mapping[str, Reading]
) -> Iterator[Number]:
    for unit, reading in readings.items():
        likely = "plausible" if reading.plausible else "not plausible"
        words = f"{reading.outcome}; a window that is {likely}"
        label = f"Read as {_figures(windows[unit])}"
        yield Number(f"mixup.{joint.plan.name}.{reading.unit}.outcome", label, words)


def _rows(
    joint: OneJoint, windows: Mapping[str, Amount], readings: Mapping[str, Reading]
) -> Iterator[Number]:
    for unit, reading in readings.items():
        id_ = f"mixup.{joint.plan.name}.{reading.unit}"
        middle = joint.context.value(windows[unit].nominal, "torque")
        yield Number(f"{id_}.torque", f"{reading.unit}: middle of the window", middle)
        for word in ("least", "typical", "most"):
            force = joint.context.value(getattr(reading, word), "force")
            yield Number(f"{id_}.{word}", f"{reading.unit}: {word} preload", force)


def _said(joint: OneJoint, window: Amount) -> Finding:
    """What the worksheet says of the unit, were the window written like this."""
    plan = joint.plan
    mixed = replace(
        plan,
        joint=plan.joint.model_copy(update={"torque": window}),
        mix_up=suspect_mix_up(window.low, window.high, *plan.plausible),
    )
    wanted = f"joints.{plan.name}.unit"
    found = next(one for one in joint_findings(joint.context, mixed) if one.id == wanted)
    if window.unit == plan.joint.torque.unit:
        return found
    unit = shown_unit(window.unit)
    return replace(found, id=f"{wanted}.{unit}", title=f"read as {unit}: {found.title}")


BOARD = MixUpBoard()
