"""Heat and relief valves: a full section that is shut in and warms up, and oil that a valve heats.

A section shut at both ends and full of liquid rises by bars for each degree. The shell gives way a
little: it grows with the heat and stretches with the pressure. A few percent of gas would take up
the expansion; none is counted here unless it is put into ``other_compliance``.

Liquid properties are arguments. Some values near 20 °C for a first look, per kelvin and gigapascal
of bulk modulus (common textbook figures, from memory): water 0.21e-3 and 2.2, mineral oil 0.7e-3
and 1.6, ethylene glycol 0.62e-3 and 3.0. Water's expansion is tenfold less at 5 °C and three times
more at 80 °C, so take it in the range asked about.

Sources: [1] API 521, hydraulic expansion: pressure of a shut-in section, mean expansion from two
densities, relief flow for a heat input (read in public extracts). [2] A public account of the same
pressure with hoop strain alone, water in steel. [3] A. Esposito, Fluid Power with Applications,
chapter 11, oil heated by a relief valve (worked solutions read in a public textbook companion).
[4] Lamé's thick cylinder, any textbook on strength of materials. [5] Energy balance.
"""

from __future__ import annotations

import math
from typing import Any, Literal

import numpy as np

from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.units import quantities

Ends = Literal["capped", "held", "sliding"]
"""Capped: shut ends, free to move. Held: length fixed. Sliding: no stress along the axis."""

SUN = 1040.0  # W/m², full sun on a surface that faces it, as used with [1]


@quantities("1/Pa", bore="m", wall="m", modulus="Pa", poisson="")
def shell_compliance(
    bore: Any, wall: Any, modulus: Any, poisson: Any = 0.3, ends: Ends = "capped"
) -> Any:
    """Share by which a thin tube's volume grows per pressure, C = c D/(w E) (1/Pa).

    c is 1.25 − ν for capped ends [1], 1 − ν² for a held length, 1 for sliding ends, where only the
    hoop counts [2]. ``bore`` D (m), ``wall`` w (m), ``modulus`` E (Pa), ``poisson`` ν from 0 to
    0.5. For a wall above a tenth of the bore use ``thick_shell_compliance``.

    >>> c = shell_compliance("100 mm", "1 mm", "200 GPa", ends="sliding")
    >>> round(c.to("1/GPa").magnitude, 6)  # [2]: D/(t E) at D/t = 100
    0.5
    """
    ratio = positive("bore", bore) / (positive("wall", wall) * positive("modulus", modulus))
    nu = within("Poisson's ratio", poisson, 0.0, 0.5)
    return _by_ends(ends, 1.25 - nu, 1.0 - nu**2, 1.0) * ratio


@quantities("1/Pa", bore="m", outside="m", modulus="Pa", poisson="")
def thick_shell_compliance(bore: Any, outside: Any, modulus: Any, poisson: Any = 0.3) -> Any:
    """Share by which a thick cylinder with capped ends grows per pressure (1/Pa) [4].

    C = (3 (1 − 2ν) + 2 (1 + ν) K²)/(E (K² − 1)) with K = ``outside`` over ``bore`` (diameters, m);
    ``modulus`` E (Pa), ``poisson`` ν. A pump's fluid end is such a shell. As the outside grows
    without limit C nears 2 (1 + ν)/E.

    >>> c = thick_shell_compliance("50 mm", "100 mm", "200 GPa")
    >>> round(c.to("1/TPa").magnitude, 2)
    19.33
    """
    if not np.all(np.greater(outside, positive("bore", bore))):
        raise ValueError(f"outside is {outside} m on a bore of {bore} m; it must be larger")
    nu = within("Poisson's ratio", poisson, 0.0, 0.5)
    square = (outside / bore) ** 2
    given = 3.0 * (1.0 - 2.0 * nu) + 2.0 * (1.0 + nu) * square
    return given / (positive("modulus", modulus) * (square - 1.0))


@quantities("1/K", linear_expansion="1/K", poisson="")
def shell_growth(linear_expansion: Any, poisson: Any = 0.3, ends: Ends = "capped") -> Any:
    """Share by which the shell's volume grows per degree (1/K).

    3 α for capped ends, 2 (1 + ν) α where the length is held and the wall gives sideways, 2 α for
    sliding ends, where the liquid keeps its length. ``linear_expansion`` α (1/K).

    >>> round(shell_growth.si(12e-6) * 1e6, 6)  # [2]: steel
    36.0
    """
    nu = within("Poisson's ratio", poisson, 0.0, 0.5)
    return _by_ends(ends, 3.0, 2.0 * (1.0 + nu), 2.0) * linear_expansion


