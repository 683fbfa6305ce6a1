"""Stiffness of joints: limits, symmetry, monotonic laws and refusals."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.stiffness import (
    CONE_ANGLE,
    WILEMAN,
    Layer,
    Segment,
    bolt_stiffness,
    cone_angle,
    cone_stiffness,
    end_segments,
    fastener_stiffness,
    frustum_stiffness,
    joint_constant,
    rod_stiffness,
    series_stiffness,
    sleeve_stiffness,
    tapped_layers,
    wileman_stiffness,
)

springs = st.floats(1e5, 1e11)
moduli = st.floats(1e9, 4e11)
lengths = st.floats(0.001, 0.5)


@given(springs, springs)
def test_joint_constant_is_a_share(fastener, member):
    share = joint_constant.si(fastener, member)
    assert 0.0 < share < 1.0
    assert share + joint_constant.si(member, fastener) == pytest.approx(1.0)


@given(st.lists(springs, min_size=1, max_size=6))
def test_springs_in_series_are_softer_than_the_softest(parts):
    whole = series_stiffness(parts)
    assert min(parts) / len(parts) * (1 - 1e-9) <= whole <= min(parts) * (1 + 1e-9)


@given(lengths, lengths, moduli)
def test_bolt_of_two_lengths_is_two_rods_in_series(shank, thread, modulus):
    found = bolt_stiffness.si(
        113e-6, 84.3e-6, shank_length=shank, threaded_length=thread, modulus=modulus
    )
    parts = [Segment(shank, 113e-6, modulus), Segment(thread, 84.3e-6, modulus)]
    assert found == pytest.approx(fastener_stiffness(parts), rel=1e-9)


def test_bolt_threaded_or_plain_throughout():
    rest = {"modulus": 207e9}
    threaded = bolt_stiffness.si(113e-6, 84.3e-6, shank_length=0.0, threaded_length=0.03, **rest)
    plain = bolt_stiffness.si(113e-6, 84.3e-6, shank_length=0.03, threaded_length=0.0, **rest)
    assert threaded == pytest.approx(84.3e-6 * 207e9 / 0.03)
    assert plain == pytest.approx(113e-6 * 207e9 / 0.03)


def test_head_and_engaged_thread_soften_the_fastener():
    grip = [Segment(0.045, 84.3e-6, 207e9)]
    nut = fastener_stiffness([*grip, *end_segments(0.012, 0.009853, 207e9)])
    in_aluminium = fastener_stiffness(
        [*grip, *end_segments(0.012, 0.009853, 207e9, tapped_modulus=70e9)]
    )
    assert in_aluminium < nut < fastener_stiffness(grip)
    socket = end_segments(0.012, 0.009853, 207e9, head="socket")
    assert socket[0].length == pytest.approx(0.4 * 0.012)
    assert len(end_segments(0.012, 0.009853, 207e9, head="stud")) == 2


@given(lengths, moduli, st.floats(0.1, 0.9))
def test_a_cut_through_one_material_changes_nothing(grip, modulus, share):
    whole = cone_stiffness([Layer(grip, modulus)], 0.012, 0.018)
    cut = cone_stiffness(
        [Layer(share * grip, modulus), Layer((1 - share) * grip, modulus)], 0.012, 0.018
    )
    assert cut == pytest.approx(whole, rel=1e-6)


@given(lengths, lengths, moduli, moduli)
def test_turning_the_joint_over_changes_nothing(upper, lower, first, second):
    parts = [Layer(upper, first, 0.050), Layer(lower, second, 0.030)]
    over = cone_stiffness(parts, 0.009, 0.0135, 0.020)
    under = cone_stiffness(parts[::-1], 0.009, 0.020, 0.0135)
    assert over == pytest.approx(under, rel=1e-9)


@given(lengths, moduli)
def test_two_equal_frusta_make_the_classic_cone(grip, modulus):
    half = frustum_stiffness.si(modulus, 0.012, 0.018, grip / 2.0)
    assert cone_stiffness([Layer(grip, modulus)], 0.012, 0.018) == pytest.approx(half / 2.0)


def test_a_layer_no_wider_than_the_head_is_a_sleeve():
    cone = cone_stiffness([Layer(0.030, 70e9, 0.018)], 0.012, 0.018)
    assert cone == pytest.approx(sleeve_stiffness.si(70e9, 0.018, 0.012, 0.030))


def test_behind_a_narrow_washer_the_cone_starts_at_the_washers_rim():
    found = cone_stiffness([Layer(0.004, 207e9, 0.020), Layer(0.036, 70e9)], 0.012, 0.020, 0.100)
    washer = sleeve_stiffness.si(207e9, 0.020, 0.012, 0.004)
    plate = frustum_stiffness.si(70e9, 0.012, 0.020, 0.036)
    assert found == pytest.approx(series_stiffness([washer, plate]))


def test_a_narrow_cone_tends_to_a_sleeve():
    cone = frustum_stiffness.si(70e9, 0.012, 0.018, 0.030, math.radians(0.01))
    assert cone == pytest.approx(sleeve_stiffness.si(70e9, 0.018, 0.012, 0.030), rel=2e-3)


@given(st.floats(0.0181, 0.2), st.floats(1.01, 3.0))
def test_a_wider_boss_is_stiffer_or_as_stiff(outer, times):
    narrow = cone_stiffness([Layer(0.040, 70e9, outer)], 0.012, 0.018)
    wide = cone_stiffness([Layer(0.040, 70e9, outer * times)], 0.012, 0.018)
    assert wide >= narrow * (1 - 1e-12)


def test_a_face_much_wider_than_the_other_takes_the_whole_cone():
    # the cone from the small face never grows as wide as the large one
    found = cone_stiffness([Layer(0.010, 70e9)], 0.012, 0.018, 0.100)
    assert found == pytest.approx(frustum_stiffness.si(70e9, 0.012, 0.018, 0.010))


def test_tapped_part_thinner_than_the_screw_counts_half():
    parts = tapped_layers([Layer(0.010, 207e9), Layer(0.008, 70e9, 0.040)], 0.012)
    assert parts == (Layer(0.010, 207e9), Layer(0.004, 70e9, 0.040))


@pytest.mark.parametrize("material", WILEMAN)
@given(grip=st.floats(0.005, 0.2))
def test_wileman_softens_with_the_grip_toward_its_limit(material, grip):
    near = wileman_stiffness.si(207e9, 0.012, grip, material=material)
    assert wileman_stiffness.si(207e9, 0.012, 1.1 * grip, material=material) < near
    assert near > 207e9 * 0.012 * WILEMAN[material][0]


def test_wileman_and_cone_tell_the_same_story():
    # the fit was made to finite elements that the 30° cone approximates (Shigley, section 8-5);
    # they part where the joint is long
    for grip in (0.016, 0.020, 0.040):
        cone = cone_stiffness([Layer(grip, 207e9)], 0.012, 0.018)
        assert wileman_stiffness.si(207e9, 0.012, grip, material="steel") == pytest.approx(
            cone, rel=0.10
        )


def test_cone_angle_of_the_guideline_is_near_thirty_degrees():
    angles = [
        math.degrees(cone_angle(grip, 0.0166, outer, tapped=tapped))
        for grip in (0.02, 0.05, 0.10)
        for outer in (0.030, 0.050, 0.150)
        for tapped in (False, True)
    ]
    assert 20.0 < min(angles) < max(angles) < 32.0
    assert math.degrees(CONE_ANGLE) == pytest.approx(30.0)
    assert cone_angle(0.05, 0.0166, 0.0498) == pytest.approx(cone_angle(0.05, 0.0166, 0.5))


def test_gasket_governs_a_joint():
    metal = cone_stiffness([Layer(0.040, 207e9)], 0.012, 0.018)
    sheet = rod_stiffness.si(0.004, 0.5e9, 0.0015)
    assert 0.5 * sheet < series_stiffness([metal, sheet]) < sheet


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: series_stiffness([]), "no spring was given"),
        (lambda: series_stiffness([1.0, 0.0]), "stiffness is 0"),
        (lambda: cone_stiffness([], 0.01, 0.02), "grip is 0"),
        (lambda: cone_stiffness([Layer(0.0, 1e9)], 0.01, 0.02), "layer thickness is 0"),
        (lambda: cone_stiffness([Layer(0.1, 1e9)], 0.02, 0.02), "beyond the hole is 0"),
        (lambda: cone_stiffness([Layer(0.1, 1e9, 0.008)], 0.01, 0.02), "wall of a layer"),
        (lambda: tapped_layers([], 0.01), "no layer was given"),
        (lambda: wileman_stiffness.si(1e9, 0.01, 0.1, material="lead"), "'lead' has no fit"),
        (lambda: sleeve_stiffness.si(1e9, 0.01, 0.01, 0.1), "wall of the sleeve is 0"),
        (lambda: end_segments(0.01, 0.011, 2e11), "room for the thread is -0.001"),
        (lambda: cone_angle(0.05, 0.02, 0.01), "outside over face is 0.5"),
        (
            lambda: bolt_stiffness.si(1.0, 1.0, shank_length=0.0, threaded_length=0.0, modulus=1.0),
            "grip is 0",
        ),
    ],
)
def test_impossible_input_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
