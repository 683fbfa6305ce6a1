"""Driven pumps: force balance, continuity, stall, air use, and what they refuse."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildbook.calculators.air_drive import (
    AirSupply,
    DrivenPump,
    OilSupply,
    free_air_use,
    rates,
    run,
    stall,
)
from rebuildbook.calculators.air_flow import GAS_CONSTANT, Nozzle, SonicValve
from rebuildbook.calculators.drive import (
    ATMOSPHERE,
    ROOM,
    StrokeAreas,
    double_acting_areas,
    stall_by_areas,
    stall_by_ratio,
)
from rebuildbook.calculators.pump_flow import (
    differential,
    double_acting,
    double_diaphragm_by_area,
    pulsation,
    single_acting,
)

STROKE = 0.1
AIR = AirSupply(6e5, SonicValve(2e-8))
SLIP = DrivenPump(double_acting_areas(0.15, 0.02), double_acting(0.06, 0.02, STROKE), STROKE)
TWO_BALL = DrivenPump(double_acting_areas(0.15, 0.02), differential(0.06, 0.04, STROKE), STROKE)
DIAPHRAGM = DrivenPump(StrokeAreas(0.02, 0.02), double_diaphragm_by_area(0.02, 0.04), 0.04)
PUMPS = {"double-acting": SLIP, "two-ball": TWO_BALL, "diaphragm": DIAPHRAGM}
each = pytest.mark.parametrize("pump", PUMPS.values(), ids=PUMPS)
pumps = st.sampled_from(list(PUMPS.values()))
frictions = st.floats(0.0, 0.5)


@each
def test_stall_without_friction_is_that_of_the_drive(pump):
    known = stall_by_areas(6e5, pump.drive, pump.fluid.areas("delivered", pump.stroke))
    found = stall(pump, AIR)
    assert (found.up, found.down) == pytest.approx((known.up, known.down))
    assert found.stroke == known.stroke


def test_a_diaphragm_pump_stalls_at_its_air_pressure():
    found = stall(dataclasses.replace(DIAPHRAGM, friction=0.1), AIR)
    assert found.pressure == pytest.approx(stall_by_ratio(6e5, 1.0, 0.1).pressure)


@given(pumps, frictions, st.floats(0.0, 300.0), st.floats(0.0, 5e4), st.floats(0.0, 1e5))
def test_the_pump_runs_below_the_lower_stall_and_not_above(pump, friction, seal, back, inlet):
    tried = dataclasses.replace(pump, friction=friction, seal_friction=seal, exhaust_pressure=back)
    found = stall(tried, AIR, inlet)
    lower = min(found.up, found.down)
    assert run(tried, AIR, 0.999 * lower, inlet).rate > 0.0
    held = run(tried, AIR, 1.001 * lower, inlet)
    assert held.stalled
    assert (held.rate, held.flow, held.supply_flow) == (0.0, 0.0, 0.0)


@given(pumps, st.floats(0.0, 1.2), st.floats(0.0, 1.2))
def test_more_back_pressure_never_runs_faster(pump, one, other):
    low, high = sorted((one, other))
    top = stall(pump, AIR).pressure
    fast, slow = rates(pump, AIR, [low * top, high * top])
    assert fast >= slow >= 0.0


@given(pumps, st.floats(2e5, 6e5), st.floats(1.0, 2.0))
def test_more_supply_never_runs_slower(pump, pressure, more):
    low, high = (AirSupply(p, Nozzle(5e-5)) for p in (pressure, more * pressure))
    outlet = 0.5 * stall(pump, low).pressure
    assert run(pump, high, outlet).rate >= run(pump, low, outlet).rate


@given(pumps, frictions, st.floats(0.05, 0.95), st.booleans())
@settings(max_examples=50)
def test_forces_balance_and_the_air_is_conserved(pump, friction, load, held_back):
    tried = dataclasses.replace(pump, friction=friction, seal_friction=50.0)
    supply = AirSupply(6e5, SonicValve(2e-8), Nozzle(6e-5) if held_back else None)
    top = stall(tried, supply)
    outlet = load * min(top.up, top.down)
    found = run(tried, supply, outlet)
    forces = tried.fluid_forces(outlet)
    for stroke, force, push, vent in (
        (found.up, forces[0], pump.drive.up, pump.drive.down),
        (found.down, forces[1], pump.drive.down, pump.drive.up),
    ):
        motor = (1.0 - friction) * (stroke.pressure * push - stroke.exhaust * vent)
        assert motor == pytest.approx(force + 50.0, rel=1e-6)
        inside = stroke.pressure + ATMOSPHERE
        swept = inside * push * stroke.speed / (GAS_CONSTANT * ROOM)  # kg/s that fill the chamber
        passed = supply.inlet.mass_flow(6e5 + ATMOSPHERE, inside, ROOM)
        assert swept == pytest.approx(passed, rel=1e-6)
        if held_back:
            behind = stroke.exhaust + ATMOSPHERE
            left = behind * vent * stroke.speed / (GAS_CONSTANT * ROOM)
            assert left == pytest.approx(
                supply.exhaust.mass_flow(behind, ATMOSPHERE, ROOM), rel=1e-4
            )


def test_an_unloaded_stroke_is_set_by_the_choked_inlet():
    # C ρ0 p1 kg/s at 20 °C fill a chamber at the atmosphere's pressure
    volume = 2e-8 * 1.185 * (6e5 + ATMOSPHERE) * GAS_CONSTANT * ROOM / ATMOSPHERE
    assert run(DIAPHRAGM, AIR, 0.0).up.speed == pytest.approx(volume / 0.02)


def test_a_narrow_exhaust_slows_the_pump_and_a_wide_one_does_not():
    free = run(SLIP, AIR, 10e5).rate
    narrow = run(SLIP, dataclasses.replace(AIR, exhaust=Nozzle(2e-5)), 10e5).rate
    wide = run(SLIP, dataclasses.replace(AIR, exhaust=Nozzle(1e-2)), 10e5).rate
    assert narrow < 0.8 * free
    assert wide == pytest.approx(free, rel=1e-3)


def test_a_boosted_inlet_lifts_the_stall_by_its_own_areas():
    base, boosted = stall(SLIP, AIR), stall(SLIP, AIR, 1e5)
    areas = SLIP.fluid.areas("drawn", STROKE)
    lifted = SLIP.fluid.areas("delivered", STROKE)
    assert boosted.up - base.up == pytest.approx(1e5 * areas.up / lifted.up)
    assert boosted.down - base.down == pytest.approx(1e5 * areas.down / lifted.down)


def test_a_two_ball_pump_gets_no_help_from_its_inlet_on_the_down_stroke():
    assert stall(TWO_BALL, AIR, 1e5).down == pytest.approx(stall(TWO_BALL, AIR).down)
    assert TWO_BALL.fluid_forces(10e5, 1e5)[1] == pytest.approx(10e5 * math.pi / 4 * 0.04**2)


def test_an_inlet_that_drives_the_motor_does_not_outrun_its_air():
    found = run(TWO_BALL, AIR, 0.0, 5e5)
    assert found.up.pressure == 0.0
    assert found.up.speed == pytest.approx(run(TWO_BALL, AIR, 0.0).up.speed)


def test_rod_loads_pull_up_and_push_down():
    tried = dataclasses.replace(SLIP, seal_friction=100.0)
    up, down = tried.rod_loads(20e5)
    assert up == pytest.approx(20e5 * math.pi / 4 * (0.06**2 - 0.02**2) + 100.0)
    assert down == pytest.approx(-(20e5 * math.pi / 4 * 0.06**2 + 100.0))


def test_a_suction_lift_pulls_the_rod_of_a_single_acting_pump_on_its_drawing_stroke():
    pump = DrivenPump(StrokeAreas(0.01, 0.01), single_acting(0.06, STROKE), STROKE)
    up, down = pump.rod_loads(10e5, -0.3e5)
    assert up == pytest.approx(0.3e5 * math.pi / 4 * 0.06**2)  # in tension
    assert down == pytest.approx(-10e5 * math.pi / 4 * 0.06**2)


def test_air_of_a_cycle_nears_the_ideal_use_toward_stall():
    tried = dataclasses.replace(DIAPHRAGM, clearance_share=0.15)
    ideal = free_air_use.si(2 * 0.02 * 0.04, 6e5, 0.15)
    near, half = (run(tried, AIR, share * 6e5).supply_use for share in (0.9999, 0.5))
    assert near == pytest.approx(ideal, rel=1e-3)
    assert half < 0.65 * ideal


def test_dead_volume_costs_air_and_time():
    tried = dataclasses.replace(SLIP, clearance_share=0.2)
    base, dead = run(SLIP, AIR, 10e5), run(tried, AIR, 10e5)
    assert dead.up.speed == base.up.speed
    assert dead.rate < base.rate
    assert dead.supply_use > base.supply_use
    # the valve admits the same air a second, whether it fills swept or dead volume
    assert dead.up.supply_use / (dead.up.moving + dead.up.rest) == pytest.approx(
        base.up.supply_use / base.up.moving
    )


def test_changeover_lengthens_the_cycle_and_shows_as_dwell():
    tried = dataclasses.replace(SLIP, changeover=0.05)
    found, base = run(tried, AIR, 10e5), run(SLIP, AIR, 10e5)
    assert 1 / found.rate - 1 / base.rate == pytest.approx(0.1)
    motion = found.motion()
    assert motion.dwell == pytest.approx(0.1 * found.rate)
    assert motion.up_share == pytest.approx(found.up.speed**-1 / (
        found.up.speed**-1 + found.down.speed**-1))  # fmt: skip
    assert pulsation(tried.fluid, motion).trough == 0.0


def test_oil_runs_at_the_flow_of_its_pump_until_the_pressure_is_reached():
    oil = OilSupply(100e5, 20e-3 / 60)
    found = run(SLIP, oil, 50e5)
    assert found.up.speed == pytest.approx(20e-3 / 60 / SLIP.drive.up)
    swept = STROKE * (SLIP.drive.up + SLIP.drive.down)
    assert found.rate == pytest.approx(20e-3 / 60 / swept)
    assert found.supply_flow == pytest.approx(20e-3 / 60)
    top = stall(SLIP, oil)
    assert run(SLIP, oil, 1.01 * min(top.up, top.down)).stalled


def test_an_orifice_slows_oil_by_the_root_of_the_drop():
    oil = OilSupply(100e5, 1.0, orifice=5e-6)
    fast, slow = (run(DIAPHRAGM, oil, p).up.speed for p in (0.0, 75e5))
    assert slow / fast == pytest.approx(0.5)
    assert fast == pytest.approx(0.6 * 5e-6 * math.sqrt(2 * 100e5 / 870) / 0.02)


@given(st.floats(1e-5, 1e-1), st.floats(0.0, 1e6), st.floats(0.0, 1.0))
def test_dead_volume_takes_what_it_lacks_and_no_more(volume, pressure, share):
    # mass balance: filled to p + p0 throughout, less what stayed in the dead volume at p0
    full = volume * (1 + share) * (pressure + ATMOSPHERE)
    left = volume * share * ATMOSPHERE
    assert free_air_use.si(volume, pressure, share) == pytest.approx(
        (full - left) / ATMOSPHERE, rel=1e-9
    )


@given(pumps, st.floats(0.0, 1.0))
def test_work_on_the_fluid_never_exceeds_the_work_of_the_supply(pump, load):
    top = stall(pump, AIR)
    outlet = load * min(top.up, top.down)
    spent = 6e5 * pump.stroke * (pump.drive.up + pump.drive.down)
    assert outlet * pump.fluid.displacement <= spent * (1.0 + 1e-9)


def test_rates_are_an_array():
    found = rates(SLIP, AIR, np.linspace(0.0, 60e5, 5))
    assert found.shape == (5,)
    assert found[-1] == 0.0


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: dataclasses.replace(SLIP, friction=1.0), "friction is 1"),
        (lambda: dataclasses.replace(SLIP, stroke=0.0), "stroke is 0"),
        (lambda: dataclasses.replace(SLIP, seal_friction=-1.0), "seal friction is -1"),
        (lambda: dataclasses.replace(SLIP, clearance_share=-0.1), "clearance share is -0.1"),
        (lambda: dataclasses.replace(SLIP, drive=StrokeAreas(0.0, 0.01)), "push on both strokes"),
        (lambda: AirSupply(-1.0, Nozzle(1e-4)), "supply pressure is -1"),
        (lambda: OilSupply(1e7, 0.0), "oil flow is 0"),
        (lambda: run(SLIP, AIR, -1.0), "outlet pressure is -1"),
        (lambda: run(SLIP, AIR, 1e9).motion(), "stalled"),
        (lambda: free_air_use.si(1e-3, 6e5, -0.1), "clearance share is -0.1"),
        (lambda: free_air_use.si(1e-3, -6e5), "supply pressure is -600000"),
    ],
)
def test_impossible_input_is_refused_in_words(call, message):
    with pytest.raises(ValueError, match=message):
        call()
