import math
from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.interpolate import CubicHermiteSpline
from scipy.optimize import brentq

from rebuildbook.calculators import ball_flight
from rebuildbook.calculators.ball_check import BallCheck, submerged_weight
from rebuildbook.calculators.ball_drag import terminal_velocity
from rebuildbook.calculators.ball_flight import Flight, Following
from rebuildbook.calculators.ball_force import SHUT, BallStream, steady_lift
from rebuildbook.calculators.ball_lift import lift_area
from rebuildbook.calculators.ball_motion import ball_motion, highest_rate
from rebuildbook.calculators.ball_seat import ConeSeat, LappedSeat, SharpSeat, seat_contact
from rebuildbook.calculators.flow_curve import Bingham, HerschelBulkley, Newtonian, PowerLaw
from rebuildbook.calculators.materials import material
from rebuildbook.calculators.stroke_flow import AirDrive, CrankDrive

WATER = Newtonian(0.001)
SLIP = HerschelBulkley(10.0, 2.0, 0.5)
STEEL = material("316")
HOW = Following(0.3, 0.005, 0.0, 1e-9, 0.02)
CRANK = CrankDrive(1.0, 60e-6)


def check(**more):
    given = {
        "ball": 0.025, "ball_material": STEEL, "seat": ConeSeat(0.016, 0.022, math.pi / 2),
        "seat_material": STEEL, "lift": 0.006, "closing_pressure": 1e6, "fluid_density": 998.0,
    }  # fmt: skip
    return BallCheck(**(given | more))


def named(*rows):
    return pytest.mark.parametrize(
        ("here", "fluid", "drive"), [row[1:] for row in rows], ids=[row[0] for row in rows]
    )


every_duty = named(
    ("water", check(), WATER, CRANK),
    ("guide", check(guide=0.033), WATER, CRANK),
    ("spring", check(spring_force=3.0, spring_rate=500.0), WATER, CRANK),
    ("very stiff spring", check(spring_force=3.0, spring_rate=1e6), WATER, CRANK),
    ("hits the stop", check(), WATER, CrankDrive(4.0, 60e-6)),
    ("very fast", check(), WATER, CrankDrive(20.0, 60e-6)),
    ("oil", check(), Newtonian(5.0), CrankDrive(0.5, 60e-6)),
    ("pitch", check(), Newtonian(100.0), CrankDrive(0.2, 60e-6)),
    ("slip", check(fluid_density=1700.0), SLIP, CrankDrive(0.5, 60e-6)),
    ("glaze", check(fluid_density=1450.0), PowerLaw(0.8, 0.6), CRANK),
    ("air", check(), WATER, AirDrive(1.0, 60e-6)),
    ("air, slip", check(fluid_density=1700.0), SLIP, AirDrive(0.5, 60e-6)),
    ("big ball", check(ball=0.1, seat=SharpSeat(0.08), lift=0.03), WATER, CrankDrive(0.5, 4e-3)),
    ("tiny", check(ball=0.003, seat=SharpSeat(0.002), lift=0.001), WATER, CrankDrive(2, 2e-7)),
    ("land", check(seat=LappedSeat(0.016, 0.019, 0.0125)), WATER, CRANK),
    ("upside down", check(tilt=math.pi, spring_force=2.0, spring_rate=200.0), WATER, CRANK),
)


@every_duty
def test_the_energy_of_the_ball_adds_up(here, fluid, drive):
    motion = ball_motion(here, fluid, drive)
    assert motion.closes
    assert abs(motion.energy.imbalance) < 1e-6 * motion.energy.peak


@every_duty
def test_the_results_do_not_hang_on_the_step(here, fluid, drive):
    one = ball_motion(here, fluid, drive)
    halved = ball_motion(here, fluid, drive, tolerance=0.5e-9, longest_step=0.01)
    tenth = ball_motion(here, fluid, drive, tolerance=1e-10, longest_step=0.002)
    near = {  # what counts as near zero
        "opening_delay": drive.cycle, "closing_lag": drive.cycle, "back_flow": drive.displacement,
        "impact_speed": 1.0, "greatest_lift": here.lift,
    }  # fmt: skip
    for name, scale in near.items():
        wanted = pytest.approx(getattr(one, name), rel=1e-6, abs=1e-9 * scale)
        assert getattr(halved, name) == wanted
        assert getattr(tenth, name) == wanted


