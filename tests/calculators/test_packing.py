import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from rebuildbook.calculators.packing import (
    UCup,
    VStack,
    fit_u_cup,
    gland_friction,
    gland_load,
    lip_after_wear,
    packing_friction,
    pressure_left,
    squeeze_lost,
    v_rings_for,
)

CUP = UCup(24e-3, 36.8e-3, 25.1e-3, 35.2e-3, 7e-3)
ratios = st.floats(0.3, 1.0)
frictions = st.floats(0.01, 0.3)


# U-cups


def test_u_cup_by_hand() -> None:
    fit = fit_u_cup(CUP, 25e-3, 35e-3, 7.8e-3, slides="rod")
    assert fit.inner_lip == pytest.approx(0.5e-3)
    assert fit.outer_lip == pytest.approx(0.9e-3)
    assert fit.inner_heel == pytest.approx(-0.05e-3)
    assert fit.outer_heel == pytest.approx(0.1e-3)
    assert fit.lip_share == pytest.approx(1.4 / 6.4)
    assert fit.heel_squeeze == pytest.approx(0.05e-3)
    assert fit.end_play == pytest.approx(0.8e-3)
    assert fit.remarks == ()


@pytest.mark.parametrize(
    ("cup", "rod", "bore", "length", "slides", "words"),
    [
        (CUP, 23.8e-3, 35e-3, 7.8e-3, "rod", "sliding lip stands off by 0.100 mm"),
        (CUP, 25e-3, 37e-3, 7.8e-3, "rod", "standing lip stands off"),
        (CUP, 25.4e-3, 35e-3, 7.8e-3, "rod", "heel drags"),
        (CUP, 25e-3, 35.4e-3, 7.8e-3, "rod", "heel is loose"),
        (CUP, 25e-3, 35e-3, 6.9e-3, "rod", "too short"),
        (CUP, 25e-3, 35e-3, 7.8e-3, "bore", "heel drags where it slides, by 0.100 mm"),
    ],
)
def test_a_u_cup_out_of_order_is_said(cup, rod, bore, length, slides, words) -> None:
    assert words in " ".join(fit_u_cup(cup, rod, bore, length, slides=slides).remarks)


@given(st.floats(24.5e-3, 25.5e-3), st.floats(0.0, 0.5e-3))
def test_a_worn_rod_takes_its_wear_from_the_inner_lip(rod: float, wear: float) -> None:
    new = fit_u_cup(CUP, rod, 35e-3, 7.8e-3, slides="rod")
    worn = fit_u_cup(CUP, rod - wear, 35e-3, 7.8e-3, slides="rod")
    lost = squeeze_lost.si(rod, rod - wear)
    assert new.inner_lip - worn.inner_lip == pytest.approx(lost, abs=1e-12)
    assert new.outer_lip == worn.outer_lip


def test_half_the_interference_may_go() -> None:
    assert lip_after_wear(0.4e-3, 0.2e-3)[1]
    assert not lip_after_wear(0.4e-3, 0.21e-3)[1]


# V-packing


@given(st.floats(0.0, 400e5), st.floats(0.0, 400e5))
def test_more_pressure_asks_for_no_fewer_rings(one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert v_rings_for(low) <= v_rings_for(high)


def test_too_much_pressure_for_v_rings_is_refused() -> None:
    with pytest.raises(ValueError, match="400 bar"):
        v_rings_for(401e5)


def test_follower_travel_by_hand() -> None:
    """Set of 30 mm, spigot 15 mm, box 40 mm: 5 mm of gap; the rings give 0.02 · 20 mm."""
    stack = VStack(4, 5e-3, 4e-3, 6e-3)
    assert stack.height == pytest.approx(30e-3)
    assert stack.travel(40e-3, 15e-3) == pytest.approx(5e-3)
    assert stack.travel(40e-3, 15e-3, 0.02) == pytest.approx(4.6e-3)
    assert stack.travel(46e-3, 15e-3) < 0.0


# gland


@given(st.floats(0.02, 0.1), st.floats(5e-3, 20e-3), st.floats(0.0, 0.1), ratios, frictions)
def test_equal_frictions_give_the_short_form(rod, wall, length, ratio, friction) -> None:
    left = pressure_left.si(rod, rod + 2.0 * wall, length, ratio, friction, friction)
    assert left == pytest.approx(math.exp(-2.0 * ratio * friction * length / wall))


@given(ratios, frictions, frictions, st.floats(5e-3, 80e-3))
def test_friction_is_the_integral_of_the_pressure_on_the_rod(ratio, on_rod, on_box, length) -> None:
    rod, box, load = 25e-3, 45e-3, 4000.0
    area = math.pi / 4.0 * (box**2 - rod**2)

    def each_metre(x: float) -> float:
        axial = load / area * float(pressure_left.si(rod, box, x, ratio, on_rod, on_box))
        return on_rod * ratio * axial * math.pi * rod

    wanted, _ = quad(each_metre, 0.0, length)
    assert gland_friction.si(load, rod, box, length, ratio, on_rod, on_box) == pytest.approx(wanted)


@given(ratios, frictions, st.floats(0.0, 100e5))
def test_the_load_gives_the_wanted_pressure_at_the_far_end(ratio, friction, radial) -> None:
    rod, box, length = 25e-3, 45e-3, 40e-3
    load = gland_load.si(radial, rod, box, length, ratio, friction, friction)
    axial = load / (math.pi / 4.0 * (box**2 - rod**2))
    far = axial * pressure_left.si(rod, box, length, ratio, friction, friction) * ratio
    assert far == pytest.approx(radial)


def test_with_little_friction_both_forms_of_friction_meet() -> None:
    """F = μ p π d L with p = K p_axial, as long as the pressure hardly falls."""
    rod, box, length, ratio, mu = 25e-3, 45e-3, 10e-3, 0.7, 1e-4
    load = 3000.0
    radial = ratio * load / (math.pi / 4.0 * (box**2 - rod**2))
    assert gland_friction.si(load, rod, box, length, ratio, mu, mu) == pytest.approx(
        packing_friction.si(mu, radial, rod, length), rel=1e-3
    )


@pytest.mark.parametrize(
    "call",
    [
        lambda: UCup(36e-3, 24e-3, 25e-3, 35e-3, 7e-3),
        lambda: fit_u_cup(CUP, 35e-3, 25e-3, 7e-3, slides="rod"),
        lambda: fit_u_cup(CUP, 25e-3, 35e-3, 7e-3, slides="sideways"),
        lambda: VStack(0, 5e-3, 0.0, 0.0),
        lambda: VStack(3, 5e-3, 0.0, 0.0).travel(20e-3, 5e-3, 0.5),
        lambda: pressure_left.si(45e-3, 25e-3, 1e-2, 0.7, 0.1, 0.1),
        lambda: gland_load.si(1e5, 25e-3, 45e-3, 1e-2, 1.5),
        lambda: gland_friction.si(1e3, 25e-3, 45e-3, 1e-2, 0.7, 0.0),
        lambda: packing_friction.si(-0.1, 1e5, 25e-3, 1e-2),
        lambda: squeeze_lost.si(0.0, 25e-3),
        lambda: lip_after_wear(0.0, 1e-4),
    ],
)
def test_what_cannot_be_is_refused(call) -> None:
    with pytest.raises(ValueError, match=r"must|larger|leaves no room|rod or bore|at least one"):
        call()
