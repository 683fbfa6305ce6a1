"""Control chart: limits by hand, and the laws that they keep."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from rebuildbook.calculators.control_chart import individuals, spread

READINGS = st.lists(st.floats(1.0, 1000.0), min_size=2, max_size=40)


def test_limits_by_hand():
    # steps 2, 1, 3: mean 2; mean of 10, 12, 11, 14 is 11.75; 3 * 2 / 1.128 = 5.3191
    chart = individuals([10.0, 12.0, 11.0, 14.0])
    assert chart.mean == pytest.approx(11.75)
    assert chart.moving_range == pytest.approx(2.0)
    assert (chart.low, chart.high) == pytest.approx((11.75 - 5.319149, 11.75 + 5.319149))
    assert chart.outside == ()


def test_readings_that_are_not_usual_are_held_against_the_limits_and_do_not_make_them():
    values = [10.0, 12.0, 120.0, 11.0, 14.0]
    chart = individuals(values, [value < 100.0 for value in values])
    assert (chart.mean, chart.moving_range) == pytest.approx((11.75, 2.0))
    assert chart.outside == (2,)
    assert chart.values == tuple(values)


def test_equal_readings_are_all_inside_and_any_other_is_outside():
    assert individuals([33.1] * 9).outside == ()
    assert individuals([33.1] * 9 + [40.0], [True] * 9 + [False]).outside == (9,)


@given(READINGS, st.floats(-50.0, 50.0), st.floats(0.1, 10.0))
def test_shift_and_unit_do_not_change_who_is_outside(values, shift, scale):
    chart = individuals(values)
    edges = [abs(value - edge) for value in values for edge in (chart.low, chart.high)]
    assume(min(edges) > 1e-6 * max(values))
    other = individuals([scale * value + shift for value in values])
    assert other.outside == chart.outside
    assert other.moving_range == pytest.approx(scale * chart.moving_range, abs=1e-9)


@given(READINGS)
def test_the_order_counts_for_the_limits_and_not_for_the_mean(values):
    # in rising order the steps add up to the range and to nothing more
    chart = individuals(sorted(values))
    span = max(values) - min(values)
    assert chart.moving_range == pytest.approx(span / (len(values) - 1), abs=1e-9)
    assert chart.mean == pytest.approx(individuals(values).mean)
    assert chart.moving_range <= individuals(values).moving_range + 1e-9


@pytest.mark.parametrize("values", [[], [1.0], [1.0, math.nan], [1.0, math.inf]])
def test_too_few_and_no_numbers_are_refused(values):
    with pytest.raises(ValueError, match=r"given|no number"):
        individuals(values)


def test_scatter_of_a_sample():
    assert spread([3.0]) == 0.0
    assert spread([2.0, 4.0]) == pytest.approx(math.sqrt(2.0))
    with pytest.raises(ValueError, match="no reading"):
        spread([])
