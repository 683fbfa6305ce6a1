"""Torque to preload and back: inverses, laws, limits and refusals."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.preload import (
    bearing_torque,
    mean_bearing_diameter,
    nut_factor_from_friction,
    nut_factor_power_screw,
    preload_from_friction,
    preload_from_nut_factor,
    thread_torque,
    torque_from_friction,
    torque_from_nut_factor,
    torque_shares,
)

forces = st.floats(10.0, 1e6)
frictions = st.floats(0.0, 0.5)
diameters = st.floats(0.003, 0.1)
fineness = st.floats(0.05, 0.2)  # pitch over diameter


def m10(thread=0.12, bearing=0.12):
    return {
        "pitch": 1.5e-3,
        "pitch_diameter": 9.026e-3,
        "thread_friction": thread,
        "bearing_friction": bearing,
        "bearing_diameter": 12.8e-3,
    }


@given(forces, st.floats(0.05, 0.6), diameters, st.floats(0.0, 50.0))
def test_nut_factor_there_and_back(force, factor, diameter, prevailing):
    torque = torque_from_nut_factor.si(force, factor, diameter) + prevailing
    back = preload_from_nut_factor.si(torque, factor, diameter, prevailing)
    assert back == pytest.approx(force, rel=1e-6, abs=1e-9 * torque / (factor * diameter))


@given(forces, st.tuples(frictions, frictions), diameters, fineness, st.floats(0.0, 50.0))
def test_friction_there_and_back(force, friction, diameter, fine, prevailing):
    given_friction = {
        "pitch": fine * diameter,
        "pitch_diameter": diameter * (1.0 - 0.65 * fine),
        "thread_friction": friction[0],
        "bearing_friction": friction[1],
        "bearing_diameter": 1.25 * diameter,
        "prevailing_torque": prevailing,
    }
    torque = torque_from_friction.si(force, **given_friction)
    assert preload_from_friction.si(torque, **given_friction) == pytest.approx(force, rel=1e-6)


@given(forces, frictions, frictions)
def test_equivalent_nut_factor_gives_the_same_torque(force, thread, bearing):
    factor = nut_factor_from_friction.si(10e-3, **m10(thread, bearing))
    by_factor = torque_from_nut_factor.si(force, factor, 10e-3)
    assert by_factor == pytest.approx(torque_from_friction.si(force, **m10(thread, bearing)))


@given(st.floats(1.0, 500.0), frictions, frictions, st.floats(1e-3, 0.2))
def test_more_friction_less_preload(torque, thread, bearing, more):
    loose = preload_from_friction.si(torque, **m10(thread, bearing))
    assert preload_from_friction.si(torque, **m10(thread + more, bearing)) < loose
    assert preload_from_friction.si(torque, **m10(thread, bearing + more)) < loose


@given(st.floats(1.0, 500.0), frictions, frictions, st.floats(0.0, 600.0))
def test_shares_of_the_torque_make_up_the_whole(torque, thread, bearing, prevailing):
    shares = torque_shares(torque, **m10(thread, bearing), prevailing_torque=prevailing)
    parts = (shares.stretch, shares.thread_friction, shares.bearing_friction, shares.prevailing)
    assert sum(parts) == pytest.approx(1.0, abs=1e-9)
    assert all(part >= -1e-12 for part in parts)


def test_without_friction_all_the_torque_goes_up_the_ramp():
    # work of one turn: 2π T = F P
    torque = torque_from_friction.si(1000.0, **m10(0.0, 0.0))
    assert 2.0 * np.pi * torque == pytest.approx(1000.0 * 1.5e-3, rel=1e-12)
    long = nut_factor_power_screw.si(
        10e-3,
        pitch=1.5e-3,
        mean_diameter=9.026e-3,
        thread_friction=0.0,
        bearing_friction=0.0,
        bearing_diameter=12.8e-3,
    )
    assert long * 10e-3 * 1000.0 == pytest.approx(torque, rel=1e-12)


def test_torque_below_the_prevailing_torque_clamps_nothing():
    assert preload_from_nut_factor("5 N*m", 0.2, "10 mm", "6 N*m").magnitude == 0.0
    assert preload_from_friction.si(5.0, **m10(), prevailing_torque=6.0) == 0.0
    shares = torque_shares(5.0, **m10(), prevailing_torque=6.0)
    assert (shares.prevailing, shares.stretch) == (1.0, 0.0)


def test_thread_and_bearing_shares_add_up():
    whole = torque_from_friction.si(20e3, **m10())
    parts = thread_torque.si(20e3, 1.5e-3, 9.026e-3, 0.12) + bearing_torque.si(20e3, 0.12, 12.8e-3)
    assert whole == pytest.approx(parts, rel=1e-12)


def test_arrays_go_through():
    torque = np.array([10.0, 20.0, 40.0])
    preload = preload_from_friction.si(torque, **m10())
    assert preload[2] == pytest.approx(4.0 * preload[0])
    by_friction = preload_from_friction.si(48.0, **m10(np.array([0.08, 0.12]), 0.12))
    assert by_friction.shape == (2,)


def test_units_are_checked_at_the_door():
    in_shop_units = preload_from_nut_factor("35.4 ft*lbf", 0.2, "3/8 in")
    # by hand: 35.4 ft·lbf = 424.8 in·lbf; over 0.2 × 0.375 in = 5664 lbf
    assert in_shop_units.to("lbf").magnitude == pytest.approx(5664.0, rel=1e-6)
    with pytest.raises(ValueError, match="not a quantity in N\\*m"):
        preload_from_nut_factor("35.4 lbf", 0.2, "3/8 in")


def test_washer_face_must_be_wider_than_its_hole():
    assert mean_bearing_diameter.si(14.0, 11.0) == 12.5
    with pytest.raises(ValueError, match="has no metal"):
        mean_bearing_diameter.si(11.0, 11.0)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: torque_from_nut_factor.si(1e3, 0.0, 0.01), "nut factor is 0; it must be above"),
        (lambda: torque_from_nut_factor.si(-1.0, 0.2, 0.01), "preload is -1; it must be zero or"),
        (lambda: preload_from_nut_factor.si(-1.0, 0.2, 0.01), "torque is -1"),
        (lambda: preload_from_friction.si(10.0, **m10(-0.01)), "thread friction is -0.01"),
        (lambda: preload_from_friction.si(10.0, **m10(0.1, -0.02)), "bearing friction is -0.02"),
        (lambda: preload_from_friction.si(float("nan"), **m10()), "torque is nan"),
        (lambda: torque_shares(0.0, **m10()), "torque is 0"),
    ],
)
def test_impossible_input_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_a_thread_that_no_torque_tightens_is_refused():
    with pytest.raises(ValueError, match="locks a thread this steep"):
        nut_factor_power_screw.si(
            10.0,
            pitch=20.0,
            mean_diameter=6.0,
            thread_friction=0.9,
            bearing_friction=0.1,
            bearing_diameter=12.0,
        )
