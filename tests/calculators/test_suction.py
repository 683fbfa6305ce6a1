"""Suction: friction against a library, heads by definition, the crank's acceleration, limits."""

import dataclasses
import math

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildbook.calculators.ball_check import GRAVITY, cracking_pressure
from rebuildbook.calculators.pump_flow import (
    differential,
    double_acting,
    double_diaphragm,
    flow_at,
    plungers,
    single_acting,
)
from rebuildbook.calculators.stroke_motion import CrankMotion
from rebuildbook.calculators.suction import (
    FLUID_FACTORS,
    PUMP_FACTORS,
    PipeSection,
    SuctionSide,
    acceleration_head,
    acceleration_head_by_motion,
    crank_factor,
    drop_by_motion,
    flow_rise,
    friction_factor,
    friction_head,
    inertance,
    largest_rate,
    npsh_available,
)

LINE = (PipeSection(2.0, 0.05, fittings=1.5), PipeSection(1.0, 0.04))
WATER = SuctionSide(LINE, 998.0, 1.0e-3, 2340.0, -2.0, required=2.5)
TRIPLEX = plungers(0.03, 0.04, 3)
MIDDLES = (np.arange(5040) + 0.5) / 5040


@given(st.floats(3000.0, 1e8), st.floats(0.0, 0.05))
def test_turbulent_factor_is_that_of_the_fluids_library(reynolds, rough):
    known = fluids.friction_factor(reynolds, rough, Method="Colebrook")
    assert float(friction_factor.si(reynolds, rough)) == pytest.approx(known, rel=1e-8)


@given(st.floats(1e-3, 2300.0))
def test_laminar_friction_is_that_of_poiseuille(reynolds):
    bore, length, density, viscosity = 0.04, 3.0, 1500.0, 0.2
    speed = reynolds * viscosity / (density * bore)
    drop = 32.0 * viscosity * length * speed / bore**2  # Pa
    found = friction_head.si(speed, length, bore, density, viscosity, 1e-4)
    assert found == pytest.approx(drop / (density * GRAVITY), rel=1e-9)


def test_friction_head_of_nothing_moving_is_nothing():
    assert friction_head.si(0.0, 3.0, 0.05, 1000.0, 1e-3) == 0.0


def test_friction_takes_arrays():
    found = friction_head.si(np.array([0.0, 0.5, 2.0]), 3.0, 0.05, 1000.0, 1e-3, 45e-6, 1.0)
    assert found.shape == (3,)
    assert np.all(np.diff(found) > 0.0)


def test_the_rougher_pipe_takes_more():
    smooth, rough = (friction_head.si(2.0, 3.0, 0.05, 1000.0, 1e-3, r) for r in (0.0, 3e-4))
    assert rough > 1.2 * smooth


@given(st.floats(0.1, 15.0), st.floats(0.05, 3.0), st.floats(0.1, 10.0))
def test_acceleration_head_grows_with_each_of_its_factors(length, velocity, rate):
    base = acceleration_head.si(length, velocity, rate, 0.066)
    assert acceleration_head.si(2 * length, velocity, rate, 0.066) == pytest.approx(2 * base)
    assert acceleration_head.si(length, 2 * velocity, 2 * rate, 0.066) == pytest.approx(4 * base)
    assert acceleration_head.si(length, velocity, rate, 0.066, 2.8) == pytest.approx(base / 2)


def test_factors_fall_with_the_number_of_plungers_and_the_give_of_the_fluid():
    named = [
        PUMP_FACTORS[k] for k in ("duplex single-acting", "triplex", "quintuplex", "septuplex")
    ]
    assert named == sorted(named, reverse=True)
    assert min(FLUID_FACTORS.values()) == FLUID_FACTORS["water without air"]


@pytest.mark.parametrize("rod_ratio", [0.0, 0.2, 0.4])
def test_simplex_factor_has_a_closed_form(rod_ratio):
    # A r ω² (1 + λ) over Q n: 2π² (1 + λ), and 60 for turns a minute
    found = crank_factor(plungers(0.03, 0.04), CrankMotion(rod_ratio))
    assert found == pytest.approx(2 * math.pi**2 * (1 + rod_ratio) / 60, rel=1e-6)


