"""O-ring sizes: by AS568 dash number, or by inside diameter × section, each with its tolerance.

Sources
-------
1. SAE AS568, aerospace size standard for O-rings; each row of the reference table
   ``o_rings_as568`` says how it was come by.
2. ISO 3601-1, class B: tolerance of the inside diameter ±(0.009 d₁^0.95 + 0.11) mm and of the
   section by steps of its size, from memory. Used where neither table nor writer gives one.
"""

from __future__ import annotations

import functools
import math
import re
from dataclasses import dataclass

from rebuildbook.calculators.bounds import positive
from rebuildbook.reference import rows
from rebuildbook.units import UnitProblem, parse_amount, to_unit

INCH, MM = 25.4e-3, 1e-3

# ISO 3601-1 class B [2]: sections up to the first figure, mm, vary by ± the second
_SECTION_STEPS = ((2.25, 0.08), (3.15, 0.09), (4.50, 0.10), (6.30, 0.13), (8.40, 0.15))


@dataclass(frozen=True, slots=True)
class Toleranced:
    """A size with its limits, all in m (or all in the same unit)."""

    nominal: float
    low: float
    high: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.low) and math.isfinite(self.high)):
            raise ValueError(f"limits {self.low:g} and {self.high:g} are not both numbers")
        if not self.low <= self.nominal <= self.high:
            raise ValueError(
                f"nominal {self.nominal:g} does not lie between {self.low:g} and {self.high:g}"
            )

    @property
    def middle(self) -> float:
        """Middle of the limits."""
        return (self.low + self.high) / 2.0

    @property
    def half(self) -> float:
        """Half the tolerance."""
        return (self.high - self.low) / 2.0


def plus_minus(nominal: float, half: float = 0.0) -> Toleranced:
    """Give ``nominal`` ± ``half``.

    >>> plus_minus(3.5, 0.5)
    Toleranced(nominal=3.5, low=3.0, high=4.0)
    """
    return Toleranced(nominal, nominal - half, nominal + half)


def limits(low: float, high: float) -> Toleranced:
    """Give a size known by its two limits; its nominal is their middle.

    >>> limits(2.0, 3.0).nominal
    2.5
    """
    return Toleranced((low + high) / 2.0, low, high)


@dataclass(frozen=True, slots=True)
class ORing:
    """A free O-ring: ``inside`` diameter and ``section`` diameter, in m with their limits."""

    inside: Toleranced
    section: Toleranced
    name: str = ""
    source: str = ""

    def __post_init__(self) -> None:
        positive("inside diameter of the ring", self.inside.low)
        positive("section of the ring", self.section.low)

    @property
    def volume(self) -> float:
        """Volume of the nominal ring, m³: the section's area times the length of its midline."""
        inside, section = self.inside.nominal, self.section.nominal
        return math.pi / 4.0 * section**2 * math.pi * (inside + section)


@functools.lru_cache(maxsize=512)
def o_ring(text: str) -> ORing:
    """Read an O-ring's size as a shop writes it.

    A dash number of AS568 ("AS568-214", "-214", "214"), or inside diameter × section with units,
    each with or without a tolerance ("24.99 mm x 3.53 mm", "0.984 ± 0.010 in x 0.139 in"); one
    unit at the end serves both. Raises ValueError that says what was given and what is wanted.

    >>> ring = o_ring("AS568-214")
    >>> round(ring.inside.nominal / 25.4e-3, 4), round(ring.section.nominal / 25.4e-3, 4)
    (0.984, 0.139)
    >>> o_ring("24.99 x 3.53 mm").name
    '24.99 mm × 3.53 mm'
    >>> o_ring("999")
    Traceback (most recent call last):
    ...
    ValueError: '999' is not a dash number in the table; it has 004 to 050, 102 to 178, ...
    """
    cleaned = " ".join(text.split())
    dash = re.fullmatch(r"(?:AS\s*-?568\s*[A-Z]?\s*)?-?\s*(\d{3})", cleaned, re.IGNORECASE)
    if dash:
        return _by_dash(dash[1], text)
    parts = re.split(r"\s*[x×*]\s*", cleaned, flags=re.IGNORECASE)
    if len(parts) != 2 or not all(parts):
        raise ValueError(
            f"{text!r} is not an O-ring size; write a dash number of three digits such as "
            "AS568-214, or inside diameter x section such as 24.99 mm x 3.53 mm"
        )
    return _by_size(parts[0], parts[1], text)


def class_b_tolerance(inside: float, section: float) -> tuple[float, float]:
    """Give ± tolerance of ``inside`` diameter and ``section`` (m) by ISO 3601-1 class B [2], m.

    Sections above 8.4 mm are beyond the standard and take the share of the last step.

    >>> inside, section = class_b_tolerance(24.99e-3, 3.53e-3)
    >>> f"{inside * 1e3:.2f} {section * 1e3:.2f}"
    '0.30 0.10'
    """
    positive("inside diameter of the ring", inside)
    positive("section of the ring", section)
    bore = (0.009 * (inside / MM) ** 0.95 + 0.11) * MM
    for step, half in _SECTION_STEPS:
        if section <= step * MM + 1e-9:
            return bore, half * MM
    last, half = _SECTION_STEPS[-1]
    return bore, half / last * section


def _by_dash(dash: str, text: str) -> ORing:
    for row in rows("o_rings_as568"):
        if row["dash"] == dash:
            break
    else:
        raise ValueError(f"{text!r} is not a dash number in the table; it has {_ranges()}")
    inside, section = float(row["inside_diameter_in"]) * INCH, float(row["section_in"]) * INCH
    source = row["source"]
    if row["inside_tolerance_in"]:
        half = float(row["inside_tolerance_in"]) * INCH
    else:
        half = class_b_tolerance(inside, section)[0]
        source += "; tolerance of the inside diameter: ISO 3601-1 class B, from memory"
    return ORing(
        plus_minus(inside, half),
        plus_minus(section, float(row["section_tolerance_in"]) * INCH),
        f"AS568-{dash}",
        source,
    )


def _ranges() -> str:
    """Name the runs of dash numbers the table holds."""
    numbers = [int(row["dash"]) for row in rows("o_rings_as568")]
    starts = [n for n in numbers if n - 1 not in numbers]
    ends = [n for n in numbers if n + 1 not in numbers]
    return ", ".join(f"{a:03d} to {b:03d}" for a, b in zip(starts, ends, strict=True))


def _by_size(first: str, second: str, text: str) -> ORing:
    unit = re.search(r"[a-zµ\"'″”]+\.?$", second, re.IGNORECASE)
    if unit and not re.search(r"[a-zµ\"'″”]", first, re.IGNORECASE):
        first = f"{first} {unit[0]}"
    try:
        inside, section = (
            parse_amount(part, "length", allow=("single", "tolerance", "range"))
            for part in (first, second)
        )
    except UnitProblem as problem:
        raise ValueError(f"{text!r} is not an O-ring size: {problem}") from None
    standard = class_b_tolerance(inside.nominal, section.nominal)
    sizes = [
        plus_minus(one.nominal, half)
        if one.form == "single"
        else Toleranced(one.nominal, one.low, one.high)
        for one, half in zip((inside, section), standard, strict=True)
    ]
    given = inside.form != "single" and section.form != "single"
    name = " × ".join(f"{to_unit(one.nominal, 'mm'):.4g} mm" for one in (inside, section))
    source = "sizes as given"
    return ORing(
        sizes[0],
        sizes[1],
        name,
        source if given else source + "; tolerance: ISO 3601-1 class B, from memory",
    )
