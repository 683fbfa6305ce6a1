"""How it will run: strokes, flow and pulse, speed and air or power, and the suction side."""

from __future__ import annotations

import functools
from collections.abc import Iterator

from rebuildbook.calculators.air_drive import free_air_use
from rebuildbook.calculators.crank_drive import crank_torque, shaft_power
from rebuildbook.calculators.drive import ATMOSPHERE, piston_area
from rebuildbook.calculators.pump_flow import CycleFlow, Pulsation, Side, flow_over_cycle
from rebuildbook.figures.pump_flow import delivery, overlap
from rebuildbook.figures.style import svg
from rebuildbook.units import Amount, show, shown_unit
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.in_motion import InMotion
from rebuildbook.worksheet.model import (
    Block,
    Line,
    Lines,
    Note,
    Picture,
    Section,
    Value,
    given,
    series,
)
from rebuildbook.worksheet.running_findings import idle_caution, running_findings
from rebuildbook.worksheet.suction_side import suction_blocks
from rebuildbook.worksheet.unit import Unit

STEPS = 180  # of the figure: enough for a crank's curve at the width of a column
_STROKES = ("up-stroke", "down-stroke")
_CRANK = "work of one turn of the crank"
_MOTOR = (
    "air through the motor's ports (nozzle, F. M. White, from memory) fills its chamber at the "
    "pressure the load asks for; even speed on each stroke"
)
_OIL = "the oil given over the motor's swept volume"


def running(context: Context, unit: Unit, moving: InMotion) -> Section:
    """Build the section on how the unit will run at its duty."""
    blocks: list[Block] = list(series(_stroke_rows(context, moving)))
    blocks += idle_caution(context, moving)
    lines = [
        *_rate_lines(context, unit, moving),
        *(_power_lines(context, unit, moving) if moving.by_crank else ()),
        *(() if moving.by_crank else _supply_lines(context, unit, moving)),
        *_pulse_lines(context, moving),
    ]
    blocks.append(Lines("At the duty's rate", tuple(lines)))
    blocks += running_findings(context, unit, moving)
    if moving.rate:
        blocks.append(_picture(context, moving, moving.rate))
    blocks += [Note(f"{gap}.") for gap in moving.gaps]
    blocks += suction_blocks(context, moving)
    return Section("running", "How it will run", tuple(blocks))


def _stroke_rows(context: Context, moving: InMotion) -> Iterator[tuple[str, Line]]:
    """Volumes of each stroke, and what the rod carries; of one cylinder where there are several."""
    cylinder, sheet = moving.cylinder, context.source("model", "fluid_end")
    each = " of one cylinder" if context.model.fluid_end.plungers > 1 else ""
    words: tuple[tuple[Side, str], ...] = (("delivered", "Delivered"), ("drawn", "Drawn in"))
    for side, name in words:
        for place, of in enumerate(_STROKES):
            volume = cylinder.volumes(side)[place]
            if volume > 0.0:
                formula, inputs = _volume_formula(context, moving, volume)
                yield of, Line(
                    f"running.{side}-{of.removesuffix('-stroke')}", f"{name}{each}",
                    context.value(volume, "volume"), "V_s", formula, inputs,
                    "" if formula else "share of the cycle's volume", sheet,
                )  # fmt: skip
    if moving.stroke and moving.has_areas:
        yield from _rod_rows(context, moving, moving.stroke)


def _volume_formula(
    context: Context, moving: InMotion, volume: float
) -> tuple[str, dict[str, Value]]:
    if moving.stroke and moving.has_areas:
        area = context.value(volume / moving.stroke, "area")
        return "A*L", {"A": area, "L": context.value(moving.stroke, "length", 4)}
    if context.model.architecture == "double-diaphragm":
        return "V/2", {"V": context.value(moving.pump.displacement, "volume")}
    return "", {}


def _rod_rows(context: Context, moving: InMotion, stroke: float) -> Iterator[tuple[str, Line]]:
    delivers = moving.cylinder.areas("delivered", stroke)
    draws = moving.cylinder.areas("drawn", stroke)
    duty, seal = context.job.duty, context.model.fluid_end.seal_friction
    formula, method = "p_w*A_out", "running, at the working pressure; up pulls, down pushes"
    for of, out, drawn in (("up", delivers.up, draws.up), ("down", delivers.down, draws.down)):
        load = moving.outlet * out
        inputs = {"p_w": given(duty.working_pressure), "A_out": context.value(out, "area")}
        if duty.inlet_pressure is not None:
            load -= moving.inlet * drawn
            inputs |= {"p_i": given(duty.inlet_pressure), "A_in": context.value(drawn, "area")}
        if seal is not None:
            load += seal.nominal
            inputs["F_s"] = given(seal)
        whole = (
            formula
            + (" - p_i*A_in" if duty.inlet_pressure else "")
            + (" + F_s" if seal else "")
        )  # fmt: skip
        yield f"{of}-stroke", Line(
            f"running.rod-{of}", "Load on the rod", context.value(load, "force"), "F", whole,
            inputs, method + ("" if seal else "; friction of the seals not given"),
        )  # fmt: skip


