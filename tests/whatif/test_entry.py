"""A knob reads what is typed as the sheets read it, and its slider keeps the window's width."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.sheets.fields import Quantity
from rebuildbook.units import parse_amount
from rebuildbook.whatif.entry import Entry, Refused
from rebuildbook.whatif.question import Knob

WINDOW = Quantity("torque", ("range", "tolerance"))
EITHER = Quantity("torque", ("single", "tolerance", "range"))
LENGTH = Quantity("length")
ABSOLUTE = Quantity("pressure", ("single",), reference="absolute")
SPREAD = Quantity("fraction", ("spread",))


def entry(takes, text, low=10.0, high=60.0, unit="N*m", other="ft*lbf"):
    return Entry(Knob("k", "K", "a.b", text, low, high, unit, other), takes, text)


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("18 ft*lbf", "24.4 N·m = 18.0 ft·lbf"),
        ("18 ft-lb", "24.4 N·m = 18.0 ft·lbf"),
        ("21 to 24 Nm", "21.0 to 24.0 N·m = 15.5 to 17.7 ft·lbf"),
        ("24 N*m ± 10 %", "21.6 to 26.4 N·m = 15.9 to 19.5 ft·lbf"),
    ],
)
def test_units_are_taken_as_typed_and_shown_in_both_systems(typed, shown):
    made = entry(EITHER, "30 N*m").typed(typed)
    assert (made.text, made.both, made.changed) == (typed, shown, True)


def test_a_single_value_in_the_field_of_a_window_goes_to_its_middle():
    made = entry(WINDOW, "30 to 50 N*m").typed("20 N*m")
    assert made.text == "15 to 25 N*m"
    in_feet = entry(WINDOW, "30 to 50 N*m").typed("18 ft*lbf")
    assert in_feet.text == "13.5 to 22.5 ft*lbf"


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("18", "has no unit"),
        ("18 mm", "not a torque"),
        ("18,5 N*m", "comma"),
        ("30 to 20 N*m", "backwards"),
        ("-5 N*m", "negative"),
        ("a lot", "does not begin with a number"),
        ("{0} N*m", "does not begin with a number"),
    ],
)
def test_wrong_input_is_refused_in_the_words_of_the_sheets(typed, words):
    with pytest.raises(Refused, match=words):
        entry(WINDOW, "30 to 50 N*m").typed(typed)


def test_a_choice_takes_its_words_only():
    made = Entry(Knob("c", "C", "a.c", "dry", 0, 0, "", choices=("dry", "oiled")), None, "dry")
    assert made.typed("oiled").as_set == "a.c=oiled"
    with pytest.raises(Refused, match="dry, oiled"):
        made.typed("wet")


def test_nothing_typed_goes_back_to_the_sheets():
    made = entry(EITHER, "30 N*m").typed("20 N*m")
    assert made.typed("  ").text == "30 N*m"
    assert not made.typed("").changed


@pytest.mark.parametrize("same", ["30.0 Nm", "30 N·m", "30 to 30 N*m"])
def test_another_spelling_of_the_same_is_no_change(same):
    made = entry(EITHER, "30 N*m").typed(same)
    assert made.text == same
    assert not made.changed


def test_absolute_pressures_stay_absolute_and_spreads_spreads():
    pressure = entry(ABSOLUTE, "26 mbar abs", 5.0, 100.0, "mbar", "psi")
    assert pressure.slid(50.0).text == "50 mbar (absolute)"
    assert pressure.slid(50.0).both == "50.0 mbar absolute = 0.725 psi absolute"
    accuracy = entry(SPREAD, "± 4 %", 1.0, 10.0, "%", "")
    assert accuracy.slid(2.0).text == "± 2 %"
    assert accuracy.slid(2.0).place == pytest.approx(2.0)


def test_a_field_that_the_sheets_leave_out():
    made = entry(EITHER, "")
    assert not made.changed
    assert made.place == 35.0  # the middle
    assert made.both.startswith("not given")
    assert made.slid(20.0).changed
    assert made.slid(20.0).reset().text == ""


@given(
    low=st.floats(5.0, 100.0), width=st.floats(0.01, 0.8), place=st.floats(1.0, 200.0),
)  # fmt: skip
def test_the_slider_moves_the_middle_and_keeps_the_half_width_as_a_share(low, width, place):
    sheet = parse_amount(f"{low:.6g} to {low * (1 + width):.6g} N*m", "torque")
    made = entry(WINDOW, sheet.text, 1.0, 200.0).slid(place)
    now = made.amount(made.text)
    share = (sheet.high - sheet.low) / (sheet.high + sheet.low)
    assert now.nominal == pytest.approx(place, rel=1e-4)
    assert (now.high - now.low) / (now.high + now.low) == pytest.approx(share, abs=1e-4)


@given(
    low=st.floats(-50.0, 50.0), width=st.floats(1e-3, 1e4), share=st.floats(0.0, 1.0),
)  # fmt: skip
def test_stops_are_round_steps_inside_the_ends_and_near_what_is_given(low, width, share):
    high = low + width
    text = f"{low + share * width!r} mm"
    made = Entry(Knob("k", "K", "a.b", text, low, high, "mm"), _Any(), text)
    first, last = made.stops
    slack = 1e-5 * made.step
    assert low - slack <= first <= made.stop <= last <= high + slack
    assert abs(made.stop - (low + share * width)) <= made.step * 1.001
    assert width / made.step >= 99.9
    mantissa = made.step / 10 ** math.floor(math.log10(made.step) + 1e-9)
    assert round(mantissa, 9) in {1.0, 2.0, 5.0}


class _Any(Quantity):
    """A length of any sign."""

    def __init__(self):
        super().__init__("length", ("single",), sign="any")


@given(value=st.floats(10.0, 60.0))
def test_a_browser_that_answers_with_its_stop_says_nothing_new_and_the_next_stop_does(value):
    made = entry(EITHER, "33.3 N*m").typed(f"{value!r} N*m")
    assert made.is_here(made.stop + 1e-12)
    for step in (-made.step, made.step):
        assert not made.is_here(made.stop + step)
        moved = made.slid(made.stop + step)
        if 10.0 <= made.stop + step <= 60.0:
            assert moved.stop == pytest.approx(made.stop + step)
