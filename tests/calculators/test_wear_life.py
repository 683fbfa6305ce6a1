"""Life left from wear: planted rates, honest intervals, changed parts, and refusals."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from scipy.optimize import brentq

from rebuildbook.calculators.wear_life import (
    HOUR,
    Measurement,
    running_times,
    time_to_limit,
    wear_life,
    wear_rate,
)

NEW, LIMIT = 63.5e-3, 63.75e-3
RATE = 0.05e-6 / HOUR  # m/s
TIMES = np.array([800.0, 1500.0, 2300.0, 2900.0]) * HOUR


def jobs(times, sizes):
    return [Measurement(float(t), float(size)) for t, size in zip(times, sizes, strict=True)]


@given(
    st.floats(1e-9, 1e-6).map(lambda rate: rate / HOUR),
    st.lists(st.floats(50.0, 900.0), min_size=2, max_size=8),
    st.sampled_from([1, -1]),
)
def test_a_planted_rate_is_found(rate, between, growing):
    times = np.array(running_times([b * HOUR for b in between]))
    limit = NEW + growing * 1.5 * rate * times[-1]
    found = wear_life(jobs(times, NEW + growing * rate * times), NEW, limit)
    assert found.line.rate == pytest.approx(rate, rel=1e-4)
    assert found.time_left == pytest.approx(0.5 * times[-1], rel=1e-3)
    assert found.growing == growing


@given(st.integers(0, 2**32 - 1), st.booleans())
def test_line_and_rate_interval_against_linear_algebra(seed, beds_in):
    rng = np.random.default_rng(seed)
    wear = 10e-6 * beds_in + RATE * TIMES + rng.normal(0.0, 4e-6, 4)
    found = wear_life(jobs(TIMES, NEW + wear), NEW, LIMIT, beds_in=beds_in).line
    matrix = np.column_stack([np.ones(4), TIMES] if beds_in else [TIMES])
    solution, squares, *_ = np.linalg.lstsq(matrix, wear, rcond=None)
    freedom = 4 - matrix.shape[1]
    covariance = squares[0] / freedom * np.linalg.inv(matrix.T @ matrix)
    half = stats.t.ppf(0.95, freedom) * math.sqrt(covariance[-1, -1])
    assert found.rate == pytest.approx(solution[-1], rel=1e-7)
    assert found.rate_high - found.rate == pytest.approx(half, rel=1e-6)
    ages = np.array([0.0, 1000.0 * HOUR, 5000.0 * HOUR])
    rows = np.column_stack([np.ones(3), ages] if beds_in else [ages])
    expected = stats.t.ppf(0.95, freedom) * np.sqrt(
        np.einsum("ij,jk,ik->i", rows, covariance, rows)
    )
    assert found.half_width(ages) == pytest.approx(expected, rel=1e-6)


def test_bedding_in_agrees_with_scipy():
    wear = np.array([52e-6, 81e-6, 126e-6, 151e-6])
    line = wear_life(jobs(TIMES, NEW + wear), NEW, LIMIT, beds_in=True).line
    known = stats.linregress(TIMES, wear)
    assert (line.rate, line.offset) == pytest.approx((known.slope, known.intercept))
    assert line.median_rate == pytest.approx(stats.theilslopes(wear, TIMES).slope)


@pytest.mark.parametrize("beds_in", [False, True])
def test_interval_ends_where_the_band_crosses_the_limit(beds_in):
    wear = np.array([45e-6, 72e-6, 119e-6, 141e-6])
    found = wear_life(jobs(TIMES, NEW + wear), NEW, LIMIT, beds_in=beds_in)
    line, allowance = found.line, LIMIT - NEW

    def upper(age):
        return float(line.wear(age) + line.half_width(age)) - allowance

    def lower(age):
        return float(line.wear(age) - line.half_width(age)) - allowance

    low, high = brentq(upper, TIMES[0], 1e9), brentq(lower, TIMES[0], 1e9)
    assert found.time_low + TIMES[-1] == pytest.approx(low, rel=1e-9)
    assert found.time_high + TIMES[-1] == pytest.approx(high, rel=1e-9)
    assert found.time_low < found.time_left < found.time_high


@pytest.mark.parametrize("beds_in", [False, True])
@pytest.mark.parametrize("known_scatter", [False, True])
def test_nine_in_ten_intervals_hold_the_true_life(beds_in, known_scatter):
    rng = np.random.default_rng(20)
    offset = 20e-6 if beds_in else 0.0
    truth = (LIMIT - NEW - offset) / RATE - TIMES[-1]
    scatter, runs, held = 5e-6, 3000, 0
    for _ in range(runs):
        sizes = NEW + offset + RATE * TIMES + rng.normal(0.0, scatter, 4)
        found = wear_life(
            jobs(TIMES, sizes), NEW, LIMIT, beds_in=beds_in,
            scatter=scatter if known_scatter else None,
        )  # fmt: skip
        held += found.time_low <= truth <= found.time_high
    assert held / runs == pytest.approx(0.90, abs=0.03)


def test_interval_over_changed_parts_holds_the_true_life():
    rng = np.random.default_rng(21)
    runs, held, early = 3000, 0, 0
    for _ in range(runs):
        noise = rng.normal(0.0, 5e-6, 3)
        found = wear_life(
            [
                Measurement(900 * HOUR, NEW + RATE * 900 * HOUR + noise[0]),
                Measurement(2000 * HOUR, NEW + RATE * 2000 * HOUR + noise[1], fitted=NEW),
                Measurement(3500 * HOUR, NEW + RATE * 1500 * HOUR + noise[2]),
            ],
            NEW,
            LIMIT,
        )
        truth = (LIMIT - NEW) / RATE - 1500 * HOUR
        held += found.time_low <= truth <= found.time_high
        early += found.next_service <= truth
    assert held / runs == pytest.approx(0.90, abs=0.03)
    assert early / runs >= 0.94


def test_a_changed_part_starts_again_from_its_own_size():
    oversize = NEW + 0.02e-3
    found = wear_life(
        [
            Measurement(1000 * HOUR, NEW + 0.05e-3),
            Measurement(2000 * HOUR, NEW + 0.10e-3, fitted=oversize),
            Measurement(3000 * HOUR, oversize + 0.05e-3),
        ],
        NEW,
        LIMIT,
    )
    assert found.line.rate * HOUR == pytest.approx(0.05e-6)
    assert found.age == pytest.approx(1000 * HOUR)
    assert found.time_left / HOUR == pytest.approx(0.23e-3 / 0.05e-6 - 1000.0)
    assert [life.fitted for life in found.lives] == [NEW, oversize]
    assert [life.until for life in found.lives] == [2000 * HOUR, None]


def test_a_part_just_fitted_has_its_whole_life_left():
    found = wear_life(
        [
            Measurement(1000 * HOUR, NEW + 0.05e-3),
            Measurement(2000 * HOUR, NEW + 0.10e-3),
            Measurement(2500 * HOUR, None, fitted=NEW),
        ],
        NEW,
        LIMIT,
    )
    assert found.age == 0.0
    assert found.time_left / HOUR == pytest.approx(5000.0)
    assert found.off_line == 0.0


def test_one_interval_needs_the_scatter_of_a_reading():
    one = [Measurement(1000 * HOUR, NEW + 0.05e-3)]
    with pytest.raises(ValueError, match="standard deviation"):
        wear_life(one, NEW, LIMIT)
    found = wear_life(one, NEW, LIMIT, scatter=5e-6)
    half = 1.6449 * 5e-6 / (1000 * HOUR)  # normal, 90 % two-sided
    assert found.line.rate_high - found.line.rate == pytest.approx(half, rel=1e-4)
    assert found.time_low / HOUR == pytest.approx(
        0.25e-3 / (0.05e-6 + half * HOUR) - 1000.0, rel=1e-4
    )


def test_readings_rougher_than_the_scatter_given_count_with_their_own():
    sizes = NEW + RATE * TIMES + np.array([30e-6, -30e-6, 30e-6, -30e-6])
    given_too_small = wear_life(jobs(TIMES, sizes), NEW, LIMIT, scatter=1e-6)
    assert given_too_small.line == wear_life(jobs(TIMES, sizes), NEW, LIMIT).line


def test_no_wear_is_said_and_lasts_for_ever():
    found = wear_life(jobs(TIMES, [NEW] * 4), NEW, LIMIT)
    assert found.verdict == "no wear seen"
    assert math.isinf(found.time_left)
    assert math.isinf(found.next_service)
    assert math.isinf(found.time_high)


def test_no_wear_within_scatter_still_gives_a_next_service():
    sizes = NEW + np.array([2e-6, -3e-6, 1e-6, -1e-6])
    found = wear_life(jobs(TIMES, sizes), NEW, LIMIT)
    assert found.verdict == "no wear seen"
    assert math.isinf(found.time_left)
    assert found.next_service == pytest.approx(0.25e-3 / found.line.rate_high - TIMES[-1])


def test_wear_that_scatter_might_feign_has_no_upper_end():
    sizes = NEW + np.array([12e-6, -8e-6, 9e-6, -3e-6])
    found = wear_life(jobs(TIMES, sizes), NEW, LIMIT)
    assert found.verdict == "within the scatter"
    assert math.isfinite(found.time_left)
    assert math.isinf(found.time_high)


@pytest.mark.parametrize("limit", [LIMIT, NEW - 0.25e-3])
def test_growth_away_from_the_limit_is_refused(limit):
    growing = 1 if limit > NEW else -1
    with pytest.raises(ValueError, match="away from its limit"):
        wear_life(jobs(TIMES, NEW - growing * RATE * TIMES), NEW, limit)


def test_past_the_limit_nothing_is_left():
    found = wear_life(jobs(TIMES, NEW + 2.0 * RATE * TIMES), NEW, LIMIT)
    assert found.verdict == "at the limit"
    assert (found.time_left, found.time_high, found.next_service) == (0.0, 0.0, 0.0)


def test_rods_shrink_as_bores_grow():
    wear = RATE * TIMES + np.array([3e-6, -4e-6, 2e-6, -1e-6])
    bore = wear_life(jobs(TIMES, NEW + wear), NEW, NEW + 0.25e-3)
    rod = wear_life(jobs(TIMES, NEW - wear), NEW, NEW - 0.25e-3)
    assert rod.time_left == pytest.approx(bore.time_left)
    assert rod.time_low == pytest.approx(bore.time_low)
    assert rod.off_line == pytest.approx(bore.off_line)


def test_a_part_worn_above_the_line_is_looked_at_sooner():
    usual = [
        Measurement(1000 * HOUR * k, NEW + 0.05e-3 + 1e-6 * (-1) ** k, fitted=NEW)
        for k in range(1, 9)
    ]
    fast = [*usual, Measurement(8500 * HOUR, NEW + 0.10e-3)]
    found = wear_life(fast, NEW, LIMIT)
    assert found.off_line > 0.05e-3
    assert found.next_service == pytest.approx(0.15e-3 / found.line.rate_high)
    assert found.next_service < found.time_low


@pytest.mark.parametrize("beds_in", [False, True])
def test_one_misread_size_is_pointed_out(beds_in):
    times = np.arange(1, 9) * 500.0 * HOUR
    sizes = NEW + RATE * times + np.array([1, -1, 1, 0, -1, 1, -1, 0]) * 1e-6
    assert wear_life(jobs(times, sizes), NEW, LIMIT, beds_in=beds_in).line.odd == ()
    sizes[5] += 0.5e-3  # a turn of the thimble
    line = wear_life(jobs(times, sizes), NEW, NEW + 2e-3, beds_in=beds_in).line
    assert line.odd == (5,)
    assert line.median_rate == pytest.approx(RATE, rel=0.02)
    assert line.rate > 1.1 * RATE


def test_four_readings_are_too_few_to_call_one_odd():
    sizes = NEW + RATE * TIMES + np.array([0.0, 0.0, 0.3e-3, 0.0])
    assert wear_life(jobs(TIMES, sizes), NEW, NEW + 2e-3).line.odd == ()


def test_single_interval_formulas_with_units():
    rate = wear_rate("0.05 mm", "1000 h")
    assert time_to_limit("0.2 mm", rate).to("h").magnitude == pytest.approx(4000.0)
    assert math.isinf(time_to_limit.si(1e-3, 0.0))


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: wear_life([], NEW, LIMIT), "no size was measured"),
        (lambda: wear_life([Measurement(1.0, None, NEW)], NEW, LIMIT), "no size was measured"),
        (lambda: wear_life([Measurement(1.0, None)], NEW, LIMIT), "neither size nor new part"),
        (lambda: wear_life(jobs([2.0, 1.0], [NEW, NEW]), NEW, LIMIT), "go up from job to job"),
        (lambda: wear_life(jobs([math.nan], [NEW]), NEW, LIMIT), "go up from job to job"),
        (lambda: wear_life(jobs(TIMES, [NEW] * 4), NEW, NEW), "differs from it"),
        (lambda: wear_life(jobs(TIMES, [-NEW] * 4), NEW, LIMIT), "measured size"),
        (lambda: wear_life(jobs(TIMES, [NEW] * 4), NEW, LIMIT, scatter=0.0), "scatter"),
        (lambda: wear_life(jobs(TIMES, [NEW] * 4), NEW, LIMIT, confidence=90.0), "confidence"),
        (lambda: wear_life(
            [*jobs(TIMES, NEW + RATE * TIMES), Measurement(1e8, None, LIMIT)], NEW, LIMIT),
         "at or past its limit"),
        (lambda: wear_life(jobs(TIMES[:1], [NEW]), NEW, LIMIT, beds_in=True, scatter=1e-6),
         "two running times"),
        (lambda: running_times([100.0, -5.0]), "running time between jobs"),
    ],
)  # fmt: skip
def test_refusals_say_what_was_given(call, said):
    with pytest.raises(ValueError, match=said):
        call()
