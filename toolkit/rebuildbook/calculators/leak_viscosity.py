"""What a fluid that thins or has a yield stress shows in a leak, and the gap that passes a flow.

A leak is reckoned with one viscosity. Of a fluid with the flow curve τ = τy + K γ̇ⁿ it is the one
that gives a plane gap the same mean speed at the same wall stress. Over a gap of height h, with τw
at its walls and the stress falling evenly to nothing in its middle,

    6 u/h = 3/(K^(1/n) τw²) · s^(1+1/n) · (s/(2 + 1/n) + τy/(1 + 1/n)),   s = τw − τy,

from integrating the flow curve over the gap (for τy = 0 the power-law slot of Bird, Stewart and
Lightfoot); the viscosity is τw over that. The wall stress is what the edges leave of the pressure.
It is taken at the widest place of a gap, where most passes; the narrow side shears slower and so
leaks a little less than reckoned: the safe side.

Reference: R. B. Bird, W. E. Stewart, E. N. Lightfoot, Transport Phenomena, chapter 8 (from memory);
yield stress as derived above.
"""

from __future__ import annotations

import math
from dataclasses import replace

from scipy.optimize import brentq

from rebuildbook.calculators.bounds import not_negative, positive
from rebuildbook.calculators.flow_curve import Fluid, apparent_viscosity
from rebuildbook.calculators.leak_paths import Gap, Passage, leak

_STIFF = 1e6  # Pa·s; so thick that the edges of a passage take nothing of the pressure
_SLIGHT = 1e-9  # share of a pressure or a wall stress that makes no difference


def slot_shear_rate(fluid: Fluid, wall_stress: float) -> float:
    """Give 6 u/h of a plane gap, 1/s, u its mean speed, at a ``wall_stress``, Pa.

    Zero where the wall stress does not pass the yield stress.

    >>> from rebuildbook.calculators.flow_curve import Newtonian
    >>> round(slot_shear_rate(Newtonian(0.3), 30.0), 9)
    100.0
    """
    yield_stress, consistency, index = fluid.curve
    over = positive("wall stress, Pa,", wall_stress) - yield_stress
    if over <= 0.0:
        return 0.0
    power = 1.0 / index
    mix = over / (power + 2.0) + yield_stress / (power + 1.0)
    rate: float = 3.0 / wall_stress**2 * (over / consistency) ** power * over * mix
    return rate


def leak_viscosity(
    passage: Passage, pressure_difference: float, fluid: Fluid, density: float
) -> float:
    """Give the viscosity, Pa·s, at which ``leak`` of a passage are those of ``fluid``.

    Infinite where the yield stress holds against the ``pressure_difference``, Pa, and where there
    is neither gap nor pressure. ``density`` in kg/m³. A passage without length shears at the speed
    that its edges let through.

    >>> from rebuildbook.calculators.flow_curve import PowerLaw
    >>> round(leak_viscosity(Gap(0.08, 1e-4, 0.01), 16e5, PowerLaw(0.3, 1.0), 1600.0), 9)
    0.3
    """
    not_negative("pressure difference, Pa,", pressure_difference)
    positive("density, kg/m³,", density)
    shut = isinstance(passage, Gap) and passage.height == 0.0
    if shut or pressure_difference == 0.0:
        return math.inf
    if passage.length == 0.0:
        rate = leak(passage, pressure_difference, _STIFF, density).shear_rate
        return float(apparent_viscosity(fluid, rate))
    yield_stress = fluid.curve[0]
    most = _STIFF * leak(passage, pressure_difference, _STIFF, density).shear_rate
    if most <= yield_stress * (1.0 + _SLIGHT):
        return math.inf

    def viscosity(log_over: float) -> float:
        wall = yield_stress + math.exp(log_over)
        return wall / slot_shear_rate(fluid, wall)

    def surplus(log_over: float) -> float:
        thick = viscosity(log_over)
        found = thick * leak(passage, pressure_difference, thick, density).shear_rate
        return math.log(found / (yield_stress + math.exp(log_over)))

    high = math.log(most - yield_stress)
    if surplus(high) > -_SLIGHT:
        return viscosity(high)
    low = high - 1.0
    while surplus(low) <= 0.0:
        high, low = low, low - 3.0
    return viscosity(float(brentq(surplus, low, high, xtol=1e-10)))  # type: ignore[no-untyped-call]


def height_for_flow(
    gap: Gap, flow: float, pressure_difference: float, fluid: Fluid, density: float
) -> float:
    """Give the mean height, m, at which a gap lets a ``flow``, m³/s, of ``fluid`` through.

    All else of ``gap`` stays. Raises ValueError where even a quarter of its diameter does not.

    >>> from rebuildbook.calculators.flow_curve import Newtonian
    >>> gap = Gap(0.08, 0.0, 0.01)
    >>> height = height_for_flow(gap, 1e-5, 16e5, Newtonian(0.3), 1600.0)
    >>> print(f"{leak(replace(gap, height=height), 16e5, 0.3, 1600.0).flow:.3g}")
    1e-05
    """
    positive("flow, m³/s,", flow)
    largest = gap.diameter / 4.0

    def surplus(log_height: float) -> float:
        trial = replace(gap, height=min(math.exp(log_height), largest))
        thick = leak_viscosity(trial, pressure_difference, fluid, density)
        if math.isinf(thick):
            return -flow
        return leak(trial, pressure_difference, thick, density).flow - flow

    low, high = math.log(1e-8 * largest), math.log(largest)
    if surplus(high) < 0.0:
        raise ValueError(
            f"a gap round {gap.diameter * 1e3:g} mm does not let {flow * 6e4:.3g} L/min through"
        )
    return math.exp(float(brentq(surplus, low, high, xtol=1e-9)))  # type: ignore[no-untyped-call]
