"""Judgements on how it runs: speed, flow, power of the motor, torque at the crank."""

from __future__ import annotations

from collections.abc import Iterator

from rebuildbook.calculators.crank_drive import crank_torque, shaft_power
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.in_motion import InMotion
from rebuildbook.worksheet.model import Caution, Finding, Level
from rebuildbook.worksheet.unit import Unit

USUAL = 0.80  # mechanical efficiency a power pump should reach; common practice, no source
SPARE = 0.9  # of the plate's power that somebody may plan on; judgement of this toolkit
_PLATE = "Check rate, pressure and plate with the maker; fit a larger motor or run slower."


def idle_caution(context: Context, moving: InMotion) -> Iterator[Caution]:
    """A warning where a drive with nothing to push outruns what the model allows."""
    most = context.model.fluid_end.rate_max
    if moving.speed is not None and moving.speed.idle.rate > most.nominal:
        idle = context.value(moving.speed.idle.rate, "rate").shown
        yield Caution(
            "Start it with the supply throttled: run dry or with its outlet open the drive could "
            f"reach {idle}; {most.canonical} is the most this model may do."
        )


def running_findings(context: Context, unit: Unit, moving: InMotion) -> Iterator[Finding]:
    """Judge what the drive makes of the duty."""
    if moving.speed is not None:
        yield _speed(context, moving, moving.speed.full.rate)
    yield from _flow(context, unit, moving)
    if moving.by_crank:
        yield from _power(context, unit, moving)
        yield from _torque(context, unit, moving)


def _speed(context: Context, moving: InMotion, reached: float) -> Finding:
    duty = context.job.duty
    asked = duty.rate.nominal if duty.rate else 0.0
    level: Level = "hold" if reached == 0.0 else "clear" if reached >= asked else "query"
    words = {
        "clear": "drive reaches the rate",
        "query": "drive does not reach the rate",
        "hold": "drive stands still at the working pressure",
    }[level]
    action = {
        "clear": "",
        "query": "Ask whether less will do; else more supply within the drive's limit, or a freer "
        "way for air in and out.",
        "hold": "More supply, within the drive's limit, or less pressure; check the size of the "
        "pump with the maker.",
    }[level]
    pressure = duty.working_pressure.canonical
    shown = context.value(reached, "rate").shown if reached else "nothing"
    return Finding(
        "running.speed",
        level,
        f"Running: {words}",
        f"{shown} against {pressure} with the supply full on; "
        + (f"{duty.rate.canonical} asked" if duty.rate else "no rate asked"),
        f"{100.0 * (reached / asked - 1.0):.0f} %" if asked and reached else "",
        action,
        "balance of forces and air through the ports; no leakage or ice, so somewhat high",
    )


def _flow(context: Context, unit: Unit, moving: InMotion) -> Iterator[Finding]:
    """Flow at the rate it will really run at; at the duty's rate it is in identity and duty."""
    duty, eta = context.job.duty, context.model.fluid_end.volumetric_efficiency
    if duty.flow is None or (moving.rate is None and moving.speed is None):
        return
    rate, share = moving.rate or 0.0, eta.nominal if eta else 1.0
    got, wanted = unit.displacement * rate * share, duty.flow.nominal
    level: Level = "clear" if got >= wanted else "query"
    needed = context.value(wanted / (unit.displacement * share), "rate").shown
    at = context.value(rate, "rate").shown if rate else "rest"
    yield Finding(
        "running.flow",
        level,
        f"Running: {'enough flow' if level == 'clear' else 'too little flow'}",
        f"{context.value(got, 'flow').shown} at {at}; {duty.flow.canonical} wanted takes {needed}",
        f"{100.0 * (got / wanted - 1.0):.0f} %",
        "" if level == "clear" else "Ask whether less will do, or a larger pump is wanted.",
        "displacement × rate" + (" × volumetric efficiency" if eta else ", no slip"),
    )


def _power(context: Context, unit: Unit, moving: InMotion) -> Iterator[Finding]:
    spec = context.model.drive
    if spec.power is None or not moving.rate:
        return
    share, plate = spec.mechanical_efficiency, spec.power.nominal
    eta = share.nominal if share else USUAL
    needed = float(shaft_power.si(unit.displacement * moving.rate, moving.rise, eta))
    used = needed / plate
    level: Level = "clear" if used <= SPARE else "query" if used <= 1.0 else "hold"
    words = {
        "clear": "motor has the power",
        "query": "motor has little to spare",
        "hold": "motor is overloaded",
    }[level]
    by = "" if share else f" at {100.0 * USUAL:.0f} % mechanical efficiency"
    yield Finding(
        "running.power",
        level,
        f"Running: {words}",
        f"{context.value(needed, 'power').shown}{by} against {spec.power.canonical} on the plate",
        f"{100.0 * (1.0 - used):.0f} % of the plate",
        "" if level == "clear" else _PLATE,
        "P = Q Δp/η (Esposito, from memory)"
        + ("" if share else "; the efficiency is common practice, no source"),
    )


def _torque(context: Context, unit: Unit, moving: InMotion) -> Iterator[Finding]:
    """Whether the crank is pulled over its peak by torque alone, as at a start under pressure."""
    spec = context.model.drive
    if spec.stall_torque is None:
        return
    eta = spec.mechanical_efficiency.nominal if spec.mechanical_efficiency else 1.0
    mean = float(crank_torque.si(unit.displacement, moving.rise, eta))
    peak = mean * moving.pulse("delivered").peak
    most = spec.stall_torque.nominal
    level: Level = "clear" if peak <= most else "query" if mean <= most else "hold"
    words = {
        "clear": "crank starts under pressure",
        "query": "crank needs its flywheel to get over the peak",
        "hold": "crank stalls at the working pressure",
    }[level]
    yield Finding(
        "running.torque",
        level,
        f"Running: {words}",
        f"peak {context.value(peak, 'torque').shown}, mean {context.value(mean, 'torque').shown} "
        f"against {spec.stall_torque.canonical}",
        f"{100.0 * (1.0 - peak / most):.0f} %",
        ""
        if level == "clear"
        else "Start it with the outlet relieved to the tank as the maker shows, or ask the maker.",
        "work of one turn of the crank (Esposito) and its kinematics",
    )
