"""Opening pressures read on the bench one after the other: do they agree, with each other and set.

The first pop counts most: it is the one that the valve would have made in service.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator

from rebuildbook.calculators.pop_test import PopTest, PopVerdict, Word, assess_pops
from rebuildbook.calculators.relief import ReliefCheck
from rebuildbook.calculators.relief_pressures import SLACK
from rebuildbook.figures.pop_readings import pop_strip
from rebuildbook.figures.style import svg
from rebuildbook.sheets.relief import Relief, ReliefSetting
from rebuildbook.sheets.shop import Gauge
from rebuildbook.units import Amount
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import text_line
from rebuildbook.worksheet.model import (
    Block,
    Finding,
    Level,
    Line,
    Lines,
    Note,
    Picture,
    given,
)

_STUDENT = "Student's t on the pops, gauge added (JCGM 106, from memory)"
_MEANS: dict[Word, str] = {
    "out of tolerance": "it does not open where it should",
    "first pop sticks": "the first pop, the one that counts in service, stood above the others",
    "drifts": "the pops wander one way",
    "scatters": "one pop does not foretell the next",
    "not decided": "with the doubt of pops and gauge it may lie outside",
    "too few readings": "fewer than three pops tell nothing of their scatter",
}


def pop_blocks(context: Context, valve: Relief, check: ReliefCheck) -> Iterator[Block]:
    """Lines, finding and figure of the pops; nothing where none were noted."""
    read = context.job.relief_setting
    if read is None or not read.pops:
        return
    gauge = context.shop.gauges[read.gauge] if read.gauge else None
    verdict = assess_pops(_test(valve, read, gauge))
    yield Lines("Pops on the bench", tuple(_lines(context, valve, read, verdict, gauge)))
    yield _finding(context, read, verdict, gauge, check)
    if gauge is None:
        yield Note("The card names no gauge, so its error is not counted in.")
    unit = read.pops[0].unit if read.pops[0].unit in ("bar", "psi", "kPa", "MPa") else ""
    yield _picture(verdict, unit or ("bar" if context.system == "metric" else "psi"))


def _test(valve: Relief, read: ReliefSetting, gauge: Gauge | None) -> PopTest:
    planned, share = valve.set_pressure.nominal, valve.set_tolerance
    return PopTest(
        readings=tuple(pop.nominal for pop in read.pops),
        set_pressure=planned,
        tolerance=planned * share.nominal if share else None,
        gauge_uncertainty=_gauge_error(gauge),
        reseats=tuple(shut.nominal for shut in read.reseats),
    )


def _gauge_error(gauge: Gauge | None) -> float:
    """Largest error of a gauge, Pa: its accuracy is of full scale."""
    return gauge.accuracy.high * gauge.range.high if gauge else 0.0


def _listed(amounts: list[Amount]) -> str:
    """Readings as written, the unit said once where they share it."""
    texts = [amount.canonical.removesuffix(" (gauge)") for amount in amounts]
    units = {text.split(" ", 1)[-1] for text in texts}
    if len(units) > 1:
        return ", ".join(texts)
    unit = units.pop()
    return ", ".join(text.removesuffix(f" {unit}") for text in texts) + f" {unit}"


def _lines(
    context: Context,
    valve: Relief,
    read: ReliefSetting,
    verdict: PopVerdict,
    gauge: Gauge | None,
) -> Iterator[Line]:
    card = context.source("job", "relief_setting.pops")
    settled, first = verdict.settled, verdict.first_sticks
    by = f"{card}; gauge {read.gauge}" if read.gauge else card
    yield text_line("relief.pops", "Opened at, in the order read", _listed(read.pops), by)
    whose = "of the pops after the first" if first else "of the pops"
    scatter = f", scatter {context.value(settled.std, 'pressure').shown}"
    mean = context.value(settled.mean, "pressure", 4)
    yield Line(
        "relief.pop-mean",
        f"Mean {whose}",
        mean,
        "p_m",
        method="mean",
        data=f"{settled.count} readings{scatter if settled.count > 1 else ''}",
    )
    yield Line(
        "relief.pop-deviation",
        "Mean less the set asked for",
        context.value(verdict.deviation, "pressure"),
        "d",
        "p_m - p_plan",
        {"p_m": mean, "p_plan": given(valve.set_pressure)},
        "difference",
        f"tolerance ± {context.value(verdict.test.band, 'pressure').shown}",
    )
    if math.isfinite(verdict.doubt):
        yield Line(
            "relief.pop-doubt",
            "Doubt of that mean, 95 %",
            context.value(verdict.doubt, "pressure"),
            "u",
            "sqrt(h**2 + g**2)",
            {
                "h": context.value(settled.mean_half, "pressure"),
                "g": context.value(_gauge_error(gauge), "pressure"),
            },
            _STUDENT,
            f"gauge: {gauge.accuracy.canonical} of full scale" if gauge else "no gauge named",
        )
    if settled.count > 2:
        yield Line(
            "relief.pop-drift",
            f"Drift from first to last {whose}",
            context.value(settled.drift, "pressure"),
            method="straight line by least squares",
            data=card,
        )
    if verdict.blowdown is not None:
        yield Line(
            "relief.pop-blowdown",
            "Blowdown, mean of the pops",
            context.value(verdict.blowdown.mean, "fraction"),
            method="(pop - reseat)/set (ASME PTC 25, from memory)",
            data=f"shut at {_listed(read.reseats)}",
        )


def _finding(
    context: Context,
    read: ReliefSetting,
    verdict: PopVerdict,
    gauge: Gauge | None,
    check: ReliefCheck,
) -> Finding:
    worst, weakest = max(verdict.test.readings), check.pressures.weakest
    beyond = weakest is not None and worst > weakest.max_working_pressure * (1.0 + SLACK)
    against = [_MEANS[word] for word in verdict.words if word in _MEANS]
    against += _gauge_reasons(context, read, gauge)
    level: Level = "hold" if beyond else "query" if against else "clear"
    compared = (
        f"mean {context.value(verdict.settled.mean, 'pressure', 4).shown}, first "
        f"{context.value(verdict.test.readings[0], 'pressure', 4).shown}, set "
        f"{context.value(verdict.test.set_pressure, 'pressure', 4).shown} ± "
        f"{context.value(verdict.test.band, 'pressure').shown}"
    )
    if beyond and weakest is not None:
        compared += (
            f"; highest {context.value(worst, 'pressure', 4).shown}, above the limit of "
            f"{weakest.name}, {context.value(weakest.max_working_pressure, 'pressure', 4).shown}"
        )
    room = verdict.test.band - abs(verdict.deviation)
    reasons = "; ".join(against)
    return Finding(
        "relief.pops",
        level,
        f"Relief: pops {', '.join(verdict.words)}",
        compared,
        f"{context.value(room, 'pressure').shown} to the edge of the tolerance",
        ""
        if level == "clear"
        else f"{reasons[:1].upper()}{reasons[1:]}. Have the valve stripped, cleaned and read again "
        "by whoever is qualified to.",
        f"{_STUDENT}; ASME BPVC VIII-1 tolerance (from public accounts)",
    )


def _gauge_reasons(context: Context, read: ReliefSetting, gauge: Gauge | None) -> Iterator[str]:
    if gauge is None:
        return
    due = gauge.calibration_due
    on = read.on or context.day
    if due is None:
        yield f"gauge {read.gauge} has no calibration date"
    elif due < on:
        yield f"gauge {read.gauge} was due for calibration on {due.isoformat()}"
    if any(not gauge.range.low <= pop.nominal <= gauge.range.high for pop in read.pops):
        yield f"a pop lies outside the range of gauge {read.gauge}"


def _picture(verdict: PopVerdict, unit: str) -> Picture:
    first = " Open diamond: the first pop, which stuck." if verdict.first_sticks else ""
    return Picture(
        "pop-readings",
        f"Opening pressures in the order read, {unit}. Grey: tolerance about the set asked for "
        f"(dashes); bar: their mean.{first}",
        "Pops of the relief valve: " + ", ".join(verdict.words),
        functools.partial(_draw, verdict, unit),
    )


def _draw(verdict: PopVerdict, unit: str) -> str:
    return svg(pop_strip(verdict, unit))
