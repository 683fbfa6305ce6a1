"""How fast an air or oil motor drives a pump, what its rod carries, and the air it uses.

On each stroke the motor's chamber settles at the pressure that the load asks for, and fluid fills
that chamber as fast as the inlet opening admits at this pressure: little load, fast and choked;
near stall, hardly at all. The piston is taken to run at that constant speed from end to end, its
air at one temperature. Gauge pressures; directions as in ``drive``: the up-stroke draws the rod
into the drive. Weights and the losses of the ball checks are left out; a check's loss may be added
to the outlet pressure.

References
----------
1. Equilibrium of the rod and continuity of the fluid that fills the chamber: derived here.
2. ``air_flow`` for air through the inlet and the exhaust; ``drive.free_air`` for ideal air use.
3. Orifice equation, q = Cd A √(2Δp/ρ): any textbook on fluid power.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from scipy.optimize import brentq

from rebuildbook.calculators.air_flow import GAS_CONSTANT, Opening
from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.calculators.drive import ATMOSPHERE, ROOM, Stall, StrokeAreas, free_air
from rebuildbook.calculators.pump_flow import StrokeFlow
from rebuildbook.calculators.stroke_motion import AirMotion, Floats
from rebuildbook.units import quantities


@quantities(
    "m^3", swept_volume="m^3", supply_pressure="Pa", clearance_share="", atmospheric_pressure="Pa"
)
def free_air_use(
    swept_volume: Any,
    supply_pressure: Any,
    clearance_share: Any = 0.0,
    atmospheric_pressure: Any = ATMOSPHERE,
) -> Any:
    """Free air of a cycle with dead volume, V0 = V ((p + p0)/p0 + c p/p0) (m³) [2].

    An ideal piston filled to the supply pressure at room temperature. The dead volume keeps air at
    the atmosphere's pressure when the chamber is vented, so it takes p/p0 and not (p + p0)/p0 of
    its own. ``swept_volume`` V (m³) of both strokes, ``supply_pressure`` p (Pa gauge),
    ``clearance_share`` c dead over swept volume. Times the rate it is the flow. It is the most the
    air pistons can take: a running motor's chambers stay below the supply.

    >>> round(free_air_use("1 L", "6 bar", 0.1, "1 bar").to("L").magnitude, 6)
    7.6
    """
    share = not_negative("clearance share", clearance_share)
    swept = free_air.si(swept_volume, supply_pressure, atmospheric_pressure)
    return swept + share * swept_volume * supply_pressure / atmospheric_pressure


class Supply(Protocol):
    """What feeds the motor: the pressure it reaches and the flow it admits, Pa gauge and m³/s."""

    def __hash__(self) -> int: ...

    @property
    def pressure(self) -> float:
        """Pressure at the motor's valve, Pa gauge."""
        ...

    def intake(self, chamber: float) -> float:
        """Volume that enters a chamber at this pressure, m³/s counted in the chamber."""
        ...

    def release(self, chamber: float) -> float:
        """Volume that leaves a chamber at this pressure; infinite where nothing holds it."""
        ...

    def refill(self, dead_volume: float, chamber: float) -> float:
        """Volume, counted at the chamber's pressure, that fills a vented dead volume."""
        ...

    def free_volume(self, volume: float, chamber: float) -> float:
        """The same amount at the atmosphere's pressure and room temperature, m³."""
        ...


@dataclass(frozen=True, slots=True)
class AirSupply:
    """Compressed air: ``pressure`` Pa gauge at the valve while it flows, ``temperature`` K.

    ``exhaust`` None lets the spent air out without hindrance; a silencer or an iced port is an
    opening of its own and often what limits the speed.
    """

    pressure: float
    inlet: Opening
    exhaust: Opening | None = None
    temperature: float = ROOM
    atmosphere: float = ATMOSPHERE

    def __post_init__(self) -> None:
        not_negative("supply pressure", self.pressure)
        positive("air temperature", self.temperature)
        positive("atmospheric pressure", self.atmosphere)

    def intake(self, chamber: float) -> float:
        """Volume of air that enters, m³/s at the chamber's pressure."""
        inside = chamber + self.atmosphere
        upstream = self.pressure + self.atmosphere
        return self._volume(self.inlet.mass_flow(upstream, inside, self.temperature), inside)

    def release(self, chamber: float) -> float:
        """Volume of air that leaves to the atmosphere, m³/s at the chamber's pressure."""
        if self.exhaust is None:
            return math.inf
        inside = chamber + self.atmosphere
        flow = self.exhaust.mass_flow(inside, self.atmosphere, self.temperature)
        return self._volume(flow, inside)

    def refill(self, dead_volume: float, chamber: float) -> float:
        """Volume at the chamber's pressure that brings a vented dead volume up to it."""
        return dead_volume * chamber / (chamber + self.atmosphere)

    def free_volume(self, volume: float, chamber: float) -> float:
        """Free air in a volume at the chamber's pressure, m³."""
        if volume == 0.0:
            return 0.0
        return float(free_air.si(volume, chamber, self.atmosphere, self.temperature))

    def _volume(self, mass_flow: float, inside: float) -> float:
        return mass_flow * GAS_CONSTANT * self.temperature / inside


