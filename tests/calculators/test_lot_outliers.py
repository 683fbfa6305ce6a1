"""Odd readings of a lot, told by median and median deviation."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from rebuildbook.calculators.lot_outliers import LEAST_LOT, judge_lot

LOTS = st.lists(st.floats(1.0, 1e3), min_size=LEAST_LOT, max_size=40)


@given(LOTS)
def test_the_spread_is_scipys_scaled_median_deviation(values):
    lot = judge_lot(values)
    assert lot.spread == pytest.approx(stats.median_abs_deviation(values, scale="normal"), abs=1e-9)


@given(LOTS, st.floats(0.1, 10.0))
def test_the_unit_does_not_matter(values, factor):
    scaled = judge_lot([value * factor for value in values], mark=0.5 * factor)
    assert scaled.odd == judge_lot(values, mark=0.5).odd


@given(LOTS)
def test_less_than_half_of_a_lot_is_ever_odd(values):
    assert 2 * len(judge_lot(values).odd) <= len(values)


@given(st.integers(LEAST_LOT, 20), st.floats(10.0, 100.0))
def test_a_gross_error_cannot_hide_itself(count, value):
    assert judge_lot([*[value] * count, 12.0 * value], mark=1.0).odd == (count,)


@given(st.lists(st.sampled_from([36.0, 37.0, 38.0]), min_size=LEAST_LOT, max_size=30))
def test_one_mark_off_the_median_is_no_wonder(values):
    middle = judge_lot(values, mark=1.0).median
    odd = judge_lot(values, mark=1.0).odd
    assert all(abs(values[place] - middle) > 1.0 for place in odd)


def test_small_lots_are_not_judged():
    lot = judge_lot([37.0, 37.0, 37.0, 370.0])
    assert (lot.judged, lot.odd, lot.median) == (False, (), 37.0)
    assert judge_lot([]).median == 0.0


@pytest.mark.parametrize(("values", "mark"), [([1.0, math.nan], 0.0), ([1.0], -1.0)])
def test_what_is_no_lot_is_refused(values, mark):
    with pytest.raises(ValueError):
        judge_lot(values, mark)