@pytest.mark.parametrize("count", [1, 3, 5, 7, 9])
def test_factor_of_an_odd_number_of_plungers_on_a_long_rod_has_a_closed_form(count):
    # just after a plunger joins (n + 1)/2 draw; their cosines sum to 1/2 by symmetry, 1 for n = 1
    slope = 1.0 if count == 1 else 0.5
    found = crank_factor(plungers(0.03, 0.04, count), CrankMotion())
    assert found == pytest.approx(slope * 2 * math.pi**2 / count / 60, rel=1e-6)


def test_acceleration_head_of_a_simplex_is_the_textbook_form():
    # long rod: h = (L/g)(A/a) ω² r
    pump, turns = plungers(0.10, 0.12), 1.5
    found = acceleration_head_by_motion([PipeSection(4.0, 0.05)], pump, CrankMotion(), turns)
    omega = 2 * math.pi * turns
    assert found == pytest.approx(4.0 / GRAVITY * (0.10 / 0.05) ** 2 * omega**2 * 0.06, rel=1e-5)


@given(st.floats(0.5, 10.0), st.floats(0.0, 0.4))
@settings(max_examples=30)
def test_crank_factor_and_motion_give_the_same_head(rate, rod_ratio):
    motion = CrankMotion(rod_ratio)
    pipe = PipeSection(3.0, 0.05)
    by_factor = acceleration_head.si(
        3.0, TRIPLEX.flow(rate) / pipe.area, rate, crank_factor(TRIPLEX, motion), 1.0
    )
    by_motion = acceleration_head_by_motion([pipe], TRIPLEX, motion, rate)
    assert by_factor == pytest.approx(by_motion, rel=1e-9)


@pytest.mark.parametrize(
    "pump",
    [TRIPLEX, single_acting(0.1, 0.1), differential(0.1, 0.06, 0.1),
     double_acting(0.1, 0.03, 0.1), double_diaphragm(1e-3)],
)  # fmt: skip
def test_the_flow_rises_and_falls_alike_over_a_cycle(pump):
    rise = flow_rise(pump, CrankMotion(0.2), 2.0, MIDDLES)
    assert rise.mean() == pytest.approx(0.0, abs=1e-6 * rise.max())


@given(st.floats(0.0, 0.6), st.floats(0.0, 0.99))
@settings(max_examples=30)
def test_the_rise_is_the_slope_of_the_flow(rod_ratio, phase):
    motion, pump, step = CrankMotion(rod_ratio), plungers(0.03, 0.04), 1e-6
    here = 0.005 + 0.49 * phase  # on the drawing stroke
    flow = flow_at(pump, motion, 3.0, [here - step, here + step], "drawn").total
    slope = (flow[1] - flow[0]) * 3.0 / (2 * step)
    largest = pump.displacement * 9.0 * 2 * math.pi**2
    found = float(flow_rise(pump, motion, 3.0, here))
    assert found == pytest.approx(slope, abs=1e-6 * largest)


def test_a_two_ball_pump_accelerates_its_suction_as_hard_as_a_plain_one():
    # it draws its whole cycle on one stroke
    both = [differential(0.1, 0.07, 0.1), single_acting(0.1, 0.1)]
    one, other = (crank_factor(pump, CrankMotion(0.2)) for pump in both)
    assert one == pytest.approx(other)


def test_the_drop_by_motion_lies_below_the_sum_of_the_peaks():
    motion, rate = CrankMotion(0.2), 5.0
    drop = drop_by_motion(WATER, TRIPLEX, motion, rate)
    pulse = acceleration_head_by_motion(LINE, TRIPLEX, motion, rate)
    flow = TRIPLEX.flow(rate)
    assert pulse < drop.max() < pulse + WATER.friction(1.1 * flow)
    # the pulse gives back what it takes
    assert drop.mean() == pytest.approx(WATER.friction(flow), abs=0.005 * pulse)
    assert drop.min() < 0.0


def test_inertance_adds_sections():
    assert inertance(LINE) == pytest.approx(
        2.0 / (math.pi / 4 * 0.05**2) + 1.0 / (math.pi / 4 * 0.04**2)
    )
    assert inertance([]) == 0.0


