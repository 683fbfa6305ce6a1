"""The pump on the bench: limits, balances, closed forms against equations solved numerically."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, fsolve

from rebuildbook.calculators.drive import double_acting_areas, stall_by_areas
from rebuildbook.calculators.pump_model import (
    caught,
    delivered,
    drain,
    duty,
    hold_loss,
    lost_running,
    orifice_loss,
    stall,
    stall_air,
    state,
    time_constant,
    vacuum_loss,
)
from rebuildbook.calculators.pump_units import (
    differential,
    double_acting,
    double_diaphragm,
    single_acting,
)
from rebuildbook.calculators.stall_reading import read_stall

FLUID, AIR = double_acting_areas(0.08, 0.03), double_acting_areas(0.16, 0.03)
COMMON = {"stroke": 0.12, "rate": 0.7, "supply": 4e5}
FOUR = double_acting(FLUID, AIR, **COMMON)
TWO = single_acting(2.8e-3, AIR, **COMMON)
FOOT = differential(2.8e-3, 1.2e-3, AIR, **COMMON)
PAIR = double_diaphragm(0.02, **COMMON)
ALL = [FOUR, TWO, FOOT, PAIR]
UP, DOWN = FOUR.moves


def with_faults(pump, **shares):
    severities = np.zeros(len(pump.faults))
    for name, share in shares.items():
        severities[pump.fault(name.replace("_", " "))] = share
    return state(pump, severities)


def conductance(now, name):
    return float(now.total(lambda one: one.name == name))


def test_without_a_leak_the_stall_is_exact_and_nothing_creeps():
    expected = stall_by_areas(4e5, AIR, FLUID, friction=0.08)
    now = with_faults(FOUR)
    assert float(stall(now, UP).pressure) == pytest.approx(expected.up, rel=1e-12)
    assert float(stall(now, DOWN).pressure) == pytest.approx(expected.down, rel=1e-12)
    assert float(stall(now, UP).creep) == 0.0 == float(stall(now, DOWN).creep)
    assert float(stall_air(now, UP)) == 0.0


@pytest.mark.parametrize("pump", ALL)
def test_a_healthy_pump_loses_nothing(pump):
    now = with_faults(pump)
    assert float(delivered(now)) == pytest.approx(0.95 * pump.displacement * 0.7)
    assert all(float(hold_loss(now, move)) == 0.0 for move in (*pump.moves, None))
    assert all(float(vacuum_loss(now, move.pressed)) == 0.0 for move in pump.moves)


@pytest.mark.parametrize("pump", ALL)
def test_a_severity_is_the_share_of_the_displacement_lost(pump):
    """From the orifice law: the leak at the bench's pressure, over the time it is loaded."""
    for passage in pump.passages:
        now = with_faults(pump, **{passage.name: 0.1})
        leak = conductance(now, passage.name) * math.sqrt(pump.bench.pressure)
        assert leak * duty(pump, passage) == pytest.approx(0.1 * pump.displacement * 0.7)
        assert float(lost_running(now)) == pytest.approx(0.1 * pump.displacement * 0.7)


@given(st.floats(0.01, 0.5), st.floats(1.05, 2.0))
def test_a_larger_leak_creeps_faster_and_holds_less(small, factor):
    for name, move in (("upper inlet", UP), ("lower inlet", DOWN), ("piston seal", UP)):
        less = stall(with_faults(FOUR, **{name: small}), move)
        more = stall(with_faults(FOUR, **{name: min(small * factor, 1.0)}), move)
        assert more.creep > less.creep
        assert more.pressure < less.pressure


