"""Clamped joints under load: equilibrium, limits, laws and refusals."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.joint import (
    clamp_load,
    embedding,
    face_stress,
    fastener_load,
    free_growth,
    joint_state,
    preload_range,
    preload_to_stay_closed,
    pressure_load,
    separation_load,
    settling_loss,
    spacing_ratio,
    thermal_change,
)

preloads = st.floats(0.0, 1e5)
shares = st.floats(0.01, 0.99)
loads = st.floats(-2e5, 2e5)
springs = st.floats(1e6, 1e10)


@given(preloads, shares, loads)
def test_fastener_less_clamp_is_the_load_open_or_closed(preload, share, load):
    fastener = fastener_load.si(preload, share, load)
    clamp = clamp_load.si(preload, share, load)
    assert fastener - clamp == pytest.approx(load, abs=1e-6)
    assert fastener >= 0.0
    assert clamp >= -1e-9


@given(preloads, shares, loads, st.floats(0.0, 1e4))
def test_more_load_never_relieves_the_fastener_nor_adds_clamp(preload, share, load, more):
    assert fastener_load.si(preload, share, load + more) >= fastener_load.si(preload, share, load)
    assert clamp_load.si(preload, share, load + more) <= clamp_load.si(preload, share, load) + 1e-9


@given(st.floats(1.0, 1e5), shares)
def test_at_the_separation_load_the_clamp_is_gone_and_the_fastener_carries_all(preload, share):
    opens = separation_load.si(preload, share)
    assert clamp_load.si(preload, share, opens) == pytest.approx(0.0, abs=1e-9 * opens)
    assert fastener_load.si(preload, share, opens) == pytest.approx(opens)
    assert preload_to_stay_closed.si(opens, share) == pytest.approx(preload)


def test_springs_agree_with_a_direct_solution():
    # stretch x beyond rest: fastener kb (x0 + x), parts km (y0 − x), difference the load
    kb, km, preload, load = 4e8, 1.4e9, 25e3, 9e3
    stretch = np.linalg.solve(np.array([[kb + km]]), np.array([load]))[0]
    share = kb / (kb + km)
    assert fastener_load.si(preload, share, load) == pytest.approx(preload + kb * stretch)
    assert clamp_load.si(preload, share, load) == pytest.approx(preload - km * stretch)


def test_suction_presses_the_joint_together():
    assert fastener_load.si(10e3, 0.25, -1e3) == pytest.approx(9_750.0)
    assert clamp_load.si(10e3, 0.25, -1e3) == pytest.approx(10_750.0)
    # pushed far enough the nut hangs loose
    assert fastener_load.si(1e3, 0.5, -5e3) == 0.0
    assert clamp_load.si(1e3, 0.5, -5e3) == pytest.approx(5e3)
    assert preload_to_stay_closed.si(-1e3, 0.25) == 0.0


def test_state_of_a_resting_joint_has_no_limit_on_a_load_it_does_not_see():
    state = joint_state(10e3, 0.25, 0.0, 58e-6, 580e6)
    assert state.load_factor == state.separation_factor == math.inf
    assert state.yield_factor == pytest.approx(580e6 * 58e-6 / 10e3)


@given(st.floats(1e3, 30e3), shares, st.floats(1e2, 1e5))
def test_load_factor_is_the_load_at_which_the_fastener_reaches_proof(preload, share, load):
    state = joint_state(preload, share, load, 58e-6, 580e6)
    at_proof = fastener_load.si(preload, share, load * state.load_factor)
    assert at_proof == pytest.approx(580e6 * 58e-6, rel=1e-9)


@given(st.floats(1e3, 30e3), shares, st.floats(1e2, 1e5))
def test_state_is_open_past_the_separation_factor(preload, share, load):
    state = joint_state(preload, share, load, 58e-6, 580e6)
    assert state.is_open == (state.separation_factor <= 1.0)
    assert state.fastener_load - state.clamp_load == pytest.approx(load)


def test_preload_above_proof_leaves_no_load():
    assert joint_state(40e3, 0.25, 1e3, 58e-6, 580e6).load_factor < 0.0


def test_pressure_is_shared_evenly():
    alone = pressure_load.si(10e5, 0.1)
    assert alone == pytest.approx(10e5 * math.pi * 0.0025)
    assert pressure_load.si(10e5, 0.1, 8) == pytest.approx(alone / 8.0)
    assert pressure_load.si(-0.5e5, 0.1, 8) < 0.0


def test_face_stress_and_spacing():
    assert face_stress.si(10e3, 0.002, 4) == pytest.approx(20e6)
    assert spacing_ratio.si(0.1, 10, 0.01) == pytest.approx(math.pi)


# VDI 2230 guide values (from memory), axial load: 3 µm in the thread; under head or nut 2.5, 3
# and 4 µm; at an inner face 1.5, 2 and 3 µm, by roughness
@pytest.mark.parametrize(
    ("roughness", "load", "micrometres"),
    [
        (6.3e-6, "axial", 3 + 2 * 2.5 + 1.5),
        (10e-6, "axial", 3 + 2 * 3 + 2),
        (63e-6, "axial", 3 + 2 * 4 + 3),
        (6.3e-6, "shear", 3 + 2 * 3 + 2),
        (16e-6, "shear", 3 + 2 * 4.5 + 2.5),
    ],
)
def test_embedding(roughness, load, micrometres):
    assert embedding(roughness, 1, load=load) == pytest.approx(micrometres * 1e-6)


def test_each_face_adds_its_own_settling():
    assert embedding(16e-6, 3) - embedding(16e-6, 1) == pytest.approx(4e-6)
    assert embedding(16e-6, 1, bearing_faces=1) == pytest.approx(8e-6)


@given(st.floats(1e-6, 1e-4), springs, springs)
def test_settling_takes_less_from_a_slender_fastener(settling, fastener, member):
    loss = settling_loss.si(settling, fastener, member)
    assert settling_loss.si(settling, 0.5 * fastener, member) < loss
    assert loss < settling * min(fastener, member)


def test_like_growth_changes_nothing_unlike_growth_does():
    steel = free_growth.si(12e-6, 0.04, 30.0)
    aluminium = free_growth.si(23e-6, 0.04, 30.0)
    assert thermal_change.si(steel, steel, 4e8, 6e8) == 0.0
    gain = thermal_change.si(steel, aluminium, 4e8, 6e8)
    assert gain == pytest.approx(11e-6 * 0.04 * 30.0 * 2.4e8)
    cold = thermal_change.si(-steel, -aluminium, 4e8, 6e8)
    assert cold == pytest.approx(-gain)


@given(st.floats(1.0, 1e6), st.floats(0.0, 0.9), st.floats(0.0, 0.1), st.floats(0.0, 0.2))
def test_range_holds_the_nominal(nominal, scatter, tool, relaxation):
    span = preload_range(nominal, scatter, tool=tool, relaxation=relaxation)
    assert 0.0 <= span.minimum <= nominal <= span.maximum


def test_losses_and_temperature_widen_the_range():
    plain = preload_range(20e3, 0.25)
    losing = preload_range(20e3, 0.25, settling=1e3, thermal=(-500.0, 800.0))
    assert plain.minimum - losing.minimum == pytest.approx(1500.0)
    assert losing.maximum - plain.maximum == pytest.approx(800.0)
    # a change that only gains does not lift the least preload, the joint being cold at first
    assert preload_range(20e3, 0.25, thermal=(100.0, 800.0)).minimum == plain.minimum
    assert preload_range(1e3, 0.25, settling=5e3).minimum == 0.0


def test_the_mean_of_many_fasteners_scatters_less():
    alone, shared = preload_range(20e3, 0.25), preload_range(20e3, 0.25, shared_by=4)
    assert shared.minimum == pytest.approx(20e3 * (1.0 - 0.125) * 0.95)
    assert shared.maximum == alone.maximum


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: fastener_load.si(-1.0, 0.5, 1.0), "preload is -1"),
        (lambda: fastener_load.si(1.0, 1.0, 1.0), "joint constant is 1.0; it must lie between"),
        (lambda: separation_load.si(1.0, 0.0), "joint constant is 0"),
        (lambda: pressure_load.si(1e5, 0.1, 0), "0 fasteners hold nothing"),
        (lambda: pressure_load.si(1e5, 0.0), "sealed diameter is 0"),
        (lambda: face_stress.si(-1.0, 1.0), "clamp load is -1"),
        (lambda: spacing_ratio.si(0.1, 0, 0.01), "0 fasteners have no spacing"),
        (lambda: embedding(200e-6, 1), "roughness is 200 µm"),
        (lambda: embedding(0.0, 1), "roughness is 0"),
        (lambda: settling_loss.si(1e-6, 0.0, 1e8), "fastener stiffness is 0"),
        (lambda: preload_range(0.0, 0.25), "nominal preload is 0"),
        (lambda: preload_range(1e3, 1.25), "scatter is 1.25"),
        (lambda: preload_range(1e3, 0.25, shared_by=0), "at least one"),
        (lambda: preload_range(1e3, 0.25, thermal=(5.0, -5.0)), "lesser change first"),
    ],
)
def test_impossible_input_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
