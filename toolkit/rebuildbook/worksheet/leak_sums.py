"""The leaks of a unit as measured: every gap, scratch and oval seat, and what they come to."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from rebuildbook.calculators.ball_seat import seat_contact
from rebuildbook.calculators.drive import Stroke
from rebuildbook.calculators.flow_curve import HerschelBulkley
from rebuildbook.calculators.leak_paths import (
    Gap,
    Leak,
    Passage,
    Scratch,
    leak,
    oval_seat_gap,
)
from rebuildbook.calculators.leak_viscosity import height_for_flow, leak_viscosity
from rebuildbook.calculators.volumetric import (
    Duty,
    LeakPath,
    Volumetric,
    clearance_for_efficiency,
    volumetric,
)
from rebuildbook.sheets.leaks import grows, sealed_places
from rebuildbook.sheets.model import CheckValve
from rebuildbook.sheets.wear import LeakGap, SeatDefect, WearLimit
from rebuildbook.worksheet.checks import seat_of
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import nominal
from rebuildbook.worksheet.unit import displacement


@dataclass(frozen=True, slots=True)
class Sides:
    """Both sides of a gap; ``bore``, ``part`` and ``takes_up`` (radial) in m.

    ``bore_limit`` and ``part_limit`` name the wear limits that measure them, where one does.
    """

    bore: float
    part: float
    takes_up: float
    bore_limit: str | None
    part_limit: str | None

    @property
    def open(self) -> float:
        """Radial gap beyond what the seal takes up, m; below zero where it seals."""
        return (self.bore - self.part) / 2.0 - self.takes_up


@dataclass(frozen=True, slots=True)
class Way:
    """One way that the pump leaks by, as found on the wear limit or check valve ``of``.

    ``viscosity``, Pa·s, is the one it is reckoned with: infinite where the fluid's yield stress
    holds, so that nothing passes. ``angle``, rad, is that of the ball's contact on an oval seat.
    """

    name: str
    of: str
    kind: Literal["gap", "scratch", "oval seat"]
    path: LeakPath
    viscosity: float
    leak: Leak
    sides: Sides | None = None
    angle: float = 0.0

    @property
    def share(self) -> float:
        """Share of the cycle for which it sees the pressure."""
        assert self.path.share is not None  # noqa: S101
        return self.path.share

    @property
    def tight(self) -> bool:
        """Whether nothing passes: no gap, or a yield stress that holds."""
        return self.leak.flow == 0.0


@dataclass(frozen=True, slots=True)
class Sums:
    """What leaks and what is left; None for what the sheets do not allow to be said.

    ``unread`` names wear limits that make a gap but were not measured, ``problems`` what does not
    go together, by wear limit, check valve or "duty".
    """

    duty: Duty | None
    ways: tuple[Way, ...]
    result: Volumetric | None
    wanted: float | None
    unread: tuple[str, ...]
    problems: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class SizeLimit:
    """Size of one part at which the pump falls to the wanted efficiency; m.

    ``height`` is the radial gap there; ``sides`` those as measured; ``bore`` whether it is the bore
    that wears.
    """

    name: str
    size: float
    height: float
    sides: Sides
    bore: bool


def sums_of(context: Context) -> Sums:
    """Work out every leak that the sheets describe, at the pressure and rate of the duty."""
    problems: dict[str, str] = {}
    end = context.model.fluid_end
    wanted = end.wanted_efficiency or end.volumetric_efficiency
    made: list[Way] = []
    unread: list[str] = []
    duty: Duty | None = None
    try:
        duty = _duty(context)
    except ValueError as problem:
        problems["duty"] = str(problem)
    if duty is not None:
        made, unread = _ways(context, duty, problems)
    rated = context.job.duty.rate is not None
    paths = tuple(way.path for way in made if not math.isinf(way.viscosity))
    result = volumetric(duty, paths) if duty is not None and rated else None
    return Sums(
        duty, tuple(made), result, wanted.nominal if wanted else None, tuple(unread), problems
    )


def _duty(context: Context) -> Duty:
    job, end = context.job, context.model.fluid_end
    # without a rate the leaks stand all the same; only what they take of the stroke does not
    rate = job.duty.rate or end.rate_max
    return Duty(
        displacement=displacement(context),
        rate=rate.nominal,
        outlet_pressure=job.duty.working_pressure.nominal,
        inlet_pressure=nominal(job.duty.inlet_pressure, 0.0),
        viscosity=job.fluid.viscosity.nominal,
        density=job.fluid.density.nominal,
        bulk_modulus=nominal(job.fluid.bulk_modulus, math.inf),
        clearance_ratio=nominal(end.clearance_ratio, 0.0),
        air_share=nominal(job.fluid.air_share, 0.0),
    )


def curve_of(context: Context) -> HerschelBulkley | None:
    """The flow curve of the job card's fluid; None where one viscosity tells."""
    curve = context.job.fluid.rheology
    if curve is None:
        return None
    return HerschelBulkley(
        nominal(curve.yield_stress, 0.0), curve.consistency.nominal, curve.exponent.nominal
    )


def _ways(context: Context, duty: Duty, problems: dict[str, str]) -> tuple[list[Way], list[str]]:
    made: list[Way] = []
    unread: list[str] = []
    for name, limit in context.model.wear_limits.items():
        if limit.leak is None:
            continue
        sides = _sides(context, name, limit, limit.leak)
        if sides is None:
            unread.append(name)
            continue
        try:
            made.append(_gap(context, duty, name, limit.leak, sides))
        except ValueError as problem:
            problems[name] = str(problem)
    for check, defect in context.job.seat_defects.items():
        try:
            made += _seat(context, duty, check, defect)
        except ValueError as problem:
            problems[check] = str(problem)
    return made, unread


