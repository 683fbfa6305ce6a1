"""What speaks for or against a joint: unit, tool, calibration, readings, consumables."""

from __future__ import annotations

from collections.abc import Iterator

from rebuildbook.calculators.torque import reading_mix_up
from rebuildbook.calculators.wrench import Objection, ObjectionKind, WrenchAssessment
from rebuildbook.units import Amount, show
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import Finding, Level
from rebuildbook.worksheet.plan import JointPlan, consumables_of

PRACTICE = "common practice, no source"
NO_SILICONE = {"glaze", "coating", "adhesive"}

_TOOL: dict[ObjectionKind, tuple[str, str, str]] = {
    "scatter": (
        "scatter",
        "the tool's scatter leaves the window",
        "Take the best tool of the table below the lines, or a finer one.",
    ),
    "range": ("range", "setting outside the tool's range", "Take a tool whose scale has it."),
    "least fraction": (
        "low-on-scale",
        "setting low on the tool's scale",
        "Take a smaller tool; a wrench is least sure at the bottom of its scale.",
    ),
    "calibration": (
        "calibration",
        "tool not in calibration",
        "Take a tool in calibration; have this one calibrated before it is used again.",
    ),
}


def joint_findings(context: Context, plan: JointPlan) -> Iterator[Finding]:
    """Give every finding of one joint."""
    yield from _unit(context, plan)
    yield from _tool(context, plan)
    yield from _consumables(context, plan)
    yield from _readings(context, plan)


def _unit(context: Context, plan: JointPlan) -> Iterator[Finding]:
    unit = plan.joint.torque.unit
    low, high = plan.plausible
    fastener = f"{plan.thread.designation} class {plan.strength.name}"
    compared = (
        f"window {plan.joint.torque.canonical} against {show(low, unit)} to {show(high, unit)} "
        f"that can be meant for {fastener}"
    )
    source = f"T = K F d ({PRACTICE})"
    if plan.mix_up is None:
        yield Finding(
            f"joints.{plan.name}.unit",
            "clear",
            f"{plan.name}: window plausible for its thread",
            compared,
            source=source,
        )
    elif plan.mix_up.verdict == "swap":
        meant = plan.mix_up
        yield Finding(
            f"joints.{plan.name}.unit",
            "hold",
            f"{plan.name}: torque unit mixed up",
            compared,
            f"a factor of 12: {meant.text}",
            "Do not tighten. Read the maker's sheet again: "
            f"{show(meant.low, meant.meant)} to {show(meant.high, meant.meant)} is plausible.",
            source,
        )
    else:
        yield Finding(
            f"joints.{plan.name}.unit",
            "query",
            f"{plan.name}: window unusual for its thread",
            compared,
            action="Check thread, class and window against the maker's sheet.",
            source=source,
        )


def _tool(context: Context, plan: JointPlan) -> Iterator[Finding]:
    tool = plan.tool
    if tool is None:
        why = "; ".join(f"{wrench.name}: {text}" for wrench, text in plan.choice.left_out)
        yield Finding(
            f"joints.{plan.name}.tool",
            "hold",
            f"{plan.name}: no tool can be judged",
            why,
            action="Give the lever of the wrench on the shop sheet, or use one without adapter.",
            source=context.source("shop"),
        )
        return
    for objection in tool.objections:
        yield _objection(context, plan, tool, objection)
    if tool.acceptable:
        unit = plan.joint.torque.unit
        margin = min(tool.margin_low, tool.margin_high)
        yield Finding(
            f"joints.{plan.name}.tool",
            "clear",
            f"{plan.name}: tool fits the window",
            f"{show(tool.delivered_low, unit, 4)} to {show(tool.delivered_high, unit, 4)} on the "
            f"fastener against {plan.joint.torque.canonical}; {tool.calibration.text}",
            show(margin, unit),
            source=PRACTICE,
        )


