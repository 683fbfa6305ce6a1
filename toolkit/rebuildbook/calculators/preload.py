"""What the torque really does: torque to preload and back.

Three ways from torque to preload, from the roughest to the finest: a nut factor, the power-screw
form with the coefficients of thread and bearing face, and the same split VDI 2230 makes. Friction
takes some nine tenths of the torque, so a preload from torque is a range: see ``uncertainty``.
What the preload does to the fastener is in ``fastener_stress``.

Sources: [1] Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., section 8-8.
[2] VDI 2230 part 1, systematic calculation of highly stressed bolted joints (formulas from
memory). Both are worked for a 60° thread profile, half angle 30°.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from rebuildbook.calculators.bounds import not_negative, positive
from rebuildbook.units import quantities

HALF_ANGLE = math.pi / 6.0  # rad, half the profile angle of metric and unified threads


@quantities("N*m", preload="N", nut_factor="", diameter="m")
def torque_from_nut_factor(preload: Any, nut_factor: Any, diameter: Any) -> Any:
    """Torque for a preload by nut factor, T = K F d (N·m) [1, eq. 8-27].

    ``preload`` F (N), ``nut_factor`` K (1), nominal ``diameter`` d (m).

    >>> torque = torque_from_nut_factor("25 kip", 0.2, "0.75 in")  # [1] ex. 8-3(b)
    >>> round(torque.to("lbf*in").magnitude, 6)
    3750.0
    """
    _check_nut_factor(nut_factor, diameter)
    return nut_factor * not_negative("preload", preload) * diameter


@quantities("N", torque="N*m", nut_factor="", diameter="m", prevailing_torque="N*m")
def preload_from_nut_factor(
    torque: Any, nut_factor: Any, diameter: Any, prevailing_torque: Any = 0.0
) -> Any:
    """Preload that a torque leaves by nut factor, F = (T − Tp)/(K d) (N) [1, eq. 8-27].

    ``torque`` T at the nut (N·m), ``nut_factor`` K (1), nominal ``diameter`` d (m),
    ``prevailing_torque`` Tp (N·m) that a locking nut or a locker takes before any clamping. A
    torque below the prevailing torque clamps nothing and gives zero.

    >>> f"{preload_from_nut_factor('3750 lbf*in', 0.2, '0.75 in').to('kip'):.2f~P}"
    '25.00 kip'
    """
    _check_nut_factor(nut_factor, diameter)
    return _left(torque, prevailing_torque) / (nut_factor * diameter)


@quantities(
    "",
    diameter="m",
    pitch="m",
    mean_diameter="m",
    thread_friction="",
    bearing_friction="",
    bearing_diameter="m",
    half_angle="rad",
)
def nut_factor_power_screw(
    diameter: Any,
    *,
    pitch: Any,
    mean_diameter: Any,
    thread_friction: Any,
    bearing_friction: Any,
    bearing_diameter: Any,
    half_angle: Any = HALF_ANGLE,
) -> Any:
    """Nut factor by the power-screw form (1) [1, eq. 8-26].

    K = dm/(2d) · (tan λ + f sec α)/(1 − f tan λ sec α) + fc dc/(2d), tan λ = P/(π dm)

    ``diameter`` d, ``pitch`` P, ``mean_diameter`` dm of the thread, ``bearing_diameter`` dc, the
    mean diameter of the face that turns (all m; [1] takes dc = 1.25 d for a hexagon),
    ``thread_friction`` f and ``bearing_friction`` fc (1), ``half_angle`` α (rad).

    >>> long = nut_factor_power_screw(
    ...     "0.75 in", pitch="0.0625 in", mean_diameter="0.7093 in", thread_friction=0.15,
    ...     bearing_friction=0.15, bearing_diameter="0.9375 in"
    ... )
    >>> f"{long * 25e3 * 0.75:.0f} lbf·in"  # [1] example 8-3(c): 3551
    '3551 lbf·in'
    """
    _check_friction(thread_friction, bearing_friction)
    lead = positive("pitch", pitch) / (math.pi * positive("mean diameter", mean_diameter))
    rub = thread_friction / np.cos(half_angle)
    if np.any(rub * lead >= 1.0):
        raise ValueError(
            f"thread friction of {np.max(thread_friction):g} locks a thread this steep; no torque "
            "tightens it"
        )
    thread = mean_diameter / 2.0 * (lead + rub) / (1.0 - rub * lead)
    bearing = bearing_friction * positive("bearing diameter", bearing_diameter) / 2.0
    return (thread + bearing) / positive("diameter", diameter)


@quantities("N*m", preload="N", pitch="m", pitch_diameter="m", thread_friction="")
def thread_torque(preload: Any, pitch: Any, pitch_diameter: Any, thread_friction: Any) -> Any:
    """Thread's share of the torque, MG = F (P/2π + μG d2/√3) (N·m) [2]; it twists the shank.

    ``preload`` F (N), ``pitch`` P and ``pitch_diameter`` d2 (m), ``thread_friction`` μG (1). [2]
    prints the two factors rounded, 0.16 and 0.58.

    >>> thread_torque("10 kN", "1.5 mm", "9.026 mm", 0.12).magnitude  # 2.39 stretch, 6.25 friction
    8.64...
    """
    not_negative("thread friction", thread_friction)
    stretch = positive("pitch", pitch) / (2.0 * math.pi)
    rub = thread_friction * positive("pitch diameter", pitch_diameter) / math.sqrt(3.0)
    return not_negative("preload", preload) * (stretch + rub)


@quantities("N*m", preload="N", bearing_friction="", bearing_diameter="m")
def bearing_torque(preload: Any, bearing_friction: Any, bearing_diameter: Any) -> Any:
    """Share of the torque lost under the turned head or nut, MK = F μK DKm/2 (N·m) [2].

    ``preload`` F (N), ``bearing_friction`` μK (1), ``bearing_diameter`` DKm (m).
    """
    not_negative("bearing friction", bearing_friction)
    positive("bearing diameter", bearing_diameter)
    return not_negative("preload", preload) * bearing_friction * bearing_diameter / 2.0


@quantities(
    "N*m",
    preload="N",
    pitch="m",
    pitch_diameter="m",
    thread_friction="",
    bearing_friction="",
    bearing_diameter="m",
    prevailing_torque="N*m",
)
def torque_from_friction(
    preload: Any,
    *,
    pitch: Any,
    pitch_diameter: Any,
    thread_friction: Any,
    bearing_friction: Any,
    bearing_diameter: Any,
    prevailing_torque: Any = 0.0,
) -> Any:
    """Torque for a preload, MA = F (0.16 P + 0.58 d2 μG + ½ DKm μK) + Tp (N·m) [2].

    ``preload`` F (N); ``pitch`` P, ``pitch_diameter`` d2 and ``bearing_diameter`` DKm (m);
    ``thread_friction`` μG and ``bearing_friction`` μK (1); ``prevailing_torque`` Tp (N·m).

    >>> torque = torque_from_friction(  # M10 of class 8.8: 48 N·m by the table of [2], from memory
    ...     "29.6 kN", pitch="1.5 mm", pitch_diameter="9.026 mm", thread_friction=0.12,
    ...     bearing_friction=0.12, bearing_diameter="12.8 mm"
    ... )
    >>> f"{torque.magnitude:.1f} N·m"
    '48.3 N·m'
    """
    thread = thread_torque.si(preload, pitch, pitch_diameter, thread_friction)
    bearing = bearing_torque.si(preload, bearing_friction, bearing_diameter)
    return thread + bearing + not_negative("prevailing torque", prevailing_torque)


@quantities(
    "N",
    torque="N*m",
    pitch="m",
    pitch_diameter="m",
    thread_friction="",
    bearing_friction="",
    bearing_diameter="m",
    prevailing_torque="N*m",
)
def preload_from_friction(
    torque: Any,
    *,
    pitch: Any,
    pitch_diameter: Any,
    thread_friction: Any,
    bearing_friction: Any,
    bearing_diameter: Any,
    prevailing_torque: Any = 0.0,
) -> Any:
    """Preload that a torque leaves, the inverse of ``torque_from_friction`` (N) [2].

    ``torque`` at the nut (N·m), the rest as in ``torque_from_friction``. A torque below the
    prevailing torque clamps nothing and gives zero.

    >>> preload = preload_from_friction(
    ...     "48 N*m", pitch="1.5 mm", pitch_diameter="9.026 mm", thread_friction=0.12,
    ...     bearing_friction=0.12, bearing_diameter="12.8 mm"
    ... )
    >>> f"{preload.to('kN'):.1f~P}"
    '29.4 kN'
    """
    each = torque_from_friction.si(
        1.0,
        pitch=pitch,
        pitch_diameter=pitch_diameter,
        thread_friction=thread_friction,
        bearing_friction=bearing_friction,
        bearing_diameter=bearing_diameter,
    )
    return _left(torque, prevailing_torque) / each


@quantities(
    "",
    diameter="m",
    pitch="m",
    pitch_diameter="m",
    thread_friction="",
    bearing_friction="",
    bearing_diameter="m",
)
def nut_factor_from_friction(
    diameter: Any,
    *,
    pitch: Any,
    pitch_diameter: Any,
    thread_friction: Any,
    bearing_friction: Any,
    bearing_diameter: Any,
) -> Any:
    """Nut factor that equals a pair of friction coefficients, K = MA/(F d) (1) [2].

    ``diameter`` d, ``pitch`` P, ``pitch_diameter`` d2, ``bearing_diameter`` DKm (m);
    ``thread_friction`` μG, ``bearing_friction`` μK (1).

    >>> nut_factor_from_friction(  # [1]: about 0.20 at 0.15, whatever the size
    ...     "10 mm", pitch="1.5 mm", pitch_diameter="9.026 mm", thread_friction=0.15,
    ...     bearing_friction=0.15, bearing_diameter="12.5 mm"
    ... )
    0.195...
    """
    each = torque_from_friction.si(
        1.0,
        pitch=pitch,
        pitch_diameter=pitch_diameter,
        thread_friction=thread_friction,
        bearing_friction=bearing_friction,
        bearing_diameter=bearing_diameter,
    )
    return each / positive("diameter", diameter)


@dataclass(frozen=True, slots=True)
class TorqueShares:
    """Where a torque goes, as fractions of it: stretch, thread, bearing face, prevailing part."""

    stretch: float
    thread_friction: float
    bearing_friction: float
    prevailing: float


def torque_shares(
    torque: float,
    *,
    pitch: float,
    pitch_diameter: float,
    thread_friction: float,
    bearing_friction: float,
    bearing_diameter: float,
    prevailing_torque: float = 0.0,
) -> TorqueShares:
    """Split a torque (N·m) into what stretches the fastener and what friction eats [2].

    Arguments as in ``preload_from_friction``. Where the torque does not exceed the prevailing
    torque all of it is prevailing.

    >>> shares = torque_shares(
    ...     48.0, pitch=1.5e-3, pitch_diameter=9.026e-3, thread_friction=0.12,
    ...     bearing_friction=0.12, bearing_diameter=12.8e-3
    ... )
    >>> f"{shares.stretch:.0%} {shares.thread_friction:.0%} {shares.bearing_friction:.0%}"
    '15% 38% 47%'
    """
    positive("torque", torque)
    force = preload_from_friction.si(
        torque,
        pitch=pitch,
        pitch_diameter=pitch_diameter,
        thread_friction=thread_friction,
        bearing_friction=bearing_friction,
        bearing_diameter=bearing_diameter,
        prevailing_torque=prevailing_torque,
    )
    stretch = float(thread_torque.si(force, pitch, pitch_diameter, 0.0)) / torque
    twist = float(thread_torque.si(force, pitch, pitch_diameter, thread_friction)) / torque
    under = float(bearing_torque.si(force, bearing_friction, bearing_diameter)) / torque
    return TorqueShares(stretch, twist - stretch, under, min(prevailing_torque / torque, 1.0))


@quantities("m", outer_diameter="m", hole_diameter="m")
def mean_bearing_diameter(outer_diameter: Any, hole_diameter: Any) -> Any:
    """Mean diameter of the face that turns, DKm = (dw + dh)/2 (m) [2].

    ``outer_diameter`` dw of the bearing face and ``hole_diameter`` dh under it (m).

    >>> mean_bearing_diameter("14.63 mm", "11 mm").to("mm").magnitude
    12.815...
    """
    check_face(outer_diameter, hole_diameter)
    return (outer_diameter + hole_diameter) / 2.0


def _left(torque: Any, prevailing_torque: Any) -> Any:
    """Torque left for clamping once the prevailing torque is overcome, N·m."""
    not_negative("torque", torque)
    return np.maximum(torque - not_negative("prevailing torque", prevailing_torque), 0.0)


def _check_nut_factor(nut_factor: Any, diameter: Any) -> None:
    positive("nut factor", nut_factor)
    positive("diameter", diameter)


def _check_friction(thread_friction: Any, bearing_friction: Any) -> None:
    not_negative("thread friction", thread_friction)
    not_negative("bearing friction", bearing_friction)


def check_face(outer_diameter: Any, hole_diameter: Any) -> None:
    """Refuse a bearing face (m) that is not larger than the hole in it (m)."""
    not_negative("hole diameter", hole_diameter)
    if not np.all(np.less(hole_diameter, outer_diameter)):
        raise ValueError(
            f"a bearing face of {np.min(outer_diameter):g} m over a hole of "
            f"{np.max(hole_diameter):g} m has no metal; the face must be the larger"
        )
