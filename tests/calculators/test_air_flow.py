"""Air through openings: choking, limits, both forms against independent formulas, refusals."""

import math

import numpy as np
import pytest
from fluids import P_critical_flow
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.air_flow import (
    CRITICAL,
    GAS_CONSTANT,
    KV_OF_CV,
    Nozzle,
    SonicValve,
    conductance_flow,
    in_series,
    nozzle_flow,
    nozzle_of_kv,
)

pressures = st.floats(1.2e5, 2e6)
ratios = st.floats(0.0, 1.0)


def test_critical_ratio_is_that_of_the_fluids_library():
    assert pytest.approx(P_critical_flow(1.0, 1.4), rel=1e-9) == CRITICAL


@given(pressures, st.floats(0.54, 0.999))
def test_subsonic_nozzle_is_speed_times_density_at_the_throat(upstream, ratio):
    # energy: w = √(2 cp (T1 − T2)), T2 and ρ2 isentropic
    temperature, area, kappa = 300.0, 1e-4, 1.4
    throat = temperature * ratio ** ((kappa - 1) / kappa)
    cp = kappa / (kappa - 1) * GAS_CONSTANT
    speed = math.sqrt(2 * cp * (temperature - throat))
    density = ratio * upstream / (GAS_CONSTANT * throat)
    found = nozzle_flow.si(area, upstream, ratio * upstream, temperature)
    assert found == pytest.approx(area * speed * density, rel=1e-9)


@given(pressures, ratios, ratios)
@pytest.mark.parametrize("opening", [Nozzle(1e-4), SonicValve(2e-8, 0.35)])
def test_less_pressure_behind_never_draws_less(opening, upstream, one, other):
    low, high = sorted((one, other))
    most, least = (opening.mass_flow(upstream, r * upstream, 293.15) for r in (low, high))
    assert most >= least >= 0.0


@pytest.mark.parametrize("opening", [Nozzle(1e-4), SonicValve(2e-8, 0.35)])
def test_choked_flow_goes_with_pressure_over_the_root_of_temperature(opening):
    base = opening.mass_flow(5e5, 1e5, 290.0)
    assert opening.mass_flow(10e5, 0.0, 290.0) == pytest.approx(2 * base)
    assert opening.mass_flow(5e5, 1e5, 4 * 290.0) == pytest.approx(base / 2)


@pytest.mark.parametrize("opening", [Nozzle(1e-4), SonicValve(2e-8, 0.35)])
def test_nothing_passes_without_a_drop_or_backwards(opening):
    assert opening.mass_flow(5e5, 5e5, 293.15) == pytest.approx(0.0, abs=1e-12)
    assert opening.mass_flow(5e5, 6e5, 293.15) == pytest.approx(0.0, abs=1e-12)


def test_sonic_valve_runs_on_an_ellipse_beyond_its_critical_ratio():
    whole = conductance_flow.si(1e-8, 7e5, 0.0, critical_ratio=0.3)
    # halfway from b to 1 the ellipse stands at √(1 − 1/4)
    half = conductance_flow.si(1e-8, 7e5, 0.65 * 7e5, critical_ratio=0.3)
    assert half / whole == pytest.approx(math.sqrt(0.75))
    assert whole == pytest.approx(1e-8 * 1.185 * 7e5)


def test_formulas_take_arrays():
    behind = np.array([1e5, 4e5, 7e5])
    assert nozzle_flow.si(1e-4, 7e5, behind).shape == (3,)
    assert conductance_flow.si(1e-8, 7e5, behind).shape == (3,)


def test_a_row_of_equal_valves_passes_a_root_less():
    row = in_series(*[SonicValve(4e-8, 0.2)] * 4)
    assert row.conductance == pytest.approx(2e-8)
    assert row.critical_ratio == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: nozzle_flow.si(1e-4, 0.0, 0.0), "upstream pressure is 0"),
        (lambda: nozzle_flow.si(1e-4, 1e5, -1.0), "downstream pressure is -1"),
        (lambda: nozzle_flow.si(1e-4, 2e5, 1e5, 0.0), "temperature is 0"),
        (lambda: nozzle_flow.si(1e-4, 2e5, 1e5, 293.0, 1.2), "discharge coefficient is 1.2"),
        (lambda: nozzle_flow.si(-1e-4, 2e5, 1e5), "area is -0.0001"),
        (lambda: conductance_flow.si(1e-8, 2e5, 1e5, 293.0, 1.0), "critical pressure ratio is 1"),
        (in_series, "no valve"),
        (lambda: in_series(SonicValve(0.0)), "conductance is 0"),
    ],
)
def test_impossible_input_is_refused_in_words(call, message):
    with pytest.raises(ValueError, match=message):
        call()


def test_a_valve_known_by_kv_passes_its_water_at_one_bar():
    nozzle = nozzle_of_kv(3.6)
    # orifice equation with water of 1000 kg/m³: 3.6 m³/h is 1 L/s
    assert nozzle.area * math.sqrt(2 * 1e5 / 1000.0) == pytest.approx(1e-3)
    assert nozzle.discharge == 1.0


def test_cv_is_less_water_in_smaller_gallons():
    # 1 US gal/min at 1 psi, carried over to 1 bar by the root of the pressures
    kv = 3.785411784e-3 * 60.0 * math.sqrt(1e5 / 6894.757)
    assert pytest.approx(kv, rel=1e-3) == KV_OF_CV


def test_a_valve_without_size_is_refused():
    with pytest.raises(ValueError, match="flow coefficient"):
        nozzle_of_kv(0.0)
