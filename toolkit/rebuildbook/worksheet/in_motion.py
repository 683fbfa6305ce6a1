"""The pump of a case as it moves: its chambers, its drive at the duty's pressure, its strokes."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass

from scipy.optimize import brentq

from rebuildbook.calculators import pump_flow
from rebuildbook.calculators.air_drive import (
    AirSupply,
    DrivenPump,
    DriveRun,
    OilSupply,
    run,
)
from rebuildbook.calculators.air_flow import KV_OF_CV, Nozzle, nozzle_of_kv
from rebuildbook.calculators.drive import StrokeAreas, piston_area
from rebuildbook.calculators.pump_flow import Chamber, Pulsation, StrokeFlow, pulsation
from rebuildbook.calculators.stroke_motion import AirMotion, CrankMotion
from rebuildbook.sheets.drive import AirPassage
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import nominal
from rebuildbook.worksheet.unit import Unit, fluid_areas

PORT = 0.8  # discharge coefficient of a port: between sharp-edged and rounded, no source
LEAST_OPENING = 1e-6  # of the inlet's; a pump throttled further counts as at rest
NO_ROD_RATIO = "The model sheet gives no rod_ratio: the connecting rod is taken as long"
NO_INLET = "the model sheet gives no air_inlet"
NO_OIL = "the model sheet gives no oil_flow"
NO_SUPPLY = "the job card gives no supply in hand"


@dataclass(frozen=True, slots=True)
class Speed:
    """What an air or oil motor makes of the supply in hand.

    ``full`` against the working pressure with the supply full on, ``idle`` against none.
    """

    full: DriveRun
    idle: DriveRun


@dataclass(frozen=True, slots=True)
class InMotion:
    """A pump and how it moves; lengths m, ``rate`` cycles/s, pressures Pa gauge.

    ``cylinder`` is one piston or plunger of length of stroke ``stroke`` (None where the sheet
    gives only a volume), ``pump`` all of them. ``rate`` is the duty's, or what the drive reaches
    where that is less; None where neither is known or the drive stands still. ``run`` is the drive
    held to that rate by throttling its inlet. ``has_areas`` says whether the sheet tells what each
    rod pushes on, ``gaps`` what could not be worked out.
    """

    pump: StrokeFlow
    cylinder: StrokeFlow
    stroke: float | None
    outlet: float
    inlet: float
    speed: Speed | None
    rate: float | None
    run: DriveRun | None
    motion: CrankMotion | AirMotion
    has_areas: bool
    gaps: tuple[str, ...]

    @property
    def by_crank(self) -> bool:
        """Whether a crank moves it."""
        return isinstance(self.motion, CrankMotion)

    @property
    def rise(self) -> float:
        """Pressure rise from inlet to outlet, Pa; none where the inlet is boosted beyond."""
        return max(self.outlet - self.inlet, 0.0)

    def pulse(self, side: pump_flow.Side) -> Pulsation:
        """How unsteady the flow is that is delivered or drawn."""
        return pulsation(self.pump, self.motion, side)


def in_motion(context: Context, unit: Unit) -> InMotion:
    """Set the pump of a case in motion as far as its sheets tell."""
    duty = context.job.duty
    one, stroke = _cylinder(context, unit)
    pump = _all_cylinders(context, one)
    outlet, inlet = duty.working_pressure.nominal, nominal(duty.inlet_pressure, 0.0)
    asked = duty.rate.nominal if duty.rate else None
    diaphragm = context.model.architecture == "double-diaphragm"
    areas = context.model.fluid_end.bore is not None and not diaphragm
    if context.model.drive.kind == "electric":
        ratio = context.model.fluid_end.rod_ratio
        motion = CrankMotion(1.0 / ratio.nominal if ratio else 0.0)
        gaps = () if ratio else (NO_ROD_RATIO,)
        return InMotion(pump, one, stroke, outlet, inlet, None, asked, None, motion, areas, gaps)
    speed, held, rate, gap = None, None, asked, ""
    try:
        driven, supply = _driven(context, pump, stroke), _supply(context)
        speed = Speed(run(driven, supply, outlet, inlet), run(driven, supply, 0.0, inlet))
        most = context.model.fluid_end.rate_max.nominal
        rate = min(asked or most, speed.full.rate)
        held = _held(supply, rate, lambda fed: run(driven, fed, outlet, inlet))
    except (LookupError, ValueError) as problem:
        gap = f"Speed and strokes of the motor not worked out: {problem}"
    return InMotion(
        pump, one, stroke, outlet, inlet, speed, rate or None, held,
        held.motion() if held else _even_strokes(context, rate), areas,
        (f"{gap}; both strokes are taken as equally long",) if gap else (),
    )  # fmt: skip


def _cylinder(context: Context, unit: Unit) -> tuple[StrokeFlow, float | None]:
    """One piston or plunger (a diaphragm pump: both chambers), and its stroke in m."""
    end, kind = context.model.fluid_end, context.model.architecture
    if kind == "double-diaphragm":
        return pump_flow.double_diaphragm(unit.displacement), _diaphragm_stroke(context, unit)
    volume, areas = unit.displacement / end.plungers, fluid_areas(context)
    stroke = end.stroke.nominal if end.stroke else None
    if areas is None or end.bore is None:
        return _by_volume(kind, volume), stroke
    if end.volume_per_cycle is not None or stroke is None:
        stroke = volume / (areas.up + areas.down)
    bore, rod = end.bore.nominal, end.rod.nominal if end.rod else 0.0
    if kind == "double-acting-piston":
        return pump_flow.double_acting(bore, rod, stroke), stroke
    if kind == "single-acting-piston" and rod:
        return pump_flow.differential(bore, rod, stroke), stroke
    make = pump_flow.plungers if kind == "plunger" else pump_flow.single_acting
    return make(bore, stroke), stroke


def _by_volume(kind: str, volume: float) -> StrokeFlow:
    """A cylinder that the sheet gives by its volume only; the sides of a piston as if alike."""
    if kind == "double-acting-piston":
        return pump_flow.double_diaphragm(volume)
    name = "plunger" if kind == "plunger" else "piston side"
    return StrokeFlow((Chamber(name, delivered_down=volume, drawn_up=volume),))


def _diaphragm_stroke(context: Context, unit: Unit) -> float | None:
    end, rod = context.model.fluid_end, context.model.rod
    if end.stroke is not None:
        return end.stroke.nominal
    if rod is None or rod.effective_diameter is None:
        return None
    return unit.displacement / 2.0 / float(piston_area.si(rod.effective_diameter.nominal))


def _all_cylinders(context: Context, one: StrokeFlow) -> StrokeFlow:
    """All cylinders: spaced round a crank, or moving together on the rod of one motor."""
    count = context.model.fluid_end.plungers
    if count == 1 or context.model.architecture == "double-diaphragm":
        return one
    if context.model.drive.kind != "electric":
        return StrokeFlow(tuple(_times(chamber, count) for chamber in one.chambers))
    apart = 2 * count if context.model.architecture == "double-acting-piston" else count
    return StrokeFlow(
        tuple(
            dataclasses.replace(
                chamber, name=f"{chamber.name.removesuffix(' 1')} {place + 1}", lag=place / apart
            )
            for place in range(count)
            for chamber in one.chambers
        )
    )


def _times(chamber: Chamber, count: int) -> Chamber:
    return Chamber(
        chamber.name,
        *(count * volume for side in pump_flow.SIDES for volume in chamber.volumes(side)),
    )


def _driven(context: Context, pump: StrokeFlow, stroke: float | None) -> DrivenPump:
    spec, end = context.model.drive, context.model.fluid_end
    length = stroke or 1.0  # by volumes alone the rate does not depend on it
    if spec.piston_diameter is not None and fluid_areas(context) is not None:
        area = float(piston_area.si(spec.piston_diameter.nominal))
        areas = StrokeAreas(area, area)
    else:
        ratio = spec.area_ratio.nominal if spec.area_ratio else 1.0
        fluid = pump.areas("delivered", length)
        # a stroke that delivers nothing is driven by the same piston
        areas = StrokeAreas(ratio * (fluid.up or fluid.down), ratio * (fluid.down or fluid.up))
    return DrivenPump(
        areas,
        pump,
        length,
        friction=nominal(spec.friction, 0.0),
        seal_friction=end.plungers * nominal(end.seal_friction, 0.0) if stroke else 0.0,
        exhaust_pressure=nominal(spec.exhaust_back_pressure, 0.0),
        clearance_share=nominal(spec.clearance_share, 0.0),
        changeover=nominal(spec.changeover, 0.0),
    )


def _supply(context: Context) -> AirSupply | OilSupply:
    spec, pressure = context.model.drive, context.job.duty.supply_pressure
    if pressure is None:
        raise LookupError(NO_SUPPLY)
    if spec.kind == "hydraulic":
        if spec.oil_flow is None:
            raise LookupError(NO_OIL)
        return OilSupply(pressure.nominal, spec.oil_flow.nominal)
    if spec.air_inlet is None:
        raise LookupError(NO_INLET)
    exhaust = _nozzle(spec.air_exhaust) if spec.air_exhaust else None
    return AirSupply(pressure.nominal, _nozzle(spec.air_inlet), exhaust)


def _nozzle(passage: AirPassage) -> Nozzle:
    if passage.bore is not None:
        area = float(piston_area.si(passage.bore.nominal))
        return Nozzle(area, nominal(passage.discharge_coefficient, PORT))
    if passage.kv is not None:
        return nozzle_of_kv(passage.kv.nominal)
    assert passage.cv is not None  # noqa: S101  (crosscheck has seen to it)
    return nozzle_of_kv(KV_OF_CV * passage.cv.nominal)


def _held(
    supply: AirSupply | OilSupply, rate: float, running: Callable[[AirSupply | OilSupply], DriveRun]
) -> DriveRun | None:
    """The drive with its inlet throttled to ``rate``; None at stall."""
    if rate <= 0.0:
        return None

    def fed(share: float) -> AirSupply | OilSupply:
        if isinstance(supply, OilSupply):
            return dataclasses.replace(supply, flow=share * supply.flow)
        inlet = supply.inlet
        assert isinstance(inlet, Nozzle)  # noqa: S101
        return dataclasses.replace(
            supply, inlet=dataclasses.replace(inlet, area=share * inlet.area)
        )

    def over(share: float) -> float:
        return running(fed(share)).rate - rate

    if over(1.0) <= 0.0:
        return running(supply)
    if over(LEAST_OPENING) >= 0.0:
        return running(fed(LEAST_OPENING))
    return running(fed(float(brentq(over, LEAST_OPENING, 1.0, xtol=1e-12))))  # type: ignore[no-untyped-call]


def _even_strokes(context: Context, rate: float | None) -> AirMotion:
    """Strokes of equal length with the rest at each reversal that the sheet gives."""
    rest = 2.0 * nominal(context.model.drive.changeover, 0.0) * (rate or 0.0)
    return AirMotion(min(rest, 0.9))
