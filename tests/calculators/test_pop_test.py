"""Pop readings: statistics against scipy, and verdicts a bench hand would give."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from rebuildbook.calculators.pop_test import PopTest, assess_pops, blowdown, pop_statistics

BAR = 1e5
runs = st.lists(st.floats(9.0 * BAR, 11.0 * BAR), min_size=3, max_size=12)
confidences = st.floats(0.6, 0.99)


def judged(*bars: float, **kept):
    return assess_pops(
        PopTest(readings=tuple(b * BAR for b in bars), set_pressure=10 * BAR, **kept)
    )


@given(runs, confidences)
def test_intervals_and_trend_are_those_of_scipy(readings, confidence):
    assume(np.ptp(readings) > 10.0)
    run = pop_statistics(readings, confidence)
    error = stats.sem(readings)
    low, high = stats.t.interval(confidence, len(readings) - 1, np.mean(readings), error)
    assert run.mean - run.mean_half == pytest.approx(low, rel=1e-9)
    assert run.mean + run.mean_half == pytest.approx(high, rel=1e-9)
    ahead = stats.t.ppf(0.5 + confidence / 2, len(readings) - 1) * math.hypot(
        error, np.std(readings, ddof=1)
    )
    assert run.next_half == pytest.approx(ahead, rel=1e-9)
    line = stats.linregress(range(len(readings)), readings)
    assert run.slope == pytest.approx(line.slope, rel=1e-6, abs=1e-4)
    reach = line.stderr * stats.t.ppf(0.5 + confidence / 2, len(readings) - 2)
    assert run.slope_half == pytest.approx(reach, rel=1e-5, abs=1e-2)
    if abs(line.pvalue - (1 - confidence)) > 1e-4 and line.stderr > 1.0:
        assert run.trending == (line.pvalue < 1 - confidence)


def test_the_next_pop_falls_in_its_interval_as_often_as_said():
    """Draws from one normal valve: nine in ten of the next pops lie inside."""
    drawn = np.random.default_rng(5).normal(10 * BAR, 0.05 * BAR, (4000, 5))
    inside = 0
    for *seen, coming in drawn:
        run = pop_statistics(seen, 0.90)
        inside += abs(coming - run.mean) <= run.next_half
    assert inside / 4000 == pytest.approx(0.90, abs=0.015)


def test_an_even_run_is_in_tolerance():
    found = judged(10.02, 10.0, 9.98, 10.01)
    assert found.words == ("in tolerance",)
    assert found.accepted
    assert found.deviation == pytest.approx(0.0025 * BAR, rel=1e-6)


def test_equal_readings_have_no_scatter_and_no_drift():
    found = judged(10.1, 10.1, 10.1)
    assert found.accepted
    assert (found.whole.std, found.whole.slope, found.whole.trending) == (0.0, 0.0, False)


@pytest.mark.parametrize("level", [10.35, 9.6])
def test_a_mean_outside_is_out_of_tolerance(level):
    assert judged(level, level + 0.01, level).words[0] == "out of tolerance"


@pytest.mark.parametrize("readings", [(10.0,), (10.0, 10.01)])
def test_too_few_readings(readings):
    found = judged(*readings)
    assert found.words == ("too few readings",)
    assert not found.accepted


def test_one_reading_far_out_says_so():
    found = judged(11.0)
    assert found.words == ("out of tolerance", "too few readings")
    assert found.doubt == math.inf


def test_a_first_pop_that_sticks_is_told_and_judged():
    found = judged(11.5, 10.02, 10.0, 9.98)
    assert found.words == ("out of tolerance", "first pop sticks")
    assert found.first_excess == pytest.approx(1.5 * BAR)
    assert found.settled.count == 3
    assert found.settled.mean == pytest.approx(10.0 * BAR)
    assert found.whole.count == 4


def test_a_first_pop_that_sticks_within_the_band():
    found = judged(10.25, 10.02, 10.0, 9.99, 10.0)
    assert found.words == ("first pop sticks",)
    assert not found.accepted


def test_after_a_stuck_pop_three_more_are_wanted():
    assert "too few readings" in judged(11.0, 10.0, 10.01).words
    assert "too few readings" not in judged(11.0, 10.0, 10.01, 10.0).words


def test_a_low_first_pop_or_a_small_step_is_no_sticking():
    assert not judged(9.9, 10.02, 10.0, 10.01).first_sticks
    assert not judged(10.05, 10.0, 10.0, 10.0).first_sticks  # below a quarter of 0.3 bar


def test_a_steady_fall_drifts_and_is_not_a_stuck_seat():
    found = judged(10.20, 10.14, 10.11, 10.05, 10.00)
    assert found.words == ("drifts",)
    assert found.whole.drift == pytest.approx(-0.196 * BAR, rel=0.01)
    assert not found.first_sticks


def test_wide_readings_scatter():
    found = judged(10.25, 9.78, 10.2, 9.8)
    assert "scatters" in found.words
    assert "out of tolerance" not in found.words
    assert "drifts" not in found.words


def test_one_pop_outside_scatters_though_the_mean_is_inside():
    many = judged(*[10.0, 10.02, 9.98] * 6, 10.4)
    assert many.settled.next_half < many.test.band
    assert many.words == ("scatters",)


def test_the_gauge_can_leave_it_undecided():
    assert judged(10.1, 10.11, 10.1).words == ("in tolerance",)
    vague = judged(10.1, 10.11, 10.1, gauge_uncertainty=0.25 * BAR)
    assert vague.words == ("not decided",)
    assert vague.doubt == pytest.approx(math.hypot(vague.whole.mean_half, 0.25 * BAR))


@given(runs, st.floats(0.0, 0.5 * BAR), st.floats(0.0, 0.5 * BAR))
def test_a_vaguer_gauge_never_helps(readings, one, other):
    fine, vague = sorted((one, other))
    made = [
        assess_pops(PopTest(readings=tuple(readings), set_pressure=10 * BAR, gauge_uncertainty=u))
        for u in (fine, vague)
    ]
    assert made[0].accepted or not made[1].accepted


@given(runs)
def test_an_accepted_run_lies_inside_with_all_that_is_foretold(readings):
    found = assess_pops(PopTest(readings=tuple(readings), set_pressure=10 * BAR))
    if found.accepted:
        assert max(abs(r - 10 * BAR) for r in readings) <= 0.3 * BAR * (1 + 1e-9)
        assert abs(found.deviation) + found.doubt <= 0.3 * BAR * (1 + 1e-9)
    assert found.words


def test_a_given_tolerance_goes_before_the_rule():
    assert judged(10.35, 10.36, 10.35, tolerance=0.5 * BAR).accepted


def test_blowdown_of_each_pop():
    found = blowdown([10 * BAR, 10.2 * BAR], [9 * BAR, 9.5 * BAR], 10 * BAR)
    assert found.each == pytest.approx((0.10, 0.07))
    assert (found.mean, found.least, found.largest) == pytest.approx((0.085, 0.07, 0.10))
    held = judged(10.0, 10.0, 10.0, reseats=(9 * BAR, 9 * BAR, 9 * BAR))
    assert held.blowdown.mean == pytest.approx(0.10)
    assert judged(10.0, 10.0, 10.0).blowdown is None


@pytest.mark.parametrize(
    "make",
    [
        judged,
        lambda: judged(10.0, -1.0),
        lambda: judged(10.0, math.nan),
        lambda: judged(10.0, tolerance=0.0),
        lambda: judged(10.0, gauge_uncertainty=-1.0),
        lambda: judged(10.0, 10.0, confidence=1.0),
        lambda: judged(10.0, 10.0, reseats=(9 * BAR,)),
        lambda: blowdown([10 * BAR], [10.1 * BAR], 10 * BAR),
        lambda: blowdown([10 * BAR], [9 * BAR], 0.0),
    ],
)
def test_what_no_bench_reads_is_refused(make):
    with pytest.raises(ValueError, match=r"is |needs"):
        make()
