import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.ball_lift import guide_area, lift_area, lift_needed
from rebuildbook.calculators.ball_seat import ConeSeat, LappedSeat, SharpSeat, ball_height

BALL = 0.025
SEATS = {
    "sharp": SharpSeat(0.018),
    "cone": ConeSeat(0.016, 0.022, math.radians(90)),
    "short cone": ConeSeat(0.0175, 0.0178, math.radians(90)),
    "inner edge": ConeSeat(0.020, 0.023, math.radians(90)),
    "outer edge": ConeSeat(0.010, 0.015, math.radians(60)),
    "heel": LappedSeat(0.016, 0.019, 0.01253),
    "toe": LappedSeat(0.016, 0.019, 0.01247),
    "land": LappedSeat(0.016, 0.019, 0.0125),
}
every_seat = pytest.mark.parametrize("seat", SEATS.values(), ids=SEATS)


@every_seat
@given(lift=st.floats(1e-5, 0.02), more=st.floats(1e-5, 0.01))
def test_the_way_opens_with_the_lift(seat, lift, more):
    assert lift_area(BALL, seat, 0.0) == pytest.approx(0.0, abs=2e-8)
    assert 0.0 < lift_area(BALL, seat, lift) < lift_area(BALL, seat, lift + more)


@pytest.mark.parametrize("lift", [0.001, 0.003, 0.006, 0.012])
@pytest.mark.parametrize("name", ["cone", "short cone", "inner edge", "outer edge"])
def test_throat_over_a_cone_is_the_shortest_way_found_by_search(name, lift):
    seat = SEATS[name]
    centre = ball_height(BALL, seat) + lift
    radius = np.linspace(seat.bore / 2, seat.outer / 2, 200001)
    height = (radius - seat.bore / 2) / math.tan(seat.included_angle / 2)
    reach = np.hypot(radius, centre - height)
    nearest = reach.argmin()
    gap = reach[nearest] - BALL / 2
    ball_end = radius[nearest] * (BALL / 2) / reach[nearest]
    frustum = math.pi * (radius[nearest] + ball_end) * gap
    assert lift_area(BALL, seat, lift) == pytest.approx(frustum, rel=1e-4)


@every_seat
@given(share=st.floats(0.05, 1.5))
def test_lift_needed_undoes_the_lift(seat, share):
    area = share * math.pi / 4 * seat.bore**2
    assert lift_area(BALL, seat, lift_needed(BALL, seat, area)) == pytest.approx(area, rel=1e-5)


def test_guide_area_is_the_ring_less_its_ribs():
    whole = guide_area.si(0.025, 0.032, 1.0)
    assert whole == pytest.approx(math.pi * 0.0285 * 0.0035)  # mean circumference × width
    assert guide_area.si(0.025, 0.032, 0.6) == pytest.approx(0.6 * whole)


def test_a_lift_or_passage_that_is_none_is_refused():
    with pytest.raises(ValueError, match="lift of -1 mm"):
        lift_area(BALL, SEATS["cone"], -0.001)
    for area in (0.0, math.inf, math.nan):
        with pytest.raises(ValueError, match="passage"):
            lift_needed(BALL, SEATS["cone"], area)
