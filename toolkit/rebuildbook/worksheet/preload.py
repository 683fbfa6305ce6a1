"""What the torque does: preload with its scatter, and what it asks of fastener and thread."""

from __future__ import annotations

import functools
import math
from collections.abc import Collection, Iterator, Sequence

from rebuildbook.figures.preload_rows import PreloadRow, preload_rows
from rebuildbook.figures.style import svg
from rebuildbook.worksheet.clamp import DRAWS, Clamp, Span, Strip
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import text_line
from rebuildbook.worksheet.model import (
    Block,
    Caution,
    Finding,
    Level,
    Line,
    Picture,
    Section,
    Value,
    series,
)
from rebuildbook.worksheet.plan import JointPlan
from rebuildbook.worksheet.under_load import UnderLoad
from rebuildbook.worksheet.worked import WorkedJoint

_NUT_FACTOR = "T = K F d (Shigley eq. 8-27)"
_PAIR = "torque and preload by friction of thread and bearing face (VDI 2230, from memory)"
_COMBINED = "tension and twist together, section yielding through (VDI 2230, from memory)"
_STRIP = "stripping with strength factors (Alexander's model)"
_STRIPS = (
    "Do not tighten to this window: the thread in the housing gives way first. Ask the maker for "
    "the torque of this housing, or a thread insert."
)


def preloads(context: Context, worked: Collection[WorkedJoint]) -> Section:
    """Build the section on preload; a joint without a tool that can be judged has no clamp.

    The loads give the picture the preload below which each joint opens.
    """
    blocks: list[Block] = [
        Caution(
            "A torque is only as good as its friction: clean threads, the stated lubricant and "
            "nothing else. A dry or a doubly greased thread gives another preload altogether."
        )
    ]
    shown = {
        one.plan.name: context.keep(_shown, one.plan, one.clamp, one.load, of=one.plan.name)
        for one in worked
        if one.clamp
    }
    rows = [row for row, _, _ in shown.values()]
    if rows:
        blocks.append(
            Picture(
                "preload-rows",
                "Where the torque leaves each joint, between opening at the highest pressure and "
                "yielding of its fastener.",
                "; ".join(f"{row.name}: {row.words}" for row in rows),
                functools.partial(_draw, rows),
            )
        )
    blocks += series((name, line) for name, (_, lines, _) in shown.items() for line in lines)
    for _, _, findings in shown.values():
        blocks += findings
    return Section("preload", "What the torque does", tuple(blocks))


def _shown(
    context: Context, plan: JointPlan, clamp: Clamp, load: UnderLoad | None
) -> tuple[PreloadRow, tuple[Line, ...], tuple[Finding, ...]]:
    """What one joint has in this section: its row of the picture, its lines, its findings."""
    return (
        _row(context, plan, clamp, load),
        tuple(_lines(context, plan, clamp)),
        tuple(_findings(context, plan, clamp)),
    )


def _row(context: Context, plan: JointPlan, clamp: Clamp, load: UnderLoad | None) -> PreloadRow:
    yields = plan.thread.stress_area * plan.strength.yield_strength
    opens = load.opens_below() if load is not None else None
    low, high = _span(context, clamp.draws.low, clamp.draws.high)
    return PreloadRow(
        plan.name,
        clamp.draws.draws / yields,
        (clamp.draws.low / yields, clamp.draws.high / yields),
        None if opens is None else opens / yields,
        clamp.strip.weakest / yields if clamp.strip else None,
        f"{low} to {high}",
    )


def _draw(rows: Sequence[PreloadRow]) -> str:
    return svg(preload_rows(rows))


def _lines(context: Context, plan: JointPlan, clamp: Clamp) -> Iterator[Line]:
    id_, k = f"preload.{plan.name}", clamp.nut_factor
    yield text_line(
        f"{id_}.nut-factor",
        "Nut factor",
        f"{k.low:.2f} to {k.high:.2f}, typically {k.typical:.2f} ({k.condition})",
        k.source,
    )
    yield from _by_nut_factor(context, plan, clamp, id_)
    yield from _by_pair(context, plan, clamp, id_)
    (low, high), linear = _span(context, clamp.draws.low, clamp.draws.high), clamp.linear
    by_sum = _span(context, max(linear.low, 0.0), linear.high)
    yield Line(
        f"{id_}.interval",
        "Preload of 95 fasteners in 100",
        f"{low} to {high} (by the linear sum {by_sum[0]} to {by_sum[1]})",
        method=f"Monte Carlo (JCGM 101), {DRAWS} draws, K triangular, tool uniform; linear sum "
        "(JCGM 100)",
        data="nut factor and tool as above",
    )
    yield from _strength(context, plan, clamp, id_)
    if clamp.strip is not None:
        yield from _thread(context, plan, clamp.strip, id_)


