import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.ball_seat import (
    FINISH_GAP,
    ConeSeat,
    LappedSeat,
    SharpSeat,
    ball_height,
    bedded_width,
    seat_contact,
    seat_pressure,
    wedges,
)

STEEL = 1.1e11
BALL = 0.025
SEATS = {
    "sharp": SharpSeat(0.018),
    "cone": ConeSeat(0.016, 0.022, math.radians(90)),
    "inner edge": ConeSeat(0.020, 0.023, math.radians(90)),
    "outer edge": ConeSeat(0.010, 0.015, math.radians(60)),
    "heel": LappedSeat(0.016, 0.019, 0.01253),
    "toe": LappedSeat(0.016, 0.019, 0.01247),
    "land": LappedSeat(0.016, 0.019, 0.0125),
}
every_seat = pytest.mark.parametrize("seat", SEATS.values(), ids=SEATS)


def profile(seat):
    """The seat's surface in a half-plane through its axis: radii and heights, densely spaced."""
    if isinstance(seat, ConeSeat):
        radius = np.linspace(seat.bore / 2, seat.outer / 2, 20001)
        return radius, (radius - seat.bore / 2) / math.tan(seat.included_angle / 2)
    if isinstance(seat, LappedSeat):
        radius = np.linspace(seat.bore / 2, seat.outer / 2, 20001)
        depth = np.sqrt(seat.lap_radius**2 - radius**2)
        return radius, depth[0] - depth
    turn = np.linspace(0.0, math.pi / 2, 20001)  # the rounding, from the bore wall to the face
    centre = seat.bore / 2 + seat.edge_radius
    return centre - seat.edge_radius * np.cos(turn), seat.edge_radius * (np.sin(turn) - 1)


@every_seat
def test_the_resting_ball_touches_its_seat_at_the_circle_and_nowhere_enters_it(seat):
    contact = seat_contact(BALL, seat)
    radius, height = profile(seat)
    distance = np.hypot(radius, height - ball_height(BALL, seat)) - BALL / 2
    assert distance.min() == pytest.approx(0.0, abs=2e-9)
    nearest = radius[distance.argmin()]
    if contact.rests_on == "land":
        assert distance.max() <= FINISH_GAP
        assert radius[0] < contact.circle / 2 < radius[-1]
    else:
        assert 2 * nearest == pytest.approx(contact.circle, abs=2e-6)


@pytest.mark.parametrize(
    ("seat", "where"),
    [("sharp", "edge"), ("cone", "face"), ("inner edge", "inner edge"),
     ("outer edge", "outer edge"), ("heel", "inner edge"), ("toe", "outer edge"), ("land", "land")],
)  # fmt: skip
def test_what_the_ball_rests_on(seat, where):
    assert seat_contact(BALL, SEATS[seat]).rests_on == where


@given(st.floats(0.002, 0.2), st.floats(0.05, 0.98), st.floats(1e-6, 1e-3))
def test_a_sharp_edge_is_touched_between_bore_and_ball(ball, share, edge):
    contact = seat_contact(ball, SharpSeat(share * ball, edge))
    assert share * ball < contact.circle < ball
    assert math.sin(contact.angle) * ball == pytest.approx(contact.circle)
    assert contact.radius < edge


@given(st.floats(math.radians(1), math.radians(179)), st.floats(0.002, 0.2))
def test_a_cone_is_touched_inside_the_ball_and_square_to_its_face(included, ball):
    contact = seat_contact(ball, ConeSeat(1e-9, 2 * ball, included))
    assert 0.0 < contact.circle < ball
    assert contact.angle == pytest.approx(math.pi / 2 - included / 2, abs=1e-6)


def test_a_cone_opened_to_a_flat_is_a_bore_edge():
    flat = seat_contact(BALL, ConeSeat(0.018, 0.030, math.radians(179.9)))
    assert flat.rests_on == "inner edge"
    assert flat.circle == 0.018


@pytest.mark.parametrize("end", ["bore", "outer"])
def test_the_circle_runs_on_from_face_to_edge(end):
    at = BALL * math.cos(math.radians(45))
    seats = [
        ConeSeat(at + d, 0.024, math.pi / 2)
        if end == "bore"
        else ConeSeat(0.01, at + d, math.pi / 2)
        for d in (-1e-9, 1e-9)
    ]
    one, other = (seat_contact(BALL, seat) for seat in seats)
    assert one.rests_on != other.rests_on
    assert one.circle == pytest.approx(other.circle, abs=1e-8)


@every_seat
@given(force=st.floats(0.1, 1e4), factor=st.floats(1.01, 10.0))
def test_more_force_presses_wider_and_no_less_hard(seat, force, factor):
    contact = seat_contact(BALL, seat)
    less = seat_pressure(contact, force, STEEL)
    more = seat_pressure(contact, factor * force, STEEL)
    assert more.line_load == pytest.approx(factor * less.line_load)
    assert more.width >= less.width
    assert more.peak >= less.peak * (1 - 1e-12)
    assert more.mean * more.width == pytest.approx(more.line_load)
    assert more.mean <= more.peak * (1 + 1e-12)


