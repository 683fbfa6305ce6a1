"""Shut-in sections and heated oil: closed forms, limits, and the way things tend."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from rebuildbook.calculators.relief_thermal import (
    blocked_in_rise,
    mean_expansion,
    shell_compliance,
    shell_growth,
    solar_heat,
    tank_temperature,
    thermal_relief_flow,
    thick_shell_compliance,
    throttling_rise,
    time_at_heat,
    time_at_source,
    warming_to,
)

STEEL, NU = 200e9, 0.3
expansions = st.floats(1e-4, 1e-3)
moduli = st.floats(5e8, 4e9)


@given(expansions, moduli)
def test_rigid_shell_is_expansion_times_bulk_modulus(expansion, modulus):
    assert blocked_in_rise.si(expansion, modulus) == pytest.approx(expansion * modulus)


@given(expansions, moduli, st.floats(1e9, 3e11), st.floats(1.01, 10.0))
def test_a_stiffer_shell_rises_faster(expansion, modulus, soft, more):
    rises = [
        blocked_in_rise.si(expansion, modulus, 0.0, shell_compliance.si(0.1, 0.002, e))
        for e in (soft, soft * more)
    ]
    assert rises[0] < rises[1] < expansion * modulus


@given(expansions, moduli, st.floats(1e-12, 1e-8))
def test_hoses_slow_the_rise(expansion, modulus, other):
    free = blocked_in_rise.si(expansion, modulus)
    assert blocked_in_rise.si(expansion, modulus, 0.0, 0.0, other) < free


def test_volume_balance_holds():
    """What the liquid wants to grow is what compression, shell growth and stretch take up."""
    growth, stretch = shell_growth.si(12e-6), shell_compliance.si(0.1, 0.004, STEEL)
    warm = 7.0
    pressure = warm * blocked_in_rise.si(7e-4, 1.6e9, growth, stretch)
    assert 7e-4 * warm - pressure / 1.6e9 == pytest.approx(growth * warm + stretch * pressure)


def test_cold_water_in_steel_falls():
    assert blocked_in_rise.si(1.6e-5, 2.1e9, shell_growth.si(12e-6)) < 0.0
    assert warming_to.si(1e5, -3e4) == math.inf


@pytest.mark.parametrize("ends", ["capped", "held", "sliding"])
def test_thin_tube_from_its_strains(ends):
    """Volume strain from Hooke's law: two hoop strains and, for capped ends, the axial one."""
    bore, wall, p = 0.1, 0.002, 1.0
    hoop = p * bore / (2 * wall)
    axial = {"capped": hoop / 2, "held": NU * hoop, "sliding": 0.0}[ends]
    hoop_strain = (hoop - NU * axial) / STEEL
    axial_strain = (axial - NU * hoop) / STEEL if ends == "capped" else 0.0
    expected = 2 * hoop_strain + axial_strain
    assert shell_compliance.si(bore, wall, STEEL, NU, ends) == pytest.approx(expected)


def test_held_pipe_grows_by_its_wall_alone():
    """A held pipe warmed is pressed along its axis by E α ΔT, which swells the hoop by ν α ΔT."""
    hoop = 12e-6 - NU * (-STEEL * 12e-6) / STEEL
    assert shell_growth.si(12e-6, NU, "held") == pytest.approx(2 * hoop)


def test_thick_shell_from_lame():
    a, b = 0.025, 0.05
    hoop = (b**2 + a**2) / (b**2 - a**2)
    axial = a**2 / (b**2 - a**2)
    at_bore = (hoop - NU * (axial - 1.0)) / STEEL
    along = (axial - NU * (hoop - 1.0)) / STEEL
    found = thick_shell_compliance.si(2 * a, 2 * b, STEEL, NU)
    assert found == pytest.approx(2 * at_bore + along)


def test_thick_shell_nears_the_thin_one():
    thin = shell_compliance.si(0.1, 0.1e-4, STEEL, NU)
    assert thick_shell_compliance.si(0.1, 0.1 + 0.2e-4, STEEL, NU) == pytest.approx(thin, rel=1e-3)


@given(st.floats(0.1, 90.0), st.floats(1e3, 1e6), st.floats(1.0, 100.0))
def test_time_at_a_source_is_the_integral_of_the_heat(warming, capacity, conductance):
    over = 100.0
    expected, _ = quad(lambda rise: capacity / (conductance * (over - rise)), 0.0, warming)
    assert time_at_source.si(warming, capacity, conductance, over) == pytest.approx(expected)


