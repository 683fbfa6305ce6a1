"""Thread stripping: geometry checked independently, laws, limits and refusals."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.stripping import (
    SHEAR_RATIO,
    ThreadPair,
    basic_pair,
    engagement_to_break_fastener,
    external_factor,
    external_shear_area,
    handbook_engagement,
    internal_factor,
    internal_shear_area,
    stripping,
    widening_factor,
)

M8 = basic_pair(0.008, 0.00125)
SCREW = {"stress_area": 36.6e-6, "fastener_tensile": 800e6}
shears = st.floats(5e6, 900e6)
depths = st.floats(0.001, 0.05)


def tooth_width(pitch, crest_diameter, pitch_diameter):
    """Axial thickness of a 60° tooth where a cylinder cuts it: half a pitch at the pitch line."""
    return pitch / 2.0 + (crest_diameter - pitch_diameter) / 2.0 * 2.0 * math.tan(
        math.radians(30.0)
    )


def test_shear_areas_are_tooth_widths_times_circles():
    pair = ThreadPair(0.0015, 0.00987, 0.0089, 0.0085, 0.0092)
    turns = 12e-3 / 0.0015
    external = external_shear_area.si(
        12e-3, pitch=0.0015, internal_minor=pair.internal_minor, pitch_diameter=pair.pitch_diameter
    )
    # the external tooth is wider toward its root
    width = tooth_width(0.0015, pair.pitch_diameter, pair.internal_minor)
    assert external == pytest.approx(turns * math.pi * pair.internal_minor * width)
    internal = internal_shear_area.si(
        12e-3,
        pitch=0.0015,
        major=pair.major,
        internal_pitch_diameter=pair.internal_pitch_diameter,
    )
    width = tooth_width(0.0015, pair.major, pair.internal_pitch_diameter)
    assert internal == pytest.approx(turns * math.pi * pair.major * width)


@given(shears, depths)
def test_stripping_grows_with_depth_breaking_does_not(shear, depth):
    short = stripping(M8, depth, internal_shear=shear, **SCREW)
    long = stripping(M8, 2.0 * depth, internal_shear=shear, **SCREW)
    assert long.internal_strips == pytest.approx(2.0 * short.internal_strips)
    assert long.external_strips == pytest.approx(2.0 * short.external_strips)
    assert long.fastener_breaks == short.fastener_breaks == pytest.approx(36.6e-6 * 800e6)
    assert long.strength_ratio == pytest.approx(short.strength_ratio)


@given(shears, st.floats(1.0, 2.0))
def test_at_the_needed_depth_the_screw_just_breaks_first(shear, factor):
    depth = engagement_to_break_fastener(M8, internal_shear=shear, factor=factor, **SCREW)
    lost = 0.8 * M8.pitch
    assert stripping(M8, depth - lost, internal_shear=shear, **SCREW).margin == pytest.approx(
        factor
    )
    deeper = stripping(M8, depth, internal_shear=shear, **SCREW)
    assert deeper.first == "fastener"


@given(shears, st.floats(1.01, 3.0))
def test_a_stronger_housing_needs_no_more_depth(shear, times):
    soft = engagement_to_break_fastener(M8, internal_shear=shear, **SCREW)
    hard = engagement_to_break_fastener(M8, internal_shear=shear * times, **SCREW)
    assert hard <= soft * (1.0 + 1e-3)  # the two fits meet within a thousandth


def test_tolerance_costs_strength():
    worn = ThreadPair(0.00125, 0.00776, 0.00704, 0.00691, 0.00735)
    best = stripping(M8, 0.010, internal_shear=150e6, **SCREW)
    worst = stripping(worn, 0.010, internal_shear=150e6, **SCREW)
    assert worst.internal_strips < best.internal_strips
    assert worst.external_strips < best.external_strips


def test_which_thread_goes_first_follows_the_materials():
    assert stripping(M8, 0.004, internal_shear=50e6, **SCREW).first == "internal thread"
    assert stripping(M8, 0.003, internal_shear=900e6, **SCREW).first == "external thread"
    assert stripping(M8, 0.016, internal_shear=500e6, **SCREW).first == "fastener"


def test_a_thin_nut_widens_and_strips_sooner():
    boss = stripping(M8, 0.008, internal_shear=300e6, width=0.012, **SCREW)
    block = stripping(M8, 0.008, internal_shear=300e6, **SCREW)
    assert boss.internal_strips / block.internal_strips == pytest.approx(0.84, abs=1e-3)
    assert boss.factors[0] == pytest.approx(0.84)
    assert block.factors[0] == 1.0


@given(st.floats(0.05, 5.0))
def test_factors_stay_in_their_range(ratio):
    assert 0.89 < external_factor(ratio) < 1.20
    assert 0.89 < internal_factor(ratio) < 1.07
    assert min(external_factor(ratio), internal_factor(ratio)) == pytest.approx(0.897)


@given(st.floats(1.4, 4.0), st.floats(0.001, 0.5))
def test_more_metal_never_hurts(ratio, more):
    assert widening_factor.si(ratio + more, 1.0) >= widening_factor.si(ratio, 1.0) - 1e-12


def test_handbook_rule_gives_twice_the_stress_area_in_shear():
    depth = handbook_engagement(
        M8, stress_area=36.6e-6, fastener_tensile=800e6, internal_tensile=800e6
    )
    sheared = external_shear_area.si(
        depth,
        pitch=M8.pitch,
        internal_minor=M8.internal_minor,
        pitch_diameter=M8.pitch_diameter,
    )
    assert sheared == pytest.approx(2.0 * 36.6e-6)


def test_both_rules_ask_for_more_in_aluminium():
    steel = handbook_engagement(
        M8, stress_area=36.6e-6, fastener_tensile=800e6, internal_tensile=800e6
    )
    soft = handbook_engagement(
        M8, stress_area=36.6e-6, fastener_tensile=800e6, internal_tensile=220e6
    )
    model = engagement_to_break_fastener(
        M8, internal_shear=SHEAR_RATIO["aluminium, cast"] * 220e6, **SCREW
    )
    assert soft > 2.0 * steel
    assert soft == pytest.approx(model, rel=0.3)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: basic_pair(0.008, 0.0), "pitch is 0"),
        (lambda: ThreadPair(0.00125, 0.006, 0.0072, 0.0066, 0.0072), "does not engage"),
        (
            lambda: ThreadPair(0.00125, 0.008, 0.0072, 0.0066, 0.0071),
            "pitch diameter is the larger",
        ),
        (lambda: stripping(M8, 0.0, internal_shear=1e8, **SCREW), "engagement is 0"),
        (lambda: stripping(M8, 0.01, internal_shear=0.0, **SCREW), "internal shear strength is 0"),
        (lambda: widening_factor.si(0.010, 0.008), "width over diameter is 1.25"),
        (lambda: external_factor(0.0), "strength ratio is 0"),
    ],
)
def test_impossible_input_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
