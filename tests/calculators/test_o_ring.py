import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from rebuildbook.calculators.o_ring import Assessment, assess_o_ring, squeeze_limits
from rebuildbook.calculators.o_ring_gland import (
    FaceGland,
    RadialGland,
    Service,
    gathered_section,
    gland_inputs,
    lay,
    measured_thinning,
    stretched_section,
)
from rebuildbook.calculators.o_ring_sizes import ORing, limits, o_ring, plus_minus

RING = ORing(plus_minus(25e-3, 0.2e-3), plus_minus(3.5e-3, 0.1e-3))
EXACT = ORing(plus_minus(25e-3), plus_minus(3.5e-3))


def _face(depth=2.6e-3, width=4.8e-3, wall=32e-3, half=0.0, side="inside") -> FaceGland:
    return FaceGland(plus_minus(depth, half), plus_minus(width, half), plus_minus(wall, half), side)


def _male(groove=25.4e-3, bore=31.2e-3, width=4.8e-3, half=0.0, **more) -> RadialGland:
    sizes = (plus_minus(size, half) for size in (groove, bore, width))
    return RadialGland("male", *sizes, **more)


def _female(groove=31.6e-3, rod=25.8e-3, width=4.8e-3, half=0.0, **more) -> RadialGland:
    sizes = (plus_minus(size, half) for size in (groove, rod, width))
    return RadialGland("female", *sizes, **more)


def _about(found: Assessment) -> set[str]:
    return {remark.quantity for remark in found.remarks}


# sections


@given(st.floats(5e-3, 0.3), st.floats(1e-3, 7e-3), st.floats(1.0, 1.25))
def test_stretch_keeps_the_volume(inside: float, section: float, factor: float) -> None:
    seat = inside * factor
    new = stretched_section.si(inside, section, seat)
    wanted = brentq(lambda w: w**2 * (seat + w) - section**2 * (inside + section), 1e-6, 0.1)
    assert new == pytest.approx(wanted, rel=1e-9)


@given(st.floats(10e-3, 0.3), st.floats(1e-3, 5e-3), st.floats(0.9, 1.0))
def test_gathering_keeps_the_volume(inside: float, section: float, factor: float) -> None:
    wall = (inside + 2.0 * section) * factor
    new = gathered_section.si(inside, section, wall)
    assert new**2 * (wall - new) == pytest.approx(section**2 * (inside + section), rel=1e-9)
    assert new >= section * (1.0 - 1e-12)


def test_a_thin_ring_thins_by_the_root_of_its_stretch() -> None:
    assert stretched_section.si(1.0, 1e-4, 1.05) == pytest.approx(1e-4 / math.sqrt(1.05), rel=1e-5)


def test_a_ring_far_too_large_is_refused() -> None:
    with pytest.raises(ValueError, match="wrong ring"):
        gathered_section.si(0.05, 3e-3, 0.03)


@given(st.floats(0.0, 0.25))
def test_measured_thinning_is_never_less_than_by_constant_volume(stretch: float) -> None:
    by_volume = 1.0 - 1.0 / math.sqrt(1.0 + stretch)
    assert measured_thinning.si(stretch) >= by_volume


def test_measured_thinning_takes_arrays_and_loose_rings() -> None:
    assert measured_thinning.si(np.array([-0.1, 0.0, 0.05])) == pytest.approx([0.0, 0.0, 0.03395])


# as fitted


def test_face_gland_by_hand() -> None:
    """Ring 25 × 3.5 in a wall of exactly its outside: squeeze 0.9 of 3.5; fill by volumes."""
    found = assess_o_ring(EXACT, _face())
    assert found.squeeze.nominal == pytest.approx(0.9e-3)
    assert found.squeeze_share.nominal == pytest.approx(0.9 / 3.5)
    ring = 2.0 * math.pi**2 * 14.25e-3 * 1.75e-3**2  # torus: 2π²Rr²
    room = math.pi * (16e-3**2 - 11.2e-3**2) * 2.6e-3
    assert found.fill.nominal == pytest.approx(ring / room)
    assert found.fill.low == found.fill.high == pytest.approx(found.fill.nominal)


def test_male_gland_by_hand() -> None:
    """25 mm stretched to 25.4 mm is 1.6 %; depth is (31.2 − 25.4)/2 = 2.9 mm."""
    found = assess_o_ring(EXACT, _male())
    assert found.stretch.nominal == pytest.approx(0.016)
    assert found.depth.nominal == pytest.approx(2.9e-3)
    assert found.section.nominal == pytest.approx(stretched_section.si(25e-3, 3.5e-3, 25.4e-3))
    assert found.use == "static radial"
    ring = 2.0 * math.pi**2 * 14.25e-3 * 1.75e-3**2
    room = math.pi / 4.0 * (31.2e-3**2 - 25.4e-3**2) * 4.8e-3
    assert found.fill.nominal == pytest.approx(ring / room)