def test_times_at_their_ends():
    assert time_at_heat.si(10.0, 8e4, 400.0) == pytest.approx(2000.0)
    assert time_at_heat.si(10.0, 8e4, 0.0) == math.inf
    assert time_at_heat.si(math.inf, 8e4, 400.0) == math.inf
    assert time_at_heat.si(0.0, 8e4, 0.0) == 0.0
    assert time_at_source.si(100.0, 8e4, 40.0, 100.0) == math.inf
    assert time_at_source.si(math.inf, 8e4, 40.0, 100.0) == math.inf
    assert time_at_source.si(0.0, 8e4, 40.0, 100.0) == 0.0


def test_a_hot_source_far_off_is_a_steady_heat():
    steady = time_at_heat.si(1.0, 8e4, 40.0 * 1e5)
    assert time_at_source.si(1.0, 8e4, 40.0, 1e5) == pytest.approx(steady, rel=1e-4)


@pytest.mark.parametrize("conductance", [0.0, 1e-9, 12.0])
def test_tank_follows_its_own_balance(conductance):
    power, capacity, start, air = 4400.0, 170e3, 300.0, 290.0
    solved = solve_ivp(
        lambda _, t: (power - conductance * (t - air)) / capacity, (0.0, 7200.0), [start],
        rtol=1e-10, atol=1e-8,
    )  # fmt: skip
    found = tank_temperature.si(7200.0, power, capacity, start, air, conductance)
    assert found == pytest.approx(solved.y[0, -1], abs=1e-5)


def test_tank_takes_arrays_and_ends_where_it_loses_what_it_gets():
    times = np.array([0.0, 3600.0, 1e9])
    found = tank_temperature.si(times, 1000.0, 170e3, 300.0, 290.0, 20.0)
    assert found[0] == 300.0
    assert found[2] == pytest.approx(290.0 + 1000.0 / 20.0)
    assert np.all(np.diff(found) > 0.0)


def test_a_loop_gains_what_pump_and_valve_give_together():
    """Pressing oil without loss warms it by β T Δp/(ρ c); with the valve's part it is Δp/(ρ c)."""
    pressing = 7e-4 * 313.0 * 70e5 / (895.0 * 1800.0)
    valve = throttling_rise.si(70e5, 895.0, 1800.0, 7e-4, 313.0)
    assert valve + pressing == pytest.approx(throttling_rise.si(70e5, 895.0, 1800.0))


@given(st.floats(10.0, 1e5), st.floats(1.001, 50.0))
def test_more_heat_more_flow(heat, more):
    flows = [thermal_relief_flow.si(7e-4, q, 880.0, 1900.0) for q in (heat, heat * more)]
    assert flows[1] == pytest.approx(more * flows[0])


def test_mean_expansion_of_an_exponential_density():
    """For ρ falling as e^(−βT) the form gives sinh(β ΔT)/ΔT, β itself for a small step."""
    first, second = 1000.0, 1000.0 * math.exp(-7e-4 * 30.0)
    found = mean_expansion.si(first, second, 290.0, 320.0)
    assert found == pytest.approx(math.sinh(7e-4 * 30.0) / 30.0)


@pytest.mark.parametrize(
    "make",
    [
        lambda: shell_compliance.si(0.1, 0.0, STEEL),
        lambda: shell_compliance.si(0.1, 0.01, STEEL, 0.6),
        lambda: shell_compliance.si(0.1, 0.01, STEEL, ends="open"),
        lambda: thick_shell_compliance.si(0.1, 0.1, STEEL),
        lambda: blocked_in_rise.si(7e-4, 0.0),
        lambda: blocked_in_rise.si(7e-4, 1e9, 0.0, -1e-12),
        lambda: mean_expansion.si(1000.0, 990.0, 300.0, 300.0),
        lambda: solar_heat.si(1000.0, 1.0, 1.1),
        lambda: thermal_relief_flow.si(7e-4, -1.0, 880.0, 1900.0),
        lambda: time_at_heat.si(-1.0, 8e4, 400.0),
        lambda: time_at_source.si(1.0, 8e4, 40.0, 0.0),
        lambda: tank_temperature.si(-1.0, 100.0, 1e5),
        lambda: warming_to.si(-1.0, 1e5),
    ],
)
def test_what_cannot_be_is_refused(make):
    with pytest.raises(ValueError, match=r"is |are "):
        make()
