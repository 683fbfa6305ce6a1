"""Pages for the bench: every step of a station with boxes for ticks, readings, signatures."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence

from rebuildbook.calculators.wrench import WrenchAssessment
from rebuildbook.sheets.steps import Step
from rebuildbook.units import number, show, shown_unit, to_unit
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import Block, Caution, Note, Section, Table
from rebuildbook.worksheet.orders import passes_table, pattern_picture
from rebuildbook.worksheet.plan import JointPlan
from rebuildbook.worksheet.traveller_cure import Clock, lasting
from rebuildbook.worksheet.traveller_parts import parts_said, seals_said
from rebuildbook.worksheet.traveller_work import Work, stations_of

READINGS = 8  # boxes side by side that a pen still fits into


def station_sections(context: Context, clock: Clock) -> Iterator[Section]:
    """Build one section for each station, each on paper of its own."""
    visits: dict[str, int] = {}
    for station, works in stations_of(clock.works):
        visits[station] = visits.get(station, 0) + 1
        again = visits[station] > 1
        id_ = f"station-{station}" + (f"-{visits[station]}" if again else "")
        title = f"Station {station}" + (", again" if again else "")
        blocks: list[Block] = [Note(_which(clock, works))]
        for work in works:
            blocks += step_blocks(context, clock, work)
        yield Section(id_, title, tuple(blocks), new_page=True)


def _which(clock: Clock, works: Sequence[Work]) -> str:
    first, last = works[0].number, works[-1].number
    steps = f"Step {first}" if first == last else f"Steps {first} to {last}"
    here = {work.name for work in works}
    befores = {before for work in works for before in clock.after[work.name]} - here
    numbers = [work.number for work in clock.works if work.name in befores]
    if not numbers:
        return f"{steps} of {len(clock.works)}. Nothing has to be done before them."
    listed = ", ".join(str(number) for number in numbers)
    return f"{steps} of {len(clock.works)}. Signed before they begin: {listed}."


def step_blocks(context: Context, clock: Clock, work: Work) -> Iterator[Block]:
    """Give all that one step takes to the bench, its cautions before anything else."""
    for text in _cautions(context, clock, work):
        yield Caution(text)
    yield _step_table(context, work)
    if work.plan is not None and work.plan.tightening is not None and work.plan.joint.count > 2:
        yield pattern_picture(work.plan, work.plan.tightening)  # set beside the table
    if work.step is not None and work.step.valves:
        yield _valves(context, work.step)
    if work.plan is not None:
        yield from _joint(work.plan)
    if work.step is not None and work.step.hold_point is not None:
        yield _hold_point(work, work.step.hold_point)


def _cautions(context: Context, clock: Clock, work: Work) -> Iterator[str]:
    if work.step is not None:
        yield from work.step.cautions
    for setting in clock.settings:
        if setting.work.name != work.name:
            continue
        times = setting.times
        said = [
            f"{words} {lasting(time).shown}"
            for words, time in (
                ("to be worked within", times.working),
                ("not handled for", times.fixture),
                ("no pressure for", times.cure),
            )
            if time is not None
        ]
        spent = clock.open.get(work.name)
        turns = f" The passes take {lasting(spent.span).shown}." if spent else ""
        if said:
            yield f"{setting.name}, from when it is on the thread: {', '.join(said)}.{turns}"


def _step_table(context: Context, work: Work) -> Table:
    rows = [(kind, words, "", "") for kind, words in _rows(context, work)]
    rows.append(("Done", "the step as it is written, nothing left over on the bench", "", ""))
    header = ("", "What", "Tick", "By")
    return Table(f"{work.number}. {work.what} ({work.name})", header, tuple(rows), pen=True)


def _rows(context: Context, work: Work) -> Iterator[tuple[str, str]]:
    step = work.step
    if step is not None:
        for words in parts_said(context, step):
            yield "Part", words
        for words in seals_said(context, step):
            yield "Seal", words
    for use, name in work.takes:
        where = {"seals": "On the seals", "step": "To hand"}.get(use, "On the thread")
        yield where, f"{name}: {context.shop.consumables[name].what}"
    if work.plan is not None:
        yield from _tool(work.plan)
    if step is not None:
        for words in step.checks:
            yield "See that", words


def _tool(plan: JointPlan) -> Iterator[tuple[str, str]]:
    joint, tool = plan.joint, plan.tool
    thread = f"{joint.count} × {plan.thread.designation}, {plan.strength.name}"
    yield "Fasteners", f"{plan.name}: {thread}"
    if tool is None:
        yield "Tool", "the shop has none that can be judged; the joint waits for one"
        return
    adapter = ""
    if tool.adapter is not None:
        angle = f"{number(to_unit(tool.adapter.angle, 'deg'), 2)}°"
        adapter = f" with {tool.adapter.name} at {angle}"
    scale = tool.wrench.scale_unit
    yield "Tool", f"{tool.wrench.name}{adapter}, set to {show(tool.setting, scale, 4)}"
    yield "Window", _window(plan, tool)


def _window(plan: JointPlan, tool: WrenchAssessment) -> str:
    scale, joint = tool.wrench.scale_unit, plan.joint
    low, high = (
        number(to_unit(torque / plan.ratio, scale), 4)
        for torque in (joint.torque.low, joint.torque.high)
    )
    on_scale = f"{low} to {high} {shown_unit(scale)} on its scale"
    return f"{on_scale}; at the fastener {joint.torque.canonical}"


def _valves(context: Context, step: Step) -> Table:
    rows = []
    for name in step.valves:
        valve = context.model.check_valves[name]
        wanted = "toward the pump" if valve.role == "inlet" else "away from the pump"
        rows.append((name, valve.what, wanted, "", "", ""))
    header = ("Check", "Where", "Flow must go", "Arrow seen", "Worked side to ball", "By")
    return Table("Which way round", header, tuple(rows), pen=True)


def _joint(plan: JointPlan) -> Iterator[Block]:
    made = plan.tightening
    if made is None or plan.tool is None:
        return
    yield dataclasses.replace(passes_table(plan, made), pen=True)
    yield _readings(plan, plan.tool)


def _readings(plan: JointPlan, tool: WrenchAssessment) -> Table:
    """A box for what was read or clicked at every fastener in the last pass."""
    count, scale = plan.joint.count, shown_unit(tool.wrench.scale_unit)
    across = min(count, READINGS)
    rows: list[tuple[str, ...]] = []
    for first in range(1, count + 1, across):
        numbers = [str(at) if at <= count else "–" for at in range(first, first + across)]
        rows.append(("Fastener", *numbers))
        rows.append((f"Read, {scale}", *("" if at != "–" else "–" for at in numbers)))
    title = f"Last pass of {plan.name}: read on {tool.wrench.name}, or ticked as it clicks"
    return Table(title, ("",) * (across + 1), tuple(rows), pen=True)


def _hold_point(work: Work, role: str) -> Table:
    title = f"HOLD POINT after step {work.number}: {role} looks and signs before anybody goes on"
    header = ("Role", "Name", "Signature", "Date and time")
    return Table(title, header, ((role, "", "", ""),), pen=True)
