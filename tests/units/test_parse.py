"""Shop spellings: understood, echoed canonically, or asked about."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.units import DIMENSIONS, UnitProblem, from_unit, parse_amount, to_unit
from rebuildbook.units.parse import dimension_of, parse_quantity, parse_unit
from rebuildbook.units.show import number, shop_unit, show

ECHOED = [
    ("18 ft-lb", "torque", "18 ft·lbf"),
    ("18 lb-ft", "torque", "18 ft·lbf"),
    ("18 ft·lbf", "torque", "18 ft·lbf"),
    ("18 FT-LBS", "torque", "18 ft·lbf"),
    ("18 foot-pounds", "torque", "18 ft·lbf"),
    ("180 in-lb", "torque", "180 in·lbf"),
    ("180 inlb", "torque", "180 in·lbf"),
    ("24 Nm", "torque", "24 N·m"),
    ("24 N-m", "torque", "24 N·m"),
    ("24 N m", "torque", "24 N·m"),
    ("2.4 kgf-m", "torque", "2.4 kgf·m"),
    ("4 oz-in", "torque", "4 ozf·in"),
    ("21 to 24 N*m", "torque", "21 to 24 N·m"),
    ("21–24 N*m", "torque", "21 to 24 N·m"),
    ("21 - 24 N*m", "torque", "21 to 24 N·m"),
    ("20 N*m ± 5 %", "torque", "20 N·m ± 1 N·m"),
    ("90 psi", "pressure", "90 psi"),
    ("90 psig", "pressure", "90 psi (gauge)"),
    ("14.7 psia", "pressure", "14.7 psi (absolute)"),
    ("6 barg", "pressure", "6 bar (gauge)"),
    ("6 bar(g)", "pressure", "6 bar (gauge)"),
    ("5 psid", "pressure", "5 psi"),
    ("5 thou", "length", "5 thou"),
    ("5 mil", "length", "5 thou"),
    ("5/16 in", "length", "0.3125 in"),
    ("1 1/2 in", "length", "1.5 in"),
    ("1-1/2 in", "length", "1.5 in"),
    ("1½ in", "length", "1.5 in"),
    ('1/2"', "length", "0.5 in"),
    ("1/2 to 5/8 in", "length", "0.5 to 0.625 in"),
    ("± 2 thou", "length", "± 2 thou"),
    ("+/- 2 thou", "length", "± 2 thou"),
    ("63.5 mm ± 0.05 mm", "length", "63.5 mm ± 0.05 mm"),
    ("63.5 ± 0.05 mm", "length", "63.5 mm ± 0.05 mm"),
    ("63.5 mm +0.05/-0.02", "length", "63.5 mm +0.05 mm / −0.02 mm"),
    ("20 °C", "temperature", "20 °C"),
    ("68°F", "temperature", "68 °F"),
    ("-5 °C to 40 °C", "temperature", "−5 to 40 °C"),
    ("3 lb", "mass", "3 lb"),
    ("3 lb", "force", "3 lbf"),
    ("2 lb/in", "spring rate", "2 lbf/in"),
    ("62.4 lb/ft3", "density", "62.4 lb/ft³"),
    ("950 rpm", "rate", "950 /min"),
    ("40 cycles/min", "rate", "40 /min"),
    ("33 700 N", "force", "33700 N"),
    ("120 mPa*s", "viscosity", "120 mPa·s"),
    ("± 4 %", "fraction", "± 4 %"),
    ("0.18", "number", "0.18"),
]


@pytest.mark.parametrize(("text", "dimension", "echo"), ECHOED)
def test_a_shop_spelling_is_echoed_in_its_canonical_form(text, dimension, echo):
    assert parse_amount(text, dimension).canonical == echo


@pytest.mark.parametrize(("text", "dimension", "echo"), ECHOED)
def test_the_echo_reads_back_as_the_same_quantity(text, dimension, echo):
    first = parse_amount(text, dimension)
    again = parse_amount(echo.replace(" (gauge)", "").replace(" (absolute)", ""), dimension)
    assert again.low == pytest.approx(first.low, rel=1e-9, abs=1e-15)
    assert again.high == pytest.approx(first.high, rel=1e-9, abs=1e-15)


ASKED = [
    ("21", "torque", "no unit"),
    ("21,5 N*m", "torque", "decimal point"),
    ("1,000 psi", "pressure", "thousands"),
    ("5 lb", "torque", "ft*lbf or in*lbf"),
    ("5 kg-m", "torque", "kgf"),
    ("12 J", "torque", "energy"),
    ("24 mm", "torque", "not a torque"),
    ("40 strokes/min", "rate", "two strokes"),
    ("5 mm2", "length", "not a length"),
    ("nan bar", "pressure", "not a number"),
    ("inf mm", "length", "not a number"),
    ("24 to 21 N*m", "torque", "backwards"),
    ("10 psia to 5 psig", "pressure", "mixes gauge and absolute"),
    ("1/0 in", "length", "divides by zero"),
    ("12 fot", "length", "foot"),
    ("120 mpa", "stress", "capital letters"),
    ("", "length", "nothing was given"),
    ("bar 5", "pressure", "begin with a number"),
    ("5 10 mm", "length", "not a unit"),
    ("1e40 mm", "length", "too large"),
]


@pytest.mark.parametrize(("text", "dimension", "words"), ASKED)
def test_what_could_be_wrong_is_asked_about_with_what_was_given(text, dimension, words):
    with pytest.raises(UnitProblem, match=words.replace("*", r"\*")) as caught:
        parse_amount(text, dimension)
    assert text in str(caught.value)


def test_a_bare_pound_is_asked_about_where_nothing_says_which():
    with pytest.raises(UnitProblem, match="lbf for force or lbm for mass"):
        parse_quantity("5 lb")
    with pytest.raises(UnitProblem, match="lbf for force or lbm for mass"):
        dimension_of("5 lb")


def test_a_form_that_the_field_does_not_take_is_refused():
    with pytest.raises(UnitProblem, match="range; wanted a single value"):
        parse_amount("21 to 24 N*m", "torque", allow=("single",))


@pytest.mark.parametrize("unit", ["ft-lb", "LB-FT", "ftlb", "lbf·ft"])
def test_every_spelling_of_the_foot_pound_is_one_unit(unit):
    assert parse_unit(unit, "torque") == ("ft*lbf", "")


@given(st.floats(1e-6, 1e6), st.sampled_from(sorted(DIMENSIONS)))
def test_si_and_every_shown_unit_are_inverse(value, dimension):
    kind = DIMENSIONS[dimension]
    for unit in {*kind.metric, *kind.us}:
        assert to_unit(from_unit(value, unit), unit) == pytest.approx(value, rel=1e-9, abs=1e-9)


@given(st.floats(1e-3, 1e5), st.sampled_from(["N*m", "ft*lbf", "in*lbf", "kgf*m", "ozf*in"]))
def test_a_written_torque_reads_back(value, unit):
    amount = parse_amount(f"{value!r} {unit}", "torque")
    assert amount.nominal == pytest.approx(from_unit(value, unit), rel=1e-12)
    assert amount.unit == unit


@given(st.text(max_size=30), st.sampled_from(sorted(DIMENSIONS)))
def test_any_text_is_read_or_refused_in_words(text, dimension):
    try:
        amount = parse_amount(text, dimension)
    except UnitProblem as problem:
        assert str(problem)
    else:
        assert all(map(math.isfinite, (amount.low, amount.nominal, amount.high)))


@given(st.floats(-1e8, 1e8, allow_nan=False), st.integers(2, 6))
def test_a_shown_number_is_the_number_to_its_figures(value, digits):
    shown = float(number(value, digits).replace("\u202f", "").replace("−", "-"))
    assert shown == pytest.approx(value, rel=0.6 * 10 ** (1 - digits), abs=1e-300)


def test_small_torques_are_shown_in_inch_pounds():
    assert show(5.0, shop_unit("torque", "us", 5.0)) == "44.3 in·lbf"
    assert show(50.0, shop_unit("torque", "us", 50.0)) == "36.9 ft·lbf"
