import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from rebuildbook.calculators.ball_check import BallCheck
from rebuildbook.calculators.ball_drag import drag_force
from rebuildbook.calculators.ball_force import (
    SHUT,
    BallStream,
    flow_at_lift,
    pressure_loss_at_lift,
    steady_lift,
)
from rebuildbook.calculators.ball_lift import lift_area
from rebuildbook.calculators.ball_seat import ConeSeat, LappedSeat, SharpSeat
from rebuildbook.calculators.flow_curve import Bingham, Newtonian, PowerLaw
from rebuildbook.calculators.materials import material

WATER = Newtonian(0.001)
STEEL = material("316")
CONE = ConeSeat(0.016, 0.022, math.pi / 2)
SEATS = [CONE, SharpSeat(0.018), LappedSeat(0.016, 0.019, 0.0125)]


def check(**more):
    given = {
        "ball": 0.025, "ball_material": STEEL, "seat": CONE, "seat_material": STEEL,
        "lift": 0.006, "closing_pressure": 1e6, "fluid_density": 998.0,
    }  # fmt: skip
    return BallCheck(**(given | more))


@pytest.mark.parametrize("seat", SEATS)
def test_the_kept_throat_is_the_throat(seat):
    stream = BallStream(check(seat=seat), WATER)
    for lift in np.geomspace(SHUT, 0.006, 40):
        assert stream.throat(lift) == pytest.approx(lift_area(0.025, seat, lift), rel=1e-6)


def test_in_a_narrow_gap_the_force_is_the_pressure_on_the_contact_circle():
    here = check(seat=SharpSeat(0.018))
    thin = Newtonian(1e-9)
    stream = BallStream(here, thin)
    for lift, share in [(1e-4, 0.02), (1e-5, 2e-3)]:
        found = flow_at_lift(1e-5, lift, here, thin)
        throttled = found.gap_force / stream.area / found.loss
        assert throttled == pytest.approx(1.0, abs=share)
        assert found.drag < share * found.gap_force


def test_far_from_the_seat_the_force_is_free_drag():
    """The jet that meets the ball has the bore's speed; the gap has stopped throttling it."""
    here = check(lift=0.5, seat=SharpSeat(0.018))
    found = flow_at_lift(2e-4, 0.3, here, WATER)
    speed = 2e-4 / (math.pi / 4 * 0.018**2)
    assert found.force == pytest.approx(drag_force(0.025, 998.0, WATER, speed), rel=1e-3)


@pytest.mark.parametrize("angle", [60.0, 90.0, 120.0])
def test_friction_in_a_cone_is_that_of_lubrication(angle):
    """Reynolds' equation over the true gap of sphere and cone, the radius changing along it."""
    half, radius, lift, viscosity = math.radians(angle / 2), 0.0125, 2e-5, 50.0
    touch = radius * math.cos(half)
    seat = ConeSeat(2 * touch - 0.006, 2 * touch + 0.006, 2 * half)
    here = check(seat=seat, fluid_density=1e-3)
    gap = lift * math.sin(half)
    reach = 0.003 / math.sin(half)

    def resistance(along):
        height = radius + gap - math.sqrt(radius**2 - along**2)
        round_it = 2 * math.pi * (touch + along * math.sin(half))
        return 12 * viscosity / (round_it * height**3)

    wanted = quad(resistance, -reach, reach, points=[0.0], limit=400)[0] * 1e-9
    found = pressure_loss_at_lift(1e-9, lift, here, Newtonian(viscosity))
    assert found == pytest.approx(wanted, rel=0.03)


def test_friction_of_a_power_law_scales_with_its_index():
    fluid = PowerLaw(5.0, 0.4)
    low, high = (
        pressure_loss_at_lift(flow, 1e-4, check(fluid_density=1e-6), fluid) for flow in (1e-5, 1e-4)
    )
    assert high / low == pytest.approx(10**0.4, rel=1e-3)


@given(flow=st.floats(1e-7, 1e-3), lift=st.floats(1e-5, 0.006))
def test_backward_is_forward_with_the_sign_turned(flow, lift):
    stream = BallStream(check(guide=0.033), Bingham(5.0, 0.02))
    forward, back = stream.at(flow, lift, 0.0), stream.at(-flow, lift, 0.0)
    assert back == pytest.approx([-value for value in forward])


@given(flow=st.floats(1e-7, 1e-3), lift=st.floats(1e-5, 0.005), more=st.floats(1.01, 2.0))
def test_more_flow_loses_and_pushes_more(flow, lift, more):
    here = check(guide=0.033)
    one, other = flow_at_lift(flow, lift, here, WATER), flow_at_lift(flow * more, lift, here, WATER)
    assert other.loss > one.loss
    assert other.gap_force >= one.gap_force
    assert pressure_loss_at_lift(flow, lift * 1.1, here, WATER) < one.loss


@given(flow=st.floats(1e-6, 2e-3))
def test_at_its_steady_lift_the_ball_is_in_balance(flow):
    here = check(spring_force=1.0, spring_rate=300.0)
    lift = steady_lift(flow, here, WATER)
    found = flow_at_lift(flow, lift, here, WATER).force
    back = here.seating_force + 300.0 * lift
    if lift == here.lift:
        assert found >= back
    else:
        assert found == pytest.approx(back, rel=1e-6)


def test_no_flow_no_lift():
    assert steady_lift(0.0, check(), WATER) == 0.0


def test_what_does_not_come_home_is_refused():
    with pytest.raises(ValueError, match="floats"):
        BallStream(check(mass=0.010, fluid_density=1750.0), WATER)
    with pytest.raises(ValueError, match="brings the ball home"):
        BallStream(check(tilt=math.pi / 2), WATER)
    with pytest.raises(ValueError, match="brings the ball home"):
        BallStream(check(tilt=math.pi), WATER)
    assert BallStream(check(mass=0.010, fluid_density=1750.0, spring_force=1.0), WATER)
    with pytest.raises(ValueError, match="discharge"):
        BallStream(check(), WATER, discharge=1.4)
    with pytest.raises(ValueError, match="no room"):
        BallStream(check(lift=2e-6), WATER)
    with pytest.raises(ValueError, match="lift"):
        pressure_loss_at_lift(1e-4, 0.007, check(), WATER)