BALL = math.pi / 6 * 0.025**3
MOUNTED = {
    "steel": check(fluid_density=1700.0),
    "tungsten": check(fluid_density=1700.0, mass=15e3 * BALL, guide=0.033),
    "plastic": check(fluid_density=1700.0, mass=1850 * BALL),
    "plastic, sprung": check(
        fluid_density=1700.0, mass=1400 * BALL, spring_force=2.0, spring_rate=200.0
    ),
    "stiff spring": check(fluid_density=1700.0, spring_force=3.0, spring_rate=1e6),
}


@pytest.mark.parametrize("mounted", MOUNTED)
@pytest.mark.parametrize(
    "fluid",
    [
        HerschelBulkley(1.0, 0.5, 0.9), HerschelBulkley(10.0, 2.0, 0.3),
        HerschelBulkley(10.0, 5.0, 0.5), HerschelBulkley(30.0, 0.5, 0.9),
        HerschelBulkley(30.0, 5.0, 0.3), Newtonian(5.0),
    ],
)  # fmt: skip
@pytest.mark.parametrize(
    "drive",
    [CrankDrive(0.2, 60e-6), CrankDrive(10.0, 60e-6), AirDrive(1.0, 60e-6, 0.0, 0.002)],
    ids=["slow", "fast", "air without rest"],
)
def test_thick_slips_are_followed_at_any_rate(mounted, fluid, drive):
    """Where a fluid with a yield stress carries the ball, its force is stiff beyond 10¹²/s."""
    motion = ball_motion(MOUNTED[mounted], fluid, drive)
    assert motion.time[-1] == pytest.approx(drive.cycle)
    assert abs(motion.energy.imbalance) < 1e-6 * motion.energy.peak


def test_another_integrator_takes_over_and_finds_the_same(monkeypatch):
    here, fluid = check(fluid_density=1700.0), SLIP
    usual = ball_motion(here, fluid, CRANK)
    for ways in ((("LSODA", 1.0, 10), ("BDF", 1.0, 20_000)), (("Radau", 0.1, 200_000),)):
        monkeypatch.setattr(ball_flight, "_WAYS", ways)
        other = ball_motion(here, fluid, CRANK)
        for name in ("closing_time", "back_flow", "impact_speed", "greatest_lift"):
            assert getattr(other, name) == pytest.approx(getattr(usual, name), rel=1e-6)


def test_a_motion_that_nothing_follows_is_refused(monkeypatch):
    monkeypatch.setattr(ball_flight, "_WAYS", (("LSODA", 1.0, 10), ("BDF", 1.0, 10)))
    with pytest.raises(ValueError, match="could not be followed past"):
        ball_motion(check(), WATER, CRANK)


@every_duty
def test_ball_and_flow_stay_where_they_can_be(here, fluid, drive):
    motion = ball_motion(here, fluid, drive)
    assert np.all(np.diff(motion.time) >= 0.0)
    assert motion.time[0] == 0.0
    assert motion.time[-1] == pytest.approx(drive.cycle)
    assert motion.lift.min() == 0.0
    assert motion.lift.max() <= here.lift
    assert motion.hits_stop == (motion.greatest_lift == here.lift)
    assert motion.greatest_lift == pytest.approx(motion.lift.max(), rel=1e-2)
    assert motion.opening_delay >= 0.0
    shut = motion.time > motion.closing_time
    assert not motion.gap_flow[shut].any()
    assert not motion.lift[shut].any()
    assert 0.0 <= motion.back_flow_share <= 1.0


