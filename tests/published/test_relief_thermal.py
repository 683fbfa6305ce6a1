"""Heat and relief valves against published examples."""

import pytest

from rebuildbook.calculators.relief_thermal import (
    SUN,
    blocked_in_rise,
    mean_expansion,
    relief_heat,
    shell_compliance,
    shell_growth,
    solar_heat,
    thermal_relief_flow,
    throttling_rise,
)


# A public account (engineering forum's collected answers on pressure in a shut-in pipe): water
# β 210e-6/°C, compressibility 4e-4/MPa, steel 36e-6/°C and 2e5 MPa, hoop strain D/(t E); it gives
# 0.19 MPa/°C for the light vessel, D/t = 100 (read)
@pytest.mark.parametrize(
    ("ratio", "expected", "within"),
    [(100.0, 0.19, 0.005), (10.0, 174e-6 / 4.5e-4, 1e-9)],  # the second by the account's formula
)
def test_water_in_steel(ratio, expected, within):
    rise = blocked_in_rise(
        "210e-6/K",
        "2500 MPa",
        shell_growth("12e-6/K"),
        shell_compliance(f"{ratio} mm", "1 mm", "200000 MPa", ends="sliding"),
    )
    assert rise.to("MPa/K").magnitude == pytest.approx(expected, abs=within)


def test_oil_in_a_rigid_body():
    """Published engineering data for hydraulic oil: 3.0e5 psi, 0.00046/°F, 50 °F: 6900 psi."""
    rise = blocked_in_rise("0.00046/degF", "300000 psi")
    assert 50 * rise.to("psi/delta_degF").magnitude == pytest.approx(6900)


def test_water_solid_rule_of_thumb():
    """About 100 psi per °F in a water-solid system (DOE fundamentals handbook, public account).

    Water at 80 °C: β 0.64e-3/K, bulk modulus 2.2 GPa (steam tables, from memory), in a thick shell.
    """
    rise = blocked_in_rise("0.00064/K", "2200 MPa").to("psi/delta_degF").magnitude
    assert rise == pytest.approx(100, rel=0.2)


# API 521, hydraulic expansion, a public worked sheet: water line of 32.7 m², 1.04 kW/m², 1031.0 and
# 994.4 kg/m³ at 15.5 and 48.0 °C, 4200 J/(kg·K): 34 kW, B 0.00111, 32.42 kg/h
def test_thermal_relief_sheet():
    expansion = mean_expansion.si(1031.0, 994.4, 273.15 + 15.5, 273.15 + 48.0)
    assert expansion == pytest.approx(0.00111, abs=5e-6)
    heat = solar_heat.si(SUN, 32.7)
    assert heat == pytest.approx(34_000, rel=2e-3)
    flow = thermal_relief_flow.si(expansion, 34_000, 994.4, 4200)
    assert flow * 994.4 * 3600 == pytest.approx(32.42, abs=0.01)


def test_thermal_relief_in_us_units():
    """API 521's older form Q = B H/(500 G C), gal/min and Btu/h, as quoted in public."""
    heat = 100_000 * 1055.056 / 3600.0  # Btu/h to W
    flow = thermal_relief_flow("0.0001/degF", f"{heat} W", "62.4 lbm/ft^3", "4186.8 J/kg/K")
    assert flow.to("gal/min").magnitude == pytest.approx(0.0001 * 100_000 / 500, rel=2e-3)


# Esposito, Fluid Power with Applications, chapter 11: oil of 120 °F over a relief valve, 1000 psi,
# 10 gal/min: 127.9 °F; of 50 °C, 70 bar, 0.000632 m³/s, 895 kg/m³, 1.8 kJ/(kg·K): 54.3 °C
def test_oil_over_a_relief_valve_in_si():
    rise = throttling_rise.si(70e5, 895.0, 1800.0)
    assert 50 + rise == pytest.approx(54.3, abs=0.05)
    power = relief_heat.si(0.000632, 70e5)
    assert power == pytest.approx(4424)


def test_oil_over_a_relief_valve_in_us_units():
    # 7.42 lb/min a gal/min is 0.889 of water; 0.42 Btu/(lb·°F) is 0.42 × 4186.8 J/(kg·K)
    density = 7.42 * 0.45359237 / 0.003785411784
    rise = throttling_rise.si(1000 * 6894.757, density, 0.42 * 4186.8)
    assert 120 + 1.8 * rise == pytest.approx(127.9, abs=0.05)
    assert relief_heat("10 gal/min", "1000 psi").to("hp").magnitude == pytest.approx(
        10_000 / 1714, rel=1e-3
    )
