"""Leak of gaps, scratches and seats: numerical integration, limits, laws and refusals."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from rebuildbook.calculators.ball_seat import ConeSeat, seat_contact
from rebuildbook.calculators.leak_paths import (
    SHARP_EDGES,
    SQUARE_EDGES,
    Gap,
    Scratch,
    annular_flow,
    channel_factor,
    chip_gap,
    eccentricity_factor,
    leak,
    orifice_flow,
    oval_seat_gap,
    piston_gap,
    power_law_annular_flow,
    power_law_slot_flow,
    worn_seal_gap,
)

WATER = (1e-3, 1000.0)
OIL = (0.1, 900.0)
SYRUP = (1.0, 1200.0)
CONTACT = seat_contact(0.025, ConeSeat(0.016, 0.022, math.pi / 2))

clearances = st.floats(5e-6, 5e-4)
eccentricities = st.floats(0.0, 1.0)
pressures = st.floats(1e3, 1e8)
viscosities = st.floats(5e-4, 10.0)


@pytest.mark.parametrize("epsilon", [0.0, 0.2, 0.5, 0.8, 0.97, 1.0])
def test_eccentric_gap_against_integration_round_it(epsilon):
    def strip(angle):  # slot flow of an element of the circumference
        gap = 60e-6 * (1.0 + epsilon * math.cos(angle))
        return gap**3 * 5e5 / (12.0 * 0.02 * 0.03) * 0.04 / 2.0

    expected = quad(strip, 0.0, 2.0 * math.pi)[0]
    found = annular_flow.si(0.04, 60e-6, 0.03, 5e5, 0.02, epsilon)
    assert found == pytest.approx(expected, rel=1e-10)


@pytest.mark.parametrize("index", [0.3, 0.5, 0.8, 1.0, 1.4])
@pytest.mark.parametrize("epsilon", [0.0, 0.6, 1.0])
def test_eccentric_power_law_gap_against_integration_round_it(index, epsilon):
    def strip(angle):
        gap = 60e-6 * (1.0 + epsilon * math.cos(angle))
        return power_law_slot_flow.si(0.02, gap, 0.03, 5e5, 2.0, index)

    expected = quad(strip, 0.0, 2.0 * math.pi, epsabs=0.0, epsrel=1e-10)[0]
    found = power_law_annular_flow.si(0.04, 60e-6, 0.03, 5e5, 2.0, index, epsilon)
    assert found == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize("index", [0.4, 0.7, 1.0, 1.5])
def test_power_law_slot_against_its_velocity_profile(index):
    gap, gradient, consistency = 1e-4, 3e5 / 0.02, 3.0

    def speed(y):  # from the wall in: du/dy = (gradient (h/2 − y)/K)^(1/n), no slip at the wall
        return quad(lambda z: (gradient * (gap / 2 - z) / consistency) ** (1 / index), 0.0, y)[0]

    expected = 0.05 * 2.0 * quad(speed, 0.0, gap / 2)[0]
    found = power_law_slot_flow.si(0.05, gap, 0.02, 3e5, consistency, index)
    assert found == pytest.approx(expected, rel=1e-7)


@given(clearances, pressures, viscosities, eccentricities)
def test_power_law_of_index_one_is_newtonian(clearance, pressure, viscosity, epsilon):
    one = power_law_annular_flow.si(0.05, clearance, 0.02, pressure, viscosity, 1.0, epsilon)
    assert one == pytest.approx(
        annular_flow.si(0.05, clearance, 0.02, pressure, viscosity, epsilon), rel=1e-9
    )


def test_a_part_against_the_wall_leaks_two_and_a_half_times():
    centred = annular_flow.si(0.05, 5e-5, 0.02, 1e5, 0.1)
    assert annular_flow.si(0.05, 5e-5, 0.02, 1e5, 0.1, 1.0) == pytest.approx(2.5 * centred)


@pytest.mark.parametrize("epsilon", [0.0, 0.5, 1.0])
def test_drag_of_a_moving_wall_against_integration(epsilon):
    def strip(angle):  # sliding-plate flow, half the wall's speed over the local gap
        return 5e-5 * (1.0 + epsilon * math.cos(angle)) * 0.4 / 2.0 * 0.05 / 2.0

    expected = quad(strip, 0.0, 2.0 * math.pi)[0]
    still = annular_flow.si(0.05, 5e-5, 0.02, 1e5, 0.1, epsilon)
    moving = annular_flow.si(0.05, 5e-5, 0.02, 1e5, 0.1, epsilon, 0.4)
    assert moving - still == pytest.approx(expected, rel=1e-9)
    gap = Gap(0.05, 5e-5, 0.02, epsilon)
    more = leak(gap, 1e5, *OIL, wall_speed=0.4).flow - leak(gap, 1e5, *OIL).flow
    assert more == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("epsilon", [0.0, 0.4, 1.0])
def test_long_gap_of_a_thick_fluid_leaks_as_the_laminar_formula(epsilon):
    found = leak(Gap(0.05, 3e-5, 0.04, epsilon), 1e6, *SYRUP)
    assert found.flow == pytest.approx(
        annular_flow.si(0.05, 3e-5, 0.04, 1e6, 1.0, epsilon), rel=1e-4
    )
    assert found.laminar == pytest.approx(found.flow, rel=1e-4)
    assert found.regime == "laminar"
    assert found.throttled_by == "friction"


@pytest.mark.parametrize("pressure", [1e4, 1e6, 3e7])
def test_concentric_gap_solves_its_pressure_balance(pressure):
    # an independent root of friction and edges, with the corner between the two frictions left in
    gap, length, (viscosity, density) = 1e-4, 0.02, WATER

    def surplus(speed):
        reynolds = 2.0 * density * speed * gap / viscosity
        factor = max(96.0 / reynolds, 0.3164 / reynolds**0.25)
        head = density * speed**2 / 2.0
        return factor * length / (2.0 * gap) * head + SQUARE_EDGES * head - pressure

    speed = brentq(surplus, 1e-9, 1e4)
    found = leak(Gap(0.06, gap, length), pressure, viscosity, density)
    away = abs(math.log(found.reynolds / 2040.0))
    assert found.flow == pytest.approx(
        math.pi * 0.06 * gap * speed, rel=0.1 if away < 0.5 else 0.02
    )
    assert found.reynolds == pytest.approx(2.0 * density * speed * gap / viscosity, rel=0.1)


def test_regimes_are_named_by_reynolds_number():
    named = [leak(Gap(0.06, 1e-4, 0.02), p, *WATER).regime for p in (1e4, 3e5, 1e7)]
    assert named == ["laminar", "between", "turbulent"]


def test_flow_runs_on_smoothly_through_the_hand_over():
    pressure = np.geomspace(1e4, 1e7, 400)
    flow = np.array([leak(Gap(0.06, 1e-4, 0.02), p, *WATER).flow for p in pressure])
    power = np.diff(np.log(flow)) / np.diff(np.log(pressure))
    assert power.max() <= 1.0 + 1e-9
    assert power.min() >= 0.5 - 1e-9
    assert np.abs(np.diff(power)).max() < 0.01


def test_gap_without_length_is_an_orifice():
    gap = Gap(0.018, 5e-5, 0.0, 1.0, SHARP_EDGES)
    found = leak(gap, 1e6, *WATER)
    area = math.pi * 0.018 * 5e-5
    assert found.flow == pytest.approx(orifice_flow.si(area, 1e6, 1000.0), rel=1e-9)
    assert found.throttled_by == "edges"
    assert math.isinf(found.laminar)


def test_scratch_runs_from_laminar_channel_to_sharp_orifice():
    scratch = Scratch(0.4e-3, 0.1e-3, 2e-3)
    slow = leak(scratch, 1e4, *SYRUP)
    channel = channel_factor.si(0.4e-3, 0.1e-3) * 0.4e-3 * 1e-12 * 1e4 / (12.0 * 1.0 * 2e-3)
    assert slow.flow == pytest.approx(channel, rel=1e-3)
    assert slow.throttled_by == "friction"
    short = leak(Scratch(0.4e-3, 0.1e-3, 1e-6), 1e7, *WATER)
    assert short.flow == pytest.approx(orifice_flow.si(4e-8, 1e7, 1000.0), rel=0.02)
    assert short.throttled_by == "edges"


def test_scratches_add_and_lie_either_way_up():
    one = leak(Scratch(0.4e-3, 0.1e-3, 1e-3), 1e6, *WATER).flow
    assert leak(Scratch(0.4e-3, 0.1e-3, 1e-3, 3), 1e6, *WATER).flow == pytest.approx(3 * one)
    assert leak(Scratch(0.1e-3, 0.4e-3, 1e-3), 1e6, *WATER).flow == pytest.approx(one)


def test_channel_factor_of_a_wide_slot_nears_one_with_its_side_walls():
    assert channel_factor.si(1.0, 1e-6) == pytest.approx(1.0, abs=1e-5)
    assert channel_factor.si(10.0, 1.0) == pytest.approx(1.0 - 0.63 / 10.0, abs=1e-3)


@given(
    st.floats(1e-6, 1e-3), st.just(0.0) | st.floats(1e-6, 0.05), eccentricities, pressures,
    viscosities, st.floats(600.0, 2500.0),
)  # fmt: skip
@settings(max_examples=60, deadline=None)
def test_no_gap_leaks_more_than_friction_or_edges_alone_allow(
    height, length, epsilon, pressure, viscosity, density
):
    found = leak(Gap(0.05, height, length, epsilon), pressure, viscosity, density)
    assert 0.0 < found.flow <= min(found.laminar, found.edges) * (1.0 + 1e-9)


@given(clearances, st.floats(1.05, 3.0), eccentricities, pressures, viscosities)
@settings(max_examples=60, deadline=None)
def test_wider_leaks_more_and_thicker_longer_slower_less(height, more, epsilon, p, viscosity):
    base = leak(Gap(0.05, height, 0.02, epsilon), p, viscosity, 1000.0).flow
    assert leak(Gap(0.05, more * height, 0.02, epsilon), p, viscosity, 1000.0).flow > base
    assert leak(Gap(0.05, height, 0.02, epsilon), more * p, viscosity, 1000.0).flow > base
    assert leak(Gap(0.05, height, more * 0.02, epsilon), p, viscosity, 1000.0).flow < base
    assert leak(Gap(0.05, height, 0.02, epsilon), p, more * viscosity, 1000.0).flow < base


def test_apparent_viscosity_is_read_at_the_wall_shear_rate_of_the_widest_place():
    gap = Gap(0.05, 5e-5, 0.02, 1.0)
    found = leak(gap, 1e5, *SYRUP)
    widest = 1e-4  # τ = h Δp/(2 L) at its wall
    assert found.shear_rate == pytest.approx(widest * 1e5 / (2.0 * 0.02) / 1.0, rel=1e-3)


def test_oval_seat_against_integration_round_it():
    gap = oval_seat_gap(CONTACT, 0.04e-3, 0.2e-3)
    sine = CONTACT.circle / 0.025

    def strip(angle):  # radius of an ellipse-like seat above its least, turned square to the ball
        local = 0.02e-3 * math.cos(angle) ** 2 * sine
        return local**3 * 1e5 / (12.0 * 1.0 * 0.2e-3) * CONTACT.circle / 2.0

    expected = quad(strip, 0.0, 2.0 * math.pi)[0]
    assert leak(gap, 1e5, *SYRUP).flow == pytest.approx(expected, rel=1e-3)


def test_ball_on_a_chip_touches_opposite_and_gapes_by_its_height():
    chip, angle = 0.1e-3, CONTACT.angle
    turns = np.linspace(0.0, 2.0 * math.pi, 721)
    # the ball's centre sinks as far as every gap allows: minimise the rise over the side shift
    sides = np.linspace(-3.0, 3.0, 60001) * chip
    rise = np.maximum(
        (chip - sides * math.sin(angle)) / math.cos(angle),
        np.max(-np.cos(turns)[:, None] * sides * math.sin(angle), axis=0) / math.cos(angle),
    )
    best = int(np.argmin(rise))
    gaps = rise[best] * math.cos(angle) + sides[best] * math.sin(angle) * np.cos(turns)
    found = chip_gap(CONTACT, chip, 0.2e-3)
    assert found.height == pytest.approx(gaps[:-1].mean(), rel=1e-3)
    assert found.height * (1.0 + found.eccentricity * np.cos(turns)) == pytest.approx(
        gaps, abs=1e-3 * chip
    )


@given(st.floats(0.0, 1e-3), st.floats(0.0, 1e-3))
def test_a_seal_leaks_once_its_interference_is_worn_away(wear, interference):
    gap = worn_seal_gap(0.06, wear, interference, 0.006)
    assert (leak(gap, 5e5, *OIL).flow > 0.0) == (wear - interference > 0.0)


def test_what_fits_closely_leaks_nothing():
    assert leak(piston_gap(0.05, 0.05, 0.02), 1e6, *WATER).flow == 0.0
    assert leak(oval_seat_gap(CONTACT, 0.0, 1e-4), 1e6, *WATER).flow == 0.0
    assert leak(Gap(0.05, 5e-5, 0.02), 0.0, *WATER).flow == 0.0
    assert leak(Scratch(1e-3, 1e-4, 1e-3), 0.0, *WATER).flow == 0.0


def test_units_at_the_front_door():
    flow = annular_flow("63.5 mm", "0.05 mm", "20 mm", "6 bar", "120 cP", 1.0)
    assert flow.to("m^3/s").magnitude == pytest.approx(
        annular_flow.si(0.0635, 5e-5, 0.02, 6e5, 0.12, 1.0)
    )
    with pytest.raises(ValueError, match="clearance"):
        annular_flow("63.5 mm", "0.05 bar", "20 mm", "6 bar", "120 cP")


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: piston_gap(0.05, 0.0501, 0.02), "not larger than the bore"),
        (lambda: Gap(0.05, -1e-5, 0.02), "from 0 to"),
        (lambda: Gap(0.05, 1e-5, 0.02, 1.2), "eccentricity is 1.2"),
        (lambda: Gap(0.05, 0.04, 0.02), "from 0 to"),
        (lambda: Scratch(0.0, 1e-4, 1e-3), "width of a scratch"),
        (lambda: Scratch(1e-3, 1e-4, 1e-3, 0), "whole number"),
        (lambda: chip_gap(CONTACT, 2e-3, 1e-4), "stands open"),
        (lambda: oval_seat_gap(CONTACT, -1e-5, 1e-4), "ovality"),
        (lambda: worn_seal_gap(0.05, -1e-5, 0.0, 0.01), "wear"),
        (lambda: leak(Gap(0.05, 1e-5, 0.02), -1.0, *WATER), "pressure difference"),
        (lambda: leak(Gap(0.05, 1e-5, 0.02), 1.0, 0.0, 1000.0), "viscosity"),
        (lambda: leak(Gap(0.05, 1e-5, 0.02), 1.0, 1e-3, math.nan), "density"),
        (lambda: annular_flow.si(0.05, 1e-5, 0.0, 1e5, 1e-3), "length"),
        (lambda: eccentricity_factor.si(1.01), "eccentricity"),
        (lambda: power_law_slot_flow.si(0.1, 1e-4, 0.02, 1e5, 1.0, 0.0), "flow index"),
    ],
)
def test_refusals_say_what_was_given(call, said):
    with pytest.raises(ValueError, match=said):
        call()