def test_female_gland_presses_the_ring_together_and_thickens_it() -> None:
    found = assess_o_ring(EXACT, _female())
    assert found.interference.nominal == pytest.approx(32.0 / 31.6 - 1.0)
    assert found.section.nominal > 3.5e-3


def test_a_female_ring_that_misses_the_groove_is_stretched_on_the_rod() -> None:
    found = assess_o_ring(EXACT, _female(groove=32.2e-3, rod=26.4e-3))
    assert found.section.nominal < 3.5e-3
    assert "interference" in _about(found)


def test_outside_pressure_holds_the_ring_on_the_inner_wall() -> None:
    found = assess_o_ring(EXACT, _face(wall=25.5e-3, side="outside"))
    assert found.stretch.nominal == pytest.approx(0.02)
    assert found.section.nominal < 3.5e-3
    assert "stretch" not in _about(found)


def test_offset_lessens_the_squeeze_on_one_side_only_in_the_limits() -> None:
    true, off = assess_o_ring(EXACT, _male()), assess_o_ring(EXACT, _male(offset=0.1e-3))
    assert off.squeeze.nominal == true.squeeze.nominal
    assert true.squeeze.nominal - off.squeeze.low == pytest.approx(0.1e-3)
    assert off.fill == true.fill


@pytest.mark.parametrize("gland", [_face(half=0.05e-3), _male(half=0.03e-3), _female(half=0.03e-3)])
def test_likely_limits_lie_within_the_worst_and_the_worst_within_reach(gland) -> None:
    found = assess_o_ring(RING, gland)
    rng = np.random.default_rng(7)
    inputs = gland_inputs(RING, gland)
    draws = {name: rng.uniform(size.low, size.high, 4000) for name, size in inputs.items()}
    laid = lay(gland, draws)
    for name in ("squeeze", "squeeze_share", "stretch", "fill", "depth", "section"):
        spread = getattr(found, name)
        assert spread.low <= spread.likely_low <= spread.likely_high <= spread.high, name
        assert laid[name].min() >= spread.low - 1e-12, name
        assert laid[name].max() <= spread.high + 1e-12, name


def test_likely_limits_of_a_plain_sum_are_the_root_of_the_squares() -> None:
    """Free ring in a face gland: squeeze is section − depth, ±0.1 and ±0.05 mm."""
    ring = ORing(plus_minus(24e-3), plus_minus(3.5e-3, 0.1e-3))
    gland = FaceGland(plus_minus(2.6e-3, 0.05e-3), plus_minus(6e-3), plus_minus(34e-3))
    squeeze = assess_o_ring(ring, gland).squeeze
    assert squeeze.likely_high - squeeze.nominal == pytest.approx(math.hypot(0.1e-3, 0.05e-3))
    assert squeeze.high - squeeze.nominal == pytest.approx(0.15e-3)


@given(st.floats(2.0e-3, 3.3e-3), st.floats(2.0e-3, 3.3e-3))
def test_a_shallower_gland_squeezes_more_and_is_fuller(one: float, other: float) -> None:
    low, high = sorted((one, other))
    shallow, deep = assess_o_ring(EXACT, _face(low)), assess_o_ring(EXACT, _face(high))
    assert shallow.squeeze_share.nominal >= deep.squeeze_share.nominal
    assert shallow.fill.nominal >= deep.fill.nominal


@given(st.floats(25.0e-3, 27e-3), st.floats(25.0e-3, 27e-3))
def test_more_stretch_at_equal_depth_squeezes_less(one: float, other: float) -> None:
    low, high = sorted((one, other))
    slack = assess_o_ring(EXACT, _male(low, low + 5.8e-3))
    tight = assess_o_ring(EXACT, _male(high, high + 5.8e-3))
    assert slack.squeeze.nominal >= tight.squeeze.nominal - 1e-12


# remarks


