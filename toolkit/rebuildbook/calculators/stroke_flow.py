"""The flow a piston drives through one of its checks over a cycle: crank or air drive.

A cycle begins where the stroke begins that opens the check; flow that way counts positive. In the
second half of the cycle the piston goes back and the check has to be shut. Fluid and chamber do not
give; what little they give can be set against the opening of the check in `ball_motion`.

References
----------
1. Slider-crank kinematics: any textbook on mechanisms.
2. Air drives run at an even speed between reversals and stand at the ends while the pilot shifts:
   common practice, no source. The shares of the time are to be read off the pump.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

from rebuildbook.calculators.bounds import positive, within

Start = Literal["head end", "crank end"]


@dataclass(frozen=True, slots=True)
class CrankDrive:
    """A piston on a crank; SI floats.

    ``rate`` in cycles/s, ``displacement`` the volume of one stroke in m³, ``rod_ratio`` λ the crank
    radius over the length of the connecting rod (0: endless rod). ``start``: the dead centre at
    which the check opens. An inlet check of a plunger pump opens from the head end, its outlet from
    the crank end; the piston is faster near the head end.
    """

    rate: float
    displacement: float
    rod_ratio: float = 0.2
    start: Start = "crank end"

    def __post_init__(self) -> None:
        positive("rate, 1/s,", self.rate)
        positive("displacement of a stroke, m³,", self.displacement)
        within("rod ratio", self.rod_ratio, 0.0, 0.9)
        if self.start not in {"head end", "crank end"}:
            raise ValueError(f"start {self.start!r} given; it is head end or crank end")

    @property
    def cycle(self) -> float:
        """Time of a cycle, s."""
        return 1.0 / self.rate

    @property
    def forward_end(self) -> float:
        """Time at which the flow that opened the check is over, s."""
        return 0.5 / self.rate

    @property
    def reversal(self) -> float:
        """Time at which the piston starts back, s."""
        return 0.5 / self.rate

    @property
    def breaks(self) -> tuple[float, ...]:
        """Times at which the flow has a corner, s."""
        return ()

    @property
    def _lean(self) -> float:
        return self.rod_ratio if self.start == "head end" else -self.rod_ratio

    def flow(self, time: float) -> float:
        """Give the flow, m³/s: Q = V/2 ω (sin φ ± λ/2 sin 2φ/(1 − λ² sin²φ)^½), φ = ω t [1].

        >>> drive = CrankDrive(rate=1.0, displacement=1e-3, rod_ratio=0.0)
        >>> round(drive.flow(0.25) / 1e-3, 4)  # π at mid-stroke
        3.1416
        """
        speed = 2.0 * math.pi * self.rate
        sine, cosine = math.sin(speed * time), math.cos(speed * time)
        root = math.sqrt(1.0 - (self.rod_ratio * sine) ** 2)
        return 0.5 * self.displacement * speed * sine * (1.0 + self._lean * cosine / root)

    def swept(self, time: float) -> float:
        """Give the volume, m³, by which the piston is away from its start: the integral of flow."""
        turn = 2.0 * math.pi * self.rate * time
        sine, ratio = math.sin(turn), self.rod_ratio
        # l − √(l² − r² sin²φ) over r, written so that an endless rod divides by nothing
        sag = ratio * sine**2 / (1.0 + math.sqrt(1.0 - (ratio * sine) ** 2))
        sag = sag if self.start == "head end" else -sag
        return 0.5 * self.displacement * (1.0 - math.cos(turn) + sag)


@dataclass(frozen=True, slots=True)
class AirDrive:
    """A piston or diaphragm driven at an even speed, with a stand at either end; SI floats.

    ``rate`` in cycles/s, ``displacement`` the volume of one stroke in m³. ``dwell_share`` is the
    share of the cycle in which it stands, half at each end. ``ramp_share`` is the share of a
    stroke's moving time in which it gains speed, and again loses it; above zero, as nothing starts
    at once. ``forward_share`` is the forward stroke's share of the moving time.
    """

    rate: float
    displacement: float
    dwell_share: float = 0.1
    ramp_share: float = 0.1
    forward_share: float = 0.5
    # ends and ramps of both ways, as the flow is asked for often: out, ramp, turn, back, ramp
    _marks: tuple[float, float, float, float, float] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        positive("rate, 1/s,", self.rate)
        positive("displacement of a stroke, m³,", self.displacement)
        within("dwell share", self.dwell_share, 0.0, 0.9)
        within("ramp share", self.ramp_share, 0.001, 0.5)
        within("forward share", self.forward_share, 0.01, 0.99)
        forward, reversal, back = self.forward_end, self.reversal, self._back
        marks = (forward, self.ramp_share * forward, reversal, back, self.ramp_share * back)
        object.__setattr__(self, "_marks", marks)

    @property
    def cycle(self) -> float:
        """Time of a cycle, s."""
        return 1.0 / self.rate

    @property
    def forward_end(self) -> float:
        """Time at which the flow that opened the check is over, s."""
        return self.forward_share * (1.0 - self.dwell_share) / self.rate

    @property
    def reversal(self) -> float:
        """Time at which the piston starts back, s."""
        return self.forward_end + 0.5 * self.dwell_share / self.rate

    @property
    def _back(self) -> float:
        """Time of the way back, s."""
        return (1.0 - self.forward_share) * (1.0 - self.dwell_share) / self.rate

    @property
    def breaks(self) -> tuple[float, ...]:
        """Times at which the flow has a corner, s."""
        shares = (self.ramp_share, 1.0 - self.ramp_share, 1.0)
        out = (share * self.forward_end for share in shares)
        return (*out, self.reversal, *(self.reversal + share * self._back for share in shares))

    def flow(self, time: float) -> float:
        """Give the flow, m³/s: a trapeze out, a stand, the same trapeze back, a stand [2].

        >>> drive = AirDrive(rate=0.5, displacement=1e-3, dwell_share=0.2, ramp_share=0.2)
        >>> round(drive.flow(0.4) * 1e3, 4), drive.flow(0.9)  # 1 L in 0.8 s less one ramp of 0.16 s
        (1.5625, 0.0)
        """
        move, ramp, turn, back, ramp_back = self._marks
        sign = 1.0
        if time >= turn:
            time, move, ramp, sign = time - turn, back, ramp_back, -1.0
        if time >= move:
            return 0.0
        most = sign * self.displacement / (move - ramp)
        if time < ramp:
            return most * (time / ramp)
        left = (move - time) / ramp
        return most * left if left < 1.0 else most

    def swept(self, time: float) -> float:
        """Give the volume, m³, by which the piston is away from its start: the integral of flow."""
        if time >= self.reversal:
            return self.displacement - self._travel(time - self.reversal, self._back)
        return self._travel(time, self.forward_end)

    def _travel(self, time: float, move: float) -> float:
        if time >= move:
            return self.displacement
        ramp = self.ramp_share * move
        if time > move - ramp:
            return self.displacement * (1.0 - (move - time) ** 2 / (2.0 * ramp * (move - ramp)))
        if time > ramp:
            return self.displacement * (time - ramp / 2.0) / (move - ramp)
        return self.displacement * time**2 / (2.0 * ramp * (move - ramp))


Drive = CrankDrive | AirDrive
