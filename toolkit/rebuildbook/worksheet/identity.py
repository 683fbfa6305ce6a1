"""Identity and duty: which unit this is, what it pumps, and what its drive can do."""

from __future__ import annotations

import math
from collections.abc import Iterator

from rebuildbook.calculators.drive import Stall
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import given_line, text_line
from rebuildbook.worksheet.model import Block, Finding, Line, Lines, Note, Section, Table, given
from rebuildbook.worksheet.unit import Unit, displacement, fluid_areas

_ARCHITECTURE = {
    "double-acting-piston": "double-acting piston",
    "single-acting-piston": "single-acting piston",
    "plunger": "plunger",
    "double-diaphragm": "double diaphragm",
}


def identity(context: Context, unit: Unit) -> Section:
    """Build the section on the unit, its fluid, its duty and its drive."""
    blocks: list[Block] = [
        _table(context),
        Lines("Fluid and duty", tuple(_duty_lines(context))),
        Lines("What the drive and the fluid end come to", tuple(_unit_lines(context, unit))),
        *_findings(context, unit),
    ]
    if context.job.remarks:
        blocks.append(Note(f"Remarks on the card: {context.job.remarks}"))
    return Section("identity", "Identity and duty", tuple(blocks))


def _table(context: Context) -> Table:
    job, model = context.job, context.model
    due = job.work_date.isoformat() if job.work_date else ""
    count = model.fluid_end.plungers
    kind = _ARCHITECTURE[model.architecture] + (f", {count} plungers" if count > 1 else "")
    if model.architecture == "single-acting-piston" and model.fluid_end.rod is not None:
        kind = "differential piston, delivering on both strokes"
    rows = (
        ("Job", job.job, "Serial", job.serial),
        ("Model", f"{model.title} ({model.name})", "Build", f"{kind}, {model.drive.kind} drive"),
        ("Stands at", job.line or "not stated", "Workshop", context.shop.title),
        ("Opened", job.opened.isoformat(), "Work date", due or "not stated"),
        ("Why it came in", job.why, "Pumps", f"{job.fluid.name} ({job.fluid.kind})"),
    )
    return Table("Unit", ("", "", "", ""), rows)


def _duty_lines(context: Context) -> Iterator[Line]:
    job, data = context.job, context.source("job")
    fluid, duty = job.fluid, job.duty
    named = (
        ("density", "Density", fluid.density, "rho"),
        ("viscosity", "Viscosity", fluid.viscosity, "mu"),
        ("temperature", "Temperature", fluid.temperature, "T_f"),
        ("working-pressure", "Working pressure", duty.working_pressure, "p_w"),
        ("supply-pressure", "Supply in hand", duty.supply_pressure, "p_s"),
        ("supply-available", "Most the line could give", duty.supply_available, "p_line"),
        ("test-pressure", "Test pressure", duty.test_pressure, "p_t"),
        ("back-pressure", "Back pressure at the relief", duty.back_pressure, "p_back"),
        ("rate", "Cycle rate", duty.rate, "n"),
        ("flow", "Wanted flow", duty.flow, "Q_want"),
    )
    for id_, name, amount, symbol in named:
        if amount is not None:
            yield given_line(f"duty.{id_}", name, amount, data, symbol)


def _unit_lines(context: Context, unit: Unit) -> Iterator[Line]:
    yield _displacement_line(context, unit)
    end, duty = context.model.fluid_end, context.job.duty
    volume = context.value(unit.displacement, "volume")
    if duty.rate is not None and unit.flow_at_duty is not None:
        eta = end.volumetric_efficiency
        inputs = {"V": volume, "n": given(duty.rate)}
        yield Line(
            "unit.flow",
            "Flow at the duty's rate",
            context.value(unit.flow_at_duty, "flow"),
            "Q",
            "V*n*eta_v" if eta else "V*n",
            inputs | ({"eta_v": given(eta)} if eta else {}),
            "displacement × rate" + (" × volumetric efficiency" if eta else ", no slip"),
            context.source("job"),
        )
    yield Line(
        "unit.largest-flow",
        "Largest flow, no slip",
        context.value(unit.largest_flow, "flow"),
        "Q_max",
        "V*n_max",
        {"V": volume, "n_max": given(end.rate_max)},
        "displacement × highest rate",
        context.source("model"),
    )
    yield from _stall_lines(context, unit)


