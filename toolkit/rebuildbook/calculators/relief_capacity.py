"""How much liquid a relief valve passes.

All formulas hold for a Newtonian liquid that neither flashes nor chokes. A slip or glaze that
thins as it moves is taken at the viscosity it has at rest, which errs on the safe side.

Sources: [1] API 520 Part I, liquid relief: capacity and viscosity correction; its 7th-edition and
10th-edition forms as given in the documentation of the library fluids. [2] API 526, effective
orifice areas (table read in a public extract). [3] The same standard's form for valves without
capacity certification (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from rebuildbook.units import quantities

Edition = Literal["7", "10"]

_INCH_SQUARE = 645.16e-6  # m²
ORIFICES: dict[str, float] = {
    letter: area * _INCH_SQUARE
    for letter, area in {
        "D": 0.110, "E": 0.196, "F": 0.307, "G": 0.503, "H": 0.785, "J": 1.287, "K": 1.838,
        "L": 2.853, "M": 3.60, "N": 4.34, "P": 6.38, "Q": 11.05, "R": 16.00, "T": 26.00,
    }.items()
}  # fmt: skip
"""Effective orifice areas of API 526 by letter, m² [2]."""

CERTIFIED_COEFFICIENT = 0.65  # effective coefficient for a first sizing, liquid [1]
UNCERTIFIED_COEFFICIENT = 0.62  # the same without capacity certification [3]
LEAST_REYNOLDS = 80.0  # below it the 10th-edition correction is not established [1]
_ROUNDS = 500
_NOTHING = 1e-9


@quantities(
    "m^3/s", area="m^2", pressure_drop="Pa", density="kg/m^3", discharge_coefficient="",
    back_pressure_factor="", combination_factor="", viscosity_factor="",
)  # fmt: skip
def relief_flow(
    area: Any,
    pressure_drop: Any,
    density: Any,
    *,
    discharge_coefficient: Any = CERTIFIED_COEFFICIENT,
    back_pressure_factor: Any = 1.0,
    combination_factor: Any = 1.0,
    viscosity_factor: Any = 1.0,
) -> Any:
    """Liquid that a relief valve passes, Q = Kd Kw Kc Kv A √(2 Δp/ρ) (m³/s) [1].

    ``area`` A (m²) effective orifice, ``pressure_drop`` Δp (Pa) relieving pressure less back
    pressure, ``density`` ρ (kg/m³), ``discharge_coefficient`` Kd, ``back_pressure_factor`` Kw (1
    unless the valve has balanced bellows), ``combination_factor`` Kc (1 without a rupture disk
    before the valve), ``viscosity_factor`` Kv. The standard's 11.78 in L/min, mm² and kPa is
    this formula in other units.

    >>> drop = "225 psi"  # [1] example 5: 1.1 × 250 psi less 50 psi
    >>> q = relief_flow("4.752 in^2", drop, "899.1 kg/m^3", back_pressure_factor=0.97)
    >>> round(q.to("gal/min").magnitude)
    1800
    """
    factors = _factor("Kd", discharge_coefficient) * _factor("Kw", back_pressure_factor)
    factors = factors * _factor("Kc", combination_factor) * _factor("Kv", viscosity_factor)
    head = 2.0 * _not_negative("pressure drop", pressure_drop) / _positive("density", density)
    return factors * _positive("orifice area", area) * head**0.5


@quantities(
    "m^2", flow="m^3/s", pressure_drop="Pa", density="kg/m^3", discharge_coefficient="",
    back_pressure_factor="", combination_factor="", viscosity_factor="",
)  # fmt: skip
def required_relief_area(
    flow: Any,
    pressure_drop: Any,
    density: Any,
    *,
    discharge_coefficient: Any = CERTIFIED_COEFFICIENT,
    back_pressure_factor: Any = 1.0,
    combination_factor: Any = 1.0,
    viscosity_factor: Any = 1.0,
) -> Any:
    """Orifice needed to pass a flow, A = Q/(Kd Kw Kc Kv) √(ρ/(2 Δp)) (m²) [1].

    ``flow`` Q (m³/s) the pump's largest; the other parameters as in ``relief_flow``.

    >>> flow, drop, density = "1800 gal/min", "225 psi", "899.1 kg/m^3"
    >>> a = required_relief_area(flow, drop, density, back_pressure_factor=0.97)
    >>> round(a.to("mm^2").magnitude)  # [1] example 5: 3066 mm²
    3066
    """
    unit_flow = relief_flow.si(
        1.0,
        _positive("pressure drop", pressure_drop),
        density,
        discharge_coefficient=discharge_coefficient,
        back_pressure_factor=back_pressure_factor,
        combination_factor=combination_factor,
        viscosity_factor=viscosity_factor,
    )
    return _positive("flow", flow) / unit_flow


@quantities(
    "m^3/s", area="m^2", set_pressure="Pa", back_pressure="Pa", density="kg/m^3",
    discharge_coefficient="", overpressure_factor="", viscosity_factor="",
)  # fmt: skip
def uncertified_relief_flow(
    area: Any,
    set_pressure: Any,
    back_pressure: Any,
    density: Any,
    *,
    discharge_coefficient: Any = UNCERTIFIED_COEFFICIENT,
    overpressure_factor: Any = 1.0,
    viscosity_factor: Any = 1.0,
) -> Any:
    """Liquid that a valve without capacity certification passes, m³/s [3].

    Q = Kd Kp Kv A √(2 (1.25 ps − pb)/ρ). Such a valve is taken to be full open at 25 %
    overpressure; Kp is 1 there and about 0.6 at 10 %. ``set_pressure`` ps and
    ``back_pressure`` pb (Pa), ``overpressure_factor`` Kp; the rest as in ``relief_flow``.

    >>> water = "1000 kg/m^3"
    >>> q = uncertified_relief_flow("71 mm^2", "6 bar", "0 bar", water, overpressure_factor=0.6)
    >>> f"{q.to('L/min').magnitude:.1f}"
    '61.4'
    """
    drop = 1.25 * _positive("set pressure", set_pressure) - back_pressure
    full = relief_flow.si(
        area,
        drop,
        density,
        discharge_coefficient=discharge_coefficient,
        viscosity_factor=viscosity_factor,
    )
    return _factor("Kp", overpressure_factor) * full


@quantities("", flow="m^3/s", area="m^2", density="kg/m^3", viscosity="Pa*s")
def relief_reynolds(flow: Any, area: Any, density: Any, viscosity: Any) -> Any:
    """Reynolds number in the orifice, Re = 2 ρ Q/(μ √(π A)) [1].

    It is ρ v D/μ with D the diameter of a round hole of ``area`` A (m²); the standard writes
    Q (18 800 G)/(μ √A) in L/min, mPa·s and mm². ``flow`` Q (m³/s), ``density`` ρ (kg/m³),
    ``viscosity`` μ (Pa·s).

    >>> re = relief_reynolds("6814 L/min", "4116 mm^2", "899.1 kg/m^3", "397 mPa*s")
    >>> f"{re:.0f}"  # [1] example 5: 4525 with the flow asked for and orifice P
    '4524'
    """
    inertia = 2.0 * _positive("density", density) * _not_negative("flow", flow)
    return inertia / (
        _positive("viscosity", viscosity) * np.sqrt(math.pi * _positive("area", area))
    )


@quantities("", reynolds="")
def relief_viscosity_factor(reynolds: Any, edition: Edition = "10") -> Any:
    """Viscosity correction Kv of the capacity [1].

    10th edition: Kv = (1 + 170/Re)^−½, for Re above 80; 7th to 9th:
    Kv = 1/(0.9935 + 2.878/√Re + 342.75/Re^1.5), never above 1. ``reynolds`` Re above zero.

    >>> f"{relief_viscosity_factor.si(4525.0):.5f}"  # [1] example 5, 10th edition
    '0.98173'
    >>> f"{relief_viscosity_factor.si(100.0, '7'):.4f}"
    '0.6157'
    """
    number = _positive("Reynolds number", reynolds)
    if edition == "10":
        return (1.0 + 170.0 / number) ** -0.5
    if edition == "7":
        return np.minimum(1.0 / (0.9935 + 2.878 / number**0.5 + 342.75 / number**1.5), 1.0)
    raise ValueError(f"edition is {edition!r}; the forms known are '7' (7th to 9th) and '10'")


@dataclass(frozen=True, slots=True)
class ReliefCapacity:
    """What a relief valve passes: ``flow`` m³/s, at ``reynolds`` with ``viscosity_factor``."""

    flow: float
    reynolds: float
    viscosity_factor: float

    @property
    def established(self) -> bool:
        """Whether the Reynolds number is in the range that the correction was made for."""
        return self.reynolds >= LEAST_REYNOLDS


def relief_capacity(
    area: float,
    pressure_drop: float,
    density: float,
    viscosity: float,
    *,
    discharge_coefficient: float = CERTIFIED_COEFFICIENT,
    edition: Edition = "10",
) -> ReliefCapacity:
    """Capacity with the viscosity correction taken at the flow that the valve then passes.

    Kv needs Re, Re the flow, and the flow Kv: Q = Q0 Kv(Re(Q)), found by going down from Kv = 1,
    which reaches the largest answer there is. Parameters in SI units as in ``relief_flow``;
    ``viscosity`` in Pa·s. The 7th-edition form has no answer but zero for a very thick liquid.

    >>> thick = relief_capacity(71e-6, 6.6e5, 1650.0, 0.5)
    >>> round(thick.flow * 60_000, 1), round(thick.reynolds), round(thick.viscosity_factor, 3)
    (67.6, 498, 0.863)
    """
    full = float(
        relief_flow.si(area, pressure_drop, density, discharge_coefficient=discharge_coefficient)
    )
    full_reynolds = float(relief_reynolds.si(full, area, density, viscosity))
    factor = 1.0
    for _ in range(_ROUNDS):
        if factor * full_reynolds < _NOTHING:
            return ReliefCapacity(0.0, 0.0, 0.0)
        last, factor = factor, float(relief_viscosity_factor.si(factor * full_reynolds, edition))
        if abs(last - factor) <= 1e-12 * last:
            break
    return ReliefCapacity(full * factor, full_reynolds * factor, factor)


def next_orifice(area: float) -> tuple[str, float]:
    """Give the letter and area (m²) of the smallest API 526 orifice of at least ``area`` (m²) [2].

    >>> next_orifice(3066e-6)[0]  # [1] example 5
    'P'
    """
    needed = float(_positive("area", area))
    for letter, size in ORIFICES.items():
        if size >= needed:
            return letter, size
    largest = ORIFICES["T"]
    raise ValueError(f"{needed * 1e6:.0f} mm² is above the T orifice, {largest * 1e6:.0f} mm²")


def _positive(name: str, value: Any) -> Any:
    if not np.all(np.greater(value, 0.0) & np.isfinite(value)):
        raise ValueError(f"{name} is {value}; it must be above zero")
    return value


def _not_negative(name: str, value: Any) -> Any:
    if not np.all(np.greater_equal(value, 0.0) & np.isfinite(value)):
        raise ValueError(f"{name} is {value}; it must be zero or above")
    return value


def _factor(name: str, value: Any) -> Any:
    if not np.all(np.greater(value, 0.0) & np.less_equal(value, 1.0)):
        raise ValueError(f"{name} is {value}; it must be above 0 and at most 1")
    return value
