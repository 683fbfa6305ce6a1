"""The fluids a pump moves: laminar pipe loss by flow curve, fits to viscometer readings, slips.

References
----------
1. R. P. Chhabra and J. F. Richardson, Non-Newtonian Flow and Applied Rheology, chapter 3: pipe flow
   of power-law, Bingham and Herschel-Bulkley fluids, the Metzner-Reed Reynolds number (its list of
   symbols read in a public copy; the equations are derived in the docstrings).
2. Mass balance of a slip; solved for the dry content it is Brongniart's formula of the potteries.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import brentq, least_squares

from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.calculators.flow_curve import (
    FLATTEST,
    STEEPEST,
    Fluid,
    HerschelBulkley,
    PowerLaw,
    shear_stress,
)
from rebuildbook.units import quantities

_BOUNDS = ([FLATTEST, -np.inf], [STEEPEST, np.inf])  # of index and logarithm of consistency


@quantities("1/s", velocity="m/s", diameter="m", index="")
def pipe_shear_rate(velocity: Any, diameter: Any, index: Any = 1.0) -> Any:
    """Give the shear rate at a pipe's wall, γ̇ = (3n + 1)/(4n) · 8 V/D [1].

    Exact for a laminar power-law fluid of ``index`` n at the mean ``velocity`` V in the bore D.

    >>> print(f'{pipe_shear_rate("1 m/s", "25 mm").magnitude:g}')
    320
    """
    return (3 * index + 1) / (4 * index) * 8 * velocity / diameter


@quantities("1/s", velocity="m/s", gap="m", index="")
def gap_shear_rate(velocity: Any, gap: Any, index: Any = 1.0) -> Any:
    """Give the shear rate at the walls of a narrow gap, γ̇ = (2n + 1)/(3n) · 6 u/h [1].

    Exact for a laminar power-law fluid of ``index`` n at the mean ``velocity`` u between parallel
    walls h apart; a valve's gap is taken as such walls.

    >>> print(f'{gap_shear_rate("2 m/s", "1 mm").magnitude:g}')
    12000
    """
    return (2 * index + 1) / (3 * index) * 6 * velocity / gap


@quantities("Pa", consistency="", index="", flow="m^3/s", diameter="m", length="m")
def power_law_pipe_loss(consistency: Any, index: Any, flow: Any, diameter: Any, length: Any) -> Any:
    """Give the laminar pressure loss of a power-law fluid in a pipe [1].

        Δp = 4 (L/D) K ((3n + 1)/(4n) · 8 V/D)ⁿ,  V = Q/(π/4 D²)

    ``consistency`` K in Pa·sⁿ (its unit hangs on n, so that it is given as a bare SI number),
    ``flow`` Q, bore D, ``length`` L. With n = 1 it is Poiseuille's 128 μ L Q/(π D⁴).

    >>> loss = power_law_pipe_loss(0.001, 1.0, "1 L/min", "10 mm", "1 m")
    >>> print(f"{loss.magnitude:.2f}")
    67.91
    """
    velocity = flow / (math.pi / 4 * diameter**2)
    rate = pipe_shear_rate.si(velocity, diameter, index)
    return 4 * length / diameter * consistency * rate**index


def yield_pipe_flow(fluid: Fluid, wall_stress: float, diameter: float) -> float:
    """Give the laminar flow, m³/s, in a pipe of ``diameter``, m, at a ``wall_stress``, Pa [1].

    The stress grows from zero on the axis to τw at the wall; where it is below τy a plug moves as
    one. With s = τw − τy, integrating the flow curve over the radius R gives

        Q = π R³ n s^(1+1/n) / (K^(1/n) τw³) · [s²/(3n + 1) + 2 τy s/(2n + 1) + τy²/(n + 1)],

    and nothing flows where τw does not pass τy. For n = 1 it is the Buckingham-Reiner equation.

    >>> from rebuildbook.calculators.flow_curve import Newtonian
    >>> print(f"{yield_pipe_flow(Newtonian(0.001), 0.1, 0.010) * 6e4:.3f}")  # π R³ τw/(4 μ), L/min
    0.589
    """
    over = wall_stress - fluid.curve[0]
    return _flow_above_yield(fluid, over, diameter) if over > 0.0 else 0.0


def _flow_above_yield(fluid: Fluid, over: float, diameter: float) -> float:
    """Give the flow from the stress over yield itself, which may be a trace of the yield stress."""
    yield_stress, consistency, index = fluid.curve
    bracket = (
        over**2 / (3 * index + 1)
        + 2 * yield_stress * over / (2 * index + 1)
        + yield_stress**2 / (index + 1)
    )
    rate: float = index * (over / consistency) ** (1 / index)
    return math.pi * (diameter / 2) ** 3 * rate * over * bracket / (yield_stress + over) ** 3


def pipe_wall_stress(fluid: Fluid, flow: float, diameter: float) -> float:
    """Give the laminar wall stress, Pa, at a ``flow``, m³/s, in a pipe of ``diameter``, m.

    Closed form without a yield stress, else the root of `yield_pipe_flow`. At no flow at all it is
    the yield stress: what must be passed before anything moves.
    """
    not_negative("flow, m³/s,", flow)
    positive("pipe diameter, m,", diameter)
    yield_stress, consistency, index = fluid.curve
    if flow == 0.0:
        return yield_stress
    free = float(power_law_pipe_loss.si(consistency, index, flow, diameter, 1.0)) * diameter / 4
    if yield_stress == 0.0:
        return free

    def missing(log_over: float) -> float:
        return math.log(_flow_above_yield(fluid, math.exp(log_over), diameter) / flow)

    low = high = math.log(free)  # near the answer unless the plug fills the pipe
    while missing(low) > 0.0:
        low -= 3.0
    while missing(high) < 0.0:
        high += 3.0
    over = brentq(missing, low, high, xtol=1e-14, rtol=1e-13)  # type: ignore[no-untyped-call]
    return yield_stress + math.exp(over)


def pipe_loss(fluid: Fluid, flow: float, diameter: float, length: float) -> float:
    """Give the laminar pressure loss, Pa, of any fluid: Δp = 4 τw L/D.

    ``flow`` in m³/s, ``diameter`` and ``length`` of the pipe in m. Laminar only: see that
    `metzner_reed_reynolds` is below about 2100.

    A slip of 8 Pa yield stress in 10 m of 25 mm pipe holds against 12.8 kPa before it moves:

    >>> print(f"{pipe_loss(HerschelBulkley(8.0, 0.9, 0.6), 0.0, 0.025, 10.0):.0f}")
    12800
    """
    positive("pipe length, m,", length)
    return 4.0 * pipe_wall_stress(fluid, flow, diameter) * length / diameter


def metzner_reed_reynolds(fluid: Fluid, density: float, velocity: float, diameter: float) -> float:
    """Give the generalised Reynolds number of pipe flow, Re = 8 ρ V²/τw [1].

    Metzner and Reed define it so that the laminar friction factor is 16/Re for any fluid, from
    which the form follows; for a power law it is ρ V^(2−n) Dⁿ / (8^(n−1) K ((3n + 1)/(4n))ⁿ).
    ``density`` kg/m³, mean ``velocity`` m/s, ``diameter`` m. Laminar up to about 2100 (common
    practice; yield-stress fluids hold out longer).

    >>> from rebuildbook.calculators.flow_curve import Newtonian
    >>> print(f"{metzner_reed_reynolds(Newtonian(0.001), 1000.0, 1.0, 0.02):.0f}")
    20000
    """
    positive("density, kg/m³,", density)
    positive("mean velocity, m/s,", velocity)
    stress = pipe_wall_stress(fluid, velocity * math.pi / 4 * diameter**2, diameter)
    return 8 * density * velocity**2 / stress


@quantities("kg/m^3", solids_share="", solids_density="kg/m^3", liquid_density="kg/m^3")
def slip_density(solids_share: Any, solids_density: Any, liquid_density: Any) -> Any:
    """Give the density of a slip, 1/ρ = w/ρs + (1 − w)/ρl [2].

    ``solids_share`` w is the dry mass over the whole mass, 0 to 1.

    1167 g of clay of 2.5 in a litre of 1.7 kg: w = 0.6863.

    >>> print(f'{slip_density(0.6863, "2500 kg/m^3", "1000 kg/m^3").magnitude:.0f}')
    1700
    """
    share = within("solids share", solids_share, 0.0, 1.0)
    return 1 / (share / solids_density + (1 - share) / liquid_density)


@quantities("", density="kg/m^3", solids_density="kg/m^3", liquid_density="kg/m^3")
def slip_solids_share(density: Any, solids_density: Any, liquid_density: Any) -> Any:
    """Give the dry mass share of a slip from its density, w = ρs (ρ − ρl) / (ρ (ρs − ρl)) [2].

    >>> share = slip_solids_share("1700 kg/m^3", "2500 kg/m^3", "1000 kg/m^3")
    >>> print(f"{share:.4f}")
    0.6863
    """
    return (
        solids_density * (density - liquid_density) / (density * (solids_density - liquid_density))
    )


@dataclass(frozen=True, slots=True)
class CurveFit:
    """A flow curve fitted to readings.

    ``relative_residual`` is the root mean square of (fitted − read)/read, ``worst_residual`` the
    largest of them, and ``stress_residual`` the root mean square of fitted − read in Pa. Above a
    few parts in a hundred the curve is not that of the fluid, or the readings are not of one state
    of it.
    """

    fluid: PowerLaw | HerschelBulkley
    relative_residual: float
    worst_residual: float
    stress_residual: float


def fit_power_law(shear_rates: ArrayLike, stresses: ArrayLike) -> CurveFit:
    """Fit τ = K γ̇ⁿ to viscometer readings: ``shear_rates`` 1/s, ``stresses`` Pa.

    Least squares of the relative residual, so that a reading at 1/s weighs as much as one at
    1000/s. Raises ValueError for fewer than two different rates or readings not above zero.

    >>> fitted = fit_power_law([1.0, 10.0, 100.0], [2.0, 6.32455532, 20.0]).fluid
    >>> print(f"{fitted.consistency:.4f} {fitted.index:.4f}")
    2.0000 0.5000
    """
    rates, read = _readings(shear_rates, stresses, 2)
    start = np.polyfit(np.log(rates), np.log(read), 1)

    def residual(trial: Any) -> Any:
        return np.exp(trial[1]) * rates ** trial[0] / read - 1

    first = [float(np.clip(start[0], FLATTEST * 1.01, STEEPEST * 0.99)), float(start[1])]
    found = _least_squares(residual, first, _BOUNDS)
    return _fit(PowerLaw(float(np.exp(found.x[1])), float(found.x[0])), rates, read)


def fit_herschel_bulkley(shear_rates: ArrayLike, stresses: ArrayLike) -> CurveFit:
    """Fit τ = τy + K γ̇ⁿ to viscometer readings: ``shear_rates`` 1/s, ``stresses`` Pa.

    Least squares of the relative residual with τy ≥ 0, from several starts: yield stress and index
    trade against each other, and one start may stay in a side valley. Readings at low shear are
    what settles the yield stress. Raises ValueError for fewer than three different rates.
    """
    rates, read = _readings(shear_rates, stresses, 3)
    least = float(read.min())

    def residual(trial: Any) -> Any:
        return (trial[0] * least + np.exp(trial[2]) * rates ** trial[1]) / read - 1

    best: Any = None
    for share in (0.0, 0.3, 0.6, 0.9, 0.99):
        index, level = np.polyfit(np.log(rates), np.log(read - share * least), 1)
        first = [share, float(np.clip(index, FLATTEST * 1.01, STEEPEST * 0.99)), float(level)]
        found = _least_squares(residual, first, ([0.0, *_BOUNDS[0]], [np.inf, *_BOUNDS[1]]))
        best = found if best is None or found.cost < best.cost else best
    fluid = HerschelBulkley(float(best.x[0] * least), float(np.exp(best.x[2])), float(best.x[1]))
    return _fit(fluid, rates, read)


def _least_squares(residual: Any, first: list[float], bounds: tuple[Any, Any]) -> Any:
    return least_squares(  # type: ignore[operator]  # mypy takes scipy's function for a module
        residual, first, bounds=bounds, xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=2000
    )


def _readings(shear_rates: ArrayLike, stresses: ArrayLike, least: int) -> tuple[Any, Any]:
    rates = np.asarray(shear_rates, dtype=float)
    read = np.asarray(stresses, dtype=float)
    if rates.ndim != 1 or rates.shape != read.shape:
        raise ValueError(
            f"{rates.size} shear rates and {read.size} stresses given; each rate needs its stress"
        )
    positive("shear rate, 1/s,", rates)
    positive("stress, Pa,", read)
    if len(np.unique(rates)) < least:
        raise ValueError(
            f"{len(np.unique(rates))} different shear rates given; this curve needs {least} or more"
        )
    return rates, read


def _fit(fluid: PowerLaw | HerschelBulkley, rates: Any, read: Any) -> CurveFit:
    off = shear_stress(fluid, rates) - read
    return CurveFit(
        fluid,
        relative_residual=float(np.sqrt(np.mean((off / read) ** 2))),
        worst_residual=float(np.max(np.abs(off / read))),
        stress_residual=float(np.sqrt(np.mean(off**2))),
    )
