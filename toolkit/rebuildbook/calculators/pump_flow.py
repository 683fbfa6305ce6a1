"""What each stroke of a pump draws in and delivers, and how the flow runs over one cycle.

A pump is a set of chambers. Each says what it delivers and draws on the up-stroke and on the
down-stroke, and by how much of a cycle it lags the first. ``stroke_motion`` says how the strokes
are shared out in time. Directions as in ``drive``: the up-stroke draws the rod into the drive.

The flow is the ideal one: checks that open and shut at dead centre, no slip, no compression of the
fluid. Late checks and slip lower the mean and sharpen the pulse.

References
----------
1. Areas and volumes: ``drive``, whose sources name them.
2. A running surplus, volume delivered less volume at the mean flow, is what an accumulator takes up
   and gives back: conservation of volume, derived in ``pulsation``.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike

from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.calculators.drive import (
    StrokeAreas,
    annulus_area,
    delivered_flow,
    diaphragm_displacement,
    differential_areas,
    double_acting_areas,
    double_acting_displacement,
    single_acting_displacement,
)
from rebuildbook.calculators.stroke_motion import Floats, Motion

Side = Literal["delivered", "drawn"]
OneStroke = Literal["up-stroke", "down-stroke"]
SIDES: tuple[Side, ...] = ("delivered", "drawn")

STEPS = 5040  # a cycle; even for up to ten cylinders and for twelve, so that kinks fall on steps


@dataclass(frozen=True, slots=True)
class Chamber:
    """Volumes one chamber delivers and draws on each stroke (m³), ``lag`` in parts of a cycle."""

    name: str
    delivered_up: float = 0.0
    delivered_down: float = 0.0
    drawn_up: float = 0.0
    drawn_down: float = 0.0
    lag: float = 0.0

    def __post_init__(self) -> None:
        for side in SIDES:
            not_negative(f"{self.name}: volume {side}", self.volumes(side))
        if not 0.0 <= self.lag < 1.0:
            raise ValueError(f"{self.name}: lag is {self.lag}; it must be from 0 up to not 1")

    def volumes(self, side: Side) -> tuple[float, float]:
        """Volumes on the up-stroke and on the down-stroke, m³."""
        if side == "delivered":
            return self.delivered_up, self.delivered_down
        return self.drawn_up, self.drawn_down


@dataclass(frozen=True, slots=True)
class StrokeFlow:
    """A pump as the volumes its chambers move; what it draws in a cycle it delivers, m³.

    The volumes of a stroke are those of the whole pump where it has one rod or shaft; with several
    cylinders they are the sums over each cylinder's own up-stroke or down-stroke.
    """

    chambers: tuple[Chamber, ...]

    def __post_init__(self) -> None:
        if not self.chambers:
            raise ValueError("no chamber is given; a pump has at least one")
        drawn, delivered = sum(self.volumes("drawn")), sum(self.volumes("delivered"))
        if delivered <= 0.0:
            raise ValueError("the chambers deliver nothing")
        if not math.isclose(drawn, delivered, rel_tol=1e-9):
            raise ValueError(
                f"{drawn:g} m³ drawn and {delivered:g} m³ delivered in a cycle; they must agree"
            )

    def volumes(self, side: Side) -> tuple[float, float]:
        """Volumes on the up-stroke and on the down-stroke, m³."""
        ups, downs = zip(*(chamber.volumes(side) for chamber in self.chambers), strict=True)
        return math.fsum(ups), math.fsum(downs)

    @property
    def displacement(self) -> float:
        """Volume of a cycle, m³."""
        return sum(self.volumes("delivered"))

    def areas(self, side: Side, stroke: float) -> StrokeAreas:
        """Areas that push fluid out or draw it in on each stroke of length ``stroke`` (m), m²."""
        length = float(positive("stroke", stroke))
        up, down = self.volumes(side)
        return StrokeAreas(up / length, down / length)

    def flow(self, rate: Any, volumetric_efficiency: Any = 1.0) -> Any:
        """Mean flow (m³/s) at ``rate`` cycles/s; the efficiency is above 0 up to 1."""
        return delivered_flow.si(self.displacement, rate, volumetric_efficiency)


# architectures


def single_acting(
    bore: float, stroke: float, delivers: OneStroke = "down-stroke", rod: float = 0.0
) -> StrokeFlow:
    """Two-ball single-acting piston: draws on one stroke, delivers on the other; m.

    Where it delivers on the up-stroke, its rod takes part of the bore.

    >>> pump = single_acting(0.100, 0.120)
    >>> [round(1e6 * volume, 1) for volume in pump.volumes("delivered")]
    [0.0, 942.5]
    """
    length = float(positive("stroke", stroke))
    annulus = float(annulus_area.si(bore, rod)) * length
    if delivers == "up-stroke":
        return StrokeFlow((Chamber("rod side", delivered_up=annulus, drawn_down=annulus),))
    volume = float(single_acting_displacement.si(bore, length))
    return StrokeFlow((Chamber("piston side", delivered_down=volume, drawn_up=volume),))


def differential(bore: float, rod: float, stroke: float) -> StrokeFlow:
    """Two-ball differential piston: draws on the up-stroke, delivers on both; m.

    Up: π/4 D² L is drawn below the piston and π/4 (D² − d²) L leaves above it. Down: the piston
    check is open, the fluid passes through, and the rod that enters drives out π/4 d² L.

    >>> pump = differential(0.100, 0.070, 0.120)
    >>> [round(1e6 * volume, 1) for volume in pump.volumes("delivered")]
    [480.7, 461.8]
    """
    up, down = differential_areas(bore, rod).volumes(stroke)
    return StrokeFlow(
        (
            Chamber("past the rod", delivered_up=up, drawn_up=up + down),
            Chamber("by the rod entering", delivered_down=down),
        )
    )


def double_acting(
    bore: float, rod: float, stroke: float, tail_rod: float = 0.0, count: int = 1
) -> StrokeFlow:
    """Four-ball double-acting piston: each side draws while the other delivers; m.

    ``count`` cylinders on one crankshaft stand 180°/n apart, so two make the usual duplex.

    >>> pump = double_acting(0.100, 0.030, 0.120)
    >>> [round(1e6 * volume, 1) for volume in pump.volumes("delivered")]
    [857.7, 942.5]
    """
    double_acting_displacement.si(bore, rod, stroke, tail_rod, count)  # refuses an odd count
    up, _ = double_acting_areas(bore, rod).volumes(stroke)
    down, _ = double_acting_areas(bore, tail_rod).volumes(stroke)
    chambers = []
    for place in range(count):
        mark = f" {place + 1}" if count > 1 else ""
        lag = place / (2 * count)
        chambers += [
            Chamber(f"rod side{mark}", delivered_up=up, drawn_down=up, lag=lag),
            Chamber(f"head side{mark}", delivered_down=down, drawn_up=down, lag=lag),
        ]
    return StrokeFlow(tuple(chambers))


def plungers(diameter: float, stroke: float, count: int = 1) -> StrokeFlow:
    """Plunger pump, ``count`` plungers 360°/n apart: 1 simplex, 2 duplex, 3 triplex; m.

    >>> round(1e6 * plungers(0.030, 0.040, 3).displacement, 2)
    84.82
    """
    volume = float(single_acting_displacement.si(diameter, stroke, count)) / count
    return StrokeFlow(
        tuple(
            Chamber(
                f"plunger {place + 1}", delivered_down=volume, drawn_up=volume, lag=place / count
            )
            for place in range(count)
        )
    )


def double_diaphragm(volume: float) -> StrokeFlow:
    """Four-ball double diaphragm pump by its ``volume`` a cycle (m³), both chambers together.

    >>> double_diaphragm(1.6e-3).volumes("drawn")
    (0.0008, 0.0008)
    """
    half = float(positive("volume a cycle", volume)) / 2.0
    return StrokeFlow(
        (
            Chamber("first chamber", delivered_up=half, drawn_down=half),
            Chamber("second chamber", delivered_down=half, drawn_up=half),
        )
    )


def double_diaphragm_by_area(effective_area: float, stroke: float) -> StrokeFlow:
    """The same by the effective area (m²) of one diaphragm and its stroke (m)."""
    return double_diaphragm(float(diaphragm_displacement.si(effective_area, stroke)))


# flow over a cycle


@dataclass(frozen=True, slots=True)
class CycleFlow:
    """Flow over one cycle, m³/s; ``phase`` in parts of a cycle, one row of ``parts`` a chamber."""

    side: Side
    rate: float
    phase: Floats
    total: Floats
    parts: Floats
    names: tuple[str, ...]
    mean: float


@dataclass(frozen=True, slots=True)
class Pulsation:
    """How unsteady a flow is, plain numbers.

    ``peak`` and ``trough`` are over the mean. ``above_mean`` is the volume moved above the mean
    flow in all humps of a cycle, ``swing`` the reach of the running surplus, both over the
    displacement. An accumulator must take up ``swing``; the two agree where a cycle has one hump.
    """

    peak: float
    trough: float
    above_mean: float
    swing: float


def flow_at(
    pump: StrokeFlow, motion: Motion, rate: float, phase: ArrayLike, side: Side = "delivered"
) -> CycleFlow:
    """Flow at each ``phase`` (parts of a cycle) of a pump at ``rate`` (cycles/s); m³/s."""
    at = np.asarray(phase, dtype=float)
    speed = float(not_negative("rate", rate))
    rows = []
    for chamber in pump.chambers:
        up, down = motion.speeds(at - chamber.lag)
        volume_up, volume_down = chamber.volumes(side)
        rows.append(speed * (volume_up * up + volume_down * down))
    parts = np.array(rows)
    names = tuple(chamber.name for chamber in pump.chambers)
    return CycleFlow(side, speed, at, parts.sum(axis=0), parts, names, pump.displacement * speed)


def flow_over_cycle(
    pump: StrokeFlow, motion: Motion, rate: float, side: Side = "delivered", steps: int = STEPS
) -> CycleFlow:
    """Flow at ``steps`` + 1 even phases, the last a hair before the next cycle begins; m³/s."""
    phase = np.linspace(0.0, 1.0, _steps(steps) + 1)
    phase[-1] = np.nextafter(1.0, 0.0)  # an air motor jumps at 1; that jump is the next cycle's
    return flow_at(pump, motion, rate, phase, side)


def volume_moved(
    pump: StrokeFlow, motion: Motion, phase: ArrayLike, side: Side = "delivered"
) -> Floats:
    """Volume delivered or drawn from phase 0 to each ``phase`` (parts of a cycle), m³; exact."""
    at = np.asarray(phase, dtype=float)
    moved = np.zeros_like(at)
    for chamber in pump.chambers:
        here, start = motion.travel(at - chamber.lag), motion.travel(-chamber.lag)
        for way, volume in enumerate(chamber.volumes(side)):
            moved = moved + volume * (here[way] - start[way])
    return moved


@functools.lru_cache(maxsize=128)
def pulsation(
    pump: StrokeFlow, motion: Motion, side: Side = "delivered", steps: int = STEPS
) -> Pulsation:
    """Peak and trough of the flow and the volume an accumulator must take up [2].

    The surplus ∫(Q − Qm) dt is worked from the travel, exactly at each step; the volume above the
    mean is the sum of its rises, the swing its highest point over its lowest, since it repeats.

    >>> from rebuildbook.calculators.stroke_motion import CrankMotion
    >>> simplex = pulsation(plungers(0.030, 0.040), CrankMotion())
    >>> round(simplex.peak, 3), round(simplex.above_mean, 3)
    (3.142, 0.551)
    """
    phase = np.linspace(0.0, 1.0, _steps(steps) + 1)
    middles = (phase[:-1] + phase[1:]) / 2.0  # both sides of an air motor's jumps are met
    flow = flow_at(pump, motion, 1.0, np.concatenate([phase, middles]), side)
    surplus = volume_moved(pump, motion, phase, side) / pump.displacement - phase
    return Pulsation(
        float(flow.total.max() / flow.mean),
        float(flow.total.min() / flow.mean),
        float(np.clip(np.diff(surplus), 0.0, None).sum()),
        float(np.ptp(surplus)),
    )


def accumulator_swing(pump: StrokeFlow, motion: Motion, side: Side = "delivered") -> float:
    """Fluid volume that must go into and out of an accumulator for a steady flow, m³."""
    return pulsation(pump, motion, side).swing * pump.displacement


def _steps(steps: int) -> int:
    return int(within("steps", steps, 16, 1_000_000))
