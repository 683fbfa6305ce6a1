"""Leaks of fluids that thin or have a yield stress: closed forms, a numerical profile, laws."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from rebuildbook.calculators.flow_curve import (
    Bingham,
    HerschelBulkley,
    Newtonian,
    PowerLaw,
    apparent_viscosity,
)
from rebuildbook.calculators.leak_paths import Gap, Scratch, leak, power_law_annular_flow
from rebuildbook.calculators.leak_viscosity import (
    height_for_flow,
    leak_viscosity,
    slot_shear_rate,
)

LONG = Gap(0.08, 1e-4, 0.03)  # so long that its edges take next to nothing


@pytest.mark.parametrize("index", [0.3, 0.5, 0.8, 1.0, 1.4])
def test_an_even_gap_passes_what_the_closed_form_of_the_power_law_slot_says(index):
    # 2667 Pa at its walls; at some 900/s next to nothing of the pressure is left to the edges
    fluid = PowerLaw(2667.0 / 900.0**index, index)
    thick = leak_viscosity(LONG, 16e5, fluid, 1600.0)
    wanted = power_law_annular_flow.si(0.08, 1e-4, 0.03, 16e5, fluid.consistency, index)
    assert leak(LONG, 16e5, thick, 1600.0).flow == pytest.approx(wanted, rel=1e-4)


def test_an_eccentric_gap_is_reckoned_on_the_safe_side_of_the_closed_form():
    fluid, gap = PowerLaw(180.0, 0.5), dataclasses.replace(LONG, eccentricity=1.0)
    thick = leak_viscosity(gap, 16e5, fluid, 1600.0)
    exact = power_law_annular_flow.si(0.08, 1e-4, 0.03, 16e5, 180.0, 0.5, 1.0)
    # at the viscosity of the widest place: 2.5 · 2^(1/n − 1) = 5, against 4.375 exactly
    assert leak(gap, 16e5, thick, 1600.0).flow / exact == pytest.approx(5 / 4.375, rel=2e-3)


@pytest.mark.parametrize(
    "fluid", [HerschelBulkley(40.0, 3.0, 0.5), Bingham(20.0, 0.3), HerschelBulkley(5.0, 1.0, 1.3)]
)
@pytest.mark.parametrize("wall", [45.0, 120.0, 2000.0])
def test_the_slot_is_the_integral_of_the_flow_curve_over_it(fluid, wall):
    yield_stress, consistency, index = fluid.curve

    def rate(y: float) -> float:  # shear rate at y half-heights from the middle
        return (max(wall * y - yield_stress, 0.0) / consistency) ** (1.0 / index)

    edge = min(yield_stress / wall, 1.0)
    mean = quad(lambda y: y * rate(y), edge, 1.0)[0]  # mean speed over half the height, by parts
    assert slot_shear_rate(fluid, wall) == pytest.approx(3.0 * mean, rel=1e-6)


def test_nothing_flows_where_the_wall_stress_does_not_pass_the_yield_stress():
    # τw = h Δp/(2 L) = 1e-4 · 3e4/(2 · 0.03) = 50 Pa
    for yield_stress, flows in ((50.1, False), (49.9, True)):
        thick = leak_viscosity(LONG, 3e4, HerschelBulkley(yield_stress, 1.0, 0.6), 1600.0)
        assert math.isfinite(thick) is flows
    assert slot_shear_rate(Bingham(10.0, 0.1), 10.0) == 0.0


def test_shut_or_without_pressure_there_is_no_shear_to_read_a_viscosity_at():
    assert leak_viscosity(Gap(0.08, 0.0, 0.03), 16e5, PowerLaw(3.0, 0.5), 1600.0) == math.inf
    assert leak_viscosity(LONG, 0.0, PowerLaw(3.0, 0.5), 1600.0) == math.inf


def test_a_passage_without_length_shears_at_the_speed_of_its_edges():
    fluid = PowerLaw(3.0, 0.5)
    speed = math.sqrt(2 * 4e5 / (1500.0 / 0.61**2))  # Δp = ξ ρ u²/2, ξ = 1/0.61²
    wanted = apparent_viscosity(fluid, 6 * speed / 0.2e-3)
    found = leak_viscosity(Scratch(0.5e-3, 0.2e-3, 0.0), 4e5, fluid, 1500.0)
    assert found == pytest.approx(wanted, rel=1e-9)


@given(
    st.floats(1e-5, 5e-4), st.floats(1e4, 3e6), st.floats(0.3, 1.2), st.floats(0.01, 20.0),
    st.floats(0.0, 60.0), st.booleans(),
)  # fmt: skip
@settings(max_examples=60, deadline=None)
def test_wall_stress_and_speed_of_the_leak_lie_on_the_fluids_own_curve(
    height, pressure, index, consistency, yield_stress, scratched
):
    fluid = HerschelBulkley(yield_stress, consistency, index)
    passage = Scratch(3 * height, height, 1e-3) if scratched else Gap(0.05, height, 0.01, 0.5)
    thick = leak_viscosity(passage, pressure, fluid, 1500.0)
    if math.isinf(thick):
        return
    rate = leak(passage, pressure, thick, 1500.0).shear_rate
    assert slot_shear_rate(fluid, thick * rate) == pytest.approx(rate, rel=1e-5)


@given(st.floats(0.3, 1.2), st.floats(0.0, 40.0), st.floats(1e-7, 1e-4))
@settings(max_examples=25, deadline=None)
def test_the_height_for_a_flow_passes_it(index, yield_stress, flow):
    fluid = HerschelBulkley(yield_stress, 1.5, index)
    height = height_for_flow(LONG, flow, 16e5, fluid, 1600.0)
    gap = dataclasses.replace(LONG, height=height)
    thick = leak_viscosity(gap, 16e5, fluid, 1600.0)
    assert leak(gap, 16e5, thick, 1600.0).flow == pytest.approx(flow, rel=1e-5)


def test_a_newtonian_height_is_that_of_the_annular_formula():
    height = height_for_flow(LONG, 2e-6, 16e5, Newtonian(0.3), 1600.0)
    by_hand = (2e-6 * 12 * 0.3 * 0.03 / (np.pi * 0.08 * 16e5)) ** (1 / 3)
    assert height == pytest.approx(by_hand, rel=1e-3)


def test_a_flow_that_no_gap_of_that_size_passes_is_refused():
    with pytest.raises(ValueError, match="does not let"):
        height_for_flow(Gap(1e-3, 0.0, 0.03), 1.0, 1e4, Newtonian(1.0), 1000.0)
