"""Stroke volumes and pulsation against published values, each with its source."""

import math

import pytest

from rebuildbook.calculators.pump_flow import differential, double_acting, plungers, pulsation
from rebuildbook.calculators.stroke_motion import CrankMotion


# Karassik et al., Pump Handbook, power pumps, and Hydraulic Institute: flow above and below the
# mean in percent, connecting rod of six crank radii; from memory
@pytest.mark.parametrize(
    ("pump", "above", "below"),
    [
        (plungers(0.03, 0.04, 3), 6, 17),
        (plungers(0.03, 0.04, 5), 2, 5),
        (plungers(0.03, 0.04, 7), 1, 3),
        (double_acting(0.1, 1e-6, 0.1, count=2), 24, 22),
    ],
    ids=["triplex", "quintuplex", "septuplex", "duplex double-acting"],
)
@pytest.mark.parametrize("side", ["delivered", "drawn"])
def test_flow_variation_of_power_pumps(pump, above, below, side):
    found = pulsation(pump, CrankMotion(1 / 6), side)
    assert 100 * (found.peak - 1) == pytest.approx(above, abs=0.6)
    assert 100 * (1 - found.trough) == pytest.approx(below, abs=0.6)


# Air vessels on reciprocating pumps, textbooks on hydraulic machines (from memory): the fluid that
# goes into the vessel is 0.55 of a stroke volume single-acting, 0.21 double-acting
@pytest.mark.parametrize(
    ("pump", "stroke_volumes", "share"),
    [(plungers(0.1, 0.1), 1, 0.55), (double_acting(0.1, 1e-6, 0.1), 2, 0.21)],
)
def test_fluid_that_goes_into_an_air_vessel(pump, stroke_volumes, share):
    found = pulsation(pump, CrankMotion())
    assert found.swing * stroke_volumes == pytest.approx(share, abs=0.005)


def test_output_of_a_double_acting_piston():
    # Lapeyrouse, Formulas and Calculations for Drilling, Production and Workover, pump output:
    # 0.000162 S (2D² − d²) bbl a stroke of a duplex, 6 in liner, 2 in rod, 12 in stroke 0.132192
    inch, barrel = 0.0254, 0.158987294928
    duplex = double_acting(6 * inch, 2 * inch, 12 * inch, count=2)
    assert duplex.displacement / barrel == pytest.approx(0.132192, rel=2e-3)


def test_a_differential_pump_delivers_alike_at_a_rod_of_half_the_area():
    # differential plunger pumps, textbooks on hydraulic machines (from memory): D = √2 d
    up, down = differential(0.1, 0.1 / math.sqrt(2), 0.12).volumes("delivered")
    assert up == pytest.approx(down, rel=1e-12)
