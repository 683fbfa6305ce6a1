"""The installed relief valve: agreement of flow with its lines, limits, and the way things tend."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from rebuildbook.calculators.flow_curve import PowerLaw, apparent_viscosity
from rebuildbook.calculators.relief_capacity import relief_capacity
from rebuildbook.calculators.relief_installed import (
    InstalledValve,
    Liquid,
    Pipe,
    accumulated_pressure,
    back_pressure_factor,
    chatter_risk,
    friction_factor,
    installed_capacity,
    valve_flow,
)

WATER = Liquid(1000.0, 1e-3)
SLIP = Liquid(1650.0, 0.3)
BARE = InstalledValve(bench_set=6e5, area=71e-6)
INLET, OUTLET = Pipe(0.020, 0.6, fittings=1.5), Pipe(0.025, 2.0, fittings=2.0)
PIPED = replace(BARE, inlet=INLET, outlet=OUTLET)

viscosities = st.floats(1e-3, 2.0)
flows = st.floats(1e-5, 3e-3)


def power_law(consistency: float, index: float):
    return lambda rate: consistency * rate ** (index - 1.0)


def test_without_lines_it_is_the_bare_capacity():
    found = installed_capacity(BARE, SLIP)
    bare = relief_capacity(71e-6, 6.6e5, 1650.0, 0.3)
    assert found.flow == found.rated == pytest.approx(bare.flow)
    assert (found.lift, found.inlet_loss, found.built_up) == (1.0, 0.0, 0.0)


@pytest.mark.parametrize("liquid", [WATER, SLIP])
@pytest.mark.parametrize("balanced", [False, True])
def test_flow_agrees_with_its_own_losses(liquid, balanced):
    valve = replace(PIPED, balanced=balanced, back_pressure=0.5e5)
    found = installed_capacity(valve, liquid)
    assert found.inlet_loss == pytest.approx(INLET.loss(found.flow, liquid))
    assert found.built_up == pytest.approx(OUTLET.loss(found.flow, liquid))
    under = found.relieving - found.inlet_loss
    assert valve_flow(valve, liquid, under, found.built_up).flow == pytest.approx(found.flow)
    assert found.flow < found.rated


def test_superimposed_back_pressure_raises_where_a_conventional_valve_opens():
    assert replace(BARE, back_pressure=1e5).opens == 7e5
    assert replace(BARE, back_pressure=1e5, balanced=True).opens == 6e5


def test_built_up_back_pressure_presses_a_conventional_valve_shut():
    # half the rise of 0.6 bar is half the lift
    assert BARE.lift(6.6e5, 0.3e5) == pytest.approx(0.5)
    assert replace(BARE, balanced=True).lift(6.6e5, 0.3e5) == 1.0


@settings(max_examples=40, deadline=None)
@given(viscosities, st.floats(0.0, 2.5e5), st.floats(0.0, 2.5e5), st.booleans())
def test_more_built_up_back_pressure_less_flow(viscosity, one, other, balanced):
    valve, liquid = replace(BARE, balanced=balanced), Liquid(1200.0, viscosity)
    less, more = sorted((one, other))
    at = [valve_flow(valve, liquid, 8e5, built).flow for built in (less, more)]
    assert at[1] <= at[0] * (1 + 1e-9)
    if balanced and more > less + 1.0:
        assert at[1] < at[0]


@settings(max_examples=30, deadline=None)
@given(viscosities, flows, flows)
def test_more_pump_flow_more_pressure(viscosity, one, other):
    less, more = sorted((one, other))
    liquid = Liquid(1200.0, viscosity)
    low, high = (accumulated_pressure(PIPED, liquid, q).pressure for q in (less, more))
    assert low <= high * (1 + 1e-9)
    assert low > PIPED.opens


@settings(max_examples=30, deadline=None)
@given(viscosities, flows, st.booleans())
def test_at_the_accumulated_pressure_the_valve_passes_the_pump(viscosity, flow, balanced):
    valve, liquid = replace(BARE, balanced=balanced, inlet=INLET), Liquid(1200.0, viscosity)
    found = accumulated_pressure(valve, liquid, flow)
    assert valve_flow(valve, liquid, found.under_valve).flow == pytest.approx(flow, rel=1e-6)
    assert found.pressure == found.under_valve + INLET.loss(flow, liquid)


def test_pump_at_the_capacity_ends_at_set_plus_overpressure():
    rated = installed_capacity(BARE, SLIP).flow
    found = accumulated_pressure(BARE, SLIP, rated)
    assert found.pressure == pytest.approx(6.6e5)
    assert found.lift == pytest.approx(1.0)
    assert accumulated_pressure(BARE, SLIP, 2 * rated).pressure > 2 * 6.6e5


@settings(max_examples=30, deadline=None)
@given(st.floats(0.1, 20.0), st.floats(0.2, 1.6))
def test_an_apparent_viscosity_holds_at_the_flow_it_gives(consistency, index):
    law = power_law(consistency, index)
    found = valve_flow(BARE, Liquid(1400.0, law), 6.6e5)
    hole = math.sqrt(4 * BARE.area / math.pi)
    rate = 8 * (found.flow / BARE.area) / hole
    fixed = valve_flow(BARE, Liquid(1400.0, law(rate)), 6.6e5)
    assert fixed.flow == pytest.approx(found.flow, rel=1e-6)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.1, 300.0), st.floats(0.05, 1.9))
def test_a_power_law_by_its_own_equation(consistency, index):
    """Kv = (1 + 170/Re)^−½ makes Q² + 85 μ(Q) √(π A) Q/ρ = Q₀², which rises with Q: one root."""
    density, area, drop = 1400.0, BARE.area, 6.6e5
    hole = math.sqrt(4 * area / math.pi)
    full = 0.65 * area * math.sqrt(2 * drop / density)

    def surplus(flow: float) -> float:
        viscosity = consistency * (8 * flow / (area * hole)) ** (index - 1)
        return flow**2 + 85 * viscosity * math.sqrt(math.pi * area) * flow / density - full**2

    found = valve_flow(BARE, Liquid(density, power_law(consistency, index)), drop).flow
    if surplus(full * 1e-6) < 0.0:
        expected = brentq(surplus, full * 1e-6, full, xtol=full * 1e-12)
        assert found == pytest.approx(expected, rel=1e-6)


def test_an_index_of_one_is_a_newtonian_liquid():
    bent = valve_flow(BARE, Liquid(1400.0, power_law(0.3, 1.0)), 6.6e5)
    assert bent.flow == pytest.approx(valve_flow(BARE, Liquid(1400.0, 0.3), 6.6e5).flow)


def test_a_flow_curve_of_the_rheology_serves():
    curve = PowerLaw(3.0, 0.6)
    found = valve_flow(BARE, Liquid(1400.0, lambda rate: apparent_viscosity(curve, rate)), 6.6e5)
    assert found.flow == pytest.approx(
        valve_flow(BARE, Liquid(1400.0, power_law(3.0, 0.6)), 6.6e5).flow
    )


def test_a_liquid_that_thins_passes_more_than_at_rest():
    def thinning(rate: float) -> float:
        return 0.02 + 0.5 / (1 + rate / 100.0)

    assert (
        valve_flow(BARE, Liquid(1400.0, 0.52), 6.6e5).flow
        < valve_flow(BARE, Liquid(1400.0, thinning), 6.6e5).flow
        < valve_flow(BARE, Liquid(1400.0, 0.02), 6.6e5).flow
    )


def test_too_stiff_to_pass_at_all():
    """A liquid with a yield stress far above what the pressure can shear stays in."""
    assert valve_flow(BARE, Liquid(1400.0, lambda rate: 1e9 / rate), 6.6e5).flow == 0.0
    with pytest.raises(ValueError, match="does not pass"):
        accumulated_pressure(replace(BARE, edition="7"), Liquid(1400.0, 1e40), 1e-3)


@settings(max_examples=50, deadline=None)
@given(st.floats(1e-3, 1e7), st.floats(1.0001, 3.0), st.floats(0.0, 0.05))
def test_loss_grows_with_flow_through_every_regime(reynolds, more, rough):
    assert friction_factor.si(reynolds * more, rough) * more**2 > friction_factor.si(
        reynolds, rough
    )


def test_chatter_reasons_one_by_one():
    assert not chatter_risk(BARE, WATER).flagged
    narrow = replace(BARE, inlet=Pipe(0.012, 1.0, 3.0), blowdown=0.10)
    risk = chatter_risk(narrow, WATER, 0.2 * installed_capacity(BARE, WATER).rated)
    assert risk.reasons == (
        "inlet loss above 3 % of the set pressure",
        "inlet loss above the blowdown",
        "pump flow below a quarter of the rated flow",
    )
    assert risk.flow_share == pytest.approx(0.2)
    throttled = replace(BARE, outlet=Pipe(0.012, 1.0, 1.0))
    assert chatter_risk(throttled, WATER).reasons == (
        "built-up back pressure above the overpressure",
    )
    bellows = replace(throttled, balanced=True, back_pressure=2.9e5)
    assert chatter_risk(bellows, WATER).reasons == (
        "more back pressure than a balanced valve takes",
    )


def test_three_percent_is_taken_of_the_bench_set():
    """K v² ρ/2 worked out by hand for a short line without friction."""
    line = Pipe(0.02, 0.0, fittings=1.0)
    rated = installed_capacity(BARE, WATER).rated
    expected = 1000.0 * (rated / (math.pi / 4 * 0.02**2)) ** 2 / 2 / 6e5
    risk = chatter_risk(replace(BARE, inlet=line), WATER)
    assert risk.inlet_share == pytest.approx(expected)


def test_beyond_the_chart_is_refused():
    with pytest.raises(ValueError, match=r"0 to 0\.5"):
        back_pressure_factor.si(0.6)
    with pytest.raises(ValueError, match="chart ends"):
        installed_capacity(replace(BARE, balanced=True, back_pressure=3.1e5), WATER)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Liquid(0.0, 1.0),
        lambda: Liquid(1000.0, -1.0),
        lambda: Pipe(0.0, 1.0),
        lambda: Pipe(0.02, -1.0),
        lambda: Pipe(0.02, 1.0, roughness=0.01),
        lambda: valve_flow(BARE, Liquid(1000.0, lambda rate: -1.0), 7e5),
        lambda: replace(BARE, bench_set=0.0),
        lambda: replace(BARE, area=math.nan),
        lambda: replace(BARE, back_pressure=-1.0),
        lambda: replace(BARE, overpressure=0.0),
        lambda: replace(BARE, blowdown=1.5),
        lambda: accumulated_pressure(BARE, WATER, 0.0),
        lambda: INLET.loss(-1.0, WATER),
        lambda: valve_flow(BARE, WATER, 7e5, -1.0),
    ],
)
def test_what_no_valve_has_is_refused(make):
    with pytest.raises(ValueError, match=r"must|it lies|is "):
        make()
