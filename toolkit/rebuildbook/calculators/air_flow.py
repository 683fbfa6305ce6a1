"""Air through an opening: how much passes, choked or not, from the pressures on both sides.

Pressures are absolute here, as the physics has it. Air runs from upstream to downstream only;
where the downstream pressure is the higher, nothing passes.

References
----------
1. Isentropic flow of a perfect gas through a nozzle: F. M. White, Fluid Mechanics, compressible
   flow (from memory).
2. ISO 6358, components using compressible fluids, flow-rate characteristics: sonic conductance C
   and critical pressure ratio b (formula read in public documentation of simulation libraries;
   reference air of 1.185 kg/m³ at 20 °C and 100 kPa from memory).
3. Flow coefficients of valves, IEC 60534: Kv is m³/h of water at 1 bar, Cv US gal/min at 1 psi
   (definitions from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.calculators.drive import ROOM
from rebuildbook.units import quantities

GAS_CONSTANT = 287.05  # J/(kg·K), dry air
HEAT_RATIO = 1.4  # of dry air near room temperature
CRITICAL = (2.0 / (HEAT_RATIO + 1.0)) ** (HEAT_RATIO / (HEAT_RATIO - 1.0))  # 0.528, choked below
REFERENCE_DENSITY = 1.185  # kg/m³, reference air of ISO 6358
KV_OF_CV = 0.865  # Kv over Cv of one valve [3]


@quantities("kg/s", area="m^2", upstream="Pa", downstream="Pa", temperature="K", discharge="")
def nozzle_flow(
    area: Any, upstream: Any, downstream: Any, temperature: Any = ROOM, discharge: Any = 1.0
) -> Any:
    """Air through a nozzle or orifice (kg/s) [1].

    m = Cd A p1 √(2κ/((κ − 1) R T) (r^(2/κ) − r^((κ+1)/κ))) with r = p2/p1, and r = 0.528 where
    p2/p1 is below it: the flow is choked and no lower pressure draws more. ``area`` A (m²),
    ``upstream`` p1 and ``downstream`` p2 (Pa absolute), ``temperature`` T upstream (K),
    ``discharge`` Cd above 0 up to 1: near 1 rounded, 0.6 to 0.85 sharp-edged.

    >>> choked = nozzle_flow("1 cm^2", "7 bar", "1 bar", "20 degC")  # 0.0404 p A/√T
    >>> print(f'{choked.to("g/s").magnitude:.0f}')
    165
    """
    ratio = _ratio(upstream, downstream)
    r = np.clip(ratio, CRITICAL, 1.0)
    heat = (
        2.0
        * HEAT_RATIO
        / (HEAT_RATIO - 1.0)
        / (GAS_CONSTANT * positive("temperature", temperature))
    )
    part = r ** (2.0 / HEAT_RATIO) - r ** ((HEAT_RATIO + 1.0) / HEAT_RATIO)
    coefficient = positive(
        "discharge coefficient", within("discharge coefficient", discharge, 0, 1)
    )
    opening = coefficient * not_negative("area", area)
    return opening * upstream * np.sqrt(heat * np.clip(part, 0.0, None))


@quantities(
    "kg/s", conductance="m^3/(s*Pa)", upstream="Pa", downstream="Pa", temperature="K",
    critical_ratio="",
)  # fmt: skip
def conductance_flow(
    conductance: Any,
    upstream: Any,
    downstream: Any,
    temperature: Any = ROOM,
    critical_ratio: Any = 0.3,
) -> Any:
    """Air through a valve by its sonic conductance (kg/s) [2].

    m = C ρ0 p1 √(T0/T) ω with ω = 1 where p2/p1 ≤ b, else √(1 − ((p2/p1 − b)/(1 − b))²).
    ``conductance`` C (m³/(s·Pa); 1 dm³/(s·bar) is 1e-8), ``critical_ratio`` b from 0 up to not 1
    (0.2 to 0.5 for most valves), pressures (Pa absolute), ``temperature`` T upstream (K).

    >>> print(f"{1e3 * conductance_flow.si(2e-8, 7e5, 1e5):.2f}")  # g/s: 14 dm³/s of 1.185 kg/m³
    16.59
    """
    b = within("critical pressure ratio", critical_ratio, 0.0, 1.0 - 1e-9)
    excess = np.clip((_ratio(upstream, downstream) - b) / (1.0 - b), 0.0, 1.0)
    warmth = np.sqrt(ROOM / positive("temperature", temperature))
    flow = not_negative("conductance", conductance) * REFERENCE_DENSITY * upstream * warmth
    return flow * np.sqrt(1.0 - excess**2)


class Opening(Protocol):
    """An air passage known by its size."""

    def mass_flow(self, upstream: float, downstream: float, temperature: float) -> float:
        """Air that passes, kg/s; pressures Pa absolute, temperature upstream K."""
        ...


@dataclass(frozen=True, slots=True)
class Nozzle:
    """A port or orifice: ``area`` m², ``discharge`` coefficient."""

    area: float
    discharge: float = 0.8

    def mass_flow(self, upstream: float, downstream: float, temperature: float) -> float:
        """Air that passes, kg/s."""
        return float(nozzle_flow.si(self.area, upstream, downstream, temperature, self.discharge))


def nozzle_of_kv(kv: float) -> Nozzle:
    """The opening that passes ``kv`` m³/h of water at 1 bar [3]: A = Kv √(ρ/(2 Δp)), Cd = 1.

    A valve chokes earlier than a rounded nozzle, so that air at a large drop comes out some tenths
    too high. A Cv in US gal/min at 1 psi is put in as Cv × ``KV_OF_CV``.

    >>> print(f"{1e6 * nozzle_of_kv(1.0).area:.2f}")  # mm²
    19.64
    """
    flow = float(positive("flow coefficient", kv)) / 3600.0
    return Nozzle(flow * math.sqrt(1000.0 / (2.0 * 1e5)), 1.0)


@dataclass(frozen=True, slots=True)
class SonicValve:
    """A valve by ISO 6358: ``conductance`` m³/(s·Pa), ``critical_ratio``."""

    conductance: float
    critical_ratio: float = 0.3

    def mass_flow(self, upstream: float, downstream: float, temperature: float) -> float:
        """Air that passes, kg/s."""
        return float(
            conductance_flow.si(
                self.conductance, upstream, downstream, temperature, self.critical_ratio
            )
        )


def in_series(*valves: SonicValve) -> SonicValve:
    """One valve that passes what several in a row pass, 1/C² summed.

    A common rule: 1/C² = Σ 1/Ci², 1 − b = C² Σ (1 − bi)/Ci²; ISO 6358 (from memory), exact only
    where the losses are small. Raises ValueError for none.

    >>> both = in_series(SonicValve(3e-8, 0.2), SonicValve(4e-8, 0.3))
    >>> round(1e8 * both.conductance, 6), round(both.critical_ratio, 3)
    (2.4, 0.236)
    """
    if not valves:
        raise ValueError("no valve is given; at least one is needed")
    weights = [1.0 / float(positive("conductance", valve.conductance)) ** 2 for valve in valves]
    square = 1.0 / math.fsum(weights)
    closeness = [(1.0 - valve.critical_ratio) * w for valve, w in zip(valves, weights, strict=True)]
    return SonicValve(math.sqrt(square), 1.0 - square * math.fsum(closeness))


def _ratio(upstream: Any, downstream: Any) -> Any:
    return not_negative("downstream pressure", downstream) / positive("upstream pressure", upstream)