@dataclass(frozen=True)
class Still:
    """A piston that stands: for falls through fluid at rest."""

    cycle: float = 10.0
    displacement: float = 1e-3
    rate: float = 0.1
    forward_end: float = 0.0
    reversal: float = 0.0
    breaks: tuple = ()

    def flow(self, _time):
        return 0.0

    def swept(self, _time):
        return 0.0


def dropped(stream, height, cycle=10.0):
    run = Flight(stream, Still(cycle), replace(HOW, rest_speed=10.0))
    run.place, run.state = "free", np.array([height, 0.0, 0.0, 0.0])
    run.follow()
    return run


def test_without_fluid_to_speak_of_the_ball_falls_free():
    height = 0.1
    here = check(fluid_density=1e-9, lift=0.2)
    run = dropped(BallStream(here, Newtonian(1e-15)), height)
    gravity = 9.80665
    assert run.pieces[0].times[-1] == pytest.approx(math.sqrt(2 * (height - SHUT) / gravity))
    assert run.blow == pytest.approx(math.sqrt(2 * gravity * (height - SHUT)), rel=1e-4)


def test_added_mass_slows_the_fall_as_half_the_displaced_fluid_does():
    """Far from its seat in thin fluid, before drag counts: a = W/(m + ρ π D³/12)."""
    here = check(mass=0.0655, seat=SharpSeat(0.018), lift=3.0)
    piece = dropped(BallStream(here, Newtonian(1e-9)), 2.5).pieces[0]
    volume = math.pi / 6 * 0.025**3
    wanted = submerged_weight.si(0.0655, 0.025, 998.0) / (0.0655 + 998.0 * volume / 2)
    early = piece.times < 0.004
    slope = np.polyfit(piece.times[early], piece.states[early, 1], 1)[0]
    assert slope == pytest.approx(-wanted, rel=1e-3)


@pytest.mark.parametrize("fluid", [WATER, Newtonian(2.0), PowerLaw(3.0, 0.6), Bingham(4.0, 1.0)])
def test_far_from_its_seat_the_ball_sinks_at_terminal_velocity(fluid):
    here = check(mass=0.0655, seat=SharpSeat(0.018), lift=3.0)
    run = dropped(BallStream(here, fluid), 2.9)
    piece = run.pieces[0]
    speed = -np.interp(1.5, piece.states[::-1, 0], piece.states[::-1, 1])
    assert speed == pytest.approx(terminal_velocity(0.025, 0.0655, 998.0, fluid), rel=0.01)


def test_in_very_thick_oil_the_ball_closes_without_inertia():
    """The time of the fall is ∫ dx/v, v the speed at which force and weight are in balance."""
    stream = BallStream(check(), Newtonian(20.0))
    top, low = 0.004, 2e-4

    def speed(lift):
        def surplus(down):
            _, gap, drag = stream.at(0.0, lift, -down)
            return gap + drag - stream.back_force(lift)

        return brentq(surplus, 1e-12, 10.0, xtol=1e-16)

    wanted = quad(lambda lift: 1.0 / speed(lift), low, top, limit=200)[0]
    piece = dropped(stream, top, 200.0).pieces[0]
    found = np.interp(-low, -piece.states[:, 0], piece.times)
    assert found == pytest.approx(wanted, rel=2e-3)


def test_squeeze_film_of_a_land_in_closed_form():
    """Lubrication over a land of length l: 6 μ As² (l/x² + 2 C/x) / (π dc c³) = W t + const.

    c = h/x turns lift into gap, C = 8 c/3π is the thin wall's share of the working length.
    """
    seat, viscosity = LappedSeat(0.016, 0.019, 0.0125), 0.2
    here = check(seat=seat)
    contact = seat_contact(0.025, seat)
    area = math.pi / 4 * contact.circle**2
    top = 4e-5
    tilt = lift_area(0.025, seat, 1e-5) / 1e-5 / (math.pi * contact.circle)
    wall = 8.0 * tilt / (3.0 * math.pi)

    def film(lift):
        slender = contact.face / lift**2 + 2.0 * wall / lift
        return 6.0 * viscosity * area**2 * slender / (math.pi * contact.circle * tilt**3)

    piece = dropped(BallStream(here, Newtonian(viscosity)), top, 4000.0).pieces[0]
    passed = (piece.states[:, 0] < 2e-5) & (piece.states[:, 0] > 4e-6)
    assert passed.sum() > 10
    wanted = (film(piece.states[passed, 0]) - film(top)) / here.seating_force
    assert piece.times[passed] == pytest.approx(wanted, rel=2e-3)


