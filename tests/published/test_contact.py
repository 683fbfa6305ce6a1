"""Hertz contact against textbooks and against the elasticity behind it, solved another way."""

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from rebuildbook.calculators.contact import (
    effective_modulus,
    ellipse_contact,
    line_half_width,
    line_peak_pressure,
    point_contact_radius,
    point_peak_pressure,
    relative_radius,
)
from rebuildbook.calculators.materials import FIRST_YIELD


def test_ball_in_socket():
    """Textbook exercise on a rocker arm's ball joint; answer read in a public worked solution.

    Steel ball of 10 mm in a bronze seat of 10.1 mm, 2000 N: a = 2.115 mm, 213.39 MPa.
    """
    modulus = effective_modulus("207 GPa", 0.3, "110 GPa", 0.33)
    radius = relative_radius("5 mm", "-5.05 mm")
    assert point_contact_radius("2 kN", radius, modulus).to("mm").magnitude == pytest.approx(
        2.115, abs=5e-4
    )
    assert point_peak_pressure("2 kN", radius, modulus).to("MPa").magnitude == pytest.approx(
        213.39, rel=1e-3
    )


def test_steel_on_steel_in_the_books_figures():
    """Timoshenko and Goodier, Theory of Elasticity: two balls, two cylinders, from memory.

    With ν = 0.3: a = 1.109 (N/E · R)^⅓ and p0 = 0.388 (N E²/R²)^⅓ for balls,
    b = 1.52 (q R/E)^½ and p0 = 0.418 (q E/R)^½ for cylinders, 1/R = 1/R1 + 1/R2.
    """
    young, force, load = 207e9, 750.0, 4.2e4
    modulus = effective_modulus.si(young, 0.3, young, 0.3)
    radius = relative_radius.si(0.0125, 0.040)
    assert point_contact_radius.si(force, radius, modulus) == pytest.approx(
        1.109 * (force / young * radius) ** (1 / 3), rel=5e-4
    )
    assert point_peak_pressure.si(force, radius, modulus) == pytest.approx(
        0.388 * (force * young**2 / radius**2) ** (1 / 3), rel=2e-3
    )
    assert line_half_width.si(load, radius, modulus) == pytest.approx(
        1.52 * (load * radius / young) ** 0.5, rel=3e-3
    )
    assert line_peak_pressure.si(load, radius, modulus) == pytest.approx(
        0.418 * (load * young / radius) ** 0.5, rel=2e-3
    )


def test_crossed_bodies_of_unequal_curvature():
    """Boresi and Schmidt, Advanced Mechanics of Materials, example 17.1, read in a public copy.

    Radii 60 and 130 mm against 80 and 200 mm, turned by 60°, 4.5 kN, E = 200 GPa, ν = 0.29: the
    book's coefficients, read off a chart to two figures, give 1597 MPa.
    """
    first, first_other, second, second_other = 0.060, 0.130, 0.080, 0.200
    total = 1 / first + 1 / first_other + 1 / second + 1 / second_other
    one, two = 1 / first - 1 / first_other, 1 / second - 1 / second_other
    spread = math.sqrt((one + two) ** 2 - 4 * one * two * math.sin(math.pi / 3) ** 2)
    modulus = float(effective_modulus.si(200e9, 0.29, 200e9, 0.29))
    # z = A x² + B y² with A, B = (total ∓ spread)/4, and a curvature 1/R is twice its coefficient
    found = ellipse_contact(4500.0, 2 / (total - spread), 2 / (total + spread), modulus)
    assert found.peak / 1e6 == pytest.approx(1597, rel=0.04)


@pytest.mark.parametrize("ratio", [1.0, 1.2, 3.0, 40.0, 2000.0])
def test_ellipse_against_the_potential_of_its_pressure(ratio):
    """Johnson, Contact Mechanics, section 3.5: sag of a half-space under an elliptical pressure.

    Under p0 (1 − x²/a² − y²/b²)^½ it is u = (L − M x² − N y²)/(π E*), with L, M and N as integrals
    that need no elliptic function.
    """
    force, short, modulus = 800.0, 0.012, 1.1e11
    found = ellipse_contact(force, short * ratio, short, modulus)
    a, b = found.major, found.minor
    scale = math.pi * found.peak * a * b / 2 / (math.pi * modulus)

    def integral(first, second):
        # w = t² takes the root of w out; t = b tan u makes the range finite
        def integrand(u):
            t = b * math.tan(u)
            root = (a * a + t * t) ** (first / 2) * (b * b + t * t) ** (second / 2)
            return 2 * b / math.cos(u) ** 2 / root

        return quad(integrand, 0.0, math.pi / 2, epsabs=0.0, epsrel=1e-11, limit=400)[0]

    assert 2 * scale * integral(3, 1) == pytest.approx(1 / (short * ratio), rel=1e-6)
    assert 2 * scale * integral(1, 3) == pytest.approx(1 / short, rel=1e-6)
    assert scale * integral(1, 1) == pytest.approx(found.approach, rel=1e-6)
    assert 2 / 3 * found.peak * math.pi * a * b == pytest.approx(force, rel=1e-12)


def test_line_contact_against_the_half_plane():
    """Johnson, Contact Mechanics, section 2.7: the slope of a half-plane under a pressure.

    Under the Hertz pressure it is the slope of the cylinder over the whole contact,
    (2/π E*) ∫ p(s)/(x − s) ds = x/R.
    """
    load, radius, modulus = 6.0e4, 0.0125, 1.1e11
    half = float(line_half_width.si(load, radius, modulus))
    peak = float(line_peak_pressure.si(load, radius, modulus))

    def pressure(s):
        return peak * math.sqrt(max(1 - (s / half) ** 2, 0.0))

    assert quad(pressure, -half, half)[0] == pytest.approx(load, rel=1e-6)
    for x in (0.2 * half, 0.7 * half, -0.5 * half):
        principal = -quad(pressure, -half, half, weight="cauchy", wvar=x)[0]
        assert 2 / (math.pi * modulus) * principal == pytest.approx(x / radius, rel=1e-5)


def test_first_yield_under_a_point():
    """Johnson, Contact Mechanics, section 3.4: stresses on the axis under a Hertz point contact.

    Yield by the greatest shear stress comes where |σz − σr| is greatest, at p0 = 1.60 Y (ν = 0.3).
    """

    def difference(depth):
        axial = -1 / (1 + depth**2)
        radial = -1.3 * (1 - depth * math.atan(1 / depth)) - axial / 2
        return -abs(axial - radial)

    worst = minimize_scalar(difference, bounds=(0.05, 3.0), method="bounded")
    assert worst.x == pytest.approx(0.48, abs=0.01)
    assert FIRST_YIELD["point"] == pytest.approx(-1 / worst.fun, rel=0.01)


def test_first_yield_under_a_line():
    """Johnson, Contact Mechanics, section 4.2(c): greatest shear 0.30 p0 at 0.78 b, p0 = 1.67 Y."""

    def shear(depth):
        root = math.sqrt(1 + depth**2)
        return -0.5 * abs((1 + 2 * depth**2) / root - 2 * depth - 1 / root)

    worst = minimize_scalar(shear, bounds=(0.05, 3.0), method="bounded")
    assert worst.x == pytest.approx(0.78, abs=0.01)
    assert FIRST_YIELD["line"] == pytest.approx(-1 / (2 * worst.fun), rel=0.01)


def test_arrays_as_well_as_numbers():
    loads = np.array([1e3, 4e3])
    widths = line_half_width.si(loads, 0.01, 1e11)
    assert widths[1] == pytest.approx(2 * widths[0])
