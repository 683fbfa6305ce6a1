"""Rods as columns against published examples, each with its source."""

import pytest

from rebuildbook.calculators.rod_joint import (
    column_factor,
    critical_load,
    slenderness,
    transition_slenderness,
)


# Shigley's Mechanical Engineering Design, 9th ed., example 4-17, read in a public copy: 1.5 m,
# 22 kN with a design factor of 4, rounded ends, Sy = 500 MPa, E = 207 GPa: d = 37.48 mm, an Euler
# column; the preferred 40 mm has l/k = 150 against a transition of 90.4.
def test_shigley_example_4_17():
    load = critical_load("1.5 m", "37.48 mm", modulus="207 GPa", yield_strength="500 MPa")
    assert load.to("kN").magnitude == pytest.approx(88.0, rel=1e-3)
    assert column_factor("22 kN", load) == pytest.approx(4.0, rel=1e-3)
    assert slenderness("1.5 m", "40 mm") == pytest.approx(150.0, rel=1e-9)
    assert transition_slenderness("207 GPa", "500 MPa") == pytest.approx(90.4, abs=0.05)


# Shigley, example 4-18(a), eq. 4-53, read in a public copy: the Johnson diameter is
# d = 2 (Pcr/(π Sy) + Sy l²/(π² C E))^½. Its load must come back.
@pytest.mark.parametrize("thrust", [40e3, 150e3, 600e3])
def test_shigley_equation_4_53(thrust):
    length, strength, modulus = 0.25, 500e6, 207e9
    pi = 3.141592653589793
    diameter = (
        2.0 * (thrust / (pi * strength) + strength * length**2 / (pi**2 * 1.2 * modulus)) ** 0.5
    )
    assert slenderness.si(length, diameter) < transition_slenderness.si(modulus, strength, 1.2)
    found = critical_load.si(
        length, diameter, modulus=modulus, yield_strength=strength, end_constant=1.2
    )
    assert found == pytest.approx(thrust, rel=1e-9)


# Mott, Machine Elements in Mechanical Design, chapter 6, exercise 1, worked in a public page:
# 0.75 in rod, 32 in, pinned, AISI 1040 hot-rolled (42 ksi, 30e6 psi): 4473 lbf with l/k rounded
# to 171; transition 118.7.
def test_mott_exercise_6_1():
    load = critical_load("32 in", "0.75 in", modulus="30e6 psi", yield_strength="42 ksi")
    assert load.to("lbf").magnitude == pytest.approx(4473.0, rel=5e-3)
    assert transition_slenderness("30e6 psi", "42 ksi") == pytest.approx(118.7, abs=0.1)