@dataclass(frozen=True, slots=True)
class OilSupply:
    """Hydraulic oil: ``pressure`` Pa at which its relief or compensator holds, ``flow`` m³/s.

    ``orifice`` (m², None for none) between that pressure and the motor, of coefficient
    ``discharge``, with oil of ``density`` kg/m³ [3].
    """

    pressure: float
    flow: float
    orifice: float | None = None
    discharge: float = 0.6
    density: float = 870.0

    def __post_init__(self) -> None:
        not_negative("supply pressure", self.pressure)
        positive("oil flow", self.flow)
        positive("density", self.density)

    def intake(self, chamber: float) -> float:
        """Volume of oil that enters, m³/s: the pump's flow, or less through the orifice."""
        drop = self.pressure - chamber
        if drop <= 0.0:
            return 0.0
        if self.orifice is None:
            return self.flow
        through = self.discharge * self.orifice * math.sqrt(2.0 * drop / self.density)
        return min(self.flow, through)

    def release(self, chamber: float) -> float:
        """Oil returns without hindrance; its return pressure is given with the drive."""
        return math.inf

    def refill(self, dead_volume: float, chamber: float) -> float:
        """A dead volume stays full of oil."""
        return 0.0

    def free_volume(self, volume: float, chamber: float) -> float:
        """Oil used, m³."""
        return volume


@dataclass(frozen=True, slots=True)
class DrivenPump:
    """A motor and a fluid end on one rod; ``stroke`` m.

    ``drive`` areas that the supply presses on each stroke; the other one exhausts. ``friction`` is
    the share of the motor's force that its seals take, ``seal_friction`` (N) what the fluid end's
    packing takes, ``exhaust_pressure`` (Pa gauge) what the exhaust holds back at least,
    ``clearance_share`` dead over swept volume, ``changeover`` (s) the time a reversal takes. A
    double diaphragm pump has the effective area of a diaphragm on both sides and both strokes.
    """

    drive: StrokeAreas
    fluid: StrokeFlow
    stroke: float
    friction: float = 0.0
    seal_friction: float = 0.0
    exhaust_pressure: float = 0.0
    clearance_share: float = 0.0
    changeover: float = 0.0

    def __post_init__(self) -> None:
        if min(self.drive.up, self.drive.down) <= 0.0:
            raise ValueError(
                "the drive does not push on both strokes; a return spring is not known"
            )
        within("friction", self.friction, 0.0, 0.99)
        positive("stroke", self.stroke)
        for name in ("seal_friction", "exhaust_pressure", "clearance_share", "changeover"):
            not_negative(name.replace("_", " "), getattr(self, name))

    def fluid_forces(self, outlet: float, inlet: float = 0.0) -> tuple[float, float]:
        """Force of the fluid against the up-stroke and against the down-stroke, N.

        F = p2 A2 − p1 A1 with the areas that deliver and draw; below zero where the inlet drives.
        """
        delivering = self.fluid.areas("delivered", self.stroke)
        drawing = self.fluid.areas("drawn", self.stroke)
        return (
            outlet * delivering.up - inlet * drawing.up,
            outlet * delivering.down - inlet * drawing.down,
        )

    def rod_loads(self, outlet: float, inlet: float = 0.0) -> tuple[float, float]:
        """Load of the rod between motor and fluid end on each stroke, N; tension is positive.

        The up-stroke pulls, the down-stroke pushes; the packing's friction is part of the load.
        Running loads: at a shut outlet put the stall pressure in. Not for a double diaphragm pump,
        whose rod only draws the chamber that fills.
        """
        up, down = self.fluid_forces(outlet, inlet)
        return up + self.seal_friction, -(down + self.seal_friction)


@dataclass(frozen=True, slots=True)
class StrokeRun:
    """One stroke as it runs: motor pressures Pa gauge, m/s, s moving and at rest, m³ used."""

    pressure: float
    exhaust: float
    speed: float
    moving: float
    rest: float
    supply_use: float


@dataclass(frozen=True, slots=True)
class DriveRun:
    """A driven pump in motion: ``rate`` cycles/s, ``flow`` m³/s delivered without slip.

    ``supply_use`` is the free air or the oil of a cycle, m³. At rest all of them are zero and the
    stroke that cannot move has no speed.
    """

    up: StrokeRun
    down: StrokeRun
    rate: float
    flow: float
    supply_use: float

    @property
    def stalled(self) -> bool:
        """Whether either stroke is held."""
        return self.rate == 0.0

    @property
    def supply_flow(self) -> float:
        """Free air or oil used, m³/s."""
        return self.rate * self.supply_use

    def motion(self) -> AirMotion:
        """How the cycle is shared out, for the flow over time; ValueError at stall."""
        if self.stalled:
            raise ValueError("the pump is stalled; a cycle has no end")
        moving = self.up.moving + self.down.moving
        return AirMotion(1.0 - moving * self.rate, self.up.moving / moving)


