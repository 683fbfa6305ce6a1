"""Judgements on joints under load: shut, not overstretched, gasket seated, thread not tired."""

from __future__ import annotations

from collections.abc import Iterator

from rebuildbook.calculators.fatigue import ENDURANCE_CYCLES
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import Finding, Level
from rebuildbook.worksheet.plan import JointPlan
from rebuildbook.worksheet.under_load import Cycle, Face, Pressed, UnderLoad

WANTED = 1.2  # margin below which somebody decides; judgement of this toolkit
GUIDE = 2.0  # the same where the endurance is only a guide
_SHIGLEY = "Shigley eqs. 8-24 to 8-30"
_SHUT: dict[Level, str] = {
    "clear": "",
    "query": "Check the window against the maker's sheet; check the torque again after the test.",
    "hold": "Do not pressurise. Read the maker's window and its unit again; the joint opens before "
    "the pressure is reached.",
}


def service_findings(context: Context, plan: JointPlan, load: UnderLoad) -> Iterator[Finding]:
    """Judge one joint under load."""
    if load.pressed is not None:
        yield _shut(context, plan, load, load.pressed)
        yield _stretched(context, plan, load.pressed.greatest)
    else:
        yield _keeps(context, plan, load)
    if load.face is not None and load.face.of_gasket:
        yield from _gasket(context, plan, load.face)
    if load.cycle is not None and load.pressed is not None and load.pressed.margin >= 1.0:
        yield _tired(context, plan, load.cycle)


def _shut(context: Context, plan: JointPlan, load: UnderLoad, pressed: Pressed) -> Finding:
    ratio = pressed.margin
    level: Level = "clear" if ratio >= WANTED else "query" if ratio >= 1.0 else "hold"
    words = {
        "clear": "joint stays shut under pressure",
        "query": "joint has little to spare under pressure",
        "hold": "window too low to hold the pressure",
    }[level]
    pressure = context.value(pressed.pressure, "pressure").shown
    return Finding(
        f"service.{plan.name}.shut",
        level,
        f"{plan.name}: {words}",
        f"least preload left {context.value(load.least, 'force').shown} opens at a pull of "
        f"{context.value(pressed.opens, 'force').shown}; the pull at {pressure} is "
        f"{context.value(pressed.pull, 'force').shown}",
        f"{ratio:.2f} times",
        _SHUT[level],
        _SHIGLEY,
    )


def _keeps(context: Context, plan: JointPlan, load: UnderLoad) -> Finding:
    level: Level = "clear" if load.least > 0.0 else "query"
    return Finding(
        f"service.{plan.name}.keeps",
        level,
        f"{plan.name}: {'keeps preload' if level == 'clear' else 'may lose all its preload'}",
        f"least preload left in service {context.value(load.least, 'force').shown}; no pressure "
        "on this joint",
        context.value(load.least, "force").shown,
        "" if level == "clear" else "Check the window; use a longer fastener or a locking element.",
        "losses as in the lines above",
    )


def _stretched(context: Context, plan: JointPlan, greatest: float) -> Finding:
    area, strength = plan.thread.stress_area, plan.strength
    proof, yields = area * strength.proof_strength, area * strength.yield_strength
    level: Level = "clear" if greatest <= proof else "query" if greatest <= yields else "hold"
    words = {
        "clear": "fastener stays below proof load in service",
        "query": "fastener may pass proof load in service",
        "hold": "fastener may yield in service",
    }[level]
    return Finding(
        f"service.{plan.name}.stretched",
        level,
        f"{plan.name}: {words}",
        f"greatest load {context.value(greatest, 'force').shown} against proof load "
        f"{context.value(proof, 'force').shown}",
        context.value(proof - greatest, "force").shown,
        "" if level == "clear" else "Check window and strength class against the maker's sheet.",
        f"{_SHIGLEY}; {strength.source}",
    )


def _gasket(context: Context, plan: JointPlan, face: Face) -> Iterator[Finding]:
    gasket = plan.joint.gasket
    assert gasket is not None  # noqa: S101
    asked = (
        ("seats", gasket.seating_stress, face.assembled, True, "seats", "may not seat"),
        ("seals", gasket.least_stress, face.in_service, True, "stays sealed", "may leak"),
        ("crush", gasket.most_stress, face.crushed, False, "is not crushed", "may be crushed"),
    )
    for name, limit, stress, at_least, good, bad in asked:
        if limit is None:
            continue
        within = stress >= limit.nominal if at_least else stress <= limit.nominal
        spare = stress - limit.nominal if at_least else limit.nominal - stress
        yield Finding(
            f"service.{plan.name}.{name}",
            "clear" if within else "query",
            f"{plan.name}: gasket {good if within else bad}",
            f"{context.value(stress, 'stress').shown} against {limit.canonical}",
            context.value(spare, "stress").shown,
            "" if within else "Check gasket and window against the maker's sheet.",
            context.source("model", f"joints.{plan.name}.gasket"),
        )


def _tired(context: Context, plan: JointPlan, cycle: Cycle) -> Finding:
    wanted = WANTED if cycle.proven else GUIDE
    level: Level = "clear" if cycle.factor >= wanted else "query" if cycle.factor >= 1.0 else "hold"
    words = {
        "clear": "fastener endures the stroke's cycle",
        "query": "fastener has little to spare against fatigue",
        "hold": "fastener may break by fatigue",
    }[level]
    return Finding(
        f"service.{plan.name}.tired",
        level,
        f"{plan.name}: {words}",
        f"amplitude {context.value(cycle.amplitude, 'stress').shown} with every stroke against "
        f"{context.value(cycle.endured, 'stress').shown} endured over "
        f"{ENDURANCE_CYCLES / 1e6:g} million strokes",
        f"{cycle.factor:.2f} times",
        ""
        if level == "clear"
        else "Raise the preload within the maker's window, or fit new fasteners at each rebuild.",
        "VDI 2230 endurance of rolled threads (from memory)",
    )