@quantities(
    "Pa/K", expansion="1/K", bulk_modulus="Pa", shell_growth="1/K", shell_compliance="1/Pa",
    other_compliance="1/Pa",
)  # fmt: skip
def blocked_in_rise(
    expansion: Any,
    bulk_modulus: Any,
    shell_growth: Any = 0.0,
    shell_compliance: Any = 0.0,
    other_compliance: Any = 0.0,
) -> Any:
    """Pressure rise per degree of a full shut-in section, (β − a)/(1/K + C + C₂) (Pa/K) [1].

    ``expansion`` β of the liquid (1/K, by volume), ``bulk_modulus`` K (Pa), ``shell_growth`` a
    (1/K), ``shell_compliance`` C (1/Pa). ``other_compliance`` C₂ (1/Pa) is what hoses, a damper or
    trapped gas add, as volume per pressure over the volume shut in. Below zero where the shell
    grows more than the liquid, as with water near 4 °C.

    >>> rise = blocked_in_rise("0.00046/degF", "300000 psi")  # oil in a rigid body: 138 psi/°F
    >>> round(rise.to("psi/delta_degF").magnitude, 6)
    138.0
    """
    give = 1.0 / positive("bulk modulus", bulk_modulus)
    give = give + not_negative("shell compliance", shell_compliance)
    return (expansion - shell_growth) / (give + not_negative("other compliance", other_compliance))


@quantities(
    "1/K", first_density="kg/m^3", second_density="kg/m^3", first_temperature="K",
    second_temperature="K",
)  # fmt: skip
def mean_expansion(
    first_density: Any, second_density: Any, first_temperature: Any, second_temperature: Any
) -> Any:
    """Expansion by volume between two densities, β = (ρ₁² − ρ₂²)/(2 (T₂ − T₁) ρ₁ ρ₂) (1/K) [1].

    Densities (kg/m³) at the same pressure and at temperatures T₁, T₂ (K).

    >>> b = mean_expansion.si(1031.0, 994.4, 288.65, 321.15)  # a public example after [1]
    >>> round(b, 5)
    0.00111
    """
    if np.any(np.equal(first_temperature, second_temperature)):
        raise ValueError(f"both temperatures are {first_temperature} K; they must differ")
    product = positive("first density", first_density) * positive("second density", second_density)
    span = second_temperature - first_temperature
    return (first_density**2 - second_density**2) / (2.0 * span * product)


@quantities("W", irradiance="W/m^2", area="m^2", absorbed="")
def solar_heat(irradiance: Any, area: Any, absorbed: Any = 1.0) -> Any:
    """Heat the sun puts into a section, Q = I A a (W) [5].

    ``irradiance`` I (W/m²; ``SUN`` for full sun), ``area`` A (m²) the shadow that a pipe throws is
    its diameter times its length, its whole surface errs on the safe side; ``absorbed`` a is a
    share, 1 for black.

    >>> round(solar_heat("1.04 kW/m^2", "32.7 m^2").to("kW").magnitude)  # example after [1]
    34
    """
    share = within("absorbed share", absorbed, 0.0, 1.0)
    return not_negative("irradiance", irradiance) * not_negative("area", area) * share


@quantities("m^3/s", expansion="1/K", heat="W", density="kg/m^3", specific_heat="J/(kg*K)")
def thermal_relief_flow(expansion: Any, heat: Any, density: Any, specific_heat: Any) -> Any:
    """Flow that a valve has to pass while a shut-in liquid warms, q = β Q/(ρ c) (m³/s) [1].

    ``expansion`` β (1/K), ``heat`` Q (W), ``density`` ρ (kg/m³), ``specific_heat`` c (J/(kg·K)).
    The shell's growth and the liquid's compression are left out, which errs on the safe side.

    >>> q = thermal_relief_flow("0.00111/K", "34 kW", "994.4 kg/m^3", "4200 J/kg/K")
    >>> round(q.to("m^3/hour").magnitude, 2)  # example after [1]: 0.03 m³/h
    0.03
    """
    capacity = positive("density", density) * positive("specific heat", specific_heat)
    return expansion * not_negative("heat", heat) / capacity


@quantities("K", pressure_rise="Pa", rise_per_degree="Pa/K")
def warming_to(pressure_rise: Any, rise_per_degree: Any) -> Any:
    """Warming that brings a shut-in section up by a pressure, ΔT = Δp/(dp/dT) (K).

    ``pressure_rise`` Δp (Pa) from the pressure shut in to the set pressure, ``rise_per_degree``
    (Pa/K) from ``blocked_in_rise``. Infinite where warming does not raise the pressure.

    >>> f"{warming_to('6900 psi', '138 psi/degF').to('delta_degF').magnitude:.1f}"
    '50.0'
    """
    wanted = not_negative("pressure rise", pressure_rise)
    rises = np.greater(rise_per_degree, 0.0)
    return np.where(rises, wanted / np.where(rises, rise_per_degree, 1.0), math.inf)[()]


@quantities("s", warming="K", heat_capacity="J/K", heat="W")
def time_at_heat(warming: Any, heat_capacity: Any, heat: Any) -> Any:
    """Time a steady heat takes to warm a section, t = C ΔT/Q (s) [5].

    ``warming`` ΔT (K), ``heat_capacity`` C (J/K) of the liquid and its shell, ``heat`` Q (W), as
    from the sun. Losses to the air are left out, so the true time is longer. Infinite at no heat.

    >>> f"{time_at_heat('1 K', '83600 J/K', '500 W').to('min').magnitude:.2f}"
    '2.79'
    """
    load = positive("heat capacity", heat_capacity) * _warming(warming)
    flows = np.greater(not_negative("heat", heat), 0.0)
    still = np.where(np.equal(load, 0.0), 0.0, math.inf)
    return np.where(flows, load / np.where(flows, heat, 1.0), still)[()]