def _rate_lines(context: Context, unit: Unit, moving: InMotion) -> Iterator[Line]:
    duty, end = context.job.duty, context.model.fluid_end
    if duty.flow is not None:
        eta = end.volumetric_efficiency
        inputs = {"Q_want": given(duty.flow), "V": context.value(unit.displacement, "volume")}
        share = eta.nominal if eta else 1.0
        yield Line(
            "running.rate-wanted",
            "Rate that the wanted flow takes",
            context.value(duty.flow.nominal / (unit.displacement * share), "rate"),
            "n_want",
            "Q_want/(V*eta_v)" if eta else "Q_want/V",
            inputs | ({"eta_v": given(eta)} if eta else {}),
            "displacement × rate" + ("" if eta else ", no slip"),
        )
    if moving.speed is None:
        return
    method = _OIL if context.model.drive.kind == "hydraulic" else _MOTOR
    reached = (
        ("running.rate-reached", "Rate reached, supply full on", moving.speed.full.rate, "n_full"),
        ("running.rate-idle", "The same with nothing to push", moving.speed.idle.rate, "n_0"),
    )
    for id_, name, rate, symbol in reached:
        told = method if symbol == "n_full" else "as above, outlet open to the atmosphere"
        yield Line(id_, name, context.value(rate, "rate"), symbol, method=told)


def _supply_lines(context: Context, unit: Unit, moving: InMotion) -> Iterator[Line]:
    """Air or oil used: the most at the supply in hand, and what the motor takes as it runs."""
    oil, supply = context.model.drive.kind == "hydraulic", context.job.duty.supply_pressure
    if supply is not None:
        cycle = _supply_of_a_cycle(context, unit, moving, supply)
        yield cycle
        if moving.rate and isinstance(cycle.value, Value):
            flow = context.value(cycle.value.si * moving.rate, "flow" if oil else "air flow")
            name = "Oil flow at that rate" if oil else "Free air at that rate, at the most"
            inputs = {"V_0": cycle.value, "n": context.value(moving.rate, "rate")}
            yield Line(
                "running.supply-most", name, flow, "Q_0", "V_0*n", inputs, "a cycle × rate"
            )  # fmt: skip
    if moving.run is not None and not oil:
        yield Line(
            "running.supply-used",
            "Free air at that rate, throttled to it",
            context.value(moving.run.supply_flow, "air flow"),
            method="chambers filled to what the load asks for; no leakage",
        )


def _supply_of_a_cycle(context: Context, unit: Unit, moving: InMotion, supply: Amount) -> Line:
    swept, formula, inputs = _swept(context, unit, moving)
    method, share = "swept volume of the motor", context.model.drive.clearance_share
    if context.model.drive.kind == "hydraulic":
        volume = context.value(swept, "volume")
        return Line("running.supply-cycle", "Oil a cycle", volume, "V_0", formula, inputs, method)
    dead = share.nominal if share else 0.0
    formula += "*((p_s + p_0)/p_0" + (" + c*p_s/p_0)" if dead else ")")
    inputs |= {"p_s": given(supply), "p_0": context.value(ATMOSPHERE, "pressure")}
    inputs |= {"c": given(share)} if share and dead else {}
    return Line(
        "running.supply-cycle",
        "Free air a cycle, at the most",
        context.value(float(free_air_use.si(swept, supply.nominal, dead)), "air volume"),
        "V_0",
        formula,
        inputs,
        f"{method} filled to the supply in hand; p₀ the atmosphere, absolute",
    )


