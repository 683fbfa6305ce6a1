"""Helical compression springs: the rate of the wire, and the force at a length.

References
----------
1. Shigley's Mechanical Engineering Design, chapter 10: rate of a helical spring of round wire, and
   table 10-1 for the coils that do not work.
"""

from __future__ import annotations

from typing import Any, Literal

import numpy as np

from rebuildbook.units import quantities

Ends = Literal["plain", "plain and ground", "squared", "squared and ground"]

_DEAD_COILS: dict[Ends, int] = {
    "plain": 0, "plain and ground": 1, "squared": 2, "squared and ground": 2,
}  # fmt: skip


@quantities("N/m", shear_modulus="Pa", wire="m", mean_diameter="m", active_coils="")
def spring_rate(shear_modulus: Any, wire: Any, mean_diameter: Any, active_coils: Any) -> Any:
    """Give the rate of a helical spring of round wire, k = G d⁴/(8 D³ n) [1].

    ``shear_modulus`` G in Pa, ``wire`` diameter d and ``mean_diameter`` D of the coil (outer less
    one wire) in m, ``active_coils`` n.

    Shigley problem 10-3: music wire of 2.5 mm, 31 mm outside, 13 active coils, 1.314 N/mm.

    >>> spring_rate("81 GPa", "2.5 mm", "28.5 mm", 13).to("N/mm").magnitude
    1.3142...
    """
    return shear_modulus * wire**4 / (8 * mean_diameter**3 * active_coils)


@quantities("N", rate="N/m", free_length="m", length="m")
def spring_force(rate: Any, free_length: Any, length: Any) -> Any:
    """Give the force of a spring held at ``length``, F = k (L0 − L); zero where it is loose.

    A spring that has taken a set shorter than its space no longer reaches the ball, and pushes with
    nothing.

    >>> float(spring_force("0.5 N/mm", "20 mm", "14 mm").magnitude)
    3.0
    """
    return np.maximum(rate * (free_length - length), 0.0)


@quantities("m", wire="m", total_coils="")
def solid_length(wire: Any, total_coils: Any) -> Any:
    """Give the length at which the coils of a spring with ground ends touch, Ls = d Nt [1]."""
    return wire * total_coils


def active_coils(total_coils: float, ends: Ends) -> float:
    """Give the coils that work out of all that are counted, by the form of the ends [1].

    Raises ValueError where none is left.

    >>> active_coils(14, "plain and ground")
    13
    """
    if ends not in _DEAD_COILS:
        raise ValueError(f"{ends!r} ends given; wanted {', '.join(_DEAD_COILS)}")
    left = total_coils - _DEAD_COILS[ends]
    if not left > 0:
        raise ValueError(f"{total_coils:g} coils with {ends} ends leave no coil that works")
    return left