def _displacement_line(context: Context, unit: Unit) -> Line:
    end, data = context.model.fluid_end, context.source("model", "fluid_end")
    value = context.value(unit.displacement, "volume")
    if end.volume_per_cycle is not None:
        return given_line("unit.displacement", "Volume a cycle", end.volume_per_cycle, data, "V")
    assert end.bore and end.stroke  # noqa: S101
    inputs = {"D": given(end.bore), "L": given(end.stroke)}
    many = f"{end.plungers}*" if end.plungers > 1 else ""
    formula = f"{many}pi/4*D**2*L"
    if context.model.architecture == "double-acting-piston":
        assert end.rod  # noqa: S101
        inputs["d"] = given(end.rod)
        formula = f"{many}pi/4*(2*D**2 - d**2)*L"
    method = "swept volume of the pistons"
    return Line("unit.displacement", "Volume a cycle", value, "V", formula, inputs, method, data)


def _stall_lines(context: Context, unit: Unit) -> Iterator[Line]:
    supplies = (
        (
            "unit.stall",
            "Stall pressure at the supply in hand",
            unit.stall,
            "p_s",
            context.job.duty.supply_pressure,
        ),
        (
            "unit.stall-max",
            "Stall pressure at the most there is",
            unit.stall_max,
            "p_line",
            context.job.duty.supply_available or context.model.drive.supply_max,
        ),
    )
    for id_, name, stall, symbol, supply in supplies:
        if stall is None:
            continue
        if math.isinf(stall.pressure):
            if id_ == "unit.stall":
                words = "not limited by the drive: only the relief valve protects"
                yield text_line(id_, name, words, context.source("model", "drive"))
            continue
        yield _stall_line(context, id_, name, stall, symbol, supply)


def _stall_line(
    context: Context, id_: str, name: str, stall: Stall, symbol: str, supply: object
) -> Line:
    spec, value = context.model.drive, context.value(stall.pressure, "pressure")
    name += f" ({stall.stroke})" if stall.up is not None and stall.up != stall.down else ""
    result = "p_stall" if id_ == "unit.stall" else "p_stallmax"
    data = f"{context.source('job')}; {context.source('model', 'drive')}"
    if spec.kind == "electric":
        assert spec.stall_torque is not None  # noqa: S101
        volume = context.value(displacement(context), "volume")
        inputs = {"T_stall": given(spec.stall_torque), "V": volume}
        method = "work of one turn of the crank, mean pressure"
        return Line(id_, name, value, result, "2*pi*T_stall/V", inputs, method, data)
    assert supply is not None  # noqa: S101
    inputs = {symbol: given(supply)}  # type: ignore[arg-type]
    formula, fluid = symbol, fluid_areas(context)
    if spec.piston_diameter is not None and fluid is not None:
        # the drive pushes hardest on the stroke with the smaller fluid area
        area = min(area for area in (fluid.up, fluid.down) if area > 0.0)
        inputs |= {"D_a": given(spec.piston_diameter), "A_f": context.value(area, "area")}
        formula += "*pi*D_a**2/(4*A_f)"
    elif spec.area_ratio is not None:
        inputs["i"] = given(spec.area_ratio)
        formula += "*i"
    if spec.friction is not None:
        inputs["f"] = given(spec.friction)
        formula += "*(1 - f)"
    return Line(id_, name, value, result, formula, inputs, "balance of forces on the rod", data)


def _findings(context: Context, unit: Unit) -> Iterator[Finding]:
    duty = context.job.duty
    rate, most = duty.rate, context.model.fluid_end.rate_max
    if rate is not None and rate.nominal > most.nominal:
        yield Finding(
            "duty.rate",
            "hold",
            "Cycle rate above the model's highest",
            f"{rate.canonical} against {most.canonical}",
            action="Run slower, or fit a larger pump.",
            source=context.source("model", "fluid_end.rate_max"),
        )
    if duty.flow is not None and unit.flow_at_duty is not None:
        enough = unit.flow_at_duty >= duty.flow.nominal
        got = context.value(unit.flow_at_duty, "flow")
        yield Finding(
            "duty.flow",
            "clear" if enough else "query",
            "Flow at the duty's rate",
            f"{got.shown} against {duty.flow.canonical} wanted",
            action=""
            if enough
            else "Raise the rate within its limit, or ask whether less will do.",
            source="displacement × rate",
        )
    if duty.supply_pressure is not None and context.model.drive.supply_max is not None:
        most_supply = context.model.drive.supply_max
        if duty.supply_pressure.nominal > most_supply.nominal:
            yield Finding(
                "duty.supply",
                "hold",
                "Supply above what the drive may be given",
                f"{duty.supply_pressure.canonical} against {most_supply.canonical}",
                action="Fit or reset the supply regulator before the unit is connected.",
                source=context.source("model", "drive.supply_max"),
            )