@given(st.floats(0.1, 1e3))
def test_width_on_a_cone_grows_with_the_root_of_the_force(force):
    contact = seat_contact(BALL, SEATS["cone"])
    once, twice = (seat_pressure(contact, n * force, STEEL) for n in (1, 4))
    assert twice.width == pytest.approx(2 * once.width)
    assert twice.peak == pytest.approx(2 * once.peak)


def test_a_land_that_fits_bears_evenly_and_an_ill_fitting_one_nears_it_under_load():
    fits = seat_pressure(seat_contact(BALL, SEATS["land"]), 500.0, STEEL)
    assert fits.peak == fits.mean
    contact = seat_contact(BALL, SEATS["heel"])
    light, heavy = (seat_pressure(contact, force, STEEL) for force in (50.0, 1e6))
    assert light.width < contact.face
    assert light.peak == pytest.approx(2 * light.mean)
    assert heavy.width == contact.face
    assert heavy.peak == pytest.approx(heavy.mean, rel=0.05)


def test_peak_on_a_land_does_not_jump_when_it_bears_whole():
    contact = seat_contact(BALL, SEATS["heel"])
    load = math.pi * STEEL * contact.gap_slope / 4 * contact.face
    force = load * math.pi * contact.circle * math.cos(contact.angle)
    below, above = (seat_pressure(contact, force * f, STEEL) for f in (1 - 1e-9, 1 + 1e-9))
    assert below.peak == pytest.approx(above.peak, rel=1e-6)
    assert below.width == pytest.approx(above.width, rel=1e-6)


def test_a_soft_ball_spills_over_a_narrow_cone_and_bears_on_all_of_it():
    contact = seat_contact(BALL, ConeSeat(0.0172, 0.0182, math.pi / 2))
    hard, soft = (seat_pressure(contact, 300.0, modulus) for modulus in (STEEL, 8e6))
    assert not hard.spills
    assert hard.elastic_theory
    assert soft.spills
    assert not soft.elastic_theory
    assert soft.width == contact.face == pytest.approx(0.001 / 2 / math.sin(math.pi / 4))
    assert soft.peak == pytest.approx(soft.mean) == pytest.approx(soft.line_load / contact.face)


@pytest.mark.parametrize(("bore", "outer"), [(0.0176, 0.024), (0.010, 0.0178)])
def test_a_contact_spills_over_the_nearer_end_though_the_cone_has_room_beyond(bore, outer):
    contact = seat_contact(BALL, ConeSeat(bore, outer, math.pi / 2))
    nearer = min(contact.circle - bore, outer - contact.circle) / 2 * math.sqrt(2)  # along the face
    assert contact.room == pytest.approx(2 * nearer)
    found = seat_pressure(contact, 300.0, 5e9)
    assert contact.room < found.width < contact.face
    assert found.spills


def test_no_force_presses_not_at_all_and_a_pull_is_refused():
    contact = seat_contact(BALL, SEATS["cone"])
    assert seat_pressure(contact, 0.0, STEEL).peak == 0.0
    for force in (-1.0, math.nan):
        with pytest.raises(ValueError, match="must not be negative"):
            seat_pressure(contact, force, STEEL)


def test_bedding_stops_at_three_times_yield():
    width = bedded_width.si(6e4, 205e6)
    assert 6e4 / width == pytest.approx(3 * 205e6)


def test_a_ball_sticks_below_the_angle_of_friction():
    lean = math.degrees(math.atan(0.2))
    for half_angle, stuck in ((lean - 0.1, True), (lean + 0.1, False)):
        contact = seat_contact(BALL, ConeSeat(0.001, 0.0249999, math.radians(2 * half_angle)))
        assert wedges(contact.angle) is stuck


@pytest.mark.parametrize(
    ("ball", "seat", "message"),
    [
        (0.0, SharpSeat(0.018), "must be above zero"),
        (math.nan, SharpSeat(0.018), "must be above zero"),
        (0.018, SharpSeat(0.018), "smaller than the ball"),
        (0.025, SharpSeat(-0.01), "smaller than the ball"),
        (0.025, SharpSeat(0.018, 0.0), "no edge is without one"),
        (0.025, ConeSeat(0.018, 0.017, 1.5), "outer diameter"),
        (0.025, ConeSeat(0.016, 0.022, math.pi), "between 0 and 180"),
        (0.025, ConeSeat(0.016, 0.022, 0.0), "between 0 and 180"),
        (0.025, LappedSeat(0.016, 0.019, 0.009), "larger than half"),
        (0.025, LappedSeat(0.016, 0.016, 0.0125), "outer diameter"),
    ],
)
def test_what_is_no_seat_is_refused(ball, seat, message):
    with pytest.raises(ValueError, match=message):
        seat_contact(ball, seat)
