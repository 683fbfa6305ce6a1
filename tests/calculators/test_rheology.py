import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from rebuildbook.calculators.flow_curve import (
    Bingham,
    HerschelBulkley,
    Newtonian,
    PowerLaw,
    apparent_viscosity,
    shear_stress,
)
from rebuildbook.calculators.rheology import (
    fit_herschel_bulkley,
    fit_power_law,
    gap_shear_rate,
    metzner_reed_reynolds,
    pipe_loss,
    pipe_shear_rate,
    pipe_wall_stress,
    power_law_pipe_loss,
    slip_density,
    yield_pipe_flow,
)

SLIP = HerschelBulkley(8.0, 0.9, 0.6)


def integrated_flow(fluid, wall_stress, radius):
    """Flow by integrating the shear rate over the radius: Q = π ∫ r² γ̇ dr."""
    yield_stress, consistency, index = fluid.curve

    def part(r):
        over = max(wall_stress * r / radius - yield_stress, 0.0)
        return math.pi * r**2 * (over / consistency) ** (1 / index)

    plug = min(yield_stress / wall_stress, 1.0) * radius
    return quad(part, plug, radius, epsabs=0.0, epsrel=1e-11)[0]


@given(
    yield_stress=st.floats(0.0, 50.0),
    consistency=st.floats(1e-3, 50.0),
    index=st.floats(0.2, 1.5),
    over=st.floats(1.01, 100.0),
)
def test_pipe_flow_is_the_integral_of_the_flow_curve(yield_stress, consistency, index, over):
    fluid = HerschelBulkley(yield_stress, consistency, index)
    stress = (yield_stress + 1.0) * over
    flow = integrated_flow(fluid, stress, 0.0125)
    assert yield_pipe_flow(fluid, stress, 0.025) == pytest.approx(flow, rel=1e-8)
    assert pipe_wall_stress(fluid, flow, 0.025) == pytest.approx(stress, rel=1e-8)


@given(index=st.floats(0.1, 2.0), flow=st.floats(1e-6, 1e-3))
def test_power_law_closed_form_is_the_integral(index, flow):
    fluid = PowerLaw(2.0, index)
    stress = pipe_loss(fluid, flow, 0.02, 1.0) * 0.02 / 4
    assert integrated_flow(fluid, stress, 0.01) == pytest.approx(flow, rel=1e-8)


@given(flow=st.floats(1e-7, 1e-2))
def test_every_fluid_is_newtonian_in_its_limit(flow):
    plain = pipe_loss(Newtonian(0.3), flow, 0.02, 2.0)
    assert power_law_pipe_loss.si(0.3, 1.0, flow, 0.02, 2.0) == pytest.approx(plain, rel=1e-12)
    assert pipe_loss(Bingham(0.0, 0.3), flow, 0.02, 2.0) == pytest.approx(plain, rel=1e-12)
    faint = HerschelBulkley(1e-9, 0.3, 1.0)
    assert pipe_loss(faint, flow, 0.02, 2.0) == pytest.approx(plain, rel=1e-4)


def test_a_creep_of_thick_slip_needs_hardly_more_than_its_yield():
    assert pipe_wall_stress(SLIP, 0.0, 0.025) == 8.0
    assert 8.0 < pipe_wall_stress(SLIP, 1e-15, 0.025) < 8.01


def test_metzner_reed_reynolds_of_a_power_law_by_its_own_formula():
    consistency, index, speed, bore, density = 3.0, 0.5, 1.4, 0.025, 1075.0
    wanted = density * speed ** (2 - index) * bore**index
    wanted /= 8 ** (index - 1) * consistency * ((3 * index + 1) / (4 * index)) ** index
    found = metzner_reed_reynolds(PowerLaw(consistency, index), density, speed, bore)
    assert found == pytest.approx(wanted, rel=1e-12)