def test_greatest_lift_on_a_very_stiff_spring_in_closed_form():
    """As Δp = k x with Δp = ρ/2 (Q/(Cd s x))², s the throat's slope: x³ = ρ Q² As/(2 Cd² s² k)."""
    seat, rate = SharpSeat(0.018), 1e7
    here = check(seat=seat, spring_rate=rate)
    motion = ball_motion(here, Newtonian(1e-6), CrankDrive(1.0, 60e-6, 0.0))
    most = math.pi * 60e-6
    slope = lift_area(0.025, seat, 5e-5) / 5e-5
    area = math.pi / 4 * 0.018**2
    wanted = (998.0 * most**2 * area / (2 * 0.7**2 * slope**2 * rate)) ** (1 / 3)
    assert motion.greatest_lift == pytest.approx(wanted, rel=0.01)


def test_on_a_very_stiff_spring_the_ball_follows_the_flow():
    here = check(spring_force=3.0, spring_rate=1e6)
    motion = ball_motion(here, WATER, CRANK)
    middle = (motion.time > 0.1) & (motion.time < 0.4)
    moments = np.flatnonzero(middle)[::20]
    lifts = [steady_lift(motion.piston_flow[moment], here, WATER) for moment in moments]
    assert motion.lift[moments] == pytest.approx(lifts, rel=2e-3)
    push = motion.pressure_loss[moments] * BallStream(here, WATER).area
    assert push == pytest.approx(here.seating_force + 1e6 * motion.lift[moments], rel=0.05)


def test_a_ball_that_cannot_keep_up_comes_home_late_and_hard():
    slow, fast = (ball_motion(check(), WATER, CrankDrive(rate, 60e-6)) for rate in (1.0, 4.0))
    assert fast.closing_lag_angle > 2 * slow.closing_lag_angle
    assert fast.impact_speed > slow.impact_speed
    assert fast.hits_stop
    assert not slow.hits_stop


def test_the_back_flow_is_what_the_piston_sweeps_until_the_ball_is_home():
    motion = ball_motion(check(), WATER, CRANK)
    late = (motion.time >= motion.reversal) & (motion.time <= motion.closing_time)
    swept = -np.trapezoid(motion.piston_flow[late], motion.time[late])
    assert motion.back_flow == pytest.approx(swept, rel=0.02)
    assert motion.back_flow_share == motion.back_flow / CRANK.displacement
    lag = 2 * math.pi * CRANK.rate * motion.closing_lag
    assert motion.closing_lag_angle == pytest.approx(lag)


def test_what_is_held_back_delays_the_opening():
    motion = ball_motion(check(), WATER, CRANK, held_back=6e-6)
    assert CRANK.swept(motion.opening_delay) == pytest.approx(6e-6)
    assert motion.opening_delay_angle == pytest.approx(2 * math.pi * motion.opening_delay)
    whole = ball_motion(check(), WATER, CRANK, held_back=60e-6)
    assert math.isinf(whole.opening_delay)
    assert whole.back_flow == 0.0
    assert whole.greatest_lift == 0.0


def test_a_spring_shortens_the_lag_and_a_dwell_lets_the_ball_settle():
    bare = ball_motion(check(), WATER, CRANK)
    sprung = ball_motion(check(spring_force=3.0, spring_rate=500.0), WATER, CRANK)
    assert sprung.closing_lag < bare.closing_lag
    brief, long = (ball_motion(check(), WATER, AirDrive(2.0, 60e-6, share)) for share in (0.0, 0.3))
    assert long.back_flow < 0.2 * brief.back_flow


