"""What a crank drive has to give: power at the shaft, torque at the crank, mean and over a turn.

References
----------
1. Work of displacement, P = Q Δp: A. Esposito, Fluid Power with Applications, chapter 5 (from
   memory).
2. ``drive.crank_pressure``, of which the torque here is the inverse.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.calculators.pump_flow import CycleFlow
from rebuildbook.calculators.stroke_motion import Floats
from rebuildbook.units import quantities


@quantities("W", flow="m^3/s", pressure_rise="Pa", efficiency="")
def shaft_power(flow: Any, pressure_rise: Any, efficiency: Any = 1.0) -> Any:
    """Power a pump takes at its shaft, P = Q Δp/η (W) [1].

    ``flow`` Q (m³/s) the flow delivered, ``pressure_rise`` Δp (Pa) from inlet to outlet,
    ``efficiency`` η above 0 up to 1: of the pump for the shaft, times gear and motor for the
    supply. With the displaced flow in place of the delivered one, η is the mechanical efficiency
    alone.

    >>> round(shaft_power("10 gal/min", "1714 psi", 0.85).to("hp").magnitude, 2)  # Q p/(1714 η)
    11.76
    """
    share = _efficiency(efficiency)
    return not_negative("flow", flow) * not_negative("pressure rise", pressure_rise) / share


@quantities("N*m", displacement="m^3", pressure_rise="Pa", efficiency="", peak_factor="")
def crank_torque(
    displacement: Any, pressure_rise: Any, efficiency: Any = 1.0, peak_factor: Any = 1.0
) -> Any:
    """Torque at the crank, T = V Δp φ/(2π η) (N·m) [2].

    ``displacement`` V (m³ a turn), ``pressure_rise`` Δp (Pa), ``efficiency`` η mechanical, above 0
    up to 1. ``peak_factor`` φ = 1 gives the mean over a turn; peak flow over mean flow gives the
    most that the crank asks for (for a simplex with a long rod φ = π).

    >>> round(crank_torque("10 in^3", "1000 psi").to("in*lbf").magnitude, 1)
    1591.5
    """
    if not np.all(np.greater_equal(peak_factor, 1.0)):
        raise ValueError(f"peak factor is {peak_factor}; peak flow over mean flow is 1 or more")
    work = positive("displacement", displacement) * not_negative("pressure rise", pressure_rise)
    return work * peak_factor / (2.0 * math.pi * _efficiency(efficiency))


def torque_over_turn(flow: CycleFlow, pressure_rise: float, efficiency: float = 1.0) -> Floats:
    """Torque at the crank at each phase of ``flow`` (N·m), T = Q Δp/(2π n η).

    Delivery against a steady ``pressure_rise`` (Pa); the inertia of rods and plungers is left out,
    it adds nothing over a turn. Raises ValueError for a flow at rest or one drawn in.
    """
    if flow.side != "delivered":
        raise ValueError(f"the flow is {flow.side}; torque goes with what is delivered")
    rate = float(positive("rate", flow.rate))
    rise = float(not_negative("pressure rise", pressure_rise))
    share = float(_efficiency(efficiency))
    return flow.total * (rise / (2.0 * math.pi * rate * share))


def _efficiency(value: Any) -> Any:
    return positive("efficiency", within("efficiency", value, 0.0, 1.0))
