"""The relief valve: does its set point protect the weakest part, and does it stay shut in duty."""

from __future__ import annotations

import dataclasses
import functools
import math
from collections.abc import Iterator

from rebuildbook.calculators.relief import (
    Comparison,
    PressureLimit,
    ReliefCheck,
    ReliefInputs,
    ReliefRules,
    assess_relief,
)
from rebuildbook.figures.pressure_ladder import Rung, pressure_ladder
from rebuildbook.figures.style import svg
from rebuildbook.sheets.relief import Relief
from rebuildbook.units import Amount, show
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import given_line, nominal, text_line
from rebuildbook.worksheet.model import (
    Block,
    Caution,
    Finding,
    Line,
    Lines,
    Picture,
    Section,
    Table,
    given,
)
from rebuildbook.worksheet.unit import Unit

_CAUTION = (
    "Setting, testing and sealing a relief valve is for qualified people, by the maker's procedure "
    "and local codes. This sheet checks a set point; it does not tell how to change one. The valve "
    "is never gagged, plugged or raised."
)


def assess(context: Context, unit: Unit) -> ReliefCheck:
    """Judge the relief valve of a case."""
    return assess_relief(inputs_of(context, unit), rules_of(context))


def highest_pressure(context: Context, check: ReliefCheck) -> float:
    """The highest pressure the unit can come to, Pa: in duty, in its test, at full relief."""
    duty = context.job.duty
    seen = [
        duty.working_pressure.nominal,
        nominal(duty.test_pressure, None),
        check.pressures.relieving,
    ]
    return max(pressure for pressure in seen if pressure is not None)


def relief(context: Context, unit: Unit, check: ReliefCheck) -> Section:
    """Build the relief section: pressures, capacity, ladder, comparisons."""
    blocks: list[Block] = [Caution(_CAUTION), _limits(context)]
    valve = context.model.relief
    if valve is not None:
        blocks.append(Lines("Relief valve", tuple(_lines(context, unit, valve, check))))
    blocks.append(_ladder(context, unit, check))
    blocks += [_finding(context, comparison) for comparison in check.comparisons]
    return Section("relief", "Relief valve", tuple(blocks))


def rules_of(context: Context) -> ReliefRules:
    """The shop's own margins where it has any."""
    margin = context.shop.margins.reseat_margin
    return ReliefRules() if margin is None else ReliefRules(reseat_margin=margin.nominal)


def inputs_of(context: Context, unit: Unit) -> ReliefInputs:
    """Gather what the sheets know of the valve and the pressures round it."""
    job, model = context.job, context.model
    valve, read = model.relief, job.relief_setting
    parts = tuple(
        PressureLimit(
            part.what, part.max_working_pressure.nominal, nominal(part.max_test_pressure, None)
        )
        for part in model.pressure_parts.values()
    )
    common = ReliefInputs(
        fitted=valve is not None,
        parts=parts,
        working=job.duty.working_pressure.nominal,
        stall=unit.stall.pressure if unit.stall else None,
        stall_max=unit.stall_max.pressure if unit.stall_max else None,
        test=nominal(job.duty.test_pressure, None),
        density=job.fluid.density.nominal,
        viscosity=job.fluid.viscosity.nominal,
        largest_flow=unit.largest_flow,
        peak_factor=unit.peak_factor,
        back_pressure=job.duty.back_pressure.nominal if job.duty.back_pressure else 0.0,
    )
    if valve is None:
        return common
    return dataclasses.replace(
        common,
        set_planned=valve.set_pressure.nominal,
        set_read=read.set_pressure.nominal if read else None,
        reseat_read=nominal(read.reseat_pressure, None) if read else None,
        tolerance=nominal(valve.set_tolerance, None),
        overpressure=nominal(valve.overpressure, None),
        blowdown=nominal(valve.blowdown, None),
        balanced=valve.balanced,
        range_low=valve.range.low,
        range_high=valve.range.high,
        orifice_area=valve.orifice_area.nominal,
        discharge_coefficient=nominal(valve.discharge_coefficient, None),
    )


