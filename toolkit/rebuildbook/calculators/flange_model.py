"""A flange or cover and its gasket, and what bolts see of them.

Three shapes: a ring (flange or head with a large bore), a straight bar (row or narrow manifold)
and a cover (rectangular or elliptical plate, with or without an opening). Each lies on a gasket
of distributed springs, k = E/t per unit area, on a body that does not yield. The flange takes
up no shear and no squeeze through its own thickness; bolt holes, hubs and pipes are left out.
Two equal flexible flanges bolted together are half of this: give half the gasket's thickness
and twice the stiffness of the bolts. Metal on metal with an O-ring in its groove is no gasket
in this sense: its bolts hardly feel each other.

References
----------
1. R. J. Roark, Formulas for Stress and Strain: torsion of a rectangle (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from rebuildbook.calculators.bounds import positive, within

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Gasket:
    """A flat gasket: modulus in compression (Pa, at the working stress), thickness and width (m).

    Rubber between plates is far stiffer than its Young's modulus: give the modulus of the strip
    as it is squeezed. A real gasket gives back less than it took; this one is elastic.
    """

    modulus: float
    thickness: float
    width: float

    def __post_init__(self) -> None:
        positive("gasket modulus", self.modulus)
        positive("gasket thickness", self.thickness)
        positive("gasket width", self.width)

    @property
    def stiffness(self) -> float:
        """Pressure per compression, k = E/t (Pa/m)."""
        return self.modulus / self.thickness


@dataclass(frozen=True, slots=True)
class Outline:
    """An edge about the joint's middle: a rectangle or an ellipse of ``width``, ``height`` (m)."""

    shape: Literal["rectangle", "ellipse"]
    width: float
    height: float

    def __post_init__(self) -> None:
        if self.shape not in {"rectangle", "ellipse"}:
            raise ValueError(f"outline {self.shape!r} is not known; use rectangle or ellipse")
        positive("outline width", self.width)
        positive("outline height", self.height)

    @property
    def area(self) -> float:
        """Area inside (m²)."""
        return self.width * self.height * (1.0 if self.shape == "rectangle" else math.pi / 4.0)

    def contains(self, x: Any, y: Any) -> Any:
        """Say which points (m) lie inside or on the edge."""
        across, up = np.abs(x) * 2.0 / self.width, np.abs(y) * 2.0 / self.height
        if self.shape == "rectangle":
            return np.maximum(across, up) <= 1.0 + 1e-9
        return across**2 + up**2 <= 1.0 + 1e-9

    def holds(self, other: Outline) -> bool:
        """Say whether ``other`` lies inside."""
        if self.shape == "ellipse" and other.shape == "rectangle":
            return bool(self.contains(other.width / 2.0, other.height / 2.0))
        slack = 1.0 + 1e-9
        return other.width <= self.width * slack and other.height <= self.height * slack

    def inset(self, distance: float) -> Outline | None:
        """Move the edge inwards by ``distance`` (m); None where nothing is left."""
        width, height = self.width - 2.0 * distance, self.height - 2.0 * distance
        return Outline(self.shape, width, height) if min(width, height) > 0.0 else None


@dataclass(frozen=True, slots=True)
class RingFlange:
    """A flat ring: modulus (Pa), thickness, inner, outer and mean gasket diameter (m)."""

    modulus: float
    thickness: float
    inner_diameter: float
    outer_diameter: float
    gasket_diameter: float
    poisson: float = 0.3

    def __post_init__(self) -> None:
        _check_body(self.modulus, self.thickness, self.poisson)
        positive("inner diameter", self.inner_diameter)
        if not self.inner_diameter < self.outer_diameter < math.inf:
            raise ValueError(
                f"the ring runs from {self.inner_diameter} to {self.outer_diameter} m; "
                "the outer diameter must be the larger"
            )
        within("gasket diameter", self.gasket_diameter, self.inner_diameter, self.outer_diameter)

    @property
    def width(self) -> float:
        """Radial width (m)."""
        return (self.outer_diameter - self.inner_diameter) / 2.0

    @property
    def radius(self) -> float:
        """Radius of the middle of the width (m)."""
        return (self.outer_diameter + self.inner_diameter) / 4.0