def test_the_account_of_heads_adds_up():
    flow, rate = TRIPLEX.flow(5.0), 5.0
    found = WATER.heads(flow, rate, 0.066)
    losses = found.friction + found.acceleration + found.check
    assert found.available == pytest.approx(
        npsh_available.si(101_325.0, 2340.0, 998.0, -2.0, losses)
    )
    assert found.margin == pytest.approx(found.available - 2.5)
    speeds = [flow / part.area for part in LINE]
    assert found.acceleration == pytest.approx(
        sum(
            acceleration_head.si(p.length, v, rate, 0.066)
            for p, v in zip(LINE, speeds, strict=True)
        )
    )
    loss = fluids.friction_factor(998.0 * speeds[0] * 0.05 / 1e-3, 45e-6 / 0.05) * 2.0 / 0.05 + 1.5
    more = fluids.friction_factor(998.0 * speeds[1] * 0.04 / 1e-3, 45e-6 / 0.04) * 1.0 / 0.04
    assert found.friction == pytest.approx(
        (loss * speeds[0] ** 2 + more * speeds[1] ** 2) / (2 * GRAVITY), rel=1e-3
    )


def test_friction_at_the_peak_flow_is_more():
    flow = plungers(0.05, 0.06).flow(3.0)
    mean, peak = (WATER.heads(flow, 3.0, 0.4, 1.4, factor) for factor in (1.0, math.pi))
    assert 5.0 < peak.friction / mean.friction <= math.pi**2


def test_an_inlet_check_takes_its_cracking_pressure():
    crack = cracking_pressure.si(5.0, 0.025)
    side = dataclasses.replace(WATER, check_loss=crack)
    assert side.heads(1e-4, 1.0, 0.066).check == pytest.approx(crack / (998.0 * GRAVITY))


@given(st.floats(-4.0, 5.0), st.floats(0.01, 0.4))
@settings(max_examples=30)
def test_the_largest_rate_leaves_the_margin_asked_for(lift, factor):
    side = dataclasses.replace(WATER, static_head=lift)
    rate = largest_rate(side, TRIPLEX.displacement, factor, margin=1.0)
    found = side.heads(TRIPLEX.displacement * rate, rate, factor)
    assert found.margin == pytest.approx(1.0, abs=1e-5)


def test_no_line_sets_no_limit():
    side = dataclasses.replace(WATER, sections=())
    assert largest_rate(side, 1e-4, 0.4) == math.inf
    assert side.heads(1e-3, 1.0, 0.4).friction == 0.0


@given(st.floats(0.0, 5e4), st.floats(0.0, 5e4), st.floats(-5.0, 5.0))
def test_hotter_and_lower_have_less_npsh(one, other, lift):
    low, high = sorted((one, other))
    cold, hot = (npsh_available.si(1e5, p, 1000.0, lift) for p in (low, high))
    assert hot <= cold
    assert npsh_available.si(1e5, low, 1000.0, lift - 1.0) == pytest.approx(cold - 1.0)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: acceleration_head.si(-1.0, 1.0, 1.0, 0.066), "length is -1"),
        (lambda: acceleration_head.si(1.0, 1.0, 1.0, 0.0), "pump factor is 0"),
        (lambda: acceleration_head.si(1.0, 1.0, 1.0, 0.066, 0.0), "fluid factor is 0"),
        (lambda: friction_factor.si(0.0), "Reynolds number is 0"),
        (lambda: friction_factor.si(1e5, 0.2), "relative roughness is 0.2"),
        (lambda: friction_head.si(1.0, 1.0, 0.0, 1000.0, 1e-3), "bore is 0"),
        (lambda: friction_head.si(1.0, 1.0, 0.1, 1000.0, 0.0), "viscosity is 0"),
        (lambda: friction_head.si(1.0, 1.0, 0.1, -1000.0, 1e-3), "density is -1000"),
        (lambda: npsh_available.si(-1.0, 0.0, 1000.0, 0.0), "surface pressure is -1"),
        (lambda: npsh_available.si(1e5, 0.0, 0.0, 0.0), "density is 0"),
        (lambda: PipeSection(1.0, 0.0), "bore is 0"),
        (lambda: PipeSection(1.0, 0.05, 0.01), "roughness over bore is 0.2"),
        (lambda: dataclasses.replace(WATER, viscosity=0.0), "viscosity is 0"),
        (lambda: dataclasses.replace(WATER, required=-1.0), "required is -1"),
        (lambda: dataclasses.replace(WATER, static_head=math.nan), "static head is nan"),
        (lambda: WATER.heads(1e-4, 1.0, 0.066, 1.4, 0.0), "peak factor is 0"),
        (lambda: largest_rate(WATER, 1e-4, 0.066, margin=20.0), "out of reach"),
        (lambda: flow_rise(TRIPLEX, CrankMotion(), 0.0, 0.1), "rate is 0"),
    ],
)
def test_impossible_input_is_refused_in_words(call, message):
    with pytest.raises(ValueError, match=message):
        call()
