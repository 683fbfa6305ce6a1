"""Acceleration head and NPSH against published values, each with its source."""

import pytest

from rebuildbook.calculators.pump_flow import double_acting, plungers
from rebuildbook.calculators.stroke_motion import CrankMotion
from rebuildbook.calculators.suction import (
    PUMP_FACTORS,
    acceleration_head,
    crank_factor,
    friction_factor,
    npsh_available,
)


# Gas Processors Suppliers Association, Engineering Data Book, reciprocating pumps, acceleration
# head example, from memory: triplex at 360 rpm, water, C = 0.066, K = 1.4, 4 ft of 4 in pipe at
# 1.84 ft/s and 20 ft of 6 in pipe at 0.81 ft/s: 3.88, 8.54 and together 12.42 ft
def test_acceleration_head_of_a_triplex_suction_line():
    first = acceleration_head("4 ft", "1.84 ft/s", "360 rpm", 0.066, 1.4).to("ft").magnitude
    second = acceleration_head("20 ft", "0.81 ft/s", "360 rpm", 0.066, 1.4).to("ft").magnitude
    assert first == pytest.approx(3.88, abs=0.005)
    assert second == pytest.approx(8.54, abs=0.01)
    assert first + second == pytest.approx(12.42, abs=0.01)


# the factors C of the Hydraulic Institute, read in a public account, are those of a stiff fluid and
# a connecting rod of five crank radii
@pytest.mark.parametrize(
    ("kind", "pump"),
    [
        ("simplex single-acting", plungers(0.03, 0.04)),
        ("duplex single-acting", plungers(0.03, 0.04, 2)),
        ("simplex double-acting", double_acting(0.1, 1e-6, 0.1)),
        ("duplex double-acting", double_acting(0.1, 1e-6, 0.1, count=2)),
        ("triplex", plungers(0.03, 0.04, 3)),
        ("quintuplex", plungers(0.03, 0.04, 5)),
        ("septuplex", plungers(0.03, 0.04, 7)),
        ("nonuplex", plungers(0.03, 0.04, 9)),
    ],
)
def test_pump_factors_agree_with_the_crank(kind, pump):
    assert crank_factor(pump, CrankMotion(1 / 5)) == pytest.approx(PUMP_FACTORS[kind], rel=0.02)


def test_npsh_sample_of_hot_water():
    # The Practical Pumping Handbook, sample NPSHA calculation (read in a public extract): water at
    # 140 °F of 0.985, 14.7 psia on the surface 34.474 ft, vapour 2.889 psia 6.775 ft, losses 0.578
    # ft; here without its static head. The book's 2.31 ft/psi carries three figures.
    density = f"{0.985 * 999.0} kg/m^3"
    found = npsh_available("14.7 psi", "2.889 psi", density, "0 ft", "0.578 ft")
    assert found.to("ft").magnitude == pytest.approx(34.474 - 6.775 - 0.578, abs=0.03)


# Moody chart, White, Fluid Mechanics, from memory: f at Re = 1e5 smooth 0.0180, at 1e5 and ε/D =
# 0.001 0.0222, fully rough at ε/D = 0.01 0.0379
@pytest.mark.parametrize(
    ("reynolds", "rough", "factor"), [(1e5, 0.0, 0.0180), (1e5, 0.001, 0.0222), (1e8, 0.01, 0.0379)]
)
def test_moody_chart(reynolds, rough, factor):
    assert float(friction_factor.si(reynolds, rough)) == pytest.approx(factor, rel=5e-3)