def _sides(context: Context, name: str, limit: WearLimit, gap: LeakGap) -> Sides | None:
    measured, other = context.job.measured.get(name), gap.mate_size
    if gap.mate_measured is not None:
        other = context.job.measured.get(gap.mate_measured)
    if measured is None or other is None:
        return None
    sizes, names = (measured.nominal, other.nominal), (name, gap.mate_measured)
    if not grows(limit):
        sizes, names = (sizes[1], sizes[0]), (names[1], names[0])  # type: ignore[assignment]
    return Sides(*sizes, nominal(gap.takes_up, 0.0), *names)


def _gap(context: Context, duty: Duty, name: str, gap: LeakGap, sides: Sides) -> Way:
    if gap.takes_up is None and sides.part > sides.bore:
        raise ValueError(
            f"a part of {sides.part * 1e3:g} mm does not go into a bore of {sides.bore * 1e3:g} mm"
        )
    # a stiff part lies against the wall unless the sheet says that a guide holds it
    eccentricity = nominal(gap.eccentricity, 1.0 if gap.takes_up is None else 0.0)
    middle = (sides.bore + sides.part) / 2.0
    passage = Gap(middle, max(sides.open, 0.0), gap.length.nominal, eccentricity)
    place = sealed_places(context.model)[gap.place]
    inlet = 0.0 if place.against == "atmosphere" else duty.inlet_pressure
    drop = max(duty.outlet_pressure - inlet, 0.0)
    made = _way(context, duty, (gap.place, name), "gap", passage, drop, place.stroke)
    return replace(made, sides=sides)


def _seat(context: Context, duty: Duty, check: str, defect: SeatDefect) -> Iterator[Way]:
    valve = context.model.check_valves[check]
    drop = duty.outlet_pressure - duty.inlet_pressure
    land = nominal(defect.land, 0.0)
    if defect.scratch_width is not None and defect.scratch_depth is not None:
        wide, deep = defect.scratch_width.nominal, defect.scratch_depth.nominal
        scratch = Scratch(wide, deep, land, defect.scratches)
        who = (f"{check}, scratch", check)
        yield _way(context, duty, who, "scratch", scratch, drop, _stroke(valve))
    if defect.ovality is not None:
        yield _oval(context, duty, check, valve, defect.ovality.nominal, land)


def _oval(
    context: Context, duty: Duty, check: str, valve: CheckValve, ovality: float, land: float
) -> Way:
    contact = seat_contact(valve.ball.diameter.nominal, seat_of(valve.seat))
    passage = oval_seat_gap(contact, ovality, land)
    drop, who = duty.outlet_pressure - duty.inlet_pressure, (f"{check}, oval seat", check)
    made = _way(context, duty, who, "oval seat", passage, drop, _stroke(valve))
    return replace(made, angle=contact.angle)


def _stroke(valve: CheckValve) -> Stroke:
    """The stroke on which the check holds the pressure; either way it is half of the cycle."""
    return "up-stroke" if valve.holds_on in ("up-stroke", "suction") else "down-stroke"


def _way(
    context: Context,
    duty: Duty,
    who: tuple[str, str],
    kind: Literal["gap", "scratch", "oval seat"],
    passage: Passage,
    drop: float,
    stroke: Stroke,
) -> Way:
    curve, viscosity = curve_of(context), duty.viscosity
    if curve is not None:
        viscosity = leak_viscosity(passage, drop, curve, duty.density)
    share = 1.0 if stroke in ("both strokes", "any") else 0.5
    own = viscosity if curve is not None and math.isfinite(viscosity) else None
    path = LeakPath(who[0], passage, drop, stroke, share=share, viscosity=own)
    if math.isinf(viscosity):
        found = Leak(0.0, 0.0, 0.0, 0.0, "laminar", "friction", 0.0)
    else:
        found = leak(passage, drop, viscosity, duty.density)
    return Way(*who, kind, path, viscosity, found)


def size_limits(context: Context, sums: Sums) -> tuple[tuple[SizeLimit, ...], dict[str, str]]:
    """Work each measured gap back to the size at which the wanted efficiency is lost.

    The rest stays as measured. Gives the limits, and by place why there is none.
    """
    made: list[SizeLimit] = []
    none: dict[str, str] = {}
    if sums.result is None or sums.wanted is None:
        return (), none
    for way in sums.ways:
        if way.sides is None:
            continue
        try:
            height = _height(context, sums, way)
        except ValueError as problem:
            none[way.name] = str(problem)
            continue
        reach, sides = 2.0 * (height + way.sides.takes_up), way.sides
        if sides.bore_limit is not None:
            made.append(SizeLimit(sides.bore_limit, sides.part + reach, height, sides, bore=True))
        if sides.part_limit is not None:
            made.append(SizeLimit(sides.part_limit, sides.bore - reach, height, sides, bore=False))
    return tuple(made), none


def _height(context: Context, sums: Sums, way: Way) -> float:
    duty, curve = sums.duty, curve_of(context)
    assert duty is not None and sums.wanted is not None  # noqa: S101
    paths = tuple(one.path for one in sums.ways if not math.isinf(one.viscosity))
    others = volumetric(duty, tuple(path for path in paths if path.name != way.name))
    spare = others.balance - sums.wanted * duty.displacement
    if spare <= 0.0:
        raise ValueError("the other losses alone take more")
    if curve is None:
        return clearance_for_efficiency(duty, paths, way.name, sums.wanted).height
    gap, flow = way.path.passage, spare * duty.rate / way.share
    assert isinstance(gap, Gap)  # noqa: S101
    return height_for_flow(gap, flow, way.path.pressure_difference, curve, duty.density)
