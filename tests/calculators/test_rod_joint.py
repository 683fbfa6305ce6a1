"""Rod joints under reversing load and rods as columns: equilibrium, laws, limits, refusals."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.joint import clamp_load, fastener_load
from rebuildbook.calculators.rod_joint import (
    END_CONDITIONS,
    column_factor,
    critical_load,
    locker_torque,
    preload_for_reversal,
    reversal,
    slenderness,
    stroke_load,
    transition_slenderness,
)

preloads = st.floats(100.0, 1e5)
shares = st.floats(0.02, 0.98)
loads = st.floats(0.0, 5e4)
planes = st.floats(0.0, 1.0)
STEEL = {"modulus": 207e9, "yield_strength": 500e6}


@given(preloads, shares, st.floats(1.0, 5e4), st.floats(1.0, 5e4), planes)
def test_the_piston_is_in_balance_on_both_strokes(preload, share, pull, push, plane):
    both = reversal(preload, share, pull, push, plane)
    assert both.nut_greatest - both.shoulder_least == pytest.approx(pull)
    assert both.shoulder_greatest - both.nut_least == pytest.approx(push)
    assert min(both.nut_least, both.shoulder_least) >= -1e-9
    assert both.stays_closed == (min(both.nut_least, both.shoulder_least) > 1e-9)


def test_springs_agree_with_a_direct_solution():
    # unknown: nut force N and shoulder force S; piston above and below the load plane as springs
    kb, km, preload, pull, plane = 3e8, 9e8, 20e3, 12e3, 0.3
    stretch = preload / kb + preload / km
    matrix = np.array([[1.0, -1.0], [1.0 / kb + plane / km, (1.0 - plane) / km]])
    nut, shoulder = np.linalg.solve(matrix, np.array([pull, stretch]))
    both = reversal(preload, kb / (kb + km), pull, 0.0, plane)
    assert both.nut_greatest == pytest.approx(nut)
    assert both.shoulder_least == pytest.approx(shoulder)


@given(preloads, shares, loads)
def test_a_rod_screwed_to_a_rod_is_the_plain_joint(preload, share, pull):
    both = reversal(preload, share, pull, 0.0)
    assert both.nut_greatest == pytest.approx(fastener_load.si(preload, share, pull))
    assert both.shoulder_least == pytest.approx(clamp_load.si(preload, share, pull), abs=1e-6)


@given(st.floats(1.0, 5e4), st.floats(1.0, 5e4), shares, planes, st.floats(1.05, 5.0))
def test_the_needed_preload_just_gives_its_factor(pull, push, share, plane, factor):
    preload = preload_for_reversal.si(pull, push, share, load_plane=plane, factor=factor)
    both = reversal(float(preload), share, pull, push, plane)
    assert both.margin == pytest.approx(factor)
    assert both.stays_closed


def test_past_opening_the_open_face_carries_nothing():
    lifted = reversal(5e3, 0.2, 20e3, 0.0)
    assert (lifted.nut_greatest, lifted.shoulder_least) == (20e3, 0.0)
    assert not lifted.stays_closed
    relieved = reversal(1e3, 0.5, 0.0, 20e3)
    assert (relieved.nut_least, relieved.shoulder_greatest) == (0.0, 20e3)
    assert not relieved.stays_closed


def test_no_load_no_limit():
    assert reversal(5e3, 0.2, 0.0, 0.0).margin == math.inf


def test_a_load_at_the_shoulder_leaves_the_nut_alone():
    both = reversal(10e3, 0.3, 4e3, 7e3, load_plane=1.0)
    assert both.nut_least == both.nut_greatest == 10e3
    assert both.shoulder_least == pytest.approx(6e3)


def test_stroke_load_by_hand():
    # 60 bar on 25 cm²: 6e6 Pa × 2.5e-3 m² = 15 kN, and a quarter more for shock
    assert stroke_load("60 bar", "25 cm^2", 1.25).to("kN").magnitude == pytest.approx(18.75)


def test_locker_torque_is_shear_force_times_radius():
    force = 12e6 * math.pi * 0.024 * 0.030
    assert locker_torque.si(12e6, 0.024, 0.030) == pytest.approx(force * 0.012)


@given(st.floats(0.01, 3.0), st.floats(0.005, 0.08), st.floats(1.001, 2.0))
def test_a_longer_rod_holds_less_a_thicker_more(length, diameter, times):
    here = critical_load.si(length, diameter, **STEEL)
    assert critical_load.si(length * times, diameter, **STEEL) < here
    assert critical_load.si(length, diameter * times, **STEEL) > here
    assert here < 500e6 * math.pi / 4.0 * diameter**2


@pytest.mark.parametrize("end", END_CONDITIONS.values())
def test_euler_and_johnson_meet_at_the_transition(end):
    limit = transition_slenderness.si(207e9, 500e6, end)
    length = limit * 0.025 / 4.0
    just = [
        critical_load.si(length * nudge, 0.025, end_constant=end, **STEEL)
        for nudge in (1.0 - 1e-9, 1.0 + 1e-9)
    ]
    assert just[0] == pytest.approx(just[1], rel=1e-7)
    # half the yield load is where the two curves touch
    assert just[0] == pytest.approx(0.5 * 500e6 * math.pi / 4.0 * 0.025**2, rel=1e-7)


def test_euler_against_the_bending_of_a_beam():
    # π² E I/l² with I = π (d⁴ − b⁴)/64, and four times that between fixed ends
    inertia = math.pi * (0.020**4 - 0.012**4) / 64.0
    euler = math.pi**2 * 207e9 * inertia / 2.0**2
    assert critical_load.si(2.0, 0.020, bore=0.012, **STEEL) == pytest.approx(euler)
    fixed = critical_load.si(2.0, 0.020, bore=0.012, end_constant=4.0, **STEEL)
    assert fixed == pytest.approx(4.0 * euler)


def test_arrays_go_through():
    loads = critical_load.si(np.array([0.1, 3.0]), 0.025, **STEEL)
    assert loads.shape == (2,)
    assert loads[0] > loads[1]
    assert slenderness.si(1.0, 0.04) == pytest.approx(100.0)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: reversal(0.0, 0.3, 1.0, 1.0), "preload is 0"),
        (lambda: reversal(1.0, 1.0, 1.0, 1.0), "joint constant is 1.0"),
        (lambda: reversal(1.0, 0.3, -1.0, 1.0), "load toward the nut is -1"),
        (lambda: reversal(1.0, 0.3, 1.0, -1.0), "load toward the shoulder is -1"),
        (lambda: reversal(1.0, 0.3, 1.0, 1.0, 1.5), "load plane is 1.5"),
        (lambda: slenderness.si(1.0, 0.02, 0.02), "wall of the rod is 0"),
        (lambda: critical_load.si(0.0, 0.02, **STEEL), "length is 0"),
        (lambda: column_factor.si(0.0, 1.0), "thrust is 0"),
        (lambda: stroke_load.si(1e5, 0.0), "area is 0"),
    ],
)
def test_impossible_input_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
