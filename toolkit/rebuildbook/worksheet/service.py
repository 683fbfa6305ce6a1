"""Joints under load: what service takes from the preload, and whether the joint stays shut."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator

from rebuildbook.worksheet.clamp import Clamp
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import text_line
from rebuildbook.worksheet.model import (
    Block,
    Caution,
    Finding,
    Line,
    Note,
    Section,
    Value,
    given,
    series,
)
from rebuildbook.worksheet.plan import JointPlan
from rebuildbook.worksheet.service_findings import service_findings
from rebuildbook.worksheet.under_load import Cycle, Face, Loss, Pressed, Stiffness, UnderLoad
from rebuildbook.worksheet.worked import WorkedJoint

_SHIGLEY = "Shigley eqs. 8-17 to 8-25"
_SETTLES = "Fz = fz/(1/kb + 1/km), guide values of settling by VDI 2230 (from memory)"
_THERMAL = "unlike growth over the springs of the joint; a gasket's own growth is left out"
_ENDURED = "0.85 (150/d + 45) MPa, thread rolled before heat treatment (VDI 2230, from memory)"
_UNKNOWN = (
    "bearing face, hole and layers are not all on the model sheet; without them the joint's "
    "stiffness is not known."
)
_CAUTION = (
    "Pressurise only when every joint of the pressure part is finished. A joint that weeps is let "
    "down to zero and isolated before anybody puts a wrench on it."
)


def service(context: Context, worked: Collection[WorkedJoint]) -> Section:
    """Build the section on joints under load, one for each that has its clamp and loads."""
    blocks: list[Block] = [Caution(_CAUTION)]
    blocks += [
        Note(f"{one.plan.name}: {_UNKNOWN}") for one in worked if one.clamp and one.load is None
    ]
    shown = {
        one.plan.name: context.keep(_shown, one.plan, one.clamp, one.load, of=one.plan.name)
        for one in worked
        if one.clamp and one.load
    }
    blocks += series((name, line) for name, (lines, _) in shown.items() for line in lines)
    for _, findings in shown.values():
        blocks += findings
    return Section("service", "Joints under load", tuple(blocks))


def _shown(
    context: Context, plan: JointPlan, clamp: Clamp, load: UnderLoad
) -> tuple[tuple[Line, ...], tuple[Finding, ...]]:
    """What one joint has in this section: its lines and its findings."""
    return tuple(_lines(context, plan, clamp, load)), tuple(service_findings(context, plan, load))


def _lines(context: Context, plan: JointPlan, clamp: Clamp, load: UnderLoad) -> Iterator[Line]:
    id_ = f"service.{plan.name}"
    yield from _springs(context, plan, load.stiffness, id_)
    yield from _losses(context, plan, load.stiffness, load.loss, id_)
    yield from _left(context, clamp, load, id_)
    if load.pressed is not None:
        yield from _under_pressure(context, plan, load, load.pressed, id_)
    if load.face is not None:
        yield from _on_face(context, plan, load.face, id_)
    if load.cycle is not None and load.pressed is not None:
        yield from _in_cycle(context, plan, load, load.cycle, id_)


def _springs(context: Context, plan: JointPlan, springs: Stiffness, id_: str) -> Iterator[Line]:
    threaded = springs.grip - springs.shank
    inputs = {
        "E": context.value(springs.modulus, "stress", 4),
        "A_t": context.value(plan.thread.stress_area, "area"),
        "l_t": context.value(threaded, "length", 4),
    }
    formula = "E*A_t/l_t"
    if springs.shank > 0.0:
        inputs["A_d"] = context.value(springs.shank_area, "area")
        inputs["l_d"] = context.value(springs.shank, "length", 4)
        formula = "A_d*A_t*E/(A_d*l_t + A_t*l_d)"
    plain = "shank from the model sheet" if springs.shank > 0.0 else "thread all the way"
    yield Line(
        f"{id_}.fastener",
        "Stiffness of the fastener",
        context.value(springs.fastener, "stiffness"),
        "k_b",
        formula,
        inputs,
        _SHIGLEY,
        f"grip from the layers; {plain}",
    )
    parts = " + ".join(part.what for part in plan.joint.layers)
    housing = " + tapped housing" if plan.joint.tapped else ""
    gasket = ""
    if springs.gasket is not None:
        gasket = f" + gasket of {context.value(springs.gasket, 'stiffness').shown}"
    yield Line(
        f"{id_}.members",
        "Stiffness of the parts",
        context.value(springs.members, "stiffness"),
        "k_m",
        method="two cones of 30° in series (Shigley section 8-5)",
        data=f"{parts}{housing}{gasket}",
    )
    stiff = context.value(springs.fastener, "stiffness")
    yield Line(
        f"{id_}.share",
        "Share of an outer load that the fastener feels",
        Value(springs.constant, "number", ""),
        "C",
        "k_b/(k_b + k_m)",
        {"k_b": stiff, "k_m": context.value(springs.members, "stiffness")},
        _SHIGLEY,
        "as above",
    )
    if springs.gasket is not None:
        metal = springs.fastener * (1.0 / springs.shut_constant - 1.0)
        yield Line(
            f"{id_}.shut-share",
            "Share that counts for staying shut",
            Value(springs.shut_constant, "number", ""),
            "C_s",
            "k_b/(k_b + k_m)",
            {"k_b": stiff, "k_m": context.value(metal, "stiffness")},
            f"{_SHIGLEY}; gasket taken as stiff, for it gives back less than it took",
            "parts without the gasket",
        )


def _losses(
    context: Context, plan: JointPlan, springs: Stiffness, loss: Loss, id_: str
) -> Iterator[Line]:
    stiff = {
        "k_b": context.value(springs.fastener, "stiffness"),
        "k_m": context.value(springs.members, "stiffness"),
    }
    given_by = "model sheet" if plan.joint.roughness else "taken, as turned or milled"
    yield Line(
        f"{id_}.settling",
        "Preload lost as the faces settle",
        context.value(loss.settling, "force"),
        "F_z",
        "f_z/(1/k_b + 1/k_m)",
        {"f_z": Value(loss.settled, "length", "µm"), **stiff},
        _SETTLES,
        f"Rz {Value(loss.roughness, 'length', 'µm').shown} ({given_by}); thread, "
        f"{springs.bearing_faces} bearing and {springs.inner_faces} inner faces",
    )
    if loss.kept < 1.0:
        yield text_line(
            f"{id_}.creep",
            "Kept when the soft parts have crept",
            Value(loss.kept, "fraction", "%").shown,
            context.source("model", f"joints.{plan.name}"),
        )
    ends = ((0, "cold"), (1, "hot"))
    for which, word in ends if loss.temperatures[0] < loss.temperatures[1] else ends[1:]:
        own, parts = loss.growths[which]
        end = context.value(loss.temperatures[which], "temperature").shown
        bench = context.value(loss.bench, "temperature").shown
        yield Line(
            f"{id_}.{word}",
            f"Change of preload at {end}",
            context.value(loss.thermal[which], "force"),
            f"F_{word}",
            "(delta_m - delta_b)/(1/k_b + 1/k_m)",
            {
                "delta_m": Value(parts, "length", "µm"),
                "delta_b": Value(own, "length", "µm"),
                **stiff,
            },
            _THERMAL,
            f"tightened at {bench}; materials of the layers, from memory",
        )


def _left(context: Context, clamp: Clamp, load: UnderLoad, id_: str) -> Iterator[Line]:
    loss = load.loss
    inputs = {
        "F_least": context.value(clamp.least, "force"),
        "F_z": context.value(loss.settling, "force"),
        "F_T": context.value(min(*loss.thermal, 0.0), "force"),
    }
    formula = "max(F_least - F_z + F_T, 0)"
    if loss.kept < 1.0:
        inputs["k_c"] = Value(loss.kept, "fraction", "%")
        formula = "max(F_least*k_c - F_z + F_T, 0)"
    yield Line(
        f"{id_}.left",
        "Least preload left in service",
        context.value(load.least, "force"),
        "F_left",
        formula,
        inputs,
        "all losses at once, none of them given back",
        "least preload from the section before",
    )


def _under_pressure(
    context: Context, plan: JointPlan, load: UnderLoad, pressed: Pressed, id_: str
) -> Iterator[Line]:
    joint = plan.joint
    inputs = {
        "p": context.value(pressed.pressure, "pressure"),
        "N": Value(joint.count, "number", "", given=str(joint.count)),
    }
    if joint.sealed_area is not None:
        inputs["A"] = given(joint.sealed_area)
        formula = "p*A/N"
    else:
        assert joint.sealed_diameter is not None  # noqa: S101
        inputs["D"] = given(joint.sealed_diameter)
        formula = "p*pi*D**2/(4*N)"
    pull, springs = context.value(pressed.pull, "force"), load.stiffness
    share = Value(springs.constant, "number", "")
    symbol = "C" if springs.gasket is None else "C_s"
    staying = {symbol: Value(springs.shut_constant, "number", ""), "P": pull}
    left = context.value(load.least, "force")
    yield Line(
        f"{id_}.pull",
        "Pull of the pressure on each fastener",
        pull,
        "P",
        formula,
        inputs,
        "highest of working, test and full relief pressure, shared evenly",
        context.source("model", f"joints.{plan.name}"),
    )
    yield Line(
        f"{id_}.clamp",
        "Clamp left between the parts then",
        context.value(pressed.clamp, "force"),
        "F_m",
        f"max(F_left - (1 - {symbol})*P, 0)",
        {"F_left": left, **staying},
        _SHIGLEY,
        "as above",
    )
    yield Line(
        f"{id_}.margin",
        "Pressure that opens the joint, over this one",
        Value(pressed.margin, "number", ""),
        "n_0",
        f"F_left/((1 - {symbol})*P)",
        {"F_left": left, **staying},
        "joint shut above 1 (Shigley eq. 8-30)",
        "as above",
    )
    most = context.value(load.most, "force")
    yield Line(
        f"{id_}.greatest",
        "Greatest load of the fastener",
        context.value(pressed.greatest, "force"),
        "F_b",
        "max(F_hot + C*P, P)",
        {"F_hot": most, "C": share, "P": pull},
        _SHIGLEY,
        "most preload, not settled, with the gain by heat",
    )


def _on_face(context: Context, plan: JointPlan, face: Face, id_: str) -> Iterator[Line]:
    what = "gasket" if face.of_gasket else "metal faces"
    values = [context.value(stress, "stress") for stress in (face.assembled, face.crushed)]
    yield text_line(
        f"{id_}.face-assembled",
        f"Stress on the {what} as assembled",
        f"{values[0].shown} to {values[1].shown}",
        f"least and most preload of {plan.joint.count} fasteners over "
        f"{context.value(face.area, 'area').shown}",
    )
    yield text_line(
        f"{id_}.face",
        f"Stress left on the {what} in service",
        context.value(face.in_service, "stress").shown,
        "clamp left over the same area (Shigley eq. 8-33)",
    )


def _in_cycle(
    context: Context, plan: JointPlan, load: UnderLoad, cycle: Cycle, id_: str
) -> Iterator[Line]:
    assert load.pressed is not None  # noqa: S101
    low, high = (context.value(p, "pressure").shown for p in load.pressed.swing_pressures)
    yield Line(
        f"{id_}.amplitude",
        "Amplitude of stress with every stroke",
        context.value(cycle.amplitude, "stress"),
        "sigma_a",
        "(F_high - F_low)/(2*A_t)",
        {
            "F_high": context.value(cycle.loads[1], "force", 5),
            "F_low": context.value(cycle.loads[0], "force", 5),
            "A_t": context.value(plan.thread.stress_area, "area"),
        },
        "loads of the fastener by Shigley eq. 8-24, at the least preload left",
        f"from {low} (filling) to {high} (duty)",
    )
    if math.isfinite(cycle.factor):
        yield Line(
            f"{id_}.endured",
            "Amplitude that its thread endures, over this one",
            Value(cycle.factor, "number", ""),
            "n_f",
            "sigma_A/sigma_a",
            {
                "sigma_A": context.value(cycle.endured, "stress"),
                "sigma_a": context.value(cycle.amplitude, "stress"),
            },
            _ENDURED,
            "classes 8.8 to 12.9" if cycle.proven else "a guide only: made for classes 8.8 to 12.9",
        )
