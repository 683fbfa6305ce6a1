"""The card on the shop's wall: nut factors, stress areas and strengths for lessons 2 and 3."""

from __future__ import annotations

import functools
from collections.abc import Iterable

from rebuildbook.calculators.preload import preload_from_nut_factor
from rebuildbook.calculators.thread_friction import friction
from rebuildbook.calculators.thread_strength import StrengthClass, proof_load, strength_class
from rebuildbook.calculators.threads import Thread, parse_thread
from rebuildbook.units import to_unit

# the lessons' short words, and the table's
CONDITIONS = {
    "dry": "plain steel, dry",
    "lightly oiled": "plain steel, lightly oiled",
    "oiled": "oiled",
    "greased": "greased",
    "moly paste": "molybdenum disulfide paste",
    "medium locker, wet": "threadlocker, medium strength, wet",
    "high locker, wet": "threadlocker, high strength, wet",
    "stainless, dry": "stainless steel, dry",
    "stainless, paste": "stainless steel, anti-seize paste",
    "stainless, locker wet": "threadlocker on stainless steel, wet",
}
SIZES = ("M8", "M10", "M12")
HOLES = {"M8": 9e-3, "M10": 11e-3, "M12": 13.5e-3}  # m, clearance holes


@functools.cache
def screw(size: str) -> Thread:
    """Give the thread of a size of the card."""
    return parse_thread(size)


@functools.cache
def grade(size: str, name: str = "8.8") -> StrengthClass:
    """Give the strengths of a class at that size."""
    return strength_class(name, screw(size))


def proof(size: str, name: str = "8.8") -> float:
    """Give the proof load of a screw, N."""
    return proof_load(screw(size), grade(size, name))


def nut_factor(condition: str) -> float:
    """Give the typical nut factor of a condition in the lessons' words."""
    return friction(CONDITIONS[condition]).nut_factor_typical


def preload(torque: float, condition: str, size: str) -> float:
    """Give the preload (N) that a torque (N·m) typically leaves."""
    return float(preload_from_nut_factor.si(torque, nut_factor(condition), screw(size).major))


def nut_factors(conditions: Iterable[str]) -> str:
    """Write out nut factors for a case, as "dry 0.30, oiled 0.18"."""
    return "; ".join(f"{one} {nut_factor(one):.2f}" for one in conditions)


def areas() -> str:
    """Write out the stress areas for a case."""
    told = (f"{size} {to_unit(screw(size).stress_area, 'mm^2'):.1f}" for size in SIZES)
    return ", ".join(told) + " mm²"


def strengths(*names: str) -> str:
    """Write out proof and yield strength of classes for a case."""
    return "; ".join(
        f"class {name}: proof {grade('M10', name).proof_strength / 1e6:.0f}, "
        f"yield {grade('M10', name).yield_strength / 1e6:.0f} MPa"
        for name in names
    )