@dataclass(frozen=True, slots=True)
class Bar:
    """A straight bar along x about the middle: modulus (Pa), thickness, length and width (m).

    The gasket lies under its whole length, along the middle of its width.
    """

    modulus: float
    thickness: float
    length: float
    width: float
    poisson: float = 0.3

    def __post_init__(self) -> None:
        _check_body(self.modulus, self.thickness, self.poisson)
        positive("bar length", self.length)
        positive("bar width", self.width)


@dataclass(frozen=True, slots=True)
class Cover:
    """A flat plate: modulus (Pa), thickness (m), its outline, and an opening if it has one.

    The gasket lies inside ``gasket_edge`` (its outer edge; the plate's own if not given), a
    band of the gasket's width; a width of half the plate or more is a full-face sheet.
    """

    modulus: float
    thickness: float
    outline: Outline
    gasket_edge: Outline | None = None
    opening: Outline | None = None
    poisson: float = 0.3

    def __post_init__(self) -> None:
        _check_body(self.modulus, self.thickness, self.poisson)
        for name, inner in (("gasket", self.gasket_edge), ("opening", self.opening)):
            if inner is not None and not self.outline.holds(inner):
                raise ValueError(f"the {name}'s edge reaches beyond the cover's outline")

    def gasket_hole(self, gasket: Gasket) -> Outline | None:
        """Inner edge of ``gasket``: its own, or the opening's under a full-face sheet.

        Raises ValueError for a gasket that overhangs the opening.
        """
        inner = (self.gasket_edge or self.outline).inset(gasket.width)
        if inner is None or self.opening is None:
            return self.opening or inner
        if not inner.holds(self.opening):
            raise ValueError(
                f"a gasket {gasket.width} m wide overhangs the cover's opening; "
                "give at most the width of the land"
            )
        return inner


Flange = RingFlange | Bar | Cover


@dataclass(frozen=True, slots=True, eq=False)
class Bed:
    """A flange on its gasket seen from n bolts and m gasket springs, gasket as if glued.

    ``bolts`` (n×n), ``across`` (m×n) and ``springs`` (m×m) are flexibilities (m/N): deflection
    toward the body at the row for a unit force at the column. ``stiffness`` (m) is that of each
    gasket spring (N/m). ``bolt_places`` (n×2) and ``spring_places`` (m×2) are where they are (m).
    """

    bolts: Array
    across: Array
    springs: Array
    stiffness: Array
    bolt_places: Array
    spring_places: Array


def section_stiffness(flange: RingFlange | Bar) -> tuple[float, float]:
    """Stiffness of a rectangular section in bending, EI, and in torsion, GJ (N·m²).

    J = a b³ (1/3 − 0.21 b/a (1 − b⁴/(12 a⁴))) with the longer side a and the shorter b [1].

    >>> bending, torsion = section_stiffness(Bar(200e9, 0.02, 0.4, 0.02, poisson=0.25))
    >>> round(bending), round(torsion)
    (2667, 1803)
    """
    long, short = max(flange.width, flange.thickness), min(flange.width, flange.thickness)
    ratio = short / long
    polar = long * short**3 * (1.0 / 3.0 - 0.21 * ratio * (1.0 - ratio**4 / 12.0))
    shear = flange.modulus / (2.0 * (1.0 + flange.poisson))
    return flange.modulus * flange.width * flange.thickness**3 / 12.0, shear * polar


def _check_body(modulus: float, thickness: float, poisson: float) -> None:
    positive("flange modulus", modulus)
    positive("flange thickness", thickness)
    within("Poisson's ratio", poisson, 0.0, 0.5)
