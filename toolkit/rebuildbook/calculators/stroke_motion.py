"""How the strokes of a pump are shared out over one cycle: by a crank, or by an air motor.

Phase counts in parts of a cycle from 0, where the up-stroke begins; the up-stroke draws the rod
into the drive, toward the crank.

References
----------
1. Slider-crank kinematics, any textbook on mechanisms; the speed is ``drive.crank_flow``.
2. An air motor has no crank: it runs at a near constant speed and rests while its valve changes
   over. Common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rebuildbook.calculators.drive import crank_flow

Floats = NDArray[np.float64]


class Motion(Protocol):
    """How strokes are shared out over a cycle; phase 0 is where the up-stroke begins."""

    def __hash__(self) -> int: ...

    def speeds(self, phase: ArrayLike) -> tuple[Floats, Floats]:
        """Speed up and speed down, strokes a cycle; neither is below zero."""
        ...

    def travel(self, phase: ArrayLike) -> tuple[Floats, Floats]:
        """Strokes made up and down since phase 0; each grows by one in a cycle."""
        ...


@dataclass(frozen=True, slots=True)
class CrankMotion:
    """Slider-crank at constant speed; ``rod_ratio`` λ is crank radius over connecting rod [1].

    >>> up, down = CrankMotion().speeds([0.25, 0.75])  # mid-stroke: π strokes a cycle
    >>> up.round(4).tolist(), down.round(4).tolist()
    ([3.1416, 0.0], [0.0, 3.1416])
    """

    rod_ratio: float = 0.0

    def __post_init__(self) -> None:
        crank_flow(0.0, 1, self.rod_ratio)  # refuses a ratio no crank has

    def speeds(self, phase: ArrayLike) -> tuple[Floats, Floats]:
        """Speed up and speed down, strokes a cycle."""
        angle = 2.0 * math.pi * np.asarray(phase, dtype=float)
        # the speed is odd about dead centre, so the down-stroke is the up-stroke run backwards
        return crank_flow(angle, 1, self.rod_ratio), crank_flow(-angle, 1, self.rod_ratio)

    def rises(self, phase: ArrayLike) -> tuple[Floats, Floats]:
        """How fast speed up and speed down rise, strokes a cycle²; at dead centre as they begin.

        2π² (cos α + λ cos 2α/s + λ³ sin² 2α/(4 s³)) with s = √(1 − λ² sin² α); the speed's slope.
        """
        _, part = _split(phase)
        angle = 2.0 * math.pi * part
        slant = np.sqrt(1.0 - (self.rod_ratio * np.sin(angle)) ** 2)
        lean = self.rod_ratio * np.cos(2.0 * angle) / slant
        swing = (self.rod_ratio * np.sin(2.0 * angle)) ** 2 * self.rod_ratio / (4.0 * slant**3)
        rise = 2.0 * math.pi**2 * (np.cos(angle) + lean + swing)
        return np.where(part < 0.5, rise, 0.0), np.where(part < 0.5, 0.0, -rise)

    def travel(self, phase: ArrayLike) -> tuple[Floats, Floats]:
        """Strokes made up and down since phase 0, (1 − cos α)/2 + (1 − √(1 − λ² sin² α))/(2λ)."""
        whole, part = _split(phase)
        angle = 2.0 * math.pi * part
        slant = np.sqrt(1.0 - (self.rod_ratio * np.sin(angle)) ** 2)
        lead = self.rod_ratio * np.sin(angle) ** 2 / (2.0 * (1.0 + slant))  # no division by λ
        place = (1.0 - np.cos(angle)) / 2.0 + lead
        rising = part < 0.5
        return whole + np.where(rising, place, 1.0), whole + np.where(rising, 0.0, 1.0 - place)


@dataclass(frozen=True, slots=True)
class AirMotion:
    """Constant speed on each stroke, at rest during the change-overs [2].

    ``dwell`` is the share of the cycle spent in both change-overs together, half of it after each
    stroke; ``up_share`` is the up-stroke's share of the moving time. ``air_drive`` gives both.
    """

    dwell: float = 0.0
    up_share: float = 0.5

    def __post_init__(self) -> None:
        if not 0.0 <= self.dwell < 1.0:
            raise ValueError(f"dwell is {self.dwell}; it must be from 0 up to not 1")
        if not 0.0 < self.up_share < 1.0:
            raise ValueError(f"up share is {self.up_share}; it must lie between 0 and 1")

    def _turns(self) -> tuple[float, float, float]:
        """Phases at which the up-stroke ends, the down-stroke begins and ends."""
        moving = 1.0 - self.dwell
        up = self.up_share * moving
        return up, up + self.dwell / 2.0, 1.0 - self.dwell / 2.0

    def speeds(self, phase: ArrayLike) -> tuple[Floats, Floats]:
        """Speed up and speed down, strokes a cycle."""
        _, part = _split(phase)
        top, begin, end = self._turns()
        up = np.where(part < top, 1.0 / top, 0.0)
        down = np.where((part >= begin) & (part < end), 1.0 / (end - begin), 0.0)
        return up, down

    def travel(self, phase: ArrayLike) -> tuple[Floats, Floats]:
        """Strokes made up and down since phase 0."""
        whole, part = _split(phase)
        top, begin, end = self._turns()
        up = np.clip(part / top, 0.0, 1.0)
        return whole + up, whole + np.clip((part - begin) / (end - begin), 0.0, 1.0)


def _split(phase: ArrayLike) -> tuple[Floats, Floats]:
    """Whole cycles, and the part of one begun."""
    at = np.asarray(phase, dtype=float)
    whole = np.floor(at)
    return whole, at - whole