@quantities("s", warming="K", heat_capacity="J/K", conductance="W/K", source_over="K")
def time_at_source(warming: Any, heat_capacity: Any, conductance: Any, source_over: Any) -> Any:
    """Time a source of one temperature takes, t = −(C/G) ln(1 − ΔT/θ) (s) [5].

    For steam tracing or a hot room. ``warming`` ΔT (K), ``heat_capacity`` C (J/K), ``conductance``
    G (W/K) from the source to the section, ``source_over`` θ (K) how far the source is above the
    section at the start. Infinite where the source is not hot enough to get there.

    >>> round(time_at_source.si(63.212, 80e3, 40.0, 100.0))  # one time constant
    2000
    """
    part = _warming(warming) / positive("source above section", source_over)
    constant = positive("heat capacity", heat_capacity) / positive("conductance", conductance)
    reached = np.less(part, 1.0)
    return np.where(reached, -constant * np.log1p(-np.where(reached, part, 0.0)), math.inf)[()]


@quantities("W", flow="m^3/s", pressure_drop="Pa")
def relief_heat(flow: Any, pressure_drop: Any) -> Any:
    """Power a relief valve turns into heat, P = q Δp (W) [5].

    ``flow`` q (m³/s), ``pressure_drop`` Δp (Pa) across the valve.

    >>> round(relief_heat("10 gal/min", "1000 psi").to("hp").magnitude, 2)  # [3]: 5.83 hp
    5.83
    """
    return not_negative("flow", flow) * not_negative("pressure drop", pressure_drop)


@quantities(
    "K", pressure_drop="Pa", density="kg/m^3", specific_heat="J/(kg*K)", expansion="1/K",
    temperature="K",
)  # fmt: skip
def throttling_rise(
    pressure_drop: Any,
    density: Any,
    specific_heat: Any,
    expansion: Any = 0.0,
    temperature: Any = 293.15,
) -> Any:
    """Warming of the liquid in one pass over the valve, ΔT = Δp (1 − β T)/(ρ c) (K) [3], [5].

    ``pressure_drop`` Δp (Pa), ``density`` ρ (kg/m³), ``specific_heat`` c (J/(kg·K)). With
    ``expansion`` β (1/K) and ``temperature`` T (K) the liquid's own expansion takes its share (a
    fifth for oil); at β = 0 this is the form of [3], what the pump's work and the valve give it
    together, which counts for a loop.

    >>> rise = throttling_rise("70 bar", "895 kg/m^3", "1800 J/kg/K")
    >>> round(50.0 + rise.to("delta_degC").magnitude, 1)  # [3]: 50 °C goes to 54.3 °C
    54.3
    """
    drop = not_negative("pressure drop", pressure_drop)
    share = 1.0 - expansion * positive("temperature", temperature)
    return drop * share / (positive("density", density) * positive("specific heat", specific_heat))


@quantities(
    "K", time="s", power="W", heat_capacity="J/K", start="K", surroundings="K", conductance="W/K"
)
def tank_temperature(
    time: Any,
    power: Any,
    heat_capacity: Any,
    start: Any = 293.15,
    surroundings: Any = 293.15,
    conductance: Any = 0.0,
) -> Any:
    """Temperature of a tank that a relief valve runs back to, C dT/dt = P − G (T − Ta) (K) [5].

    T = Ta + P/G + (T₀ − Ta − P/G) e^(−G t/C), and T₀ + P t/C at G = 0. ``time`` t (s), ``power`` P
    (W), ``heat_capacity`` C (J/K) of oil and tank, ``start`` T₀ and ``surroundings`` Ta (K),
    ``conductance`` G (W/K) from tank to air. The oil is taken as well mixed.

    >>> hour = tank_temperature("1 hour", "4.4 kW", "170000 J/K")
    >>> round(hour.to("degC").magnitude)  # 4.4 kW into 100 L of oil
    113
    """
    capacity = positive("heat capacity", heat_capacity)
    give = not_negative("conductance", conductance)
    constants = give * not_negative("time", time) / capacity
    # (1 − e^−x)/x, the share of a straight rise that is left, tends to 1 as the loss goes
    lost = np.greater(constants, 0.0)
    left = np.where(lost, -np.expm1(-constants) / np.where(lost, constants, 1.0), 1.0)[()]
    net = not_negative("power", power) - give * (start - surroundings)
    return start + net * time / capacity * left


def _by_ends(ends: Ends, capped: Any, held: Any, sliding: Any) -> Any:
    chosen = {"capped": capped, "held": held, "sliding": sliding}
    if ends not in chosen:
        raise ValueError(f"ends are {ends!r}; they are capped, held or sliding")
    return chosen[ends]


def _warming(value: Any) -> Any:
    """Take a warming, which may be infinite where no warming is enough."""
    if not np.all(np.greater_equal(value, 0.0)):
        raise ValueError(f"warming is {value}; it must be zero or above")
    return value
