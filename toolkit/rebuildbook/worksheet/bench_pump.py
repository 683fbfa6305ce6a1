"""The pump of a case on the test bench: its network with this unit's sizes, and its card."""

from __future__ import annotations

import functools
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from rebuildbook.calculators.bench_card import CREEP_FLOOR, USUAL, Card, card
from rebuildbook.calculators.drive import StrokeAreas, piston_area
from rebuildbook.calculators.fault_grid import Grid, build_grid
from rebuildbook.calculators.pump_network import Architecture, Fault, Pump
from rebuildbook.calculators.pump_units import (
    differential,
    double_acting,
    double_diaphragm,
    plunger,
    single_acting,
)
from rebuildbook.sheets.bench import RELIEF, bench_architecture, part_names
from rebuildbook.sheets.job import BenchSetUp
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import nominal
from rebuildbook.worksheet.in_motion import InMotion
from rebuildbook.worksheet.unit import Unit, fluid_areas

READ_OF_LIMIT = 0.25  # of the creep limit: what a sound unit may creep, and what is read to
_JUST_MOVES, _AIR_RUNNING = "supply that just moves it", "air while running"


@dataclass(frozen=True, slots=True)
class OnBench:
    """A pump on the bench: its card, and what its sheets do not let tell.

    ``pump`` as built, with the creep ``limit`` it is held to (m/s, None where there is none), is
    what the card is made from. ``untold`` are usual readings that this
    unit's sheets give no expectation for; ``notes`` say what was taken where a sheet is silent.
    """

    pump: Pump
    limit: float | None
    untold: frozenset[str]
    notes: tuple[str, ...]

    @property
    def card(self) -> Card:
        """All readings this unit can be given."""
        return card_of(self.pump, self.limit)

    @property
    def usual(self) -> tuple[str, ...]:
        """Names of the usual readings that can be told beforehand."""
        return tuple(name for name in self.card.usual if name not in self.untold)


def on_bench(context: Context, unit: Unit, moving: InMotion) -> OnBench:
    """Put the pump of a case on the bench; raises LookupError or ValueError with the reason.

    Supply, pressure and rate are those of the test on the job card, else of the duty.
    """
    architecture = bench_architecture(context.model)
    if moving.stroke is None:
        raise LookupError("the model sheet does not tell the stroke")
    notes: list[str] = []
    pump = (
        _by_crank(context, unit, moving, moving.stroke, notes)
        if architecture == "plunger"
        else _by_air(architecture, context, unit, moving, moving.stroke, notes)
    )
    pump = _as_set_up(pump, _asked(context))
    if context.model.relief is None:
        pump = pump.without(RELIEF)
    pump = pump.renamed(part_names(context.model))
    notes += _against_relief(context, pump)
    untold = dict(_untold(context, moving))
    notes += [
        f"The model sheet gives no {field}: not told, {one}." for one, field in untold.items()
    ]
    stall = context.job.test.stall if context.job.test else None
    limit = nominal(stall.creep_limit, None) if stall else None
    return OnBench(pump, limit, frozenset(untold), tuple(notes))


@functools.lru_cache(maxsize=32)
def card_of(pump: Pump, limit: float | None) -> Card:
    """Make the card of a pump whose creep is held to ``limit`` (m/s).

    A limit below what the card takes as the least that is read or matters sharpens both: creep
    counts from a quarter of the limit, and a leak from where its creep reaches the limit.
    """
    plain = card(pump)
    if limit is None:
        return plain
    finer = card(replace(pump, faults=tuple(_from_limit(plain, limit))))
    floor = min(CREEP_FLOOR, READ_OF_LIMIT * limit)
    readings = tuple(
        replace(one, floor=floor) if one.unit == "m/s" else one for one in finer.readings
    )
    return replace(finer, readings=readings)


def _from_limit(made: Card, limit: float) -> Iterator[Fault]:
    """Faults whose range of severity begins where the usual creep reaches the limit."""
    faults = made.pump.faults
    places = [
        place
        for place, one in enumerate(made.readings)
        if one.unit == "m/s" and one.test == USUAL
    ]  # fmt: skip
    creeps = made.predict(np.diag([fault.low for fault in faults]), places) if places else None
    for place, fault in enumerate(faults):
        creep = float(creeps[place].max()) if creeps is not None else 0.0
        sharper = fault.kind == "leak" and creep > limit
        yield replace(fault, low=fault.low * limit / creep) if sharper else fault


@functools.lru_cache(maxsize=8)
def grid_of(pump: Pump, limit: float | None) -> Grid:
    """Lay out what may be wrong with a pump; kept, as a sweep asks for the same pump again."""
    return build_grid(card_of(pump, limit))


def _by_crank(
    context: Context, unit: Unit, moving: InMotion, stroke: float, notes: list[str]
) -> Pump:
    end, asked = context.model.fluid_end, _asked(context)
    ratio = nominal(end.rod_ratio, 0.0)
    return plunger(
        unit.displacement / end.plungers / stroke,
        stroke=stroke,
        rate=(asked.rate or context.job.duty.rate or end.rate_max).nominal,
        pressure=(asked.pressure or context.job.duty.working_pressure).nominal,
        plungers=end.plungers,
        rod_ratio=1.0 / ratio if ratio else 0.0,
        efficiency=_efficiency(context, notes),
    )


