"""Leak of gaps and channels against published values, each with its source."""

import math

import pytest
from fluids.friction import Blasius

from rebuildbook.calculators.leak_paths import (
    Gap,
    annular_flow,
    channel_factor,
    eccentricity_factor,
    leak,
    power_law_slot_flow,
)


# Fox and McDonald, Introduction to Fluid Mechanics, example 8.1, leakage past a piston: piston of
# 25 mm, radial gap 0.005 mm, 15 mm long, oil of 0.018 kg/(m·s) and 0.92, from 20 to 1.0 MPa:
# Q = 57.6 mm³/s, mean speed 0.147 m/s, Re = ρ V a/μ = 0.0375; from memory
def test_leakage_past_a_hydraulic_piston():
    flow = annular_flow("25 mm", "0.005 mm", "15 mm", "19 MPa", "0.018 Pa*s")
    assert flow.to("mm^3/s").magnitude == pytest.approx(57.6, abs=0.05)
    speed = flow.to("m^3/s").magnitude / (math.pi * 0.025 * 5e-6)
    assert speed == pytest.approx(0.147, abs=5e-4)
    found = leak(Gap(0.025, 5e-6, 0.015), 19e6, 0.018, 920.0)
    assert found.flow * 1e9 == pytest.approx(57.6, abs=0.1)
    assert found.reynolds / 2.0 == pytest.approx(0.0375, abs=2e-4)  # its length is the gap


# Merritt, Hydraulic Control Systems, and every maker's text on spool leakage: a spool that touches
# one side leaks 2.5 times as much as one in the middle; read in a public lexicon of fluid power
def test_fully_eccentric_spool():
    assert eccentricity_factor.si(1.0) == pytest.approx(2.5, rel=1e-12)


# White, Viscous Fluid Flow and Fluid Mechanics table 6.4: laminar f·Re of rectangular ducts on the
# hydraulic diameter; from memory. f Re = 96/F · (Dh/2h)², h the lesser side.
@pytest.mark.parametrize(
    ("ratio", "f_re"),
    [(1.0, 56.91), (0.75, 57.89), (0.5, 62.19), (0.25, 72.93), (0.125, 82.34), (0.05, 89.91)],
)
def test_friction_of_rectangular_ducts(ratio, f_re):
    hydraulic = 2.0 * ratio / (1.0 + ratio)  # width 1, depth ratio
    found = 96.0 / channel_factor.si(1.0, ratio) * (hydraulic / (2.0 * ratio)) ** 2
    assert found == pytest.approx(f_re, abs=0.02)


# Blasius friction as the library fluids has it, on the hydraulic diameter 2 c of the gap
@pytest.mark.parametrize("pressure", [5e7, 2e8])
def test_turbulent_gap_has_the_friction_of_blasius(pressure):
    gap, length, density = 1e-4, 0.1, 1000.0
    found = leak(Gap(0.06, gap, length, edge_loss=1e-9), pressure, 1e-3, density)
    speed = found.flow / (math.pi * 0.06 * gap)
    loss = Blasius(found.reynolds) * length / (2.0 * gap) * density * speed**2 / 2.0
    assert found.reynolds > 8000.0
    assert loss == pytest.approx(pressure, rel=0.01)


# Bird, Stewart and Lightfoot, Transport Phenomena, power-law fluid in a slot: mean over largest
# speed is (n + 1)/(2 n + 1), 2/3 for a Newtonian fluid; from memory
@pytest.mark.parametrize("index", [0.3, 0.5, 1.0])
def test_power_law_slot_mean_over_largest_speed(index):
    gap, length, pressure, consistency = 1e-3, 0.1, 2e5, 5.0
    mean = power_law_slot_flow.si(1.0, gap, length, pressure, consistency, index) / gap
    wall = gap * pressure / (2.0 * length * consistency)
    largest = index / (index + 1.0) * gap / 2.0 * wall ** (1.0 / index)
    assert mean / largest == pytest.approx((index + 1.0) / (2.0 * index + 1.0), rel=1e-12)
