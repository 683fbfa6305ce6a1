"""What the unit's drive and fluid end come to: displacement, flows, stall pressures."""

from __future__ import annotations

from dataclasses import dataclass

from rebuildbook.calculators import drive
from rebuildbook.units import Amount
from rebuildbook.worksheet.context import Context


@dataclass(frozen=True, slots=True)
class Unit:
    """The pump of a case in SI numbers; None where the sheets do not say.

    ``displacement`` m³ a cycle, flows m³/s, pressures Pa gauge.
    """

    displacement: float
    flow_at_duty: float | None
    largest_flow: float
    peak_factor: float
    stall: drive.Stall | None
    stall_max: drive.Stall | None


def unit_of(context: Context) -> Unit:
    """Work out the unit from the model sheet and the duty of the job card."""
    model, duty = context.model, context.job.duty
    volume = displacement(context)
    efficiency = model.fluid_end.volumetric_efficiency
    share = efficiency.nominal if efficiency else 1.0
    flow = volume * duty.rate.nominal * share if duty.rate else None
    most = duty.supply_available or model.drive.supply_max
    return Unit(
        displacement=volume,
        flow_at_duty=flow,
        largest_flow=volume * model.fluid_end.rate_max.nominal,
        peak_factor=_peak_factor(context),
        stall=_stall(context, duty.supply_pressure, volume),
        stall_max=_stall(context, most, volume),
    )


def displacement(context: Context) -> float:
    """Displacement of one cycle, m³."""
    end = context.model.fluid_end
    if end.volume_per_cycle is not None:
        return end.volume_per_cycle.nominal
    assert end.bore and end.stroke  # noqa: S101  (crosscheck has seen to it)
    bore, stroke = end.bore.nominal, end.stroke.nominal
    if context.model.architecture == "double-acting-piston":
        assert end.rod  # noqa: S101
        return float(
            drive.double_acting_displacement.si(bore, end.rod.nominal, stroke, count=end.plungers)
        )
    return float(drive.single_acting_displacement.si(bore, stroke, end.plungers))


def fluid_areas(context: Context) -> drive.StrokeAreas | None:
    """Fluid areas on each stroke, m²; None where the sheet gives only a volume."""
    end = context.model.fluid_end
    if end.bore is None:
        return None
    bore, rod = end.bore.nominal, end.rod.nominal if end.rod else None
    match context.model.architecture:
        case "double-acting-piston":
            return drive.double_acting_areas(bore, rod or 0.0)
        case "single-acting-piston" if rod:
            return drive.differential_areas(bore, rod)
        case _:
            return drive.single_acting_areas(bore)


def _stall(context: Context, supply: Amount | None, volume: float) -> drive.Stall | None:
    spec = context.model.drive
    friction = spec.friction.nominal if spec.friction else 0.0
    if spec.kind == "electric":
        if spec.stall_torque is None:
            return drive.NOT_LIMITED
        return drive.stall_by_torque(spec.stall_torque.nominal, volume)
    if supply is None:
        return None
    fluid = fluid_areas(context)
    if spec.piston_diameter is not None and fluid is not None:
        area = float(drive.piston_area.si(spec.piston_diameter.nominal))
        return drive.stall_by_areas(supply.nominal, drive.StrokeAreas(area, area), fluid, friction)
    ratio = spec.area_ratio.nominal if spec.area_ratio else 1.0
    return drive.stall_by_ratio(supply.nominal, ratio, friction)


def _peak_factor(context: Context) -> float:
    """Peak over mean flow of a crank drive; an air or oil motor moves at an even speed."""
    if context.model.drive.kind != "electric":
        return 1.0
    return drive.flow_variation(context.model.fluid_end.plungers).peak
