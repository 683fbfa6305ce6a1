"""The relief check: its rules, its capacity, and every comparison at and beyond its edge."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from rebuildbook.calculators.relief import (
    PressureLimit,
    ReliefInputs,
    ReliefRules,
    assess_relief,
    pressure_rise,
    relief_pressures,
    reseat_pressure,
    set_tolerance,
)
from rebuildbook.calculators.relief_capacity import (
    next_orifice,
    relief_capacity,
    relief_flow,
    relief_reynolds,
    relief_viscosity_factor,
    required_relief_area,
    uncertified_relief_flow,
)
from rebuildbook.calculators.relief_pressures import PSI

BAR = 1e5

# a pump in order: works at 6 bar, relief at 8.5, weakest part 10, stalls at 9.6 or at most 12
GOOD = ReliefInputs(
    parts=(
        PressureLimit("outlet manifold", 16 * BAR, 24 * BAR),
        PressureLimit("fluid cylinder", 10 * BAR, 15 * BAR),
    ),
    working=6 * BAR,
    set_planned=8.5 * BAR,
    set_read=8.55 * BAR,
    blowdown=0.15,
    range_low=5 * BAR,
    range_high=12 * BAR,
    stall=9.6 * BAR,
    stall_max=12 * BAR,
    test=8 * BAR,
    orifice_area=71e-6,
    discharge_coefficient=0.65,
    density=1650.0,
    viscosity=0.12,
    largest_flow=40 / 60_000,
)


def level(name, **changes):
    return assess_relief(replace(GOOD, **changes)).comparison(name).level


def words(name, **changes):
    return assess_relief(replace(GOOD, **changes)).comparison(name).words


def test_a_pump_in_order_is_clear_throughout():
    check = assess_relief(GOOD)
    assert {c.id: c.level for c in check.comparisons if c.level != "clear"} == {}
    assert check.level == "clear"
    assert len(check.comparisons) == 12
    assert check.pressures.weakest.name == "fluid cylinder"


# rules


def test_tolerance_changes_at_70_psi():
    given_psi = np.array([10.0, 70.0, 70.1, 200.0]) * PSI
    assert set_tolerance.si(given_psi) / PSI == pytest.approx([2.0, 2.0, 2.103, 6.0])


@given(st.floats(1e3, 1e8))
def test_rise_is_a_tenth_but_never_below_3_psi(pressure):
    rise = float(pressure_rise.si(pressure))
    assert rise >= 3 * PSI * (1 - 1e-12)
    assert rise == pytest.approx(max(0.1 * pressure, 3 * PSI))


@pytest.mark.parametrize("blowdown", [-0.1, 1.0, math.nan])
def test_blowdown_is_a_share(blowdown):
    with pytest.raises(ValueError, match="blowdown is"):
        reseat_pressure.si(10 * BAR, blowdown)


def test_the_reading_goes_before_the_plan():
    at = relief_pressures(GOOD)
    assert at.set == 8.55 * BAR
    assert at.opens_low == pytest.approx(8.55 * BAR * 0.97)
    assert at.opens_high == pytest.approx(8.55 * BAR * 1.03)
    assert at.relieving == pytest.approx(8.55 * BAR * 1.03 * 1.1)
    assert at.reseat == pytest.approx(8.55 * BAR * 0.97 * 0.85)


def test_a_closer_tolerance_and_a_known_band_go_before_the_rule():
    assert relief_pressures(replace(GOOD, tolerance=0.01)).opens_high == pytest.approx(8.6355e5)
    at = relief_pressures(replace(GOOD, set_low=8.4 * BAR, set_high=8.6 * BAR))
    assert (at.opens_low, at.opens_high) == (8.4 * BAR, 8.6 * BAR)


def test_back_pressure_lifts_the_opening_of_an_unbalanced_valve_only():
    plain = relief_pressures(GOOD)
    behind = relief_pressures(replace(GOOD, back_pressure=0.5 * BAR))
    balanced = relief_pressures(replace(GOOD, back_pressure=0.5 * BAR, balanced=True))
    assert behind.opens_high == pytest.approx(plain.opens_high + 0.5 * BAR)
    assert behind.opens_low == plain.opens_low
    assert balanced.opens_high == plain.opens_high


def test_a_reseat_that_was_read_goes_before_the_blowdown():
    assert relief_pressures(replace(GOOD, reseat_read=7.0 * BAR)).reseat == 7.0 * BAR


# capacity


@given(st.floats(1e-5, 1e-2), st.floats(1e4, 1e8), st.floats(500.0, 2000.0))
def test_area_and_flow_are_inverse(area, drop, density):
    flow = relief_flow.si(area, drop, density, back_pressure_factor=0.9)
    back = required_relief_area.si(flow, drop, density, back_pressure_factor=0.9)
    assert back == pytest.approx(area, rel=1e-12)


def test_a_hole_with_coefficient_one_is_bernoulli():
    # ½ ρ v² = Δp: 2 bar drive water at 20 m/s
    assert relief_flow.si(1e-4, 2e5, 1000.0, discharge_coefficient=1.0) == pytest.approx(2e-3)


def test_uncertified_form_is_the_other_one_at_a_quarter_overpressure():
    flow = uncertified_relief_flow.si(71e-6, 8 * BAR, 1 * BAR, 1000.0, discharge_coefficient=0.65)
    assert flow == pytest.approx(relief_flow.si(71e-6, 9 * BAR, 1000.0))


@given(st.floats(1e-5, 1e-2), st.floats(1e5, 1e8), st.floats(1e-4, 100.0))
def test_capacity_closes_on_its_own_reynolds_number(area, drop, viscosity):
    found = relief_capacity(area, drop, 1200.0, viscosity)
    full = relief_flow.si(area, drop, 1200.0)
    # with k = 170/Re at full flow the 10th-edition form is x² + kx = 1
    k = 170.0 / relief_reynolds.si(full, area, 1200.0, viscosity)
    assert found.viscosity_factor == pytest.approx((math.sqrt(k * k + 4.0) - k) / 2.0, rel=1e-6)
    assert found.flow == pytest.approx(full * found.viscosity_factor, rel=1e-9)


def test_7th_edition_capacity_agrees_with_a_root_search():
    full = relief_flow.si(71e-6, 8e5, 1650.0)
    reynolds = relief_reynolds.si(full, 71e-6, 1650.0, 0.5)
    root = brentq(lambda x: x - relief_viscosity_factor.si(reynolds * x, "7"), 0.5, 1.0)
    found = relief_capacity(71e-6, 8e5, 1650.0, 0.5, edition="7")
    assert found.viscosity_factor == pytest.approx(root, rel=1e-9)


def test_7th_edition_gives_nothing_for_a_paste():
    assert relief_capacity(71e-6, 8e5, 1650.0, 1000.0, edition="7").flow == 0.0


@given(st.floats(1e-3, 10.0), st.floats(1.01, 5.0))
def test_thicker_liquid_lowers_the_capacity(viscosity, more):
    thin = relief_capacity(71e-6, 8e5, 1650.0, viscosity)
    assert relief_capacity(71e-6, 8e5, 1650.0, viscosity * more).flow < thin.flow


@given(st.floats(1.0, 1e6), st.sampled_from(["7", "10"]))
def test_viscosity_factor_rises_to_one(reynolds, edition):
    low = float(relief_viscosity_factor.si(reynolds, edition))
    assert 0.0 < low <= float(relief_viscosity_factor.si(2 * reynolds, edition)) <= 1.0


def test_next_orifice_is_never_smaller():
    assert next_orifice(71e-6) == ("E", pytest.approx(126.45e-6, rel=1e-4))
    assert next_orifice(70e-6)[0] == "D"
    with pytest.raises(ValueError, match="above the T orifice"):
        next_orifice(0.02)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: relief_flow.si(0.0, 1e5, 1000.0), "orifice area is 0.0"),
        (lambda: relief_flow.si(1e-4, -1.0, 1000.0), "pressure drop is -1.0"),
        (lambda: relief_flow.si(1e-4, 1e5, 1000.0, discharge_coefficient=1.1), "Kd is 1.1"),
        (lambda: relief_viscosity_factor.si(0.0), "Reynolds number is 0.0"),
        (lambda: relief_viscosity_factor.si(100.0, "8"), "edition is '8'"),
        (lambda: required_relief_area.si(1e-3, 0.0, 1000.0), "pressure drop is 0.0"),
        (lambda: uncertified_relief_flow.si(1e-4, 1e5, 2e5, 1000.0), "pressure drop is -75000"),
    ],
)
def test_impossible_capacity_input_is_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()


# comparisons


def test_set_with_its_tolerance_just_at_the_limit_is_clear():
    at_limit = 10 * BAR / 1.03
    assert level("set-vs-limit", set_read=at_limit) == "clear"
    assert level("relieving-vs-limit", set_read=at_limit) == "clear"
    assert level("set-vs-limit", set_read=at_limit * 1.001) == "hold"
    assert level("relieving-vs-limit", set_read=at_limit * 1.001) == "hold"


def test_words_tell_a_set_above_the_limit_from_its_tolerance():
    assert "set pressure is above" in words("set-vs-limit", set_read=10.5 * BAR)
    assert "within the limit, but" in words("set-vs-limit", set_read=9.9 * BAR)


def test_margin_is_positive_on_the_safe_side():
    good = assess_relief(GOOD).comparison("set-vs-limit")
    assert good.margin == pytest.approx(10 * BAR - 8.55 * BAR * 1.03)
    bad = assess_relief(replace(GOOD, set_read=11 * BAR)).comparison("set-vs-limit")
    assert bad.margin == pytest.approx(10 * BAR - 11.33 * BAR)


def test_a_valve_that_needs_a_quarter_of_overpressure_passes_the_limit():
    assert level("relieving-vs-limit", overpressure=0.24) == "clear"  # 8.8065 × 1.24 = 10.92
    assert level("relieving-vs-limit", overpressure=0.25) == "hold"  # 11.008 above 11.0
    assert level("set-vs-limit", overpressure=0.25) == "clear"


def test_back_pressure_can_bring_a_hold():
    assert level("set-vs-limit", back_pressure=1.5 * BAR) == "hold"
    assert level("set-vs-limit", back_pressure=1.5 * BAR, balanced=True) == "clear"


@pytest.mark.parametrize(
    ("working", "expected"), [(7.53, "clear"), (7.6, "query"), (8.29, "query"), (8.3, "hold")]
)
def test_room_between_working_and_opening(working, expected):
    # opens at 8.2935 bar at the lowest: 10 % headroom ends at 7.539 bar
    assert level("set-vs-working", working=working * BAR) == expected


def test_reseat_below_the_working_pressure_is_a_query():
    assert level("reseat-vs-working", blowdown=0.20) == "clear"  # 6.635 against 6.3
    assert level("reseat-vs-working", blowdown=0.25) == "query"
    assert level("reseat-vs-working", reseat_read=6.2 * BAR) == "query"


def test_rules_are_parameters():
    strict = ReliefRules(headroom=0.25, reseat_margin=0.2)
    wide = replace(GOOD, working=6.8 * BAR)
    assert assess_relief(wide).comparison("set-vs-working").level == "clear"
    check = assess_relief(wide, strict)
    assert check.comparison("set-vs-working").level == "query"
    assert check.comparison("reseat-vs-working").level == "query"


def test_drive_that_can_pass_the_limit_without_a_valve_is_a_hold():
    for stalls in ({"stall": 12 * BAR, "stall_max": None}, {"stall_max": 12 * BAR}):
        assert level("stall-vs-limit", fitted=False, **stalls) == "hold"
        assert level("stall-vs-limit", **stalls) == "clear"
    assert level("stall-vs-limit", fitted=False, stall=9 * BAR, stall_max=9.9 * BAR) == "clear"
    assert level("stall-vs-limit", fitted=False, stall=9 * BAR, stall_max=None) == "query"


def test_drive_that_does_not_stall_leaves_only_the_valve():
    check = assess_relief(replace(GOOD, stall=math.inf, stall_max=None))
    assert "does not stall" in check.comparison("stall-vs-limit").words
    assert check.comparison("stall-vs-set").level == "clear"
    alone = assess_relief(replace(GOOD, fitted=False, stall=math.inf, stall_max=None))
    assert alone.level == "hold"
    assert [c.id for c in alone.comparisons] == [
        "stall-vs-limit", "test-vs-limit", "working-vs-limit",
    ]  # fmt: skip
    assert alone.capacity is None


def test_valve_that_never_opens_is_a_query_only_as_sole_protection():
    assert level("stall-vs-set", stall=7 * BAR, stall_max=12 * BAR) == "query"
    assert level("stall-vs-set", stall=7 * BAR, stall_max=9.9 * BAR) == "clear"
    assert level("stall-vs-set", stall=8.5 * BAR) == "query"  # within its tolerance
    assert level("stall-vs-set", stall=9 * BAR) == "clear"


def test_test_pressure_that_may_lift_the_valve_is_a_query():
    assert level("test-vs-set", test=8.2 * BAR) == "clear"
    assert level("test-vs-set", test=8.4 * BAR) == "query"
    said = words("test-vs-set", test=12 * BAR)
    assert "qualified person" in said
    assert "maker's procedure" in said


def test_no_words_tell_anyone_to_defeat_a_valve():
    cases = [GOOD, replace(GOOD, test=20 * BAR), replace(GOOD, stall=7 * BAR), ReliefInputs()]
    cases += [replace(GOOD, set_read=p * BAR) for p in (5, 7, 9.9, 12)]
    said = " ".join(c.words for case in cases for c in assess_relief(case).comparisons).lower()
    for word in ("gag", "plug", "shim", "raise the", "bypass", "remove", "block", "screw"):
        assert word not in said


def test_test_pressure_against_the_parts():
    assert level("test-vs-limit", test=15 * BAR) == "clear"
    assert level("test-vs-limit", test=15.1 * BAR) == "hold"
    bare = (PressureLimit("fluid cylinder", 10 * BAR),)
    assert level("test-vs-limit", test=10 * BAR, parts=bare) == "clear"
    assert level("test-vs-limit", test=11 * BAR, parts=bare) == "hold"
    assert "No test pressure is given" in words("test-vs-limit", test=11 * BAR, parts=bare)


def test_part_that_is_weakest_in_the_test_need_not_be_weakest_at_work():
    parts = (PressureLimit("sight glass", 12 * BAR, 13 * BAR), GOOD.parts[1])
    check = assess_relief(replace(GOOD, parts=parts, test=14 * BAR))
    assert check.comparison("test-vs-limit").right_name == "test limit of sight glass"
    assert check.comparison("set-vs-limit").right_name == "limit of fluid cylinder"


def test_capacity_levels():
    passes = assess_relief(GOOD).capacity.flow
    assert level("capacity", largest_flow=passes) == "clear"
    assert level("capacity", largest_flow=passes * 1.01) == "hold"
    assert level("capacity", largest_flow=passes / 1.05, peak_factor=1.1) == "query"
    assert level("capacity", largest_flow=passes / 1.2, peak_factor=1.1) == "clear"
    assert level("capacity", viscosity=50.0, largest_flow=1e-5) == "query"
    assert level("capacity", viscosity=50.0) == "hold"
    assert level("capacity", discharge_coefficient=None) == "query"
    assert level("capacity", back_pressure=12 * BAR) == "hold"


def test_capacity_is_taken_at_the_lowest_opening_pressure():
    drop = 8.55 * BAR * 0.97 * 1.1 - 0.4 * BAR
    check = assess_relief(replace(GOOD, back_pressure=0.4 * BAR))
    expected = relief_capacity(71e-6, drop, 1650.0, 0.12)
    assert check.capacity.flow == pytest.approx(expected.flow, rel=1e-12)
    assert check.comparison("capacity").dimension == "flow"


def test_range_of_the_valve():
    assert level("set-in-range", range_low=8.5 * BAR) == "clear"
    assert level("set-in-range", range_low=8.52 * BAR) == "hold"  # the plan is below it
    assert level("set-in-range", range_high=8.52 * BAR) == "hold"  # the reading is above it
    found = assess_relief(replace(GOOD, range_high=8.0 * BAR)).comparison("set-in-range")
    assert found.right == 8.0 * BAR
    assert found.margin == pytest.approx(-0.55 * BAR)


def test_reading_against_plan():
    assert level("read-vs-planned", set_read=8.5 * BAR * 1.03) == "clear"
    assert level("read-vs-planned", set_read=8.5 * BAR * 1.031) == "query"
    assert level("read-vs-planned", set_read=8.5 * BAR * 0.969) == "query"


def test_working_pressure_above_a_part():
    assert level("working-vs-limit", working=10.1 * BAR) == "hold"


# what is missing


def test_nothing_known_gives_only_queries_that_say_so():
    check = assess_relief(ReliefInputs())
    assert {c.level for c in check.comparisons} == {"query"}
    for found in check.comparisons:
        assert found.words.startswith("Not checked: ")
        assert found.words.endswith(" missing.")
        assert found.left is found.right is found.margin is None


@pytest.mark.parametrize(
    ("field", "hit"),
    [
        ("working", {"set-vs-working", "reseat-vs-working", "working-vs-limit"}),
        ("set_read", {"read-vs-planned"}),
        ("set_planned", {"read-vs-planned"}),
        ("blowdown", {"reseat-vs-working"}),
        ("range_low", {"set-in-range"}),
        ("range_high", {"set-in-range"}),
        ("stall", {"stall-vs-set"}),
        ("stall_max", set()),
        ("test", {"test-vs-set", "test-vs-limit"}),
        ("orifice_area", {"capacity"}),
        ("density", {"capacity"}),
        ("viscosity", {"capacity"}),
        ("largest_flow", {"capacity"}),
    ],
)
def test_one_thing_missing_stops_only_what_needs_it(field, hit):
    check = assess_relief(replace(GOOD, **{field: None}))
    assert {c.id for c in check.comparisons if "Not checked" in c.words} == hit
    assert all(c.level == ("query" if c.id in hit else "clear") for c in check.comparisons)


def test_missing_things_are_named():
    assert words("capacity", density=None, viscosity=None) == (
        "Not checked: density and viscosity missing."
    )
    assert words("reseat-vs-working", blowdown=None) == (
        "Not checked: blowdown or reseat pressure missing."
    )
    assert words("set-vs-limit", parts=()) == "Not checked: limits of the parts missing."


def test_no_blowdown_at_all_is_a_value_not_a_gap():
    check = assess_relief(replace(GOOD, blowdown=0.0, set_read=None, set_planned=None))
    assert check.comparison("reseat-vs-working").words == "Not checked: set pressure missing."


def test_unknown_comparison_is_refused():
    with pytest.raises(LookupError, match="no comparison 'x'; there are"):
        assess_relief(GOOD).comparison("x")


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"working": -1.0}, "working is -1.0"),
        ({"test": math.nan}, "test is nan"),
        ({"set_read": math.inf}, "set_read is infinite"),
        ({"tolerance": 3.0}, "tolerance is 3.0"),
        ({"blowdown": 15.0}, "blowdown is 15.0"),
        ({"set_low": 9e5, "set_high": 8e5}, "the low one is larger"),
        ({"range_low": 13e5}, "the low one is larger"),
        ({"peak_factor": 0.9}, "peak_factor is 0.9"),
    ],
)
def test_impossible_inputs_are_refused(changes, message):
    with pytest.raises(ValueError, match=message):
        replace(GOOD, **changes)


# laws

ORDER = ["clear", "query", "hold"]
pressures = st.floats(0.5, 30.0)


@given(pressures, st.floats(1.001, 3.0))
def test_a_higher_set_never_betters_its_standing_to_the_limit(low, more):
    for name in ("set-vs-limit", "relieving-vs-limit"):
        first = level(name, set_read=low * BAR)
        second = level(name, set_read=low * more * BAR)
        assert ORDER.index(second) >= ORDER.index(first)


@given(pressures, st.floats(1.001, 3.0))
def test_a_higher_working_pressure_never_betters_anything(low, more):
    for name in ("set-vs-working", "reseat-vs-working", "working-vs-limit"):
        first = level(name, working=low * BAR)
        assert ORDER.index(level(name, working=low * more * BAR)) >= ORDER.index(first)


@given(pressures, pressures, pressures, pressures, st.booleans())
def test_the_whole_is_as_bad_as_its_worst_part(working, opens, stall, test, fitted):
    check = assess_relief(
        replace(
            GOOD,
            working=working * BAR,
            set_read=opens * BAR,
            stall=stall * BAR,
            test=test * BAR,
            fitted=fitted,
        )
    )
    assert check.level == max((c.level for c in check.comparisons), key=ORDER.index)
