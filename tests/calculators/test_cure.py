"""Times of what sets: each to its safe side, by the law of its factor."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.cure import (
    TIMES_AT,
    SettingTimes,
    at_temperature,
    setting_slower,
)

GIVEN = SettingTimes(300.0, 1200.0, 86400.0)
WARMTH = st.floats(250.0, 350.0)


def test_ten_and_twenty_kelvin_colder():
    assert setting_slower.si(TIMES_AT - 10.0, TIMES_AT, 2.0) == pytest.approx(2.0)
    assert setting_slower.si(TIMES_AT - 20.0, TIMES_AT, 2.0) == pytest.approx(4.0)
    assert setting_slower.si(TIMES_AT - 10.0, TIMES_AT, 3.0) == pytest.approx(3.0)


@given(WARMTH, WARMTH, WARMTH, st.floats(1.0, 5.0))
def test_factors_multiply_along_the_way(one, other, third, slower):
    whole = setting_slower.si(one, third, slower)
    steps = setting_slower.si(one, other, slower) * setting_slower.si(other, third, slower)
    assert whole == pytest.approx(steps)


@given(WARMTH, st.floats(1.0, 5.0))
def test_no_time_is_taken_to_its_bold_side(temperature, slower):
    found = at_temperature(GIVEN, temperature, TIMES_AT, slower)
    assert found.working <= GIVEN.working
    assert found.fixture >= GIVEN.fixture
    assert found.cure >= GIVEN.cure
    # one of the two sides is left as given
    assert found.working == GIVEN.working or found.cure == GIVEN.cure


@given(WARMTH, WARMTH)
def test_colder_is_never_sooner(one, other):
    cold, warm = sorted((one, other))
    assert at_temperature(GIVEN, cold).cure >= at_temperature(GIVEN, warm).cure
    assert at_temperature(GIVEN, cold).working >= at_temperature(GIVEN, warm).working


def test_what_nobody_gives_stays_unknown():
    assert at_temperature(SettingTimes(), 280.0) == SettingTimes()


@pytest.mark.parametrize(
    ("times", "temperature", "slower", "words"),
    [
        (SettingTimes(cure=0.0), 290.0, 2.0, "above zero"),
        (SettingTimes(cure=float("nan")), 290.0, 2.0, "above zero"),
        (GIVEN, 290.0, 0.5, "no less than 1"),
        (GIVEN, 0.0, 2.0, "above zero"),
    ],
)
def test_what_cannot_be_is_refused(times, temperature, slower, words):
    with pytest.raises(ValueError, match=words):
        at_temperature(times, temperature, slower=slower)