@given(st.floats(0.01, 0.6))
def test_stalled_stroke_solves_force_and_volume_balance(share):
    """Root of drive force less pressure force, with the leak as the only way out."""
    now = with_faults(FOUR, upper_inlet=share)
    leak = conductance(now, "upper inlet")

    def force(pressure):
        speed = leak * math.sqrt(pressure) / FLUID.up
        push = 4e5 * (1 - 0.08) * AIR.up * (1 - (speed / FOUR.free_speed) ** 2)
        return push - pressure * FLUID.up

    full = 4e5 * 0.92 * AIR.up / FLUID.up
    pressure = brentq(force, 1.0, full)
    found = stall(now, UP)
    assert float(found.pressure) == pytest.approx(pressure, rel=1e-9)
    assert float(found.creep) == pytest.approx(leak * math.sqrt(pressure) / FLUID.up, rel=1e-9)


def test_what_leaks_into_a_smaller_chamber_sets_the_creep():
    """Down-stroke: the upper chamber is a ring and must take in all that passes the piston seal."""
    now = with_faults(FOUR, piston_seal=0.1)
    found = stall(now, DOWN)
    through = conductance(now, "piston seal") * math.sqrt(float(found.pressure))
    assert float(found.creep) * FLUID.up == pytest.approx(through)
    assert float(found.creep) * FLUID.down > through  # the rest goes into the shut line


@pytest.mark.parametrize(
    ("fault", "side"),
    [
        ("upper inlet", "up-stroke"),
        ("lower outlet", "up-stroke"),
        ("lower inlet", "down-stroke"),
        ("upper outlet", "down-stroke"),
        ("piston seal", "both"),
        ("relief valve", "both"),
        ("rod packing", "up-stroke"),
        ("air valve", "none"),
    ],
)
def test_creep_shows_on_the_stroke_the_trade_says(fault, side):
    """Checks on the stroke they hold on, the piston seal on both: common practice, no source."""
    now = with_faults(FOUR, **{fault: 0.1})
    up, down = (float(stall(now, move).creep) for move in (UP, DOWN))
    assert read_stall(up, down, 1e-4).side == side


def test_a_blanked_suction_stops_the_creep_only_where_nothing_draws_from_it():
    inlet = with_faults(TWO, inlet=0.1)
    down = TWO.moves[1]
    assert float(stall(inlet, down).creep) > 0.0
    assert float(stall(inlet, down, blanked=True).creep) == 0.0
    four = with_faults(FOUR, upper_inlet=0.1)  # the lower chamber draws what the upper leaks
    assert float(stall(four, UP, blanked=True).creep) == float(stall(four, UP).creep)


@given(st.floats(1e-9, 1e-6), st.floats(1e5, 1e7), st.floats(1e-11, 1e-8), st.floats(1.0, 100.0))
def test_orifice_loss_is_the_solution_of_its_equation(leak, pressure, compliance, time):
    found = float(orifice_loss(np.array(leak), pressure, compliance, time))
    tau = float(time_constant(leak, pressure, compliance))
    end = min(time, 1.9 * tau)  # it is empty at twice the time constant
    solved = solve_ivp(
        lambda _, p: -leak * np.sqrt(np.maximum(p, 0.0)) / compliance,
        (0.0, end),
        [pressure],
        rtol=1e-9,
        atol=1e-3,
    )
    lost = pressure - solved.y[0, -1]
    assert float(orifice_loss(np.array(leak), pressure, compliance, end)) == pytest.approx(
        lost, rel=1e-5
    )
    assert lost <= found * (1 + 1e-5) <= pressure * (1 + 1e-5)


def test_a_tight_line_never_empties():
    assert math.isinf(float(time_constant(0.0, 1e6, 1e-9)))


def test_rod_free_to_rise_drains_the_line_past_one_outlet_check():
    """Force on the rod and volume of the filling chamber, solved as two equations."""
    now = with_faults(FOUR, lower_outlet=0.1)
    leak, line = conductance(now, "lower outlet"), FOUR.bench.pressure
    drag = 0.08 * 4e5 * AIR.up

    def balance(unknown):
        speed, pressure = unknown[0] * 1e-3, unknown[1] * 1e6
        force = pressure * FLUID.down - line * FLUID.up - drag
        volume = leak * math.sqrt(abs(line - pressure)) - FLUID.down * speed
        return force / 1e3, volume * 1e6

    speed = fsolve(balance, [1.0, 0.9 * line / 1e6])[0] * 1e-3
    given_up = leak * math.sqrt(line - (line * FLUID.up + drag) / FLUID.down) - FLUID.up * speed
    assert float(drain(now, UP)) * math.sqrt(line) == pytest.approx(given_up, rel=1e-6)