def _swept(context: Context, unit: Unit, moving: InMotion) -> tuple[float, str, dict[str, Value]]:
    """Swept volume of the motor in a cycle (m³), its formula and the inputs."""
    spec = context.model.drive
    if spec.piston_diameter is not None and moving.stroke and moving.has_areas:
        area = float(piston_area.si(spec.piston_diameter.nominal))
        inputs = {
            "D_a": given(spec.piston_diameter),
            "L": context.value(moving.stroke, "length", 4),
        }
        return 2.0 * area * moving.stroke, "pi/2*D_a**2*L", inputs
    ratio = spec.area_ratio.nominal if spec.area_ratio else 1.0
    idle = 0.0 in moving.pump.volumes("delivered")  # the piston drives the filling stroke too
    inputs = {"V": context.value(unit.displacement, "volume")}
    if spec.area_ratio is not None:
        inputs["i"] = given(spec.area_ratio)
    formula = ("2*" if idle else "") + ("i*V" if spec.area_ratio else "V")
    return (2.0 if idle else 1.0) * ratio * unit.displacement, formula, inputs


def _power_lines(context: Context, unit: Unit, moving: InMotion) -> Iterator[Line]:
    """Power at the motor's shaft and torque at the crank, mean and peak."""
    spec, rise = context.model.drive, moving.rise
    share = spec.mechanical_efficiency
    eta = share.nominal if share else 1.0
    volume, step = context.value(unit.displacement, "volume"), context.value(rise, "pressure")
    inputs = {"V": volume, "Delta_p": step} | ({"eta_m": given(share)} if share else {})
    below = "/eta_m" if share else ""
    losses = "" if share else "; least, as no mechanical_efficiency is given"
    if moving.rate:
        power = float(shaft_power.si(unit.displacement * moving.rate, rise, eta))
        rate = context.value(moving.rate, "rate")
        yield Line(
            "running.power", "Power at the motor's shaft", context.value(power, "power"), "P",
            f"V*n*Delta_p{below}", {**inputs, "n": rate}, f"work of displacement{losses}",
        )  # fmt: skip
        if spec.motor_efficiency is not None:
            drawn = power / spec.motor_efficiency.nominal
            motor = given(spec.motor_efficiency)
            yield Line(
                "running.power-drawn", "Power the motor draws", context.value(drawn, "power"),
                "P_e", "P/eta_e", {"P": context.value(power, "power"), "eta_e": motor},
                "shaft power over the motor's efficiency",
            )  # fmt: skip
    mean = float(crank_torque.si(unit.displacement, rise, eta))
    peak = moving.pulse("delivered").peak
    turn = "V*Delta_p/(2*pi*eta_m)" if share else "V*Delta_p/(2*pi)"
    yield Line(
        "running.torque", "Torque at the crank, mean", context.value(mean, "torque"), "T", turn,
        inputs, f"{_CRANK}{losses}",
    )  # fmt: skip
    yield Line(
        "running.torque-peak", "The same at its peak", context.value(mean * peak, "torque"),
        "T_max", "T*phi",
        {"T": context.value(mean, "torque"), "phi": context.value(peak, "number", 4)},
        "peak flow over mean flow",
    )  # fmt: skip


def _pulse_lines(context: Context, moving: InMotion) -> Iterator[Line]:
    if not moving.rate:
        return
    pulse: Pulsation = moving.pulse("delivered")
    volume = pulse.swing * moving.pump.displacement
    method = "kinematics of the crank" if moving.by_crank else "even speed, rest at each reversal"
    yield Line(
        "running.peak", "Peak of the flow over its mean", context.value(pulse.peak, "fraction"),
        method=method,
    )  # fmt: skip
    yield Line(
        "running.trough", "Trough over its mean", context.value(pulse.trough, "fraction"),
        method=method,
    )  # fmt: skip
    yield Line(
        "running.swing", "What an accumulator takes up", context.value(volume, "volume"),
        method="reach of the volume delivered over that at the mean flow, in a cycle",
    )  # fmt: skip


def _picture(context: Context, moving: InMotion, rate: float) -> Picture:
    cycle = flow_over_cycle(moving.pump, moving.motion, rate, steps=STEPS)
    unit = "L/min" if context.system == "metric" else "gal/min"
    peak, trough = (show(float(each), unit) for each in (cycle.total.max(), cycle.total.min()))
    mean = show(cycle.mean, unit)
    thin = f"thin: {', '.join(cycle.names)}; " if overlap(cycle) else ""
    return Picture(
        "delivery",
        f"Delivery over one cycle, no slip, {shown_unit(unit)}; {thin}dashed: mean {mean}.",
        f"Flow delivered over one cycle: mean {mean}, peak {peak}, trough {trough}.",
        functools.partial(_draw, cycle, unit),
    )


def _draw(cycle: CycleFlow, unit: str) -> str:
    return svg(delivery(cycle, unit))