@pytest.mark.parametrize(
    ("gland", "quantity", "severity"),
    [
        (_face(depth=3.6e-3), "squeeze", "hold"),
        (_face(depth=3.2e-3), "squeeze", "query"),
        (_face(depth=2.2e-3, width=5.6e-3), "squeeze", "query"),
        (_face(width=3.6e-3), "fill", "hold"),
        (_face(width=4.5e-3), "fill", "query"),
        (_face(wall=33e-3), "interference", "query"),
        (_face(wall=30.5e-3), "interference", "query"),
        (_face(wall=24e-3, side="outside"), "stretch", "query"),
        (_male(27e-3, 32.8e-3), "stretch", "query"),
        (_male(24e-3, 29.8e-3), "stretch", "query"),
        (_male(25.4e-3, 31.0e-3, reciprocating=True), "squeeze", "query"),
    ],
)
def test_what_is_out_of_range_is_said_with_its_source(gland, quantity, severity) -> None:
    remarks = [r for r in assess_o_ring(EXACT, gland).remarks if r.quantity == quantity]
    assert [remark.severity for remark in remarks][:1] == [severity]
    assert all(remark.source for remark in remarks)


def test_a_sound_gland_gets_no_remark() -> None:
    assert assess_o_ring(EXACT, _face()).remarks == ()
    assert assess_o_ring(EXACT, _male(25.3e-3, 31.0e-3)).remarks == ()


@given(st.floats(1e-3, 10e-3), st.sampled_from(["face", "static radial", "reciprocating"]))
def test_squeeze_limits_run_upward_and_moving_rings_are_squeezed_less(section, use) -> None:
    low, high = squeeze_limits(section, use)
    assert 0.0 < low < high < 0.4
    assert squeeze_limits(section, "reciprocating")[1] <= squeeze_limits(section, "face")[1]


# service


@given(st.floats(0.0, 0.2), st.floats(0.0, 0.2))
def test_swell_fills_the_gland_by_its_share_of_volume(one: float, other: float) -> None:
    low, high = sorted((one, other))
    less = assess_o_ring(EXACT, _male(), Service(swell=low))
    more = assess_o_ring(EXACT, _male(), Service(swell=high))
    dry = assess_o_ring(EXACT, _male())
    assert less.fill.nominal / dry.fill.nominal == pytest.approx(1.0 + low)
    assert less.squeeze.nominal <= more.squeeze.nominal + 1e-12


def test_equal_expansion_of_all_parts_changes_no_share() -> None:
    same = Service(warming=80.0, rubber_expansion=2e-5, metal_expansion=2e-5)
    hot, cold = assess_o_ring(RING, _male(half=1e-5), same), assess_o_ring(RING, _male(half=1e-5))
    for name in ("squeeze_share", "stretch", "fill"):
        assert getattr(hot, name).nominal == pytest.approx(getattr(cold, name).nominal)
        assert getattr(hot, name).high == pytest.approx(getattr(cold, name).high)


def test_cold_takes_squeeze_by_the_difference_of_expansion() -> None:
    """60 K colder: 3.5·(1 − 0.0096) less 2.6·(1 − 0.00072), with ring and wall both free."""
    cold = Service(warming=-60.0, rubber_expansion=160e-6, metal_expansion=12e-6)
    found = assess_o_ring(EXACT, _face(), cold)
    assert found.squeeze.nominal == pytest.approx(3.5e-3 * 0.9904 - 2.6e-3 * 0.99928)


def test_a_bore_of_another_metal_grows_by_its_own_expansion() -> None:
    aluminium = Service(warming=100.0, metal_expansion=12e-6, mate_expansion=23e-6)
    found = assess_o_ring(EXACT, _male(), aluminium)
    assert found.depth.nominal == pytest.approx((31.2e-3 * 1.0023 - 25.4e-3 * 1.0012) / 2.0)


def test_service_that_bursts_the_gland_or_loses_the_squeeze_is_said() -> None:
    assert "hold" in {r.severity for r in assess_o_ring(RING, _face(), Service(swell=0.4)).remarks}
    shrunk = assess_o_ring(EXACT, _face(depth=3.2e-3), Service(swell=-0.15))
    assert "squeeze" in _about(shrunk)


@pytest.mark.parametrize(
    "make",
    [
        lambda: _face(depth=-1e-3),
        lambda: _face(wall=5e-3),
        lambda: _male(32e-3, 31e-3),
        lambda: _female(25e-3, 26e-3),
        lambda: _male(offset=-1e-4),
        lambda: Service(swell=-0.9),
        lambda: Service(warming=2000.0, rubber_expansion=2e-4),
    ],
)
def test_impossible_input_is_refused(make) -> None:
    with pytest.raises(ValueError):
        make()


def test_a_ring_read_from_text_goes_straight_in() -> None:
    gland = FaceGland(limits(2.54e-3, 2.74e-3), limits(4.8e-3, 5.0e-3), plus_minus(31.9e-3, 1e-4))
    assert assess_o_ring(o_ring("214"), gland).use == "face"
