"""The check valves of a case over one cycle at its rate: each with its own chamber's flow.

What a motion is reckoned from is frozen, so that each is followed once for as long as the process
lives: in a sweep only the settings that touch it cost time.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq

from rebuildbook.calculators.ball_check import OPENING_TILT, BallCheck
from rebuildbook.calculators.ball_motion import BallMotion, ball_motion, drawn_back_share
from rebuildbook.calculators.drive import ATMOSPHERE, Stroke
from rebuildbook.calculators.flow_curve import Fluid, Newtonian
from rebuildbook.calculators.materials import material
from rebuildbook.calculators.stroke_flow import AirDrive, CrankDrive, Drive, Start
from rebuildbook.calculators.stroke_motion import CrankMotion
from rebuildbook.sheets.model import CheckValve
from rebuildbook.worksheet.checks import seat_of, spring_of
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import nominal
from rebuildbook.worksheet.in_motion import InMotion
from rebuildbook.worksheet.leak_sums import curve_of

BACK_FLOW_MOST = 0.02  # of a stroke; see the finding for the reason
LOOK_UP_TO = 2.0  # times the rate; further no one asks
_STEPS = 2  # in which that is reached: a ball off its stop may be late, then in time again
_TOLERANCE = 1e-5  # of a step; results agree to three digits and better with those at 1e-9
_ROUGH = 1e-4  # the same, where only the highest rate is sought
_RATE_NEAR = 0.005  # to which the highest rate is closed in on, relative


@dataclass(frozen=True, slots=True)
class Limit:
    """The highest ``rate``, 1/s, at which a ball closes in time; ``beyond``: more was not tried."""

    rate: float
    beyond: bool


@dataclass(frozen=True, slots=True)
class ValveCycle:
    """Checks that are built and driven alike, over one cycle; SI floats.

    ``motion`` is that of the ball from an incompressible stroke, ``limit`` the highest rate at
    which it closes in time (None where it does not at this one, and where it was not sought).
    ``squeezed``, m³, is what the fluid's give takes of the stroke before the check sees a flow.
    """

    names: tuple[str, ...]
    valve: CheckValve
    check: BallCheck
    drive: Drive
    motion: BallMotion
    limit: Limit | None
    squeezed: float
    late: float = 0.0

    @property
    def in_time(self) -> bool:
        """Whether the ball is home before its next stroke, with little drawn back."""
        return _excess(self.motion) <= 0.0

    @property
    def held_back(self) -> float:
        """What goes by of the stroke before the check opens, m³: ``late`` by its partner."""
        return min(self.squeezed + self.late, self.drive.displacement)

    @property
    def opening_delay(self) -> float:
        """From the start of its stroke until it opens, s."""
        drive, held = self.drive, self.held_back
        if held <= 0.0:
            return self.motion.opening_delay
        swept = brentq(lambda time: drive.swept(time) - held, 0.0, drive.forward_end, xtol=1e-12)  # type: ignore[no-untyped-call]
        return max(float(swept), self.motion.opening_delay)

    @property
    def peak(self) -> tuple[float, float]:
        """Greatest flow of the piston, m³/s, and the loss over the check then, Pa."""
        at = int(np.argmax(self.motion.piston_flow))
        return float(self.motion.piston_flow[at]), float(self.motion.pressure_loss[at])


@dataclass(frozen=True, slots=True)
class Valves:
    """All checks of a case: what was followed, and by name why the others were not."""

    cycles: tuple[ValveCycle, ...]
    problems: dict[str, str]

    def back_flow_share(self) -> float:
        """What all checks let back in a cycle, as a share of the displacement.

        A stroke's volume is lost once by its inlet check and once by its outlet check.
        """
        total = 0.0
        for role in ("inlet", "outlet"):
            some = [cycle for cycle in self.cycles if cycle.valve.role == role]
            swept = sum(len(one.names) * one.drive.displacement for one in some)
            lost = sum(len(one.names) * one.motion.back_flow for one in some)
            total += lost / swept if swept else 0.0
        return total


def valves_of(context: Context, moving: InMotion, rate: float, *, limits: bool = True) -> Valves:
    """Follow every check of the case at ``rate``, cycles/s.

    Without ``limits`` the highest rates are not sought, which takes far longer than the rest.
    """
    fluid: Fluid = curve_of(context) or Newtonian(context.job.fluid.viscosity.nominal)
    groups: dict[tuple[object, ...], list[str]] = {}
    problems: dict[str, str] = {}
    for name, valve in context.model.check_valves.items():
        try:
            key = _check(context, valve), _drive(context, moving, valve, rate), valve.role
        except ValueError as problem:
            problems[name] = str(problem)
            continue
        groups.setdefault(key, []).append(name)
    made: list[ValveCycle] = []
    for names in groups.values():
        try:
            made.append(_follow(context, moving, tuple(names), fluid, rate, limits))
        except ValueError as problem:
            problems |= dict.fromkeys(names, str(problem))
    return Valves(tuple(_with_partner(one, made) for one in made), problems)


def _follow(
    context: Context,
    moving: InMotion,
    names: tuple[str, ...],
    fluid: Fluid,
    rate: float,
    limits: bool,
) -> ValveCycle:
    valve = context.model.check_valves[names[0]]
    check, drive = _check(context, valve), _drive(context, moving, valve, rate)
    motion = motion_of(check, fluid, drive)
    limit = limit_of(check, fluid, drive) if limits and _excess(motion) <= 0.0 else None
    squeezed = _squeeze_share(context, valve) * drive.displacement
    return ValveCycle(names, valve, check, drive, motion, limit, squeezed)


def _with_partner(cycle: ValveCycle, others: list[ValveCycle]) -> ValveCycle:
    """Add what the check at the other end of the same chamber lets back before it is shut.

    It is the one of the other role whose stroke ends where this one's begins.
    """
    mine = opens_on(cycle.valve)
    for other in others:
        there = other.valve.role != cycle.valve.role and opens_on(other.valve) != mine
        if there and math.isclose(other.drive.displacement, cycle.drive.displacement):
            return replace(cycle, late=other.motion.back_flow)
    return cycle


@functools.lru_cache(maxsize=128)
def motion_of(check: BallCheck, fluid: Fluid, drive: Drive) -> BallMotion:
    """Follow a ball over one cycle; each once."""
    return ball_motion(check, fluid, drive, tolerance=_TOLERANCE)


@functools.lru_cache(maxsize=512)
def limit_of(check: BallCheck, fluid: Fluid, drive: Drive) -> Limit:
    """Give the highest rate at which a ball in time at ``drive``'s is still so.

    Sought upward in coarse steps to twice that rate, then closed in on; the strokes keep the
    shares of the cycle they have.
    """

    @functools.cache  # closing in begins with both ends again
    def excess(log_more: float) -> float:
        turned = replace(drive, rate=drive.rate * math.exp(log_more))
        return _over(drawn_back_share(check, fluid, turned, tolerance=_ROUGH))

    low, step = 0.0, math.log(LOOK_UP_TO) / _STEPS
    for _ in range(_STEPS):
        if excess(low + step) > 0.0:
            if excess(low) > 0.0:  # on the limit itself, but for the tolerance
                return Limit(drive.rate, beyond=False)
            found = brentq(excess, low, low + step, xtol=_RATE_NEAR)  # type: ignore[no-untyped-call]
            return Limit(drive.rate * math.exp(found), beyond=False)
        low += step
    return Limit(drive.rate * LOOK_UP_TO, beyond=True)


def _excess(motion: BallMotion) -> float:
    """By how much too late a ball comes home, above zero where it is.

    A logarithm, as it is near straight over the logarithm of the rate.
    """
    return _over(motion.back_flow_share if motion.closes else math.inf)


def _over(share: float) -> float:
    return math.log(min(max(share, 1e-9), 1.0) / BACK_FLOW_MOST)


def _check(context: Context, valve: CheckValve) -> BallCheck:
    """A check as its ball moves: what pressure it shuts against plays no part."""
    rate = valve.spring.rate if valve.spring else None
    return BallCheck(
        ball=valve.ball.diameter.nominal,
        ball_material=material(valve.ball.material),
        seat=seat_of(valve.seat),
        seat_material=material(valve.seat.material),
        lift=valve.lift.nominal,
        closing_pressure=0.0,
        fluid_density=context.job.fluid.density.nominal,
        spring_force=spring_of(valve.spring)[1],
        spring_rate=nominal(rate, 0.0),
        tilt=OPENING_TILT[valve.opens],
    )


def opens_on(valve: CheckValve) -> Stroke:
    """The stroke on which a check lets through: the one on which it need not hold."""
    return "down-stroke" if valve.holds_on in ("up-stroke", "suction") else "up-stroke"


def told_by_stroke(context: Context, valve: CheckValve) -> bool:
    """Whether the sheet tells which of two unequal chambers a check belongs to."""
    double = context.model.architecture == "double-acting-piston"
    return not double or valve.holds_on in ("up-stroke", "down-stroke")


def _drive(context: Context, moving: InMotion, valve: CheckValve, rate: float) -> Drive:
    """How the piston drives the flow of a check's own chamber, from the stroke that opens it."""
    cylinder, opens = moving.cylinder, opens_on(valve)
    volumes = cylinder.volumes("drawn" if valve.role == "inlet" else "delivered")
    swept = volumes[0] if opens == "up-stroke" else volumes[1]
    if context.model.architecture == "single-acting-piston" and len(cylinder.chambers) > 1:
        swept = sum(cylinder.volumes("drawn"))  # a differential piston's own check passes it all
    elif swept == 0.0 or not told_by_stroke(context, valve):
        swept = max(volumes)
    up = opens == "up-stroke"
    if isinstance(moving.motion, CrankMotion):
        start: Start = "head end" if up else "crank end"
        return CrankDrive(rate, swept, moving.motion.rod_ratio, start)
    share = moving.motion.up_share if up else 1.0 - moving.motion.up_share
    return AirDrive(rate, swept, moving.motion.dwell, forward_share=share)


def _squeeze_share(context: Context, valve: CheckValve) -> float:
    """Share of a stroke that the fluid's give takes, where the card tells of it.

    Before an outlet check opens, chamber and clearance come up to the working pressure; before an
    inlet check opens, the clearance comes down from it.
    """
    job, clearance = context.job, nominal(context.model.fluid_end.clearance_ratio, 0.0)
    low = nominal(job.duty.inlet_pressure, 0.0) + ATMOSPHERE
    high = job.duty.working_pressure.nominal + ATMOSPHERE
    if not 0.0 < low < high:
        return 0.0
    room = clearance if valve.role == "inlet" else 1.0 + clearance
    air = nominal(job.fluid.air_share, 0.0)
    modulus = nominal(job.fluid.bulk_modulus, math.inf)
    return min(room * ((1.0 - air) * (high - low) / modulus + air * (1.0 - low / high)), 1.0)


def fluid_gives(context: Context) -> Iterator[str]:
    """Name what the card does not tell of the fluid's give."""
    fluid = context.job.fluid
    for name, amount in (("bulk_modulus", fluid.bulk_modulus), ("air_share", fluid.air_share)):
        if amount is None:
            yield name