def _by_air(
    architecture: Architecture,
    context: Context,
    unit: Unit,
    moving: InMotion,
    stroke: float,
    notes: list[str],
) -> Pump:
    asked, duty = _asked(context), context.job.duty
    supply = asked.supply_pressure or duty.supply_pressure
    if supply is None:
        raise LookupError("the job card gives no supply pressure")
    make = functools.partial(
        _built,
        architecture,
        context,
        unit,
        stroke=stroke,
        rate=asked.rate.nominal if asked.rate else moving.rate or _most(context),
        supply=supply.nominal,
        efficiency=_efficiency(context, notes),
    )
    pump = make(pressure=nominal(asked.pressure, None))
    if asked.pressure is None:
        if duty.working_pressure.nominal < min(_stalls(pump)):
            pump = make(pressure=duty.working_pressure.nominal)
        else:
            notes.append(
                f"This supply stalls below the working pressure of "
                f"{duty.working_pressure.canonical}; the running test is worked out at "
                f"{context.value(pump.bench.pressure, 'pressure').shown} instead."
            )
    return _as_driven(pump, moving, stroke)


def _built(
    architecture: Architecture,
    context: Context,
    unit: Unit,
    *,
    stroke: float,
    rate: float,
    supply: float,
    efficiency: float,
    pressure: float | None,
) -> Pump:
    friction = nominal(context.model.drive.friction, 0.0)
    if architecture == "double-diaphragm":
        ratio = nominal(context.model.drive.area_ratio, 1.0)
        return double_diaphragm(
            unit.displacement / 2.0 / stroke, ratio=ratio, stroke=stroke, rate=rate, supply=supply,
            friction=friction, efficiency=efficiency, pressure=pressure,
        )  # fmt: skip
    fluid = fluid_areas(context)
    if fluid is None:
        raise LookupError("the model sheet gives no bore")
    drive = _drive_areas(context, fluid)
    if architecture == "single-acting-piston":
        return single_acting(
            fluid.down, drive, stroke=stroke, rate=rate, supply=supply, friction=friction,
            efficiency=efficiency, pressure=pressure,
        )  # fmt: skip
    if architecture == "differential-piston":
        return differential(
            fluid.up + fluid.down, fluid.down, drive, stroke=stroke, rate=rate, supply=supply,
            friction=friction, efficiency=efficiency, pressure=pressure,
        )  # fmt: skip
    return double_acting(
        fluid, drive, stroke=stroke, rate=rate, supply=supply, friction=friction,
        efficiency=efficiency, pressure=pressure,
    )  # fmt: skip


def _drive_areas(context: Context, fluid: StrokeAreas) -> StrokeAreas:
    """Areas of the air motor, as the stall of the unit is worked out with."""
    spec = context.model.drive
    if spec.piston_diameter is not None:
        area = float(piston_area.si(spec.piston_diameter.nominal))
        return StrokeAreas(area, area)
    ratio = nominal(spec.area_ratio, 1.0)
    # a stroke that delivers nothing is driven by the same piston
    return StrokeAreas(ratio * (fluid.up or fluid.down), ratio * (fluid.down or fluid.up))


def _as_driven(pump: Pump, moving: InMotion, stroke: float) -> Pump:
    """Take free speed and air use from the drive of the sheet, where it tells them."""
    if moving.speed is not None:
        pump = replace(pump, free_speed=2.0 * stroke * moving.speed.idle.rate)
    if moving.run is not None:
        pump = replace(pump, air_rate=pump.bench.rate * moving.run.supply_use)
    return pump


def _as_set_up(pump: Pump, asked: BenchSetUp) -> Pump:
    bench = pump.bench
    return replace(
        pump,
        bench=replace(
            bench,
            hold=nominal(asked.hold_time, bench.hold),
            line_compliance=nominal(asked.line_compliance, bench.line_compliance),
            vacuum=nominal(asked.vacuum, bench.vacuum),
            vacuum_hold=nominal(asked.vacuum_hold_time, bench.vacuum_hold),
            suction_compliance=nominal(asked.suction_compliance, bench.suction_compliance),
        ),
    )


def _asked(context: Context) -> BenchSetUp:
    test = context.job.test
    return test.bench if test is not None and test.bench is not None else BenchSetUp()


def _most(context: Context) -> float:
    return context.model.fluid_end.rate_max.nominal


def _stalls(pump: Pump) -> list[float]:
    left = pump.supply * (1.0 - pump.friction)
    areas = [(move.drive_area, move.pressed_area) for move in pump.moves if move.pressed_area > 0.0]
    return [left * drive / pressed for drive, pressed in areas]


def _against_relief(context: Context, pump: Pump) -> Iterator[str]:
    """Say so where the relief valve would open before the test comes to its pressure."""
    relief, read = context.model.relief, context.job.relief_setting
    opens = read.set_pressure if read else relief.set_pressure if relief else None
    if opens is None:
        return
    highest = pump.bench.pressure if pump.plungers else max(_stalls(pump))
    if highest >= opens.nominal:
        shown = context.value(highest, "pressure").shown
        yield (
            f"The relief valve opens at {opens.canonical}, before the test comes to {shown}: do "
            "not touch the valve, test at less and say so under test.bench."
        )


def _efficiency(context: Context, notes: list[str]) -> float:
    given = context.model.fluid_end.volumetric_efficiency
    if given is not None:
        return given.nominal
    notes.append("The model sheet gives no volumetric_efficiency: 95 % is taken.")
    return 0.95


def _untold(context: Context, moving: InMotion) -> Iterator[tuple[str, str]]:
    """Usual readings that need a value the model sheet does not give, and which."""
    if moving.by_crank:
        return
    if context.model.drive.friction is None:
        yield _JUST_MOVES, "friction"
    if moving.run is None:
        yield _AIR_RUNNING, "air_inlet"
