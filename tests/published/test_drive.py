"""Displacement, stall and air use against published values, each with its source."""

import math

import pytest

from rebuildbook.calculators.drive import (
    crank_pressure,
    delivered_flow,
    double_acting_displacement,
    driven_pressure,
    flow_variation,
    free_air,
    single_acting_displacement,
)


def bbl(volume):
    return volume.to("oil_barrel").magnitude


# Lapeyrouse, Formulas and Calculations for Drilling, Production and Workover, pump output:
# triplex 0.000243 D² S, duplex 0.000162 S (2D² − d²) bbl a stroke; examples read in a public
# account. The constants carry three figures, which sets the tolerance.
def test_triplex_output():
    triplex = single_acting_displacement("6 in", "12 in", 3)
    assert bbl(triplex) == pytest.approx(0.104976, rel=1e-3)
    assert bbl(triplex) * 0.97 == pytest.approx(0.101827, rel=1e-3)
    assert triplex.to("m^3").magnitude == pytest.approx(0.016690, rel=1e-3)


@pytest.mark.parametrize(
    ("liner", "rod", "stroke", "output"),
    [("6 in", "2 in", "12 in", 0.132192), ("5.5 in", "2 in", "12.5 in", 0.1144)],
)
def test_duplex_double_acting_output(liner, rod, stroke, output):
    duplex = double_acting_displacement(liner, rod, stroke, count=2)
    assert bbl(duplex) == pytest.approx(output, rel=2e-3)


def test_duplex_capacity_counts_strokes_not_cycles():
    # marine engineer examination question (read in a public question bank): duplex double-acting,
    # 4 in by 11 in, 170 strokes a minute, 89 %: 181 gal/min; 170 strokes are 85 cycles
    duplex = double_acting_displacement("4 in", "0 in", "11 in", count=2)
    flow = delivered_flow(duplex, "85 cycles/min", 0.89)
    assert flow.to("gal/min").magnitude == pytest.approx(181.0, abs=0.5)


# Hydraulic Institute, reciprocating pumps, and Karassik, Pump Handbook: flow above and below the
# mean in percent for connecting rods of six crank radii; from memory
@pytest.mark.parametrize(
    ("count", "return_share", "above", "below"),
    [(3, 0.0, 6, 17), (5, 0.0, 2, 5), (7, 0.0, 1, 3), (2, 1.0, 24, 22)],
    ids=["triplex", "quintuplex", "septuplex", "duplex double-acting"],
)
def test_flow_variation_of_power_pumps(count, return_share, above, below):
    found = flow_variation(count, 1 / 6, return_share)
    assert 100 * (found.peak - 1) == pytest.approx(above, abs=0.6)
    assert 100 * (1 - found.trough) == pytest.approx(below, abs=0.6)


def test_crank_pressure_is_the_inverse_of_the_motor_torque():
    # Esposito, Fluid Power with Applications, example 7-3 (public textbook companion): a motor of
    # 10 in³ at 1000 psi has a theoretical torque of 10 × 1000/2π in·lbf and gives 1500, so 94.2 %
    theoretical = crank_pressure(f"{10 * 1000 / (2 * math.pi)} in*lbf", "10 in^3")
    assert theoretical.to("psi").magnitude == pytest.approx(1000.0, rel=1e-9)
    given = crank_pressure("1500 in*lbf", "10 in^3").to("psi").magnitude
    assert given / 1000.0 == pytest.approx(0.942, abs=5e-4)


def test_intensifier_ratio():
    # public fluid power course notes: 2.5 in piston on a 1 in rod, 600 psi give 3750 psi
    assert driven_pressure("600 psi", 2.5**2).to("psi").magnitude == pytest.approx(3750.0)


def test_air_consumption_of_a_cylinder():
    # Esposito, example 13-12 (public textbook companion): 1.75 in by 6 in, 30 cycles/min, 100 psi,
    # air at 80 °F to 68 °F and 14.7 psia: 1.91 scfm
    stroke = single_acting_displacement("1.75 in", "6 in")
    air = free_air(stroke, "100 psi", "14.7 psi", "80 degF", "68 degF")
    assert 30 * air.to("ft^3").magnitude == pytest.approx(1.91, abs=0.005)


def test_cycle_rate_that_an_air_supply_allows():
    # Esposito, example 13-13: 44.5 by 152 mm, 687 kPa, 27 °C to 20 °C at 101 kPa, 0.0555 m³/min
    # give 30 whole cycles a minute
    stroke = single_acting_displacement("44.5 mm", "152 mm")
    air = free_air(stroke, "687 kPa", "101 kPa", "27 degC", "20 degC")
    assert math.floor(0.0555 / air.to("m^3").magnitude) == 30


@pytest.mark.parametrize(
    ("volume", "swept", "free"),
    [
        (single_acting_displacement("1.5 in", "6 in"), 0.367969, 2.871158),
        (double_acting_displacement("1.5 in", "0.375 in", "6 in"), 0.712939, 5.562868),
    ],
    ids=["single-acting", "double-acting"],
)
def test_air_requirement_of_the_energy_tools(volume, swept, free):
    # test values of the MEASUR tools suite of Oak Ridge National Laboratory: 60 cycles/min, 100
    # psi, 14.7 psia, cubic feet a minute; they were worked with π = 3.14
    assert 60 * volume.to("ft^3").magnitude * 3.14 / math.pi == pytest.approx(swept, abs=1e-6)
    air = free_air(volume, "100 psi", "14.7 psi").to("ft^3").magnitude
    assert 60 * air * 3.14 / math.pi == pytest.approx(free, abs=1e-5)
