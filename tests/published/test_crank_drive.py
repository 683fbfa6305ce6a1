"""Shaft power and torque against published values, each with its source."""

import pytest

from rebuildbook.calculators.crank_drive import crank_torque, shaft_power


def test_hydraulic_power_in_both_systems():
    # fluid power handbooks, from memory: kW = bar · L/min / 600, hp = psi · gal/min / 1714
    assert shaft_power("30 L/min", "100 bar").to("kW").magnitude == pytest.approx(5.0)
    assert shaft_power("20 gal/min", "857 psi").to("hp").magnitude == pytest.approx(10.0, rel=5e-4)


def test_pump_of_five_cubic_inches():
    # Esposito, Fluid Power with Applications, pump performance example, from memory: 5 in³, 20
    # gal/min at 1000 rpm and 1000 psi, input torque 900 in·lbf: ηm 0.881, ηo 0.816, theoretical
    # torque 793 in·lbf
    theoretical = crank_torque("5 in^3", "1000 psi")
    assert theoretical.to("in*lbf").magnitude == pytest.approx(793.0, rel=5e-3)
    assert crank_torque("5 in^3", "1000 psi", 0.881).to("in*lbf").magnitude == pytest.approx(
        900.0, rel=5e-3
    )
    power = shaft_power("20 gal/min", "1000 psi", 0.816).to("hp").magnitude
    assert power == pytest.approx(900.0 * 1000.0 / 63_000.0, rel=3e-3)
