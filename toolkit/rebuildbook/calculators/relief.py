"""Whether a relief valve protects a pump: its pressures against every other pressure there is.

This checks a valve and never sets one. Setting, testing and sealing belong to a qualified person
and the maker's procedure; a valve that guards a pump is not gagged, shimmed or plugged.

The rules for set tolerance, overpressure and reseat are in ``relief_pressures``, the capacity in
``relief_capacity``, the comparisons in ``relief_comparisons``, each with its sources.
"""

from __future__ import annotations

from dataclasses import dataclass

from rebuildbook.calculators.relief_capacity import (
    UNCERTIFIED_COEFFICIENT,
    ReliefCapacity,
    relief_capacity,
)
from rebuildbook.calculators.relief_comparisons import LEVELS, Comparison, Level, compare_relief
from rebuildbook.calculators.relief_pressures import (
    PressureLimit,
    ReliefInputs,
    ReliefPressures,
    ReliefRules,
    least_relieving,
    pressure_rise,
    relief_pressures,
    reseat_pressure,
    set_tolerance,
)

__all__ = [
    "Comparison",
    "Level",
    "PressureLimit",
    "ReliefCapacity",
    "ReliefCheck",
    "ReliefInputs",
    "ReliefPressures",
    "ReliefRules",
    "assess_relief",
    "pressure_rise",
    "relief_pressures",
    "reseat_pressure",
    "set_tolerance",
]


@dataclass(frozen=True, slots=True)
class ReliefCheck:
    """The outcome: the pressures, the capacity, and every comparison in the order to read them."""

    pressures: ReliefPressures
    capacity: ReliefCapacity | None
    comparisons: tuple[Comparison, ...]

    @property
    def level(self) -> Level:
        """The gravest level among the comparisons."""
        return min((c.level for c in self.comparisons), key=LEVELS.index)

    def comparison(self, name: str) -> Comparison:
        """Give the comparison with the id ``name``; raises LookupError naming those there are."""
        for found in self.comparisons:
            if found.id == name:
                return found
        raise LookupError(f"no comparison {name!r}; there are {[c.id for c in self.comparisons]}")


def assess_relief(given: ReliefInputs, rules: ReliefRules | None = None) -> ReliefCheck:
    """Compare a relief valve's pressures and capacity with the pump, its drive and its test.

    What is not known becomes a query that names it. A pump without a relief valve gets only the
    comparisons that then count.

    >>> check = assess_relief(ReliefInputs(
    ...     parts=(PressureLimit("fluid cylinder", 16e5, 24e5),), working=10e5,
    ...     set_planned=13e5, set_read=15.8e5, stall=15e5, stall_max=20e5))
    >>> check.level, [c.id for c in check.comparisons if c.level == "hold"]
    ('hold', ['set-vs-limit', 'relieving-vs-limit'])
    """
    rules = rules or ReliefRules()
    at = relief_pressures(given, rules)
    capacity = _capacity(given, at, rules) if given.fitted else None
    return ReliefCheck(at, capacity, compare_relief(given, at, rules, capacity))


def _capacity(
    given: ReliefInputs, at: ReliefPressures, rules: ReliefRules
) -> ReliefCapacity | None:
    """Capacity at the lowest opening pressure, where the valve passes least."""
    area, density, viscosity = given.orifice_area, given.density, given.viscosity
    if at.opens_low is None or area is None or density is None or viscosity is None:
        return None
    drop = least_relieving(given, at.opens_low) - given.back_pressure
    if drop <= 0.0:
        return ReliefCapacity(0.0, 0.0, 0.0)
    coefficient = given.discharge_coefficient
    if coefficient is None:
        coefficient = UNCERTIFIED_COEFFICIENT
    return relief_capacity(
        area,
        drop,
        density,
        viscosity,
        discharge_coefficient=coefficient,
        edition=rules.edition,
    )
