"""What speaks against a value: its window or limit, a unit that looks wrong, its tool."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from rebuildbook.calculators.reading_swap import unit_swap
from rebuildbook.calculators.torque import MixUp, reading_mix_up
from rebuildbook.calculators.wear import disposition, wear_used
from rebuildbook.record.bench import Bench, JointBench
from rebuildbook.record.judge_tool import judge_gauge, judge_wrench
from rebuildbook.record.raw import Raw
from rebuildbook.record.remarks import Level, Remark
from rebuildbook.sheets.wear import WearLimit
from rebuildbook.units import Amount, from_unit, show, shown_unit

SLACK = 1e-9
NEAR = 1.5  # a test pressure this many times off can be meant, what is farther asks for its unit
BETTER = -0.5  # of the wear allowance: as much better than new is another part, or feature
FAR = 5.0  # of the wear allowance: what wears no further in service


def judge_torque(amount: Amount, raw: Raw, day: date | None, bench: Bench) -> Iterator[Remark]:
    """Hold a torque reading against its window and its wrench."""
    joint = bench.joints[raw.subject]
    wrench = bench.wrenches.get(raw.tool)
    ratio = 1.0
    if wrench is None:
        yield Remark("query", "no tool is named")
    else:
        yield from judge_wrench(wrench, amount, joint, day, bench)
        known = joint.ratio(wrench)
        ratio = known or 1.0
        name = joint.adapter.name if joint.adapter else ""
        if known is None:
            told = (
                f"{name} on {raw.tool}, whose lever is not known: torque at the fastener not told"
            )
            yield Remark("query", told)
        elif abs(ratio - 1.0) > SLACK:
            there = show(amount.nominal * ratio, amount.unit, 4)
            yield Remark("query", f"through {name}, taken as read off the scale: {there} there")
    scale = wrench.scale_unit if wrench else amount.unit
    yield from _window(amount, ratio, joint, scale)


def _window(amount: Amount, ratio: float, joint: JointBench, scale: str) -> Iterator[Remark]:
    torque = amount.nominal * ratio
    if _inside(torque, joint):
        return
    below = torque < joint.low
    by = show(joint.low - torque if below else torque - joint.high, joint.unit)
    side = "below" if below else "above"
    yield Remark("hold", f"{by} {side} the window, {joint.window}")
    swap = reading_mix_up(torque, joint.low, joint.high, amount.unit)
    if swap is not None:
        yield _wrong_unit(swap)
    elif _inside(from_unit(amount.to(amount.unit), scale) * ratio, joint):
        marked = shown_unit(scale)
        yield Remark("hold", f"the unit looks wrong: in {marked}, as its tool is marked, it fits")


def _inside(torque: float, joint: JointBench) -> bool:
    slack = SLACK * joint.high
    return joint.low - slack <= torque <= joint.high + slack


def _wrong_unit(swap: MixUp) -> Remark:
    times = f"{max(swap.factor, 1.0 / swap.factor):.4g}"
    return Remark("hold", f"the unit looks wrong: {swap.text} (a factor of {times})")


def judge_length(amount: Amount, limit: WearLimit) -> Iterator[Remark]:
    """Hold a measured size against its new size and its limits."""
    grows = limit.reuse_limit.nominal > limit.new.nominal
    start = limit.new.high if grows else limit.new.low
    reuse, rework = limit.reuse_limit.nominal, limit.rework_limit
    if reuse == start:
        return  # no allowance, nothing to hold it against
    used = float(wear_used.si(amount.nominal, start, reuse))
    room = FAR * max(abs(reuse - start), abs(rework.nominal - start) if rework else 0.0)
    low, high = max(start - room, start / NEAR), start + room
    swap = unit_swap(amount.nominal, low, high, amount.unit, "length")
    if swap is not None:
        yield _wrong_unit(swap)
        return
    if used < BETTER:
        yield Remark("query", f"better than new, {limit.new.canonical}: the right part and place?")
        return
    becomes = disposition(amount.nominal, start, reuse, rework.nominal if rework else None)
    if becomes == "reuse":
        return
    beyond = show(abs(amount.nominal - reuse), limit.reuse_limit.unit)
    level: Level = "query" if becomes == "rework" else "hold"
    yield Remark(level, f"{beyond} beyond the limit, {limit.reuse_limit.canonical}: {becomes}")


def judge_test(amount: Amount, raw: Raw, day: date | None, bench: Bench) -> Iterator[Remark]:
    """Hold a reading of the test against what was asked for, and a pressure against its gauge."""
    wanted = bench.case.job.duty.test_pressure
    if amount.dimension != "pressure":
        return
    gauge = bench.case.shop.gauges.get(raw.tool)
    if gauge is None:
        yield Remark("query", "no gauge is named")
    else:
        yield from judge_gauge(raw.tool, gauge, amount, day)
    if wanted is None or not raw.subject.startswith("pressure"):
        return
    aim = wanted.nominal
    swap = unit_swap(amount.nominal, aim / NEAR, aim * NEAR, amount.unit, "pressure")
    if swap is not None:
        yield _wrong_unit(swap)
    if raw.subject == "pressure" and amount.nominal < aim * (1.0 - SLACK):
        yield Remark("query", f"below the pressure asked for, {wanted.canonical}")
