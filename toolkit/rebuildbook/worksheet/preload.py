"""What the torque does: the preload it leaves, whether the joint stays shut, what gives way."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rebuildbook.worksheet.clamp import DRAWS, Clamp, clamp_of
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import text_line
from rebuildbook.worksheet.model import (
    Block,
    Caution,
    Finding,
    Level,
    Line,
    Lines,
    Section,
    Value,
    given,
)
from rebuildbook.worksheet.plan import JointPlan

_NUT_FACTOR = "T = K F d (Shigley eq. 8-27)"
_STRIP = "stripping with strength factors (Alexander's model), basic thread profile"
WANTED = 1.2  # preload over pull below which somebody decides; judgement of this toolkit
_SHUT: dict[Level, str] = {
    "clear": "",
    "query": "Check the window against the maker's sheet; check the torque again after the test.",
    "hold": "Do not pressurise. Read the maker's window and its unit again; the joint opens before "
    "the pressure is reached.",
}
_STRIPS = (
    "Do not tighten to this window: the thread in the housing gives way first. Ask the maker for "
    "the torque of this housing, or a thread insert."
)
_PRACTICE = "common practice, no source"


def preloads(context: Context, plans: Sequence[JointPlan], pressure: float) -> Section:
    """Build the section on preload; ``pressure`` (Pa) is the highest the unit can come to."""
    blocks: list[Block] = [
        Caution(
            "A torque is only as good as its friction: clean threads, the stated lubricant and "
            "nothing else. A dry or a doubly greased thread gives another preload altogether."
        )
    ]
    for plan in plans:
        clamp = clamp_of(context, plan, pressure)
        if clamp is None:
            continue
        blocks.append(Lines(f"{plan.name}: {plan.joint.what}", tuple(_lines(context, plan, clamp))))
        blocks += _findings(context, plan, clamp)
    return Section("preload", "What the torque does", tuple(blocks))


def _lines(context: Context, plan: JointPlan, clamp: Clamp) -> Iterator[Line]:
    assert plan.tool is not None  # noqa: S101
    id_, k = f"preload.{plan.name}", clamp.nut_factor
    torque_unit = plan.joint.torque.unit
    diameter = context.value(plan.thread.major, "length")
    yield text_line(
        f"{id_}.nut-factor",
        "Nut factor",
        f"{k.low:.2f} to {k.high:.2f}, typically {k.typical:.2f} ({k.condition})",
        k.source,
    )
    for name, load, torque, factor, words in (
        ("typical", clamp.typical, plan.tool.nominal, k.typical, "Typical preload"),
        ("least", clamp.least, plan.tool.delivered_low, k.high, "Least preload"),
        ("most", clamp.most, plan.tool.delivered_high, k.low, "Most preload"),
    ):
        inputs = {
            "T": Value(torque, "torque", torque_unit, 4),
            "K": Value(factor, "number", ""),
            "d": diameter,
        }
        yield Line(
            f"{id_}.{name}",
            words,
            context.value(load, "force"),
            f"F_{name}",
            "T/(K*d)",
            inputs,
            _NUT_FACTOR,
            "torque and tool as in threaded joints",
        )
    low = context.value(clamp.draws.low, "force").shown
    high = context.value(clamp.draws.high, "force").shown
    yield Line(
        f"{id_}.interval",
        "Preload of 95 fasteners in 100",
        f"{low} to {high}",
        method=f"Monte Carlo (JCGM 101), {DRAWS} draws, K triangular, tool uniform",
        data="nut factor and tool as above",
    )
    yield from _proof(context, plan, clamp, id_)
    yield from _pull(context, plan, clamp, id_)
    yield from _thread(context, plan, clamp, id_)


def _proof(context: Context, plan: JointPlan, clamp: Clamp, id_: str) -> Iterator[Line]:
    proof = plan.thread.stress_area * plan.strength.proof_strength
    yield Line(
        f"{id_}.proof",
        "Most preload of proof load",
        Value(clamp.most / proof, "fraction", "%"),
        "u",
        "F_most/F_p",
        {"F_most": context.value(clamp.most, "force"), "F_p": context.value(proof, "force")},
        "share of proof load",
        plan.strength.source,
    )
    if clamp.bearing is not None:
        stress = "MPa" if context.system == "metric" else "psi"
        yield Line(
            f"{id_}.bearing",
            "Stress under the head at the most",
            Value(clamp.bearing, "stress", stress),
            "p_b",
            method="most preload over the bearing ring",
            data=context.source("model", f"joints.{plan.name}"),
        )


def _pull(context: Context, plan: JointPlan, clamp: Clamp, id_: str) -> Iterator[Line]:
    if clamp.pull is None or clamp.pressure is None:
        return
    joint = plan.joint
    inputs = {
        "p": context.value(clamp.pressure, "pressure"),
        "N": Value(joint.count, "number", "", given=str(joint.count)),
    }
    if joint.sealed_area is not None:
        inputs["A"] = given(joint.sealed_area)
        formula = "p*A/N"
    else:
        assert joint.sealed_diameter is not None  # noqa: S101
        inputs["D"] = given(joint.sealed_diameter)
        formula = "p*pi*D**2/(4*N)"
    pull = context.value(clamp.pull, "force")
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
    inputs = {"F_least": context.value(clamp.least, "force"), "P": pull}
    formula = "F_least/P"
    if clamp.kept < 1.0:
        inputs["k_c"] = Value(clamp.kept, "fraction", "%")
        formula = "F_least*k_c/P"
    yield Line(
        f"{id_}.ratio",
        "Least preload over that pull",
        Value(clamp.least * clamp.kept / clamp.pull, "number", ""),
        "n_0",
        formula,
        inputs,
        "joint shut above 1; the fastener's own give is left out, which is on the safe side"
        + (", gasket crept" if clamp.kept < 1.0 else ""),
        "as above",
    )


def _thread(context: Context, plan: JointPlan, clamp: Clamp, id_: str) -> Iterator[Line]:
    if clamp.thread is None or plan.joint.tapped is None:
        return
    tapped = plan.joint.tapped
    weakest = min(clamp.thread.internal_strips, clamp.thread.external_strips)
    yield Line(
        f"{id_}.strips",
        f"Load that strips the thread in {tapped.material}",
        context.value(weakest, "force"),
        "F_strip",
        method=f"{_STRIP}; engagement {tapped.engagement.canonical}",
        data=context.source("model", f"joints.{plan.name}.tapped"),
    )


def _findings(context: Context, plan: JointPlan, clamp: Clamp) -> Iterator[Finding]:
    yield _yield(context, plan, clamp)
    if clamp.pull is not None:
        yield _shut(context, plan, clamp)
    if clamp.thread is not None:
        yield _strip(context, plan, clamp)
    if clamp.bearing is not None and clamp.bearing_limit is not None:
        yield _bearing(context, plan, clamp)


def _yield(context: Context, plan: JointPlan, clamp: Clamp) -> Finding:
    area, strength = plan.thread.stress_area, plan.strength
    proof, yields = area * strength.proof_strength, area * strength.yield_strength
    level: Level = "clear" if clamp.most <= proof else "query" if clamp.most <= yields else "hold"
    words = {
        "clear": "fastener stays below proof load",
        "query": "fastener may be pulled past proof load",
        "hold": "fastener may be pulled past yield",
    }[level]
    return Finding(
        f"preload.{plan.name}.yield",
        level,
        f"{plan.name}: {words}",
        f"most preload {context.value(clamp.most, 'force').shown} against proof load "
        f"{context.value(proof, 'force').shown}",
        context.value(proof - clamp.most, "force").shown,
        ""
        if level == "clear"
        else "Check window and lubricant against the maker's sheet; take a tool with less scatter.",
        f"{_NUT_FACTOR}; {strength.source}",
    )


def _shut(context: Context, plan: JointPlan, clamp: Clamp) -> Finding:
    assert clamp.pull is not None and clamp.pressure is not None  # noqa: S101
    left = clamp.least * clamp.kept
    ratio = left / clamp.pull
    level: Level = "clear" if ratio >= WANTED else "query" if ratio >= 1.0 else "hold"
    words = {
        "clear": "joint stays shut under pressure",
        "query": "joint has little to spare under pressure",
        "hold": "window too low to hold the pressure",
    }[level]
    pressure = context.value(clamp.pressure, "pressure").shown
    return Finding(
        f"preload.{plan.name}.shut",
        level,
        f"{plan.name}: {words}",
        f"least preload {context.value(left, 'force').shown} against a pull of "
        f"{context.value(clamp.pull, 'force').shown} at {pressure}",
        f"{ratio:.2f} times",
        _SHUT[level],
        f"{_PRACTICE}; balance of forces",
    )


def _strip(context: Context, plan: JointPlan, clamp: Clamp) -> Finding:
    assert clamp.thread is not None and plan.joint.tapped is not None  # noqa: S101
    weakest = min(clamp.thread.internal_strips, clamp.thread.external_strips)
    level: Level = (
        "clear" if clamp.most <= weakest else "query" if clamp.typical <= weakest else "hold"
    )
    words = {
        "clear": "thread holds the most preload",
        "query": "thread may strip at the most preload",
        "hold": "window too high for the tapped housing",
    }[level]
    housing = plan.joint.tapped.material
    return Finding(
        f"preload.{plan.name}.strip",
        level,
        f"{plan.name}: {words}",
        f"most preload {context.value(clamp.most, 'force').shown} (typical "
        f"{context.value(clamp.typical, 'force').shown}) against "
        f"{context.value(weakest, 'force').shown} that strips the thread in {housing}",
        context.value(weakest - clamp.most, "force").shown,
        "" if level == "clear" else _STRIPS,
        _STRIP,
    )


def _bearing(context: Context, plan: JointPlan, clamp: Clamp) -> Finding:
    assert clamp.bearing is not None and clamp.bearing_limit is not None  # noqa: S101
    stress = "MPa" if context.system == "metric" else "psi"
    within = clamp.bearing <= clamp.bearing_limit
    return Finding(
        f"preload.{plan.name}.bearing",
        "clear" if within else "query",
        f"{plan.name}: {'face under the head bears it' if within else 'head may sink in'}",
        f"{Value(clamp.bearing, 'stress', stress).shown} against yield "
        f"{Value(clamp.bearing_limit, 'stress', stress).shown} of {plan.joint.layers[0].material}",
        Value(clamp.bearing_limit - clamp.bearing, "stress", stress).shown,
        "" if within else "Use a hardened washer; the preload falls as the head sinks in.",
        "mean stress over the bearing ring",
    )