def _limits(context: Context) -> Table:
    parts = sorted(
        context.model.pressure_parts.values(), key=lambda part: part.max_working_pressure.nominal
    )
    header = ["Part", "Highest working pressure", "Highest test pressure"]
    rows = [
        [part.what, part.max_working_pressure.canonical, _said(part.max_test_pressure)]
        for part in parts
    ]
    if any(part.burst_pressure for part in parts):
        header.append("Burst pressure")
        for row, part in zip(rows, parts, strict=True):
            row.append(_said(part.burst_pressure))
    note = f"Weakest first. From {context.source('model', 'pressure_parts')}."
    shown = tuple(tuple(row) for row in rows)
    return Table("What the pressure parts stand", tuple(header), shown, note)


def _said(amount: Amount | None) -> str:
    return "not given" if amount is None else amount.canonical


def _lines(context: Context, unit: Unit, valve: Relief, check: ReliefCheck) -> Iterator[Line]:
    model, job = context.source("model", "relief"), context.source("job", "relief_setting")
    at, read = check.pressures, context.job.relief_setting
    yield given_line(
        "relief.set-planned", "Set pressure asked for", valve.set_pressure, model, "p_plan"
    )
    if read is not None:
        yield given_line("relief.set-read", "Set pressure read", read.set_pressure, job, "p_read")
        if read.set_by is not None:
            on = f", {read.on.isoformat()}" if read.on else ""
            yield text_line("relief.set-by", "Set by", f"{read.set_by}{on}", job)
        if read.reseat_pressure is not None:
            yield given_line(
                "relief.reseat-read", "Reseat pressure read", read.reseat_pressure, job, "p_close"
            )
    assert at.set is not None and at.tolerance is not None  # noqa: S101
    set_value = given(read.set_pressure if read else valve.set_pressure)
    tolerance = context.value(at.tolerance, "pressure")
    rule = (
        "the maker's tolerance"
        if valve.set_tolerance
        else "ASME BPVC VIII-1: ±2 psi up to 70 psi, ±3 % above (from memory)"
    )
    yield Line("relief.tolerance", "Set tolerance", tolerance, "delta", method=rule)
    yield Line(
        "relief.opens-low",
        "Lowest opening pressure",
        context.value(at.opens_low or 0.0, "pressure"),
        "p_low",
        "p_set - delta",
        {"p_set": set_value, "delta": tolerance},
        "set less tolerance",
        model,
    )
    back = None if valve.balanced else context.job.duty.back_pressure
    high = {"p_set": set_value, "delta": tolerance} | ({"p_back": given(back)} if back else {})
    yield Line(
        "relief.opens-high",
        "Highest opening pressure",
        context.value(at.opens_high or 0.0, "pressure"),
        "p_high",
        "p_set + delta + p_back" if back else "p_set + delta",
        high,
        "set with tolerance" + (" and back pressure, valve not balanced" if back else ""),
        model,
    )
    yield from _relieving(context, valve, check)
    yield from _capacity(context, unit, valve, check)


def _relieving(context: Context, valve: Relief, check: ReliefCheck) -> Iterator[Line]:
    at = check.pressures
    if at.relieving is not None and at.opens_high is not None:
        rise = at.relieving - at.opens_high
        yield Line(
            "relief.relieving",
            "Pressure at full relief",
            context.value(at.relieving, "pressure"),
            "p_full",
            "p_high + Delta",
            {
                "p_high": context.value(at.opens_high, "pressure"),
                "Delta": context.value(rise, "pressure"),
            },
            "the maker's overpressure"
            if valve.overpressure
            else "liquid overpressure 10 % or 3 psi, the greater (ASME BPVC VIII-1, from memory)",
        )
    if at.reseat is not None:
        yield Line(
            "relief.reseat",
            "Lowest reseat pressure",
            context.value(at.reseat, "pressure"),
            "p_reseat",
            method="read on the bench, or lowest opening less blowdown",
            data=context.source("model", "relief.blowdown"),
        )


