"""Stiffness of fasteners and members against published examples, each with its source.

Shigley's Mechanical Engineering Design, 8th and 9th ed.: examples 8-2 and 8-4 (geometry of 8-2
and data of 8-4 read in a public copy, results from memory), 8-5 (results from memory), and the
solutions to the problems of chapter 8 (read in public excerpts of the instructor's manual). Where
the book works in Mlbf/in the numbers go in as they stand: the formulas hold in any one system.
"""

import math

import pytest
from scipy.integrate import quad

from rebuildbook.calculators.stiffness import (
    Layer,
    bolt_stiffness,
    cone_stiffness,
    frustum_stiffness,
    joint_constant,
    rod_stiffness,
    tapped_layers,
    wileman_stiffness,
)

STEEL, IRON = 30.0, 14.5  # Mlbf/in²


def test_example_8_2_steel_over_cast_iron():
    # 1/2-20 bolt, washer 0.095 in, steel 1/2 in, cast iron 3/4 in
    parts = [Layer(0.595, STEEL), Layer(0.75, IRON)]
    assert cone_stiffness(parts, 0.5, 0.75) == pytest.approx(9.378, abs=1e-3)
    frusta = (
        (STEEL, 0.75, 0.595, 30.80),
        (IRON, 1.437, 0.0775, 285.5),
        (IRON, 0.75, 0.6725, 14.15),
    )
    for modulus, width, thickness, expected in frusta:
        found = frustum_stiffness.si(modulus, 0.5, width, thickness)
        assert found == pytest.approx(expected, rel=5e-4)


def test_example_8_2_all_steel_two_ways():
    assert cone_stiffness([Layer(1.345, STEEL)], 0.5, 0.75) == pytest.approx(14.64, abs=0.01)
    fit = wileman_stiffness.si(STEEL, 0.5, 1.345, material="steel")
    assert fit == pytest.approx(14.92, abs=0.01)


def test_example_8_2_bolt():
    kb = bolt_stiffness.si(
        math.pi * 0.5**2 / 4.0, 0.1599, shank_length=0.25, threaded_length=1.095, modulus=STEEL
    )
    assert kb == pytest.approx(3.69, abs=0.005)


def test_example_8_4():
    # 5/8-11 bolt 2 1/4 in long, grip 1.5 in, cast iron no. 25 with E = 14 Mlbf/in²
    kb = bolt_stiffness.si(
        math.pi * 0.625**2 / 4.0, 0.226, shank_length=0.75, threaded_length=0.75, modulus=STEEL
    )
    km = cone_stiffness([Layer(1.5, 14.0)], 0.625, 1.5 * 0.625)
    assert kb == pytest.approx(5.21, abs=0.005)
    assert km == pytest.approx(8.95, abs=0.005)
    assert joint_constant.si(kb, km) == pytest.approx(0.368, abs=5e-4)


def test_example_8_5_cap_screw():
    # 5/8-11, washer 1/16 in, steel cover 5/8 in, cast iron base 5/8 in with E = 16 Mlbf/in²
    parts = tapped_layers([Layer(0.6875, STEEL), Layer(0.625, 16.0)], 0.625)
    assert sum(part.thickness for part in parts) == pytest.approx(1.0)
    km = cone_stiffness(parts, 0.625, 1.5 * 0.625)
    kb = rod_stiffness.si(0.226, STEEL, 1.0)
    assert km == pytest.approx(17.40, abs=0.01)
    assert joint_constant.si(kb, km) == pytest.approx(0.280, abs=5e-4)


# Solution 8-22: M12, steel 20 mm over cast iron 25 mm; MN/m
def test_solution_8_22():
    kb = bolt_stiffness.si(
        113e-6, 84.3e-6, shank_length=0.030, threaded_length=0.015, modulus=207e9
    )
    parts = [Layer(0.020, 207e9), Layer(0.025, 100e9)]
    km = cone_stiffness(parts, 0.012, 0.018)
    assert kb / 1e6 == pytest.approx(466.8, abs=0.05)
    assert km / 1e6 == pytest.approx(1379.0, abs=1.0)
    assert joint_constant.si(kb, km) == pytest.approx(0.253, abs=5e-4)
    frusta = ((207e9, 18.0, 20.0, 4470), (100e9, 41.09, 2.5, 52230), (100e9, 18.0, 22.5, 2074))
    for modulus, width, thickness, expected in frusta:
        found = frustum_stiffness.si(modulus, 0.012, width / 1e3, thickness / 1e3) / 1e6
        assert found == pytest.approx(expected, rel=1e-3)


# Solution 8-24: washer, steel and cast iron layers, four frusta; Mlbf/in
def test_solution_8_24():
    parts = [Layer(0.5, STEEL), Layer(0.625, IRON), Layer(0.095, STEEL)]
    assert cone_stiffness(parts, 0.5, 0.75) == pytest.approx(10.79, abs=0.005)


# Solution 8-20: Wileman's fit for steel and cast iron halves, 12 mm bolt, 40 mm grip; MN/m
@pytest.mark.parametrize(
    ("modulus", "material", "expected"),
    [(207e9, "steel", 2361.0), (100e9, "grey cast iron", 1124.0)],
)
def test_solution_8_20(modulus, material, expected):
    found = wileman_stiffness.si(modulus, 0.012, 0.040, material=material) / 1e6
    assert found == pytest.approx(expected, abs=1.0)


# Solution 8-23: M12 cap screw 40 mm long, effective grip 26 mm; MN/m
def test_solution_8_23():
    cover, housing = tapped_layers([Layer(0.020, 207e9), Layer(0.025, 100e9)], 0.012)
    assert cover.thickness + housing.thickness == pytest.approx(0.026)
    kb = bolt_stiffness.si(
        113e-6, 84.3e-6, shank_length=0.010, threaded_length=0.016, modulus=207e9
    )
    assert kb / 1e6 == pytest.approx(744.0, abs=0.5)


# Solution with an M10 bolt, steel 20 mm over cast iron 25 mm with E = 96 GPa; MN/m
def test_solution_with_m10():
    parts = [Layer(0.020, 207e9), Layer(0.025, 96e9)]
    km = cone_stiffness(parts, 0.010, 0.015)
    assert km / 1e6 == pytest.approx(1057.0, abs=1.0)
    assert joint_constant.si(332.4e6, km) == pytest.approx(0.239, abs=5e-4)


# No source, but independent of the closed form: the compliance of a cone is ∫ dx/(E A(x)).
def test_layered_cone_against_numerical_integration():
    layers = [Layer(0.003, 210e9), Layer(0.012, 70e9), Layer(0.018, 110e9, 0.030)]
    hole, head, nut, angle = 0.009, 0.0135, 0.0165, math.radians(27.0)
    grip = 0.033
    meet = grip / 2.0 + (nut - head) / (4.0 * math.tan(angle))

    def compliance(place):
        edge = 0.0
        for layer in layers:
            edge += layer.thickness
            if place <= edge:
                break
        from_head = head + 2.0 * math.tan(angle) * place
        from_nut = nut + 2.0 * math.tan(angle) * (grip - place)
        width = min(from_head if place < meet else from_nut, layer.outer_diameter)
        return 1.0 / (layer.modulus * math.pi / 4.0 * (width**2 - hole**2))

    breaks = [0.003, 0.015, meet, grip - (0.030 - nut) / (2.0 * math.tan(angle))]
    whole, _ = quad(compliance, 0.0, grip, points=breaks, limit=200, epsabs=0.0)
    assert cone_stiffness(layers, hole, head, nut, angle) == pytest.approx(1.0 / whole, rel=1e-6)
