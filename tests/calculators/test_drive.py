"""Displacement, stall and flow of the drives: laws, limits and refusals."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from rebuildbook.calculators.drive import (
    NOT_LIMITED,
    StrokeAreas,
    annulus_area,
    crank_flow,
    crank_pressure,
    delivered_flow,
    diaphragm_displacement,
    differential_areas,
    differential_displacement,
    double_acting_areas,
    double_acting_displacement,
    driven_pressure,
    flow_variation,
    free_air,
    piston_area,
    single_acting_areas,
    single_acting_displacement,
    stall_by_areas,
    stall_by_ratio,
    stall_by_torque,
)

bores = st.floats(0.01, 0.5)
shares = st.floats(0.05, 0.95)
strokes = st.floats(0.005, 1.0)


@given(bores, shares, strokes)
def test_double_acting_volume_is_the_sum_of_its_strokes(bore, share, stroke):
    up, down = double_acting_areas(bore, share * bore).volumes(stroke)
    whole = double_acting_displacement.si(bore, share * bore, stroke)
    assert whole == pytest.approx(up + down, rel=1e-12)
    assert up < down


@given(bores, shares, strokes)
def test_differential_volume_is_the_sum_of_its_strokes_whatever_the_rod(bore, share, stroke):
    up, down = differential_areas(bore, share * bore).volumes(stroke)
    assert differential_displacement.si(bore, stroke) == pytest.approx(up + down, rel=1e-12)


def test_differential_strokes_are_equal_at_a_rod_of_half_the_area():
    up, down = differential_areas(0.1, 0.1 / math.sqrt(2.0)).volumes(0.12)
    assert up == pytest.approx(down, rel=1e-12)


@given(bores, strokes)
def test_without_a_rod_a_double_acting_piston_delivers_twice_a_single_acting_one(bore, stroke):
    single = single_acting_displacement.si(bore, stroke)
    assert double_acting_displacement.si(bore, 0.0, stroke) == pytest.approx(2.0 * single)


def test_a_tail_rod_takes_its_volume_from_the_other_side():
    # both sides π/4 (10² − 4²) cm² over 10 cm
    both = double_acting_displacement.si(0.10, 0.04, 0.10, 0.04)
    assert both == pytest.approx(2 * math.pi / 4 * (0.10**2 - 0.04**2) * 0.10, rel=1e-12)


def test_diaphragm_counts_its_chambers():
    assert diaphragm_displacement.si(0.02, 0.04) == pytest.approx(1.6e-3)
    assert diaphragm_displacement.si(0.02, 0.04, 1) == pytest.approx(0.8e-3)


def test_formulas_take_arrays():
    bore = np.array([0.05, 0.10])
    assert piston_area.si(bore) == pytest.approx([math.pi * 0.000625, math.pi * 0.0025])
    assert annulus_area.si(bore, 0.02).shape == (2,)
    assert single_acting_displacement.si(bore, 0.1, 3).shape == (2,)
    assert driven_pressure.si(np.array([4e5, 6e5]), 5.0) == pytest.approx([20e5, 30e5])
    assert crank_flow(np.linspace(0, 1, 7), 3).shape == (7,)


@given(bores, bores, st.floats(1e5, 1e6), st.floats(0.0, 0.9))
def test_stall_balances_the_forces_on_the_rod(air, fluid, supply, friction):
    drive, end = single_acting_areas(air), single_acting_areas(fluid)
    stall = stall_by_areas(supply, drive, end, friction)
    pushed = supply * drive.down * (1.0 - friction)
    assert stall.pressure * end.down == pytest.approx(pushed, rel=1e-12)
    assert stall.stroke == "down-stroke"
    assert stall.up is None


def test_the_larger_stroke_is_named():
    # equal rods: the annulus ratio (100² − 20²)/(50² − 20²) = 4.571 beats (100/50)² = 4
    stall = stall_by_areas(6e5, double_acting_areas(0.1, 0.02), double_acting_areas(0.05, 0.02))
    assert stall.stroke == "up-stroke"
    assert stall.up == pytest.approx(6e5 * 9600 / 2100)
    assert stall.down == pytest.approx(6e5 * 4.0)
    assert stall.pressure == stall.up


def test_equal_strokes_are_both_named():
    areas = StrokeAreas(0.01, 0.01)
    assert stall_by_areas(6e5, areas, areas).stroke == "both strokes"


def test_a_thin_rod_of_a_differential_piston_stalls_high_on_the_down_stroke():
    # rod of a quarter of the area: down-stroke ratio 4, up-stroke 4/3
    stall = stall_by_areas(6e5, StrokeAreas(0.01, 0.01), StrokeAreas(0.0075, 0.0025))
    assert stall.stroke == "down-stroke"
    assert stall.pressure == pytest.approx(24e5)


def test_a_drive_that_does_not_reach_the_delivering_stroke_is_refused():
    with pytest.raises(ValueError, match="does not push"):
        stall_by_areas(6e5, StrokeAreas(0.01, 0.0), StrokeAreas(0.0, 0.01))


def test_double_diaphragm_stalls_at_its_air_pressure():
    assert stall_by_ratio(6e5).pressure == 6e5
    assert stall_by_ratio(6e5, 3.0, 0.1).pressure == pytest.approx(16.2e5)


def test_a_drive_without_stall_is_not_limited():
    assert not NOT_LIMITED.limited
    assert stall_by_ratio(6e5).limited


@given(st.floats(0.01, 0.1), st.floats(0.005, 0.05), st.floats(1.0, 500.0))
def test_crank_pressure_of_a_simplex_is_torque_over_lever_and_area(radius, bore, torque):
    area = math.pi / 4 * bore**2
    volume = area * 2 * radius
    peak = crank_pressure.si(torque, volume, 1.0, math.pi)
    assert peak == pytest.approx(torque / (radius * area), rel=1e-12)
    assert stall_by_torque(torque, volume).pressure == pytest.approx(math.pi * peak)


def test_a_turn_at_the_mean_pressure_takes_the_work_that_the_torque_gives():
    # work of one turn: p V = 2π T η
    pressure = crank_pressure.si(40.0, 25e-6, 0.9)
    assert pressure * 25e-6 == pytest.approx(2 * math.pi * 40.0 * 0.9)


rod_ratios = st.floats(0.0, 0.5)


@given(st.integers(1, 9), rod_ratios, st.floats(0.0, 1.0))
def test_mean_of_the_crank_flow_is_one(count, rod_ratio, share):
    angles = (np.arange(20_000) + 0.5) * 2 * math.pi / 20_000
    assert crank_flow(angles, count, rod_ratio, share).mean() == pytest.approx(1.0, abs=1e-6)


@given(st.floats(0.02, 0.5), st.floats(0.01, 3.13))
def test_crank_flow_follows_the_slider_crank(rod_ratio, angle):
    def travel(alpha):  # by Pythagoras, crank radius 1
        rod = 1.0 / rod_ratio
        return rod + 1.0 - math.cos(alpha) - math.sqrt(rod**2 - math.sin(alpha) ** 2)

    step = 1e-5
    slope = (travel(angle + step) - travel(angle - step)) / (2 * step)
    assert float(crank_flow(angle, 1, rod_ratio)) == pytest.approx(math.pi * slope, abs=1e-4)


@pytest.mark.parametrize(
    ("count", "peak", "trough"),
    [
        (1, math.pi, 0.0),
        (2, math.pi / 2, 0.0),
        (3, math.pi / 3, math.pi / (2 * math.sqrt(3.0))),
        (5, math.pi / (10 * math.sin(math.pi / 10)), math.pi / (10 * math.tan(math.pi / 10))),
    ],
)
def test_flow_variation_of_a_long_rod_has_closed_forms(count, peak, trough):
    # sums of half sines: an odd number n peaks at π/(2n sin(π/2n)), dips to π/(2n tan(π/2n))
    found = flow_variation(count)
    assert found.peak == pytest.approx(peak, abs=1e-6)
    assert found.trough == pytest.approx(trough, abs=1e-6)


@pytest.mark.parametrize("rod_ratio", [0.1, 0.2, 0.3])
def test_peak_of_a_simplex_agrees_with_a_search(rod_ratio):
    found = minimize_scalar(
        lambda a: -float(crank_flow(a, 1, rod_ratio)), bounds=(0.5, 2.0), method="bounded"
    )
    assert flow_variation(1, rod_ratio).peak == pytest.approx(-found.fun, abs=1e-6)


def test_delivered_volume_of_a_turn_is_the_displacement():
    turned, _ = quad(lambda a: float(crank_flow(a, 1, 0.25)), 0.0, math.pi)
    assert turned / (2 * math.pi) == pytest.approx(1.0, abs=1e-8)


def test_a_rod_through_one_side_makes_a_double_acting_pump_pulse_more():
    even, uneven = flow_variation(1, 0.0, 1.0), flow_variation(1, 0.0, 0.5)
    assert even.peak == pytest.approx(math.pi / 2, abs=1e-6)
    assert uneven.peak == pytest.approx(math.pi / 1.5, abs=1e-6)


@given(st.floats(1e-5, 1e-1), st.floats(0.0, 1e6))
def test_free_air_is_boyle(volume, supply):
    free = free_air.si(volume, supply)
    assert free * 101_325.0 == pytest.approx(volume * (supply + 101_325.0), rel=1e-12)


@given(st.floats(1e-6, 1e-2), st.floats(0.0, 10.0), st.floats(0.1, 1.0))
def test_flow_is_linear_in_rate_and_efficiency(volume, rate, efficiency):
    full = delivered_flow.si(volume, rate)
    assert delivered_flow.si(volume, rate, efficiency) == pytest.approx(full * efficiency)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: piston_area.si(0.0), "piston diameter is 0.0"),
        (lambda: piston_area.si(math.nan), "piston diameter is nan"),
        (lambda: annulus_area.si(0.05, 0.05), "smaller than the bore"),
        (lambda: annulus_area.si(0.05, -0.01), "smaller than the bore"),
        (lambda: single_acting_displacement.si(0.05, -0.1), "stroke is -0.1"),
        (lambda: single_acting_displacement.si(0.05, 0.1, 0), "count is 0"),
        (lambda: single_acting_displacement.si(0.05, 0.1, 2.5), "count is 2.5"),
        (lambda: delivered_flow.si(1e-3, 1.0, 1.2), "volumetric efficiency is 1.2"),
        (lambda: delivered_flow.si(1e-3, -1.0), "rate is -1.0"),
        (lambda: driven_pressure.si(6e5, 1.0, 1.0), "friction is 1.0"),
        (lambda: driven_pressure.si(-1.0, 1.0), "supply pressure is -1.0"),
        (lambda: driven_pressure.si(6e5, 0.0), "area ratio is 0.0"),
        (lambda: crank_pressure.si(10.0, 1e-5, 1.0, 0.5), "peak factor is 0.5"),
        (lambda: crank_flow(0.0, 1, 1.0), "rod ratio is 1.0"),
        (lambda: crank_flow(0.0, 1, 0.0, 1.5), "return share is 1.5"),
        (lambda: free_air.si(1e-3, -1e5), "supply pressure is -100000.0"),
        (lambda: StrokeAreas(0.0, 0.0), "one must be above zero"),
        (lambda: StrokeAreas(-1.0, 1.0), "none below"),
    ],
)
def test_impossible_input_is_refused_in_words(call, message):
    with pytest.raises(ValueError, match=message):
        call()
