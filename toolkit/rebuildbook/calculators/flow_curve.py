"""Flow curves of fluids: Newtonian, power-law, Bingham and Herschel-Bulkley.

Every fluid is one flow curve, τ = τy + K γ̇ⁿ (Herschel and Bulkley), of which the others are cases.
Time plays no part: a slip that stiffens at rest has one curve after stirring and another after a
night's stand. Pipe loss, fits and slips are in ``rheology``.

References
----------
1. R. P. Chhabra and J. F. Richardson, Non-Newtonian Flow and Applied Rheology, chapter 1 (its list
   of symbols read in a public copy).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from rebuildbook.calculators.bounds import not_negative, positive, within

STEEPEST = 3.0  # flow index; no slip, glaze or oil comes near it
FLATTEST = 0.05


@dataclass(frozen=True, slots=True)
class Newtonian:
    """A fluid of one ``viscosity``, Pa·s: water, oil, solvent."""

    viscosity: float

    def __post_init__(self) -> None:
        positive("viscosity, Pa·s,", self.viscosity)

    @property
    def curve(self) -> tuple[float, float, float]:
        """Yield stress, Pa, consistency, Pa·sⁿ, and flow index."""
        return 0.0, self.viscosity, 1.0


@dataclass(frozen=True, slots=True)
class PowerLaw:
    """A fluid with τ = K γ̇ⁿ: ``consistency`` K, Pa·sⁿ, ``index`` n, below 1 where it thins."""

    consistency: float
    index: float

    def __post_init__(self) -> None:
        positive("consistency, Pa·sⁿ,", self.consistency)
        within("flow index", self.index, FLATTEST, STEEPEST)

    @property
    def curve(self) -> tuple[float, float, float]:
        """Yield stress, Pa, consistency, Pa·sⁿ, and flow index."""
        return 0.0, self.consistency, self.index


@dataclass(frozen=True, slots=True)
class Bingham:
    """A fluid with τ = τy + μp γ̇: ``yield_stress``, Pa, ``plastic_viscosity``, Pa·s."""

    yield_stress: float
    plastic_viscosity: float

    def __post_init__(self) -> None:
        not_negative("yield stress, Pa,", self.yield_stress)
        positive("plastic viscosity, Pa·s,", self.plastic_viscosity)

    @property
    def curve(self) -> tuple[float, float, float]:
        """Yield stress, Pa, consistency, Pa·sⁿ, and flow index."""
        return self.yield_stress, self.plastic_viscosity, 1.0


@dataclass(frozen=True, slots=True)
class HerschelBulkley:
    """A fluid with τ = τy + K γ̇ⁿ: ``yield_stress``, Pa, ``consistency``, Pa·sⁿ, ``index`` n."""

    yield_stress: float
    consistency: float
    index: float

    def __post_init__(self) -> None:
        not_negative("yield stress, Pa,", self.yield_stress)
        positive("consistency, Pa·sⁿ,", self.consistency)
        within("flow index", self.index, FLATTEST, STEEPEST)

    @property
    def curve(self) -> tuple[float, float, float]:
        """Yield stress, Pa, consistency, Pa·sⁿ, and flow index."""
        return self.yield_stress, self.consistency, self.index


Fluid = Newtonian | PowerLaw | Bingham | HerschelBulkley


def shear_stress(fluid: Fluid, shear_rate: ArrayLike) -> Any:
    """Give the stress, Pa, at a ``shear_rate``, 1/s, of zero or above: τ = τy + K γ̇ⁿ.

    >>> print(f"{shear_stress(Bingham(5.0, 0.02), 100.0):g}")
    7
    """
    rate = not_negative("shear rate, 1/s,", np.asarray(shear_rate, dtype=float))
    yield_stress, consistency, index = fluid.curve
    return (yield_stress + consistency * rate**index)[()]


def apparent_viscosity(fluid: Fluid, shear_rate: ArrayLike) -> Any:
    """Give the viscosity, Pa·s, that the fluid shows at a ``shear_rate``, 1/s: μ = τ/γ̇.

    Zero shear has no apparent viscosity (a yield stress or n < 1 makes it endless) and is refused.

    >>> print(f"{apparent_viscosity(PowerLaw(3.0, 0.5), 100.0):g}")
    0.3
    """
    rate = positive("shear rate, 1/s,", np.asarray(shear_rate, dtype=float))
    return (shear_stress(fluid, rate) / rate)[()]
