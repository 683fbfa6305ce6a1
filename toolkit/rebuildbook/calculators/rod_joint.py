"""The big-nut joints on the rods of a pump, and the rod itself as a column.

A piston sits between a shoulder of its rod and a nut. One stroke pushes it against the nut and
tries to lift it off the shoulder, the other pushes it against the shoulder and relieves the nut.
The joint lasts while both faces stay clamped at both reversals; once one opens, every stroke
hammers, the locker cracks and the nut walks.

Sources: [1] Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., sections 4-11
to 4-13 and 8-7. [2] VDI 2230 part 1, load introduced inside the joint, here derived from the
springs. [3] Shear of a cylinder: torque of a cured locker from its shear strength.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.units import quantities

EndCondition = Literal["fixed-free", "rounded-rounded", "fixed-rounded", "fixed-fixed"]

# end-condition constants recommended by [1, table 4-2]; theory gives 2 and 4 for the last two,
# which no bushing in a pump deserves
END_CONDITIONS: dict[EndCondition, float] = {
    "fixed-free": 0.25,
    "rounded-rounded": 1.0,
    "fixed-rounded": 1.2,
    "fixed-fixed": 1.2,
}


@quantities("N", pressure="Pa", area="m^2", surge="")
def stroke_load(pressure: Any, area: Any, surge: Any = 1.0) -> Any:
    """Force a stroke puts on piston and rod, F = p A s (N).

    ``pressure`` p across the piston (Pa), at stall the greatest; ``area`` A it acts on (m²; the
    annulus on the rod side); ``surge`` s (1) for the shock of a valve that closes late, 1 at stall.

    >>> f"{stroke_load('60 bar', '25 cm^2').to('kN').magnitude:.1f} kN"
    '15.0 kN'
    """
    return pressure * positive("area", area) * positive("surge factor", surge)


@dataclass(frozen=True, slots=True)
class Reversal:
    """A rod joint over both strokes (N).

    ``nut_greatest`` and ``nut_least`` are what nut and rod thread carry, ``shoulder_least`` and
    ``shoulder_greatest`` what presses the piston on its shoulder. ``margin`` is the factor on
    both stroke loads at which the first face opens, infinite where no load acts.
    """

    nut_least: float
    nut_greatest: float
    shoulder_least: float
    shoulder_greatest: float
    margin: float

    @property
    def stays_closed(self) -> bool:
        """Whether both faces stay clamped at both reversals."""
        return self.margin > 1.0


def reversal(
    preload: float,
    joint_constant: float,
    toward_nut: float,
    toward_shoulder: float,
    load_plane: float = 0.0,
) -> Reversal:
    """Follow the two faces of a piston clamped on its rod through both strokes [2].

    With the load toward the nut Q: nut N = Fi + (1 − n) C Q, shoulder S = N − Q; toward the
    shoulder the signs turn. ``preload`` Fi (N); ``joint_constant`` C of rod thread and piston;
    ``toward_nut`` and ``toward_shoulder`` the stroke loads, both as positive numbers (N);
    ``load_plane`` n, where along the piston the load enters: 0 at the nut's face, 1 at the
    shoulder. A rod screwed to a rod against a shoulder is the case n = 0: tension acts toward
    the nut. Past opening, the open face carries nothing and the other the stroke load.

    >>> both = reversal(20e3, 0.25, 12e3, 15e3)
    >>> both.nut_greatest, both.shoulder_least, f"{both.margin:.2f}"
    (23000.0, 11000.0, '2.22')
    """
    positive("preload", preload)
    _check_share(joint_constant, load_plane)
    share = (1.0 - load_plane) * joint_constant
    pull, push = not_negative("load toward the nut", toward_nut), toward_shoulder
    not_negative("load toward the shoulder", push)
    nut_high = max(preload + share * pull, pull)
    nut_low = max(preload - share * push, 0.0)
    margins = [preload / (share * push)] if share * push > 0.0 else []
    if pull > 0.0:
        margins.append(preload / ((1.0 - share) * pull))
    return Reversal(
        nut_least=nut_low,
        nut_greatest=nut_high,
        shoulder_least=nut_high - pull,
        shoulder_greatest=nut_low + push,
        margin=min(margins, default=math.inf),
    )


@quantities("N", toward_nut="N", toward_shoulder="N", joint_constant="", load_plane="", factor="")
def preload_for_reversal(
    toward_nut: Any,
    toward_shoulder: Any,
    joint_constant: Any,
    *,
    load_plane: Any = 0.0,
    factor: Any = 1.5,
) -> Any:
    """Least preload that keeps both faces of the piston clamped, Fi (N) [2].

    Fi = s · max((1 − (1 − n) C) Q_nut, (1 − n) C Q_shoulder). Parameters as in ``reversal``;
    ``factor`` s on the loads (1; 1.5 is common practice, no source).

    >>> f"{preload_for_reversal('12 kN', '15 kN', 0.25, factor=1.0).to('kN').magnitude:.1f} kN"
    '9.0 kN'
    """
    _check_share(joint_constant, load_plane)
    share = (1.0 - load_plane) * joint_constant
    lift = (1.0 - share) * not_negative("load toward the nut", toward_nut)
    relieve = share * not_negative("load toward the shoulder", toward_shoulder)
    return positive("factor", factor) * np.maximum(lift, relieve)


@quantities("N*m", shear_strength="Pa", diameter="m", engagement="m")
def locker_torque(shear_strength: Any, diameter: Any, engagement: Any) -> Any:
    """Torque that breaks the cured locker of a thread, T = τ π d² L/2 (N·m) [3].

    ``shear_strength`` τ of the cured locker on this surface (Pa; its data sheet, less on stainless
    steel and zinc), ``diameter`` d of the thread and wetted ``engagement`` L (m). What breaking
    the clamp takes comes on top; what turning on takes is less.

    >>> f"{locker_torque('12 MPa', '24 mm', '24 mm').magnitude:.0f} N·m"
    '261 N·m'
    """
    positive("engagement", engagement)
    strength = not_negative("shear strength", shear_strength)
    return strength * math.pi * positive("diameter", diameter) ** 2 * engagement / 2.0


@quantities("", length="m", diameter="m", bore="m")
def slenderness(length: Any, diameter: Any, bore: Any = 0.0) -> Any:
    """Slenderness of a round rod, l/k with k = √(d² + di²)/4 (1) [1].

    Free ``length`` l, ``diameter`` d, ``bore`` di of a hollow rod (m).

    >>> slenderness("1.5 m", "40 mm")  # [1] example 4-17: 150
    150.0
    """
    _check_wall(diameter, bore)
    gyration = (diameter**2 + bore**2) ** 0.5 / 4.0
    return positive("length", length) / gyration


@quantities("", modulus="Pa", yield_strength="Pa", end_constant="")
def transition_slenderness(modulus: Any, yield_strength: Any, end_constant: Any = 1.0) -> Any:
    """Slenderness from which Euler's formula holds, (l/k)₁ = √(2 π² C E/Sy) (1) [1, eq. 4-45].

    ``modulus`` E, ``yield_strength`` Sy (Pa), ``end_constant`` C (1).

    >>> f"{transition_slenderness('207 GPa', '500 MPa'):.1f}"  # [1] example 4-17: 90.4
    '90.4'
    """
    positive("end-condition constant", end_constant)
    ratio = positive("modulus", modulus) / positive("yield strength", yield_strength)
    return np.sqrt(2.0 * math.pi**2 * end_constant * ratio)


@quantities(
    "N", length="m", diameter="m", modulus="Pa", yield_strength="Pa", end_constant="", bore="m"
)
def critical_load(
    length: Any,
    diameter: Any,
    *,
    modulus: Any,
    yield_strength: Any,
    end_constant: Any = 1.0,
    bore: Any = 0.0,
) -> Any:
    """Load at which a central rod buckles or yields, Euler or Johnson (N) [1, eqs. 4-43, 4-46].

    Euler Pcr = A C π² E/(l/k)² above the transition slenderness, below it Johnson
    Pcr = A (Sy − (Sy l/2πk)²/(C E)). ``length`` l, ``diameter`` d, ``bore`` di (m), ``modulus`` E
    and ``yield_strength`` Sy (Pa), ``end_constant`` C from ``END_CONDITIONS`` (1). The diameter
    is the thinnest over the free length; a rod bent or pushed off centre holds less.

    >>> load = critical_load("1.5 m", "37.48 mm", modulus="207 GPa", yield_strength="500 MPa")
    >>> f"{load.to('kN').magnitude:.1f} kN"  # [1] example 4-17: designed for 88 kN
    '88.0 kN'
    """
    slender = slenderness.si(length, diameter, bore)
    limit = transition_slenderness.si(modulus, yield_strength, end_constant)
    area = math.pi / 4.0 * (diameter**2 - bore**2)
    stiff = end_constant * modulus
    euler = area * math.pi**2 * stiff / slender**2
    johnson = area * (yield_strength - (yield_strength * slender / (2.0 * math.pi)) ** 2 / stiff)
    return np.where(np.greater(slender, limit), euler, johnson)[()]


@quantities("", thrust="N", critical_load="N")
def column_factor(thrust: Any, critical_load: Any) -> Any:
    """Factor of the critical load over the thrust on the rod, at stall the greatest (1).

    ``thrust`` and ``critical_load`` (N).

    >>> column_factor("22 kN", "88 kN")  # [1] example 4-17, the design factor
    4.0
    """
    return positive("critical load", critical_load) / positive("thrust", thrust)


def _check_share(joint_constant: Any, load_plane: Any) -> None:
    if not np.all(np.greater(joint_constant, 0.0) & np.less(joint_constant, 1.0)):
        raise ValueError(f"joint constant is {joint_constant}; it must lie between 0 and 1")
    within("load plane", load_plane, 0.0, 1.0)


def _check_wall(diameter: Any, bore: Any) -> None:
    not_negative("bore", bore)
    positive("wall of the rod", np.subtract(diameter, bore))