@pytest.mark.parametrize("index", [0.4, 1.0, 1.6])
def test_wall_shear_rates_are_those_of_the_velocity_profile(index):
    power = 1 / index + 1

    def mean(weight):  # of the profile 1 − y^power over pipe (r dr) or slit (dy)
        area = quad(weight, 0.0, 1.0)[0]
        return quad(lambda y: weight(y) * (1 - y**power), 0.0, 1.0)[0] / area

    assert pipe_shear_rate.si(1.0, 2.0, index) == pytest.approx(power / mean(lambda y: y))
    assert gap_shear_rate.si(1.0, 2.0, index) == pytest.approx(power / mean(lambda _: 1.0))


@given(
    yield_stress=st.floats(0.5, 40.0),
    consistency=st.floats(0.05, 20.0),
    index=st.floats(0.3, 1.2),
)
def test_a_herschel_bulkley_fit_finds_the_planted_fluid(yield_stress, consistency, index):
    planted = HerschelBulkley(yield_stress, consistency, index)
    rates = np.geomspace(0.5, 800.0, 12)
    fit = fit_herschel_bulkley(rates, shear_stress(planted, rates))
    assert fit.fluid.curve == pytest.approx(planted.curve, rel=1e-3)
    assert fit.worst_residual < 1e-6


@given(consistency=st.floats(0.01, 50.0), index=st.floats(0.2, 1.5))
def test_a_power_law_fit_finds_the_planted_fluid(consistency, index):
    rates = np.geomspace(1.0, 1000.0, 6)
    fit = fit_power_law(rates, consistency * rates**index)
    assert (fit.fluid.consistency, fit.fluid.index) == pytest.approx((consistency, index))


def test_a_fit_tells_how_far_off_it_is():
    rates = np.geomspace(1.0, 500.0, 15)
    noise = np.random.default_rng(4).normal(0.0, 0.02, rates.size)
    read = shear_stress(SLIP, rates) * (1 + noise)
    good, poor = fit_herschel_bulkley(rates, read), fit_power_law(rates, read)
    assert 0.005 < good.relative_residual < 0.03
    assert poor.relative_residual > 2 * good.relative_residual
    off = shear_stress(good.fluid, rates) - read
    assert good.stress_residual == pytest.approx(np.sqrt(np.mean(off**2)))
    assert good.worst_residual == pytest.approx(np.abs(off / read).max())
    assert good.fluid.yield_stress == pytest.approx(8.0, rel=0.1)


def test_slip_density_lies_between_its_parts():
    assert slip_density.si(0.0, 2600.0, 1000.0) == 1000.0
    assert slip_density.si(1.0, 2600.0, 1000.0) == pytest.approx(2600.0)
    volume = 0.7 / 2600.0 + 0.3 / 1000.0
    assert slip_density.si(0.7, 2600.0, 1000.0) == pytest.approx(1.0 / volume)


def test_arrays_go_through_and_nonsense_does_not():
    rates = np.array([1.0, 100.0])
    assert apparent_viscosity(SLIP, rates) == pytest.approx(shear_stress(SLIP, rates) / rates)
    for wrong in (
        lambda: Newtonian(0.0),
        lambda: PowerLaw(1.0, 0.0),
        lambda: Bingham(-1.0, 0.1),
        lambda: HerschelBulkley(1.0, 1.0, 9.0),
        lambda: apparent_viscosity(SLIP, 0.0),
        lambda: pipe_loss(SLIP, -1.0, 0.02, 1.0),
        lambda: slip_density.si(1.2, 2600.0, 1000.0),
        lambda: fit_power_law([1.0, 1.0], [2.0, 2.0]),
        lambda: fit_herschel_bulkley([1.0, 2.0], [2.0, 3.0]),
        lambda: fit_power_law([1.0, 2.0], [2.0, 3.0, 4.0]),
        lambda: fit_power_law([1.0, 2.0], [2.0, -3.0]),
    ):
        with pytest.raises(ValueError, match=r"must|given"):
            wrong()
