"""Fatigue of preloaded fasteners: laws, limits and refusals."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from rebuildbook.calculators.fatigue import (
    ENDURANCE_CYCLES,
    cycle_stress,
    elliptic_factor,
    endurance_strength,
    finite_life_amplitude,
    gerber_factor,
    goodman_factor,
    rolled_thread_amplitude,
    time_to_cycles,
)

amplitudes = st.floats(1e6, 100e6)
preload_stresses = st.floats(0.0, 500e6)
rises = st.floats(-50e6, 300e6)
STRENGTHS = {"endurance": 129e6, "tensile_strength": 800e6}


@given(preload_stresses, amplitudes, rises)
def test_each_factor_lands_on_its_line(preload, amplitude, rise):
    if amplitude + 129e6 * rise / 800e6 <= 0.0:
        return
    goodman = goodman_factor.si(preload, amplitude, preload + rise, **STRENGTHS)
    reached = (goodman * amplitude, preload + goodman * rise)
    assert reached[0] / 129e6 + reached[1] / 800e6 == pytest.approx(1.0, rel=1e-6)
    gerber = gerber_factor.si(preload, amplitude, preload + rise, **STRENGTHS)
    reached = (gerber * amplitude, preload + gerber * rise)
    assert reached[0] / 129e6 + (reached[1] / 800e6) ** 2 == pytest.approx(1.0, rel=1e-6)
    ellipse = elliptic_factor.si(
        preload, amplitude, preload + rise, endurance=129e6, proof_strength=600e6
    )
    reached = (ellipse * amplitude, preload + ellipse * rise)
    assert (reached[0] / 129e6) ** 2 + (reached[1] / 600e6) ** 2 == pytest.approx(1.0, rel=1e-6)


def test_gerber_against_a_root_finder():
    def beyond(factor):
        return factor * 20e6 / 129e6 + ((400e6 + factor * 30e6) / 800e6) ** 2 - 1.0

    expected = brentq(beyond, 0.0, 100.0)
    found = gerber_factor.si(400e6, 20e6, 430e6, **STRENGTHS)
    assert found == pytest.approx(expected, rel=1e-9)


@given(st.floats(0.0, 500e6), amplitudes)
def test_goodman_is_the_careful_one(preload, amplitude):
    stress = (preload, amplitude, preload + amplitude)
    assert goodman_factor.si(*stress, **STRENGTHS) <= gerber_factor.si(*stress, **STRENGTHS) * (
        1 + 1e-9
    )


def test_no_cycle_no_fatigue():
    assert goodman_factor.si(300e6, 0.0, 300e6, **STRENGTHS) == math.inf
    assert gerber_factor.si(300e6, 0.0, 300e6, **STRENGTHS) == math.inf
    ellipse = elliptic_factor.si(300e6, 0.0, 300e6, endurance=129e6, proof_strength=600e6)
    assert ellipse == math.inf


def test_arrays_go_through():
    factors = gerber_factor.si(300e6, np.array([0.0, 10e6, 20e6]), 320e6, **STRENGTHS)
    assert factors.shape == (3,)
    assert factors[0] > factors[1] > factors[2]


def test_an_opening_joint_passes_the_whole_load_on():
    closed = cycle_stress(20e3, 0.2, 0.0, 10e3, 58e-6)
    assert closed.amplitude == pytest.approx(0.2 * 10e3 / 2.0 / 58e-6)
    loose = cycle_stress(0.0, 0.2, 0.0, 10e3, 58e-6)
    assert loose.amplitude == pytest.approx(10e3 / 2.0 / 58e-6)
    half = cycle_stress(4e3, 0.2, 0.0, 10e3, 58e-6)
    assert half.amplitude == pytest.approx((10e3 - 4e3) / 2.0 / 58e-6)


def test_suction_widens_the_cycle():
    plain = cycle_stress(20e3, 0.2, 0.0, 10e3, 58e-6)
    sucked = cycle_stress(20e3, 0.2, -500.0, 10e3, 58e-6)
    assert sucked.amplitude == pytest.approx(plain.amplitude * 1.05)
    assert sucked.preload == plain.preload


@given(st.floats(0.004, 0.06))
def test_larger_threads_stand_less(diameter):
    here = rolled_thread_amplitude.si(diameter)
    assert rolled_thread_amplitude.si(1.1 * diameter) < here
    assert here > 0.85 * 45e6


@given(st.floats(0.3, 0.99))
def test_rolling_after_heat_treatment_pays_most_at_low_preload(share):
    before = rolled_thread_amplitude.si(0.012)
    after = rolled_thread_amplitude.si(0.012, share, rolled="after heat treatment")
    assert after == pytest.approx((2.0 - share) * before)
    assert after > before


@given(st.floats(1e4, 1e9))
def test_shorter_lives_stand_more(cycles):
    amplitude = finite_life_amplitude.si(50e6, cycles)
    assert amplitude >= 50e6
    if cycles < ENDURANCE_CYCLES:
        assert amplitude / 50e6 == pytest.approx((2e6 / cycles) ** (1.0 / 3.0))
        after = finite_life_amplitude.si(50e6, cycles, rolled="after heat treatment")
        assert after / 50e6 == pytest.approx((2e6 / cycles) ** (1.0 / 6.0))
    else:
        assert amplitude == 50e6


def test_time_to_two_million_cycles_by_hand():
    # 2 000 000 / 40 a minute = 50 000 min = 833 h 20 min
    assert time_to_cycles(2e6, "40 1/min").to("hour").magnitude == pytest.approx(833.333, rel=1e-6)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: endurance_strength("8.8", 0.010), "8.8 is tabled for diameters of 16 to 36 mm"),
        (lambda: endurance_strength("grade 5", 0.0270), "6.35 to 25.4 mm and 28.57 to 38.1 mm"),
        (lambda: endurance_strength("A4-70", 0.010), "'A4-70' is not in the table"),
        (lambda: cycle_stress(1e3, 0.2, 5.0, 1.0, 58e-6), "loads run backwards"),
        (lambda: goodman_factor.si(900e6, 1e6, 901e6, **STRENGTHS), "yields before it tires"),
        (lambda: gerber_factor.si(1e6, -1e6, 1e6, **STRENGTHS), "amplitude is"),
        (lambda: finite_life_amplitude.si(50e6, 100.0), "100 cycles are too few"),
        (
            lambda: rolled_thread_amplitude.si(0.01, 0.2, rolled="after heat treatment"),
            "preload share is 0.2",
        ),
    ],
)
def test_impossible_input_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