@functools.lru_cache(maxsize=1024)
def run(pump: DrivenPump, supply: Supply, outlet: float, inlet: float = 0.0) -> DriveRun:
    """Speed, rate and air use against an ``outlet`` pressure with an ``inlet`` pressure; Pa gauge.

    A stroke whose load is below the motor's friction still runs no faster than the inlet fills a
    chamber at the atmosphere's pressure, also where a boosted inlet helps it.
    """
    up_force, down_force = pump.fluid_forces(not_negative("outlet pressure", outlet), inlet)
    areas = pump.drive
    up = _stroke(pump, supply, up_force, areas.up, areas.down)
    down = _stroke(pump, supply, down_force, areas.down, areas.up)
    time = up.moving + up.rest + down.moving + down.rest
    if not math.isfinite(time):
        return DriveRun(up, down, 0.0, 0.0, 0.0)
    return DriveRun(
        up, down, 1.0 / time, pump.fluid.displacement / time, up.supply_use + down.supply_use
    )  # fmt: skip


def rates(pump: DrivenPump, supply: Supply, outlets: Iterable[float], inlet: float = 0.0) -> Floats:
    """Cycles/s against each of the ``outlets`` pressures, Pa gauge; zero from stall on."""
    return np.array([run(pump, supply, float(outlet), inlet).rate for outlet in outlets])


def stall(pump: DrivenPump, supply: Supply, inlet: float = 0.0) -> Stall:
    """Outlet pressure that stops each stroke, with friction, exhaust and inlet; Pa gauge.

    The larger is what a shut outlet can be brought to; the pump stops cycling at the smaller. For
    strength and relief take ``drive.stall_by_areas`` without friction. A stroke that does not
    deliver has none. Where a stroke cannot move at all its pressure is zero.
    """
    drive, delivering = pump.drive, pump.fluid.areas("delivered", pump.stroke)
    drawing = pump.fluid.areas("drawn", pump.stroke)

    def held(push: float, vent: float, out: float, drawn: float) -> float | None:
        if out == 0.0:
            return None
        motor = (1.0 - pump.friction) * (supply.pressure * push - pump.exhaust_pressure * vent)
        return max((motor - pump.seal_friction + inlet * drawn) / out, 0.0)

    up = held(drive.up, drive.down, delivering.up, drawing.up)
    down = held(drive.down, drive.up, delivering.down, drawing.down)
    highest = max(pressure for pressure in (up, down) if pressure is not None)
    if up is not None and down is not None and math.isclose(up, down, rel_tol=1e-12):
        return Stall(highest, "both strokes", up, down)
    return Stall(highest, "up-stroke" if up == highest else "down-stroke", up, down)


def _stroke(pump: DrivenPump, supply: Supply, force: float, push: float, vent: float) -> StrokeRun:
    """One stroke against ``force`` with the area that is pressed and the one that exhausts."""
    load = force + pump.seal_friction
    needed = load / (1.0 - pump.friction) if load > 0.0 else load  # a share helps nobody

    def vented(chamber: float) -> float:
        """Exhaust pressure that the force balance leaves at this chamber pressure."""
        return max((chamber * push - needed) / vent, pump.exhaust_pressure)

    def surplus(chamber: float) -> float:
        """Speed that the inlet admits less the speed that the exhaust admits, m/s."""
        return supply.intake(chamber) / push - supply.release(vented(chamber)) / vent

    chamber = max((needed + pump.exhaust_pressure * vent) / push, 0.0)
    if chamber >= supply.pressure:
        return StrokeRun(
            supply.pressure, pump.exhaust_pressure, 0.0, math.inf, pump.changeover, 0.0
        )
    exhaust = pump.exhaust_pressure
    if math.isfinite(supply.release(exhaust)):
        if surplus(chamber) > 0.0:
            top = supply.pressure
            chamber = float(brentq(surplus, chamber, top, xtol=1e-3))  # type: ignore[no-untyped-call]
        exhaust = vented(chamber)
    speed = min(supply.intake(chamber) / push, supply.release(exhaust) / vent)
    if speed <= 0.0:
        return StrokeRun(chamber, exhaust, 0.0, math.inf, pump.changeover, 0.0)
    swept = push * pump.stroke
    extra = supply.refill(pump.clearance_share * swept, chamber)
    rest = pump.changeover + extra / supply.intake(chamber)
    used = supply.free_volume(swept + extra, chamber)
    return StrokeRun(chamber, exhaust, speed, pump.stroke / speed, rest, used)
