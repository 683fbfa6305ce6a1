"""Stroke volumes and flow over a cycle: conservation, limits, closed forms and refusals."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildbook.calculators.drive import (
    crank_flow,
    differential_displacement,
    double_acting_displacement,
    flow_variation,
)
from rebuildbook.calculators.pump_flow import (
    Chamber,
    StrokeFlow,
    accumulator_swing,
    differential,
    double_acting,
    double_diaphragm,
    double_diaphragm_by_area,
    flow_at,
    flow_over_cycle,
    plungers,
    pulsation,
    single_acting,
    volume_moved,
)
from rebuildbook.calculators.stroke_motion import AirMotion, CrankMotion

PUMPS = {
    "single-acting": single_acting(0.10, 0.12),
    "single-acting, up-stroke": single_acting(0.10, 0.12, "up-stroke", 0.03),
    "differential": differential(0.10, 0.06, 0.12),
    "double-acting": double_acting(0.10, 0.03, 0.12),
    "double-acting, tail rod": double_acting(0.10, 0.03, 0.12, 0.025),
    "duplex double-acting": double_acting(0.10, 0.03, 0.12, count=2),
    "simplex": plungers(0.03, 0.04),
    "triplex": plungers(0.03, 0.04, 3),
    "septuplex": plungers(0.03, 0.04, 7),
    "double diaphragm": double_diaphragm(1.6e-3),
}
pumps = st.sampled_from(list(PUMPS.values()))
motions = st.one_of(
    st.builds(CrankMotion, st.floats(0.0, 0.5)),
    st.builds(AirMotion, st.floats(0.0, 0.5), st.floats(0.2, 0.8)),
)
sides = st.sampled_from(["delivered", "drawn"])
MIDDLES = (np.arange(10_080) + 0.5) / 10_080


@given(pumps, motions, sides)
@settings(deadline=None)
def test_integral_of_the_flow_over_a_cycle_is_the_displacement(pump, motion, side):
    cycle = flow_at(pump, motion, 0.5, MIDDLES, side)
    # the jumps of an air motor's flow cost a step each
    assert cycle.total.mean() == pytest.approx(0.5 * pump.displacement, rel=2e-3)
    assert float(volume_moved(pump, motion, 1.0, side)) == pytest.approx(
        pump.displacement, rel=1e-12
    )


@given(pumps, motions, st.floats(0.0, 1.0), sides)
def test_volume_moved_never_runs_back_and_repeats_each_cycle(pump, motion, phase, side):
    here, later = volume_moved(pump, motion, [phase, phase + 1.0], side)
    assert later - here == pytest.approx(pump.displacement, rel=1e-9)
    assert np.all(np.diff(volume_moved(pump, motion, np.linspace(0, 2, 401), side)) >= -1e-15)


@given(st.floats(0.0, 0.6), st.floats(-1.0, 2.0))
def test_travel_of_a_crank_is_that_of_pythagoras(rod_ratio, phase):
    angle = 2 * math.pi * phase
    rod = 1.0 / max(rod_ratio, 1e-6)  # a long rod for none
    height = rod + 1.0 - math.cos(angle) - math.sqrt(rod**2 - math.sin(angle) ** 2)
    up, down = CrankMotion(rod_ratio).travel(phase)
    assert float(up - down) == pytest.approx(height / 2.0, abs=1e-6)


@given(motions, st.integers(1, MIDDLES.size))
def test_travel_is_the_integral_of_the_speed(motion, steps):
    speeds, travels = motion.speeds(MIDDLES[:steps]), motion.travel(steps / MIDDLES.size)
    for speed, travel in zip(speeds, travels, strict=True):
        assert float(travel) == pytest.approx(speed.sum() / MIDDLES.size, abs=1e-3)


@pytest.mark.parametrize(
    ("pump", "count", "share"),
    [
        (PUMPS["simplex"], 1, 0.0),
        (PUMPS["triplex"], 3, 0.0),
        (PUMPS["septuplex"], 7, 0.0),
        (PUMPS["double-acting"], 1, 1.0 - 0.3**2),
        (PUMPS["duplex double-acting"], 2, 1.0 - 0.3**2),
    ],
)
def test_pulsation_agrees_with_the_flow_variation_of_the_drive(pump, count, share):
    found, known = pulsation(pump, CrankMotion(0.2)), flow_variation(count, 0.2, share)
    assert found.peak == pytest.approx(known.peak, abs=1e-6)
    assert found.trough == pytest.approx(known.trough, abs=1e-6)


def test_the_head_side_delivers_as_the_piston_runs_out_from_the_crank():
    # crank_flow counts the angle the other way round from the same dead centre
    phase = np.linspace(0.0, 1.0, 97)
    cycle = flow_at(PUMPS["double-acting"], CrankMotion(0.2), 2.0, phase)
    known = crank_flow(-2 * math.pi * phase, 1, 0.2, 1.0 - 0.3**2)
    assert cycle.total / cycle.mean == pytest.approx(known, abs=1e-9)


def test_a_crank_starts_to_draw_faster_than_to_deliver():
    pump = plungers(0.03, 0.04)
    drawn = flow_at(pump, CrankMotion(0.25), 1.0, 0.001, "drawn").total
    delivered = flow_at(pump, CrankMotion(0.25), 1.0, 0.501).total
    assert float(drawn / delivered) == pytest.approx(1.25 / 0.75, rel=1e-3)  # (1 + λ)/(1 − λ)


def test_stroke_volumes_of_each_architecture():
    quarter = math.pi / 4
    assert PUMPS["single-acting"].volumes("drawn") == pytest.approx((quarter * 0.0012, 0.0))
    lift = PUMPS["single-acting, up-stroke"]
    assert lift.volumes("delivered") == pytest.approx((quarter * 0.0091 * 0.12, 0.0))
    assert lift.volumes("drawn") == pytest.approx((0.0, quarter * 0.0091 * 0.12))
    two_ball = PUMPS["differential"]
    assert two_ball.volumes("delivered") == pytest.approx(
        (quarter * 0.0064 * 0.12, quarter * 0.0036 * 0.12)
    )
    assert two_ball.volumes("drawn") == pytest.approx((quarter * 0.01 * 0.12, 0.0))
    assert PUMPS["triplex"].displacement == pytest.approx(3 * quarter * 0.0009 * 0.04)
    assert double_diaphragm_by_area(0.02, 0.04).volumes("drawn") == pytest.approx((8e-4, 8e-4))


@given(st.floats(0.01, 0.5), st.floats(0.05, 0.95), st.floats(0.05, 0.95), st.floats(0.005, 1.0))
def test_displacements_agree_with_the_drive(bore, share, tail, stroke):
    rod = share * bore
    assert double_acting(bore, rod, stroke, tail * bore, 2).displacement == pytest.approx(
        double_acting_displacement.si(bore, rod, stroke, tail * bore, 2), rel=1e-12
    )
    assert differential(bore, rod, stroke).displacement == pytest.approx(
        differential_displacement.si(bore, stroke), rel=1e-12
    )


def test_mean_flow_takes_the_efficiency():
    assert PUMPS["double diaphragm"].flow(0.5, 0.9) == pytest.approx(0.72e-3)
    rates = np.array([0.5, 1.0])
    assert PUMPS["double diaphragm"].flow(rates) == pytest.approx([0.8e-3, 1.6e-3])


def test_areas_are_volumes_over_the_stroke():
    areas = PUMPS["differential"].areas("delivered", 0.12)
    assert (areas.up, areas.down) == pytest.approx((math.pi / 4 * 0.0064, math.pi / 4 * 0.0036))


def test_an_air_motor_delivers_evenly_and_stops_at_each_change_over():
    # even strokes: peak 1/(1 − w); each of two humps stores its half stroke less its share of time
    found = pulsation(double_diaphragm(1e-3), AirMotion(0.2))
    assert found.peak == pytest.approx(1.25)
    assert found.trough == 0.0
    assert found.above_mean == pytest.approx(0.2, abs=1e-3)
    assert found.swing == pytest.approx(0.1, abs=1e-3)


def test_without_dwell_an_even_double_acting_pump_is_steady():
    found = pulsation(double_diaphragm(1e-3), AirMotion())
    assert (found.peak, found.trough, found.above_mean) == pytest.approx((1, 1, 0), abs=1e-12)


def test_a_single_acting_pump_on_an_air_motor_stores_the_share_of_time_it_does_not_deliver():
    found = pulsation(PUMPS["single-acting"], AirMotion(0.1, 0.4))
    delivering = 0.6 * 0.9
    assert found.swing == pytest.approx(1.0 - delivering, abs=1e-3)
    assert found.swing == pytest.approx(found.above_mean, abs=1e-9)


def test_volume_above_the_mean_of_a_simplex_in_closed_form():
    # half sine against its mean: [2 cos a − (π − 2a)/π]/2 with sin a = 1/π
    a = math.asin(1 / math.pi)
    found = pulsation(PUMPS["simplex"], CrankMotion())
    assert found.above_mean == pytest.approx((2 * math.cos(a) - (math.pi - 2 * a) / math.pi) / 2,
                                             abs=1e-6)  # fmt: skip
    assert accumulator_swing(PUMPS["simplex"], CrankMotion()) == pytest.approx(
        found.swing * PUMPS["simplex"].displacement
    )


@given(pumps, motions, sides)
@settings(deadline=None)
def test_swing_is_never_more_than_the_volume_above_the_mean(pump, motion, side):
    found = pulsation(pump, motion, side, 2520)
    assert found.trough <= 1.0 + 1e-9
    assert found.peak >= 1.0 - 1e-9
    assert 0.0 <= found.swing <= found.above_mean + 1e-9
    assert found.above_mean < 1.0


def test_more_plungers_of_an_odd_number_pulse_less():
    swings = [pulsation(plungers(0.03, 0.04, n), CrankMotion(0.2)).swing for n in (1, 3, 5, 7)]
    assert swings == sorted(swings, reverse=True)


def test_parts_add_up_to_the_total():
    cycle = flow_over_cycle(PUMPS["duplex double-acting"], CrankMotion(0.2), 1.5)
    assert cycle.parts.shape == (4, cycle.phase.size)
    assert cycle.parts.sum(axis=0) == pytest.approx(cycle.total)
    assert cycle.names == ("rod side 1", "head side 1", "rod side 2", "head side 2")
    assert cycle.total[0] == pytest.approx(cycle.total[-1])


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: differential(0.05, 0.05, 0.1), "smaller than the bore"),
        (lambda: single_acting(0.05, 0.1, "down-stroke", 0.06), "smaller than the bore"),
        (lambda: single_acting(0.05, 0.0), "stroke is 0"),
        (lambda: plungers(0.03, 0.04, 0), "count is 0"),
        (lambda: double_acting(0.1, 0.03, 0.1, count=13), "count is 13"),
        (lambda: double_diaphragm(0.0), "volume a cycle is 0"),
        (lambda: Chamber("left", delivered_up=-1.0), "left: volume delivered is -1"),
        (lambda: Chamber("left", lag=1.0), "lag is 1.0"),
        (lambda: StrokeFlow((Chamber("left", drawn_up=1.0),)), "deliver nothing"),
        (lambda: StrokeFlow((Chamber("left", 1.0, drawn_up=2.0),)), "must agree"),
        (lambda: StrokeFlow(()), "no chamber"),
        (lambda: CrankMotion(1.0), "rod ratio is 1.0"),
        (lambda: AirMotion(1.0), "dwell is 1.0"),
        (lambda: AirMotion(0.1, 0.0), "up share is 0.0"),
        (lambda: pulsation(plungers(0.03, 0.04), CrankMotion(), steps=4), "steps is 4"),
        (lambda: flow_over_cycle(plungers(0.03, 0.04), CrankMotion(), -1.0), "rate is -1"),
    ],
)
def test_impossible_input_is_refused_in_words(call, message):
    with pytest.raises(ValueError, match=message):
        call()
