"""Stress of a tightened fastener: laws, limits and refusals."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.fastener_stress import (
    assembly_preload,
    bearing_stress,
    service_stress,
    share_of_strength,
    tensile_stress,
    tightening_stress,
)
from rebuildbook.calculators.preload import thread_torque

AREA, PITCH, MIDDLE = 57.99e-6, 1.5e-3, 9.026e-3  # M10
frictions = st.floats(0.0, 0.5)


@given(st.floats(100e6, 1500e6), st.floats(0.05, 1.0), frictions)
def test_assembly_preload_uses_just_the_share_asked_for(strength, share, friction):
    thread = {"pitch": PITCH, "pitch_diameter": MIDDLE, "thread_friction": friction}
    preload = assembly_preload.si(strength, share, AREA, **thread)
    twist = thread_torque.si(preload, PITCH, MIDDLE, friction)
    assert tightening_stress.si(preload, twist, AREA) == pytest.approx(share * strength, rel=1e-9)


@given(frictions, st.floats(0.001, 0.3))
def test_friction_costs_preload(friction, more):
    slick, rough = (
        assembly_preload.si(
            640e6, 0.9, AREA, pitch=PITCH, pitch_diameter=MIDDLE, thread_friction=value
        )
        for value in (friction, friction + more)
    )
    assert rough < slick < 0.9 * 640e6 * AREA


def test_combined_stress_against_the_shear_of_a_round_bar():
    # torsion of a solid bar, τ = T r/J with J = π d⁴/32; von Mises σ² + 3 τ²
    core = math.sqrt(4.0 * AREA / math.pi)
    shear = 20.0 * (core / 2.0) / (math.pi * core**4 / 32.0)
    expected = math.sqrt((25e3 / AREA) ** 2 + 3.0 * shear**2)
    assert tightening_stress.si(25e3, 20.0, AREA, plastic=False) == pytest.approx(expected)
    # a bar yielding right through carries 4/3 of the torque at first yield
    plastic = math.sqrt((25e3 / AREA) ** 2 + 3.0 * (0.75 * shear) ** 2)
    assert tightening_stress.si(25e3, 20.0, AREA) == pytest.approx(plastic)


def test_service_stress_lies_between_pure_tension_and_full_twist():
    pure = service_stress.si(25e3, 20.0, AREA, 0.0)
    full = service_stress.si(25e3, 20.0, AREA, 1.0)
    assert pure == pytest.approx(tensile_stress.si(25e3, AREA))
    assert full == pytest.approx(tightening_stress.si(25e3, 20.0, AREA, plastic=False))
    assert pure < service_stress.si(25e3, 20.0, AREA) < full


def test_bearing_stress_of_a_plain_ring():
    assert bearing_stress.si(1000.0, 2.0, 1.0) == pytest.approx(1000.0 / (math.pi * 0.75))


def test_share_of_proof():
    # ISO 898-1, M10 of class 8.8: proof load 33 700 N
    assert share_of_strength("33.7 kN", "58.0 mm^2", "580 MPa") == pytest.approx(1.0, abs=0.003)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: tensile_stress.si(1.0, 0.0), "stress area is 0"),
        (lambda: bearing_stress.si(1.0, 1.0, 2.0), "has no metal"),
        (lambda: bearing_stress.si(-1.0, 2.0, 1.0), "preload is -1"),
        (lambda: service_stress.si(1.0, 1.0, 1.0, 1.5), "residual twist is 1.5; it must lie"),
        (lambda: share_of_strength.si(1.0, 1.0, 0.0), "strength is 0"),
        (
            lambda: assembly_preload.si(
                1e8, 1.2, AREA, pitch=PITCH, pitch_diameter=MIDDLE, thread_friction=0.1
            ),
            "utilisation is 1.2",
        ),
    ],
)
def test_impossible_input_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
