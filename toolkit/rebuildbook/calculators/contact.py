"""Hertz contact: how wide two elastic bodies touch, and how hard they press.

A radius is positive for a convex body, negative for a hollow one, infinite for a flat one. All
hold while the contact is small beside the radii and nothing yields.

References
----------
1. K. L. Johnson, Contact Mechanics, chapter 4: point contact a = (3 N R/4 E*)^⅓, line contact
   b = (4 q R/π E*)^½, elliptical contact by complete elliptic integrals.
2. S. P. Timoshenko and J. N. Goodier, Theory of Elasticity: pressure between two bodies in contact.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import brentq
from scipy.special import ellipe, ellipkm1

from rebuildbook.units import quantities


@quantities("Pa", modulus_1="Pa", poisson_1="", modulus_2="Pa", poisson_2="")
def effective_modulus(modulus_1: Any, poisson_1: Any, modulus_2: Any, poisson_2: Any) -> Any:
    """Give the contact modulus, 1/E* = (1 − ν1²)/E1 + (1 − ν2²)/E2 [1].

    Steel on steel:

    >>> effective_modulus("207 GPa", 0.3, "207 GPa", 0.3).to("GPa").magnitude
    113.73...
    """
    return 1 / ((1 - poisson_1**2) / modulus_1 + (1 - poisson_2**2) / modulus_2)


@quantities("m", radius_1="m", radius_2="m")
def relative_radius(radius_1: Any, radius_2: Any) -> Any:
    """Give the radius R of the relative curvature, 1/R = 1/R1 + 1/R2 [1].

    A hollow takes a negative radius, a flat an infinite one. Raises ValueError for a hollow that
    is not wider than the body in it.

    >>> round(float(relative_radius("10 mm", "-10.1 mm").to("mm").magnitude), 6)
    1010.0
    >>> float(relative_radius.si(0.01, math.inf))
    0.01
    """
    curvature = 1 / np.asarray(radius_1) + 1 / np.asarray(radius_2)
    if np.any(curvature <= 0):
        raise ValueError(
            f"radii of {radius_1} m and {radius_2} m: a hollow must be wider than what lies in it"
        )
    return (1 / curvature)[()]


@quantities("m", force="N", radius="m", modulus="Pa")
def point_contact_radius(force: Any, radius: Any, modulus: Any) -> Any:
    """Give the radius of the circle in which two spheres touch, a = (3 N R/4 E*)^⅓ [1].

    ``radius`` is the relative radius R, ``modulus`` the contact modulus E*.

    >>> point_contact_radius("100 N", "10 mm", "113.7 GPa").to("mm").magnitude
    0.1875...
    """
    return (3 * force * radius / (4 * modulus)) ** (1 / 3)


@quantities("Pa", force="N", radius="m", modulus="Pa")
def point_peak_pressure(force: Any, radius: Any, modulus: Any) -> Any:
    """Give the pressure in the middle of a point contact, p0 = 3 N/(2 π a²) [1].

    >>> point_peak_pressure("100 N", "10 mm", "113.7 GPa").to("MPa").magnitude
    1357...
    """
    return 3 * force / (2 * np.pi * point_contact_radius.si(force, radius, modulus) ** 2)


@quantities("m", force="N", radius="m", modulus="Pa")
def point_approach(force: Any, radius: Any, modulus: Any) -> Any:
    """Give how far two spheres near each other under load, δ = a²/R [1]."""
    return point_contact_radius.si(force, radius, modulus) ** 2 / radius


@quantities("m", line_load="N/m", radius="m", modulus="Pa")
def line_half_width(line_load: Any, radius: Any, modulus: Any) -> Any:
    """Give half the width in which two cylinders touch, b = (4 q R/π E*)^½ [1].

    ``line_load`` q is the force across the contact for each metre of its length.

    >>> line_half_width("10 N/mm", "10 mm", "113.7 GPa").to("mm").magnitude
    0.0334...
    """
    return (4 * line_load * radius / (np.pi * modulus)) ** 0.5


@quantities("Pa", line_load="N/m", radius="m", modulus="Pa")
def line_peak_pressure(line_load: Any, radius: Any, modulus: Any) -> Any:
    """Give the pressure along the middle of a line contact, p0 = 2 q/(π b) = (q E*/π R)^½ [1].

    >>> line_peak_pressure("10 N/mm", "10 mm", "113.7 GPa").to("MPa").magnitude
    190.2...
    """
    return (line_load * modulus / (np.pi * radius)) ** 0.5


@dataclass(frozen=True, slots=True)
class EllipseContact:
    """An elliptical contact: half-axes and approach in m, pressures in Pa."""

    major: float
    minor: float
    peak: float
    mean: float
    approach: float


def ellipse_contact(
    force: float, radius_1: float, radius_2: float, modulus: float
) -> EllipseContact:
    """Solve the general Hertz contact between two bodies of unequal principal curvatures [1, 2].

    ``force`` N; ``radius_1`` and ``radius_2`` are the relative radii in the two principal planes
    (1/R = 1/Rbody + 1/Rother in that plane), m, in either order; ``modulus`` E*, Pa. With the
    ratio of half-axes k = b/a and m = 1 − k², k solves

        (E(m)/k² − K(m)) / (K(m) − E(m)) = R_long/R_short,

    and a³ = 3 N R_long (K − E)/(π m E*). Raises ValueError for a force or a radius not above zero.

    Two crossed cylinders of 10 mm radius touch as a ball of 10 mm on a flat does:

    >>> round(ellipse_contact(100.0, 0.01, 0.01, 113.7e9).major * 1e3, 4)
    0.1875
    """
    if not (0.0 < force < math.inf and 0.0 < modulus < math.inf):
        raise ValueError(f"force {force:g} N, modulus {modulus:g} Pa: both must be above zero")
    short, long = sorted((radius_1, radius_2))
    if not short > 0.0 or not long < math.inf:
        raise ValueError(
            f"relative radii of {radius_1:g} m and {radius_2:g} m: both must be above zero and "
            "finite (an infinite one makes a line contact)"
        )
    if long / short < 1.0 + 1e-6:
        major = minor = float(point_contact_radius.si(force, (short * long) ** 0.5, modulus))
        approach = major**2 / (short * long) ** 0.5
    else:
        ratio = _axis_ratio(long / short)
        m = 1.0 - ratio**2
        first, second = float(ellipkm1(ratio**2)), float(ellipe(m))
        major = (3 * force * long * (first - second) / (math.pi * m * modulus)) ** (1 / 3)
        minor = ratio * major
        approach = 3 * force * first / (2 * math.pi * modulus * major)
    mean = force / (math.pi * major * minor)
    return EllipseContact(major, minor, 1.5 * mean, mean, approach)


def _axis_ratio(radius_ratio: float) -> float:
    """Give b/a of the ellipse whose relative radii stand in ``radius_ratio`` (above 1)."""

    def surplus(logarithm: float) -> float:
        k = math.exp(logarithm)
        first, second = float(ellipkm1(k * k)), float(ellipe(1.0 - k * k))
        return math.log((second / k**2 - first) / (first - second) / radius_ratio)

    # b/a lies between Rs/Rl and 1: near (Rs/Rl)^⅔ for a round contact, nearer Rs/Rl for a long one
    found = brentq(surplus, -math.log(radius_ratio) - 1.0, -1e-8, xtol=1e-13)  # type: ignore[no-untyped-call]
    return math.exp(found)
