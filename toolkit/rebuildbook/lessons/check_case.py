"""The check valve of lesson 5: a ball of one inch in a transfer pump, and how it moves."""

from __future__ import annotations

import functools
import math
from dataclasses import replace

from rebuildbook.calculators.ball_check import BallCheck
from rebuildbook.calculators.ball_motion import BallMotion, ball_motion
from rebuildbook.calculators.ball_seat import ConeSeat
from rebuildbook.calculators.drive import single_acting_displacement
from rebuildbook.calculators.flow_curve import Newtonian
from rebuildbook.calculators.materials import material
from rebuildbook.calculators.stroke_flow import CrankDrive

BORE, STROKE = 0.050, 0.080  # m
RATE, VISCOSITY = 80 / 60, 0.15  # 1/s, Pa·s
_STEEL = material("440C")

CHECK = BallCheck(
    ball=0.0254,
    ball_material=_STEEL,
    seat=ConeSeat(0.016, 0.022, math.pi / 2),
    seat_material=_STEEL,
    lift=0.006,
    closing_pressure=25e5,
    fluid_density=1650.0,
)
# what a shop may change: the check, the rate (1/s), the viscosity (Pa·s)
CHANGES: dict[str, tuple[BallCheck, float, float]] = {
    "the pump is run at 120 turns a minute in place of 80": (CHECK, 120 / 60, VISCOSITY),
    "the pump is run at 50 turns a minute in place of 80": (CHECK, 50 / 60, VISCOSITY),
    "the slip is three times as thick": (CHECK, RATE, 3 * VISCOSITY),
    "the slip is thinned to a fifth of its viscosity": (CHECK, RATE, VISCOSITY / 5),
    "the stop is worn away, and the ball lifts 9 mm in place of 6": (
        replace(CHECK, lift=0.009), RATE, VISCOSITY,
    ),
    "a light spring of 2 N is put on the ball": (
        replace(CHECK, spring_force=2.0, spring_rate=150.0), RATE, VISCOSITY,
    ),
    "a ball of silicon nitride, less than half as heavy, is put in": (
        replace(CHECK, ball_material=material("silicon nitride")), RATE, VISCOSITY,
    ),
    "a ball of tungsten carbide, twice as heavy, is put in": (
        replace(CHECK, ball_material=material("tungsten carbide")), RATE, VISCOSITY,
    ),
}  # fmt: skip


@functools.lru_cache(maxsize=64)
def motion(
    check: BallCheck = CHECK, rate: float = RATE, viscosity: float = VISCOSITY
) -> BallMotion:
    """Follow the ball over one cycle of the lesson's pump."""
    volume = float(single_acting_displacement.si(BORE, STROKE))
    return ball_motion(check, Newtonian(viscosity), CrankDrive(rate, volume))


@functools.cache
def back_flow(change: str = "") -> float:
    """Give the share of a stroke that flows back with a change, or as the pump was."""
    found = motion(*CHANGES[change]) if change else motion()
    return found.back_flow_share
