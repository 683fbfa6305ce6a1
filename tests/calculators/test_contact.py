import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.contact import (
    effective_modulus,
    ellipse_contact,
    line_half_width,
    line_peak_pressure,
    point_approach,
    point_contact_radius,
    point_peak_pressure,
    relative_radius,
)

FORCES = st.floats(1e-2, 1e5)
RADII = st.floats(1e-4, 1.0)
MODULI = st.floats(1e6, 5e11)
RATIOS = st.floats(1.0, 1e4)


@given(FORCES, RADII, MODULI)
def test_point_contact_grows_with_the_cube_root_of_the_force(force, radius, modulus):
    once = point_contact_radius.si(force, radius, modulus)
    assert point_contact_radius.si(8 * force, radius, modulus) == pytest.approx(2 * once)
    peak = point_peak_pressure.si(force, radius, modulus)
    assert peak * 2 / 3 * math.pi * once**2 == pytest.approx(force)
    # δ ~ N^⅔: the compliance is two thirds of δ/N
    step = 1e-4 * force
    slope = (
        point_approach.si(force + step, radius, modulus)
        - point_approach.si(force - step, radius, modulus)
    ) / (2 * step)
    assert slope == pytest.approx(
        2 / 3 * point_approach.si(force, radius, modulus) / force, rel=1e-5
    )


@given(FORCES, RADII, MODULI)
def test_line_contact_grows_with_the_root_of_the_load(load, radius, modulus):
    half = line_half_width.si(load, radius, modulus)
    assert line_half_width.si(4 * load, radius, modulus) == pytest.approx(2 * half)
    assert line_peak_pressure.si(load, radius, modulus) == pytest.approx(
        2 * load / (math.pi * half)
    )


@given(FORCES, RADII, MODULI)
def test_equal_radii_make_a_round_contact(force, radius, modulus):
    round_one = ellipse_contact(force, radius, radius, modulus)
    nearly = ellipse_contact(force, radius, radius * 1.00001, modulus)
    assert round_one.major == round_one.minor == point_contact_radius.si(force, radius, modulus)
    assert round_one.approach == pytest.approx(point_approach.si(force, radius, modulus))
    for name in ("major", "minor", "peak", "mean", "approach"):
        assert getattr(nearly, name) == pytest.approx(getattr(round_one, name), rel=1e-4)


@given(FORCES, RADII, MODULI, RATIOS)
def test_ellipse_lies_along_the_larger_radius_and_carries_the_force(force, radius, modulus, ratio):
    found = ellipse_contact(force, radius, ratio * radius, modulus)
    swapped = ellipse_contact(force, ratio * radius, radius, modulus)
    assert found == swapped
    assert 1 / ratio * (1 - 1e-9) <= found.minor / found.major <= 1
    assert 2 / 3 * math.pi * found.major * found.minor * found.peak == pytest.approx(force)
    assert found.peak == pytest.approx(1.5 * found.mean)


@pytest.mark.parametrize("ratio", [1e3, 1e5])
def test_a_long_ellipse_is_a_line_in_its_middle(ratio):
    """Half-way along a long contact the load for each metre is 3 N/(4 a); there it is a line."""
    found = ellipse_contact(500.0, 0.01, 0.01 * ratio, 1.1e11)
    load = 3 * 500.0 / (4 * found.major)
    assert found.minor == pytest.approx(line_half_width.si(load, 0.01, 1.1e11), rel=0.05)


@given(RADII)
def test_a_flat_is_an_infinite_radius_and_equal_balls_halve_it(radius):
    assert relative_radius.si(radius, math.inf) == pytest.approx(radius)
    assert relative_radius.si(radius, radius) == pytest.approx(radius / 2)


@given(MODULI, st.floats(0.0, 0.5))
def test_a_rigid_partner_leaves_the_soft_one_alone(modulus, poisson):
    alone = modulus / (1 - poisson**2)
    assert effective_modulus.si(modulus, poisson, 1e30, 0.3) == pytest.approx(alone)
    assert effective_modulus.si(modulus, poisson, modulus, poisson) == pytest.approx(alone / 2)


@pytest.mark.parametrize("hollow", [-0.01, -0.009])
def test_a_hollow_no_wider_than_its_ball_is_refused(hollow):
    with pytest.raises(ValueError, match="a hollow must be wider"):
        relative_radius.si(0.01, hollow)


@pytest.mark.parametrize(
    ("force", "radius", "modulus"),
    [(0.0, 0.01, 1e11), (-1.0, 0.01, 1e11), (1.0, 0.0, 1e11), (1.0, math.inf, 1e11),
     (1.0, 0.01, 0.0), (math.nan, 0.01, 1e11), (1.0, math.nan, 1e11)],
)  # fmt: skip
def test_an_ellipse_needs_force_radii_and_modulus(force, radius, modulus):
    with pytest.raises(ValueError, match="must be above zero"):
        ellipse_contact(force, radius, 0.02, modulus)


def test_lengths_are_not_forces():
    with pytest.raises(ValueError, match="line_load"):
        line_half_width("10 N", "10 mm", "100 GPa")