def _objection(
    context: Context, plan: JointPlan, tool: WrenchAssessment, objection: Objection
) -> Finding:
    id_, words, action = _TOOL[objection.kind]
    soft = objection.kind == "least fraction" or tool.calibration.state == "unknown"
    level: Level = "query" if soft and objection.kind != "scatter" else "hold"
    if not plan.named:
        words += " (best in the shop)"
    return Finding(
        f"joints.{plan.name}.{id_}",
        level,
        f"{plan.name}: {words}",
        f"{tool.wrench.name} at {show(tool.setting, tool.wrench.scale_unit, 4)}: {objection.text}",
        action=action,
        source=f"{context.source('shop', 'wrenches')}; {PRACTICE}",
    )


def _consumables(context: Context, plan: JointPlan) -> Iterator[Finding]:
    if context.job.fluid.kind not in NO_SILICONE:
        return
    for _, name in consumables_of(context, plan):
        thing = context.shop.consumables[name]
        if thing.silicone_free:
            continue
        known = thing.silicone_free is False
        yield Finding(
            f"joints.{plan.name}.silicone",
            "hold" if known else "query",
            f"{plan.name}: silicone in a pump for {context.job.fluid.kind}"
            if known
            else f"{plan.name}: not known to be free of silicone",
            f"{thing.what} ({name}) against a duty that takes none",
            action="Strip and clean the joint, use a silicone-free one: silicone craters the film."
            if known
            else "Ask the supplier, or take one that is known to be free of it.",
            source=PRACTICE,
        )


def _readings(context: Context, plan: JointPlan) -> Iterator[Finding]:
    if not context.job.torque_readings:
        return  # not that far yet
    readings = context.job.torque_readings.get(plan.name, [])
    if len(readings) < plan.joint.count:
        yield Finding(
            f"joints.{plan.name}.readings",
            "query",
            f"{plan.name}: torque readings missing",
            f"{len(readings)} of {plan.joint.count} fasteners are recorded",
            action="Check the ones not recorded and write them down.",
            source=context.source("job", f"torque_readings.{plan.name}"),
        )
    outside = [
        (number, reading)
        for number, reading in zip(_numbers(context, plan, readings), readings, strict=True)
        if not _inside(reading.nominal, plan)
    ]
    if outside:
        yield _outside(context, plan, outside)
    elif readings:
        yield Finding(
            f"joints.{plan.name}.read",
            "clear",
            f"{plan.name}: readings inside the window",
            f"{_span(readings, plan)} against {plan.joint.torque.canonical}",
            source=context.source("job", f"torque_readings.{plan.name}"),
        )


def _numbers(context: Context, plan: JointPlan, readings: list[Amount]) -> tuple[int, ...]:
    """Which fasteners the readings are of."""
    return context.case.numbers.get(plan.name) or tuple(range(1, len(readings) + 1))


def _inside(reading: float, plan: JointPlan) -> bool:
    slack = 1e-9 * plan.joint.torque.high
    return plan.joint.torque.low - slack <= reading <= plan.joint.torque.high + slack


def _span(readings: list[Amount], plan: JointPlan) -> str:
    unit = plan.joint.torque.unit
    values = [reading.nominal for reading in readings]
    return f"{show(min(values), unit)} to {show(max(values), unit)}"


def _outside(context: Context, plan: JointPlan, outside: list[tuple[int, Amount]]) -> Finding:
    window = plan.joint.torque
    told = ", ".join(f"no. {index} {reading.canonical}" for index, reading in outside[:6])
    told += ", …" if len(outside) > 6 else ""
    swaps = {
        swap.text
        for _, reading in outside
        if (swap := reading_mix_up(reading.nominal, window.low, window.high, reading.unit))
    }
    source = context.source("job", f"torque_readings.{plan.name}")
    if len(swaps) == 1:
        return Finding(
            f"joints.{plan.name}.reading-unit",
            "hold",
            f"{plan.name}: readings look like the wrong unit",
            f"{told} against {window.canonical}",
            swaps.pop(),
            "Do not run the pump. Ask who wrote it; check every fastener with a tool in the right "
            "unit. If the torque really was that high, replace the fasteners.",
            source,
        )
    return Finding(
        f"joints.{plan.name}.reading",
        "hold",
        f"{plan.name}: readings outside the window",
        f"{told} against {window.canonical}",
        action="Loosen and tighten again in order; replace what was over the window.",
        source=source,
    )
