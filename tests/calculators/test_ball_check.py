import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.ball_check import (
    OPENING_TILT,
    BallCheck,
    assess_ball_check,
    cracking_range,
    orientation,
    seat_faces_ball,
)
from rebuildbook.calculators.ball_seat import ConeSeat, LappedSeat, SharpSeat
from rebuildbook.calculators.materials import material

STEEL, CARBIDE, PLASTIC = material("316"), material("tungsten carbide"), material("polypropylene")
WATER, SLIP = 998.0, 1650.0
CONE = ConeSeat(0.016, 0.022, math.radians(90))
CHECK = BallCheck(
    ball=0.025, ball_material=STEEL, seat=CONE, seat_material=CARBIDE, lift=0.006,
    closing_pressure=1e6, fluid_density=WATER, spring_force=3.0, spring_rate=400.0, guide=0.032,
)  # fmt: skip
BARE = dataclasses.replace(CHECK, spring_force=0.0, spring_rate=0.0)


def changed(**values):
    return assess_ball_check(dataclasses.replace(CHECK, **values))


def test_a_check_worked_by_hand():
    """25 mm of 316 in a 90° cone in water: every figure from a pocket calculator."""
    found = assess_ball_check(CHECK)
    volume = 8.18123e-6  # m³
    weight = volume * (8000 - 998) * 9.80665  # 0.5618 N
    circle = 17.6777e-3
    area = 245.437e-6
    assert found.weight == pytest.approx(weight, rel=1e-5)
    assert found.seating_force == pytest.approx(3.5618, rel=1e-4)
    assert found.contact.circle == pytest.approx(circle, rel=1e-5)
    assert found.sealing_area == pytest.approx(area, rel=1e-5)
    assert found.cracking_pressure == pytest.approx(14512.0, rel=1e-4)
    assert found.open_force == pytest.approx(3.5618 + 2.4, rel=1e-4)
    load = (3.5618 + 1e6 * area) / (math.pi * circle * math.cos(math.pi / 4))
    assert found.at_pressure.line_load == pytest.approx(load, rel=1e-4)
    assert found.guide_area == pytest.approx(math.pi / 4 * (0.032**2 - 0.025**2))
    assert found.limited_by == "ball"
    assert found.limit == pytest.approx(1.67 * 205e6)
    assert found.peak_use == pytest.approx(found.at_pressure.peak / found.limit)
    assert found.sealing_ratio == pytest.approx(found.at_pressure.mean / 1e6)


@given(st.floats(0.0, 50.0), st.floats(0.01, 50.0))
def test_a_stronger_spring_cracks_later(force, more):
    weak, strong = changed(spring_force=force), changed(spring_force=force + more)
    assert strong.cracking_pressure > weak.cracking_pressure
    assert strong.just_closed.width > weak.just_closed.width


@given(st.floats(0.0, math.pi - 0.01), st.floats(0.001, 0.01))
def test_leaning_over_takes_weight_off_the_seat(tilt, more):
    assert changed(tilt=tilt + more).cracking_pressure < changed(tilt=tilt).cracking_pressure


@given(st.floats(100.0, 9000.0))
def test_upright_and_upside_down_differ_by_twice_the_weight(density):
    up = changed(fluid_density=density)
    down = changed(fluid_density=density, tilt=math.pi)
    assert up.seating_force + down.seating_force == pytest.approx(6.0)
    assert up.seating_force - down.seating_force == pytest.approx(2 * up.weight)


@pytest.mark.parametrize(
    ("opens", "ball", "fluid", "closes"),
    [
        ("up", STEEL, WATER, True),
        ("level", STEEL, WATER, False),  # nothing brings it home
        ("down", STEEL, WATER, False),  # it falls off its seat
        ("up", PLASTIC, SLIP, False),  # it floats off its seat
        ("down", PLASTIC, SLIP, True),  # it floats onto its seat
        ("up", PLASTIC, 800.0, True),
    ],
)
def test_whether_a_ball_without_a_spring_comes_home(opens, ball, fluid, closes):
    found = assess_ball_check(
        dataclasses.replace(BARE, tilt=OPENING_TILT[opens], ball_material=ball, fluid_density=fluid)
    )
    assert found.closes is closes
    if not closes:
        assert found.seating_force <= 0.0
        assert found.cracking_pressure <= 0.0
        assert found.just_closed.peak == 0.0
        assert found.side_ratio == math.inf
    assert found.at_pressure.force == pytest.approx(found.seating_force + 1e6 * found.sealing_area)


def test_a_spring_brings_home_what_gravity_does_not():
    for opens in ("level", "down"):
        assert changed(tilt=OPENING_TILT[opens]).closes


def test_no_pressure_and_no_home_press_not_at_all():
    found = assess_ball_check(dataclasses.replace(BARE, tilt=math.pi, closing_pressure=0.0))
    assert found.at_pressure.force == 0.0
    assert found.sealing_ratio == math.inf


def test_a_leaning_ball_leaves_its_seat_and_then_rolls_out():
    """In a 90° cone θ is 45°: it rolls out at 45°, and lifts on one side at tan τ = ½."""
    lifts = math.atan(0.5)
    for tilt, ratio in ((0.0, 0.0), (lifts, 1.0), (math.pi / 4, 2.0)):
        found = assess_ball_check(dataclasses.replace(BARE, tilt=tilt))
        assert found.side_ratio == pytest.approx(ratio)
    assert changed(tilt=lifts).side_ratio < 1.0


