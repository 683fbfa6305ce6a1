"""Threaded joints as they were tightened: the preload that the readings give, not the plan."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from rebuildbook.calculators.wrench import calibration_on
from rebuildbook.record.kept import Kept
from rebuildbook.record.overlay import Record, torques_of
from rebuildbook.units import Amount, show
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import (
    Block,
    Finding,
    Line,
    Note,
    Section,
    Table,
    Value,
    series,
)
from rebuildbook.worksheet.plan import JointPlan, wrenches_of
from rebuildbook.worksheet.worked import WorkedJoint

_PRACTICE = "common practice, no source"
_METHOD = "T = K F d (Shigley eq. 8-27), the tool's accuracy and the nut factor at their ends"


@dataclass(frozen=True, slots=True)
class JointRead:
    """Readings of one joint by fastener, N·m on the fastener, and the accuracy of the tool.

    ``plan`` is the joint's plan with the readings in place of the setting; None without any.
    """

    planned: JointPlan
    readings: Mapping[int, tuple[Amount, Kept | None]]
    accuracy: float
    plan: JointPlan | None

    @property
    def values(self) -> tuple[float, ...]:
        """The readings, N·m."""
        return tuple(amount.nominal for amount, _ in self.readings.values())

    @property
    def mean(self) -> float:
        """Their mean, N·m."""
        return sum(self.values) / len(self.values)


def joint_read(context: Context, plan: JointPlan, record: Record) -> JointRead:
    """Gather what was read of a joint, and put it in place of what was planned."""
    numbers = context.case.numbers.get(plan.name, ())
    readings = torques_of(context.job, record, plan.name, numbers)
    tools = {kept.entry.tool for _, kept in readings.values() if kept and kept.entry.tool}
    known = [tool for name, tool in wrenches_of(context).items() if name in tools]
    planned = [plan.tool.accuracy] if plan.tool else []
    accuracy = max([tool.accuracy for tool in known] or planned, default=0.0)
    read = JointRead(plan, readings, accuracy, None)
    if not readings or plan.tool is None:
        return read
    tool = replace(
        plan.tool,
        nominal=read.mean,
        accuracy=accuracy,
        delivered_low=min(read.values) * (1.0 - accuracy),
        delivered_high=max(read.values) * (1.0 + accuracy),
    )
    return replace(read, plan=replace(plan, tool=tool))


def joints_as_read(
    context: Context, reads: Sequence[JointRead], worked: Mapping[str, WorkedJoint]
) -> Section:
    """Build the section: each joint planned against read, and every reading with where it is from.

    ``worked`` are the joints worked out with the readings that there are.
    """
    blocks: list[Block] = []
    taken = [read for read in reads if read.plan is not None]
    without = [read.planned.name for read in reads if read.plan is None]
    if taken:
        blocks.append(_compared(context, taken, worked))
        blocks += series(
            (read.planned.name, line) for read in taken for line in _lines(context, read, worked)
        )
    if without:
        blocks.append(Note(f"No reading, or no tool to judge by: {', '.join(without)}."))
    if taken:
        blocks.append(_readings(taken))
    for read in reads:
        blocks += _complete(context, read)
        blocks += _tools(context, read)
    return Section("joints-as-read", "Joints, planned and as read", tuple(blocks))


def _compared(
    context: Context, reads: Sequence[JointRead], worked: Mapping[str, WorkedJoint]
) -> Table:
    rows = []
    for read in reads:
        plan, one = read.planned, worked[read.planned.name]
        unit = plan.joint.torque.unit
        rows.append(
            (
                plan.name,
                plan.joint.torque.canonical,
                show(plan.tool.nominal, unit) if plan.tool else "",
                f"{show(min(read.values), unit)} to {show(max(read.values), unit)}",
                f"{len(read.readings)} of {plan.joint.count}",
                *_loads(context, one),
            )
        )
    return Table(
        "Planned and read",
        ("Joint", "Window", "Aim", "Read", "Fasteners", "Preload as read", "Opens below", "Yields"),
        tuple(rows),
        "Preload: least to most, with the tool's accuracy and the nut factor at their ends. "
        "A joint that opens below nothing has no pressure to hold, or not enough is known of it.",
    )


def _loads(context: Context, one: WorkedJoint) -> tuple[str, str, str]:
    if one.clamp is None:
        return "", "", ""
    yields = one.plan.thread.stress_area * one.plan.strength.yield_strength
    opens = one.load.opens_below() if one.load else None
    least, most = (context.value(load, "force") for load in (one.clamp.least, one.clamp.most))
    return (
        f"{least.shown} to {most.shown}",
        context.value(opens, "force").shown if opens is not None else "",
        context.value(yields, "force").shown,
    )


def _lines(context: Context, read: JointRead, worked: Mapping[str, WorkedJoint]) -> Iterator[Line]:
    clamp, plan = worked[read.planned.name].clamp, read.planned
    if clamp is None:
        return
    unit = plan.joint.torque.unit
    for side, load, torque, factor, sign, prevailing in (
        ("least", clamp.least, min(read.values), clamp.nut_factor.high, "-", clamp.prevailing[2]),
        ("most", clamp.most, max(read.values), clamp.nut_factor.low, "+", clamp.prevailing[0]),
    ):
        inputs = {
            "T": Value(torque, "torque", unit, 4),
            "a": Value(read.accuracy, "fraction", "%"),
            "K": Value(factor, "number", ""),
            "d": context.value(plan.thread.major, "length"),
        }
        top = f"T*(1 {sign} a)"
        if clamp.prevailing[2] > 0.0:
            inputs["T_p"] = Value(prevailing, "torque", unit)
            top = f"max({top} - T_p, 0)"
        yield Line(
            f"as-read.{plan.name}.{side}",
            f"{side.capitalize()} preload as read",
            context.value(load, "force"),
            f"F_{side}",
            f"{top}/(K*d)",
            inputs,
            _METHOD,
            "lowest reading" if side == "least" else "highest reading",
        )


def _readings(reads: Sequence[JointRead]) -> Table:
    rows = tuple(
        (
            read.planned.name,
            str(number),
            amount.canonical,
            kept.entry.tool if kept else "",
            kept.entry.on if kept else "",
            kept.entry.by if kept else "",
            f"{kept.id}" + (f", corrects {kept.corrects}" if kept.corrects else "") if kept else "",
            kept.entry.text if kept else "",
        )
        for read in reads
        for number, (amount, kept) in read.readings.items()
    )
    return Table(
        "Readings",
        ("Joint", "No.", "Read", "Tool", "On", "By", "Entry", "Remark"),
        rows,
        "Without an entry: as the job card has it, not on record yet.",
    )


def _complete(context: Context, read: JointRead) -> Iterator[Finding]:
    count, plan = len(read.readings), read.planned
    if count >= plan.joint.count:
        return
    missing = [str(n) for n in range(1, plan.joint.count + 1) if n not in read.readings]
    yield Finding(
        f"joints.{plan.name}.readings",
        "hold",
        f"{plan.name}: torque readings missing",
        f"{count} of {plan.joint.count} fasteners are recorded; missing: no. {', '.join(missing)}",
        action="Check the ones not recorded and put them on record.",
        source=context.source("job", f"torque_readings.{plan.name}"),
    )


def _tools(context: Context, read: JointRead) -> Iterator[Finding]:
    """What speaks against the tools that the readings were taken with, on their days."""
    wrenches = wrenches_of(context)
    told: set[tuple[str, str]] = set()
    for _, kept in read.readings.values():
        if kept is None or kept.entry.tool not in wrenches or not kept.entry.on:
            continue
        key = kept.entry.tool, kept.entry.on[:10]
        due = wrenches[kept.entry.tool].calibration_due
        if key in told or due is None or key[1] <= due.isoformat():
            continue
        told.add(key)
        state = calibration_on(wrenches[kept.entry.tool], date.fromisoformat(key[1])).text
        yield Finding(
            f"as-read.{read.planned.name}.{kept.entry.tool}",
            "hold",
            f"{read.planned.name}: tightened with a tool out of calibration",
            f"{kept.entry.tool} used on {key[1]}; {state}",
            action="Check the tool. If it is off, check every fastener with one that is not.",
            source=f"{context.source('shop', 'wrenches')}; {_PRACTICE}",
        )
