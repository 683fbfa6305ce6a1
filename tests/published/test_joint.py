"""Loaded joints against published examples, each with its source."""

import math

import pytest

from rebuildbook.calculators.joint import (
    fastener_load,
    joint_state,
    preload_range,
    pressure_load,
)
from rebuildbook.calculators.stiffness import joint_constant


# Shigley's Mechanical Engineering Design, 9th ed., example 8-3(a), read in a public copy.
def test_shigley_example_8_3_service_stress():
    share = joint_constant("6.50e6 lbf/in", "13.8e6 lbf/in")
    load = fastener_load("25 kip", share, "6 kip").to("kip").magnitude
    assert share == pytest.approx(0.320, abs=5e-4)
    assert load / 0.373 == pytest.approx(72.17, abs=0.01)
    assert 1.0 - load / 0.373 / 85.0 == pytest.approx(0.15, abs=0.005)


# Shigley, example 8-4(b, c): 36 kip on N reused 5/8-11 grade 5 bolts, C = 0.368, 0.75 of proof,
# load factor 2 wanted. Data read in a public copy, results from memory: N = 6, 2.18, 1.16, 3.80.
def test_shigley_example_8_4_number_of_bolts():
    preload = 14.4

    def state(count):
        return joint_state(preload, 0.368, 36.0 / count, 0.226, 85.0)

    assert state(5).load_factor < 2.0 <= state(6).load_factor
    chosen = state(6)
    assert chosen.load_factor == pytest.approx(2.18, abs=0.005)
    assert chosen.yield_factor == pytest.approx(1.16, abs=0.005)
    assert chosen.separation_factor == pytest.approx(3.80, abs=0.005)
    assert not chosen.is_open


# Shigley, example 8-5(b), read in a public copy.
def test_shigley_example_8_5_static_factors():
    state = joint_state(14.4, 0.280, 5.0, 0.226, 85.0)
    assert state.yield_factor == pytest.approx(1.22, abs=0.005)
    assert state.load_factor == pytest.approx(3.44, abs=0.005)
    assert state.separation_factor == pytest.approx(4.00, abs=0.005)


# Shigley, solution to problem 8-22 (read in a public excerpt): ten M12 fasteners, 6 MPa on an
# effective seal of 150 mm, C = 0.253, proof 600 MPa, preload 0.75 of proof load: 4.73.
def test_shigley_solution_8_22():
    load = pressure_load("6 MPa", "150 mm", 10).to("kN").magnitude
    assert load == pytest.approx(10.6, abs=0.01)
    state = joint_state(37.9e3, 0.253, load * 1e3, 84.3e-6, 600e6)
    assert state.load_factor == pytest.approx(4.73, abs=0.03)


# Shigley, solution to problem 8-23 (same): eight fasteners, 6 MPa on 120 mm, 8.48 kN each.
def test_shigley_solution_8_23():
    assert pressure_load("6 MPa", "120 mm", 8).to("kN").magnitude == pytest.approx(8.48, abs=5e-3)


# NASA's typical preload uncertainties for torque (NSTS 08307, also used by TM-106943; read in a
# public reproduction): dry ±35 %, lubricated ±25 %. Shigley's tables 8-13 and 8-14 (read in a
# public copy) are bolts torqued alike: every one must lie within the range about the mean.
DRY = (
    23.6, 27.6, 28.0, 29.4, 30.3, 30.7, 32.9, 33.8, 33.8, 33.8, 34.7, 35.6, 35.6, 37.4, 37.8, 37.8,
    39.2, 40.0, 40.5, 42.7,
)  # fmt: skip
LUBRICATED = (30.3, 32.5, 32.5, 32.9, 32.9, 33.8, 34.3, 34.7, 37.4, 40.5)


@pytest.mark.parametrize(("measured", "scatter"), [(DRY, 0.35), (LUBRICATED, 0.25)])
def test_measured_scatter_lies_within_nasas_range(measured, scatter):
    mean = math.fsum(measured) / len(measured)
    span = preload_range(mean, scatter, relaxation=0.0)
    assert span.minimum <= min(measured)
    assert max(measured) <= span.maximum
    # and the range is not idle: half of it would have missed some
    half = preload_range(mean, scatter / 2.0, relaxation=0.0)
    assert not half.minimum <= min(measured) or not max(measured) <= half.maximum


# NASA-STD-5020 (from memory): extremes (1 ± Γ) on the torque's limits, 5 % relaxation of the
# least initial preload. By hand: 40 N·m ± 4 % at K = 0.2 on 10 mm, Γ = 0.25.
def test_preload_range_by_hand():
    span = preload_range(20e3, 0.25, tool=0.04, relaxation=0.05)
    assert span.maximum == pytest.approx(1.25 * 41.6 / (0.2 * 0.010))
    assert span.minimum == pytest.approx(0.95 * 0.75 * 38.4 / (0.2 * 0.010))