def test_a_hollow_or_weighed_ball():
    solid = changed()
    hollow = changed(cavity=0.020)
    mass = math.pi / 6 * (0.025**3 - 0.020**3) * 8000.0
    assert hollow.weight < solid.weight
    assert changed(mass=mass).weight == pytest.approx(hollow.weight)


@given(
    st.tuples(st.floats(0.0, 0.5), st.floats(0.0, 0.05e-3), st.floats(0.0, 100.0)),
    st.tuples(*3 * [st.floats(-1.0, 1.0)]),
)
def test_the_cracking_range_holds_all_inside_its_corners(spread, place):
    nominal = {"spring_force": 3.0, "ball": 0.025, "fluid_density": WATER}
    low, high = cracking_range(
        CHECK, {n: (x - d, x + d) for (n, x), d in zip(nominal.items(), spread, strict=True)}
    )
    inside = {n: x + d * k for (n, x), d, k in zip(nominal.items(), spread, place, strict=True)}
    slack = 1e-9 * high
    assert low - slack <= dataclasses.replace(CHECK, **inside).cracking_pressure <= high + slack
    assert low - slack <= CHECK.cracking_pressure <= high + slack


def test_without_a_spread_low_and_high_are_the_same():
    found = assess_ball_check(CHECK)
    assert found.cracking_low == found.cracking_pressure == found.cracking_high


def test_a_worn_bore_spreads_the_cracking_pressure_of_a_sharp_seat():
    sharp = dataclasses.replace(CHECK, seat=SharpSeat(0.018))
    low, high = cracking_range(sharp, {"seat.bore": (0.018, 0.0184)})
    assert high == sharp.cracking_pressure
    assert low / high == pytest.approx((0.018 / 0.0184) ** 2, rel=1e-3)


@pytest.mark.parametrize("name", ["spring", "seat.lap_radius", "bore"])
def test_a_spread_of_nothing_known_is_refused(name):
    with pytest.raises(ValueError, match="spring_force"):
        cracking_range(CHECK, {name: (1.0, 2.0)})


def test_a_hard_ball_coins_its_land_into_a_soft_edge_but_not_into_carbide():
    soft = changed(seat=SharpSeat(0.018), ball_material=CARBIDE, seat_material=STEEL)
    assert soft.peak_use > 1.0
    assert soft.bedded_width == pytest.approx(soft.at_pressure.line_load / (3 * 205e6))
    assert changed(seat=SharpSeat(0.018), ball_material=CARBIDE).bedded_width == 0.0
    face = changed(ball_material=CARBIDE, seat_material=STEEL, closing_pressure=3e7)
    assert face.peak_use > 1.0
    assert face.bedded_width == 0.0


def test_the_weaker_of_ball_and_seat_is_named_and_rubber_names_none():
    assert changed(ball_material=CARBIDE, seat_material=STEEL).limited_by == "seat"
    rubber = material("nitrile")
    assert changed(ball_material=rubber).limited_by == "seat"
    both = changed(ball_material=rubber, seat_material=rubber)
    assert (both.limit, both.limited_by, both.peak_use) == (None, "", None)


def test_a_narrow_cone_sticks_and_a_wide_one_does_not():
    assert changed(seat=ConeSeat(0.016, 0.02499, math.radians(20))).wedges
    assert not changed().wedges


def test_lift_is_enough_where_the_throat_is_as_wide_as_the_bore():
    short = changed()
    enough = changed(lift=short.lift_needed * 1.001)
    scarce = changed(lift=short.lift_needed * 0.999)
    assert scarce.flow_area < scarce.bore_area < enough.flow_area
    assert changed(guide=None).guide_area is None


def test_a_better_lap_seals_at_less_pressure_on_the_metal():
    rough, fine = (changed(seat=LappedSeat(0.016, 0.019, lap)) for lap in (0.01256, 0.0125))
    assert fine.at_pressure.peak < rough.at_pressure.peak
    assert fine.at_pressure.width > rough.at_pressure.width


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"ball": 0.0}, "ball diameter"),
        ({"lift": 0.0}, "lift"),
        ({"closing_pressure": -1.0}, "closing pressure"),
        ({"spring_force": math.nan}, "spring force"),
        ({"fluid_density": -1.0}, "fluid density"),
        ({"tilt": 4.0}, "tilt"),
        ({"tilt": math.nan}, "tilt"),
        ({"cavity": 0.025}, "hollow"),
        ({"mass": 0.0}, "ball mass"),
        ({"guide": 0.025}, "guide"),
        ({"guide_open_share": 1.2}, "guide open share"),
    ],
)
def test_what_cannot_be_built_is_refused(change, message):
    with pytest.raises(ValueError, match=message):
        dataclasses.replace(CHECK, **change)


@pytest.mark.parametrize(
    ("role", "arrow", "told"),
    [
        ("inlet", "toward pump", "right way round"),
        ("inlet", "away from pump", "swapped"),
        ("outlet", "away from pump", "right way round"),
        ("outlet", "toward pump", "swapped"),
    ],
)
def test_which_way_round(role, arrow, told):
    assert orientation(role, arrow) == told


def test_roles_arrows_and_faces_that_are_none():
    with pytest.raises(ValueError, match="inlet or an outlet"):
        orientation("suction", "toward pump")
    with pytest.raises(ValueError, match="toward pump or away"):
        orientation("inlet", "up")
    with pytest.raises(ValueError, match="worked or plain"):
        seat_faces_ball("up")
    assert seat_faces_ball("worked side to ball")
    assert not seat_faces_ball("plain side to ball")
