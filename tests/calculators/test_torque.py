"""Torque through an adapter, in wrench units, and in the wrong unit."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from rebuildbook.calculators.thread_strength import strength_class
from rebuildbook.calculators.threads import parse_thread
from rebuildbook.calculators.torque import (
    TORQUE_UNITS,
    adapter_setting,
    in_all_units,
    plausible_torque,
    reading_mix_up,
    suspect_mix_up,
    torque_at_fastener,
    torque_window_in,
)
from rebuildbook.units import from_unit

torques = st.floats(0.1, 1000.0)
levers = st.floats(0.1, 1.5)
angles = st.floats(-math.pi, math.pi)


@given(torques)
def test_a_torque_comes_back_from_every_unit(torque):
    values = in_all_units(torque)
    assert tuple(values) == TORQUE_UNITS
    for unit, value in values.items():
        assert from_unit(value, unit) == pytest.approx(torque)


@given(torques, levers, st.floats(0.0, 0.09), angles)
def test_setting_and_torque_at_the_fastener_are_inverse(torque, lever, offset, angle):
    setting = adapter_setting.si(torque, lever, offset, angle)
    assert torque_at_fastener.si(setting, lever, offset, angle) == pytest.approx(torque)


@given(torques, levers, st.floats(0.001, 0.09), angles)
def test_straight_out_needs_less_and_folded_back_more(torque, lever, offset, angle):
    setting = adapter_setting.si(torque, lever, offset, angle)
    assume(abs(math.cos(angle)) > 1e-6)
    assert (setting < torque) == (math.cos(angle) > 0)
    assert setting == pytest.approx(adapter_setting.si(torque, lever, offset, -angle))
    straight, back = (adapter_setting.si(torque, lever, offset, a) for a in (0.0, math.pi))
    assert straight <= setting <= back


@given(torques, levers, st.floats(0.0, 0.09), angles)
def test_the_adapter_follows_from_moments_of_the_pull(torque, lever, offset, angle):
    """Independent derivation: cross product of the pull about the fastener and about the square."""
    square = np.array([0.0, 0.0])
    grip = np.array([-lever, 0.0])
    fastener = offset * np.array([math.cos(angle), math.sin(angle)])
    pull = np.array([0.0, -1.0])
    about_square = np.linalg.det(np.array([grip - square, pull]))
    about_fastener = np.linalg.det(np.array([grip - fastener, pull]))
    expected = torque * about_square / about_fastener
    assert adapter_setting.si(torque, lever, offset, angle) == pytest.approx(expected)


def test_a_crowfoot_square_to_the_wrench_leaves_the_setting():
    assert adapter_setting("30 N*m", "300 mm", "80 mm", "90 deg").magnitude == pytest.approx(30.0)


def test_arrays_pass_through():
    settings = adapter_setting.si(np.array([10.0, 20.0]), 0.4, 0.1, np.array([0.0, math.pi / 2]))
    assert settings == pytest.approx([8.0, 20.0])


@pytest.mark.parametrize(
    ("lever", "offset", "angle", "said"),
    [
        (0.0, 0.05, 0.0, "lever"),
        (-0.3, 0.05, 0.0, "lever"),
        (math.nan, 0.05, 0.0, "lever"),
        (0.3, -0.05, 0.0, "offset"),
        (0.3, 0.3, math.pi, "behind the grip"),
        (0.3, 0.5, math.pi, "behind the grip"),
    ],
)
def test_an_adapter_that_cannot_be_is_refused(lever, offset, angle, said):
    for formula in (adapter_setting, torque_at_fastener):
        with pytest.raises(ValueError, match=said):
            formula.si(20.0, lever, offset, angle)


def test_a_window_in_a_unit_no_wrench_has_is_refused():
    with pytest.raises(ValueError, match="one of N"):
        torque_window_in(1.0, 2.0, "kN*m")
    with pytest.raises(ValueError, match="3 to 2"):
        torque_window_in(3.0, 2.0, "N*m")
    with pytest.raises(ValueError, match="both ends must be positive"):
        torque_window_in(0.0, 2.0, "N*m")


@pytest.mark.parametrize("size", ["M4", "M6", "M10", "M16", "M24"])
@pytest.mark.parametrize("name", ["4.6", "8.8", "12.9"])
def test_a_usual_torque_is_plausible_and_the_same_figure_in_the_other_unit_is_not(size, name):
    """Three quarters of proof load at K = 0.2 (Shigley section 8-8) is the usual torque."""
    thread = parse_thread(size)
    strength = strength_class(name, thread)
    usual = 0.2 * 0.75 * strength.proof_strength * thread.stress_area * thread.major
    low, high = plausible_torque(thread, strength)
    assert low < usual < high
    assert suspect_mix_up(0.9 * usual, 1.1 * usual, low, high) is None
    high_swap = suspect_mix_up(12 * 0.9 * usual, 12 * 1.1 * usual, low, high)
    assert (high_swap.written, high_swap.meant) == ("ft*lbf", "in*lbf")
    assert high_swap.low == pytest.approx(0.9 * usual)
    low_swap = suspect_mix_up(0.9 * usual / 12, 1.1 * usual / 12, low, high)
    assert (low_swap.written, low_swap.meant) == ("in*lbf", "ft*lbf")
    assert low_swap.high == pytest.approx(1.1 * usual)


def test_what_no_swap_explains_is_implausible():
    found = suspect_mix_up(2000.0, 2200.0, 6.0, 100.0)
    assert (found.verdict, found.low, found.high) == ("implausible", 2000.0, 2200.0)
    assert suspect_mix_up(0.1, 0.2, 6.0, 100.0).verdict == "implausible"
    assert "no mix-up" in found.text


@given(torques, st.floats(1.01, 30.0))
def test_the_corrected_torque_is_always_plausible(middle, span):
    found = suspect_mix_up(0.9 * middle, 1.1 * middle, 10.0, 10.0 * span)
    if found is None:
        assert 10.0 * (1 - 1e-9) <= middle <= 10.0 * span * (1 + 1e-9)
    elif found.verdict == "swap":
        corrected = (found.low + found.high) / 2
        assert 10.0 * (1 - 1e-9) <= corrected <= 10.0 * span * (1 + 1e-9)


@pytest.mark.parametrize(
    ("value", "put_down_as", "read_in"),
    [
        (18.0, "in*lbf", "ft*lbf"),
        (216.0, "ft*lbf", "in*lbf"),
        (18.0, "N*m", "ft*lbf"),
        (24.4, "ft*lbf", "N*m"),
        (2.49, "N*m", "kgf*m"),
        (24.4, "kgf*m", "N*m"),
    ],
)
def test_a_reading_put_down_in_the_wrong_unit_is_named(value, put_down_as, read_in):
    """The window is 24.4 N·m ± 5 %, which is 18 ft·lbf, 216 in·lbf and 2.49 kgf·m."""
    reading = from_unit(value, put_down_as)
    found = reading_mix_up(reading, 23.2, 25.6)
    assert (found.written, found.meant) == (put_down_as, read_in)
    assert found.low == found.high == pytest.approx(24.4, rel=0.005)
    assert reading_mix_up(reading, 23.2, 25.6, written=put_down_as) == found
    others = set(TORQUE_UNITS) - {put_down_as}
    assert all(reading_mix_up(reading, 23.2, 25.6, written=unit) is None for unit in others)


def test_a_reading_inside_or_past_all_swaps_is_no_mix_up():
    assert reading_mix_up(24.0, 23.2, 25.6) is None
    assert reading_mix_up(20.5, 23.2, 25.6) is None
    with pytest.raises(ValueError, match="must be positive"):
        reading_mix_up(0.0, 23.2, 25.6)


def test_of_two_swaps_the_one_nearer_the_middle_is_named():
    # 2.2 N·m: ×9.807 is 21.6 and ×12 is 26.4, both in a window of 20 to 27 (middle 23.5)
    assert reading_mix_up(2.2, 20.0, 27.0).meant == "kgf*m"
    assert reading_mix_up(2.0, 20.0, 27.0).meant == "ft*lbf"


def test_a_swap_may_fall_just_past_the_edge():
    assert reading_mix_up(25.6 * 1.02 / 12, 25.0, 25.6).meant == "ft*lbf"
    assert reading_mix_up(25.6 * 1.05 / 12, 25.0, 25.6) is None