def _by_nut_factor(context: Context, plan: JointPlan, clamp: Clamp, id_: str) -> Iterator[Line]:
    assert plan.tool is not None  # noqa: S101
    unit, diameter = plan.joint.torque.unit, context.value(plan.thread.major, "length")
    k, before = clamp.nut_factor, clamp.prevailing
    for name, load, torque, factor, prevailing, words in (
        ("typical", clamp.typical, plan.tool.nominal, k.typical, before[1], "Typical preload"),
        ("least", clamp.least, plan.tool.delivered_low, k.high, before[2], "Least preload"),
        ("most", clamp.most, plan.tool.delivered_high, k.low, before[0], "Most preload"),
    ):
        inputs = {
            "T": Value(torque, "torque", unit, 4),
            "K": Value(factor, "number", ""),
            "d": diameter,
        }
        formula = "T/(K*d)"
        if before[2] > 0.0:
            inputs["T_p"] = Value(prevailing, "torque", unit)
            formula = "max(T - T_p, 0)/(K*d)"
        yield Line(
            f"{id_}.{name}",
            words,
            context.value(load, "force"),
            f"F_{name}",
            formula,
            inputs,
            _NUT_FACTOR,
            "torque and tool as in threaded joints",
        )


def _by_pair(context: Context, plan: JointPlan, clamp: Clamp, id_: str) -> Iterator[Line]:
    pair = clamp.pair
    if pair is None or plan.tool is None:
        return
    unit = plan.joint.torque.unit
    inputs = {
        "T": Value(plan.tool.nominal, "torque", unit, 4),
        "P": context.value(plan.thread.pitch, "length"),
        "mu_G": Value(pair.thread[1], "number", ""),
        "d_2": context.value(plan.thread.pitch_diameter, "length", 4),
        "mu_K": Value(pair.bearing[1], "number", ""),
        "D_K": context.value(pair.bearing_diameter, "length"),
    }
    top = "T"
    if clamp.prevailing[2] > 0.0:
        inputs["T_p"] = Value(clamp.prevailing[1], "torque", unit)
        top = "max(T - T_p, 0)"
    low, high = _span(context, pair.least, pair.most)
    shares = pair.shares
    yield Line(
        f"{id_}.pair",
        "Typical preload by thread and bearing face",
        context.value(pair.typical, "force"),
        "F_pair",
        f"{top}/(P/(2*pi) + mu_G*d_2/sqrt(3) + mu_K*D_K/2)",
        inputs,
        _PAIR,
        f"{low} to {high} for {_ends(pair.thread)} in the thread and {_ends(pair.bearing)} under "
        "the head",
    )
    parts = [
        f"{shares.stretch:.0%} stretches the fastener",
        f"{shares.thread_friction:.0%} rubs in the thread",
        f"{shares.bearing_friction:.0%} under the head",
    ]
    if shares.prevailing > 0.0:
        parts.append(f"{shares.prevailing:.0%} only turns the locked thread")
    yield Line(
        f"{id_}.shares", "Where the torque goes", ", ".join(parts), method=_PAIR, data="as above"
    )


def _ends(span: Span) -> str:
    return f"{span[0]:.2f} to {span[2]:.2f}"


def _span(context: Context, low: float, high: float) -> tuple[str, str]:
    return context.value(low, "force").shown, context.value(high, "force").shown