@settings(max_examples=12)
@given(
    rate=st.floats(0.2, 1.0),
    more=st.floats(1.1, 1.5),
    fluid=st.sampled_from([WATER, Newtonian(0.2), PowerLaw(0.5, 0.6)]),
)
def test_the_lag_grows_with_the_rate(rate, more, fluid):
    """While the ball swings clear of its stop; a ball that comes off it may be early for once."""
    slow, fast = (
        ball_motion(check(lift=0.02), fluid, CrankDrive(turned, 60e-6))
        for turned in (rate, rate * more)
    )
    assert fast.closing_lag_angle > slow.closing_lag_angle
    assert fast.back_flow_share > slow.back_flow_share >= 0.0


@settings(max_examples=12)
@given(
    mass=st.floats(0.02, 0.08),
    more=st.floats(1.1, 3.0),
    rate=st.floats(0.3, 2.0),
    fluid=st.sampled_from([WATER, Newtonian(0.5), Bingham(3.0, 0.05)]),
)
def test_a_heavier_ball_closes_sooner(mass, more, rate, fluid):
    light, heavy = (
        ball_motion(check(mass=one), fluid, CrankDrive(rate, 60e-6)) for one in (mass, mass * more)
    )
    assert heavy.closing_time < light.closing_time


def test_at_the_highest_rate_the_limit_is_just_met():
    rate = highest_rate(check(), WATER, CRANK, back_flow_share=0.02)
    motion = ball_motion(check(), WATER, replace(CRANK, rate=rate))
    assert motion.back_flow_share == pytest.approx(0.02, rel=1e-2)
    limit = math.radians(5.0)
    rate = highest_rate(check(), WATER, CRANK, back_flow_share=1.0, closing_lag_angle=limit)
    motion = ball_motion(check(), WATER, replace(CRANK, rate=rate))
    assert motion.closing_lag_angle == pytest.approx(limit, rel=1e-2)


def test_a_sprung_ball_may_run_faster():
    sprung = check(spring_force=3.0, spring_rate=500.0)
    assert highest_rate(sprung, WATER, CRANK) > highest_rate(check(), WATER, CRANK)


def test_a_limit_that_is_never_met_or_never_passed():
    with pytest.raises(ValueError, match="too late"):
        highest_rate(check(), Newtonian(50.0), CRANK, back_flow_share=1e-4, lowest=0.5)
    top = highest_rate(check(), WATER, CRANK, back_flow_share=0.5, highest=1.5)
    assert top == pytest.approx(1.5)


def test_a_light_ball_in_dense_slip_is_refused_by_name():
    with pytest.raises(ValueError, match="the ball floats"):
        ball_motion(check(mass=0.012, fluid_density=1750.0), SLIP, CRANK)


def test_settings_that_make_no_sense_are_refused():
    for wrong in (
        {"restitution": 1.0},
        {"rest_speed": 0.0},
        {"held_back": 1.0},
        {"tolerance": 0.1},
        {"longest_step": 0.0},
        {"added_mass": -0.1},
        {"discharge": 0.0},
    ):
        with pytest.raises(ValueError, match="must"):
            ball_motion(check(), WATER, CRANK, **wrong)


@given(
    width=st.floats(1e-6, 1.0),
    lifts=st.tuples(st.floats(0.0, 0.01), st.floats(0.0, 0.01)),
    speeds=st.tuples(st.floats(1e-9, 1.0), st.floats(-1.0, -1e-9)),
)
def test_between_two_steps_the_top_is_that_of_the_cubic(width, lifts, speeds):
    cubic = CubicHermiteSpline([0.0, width], lifts, speeds)
    fine = cubic(np.linspace(0.0, width, 2001)).max()
    found = ball_flight._crest(width, *lifts, *speeds)
    assert found >= fine - 1e-15
    turns = cubic.derivative().roots(extrapolate=False)
    assert found == pytest.approx(max(cubic(turns).max(), fine), rel=1e-9, abs=1e-15)