def test_rod_cannot_go_down_against_the_line_of_a_double_acting_pump():
    now = with_faults(FOUR, upper_outlet=0.2, piston_seal=0.2)
    assert float(drain(now, DOWN)) == 0.0


def test_single_acting_outlet_lifts_the_vented_rod():
    now = with_faults(TWO, outlet=0.1)
    assert float(hold_loss(now, TWO.moves[0])) > 0.0  # resting at the bottom
    assert float(hold_loss(now, TWO.moves[1])) == 0.0  # at the top the inlet check holds it


def test_the_line_of_a_differential_pump_pushes_the_vented_rod_after_a_leaking_foot():
    """Force on the piston and volume of the chamber below, solved as two equations."""
    now = with_faults(FOOT, foot_check=0.1, piston_check=0.2, piston_seal=0.1)
    leak, line = conductance(now, "foot check"), FOOT.bench.pressure
    ring, bore, drag = 1.6e-3, 2.8e-3, 0.08 * 4e5 * AIR.down

    def balance(unknown):
        speed, below = unknown[0] * 1e-3, unknown[1] * 1e6
        force = line * ring - below * bore - drag
        volume = bore * speed - leak * math.sqrt(abs(below))
        return force / 1e3, volume * 1e6

    speed = fsolve(balance, [1.0, 0.5 * line / 1e6])[0] * 1e-3
    up, down = FOOT.moves
    assert float(drain(now, down)) * math.sqrt(line) == pytest.approx(ring * speed, rel=1e-6)
    assert float(drain(with_faults(FOOT, foot_check=0.1), up)) == 0.0  # at the bottom it holds
    assert float(drain(with_faults(FOOT, piston_check=0.1), down)) == 0.0  # at the top it rests
    held = 0.8  # of the drive's own force: too stiff to be moved
    stuck = with_faults(FOOT, foot_check=0.1, friction=held)
    assert float(drain(stuck, down)) == 0.0


def test_vacuum_is_lost_through_the_inlet_checks_of_chambers_at_the_atmosphere_alone():
    for name, spoils in (("upper inlet", UP), ("lower inlet", DOWN)):
        now = with_faults(FOUR, **{name: 0.1})
        for move in FOUR.moves:
            assert (float(vacuum_loss(now, move.pressed)) > 0.0) == (move is spoils)
    now = with_faults(FOUR, upper_outlet=0.4, lower_outlet=0.4, piston_seal=0.4)
    assert all(float(vacuum_loss(now, move.pressed)) == 0.0 for move in FOUR.moves)


def test_caught_is_the_leak_of_the_one_passage():
    now = with_faults(FOUR, upper_outlet=0.1, piston_seal=0.2)
    leak = conductance(now, "upper outlet") * math.sqrt(FOUR.bench.pressure)
    assert float(caught(now, "discharge", "upper")) == pytest.approx(leak)
    assert float(caught(now, "discharge", "lower")) == 0.0


def test_draws_are_worked_as_one_array():
    severities = np.linspace(0.0, 0.3, 4)[:, None] * np.eye(len(FOUR.faults))[0]
    together = stall(state(FOUR, severities), UP).creep
    alone = [float(stall(state(FOUR, row), UP).creep) for row in severities]
    assert together == pytest.approx(alone)


@pytest.mark.parametrize(
    "wrong", [np.zeros(3), -np.ones(10), np.full(10, 1.5), np.full(10, np.nan)]
)
def test_severities_that_cannot_be_are_refused(wrong):
    with pytest.raises(ValueError, match="severit"):
        state(FOUR, wrong)
