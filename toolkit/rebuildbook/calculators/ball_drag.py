"""The drag of a ball in a stream, and the speed at which it sinks in still fluid.

References
----------
1. R. Barati, S. A. A. Salehi Neyshabouri and G. Ahmadi, Powder Technology 257 (2014) 11-19:
   drag of a smooth sphere up to Re = 10⁶, their equation for the wide range (read as given in the
   documentation of the open-source library `fluids`).
2. Stokes' law below the range of [1]: any textbook of fluid mechanics.
3. A. N. Beris et al., J. Fluid Mech. 158 (1985) 219: a sphere is held where τy/(Δρ g D) passes
   0.048 (from memory).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from scipy.optimize import brentq

from rebuildbook.calculators.ball_check import submerged_weight
from rebuildbook.calculators.bounds import positive
from rebuildbook.calculators.flow_curve import Fluid
from rebuildbook.units import quantities

CREEPING = 1e-2  # Reynolds number below which [1] is not fitted
HIGHEST = 1e6


def sphere_drag(reynolds: float) -> float:
    """Give the drag coefficient at one Reynolds number above zero: floats alone, for integrators.

    Below Re = 0.01 it is 24/Re (1 + a Re), Stokes' law with the a that joins [1] without a step;
    above 10⁶ it keeps the value it has there.
    """
    if reynolds < CREEPING:
        return 24.0 / reynolds * (1.0 + _JOIN * reynolds)
    return _fitted_drag(min(reynolds, HIGHEST))


def _fitted_drag(reynolds: float) -> float:
    """Give the equation of [1], its terms in the order they are printed in.

    Where tanh Re is one to the last digit, and where a term is below the least float, it is not
    worked out: the same number, in half the time.
    """
    squared = reynolds * reynolds
    bent = math.log10(squared + 10.7563) ** 2 + 9.9867
    if reynolds > _FLAT:
        rising, bow = 1.0, _BOW
    else:
        rising = math.tanh(reynolds)
        bow = 2.0 * math.log10(math.tanh(rising))
    crisis = 0.0
    if reynolds > _CRISIS:
        crisis = 0.4119 * math.exp(-2.08e43 / (reynolds + squared) ** 4)
    return (
        8e-6 * (squared / 6530.0**2 + rising - 8.0 * math.log10(reynolds))
        - crisis
        - 2.1344 * math.exp(-bent / reynolds)
        + 0.1357 * math.exp(-(squared / 1620.0**2 + 10370.0) / reynolds)
        - 8.5e-3 * (bow - 2825.7162) / reynolds
        + 2.4795
    )


_FLAT = 20.0  # tanh is one from 19.1 on
_BOW = 2.0 * math.log10(math.tanh(1.0))
_CRISIS = 1e4  # below, the exponent is under −2000: nothing, from −746 on
_JOIN = (_fitted_drag(CREEPING) * CREEPING / 24.0 - 1.0) / CREEPING


@quantities("", reynolds="")
def drag_coefficient(reynolds: Any) -> Any:
    """Give the drag coefficient of a smooth ball, Re = ρ v D/μ from above 0 to 10⁶ [1, 2].

    Near Re = 2…4·10⁵ the drag of a smooth ball drops by half and more; roughness and a restless
    stream bring the drop sooner, so that the coefficient there is uncertain.

    At Re = 200 the table of [1] has 0.773:

    >>> print(f"{drag_coefficient(200.0):.3f}")
    0.773
    """
    positive("Reynolds number", reynolds)
    if np.any(np.greater(reynolds, HIGHEST)):
        raise ValueError(
            f"Reynolds number is {np.max(reynolds):g}; the correlation ends at {HIGHEST:g}"
        )
    return np.vectorize(sphere_drag, otypes=[float])(reynolds)[()]


def drag_force(ball: float, fluid_density: float, fluid: Fluid, speed: float) -> float:
    """Give the drag, N, of a ball at a ``speed``, m/s, of zero or above through ``fluid``.

    F = C_D ρ/2 v² π/4 D², with ``ball`` D in m and ``fluid_density`` ρ in kg/m³. A fluid that is
    not Newtonian counts with its apparent viscosity at the shear rate γ̇ = v/D: an approximation,
    the mean shear round a ball being near that; good to some tens of per cent in creeping flow and
    better where inertia rules. At rest a yield stress still holds with 3π D² τy, the limit of it.

    >>> from rebuildbook.calculators.flow_curve import Newtonian
    >>> print(f"{drag_force(0.025, 1000.0, Newtonian(0.001), 1.0):.3f}")
    0.109
    """
    yield_stress, consistency, index = fluid.curve
    if speed == 0.0:
        return 3.0 * math.pi * ball**2 * yield_stress
    stress = yield_stress + consistency * (speed / ball) ** index
    reynolds = fluid_density * speed**2 / stress  # ρ v D/μ with μ = τ D/v
    return sphere_drag(reynolds) * fluid_density * speed**2 * math.pi / 8.0 * ball**2


def terminal_velocity(ball: float, mass: float, fluid_density: float, fluid: Fluid) -> float:
    """Give the speed, m/s, at which a ball sinks in wide still fluid: its weight is its drag.

    ``ball`` diameter in m, ``mass`` in kg, ``fluid_density`` in kg/m³; see `drag_force` for fluids
    that thin under shear. A ball whose weight the yield stress bears does not sink: 0. On this
    approximation that is from τy/(Δρ g D) = 1/18 = 0.056 on, near the 0.048 of [3].

    Raises ValueError for a ball that floats.

    A 25 mm ball of steel, 64 g, in water:

    >>> from rebuildbook.calculators.flow_curve import Newtonian
    >>> print(f"{terminal_velocity(0.025, 0.064, 1000.0, Newtonian(0.001)):.2f}")
    2.20
    """
    positive("ball diameter, m,", ball)
    positive("ball mass, kg,", mass)
    positive("fluid density, kg/m³,", fluid_density)
    weight = float(submerged_weight.si(mass, ball, fluid_density))
    if not weight > 0.0:
        raise ValueError(
            f"a ball of {mass * 1e3:g} g and {ball * 1e3:g} mm in a fluid of {fluid_density:g} "
            "kg/m³ floats; only a ball heavier than the fluid it displaces sinks"
        )
    if drag_force(ball, fluid_density, fluid, 0.0) >= weight:
        return 0.0

    def surplus(log_speed: float) -> float:
        return math.log(drag_force(ball, fluid_density, fluid, math.exp(log_speed)) / weight)

    low = high = math.log(math.sqrt(weight / (fluid_density * ball**2)))
    while surplus(low) > 0.0:
        low -= 2.0
        if low < -200.0:
            return 0.0  # borne by its yield stress but for rounding
    while surplus(high) < 0.0:
        high += 1.0
    return math.exp(brentq(surplus, low, high, xtol=1e-13))  # type: ignore[no-untyped-call]