def _capacity(context: Context, unit: Unit, valve: Relief, check: ReliefCheck) -> Iterator[Line]:
    capacity = check.capacity
    if capacity is None:
        return
    yield given_line(
        "relief.orifice", "Orifice area", valve.orifice_area, context.source("model"), "A"
    )
    yield Line(
        "relief.viscosity-factor",
        "Viscosity correction",
        context.value(capacity.viscosity_factor, "number"),
        "K_v",
        "(1 + 170/Re)**(-0.5)",
        {"Re": context.value(capacity.reynolds, "number")},
        "API 520 Part I, 10th edition; Reynolds number at this flow, iterated",
        context.source("job", "fluid.viscosity"),
    )
    yield Line(
        "relief.capacity",
        "Capacity at lowest opening and overpressure",
        context.value(capacity.flow, "flow"),
        "Q_v",
        method="API 520 Part I, liquid: Kd A Kv √(2 Δp/ρ)",
        data=f"{context.source('model', 'relief')}; {context.source('job', 'fluid')}",
    )
    yield Line(
        "relief.largest-flow",
        "Largest flow the pump can send",
        context.value(unit.largest_flow, "flow"),
        "Q_max",
        method="see identity and duty",
    )


def _ladder(context: Context, unit: Unit, check: ReliefCheck) -> Picture:
    at, duty = check.pressures, context.job.duty
    rungs = [
        Rung(part.what, part.max_working_pressure.nominal, "limit")
        for part in context.model.pressure_parts.values()
    ]
    rungs.append(Rung("working", duty.working_pressure.nominal, "working"))
    if at.set is not None:
        rungs.append(Rung("relief set", at.set, "set", at.opens_low, at.opens_high))
    for name, pressure, kind in (
        ("reseat", at.reseat, "reseat"),
        ("full relief", at.relieving, "relieving"),
        ("test", nominal(duty.test_pressure, None), "test"),
        ("stall, supply in hand", unit.stall.pressure if unit.stall else None, "stall"),
    ):
        if pressure is not None:
            rungs.append(Rung(name, pressure, kind))  # type: ignore[arg-type]
    unit_name = "bar" if context.system == "metric" else "psi"
    return Picture(
        "pressure-ladder",
        "Pressures of this job on one scale, gauge.",
        "Ladder of pressures: "
        + ", ".join(f"{r.name} {_shown(context, r.pressure)}" for r in rungs),
        functools.partial(_draw, tuple(rungs), unit_name),
    )


def _draw(rungs: tuple[Rung, ...], unit: str) -> str:
    return svg(pressure_ladder(rungs, unit))


def _shown(context: Context, pressure: float) -> str:
    if math.isinf(pressure):
        return "no limit"
    return context.value(pressure, "pressure").shown


def _finding(context: Context, comparison: Comparison) -> Finding:
    def shown(si: float | None) -> str:
        if si is None:
            return "not known"
        if math.isinf(si):
            return "no limit"
        return context.value(si, comparison.dimension).shown

    compared = (
        f"{comparison.left_name} {shown(comparison.left)} against {comparison.right_name} "
        f"{shown(comparison.right)}"
    )
    margin = ""
    if comparison.margin is not None and math.isfinite(comparison.margin):
        unit = context.value(comparison.margin, comparison.dimension).unit
        margin = show(comparison.margin, unit)
    title = comparison.what[0].upper() + comparison.what[1:]
    return Finding(
        f"relief.{comparison.id}",
        comparison.level,
        f"Relief: {title[0].lower()}{title[1:]}",
        compared,
        margin,
        comparison.words,
        comparison.source,
    )
