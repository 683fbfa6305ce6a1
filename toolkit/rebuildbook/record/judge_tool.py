"""What speaks against the tool that a reading was taken with, on the day it was taken."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from rebuildbook.calculators.wrench import Wrench, calibration_on
from rebuildbook.record.bench import Bench, JointBench
from rebuildbook.record.remarks import Remark
from rebuildbook.sheets.shop import Gauge
from rebuildbook.units import Amount, show, shown_unit

SLACK = 1e-9


def judge_wrench(
    wrench: Wrench, amount: Amount, joint: JointBench, day: date | None, bench: Bench
) -> Iterator[Remark]:
    """Hold a torque reading against its wrench: calibration, range, scale, and the card."""
    if day is not None:
        calibration = calibration_on(wrench, day)
        if not calibration.valid:
            unknown = calibration.state == "unknown"
            yield Remark("query" if unknown else "hold", f"{wrench.name}: {calibration.text}")
    unit, reading = wrench.scale_unit, amount.nominal
    if amount.unit != unit:
        text = f"{wrench.name} is marked in {shown_unit(unit)}, the reading is in "
        yield Remark("query", text + shown_unit(amount.unit))
    if not wrench.low * (1 - SLACK) <= reading <= wrench.high * (1 + SLACK):
        span = f"{show(wrench.low, unit)} to {show(wrench.high, unit)}"
        yield Remark("hold", f"{wrench.name} reads {span}; {show(reading, unit)} is not on it")
    elif reading < bench.least_fraction * wrench.high * (1 - SLACK):
        share, least = show(reading / wrench.high, "%"), show(bench.least_fraction, "%")
        yield Remark("query", f"{wrench.name}: {share} of full scale, under {least}")
    if joint.named and joint.tool != wrench.name:
        yield Remark("query", f"the job card names {joint.tool} for {joint.name}")


def judge_gauge(name: str, gauge: Gauge, amount: Amount, day: date | None) -> Iterator[Remark]:
    """Hold a pressure against its gauge: calibration and range."""
    due = gauge.calibration_due
    if due is None:
        yield Remark("query", f"{name}: no calibration date known")
    elif day is not None and day > due:
        yield Remark("hold", f"{name}: calibration expired on {due.isoformat()}")
    if amount.reference != "gauge":
        return  # a loss of pressure is read off as a difference
    low, high, reading = gauge.range.low, gauge.range.high, amount.nominal
    if not low * (1 - SLACK) <= reading <= high * (1 + SLACK):
        span = gauge.range.canonical
        yield Remark("query", f"{name} is good for {span}; {amount.canonical} is outside")
