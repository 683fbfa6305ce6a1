"""Power and torque of a crank drive: laws, inverses, refusals."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.crank_drive import crank_torque, shaft_power, torque_over_turn
from rebuildbook.calculators.drive import crank_pressure
from rebuildbook.calculators.pump_flow import flow_at, flow_over_cycle, plungers, pulsation
from rebuildbook.calculators.stroke_motion import CrankMotion

TRIPLEX = plungers(0.03, 0.04, 3)


@given(st.floats(1e-6, 1e-2), st.floats(1e4, 1e8), st.floats(0.1, 1.0), st.floats(1.0, 4.0))
def test_torque_is_the_inverse_of_crank_pressure(volume, rise, efficiency, peak):
    torque = crank_torque.si(volume, rise, efficiency, peak)
    assert crank_pressure.si(torque, volume, efficiency, peak) == pytest.approx(rise, rel=1e-12)


@given(st.floats(1e-6, 1e-2), st.floats(0.1, 20.0), st.floats(1e4, 1e8), st.floats(0.1, 1.0))
def test_power_is_torque_times_angular_speed(volume, rate, rise, efficiency):
    power = shaft_power.si(volume * rate, rise, efficiency)
    torque = crank_torque.si(volume, rise, efficiency)
    assert power == pytest.approx(torque * 2 * math.pi * rate, rel=1e-12)


def test_torque_over_a_turn_has_the_mean_and_the_peak_of_the_short_form():
    motion = CrankMotion(0.2)
    turn = torque_over_turn(flow_over_cycle(TRIPLEX, motion, 6.0), 80e5, 0.9)
    volume = TRIPLEX.displacement
    assert turn[:-1].mean() == pytest.approx(crank_torque.si(volume, 80e5, 0.9), rel=1e-5)
    peak = pulsation(TRIPLEX, motion).peak
    assert turn.max() == pytest.approx(crank_torque.si(volume, 80e5, 0.9, peak), rel=1e-6)


def test_torque_of_a_simplex_at_mid_stroke_is_force_times_radius():
    # long rod: p A r at 90° after dead centre
    pump = plungers(0.03, 0.04)
    found = torque_over_turn(flow_at(pump, CrankMotion(), 5.0, 0.75), 100e5)
    assert float(found) == pytest.approx(100e5 * math.pi / 4 * 0.03**2 * 0.02, rel=1e-9)


def test_formulas_take_arrays():
    rises = np.array([0.0, 1e6])
    assert shaft_power.si(1e-3, rises) == pytest.approx([0.0, 1e3])
    assert crank_torque.si(1e-3, rises).shape == (2,)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: shaft_power.si(-1.0, 1e5), "flow is -1"),
        (lambda: shaft_power.si(1.0, 1e5, 0.0), "efficiency is 0"),
        (lambda: shaft_power.si(1.0, 1e5, 1.1), "efficiency is 1.1"),
        (lambda: crank_torque.si(0.0, 1e5), "displacement is 0"),
        (lambda: crank_torque.si(1e-3, 1e5, 1.0, 0.9), "peak factor is 0.9"),
        (
            lambda: torque_over_turn(flow_over_cycle(TRIPLEX, CrankMotion(), 1.0, "drawn"), 1e5),
            "flow is drawn",
        ),
        (
            lambda: torque_over_turn(flow_over_cycle(TRIPLEX, CrankMotion(), 0.0), 1e5),
            "rate is 0",
        ),
    ],
)
def test_impossible_input_is_refused_in_words(call, message):
    with pytest.raises(ValueError, match=message):
        call()