def _strength(context: Context, plan: JointPlan, clamp: Clamp, id_: str) -> Iterator[Line]:
    area, strength = plan.thread.stress_area, plan.strength
    most, proof = context.value(clamp.most, "force"), area * strength.proof_strength
    yield Line(
        f"{id_}.proof",
        "Most preload of proof load",
        Value(clamp.most / proof, "fraction", "%"),
        "u",
        "F_most/F_p",
        {"F_most": most, "F_p": context.value(proof, "force")},
        "share of proof load",
        strength.source,
    )
    yield Line(
        f"{id_}.combined",
        "Stress while tightening, at the most",
        context.value(clamp.combined, "stress"),
        "sigma_v",
        "sqrt((F_most/A_t)**2 + 3*(12*M_G/(pi*d_0**3))**2)",
        {
            "F_most": most,
            "A_t": context.value(area, "area"),
            "M_G": Value(clamp.twist, "torque", plan.joint.torque.unit),
            "d_0": context.value(math.sqrt(4.0 * area / math.pi), "length", 4),
        },
        _COMBINED,
        f"{clamp.combined / strength.yield_strength:.0%} of yield; thread friction "
        f"{clamp.thread_friction:.2f}, the least",
    )
    if clamp.bearing is not None:
        yield Line(
            f"{id_}.bearing",
            "Stress under the head at the most",
            context.value(clamp.bearing, "stress"),
            "p_b",
            method="most preload over the bearing ring",
            data=context.source("model", f"joints.{plan.name}"),
        )


def _thread(context: Context, plan: JointPlan, strip: Strip, id_: str) -> Iterator[Line]:
    tapped = plan.joint.tapped
    assert tapped is not None  # noqa: S101
    loads = strip.loads
    each = "; ".join(
        f"{name} {context.value(load, 'force').shown}"
        for name, load in (
            (tapped.material, loads.internal_strips),
            ("thread of the fastener", loads.external_strips),
            ("fastener breaks", loads.fastener_breaks),
        )
    )
    yield Line(
        f"{id_}.strips",
        "Load that strips the weaker thread",
        context.value(strip.weakest, "force"),
        "F_strip",
        method=_STRIP,
        data=f"{each}; {strip.classes}, {tapped.engagement.canonical} engaged",
    )
    yield Line(
        f"{id_}.engagement",
        "Engagement from which the fastener breaks first",
        context.value(strip.needed, "length"),
        "L_e",
        method=_STRIP,
        data=f"engaged now: {tapped.engagement.canonical}",
    )


def _findings(context: Context, plan: JointPlan, clamp: Clamp) -> Iterator[Finding]:
    yield _yield(context, plan, clamp)
    if clamp.strip is not None:
        yield _strip(context, plan, clamp, clamp.strip)
    if clamp.bearing is not None and clamp.bearing_limit is not None:
        yield _bearing(context, plan, clamp.bearing, clamp.bearing_limit)


def _yield(context: Context, plan: JointPlan, clamp: Clamp) -> Finding:
    area, strength = plan.thread.stress_area, plan.strength
    proof, yields = area * strength.proof_strength, area * strength.yield_strength
    turned = clamp.combined / strength.yield_strength
    level: Level = (
        "clear"
        if clamp.most <= proof and turned <= 1.0
        else "query"
        if clamp.most <= yields
        else "hold"
    )
    words = {
        "clear": "fastener stays below proof load",
        "query": "fastener may be pulled past proof load, or yield while it is turned",
        "hold": "fastener may be pulled past yield",
    }[level]
    return Finding(
        f"preload.{plan.name}.yield",
        level,
        f"{plan.name}: {words}",
        f"most preload {context.value(clamp.most, 'force').shown} against proof load "
        f"{context.value(proof, 'force').shown}; with the twist {turned:.0%} of yield",
        context.value(proof - clamp.most, "force").shown,
        ""
        if level == "clear"
        else "Check window and lubricant against the maker's sheet; take a tool with less scatter.",
        f"{_NUT_FACTOR}; {_COMBINED}; {strength.source}",
    )


def _strip(context: Context, plan: JointPlan, clamp: Clamp, strip: Strip) -> Finding:
    assert plan.joint.tapped is not None  # noqa: S101
    weakest = strip.weakest
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


def _bearing(context: Context, plan: JointPlan, stress: float, limit: float) -> Finding:
    within = stress <= limit
    return Finding(
        f"preload.{plan.name}.bearing",
        "clear" if within else "query",
        f"{plan.name}: {'face under the head bears it' if within else 'head may sink in'}",
        f"{context.value(stress, 'stress').shown} against yield "
        f"{context.value(limit, 'stress').shown} of {plan.joint.layers[0].material}",
        context.value(limit - stress, "stress").shown,
        "" if within else "Use a hardened washer; the preload falls as the head sinks in.",
        "mean stress over the bearing ring",
    )
