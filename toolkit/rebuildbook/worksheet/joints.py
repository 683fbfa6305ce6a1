"""Threaded joints: the window, the tool and its setting, the scatter, the readings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rebuildbook.calculators.torque import TORQUE_UNITS, in_all_units
from rebuildbook.calculators.wrench import WrenchAssessment
from rebuildbook.units import number, show, shown_unit
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import bound, text_line
from rebuildbook.worksheet.joint_findings import joint_findings
from rebuildbook.worksheet.model import (
    Block,
    Caution,
    Finding,
    Line,
    Section,
    Table,
    Value,
    given,
    series,
)
from rebuildbook.worksheet.plan import JointPlan, consumables_of

_PRACTICE = "common practice, no source"
_SCATTER = "ISO 6789 way of stating accuracy, share of the value set, and half a scale step"


@dataclass(frozen=True, slots=True)
class Shown:
    """What one joint has in this section: a row of windows, rows of tools, lines, findings."""

    name: str
    window: tuple[str, ...]
    tools: tuple[tuple[str, ...], ...]
    lines: tuple[Line, ...]
    findings: tuple[Finding, ...]


def joints(context: Context, plans: Sequence[JointPlan]) -> Section:
    """Build the section on threaded joints."""
    shown = [context.keep(_shown, plan, of=plan.name) for plan in plans]
    blocks: list[Block] = [
        Caution(
            "Check that the wrench's unit is the unit of the number: 1 ft·lbf is 12 in·lbf. Pull "
            "square to the wrench, at the middle of the grip, without jerks."
        ),
        _windows(shown),
        _at_the_bench(context, plans),
    ]
    blocks += series((one.name, line) for one in shown for line in one.lines)
    blocks.append(_tools(shown))
    for one in shown:
        blocks += one.findings
    return Section("joints", "Threaded joints", tuple(blocks))


def _shown(context: Context, plan: JointPlan) -> Shown:
    return Shown(
        plan.name,
        _window(plan),
        tuple(_tools_for(plan)),
        tuple(_lines(context, plan)),
        tuple(joint_findings(context, plan)),
    )


def _windows(shown: Sequence[Shown]) -> Table:
    rows = [one.window for one in shown]
    header = ("Joint", "Fasteners", *(shown_unit(unit) for unit in TORQUE_UNITS))
    note = "The same window in each unit. Read the column whose unit is on your wrench."
    return Table("Torque windows", header, tuple(rows), note)


def _window(plan: JointPlan) -> tuple[str, ...]:
    low, high = plan.joint.torque.low, plan.joint.torque.high
    lows, highs = in_all_units(low), in_all_units(high)
    # the middle of a narrow window must not round onto its edge, hence four figures
    cells = [f"{number(lows[unit], 4)} to {number(highs[unit], 4)}" for unit in TORQUE_UNITS]
    thread = f"{plan.joint.count} × {plan.thread.designation}, {plan.strength.name}"
    return (plan.name, thread, *cells)


def _at_the_bench(context: Context, plans: Sequence[JointPlan]) -> Table:
    """What to take in hand for each joint: tool, adapter, setting, and what goes on the thread."""
    rows = []
    for plan in plans:
        tool = plan.tool
        names = [name for _, name in consumables_of(context, plan)]
        rows.append(
            (
                f"{plan.name}: {plan.joint.what}",
                tool.wrench.name if tool else "none",
                tool.adapter.name if tool and tool.adapter else "–",
                show(tool.setting, tool.wrench.scale_unit, 4) if tool else "–",
                ", ".join(names) or "nothing",
            )
        )
    header = ("Joint", "Tool", "Adapter", "Set to", "On the thread")
    return Table("At the bench", header, tuple(rows))


def _lines(context: Context, plan: JointPlan) -> Iterator[Line]:
    joint, id_ = plan.joint, f"joints.{plan.name}"
    model = context.source("model", f"joints.{plan.name}")
    yield Line(f"{id_}.window", "Torque window", given(joint.torque), "T", data=model)
    for kind, name in consumables_of(context, plan):
        thing = context.shop.consumables[name]
        data = context.source("shop" if kind != "used" else "job")
        title = {"used": "On the thread (as used)"}.get(kind, f"On the thread: {kind}")
        yield text_line(f"{id_}.{kind}", title, thing.what, data)
    yield from _plausible(context, plan, id_)
    if plan.tool is None:
        yield text_line(f"{id_}.tool", "Tool", "none in the shop can be judged", "shop sheet")
        return
    yield from _aim(context, plan, plan.tool, id_)
    yield from _scatter(context, plan, plan.tool, id_)


def _plausible(context: Context, plan: JointPlan, id_: str) -> Iterator[Line]:
    thread, strength = plan.thread, plan.strength
    area = context.value(thread.stress_area, "area")
    proof = Value(strength.proof_strength, "stress", "MPa" if context.system == "metric" else "ksi")
    load = context.value(thread.stress_area * strength.proof_strength, "force")
    yield Line(
        f"{id_}.proof-load",
        "Proof load of the fastener",
        load,
        "F_p",
        "A_s*S_p",
        {"A_s": area, "S_p": proof},
        "stress area × proof strength",
        strength.source,
    )
    unit = plan.joint.torque.unit
    inputs = {"F_p": load, "d": context.value(thread.major, "length")}
    low, high = plan.plausible
    method = "T = K F d, to catch a wrong unit: judgement of this toolkit, "
    for side, torque, formula in (
        ("low", low, "0.12*0.15*F_p*d"),
        ("high", high, "0.30*1.00*F_p*d"),
    ):
        yield Line(
            f"{id_}.plausible-{side}",
            f"{'Least' if side == 'low' else 'Most'} torque that can be meant",
            Value(torque, "torque", unit),
            f"T_{side}est" if side == "high" else "T_least",
            formula,
            inputs,
            method + _PRACTICE,
            strength.source,
        )


def _aim(context: Context, plan: JointPlan, tool: WrenchAssessment, id_: str) -> Iterator[Line]:
    joint, unit = plan.joint, plan.joint.torque.unit
    low, high = bound(joint.torque, "low"), bound(joint.torque, "high")
    aim = Value((low.si + high.si) / 2, "torque", unit, 4)
    yield Line(
        f"{id_}.aim",
        "Aim: middle of the window",
        aim,
        "T_aim",
        "(T_min + T_max)/2",
        {"T_min": low, "T_max": high},
        _PRACTICE,
        context.source("model"),
    )
    what = context.shop.wrenches[tool.wrench.name].what
    chosen = "named on the card" if plan.named else "best of the shop for this window"
    yield text_line(
        f"{id_}.tool", "Tool", f"{tool.wrench.name}: {what} ({chosen})", context.source("shop")
    )
    if tool.adapter is not None and tool.wrench.lever is not None:
        scale = Value(aim.si / plan.ratio, "torque", tool.wrench.scale_unit, 4)
        inputs = _adapter_inputs(context, tool) | {"T_aim": aim}
        yield Line(
            f"{id_}.adapter",
            f"Aim on the scale with {tool.adapter.name}",
            scale,
            "S_aim",
            "T_aim*L/(L + E*cos(theta))",
            inputs,
            "moments about fastener and square (statics)",
            context.source("shop", "adapters"),
        )
    noted = context.job.tools.get(plan.name)
    as_set = noted is not None and noted.setting is not None
    yield Line(
        f"{id_}.setting",
        "Setting noted on the card" if as_set else "Set the wrench to",
        Value(tool.setting, "torque", tool.wrench.scale_unit, 4),
        "S",
        method="as noted" if as_set else "mark of the scale that best centres the scatter",
        data=context.source("job" if as_set else "shop"),
    )


def _adapter_inputs(context: Context, tool: WrenchAssessment) -> dict[str, Value]:
    assert tool.adapter is not None and tool.wrench.lever is not None  # noqa: S101
    return {
        "L": context.value(tool.wrench.lever, "length"),
        "E": context.value(tool.adapter.offset, "length"),
        "theta": Value(tool.adapter.angle, "angle", "deg"),
    }


def _scatter(context: Context, plan: JointPlan, tool: WrenchAssessment, id_: str) -> Iterator[Line]:
    unit = plan.joint.torque.unit
    scale = tool.wrench.scale_unit
    inputs = {
        "S": Value(tool.setting, "torque", scale, 4),
        "a": Value(tool.accuracy, "fraction", "%"),
        "s": Value(tool.wrench.step, "torque", scale),
    }
    turn = ""
    if tool.adapter is not None and tool.wrench.lever is not None:
        ratio = Value(plan.ratio, "number", "", 4)
        inputs["r"] = ratio
        turn = "*r"
        yield Line(
            f"{id_}.ratio",
            f"Torque at the fastener over scale, with {tool.adapter.name}",
            ratio,
            "r",
            "(L + E*cos(theta))/L",
            _adapter_inputs(context, tool),
            "moments about fastener and square (statics)",
            context.source("shop", "adapters"),
        )
    for side, torque, sign in (
        ("low", tool.delivered_low, "-"),
        ("high", tool.delivered_high, "+"),
    ):
        yield Line(
            f"{id_}.delivered-{side}",
            f"{'Least' if side == 'low' else 'Most'} torque on the fastener",
            Value(torque, "torque", unit, 4),
            f"T_{side}",
            f"(S {sign} a*S {sign} s/2){turn}",
            inputs,
            _SCATTER,
            context.source("shop"),
        )


def _tools(shown: Sequence[Shown]) -> Table:
    rows = [row for one in shown for row in one.tools]
    header = ("Joint", "", "Tool", "Setting", "Least margin", "Against it")
    return Table("Tools that the shop has for them, the best first", header, tuple(rows))


def _tools_for(plan: JointPlan) -> Iterator[tuple[str, ...]]:
    for rank, one in enumerate(plan.choice.ranking[:4], 1):
        against = "; ".join(objection.text for objection in one.objections)
        worst = min(one.margin_low, one.margin_high)
        yield (
            plan.name if rank == 1 else "″",
            str(rank),
            one.wrench.name,
            show(one.setting, one.wrench.scale_unit, 4),
            show(worst, one.wrench.scale_unit),
            against or "nothing",
        )
    for wrench, why in plan.choice.left_out:
        yield (plan.name, "–", wrench.name, "–", "–", why)
