"""What a preload does to the fastener: tension, twist, and pressure under the head.

Sources: [1] Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., section 8-8.
[2] VDI 2230 part 1, systematic calculation of highly stressed bolted joints (from memory).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.calculators.preload import check_face, thread_torque
from rebuildbook.units import quantities

_ELASTIC, _PLASTIC = 16.0, 12.0  # polar section modulus is π d³ over this


@quantities("Pa", preload="N", outer_diameter="m", hole_diameter="m")
def bearing_stress(preload: Any, outer_diameter: Any, hole_diameter: Any) -> Any:
    """Pressure under head, nut or washer, p = F/(π/4 (dw² − dh²)) (Pa) [2].

    ``preload`` F, or the greatest load of the fastener in service (N); ``outer_diameter`` dw and
    ``hole_diameter`` dh of the face in contact (m).

    >>> bearing_stress("29.6 kN", "14.63 mm", "11 mm").to("MPa").magnitude
    405.0...
    """
    check_face(outer_diameter, hole_diameter)
    return (
        not_negative("preload", preload) * 4.0 / (math.pi * (outer_diameter**2 - hole_diameter**2))
    )


@quantities("Pa", preload="N", stress_area="m^2")
def tensile_stress(preload: Any, stress_area: Any) -> Any:
    """Tensile stress in the thread, σ = F/As (Pa) [1, eq. 8-24 with no outer load].

    ``preload`` F, or the load of the fastener in service (N); ``stress_area`` As (m²).

    >>> tensile_stress("25 kip", "0.373 in^2").to("ksi").magnitude  # [1] example 8-3(a): 67.02
    67.02...
    """
    return preload / positive("stress area", stress_area)


@quantities("Pa", preload="N", twist="N*m", stress_area="m^2")
def tightening_stress(preload: Any, twist: Any, stress_area: Any, *, plastic: bool = True) -> Any:
    """Combined tension and twist while the wrench pulls, σ = √((F/As)² + 3 τ²) (Pa) [2].

    τ = MG/Wp on the diameter d0 of the stress area. ``plastic`` takes Wp = π d0³/12, the section
    yielding right through, as the tables of [2] do; without it Wp = π d0³/16, first yield at
    the surface. ``preload`` F (N), ``twist`` MG from ``preload.thread_torque`` (N·m), prevailing
    torque of the thread added, ``stress_area`` As (m²).

    >>> twist = thread_torque.si(29.6e3, 1.5e-3, 9.026e-3, 0.12)
    >>> share = tightening_stress.si(29.6e3, twist, 57.99e-6) / 640e6
    >>> f"{share:.1%}"  # [2], from memory: M10 of class 8.8 at 29.6 kN uses 90 % of its yield
    '90.0%'
    """
    return _combined(preload, twist, stress_area, _PLASTIC if plastic else _ELASTIC)


@quantities("Pa", load="N", twist="N*m", stress_area="m^2", residual_twist="")
def service_stress(load: Any, twist: Any, stress_area: Any, residual_twist: Any = 0.5) -> Any:
    """Combined stress in service, when part of the twist has sprung back (Pa) [2].

    σ = √((F/As)² + 3 (kτ τ)²), τ = MG/(π d0³/16). ``load`` F of the fastener (N),
    ``twist`` MG at assembly from ``preload.thread_torque`` (N·m), ``stress_area`` As (m²),
    ``residual_twist`` kτ (1), 0.5 by [2]; zero for a fastener that was stretched, not turned.

    >>> stress = service_stress("31 kN", "25.6 N*m", "57.99 mm^2")
    >>> f"{stress.to('MPa'):.0f~P}"
    '563 MPa'
    """
    within("residual twist", residual_twist, 0.0, 1.0)
    return _combined(load, residual_twist * twist, stress_area, _ELASTIC)


@quantities("", preload="N", stress_area="m^2", strength="Pa")
def share_of_strength(preload: Any, stress_area: Any, strength: Any) -> Any:
    """Tension as a share of proof or yield strength, F/(As S) (1).

    ``preload`` F (N), ``stress_area`` As (m²), ``strength`` S (Pa). [1] aims at 0.75 of proof
    for fasteners used again and 0.90 for those that stay.

    >>> share_of_strength("25 kip", "0.373 in^2", "85 ksi")  # [1] ex. 8-3(a): 21 % below proof
    0.788...
    """
    return tensile_stress.si(preload, stress_area) / positive("strength", strength)


@quantities(
    "N",
    strength="Pa",
    utilisation="",
    stress_area="m^2",
    pitch="m",
    pitch_diameter="m",
    thread_friction="",
)
def assembly_preload(
    strength: Any,
    utilisation: Any,
    stress_area: Any,
    *,
    pitch: Any,
    pitch_diameter: Any,
    thread_friction: Any,
) -> Any:
    """Preload at which tension and twist together reach a share of the yield strength (N) [2].

    F = ν Rp As/√(1 + 3 (1.5 (d2/d0)(P/(π d2) + 1.155 μG))²)

    ``strength`` Rp (Pa), ``utilisation`` ν (1; the tables of [2] take 0.9, and 1 gives the
    preload that yields), ``stress_area`` As (m²), ``pitch`` P, ``pitch_diameter`` d2 (m),
    ``thread_friction`` μG (1).

    >>> preload = assembly_preload(
    ...     "640 MPa", 0.9, "58 mm^2", pitch="1.5 mm", pitch_diameter="9.026 mm",
    ...     thread_friction=0.12
    ... )
    >>> f"{preload.to('kN'):.1f~P}"  # [2], from memory: M10 of class 8.8, 29.6 kN
    '29.6 kN'
    """
    positive("strength", strength)
    within("utilisation", utilisation, 0.0, 1.0)
    each = thread_torque.si(1.0, pitch, pitch_diameter, thread_friction)
    return utilisation * strength / tightening_stress.si(1.0, each, stress_area)


def _combined(load: Any, torque: Any, stress_area: Any, divisor: float) -> Any:
    core = np.sqrt(4.0 * positive("stress area", stress_area) / math.pi)
    shear = divisor * torque / (math.pi * core**3)
    return np.sqrt((load / stress_area) ** 2 + 3.0 * shear**2)
