"""Choosing a torque tool, and judging the one that was used."""

import math
from datetime import date, timedelta

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from rebuildbook.calculators.wrench import (
    Adapter,
    Wrench,
    assess_wrench,
    calibration_on,
    choose_wrench,
    permissible_deviation,
)
from rebuildbook.units import from_unit

TODAY = date(2025, 6, 1)
GOOD = date(2026, 1, 1)


def tool(name="T", *, low=20.0, high=100.0, step=1.0, accuracy=0.04, unit="N*m", **more):
    more.setdefault("calibration_due", GOOD)
    return Wrench(name, low, high, unit, step, accuracy, **more)


def kinds(assessment):
    return [objection.kind for objection in assessment.objections]


def test_the_scatter_is_accuracy_and_half_a_step():
    found = assess_wrench(45.0, 55.0, tool(), on=TODAY)
    assert found.setting == pytest.approx(50.0)
    assert found.delivered_low == pytest.approx(50.0 - 2.0 - 0.5)
    assert found.delivered_high == pytest.approx(50.0 + 2.0 + 0.5)
    assert (found.margin_low, found.margin_high) == pytest.approx((2.5, 2.5))
    assert found.acceptable
    assert found.inside
    assert found.fraction == pytest.approx(0.5)
    assert found.relative_margin == pytest.approx(0.25)


def test_the_adapter_scales_setting_scatter_and_reading_alike():
    """Crowfoot 100 mm straight out on a 400 mm lever: 1.25 at the fastener."""
    wrench = tool(lever=0.4)
    found = assess_wrench(45.0, 55.0, wrench, Adapter("crowfoot", 0.1), on=TODAY)
    assert found.setting == pytest.approx(40.0)
    assert found.nominal == pytest.approx(50.0)
    assert found.delivered_high == pytest.approx((40.0 + 1.6 + 0.5) * 1.25)
    assert found.fraction == pytest.approx(0.4)


def test_square_to_the_wrench_an_adapter_needs_no_lever():
    crowfoot = Adapter("crowfoot", 0.1, math.pi / 2)
    plain = assess_wrench(45.0, 55.0, tool(), on=TODAY)
    turned = assess_wrench(45.0, 55.0, tool(), crowfoot, on=TODAY)
    assert (turned.setting, turned.delivered_low) == (plain.setting, plain.delivered_low)
    with pytest.raises(ValueError, match="grip to drive square is not known"):
        assess_wrench(45.0, 55.0, tool(), Adapter("crowfoot", 0.1), on=TODAY)


def test_the_scale_is_in_its_own_unit():
    wrench = tool(
        low=from_unit(10, "ft*lbf"), high=from_unit(80, "ft*lbf"),
        step=from_unit(0.5, "ft*lbf"), unit="ft*lbf",
    )  # fmt: skip
    found = assess_wrench(from_unit(28.0, "ft*lbf"), from_unit(34.5, "ft*lbf"), wrench, on=TODAY)
    assert found.setting_on_scale == pytest.approx(31.0)  # 31.25 lies between two marks


@given(
    st.floats(1.0, 200.0),
    st.floats(0.02, 0.6),
    st.floats(0.05, 5.0),
    st.floats(0.0, 0.2),
    st.floats(0.0, math.pi),
)
def test_no_other_mark_of_the_scale_centres_the_scatter_better(middle, width, step, offset, angle):
    low, high = middle * (1 - width / 2), middle * (1 + width / 2)
    wrench = tool(low=0.0, high=max(500.0, step), step=step, lever=0.5)
    adapter = Adapter("crowfoot", offset, angle)
    best = assess_wrench(low, high, wrench, adapter, on=TODAY, least_fraction=0.0)
    count = round(best.setting / step)
    assume(count >= 1)
    assert best.setting == pytest.approx(count * step)
    for other in (count - 2, count - 1, count + 1, count + 2):
        if other >= 1:
            worse = assess_wrench(
                low, high, wrench, adapter, on=TODAY, setting=other * step, least_fraction=0.0
            )
            assert worse.relative_margin <= best.relative_margin + 1e-9


def test_a_second_accuracy_holds_up_to_its_torque():
    wrench = tool(low=2.0, high=25.0, step=0.1, accuracy_below=0.06, accuracy_limit=10.0)
    assert (wrench.accuracy_at(10.0), wrench.accuracy_at(10.1)) == (0.06, 0.04)
    below = assess_wrench(7.0, 9.0, wrench, on=TODAY)
    assert below.accuracy == 0.06
    assert below.delivered_low == pytest.approx(8.0 - 0.48 - 0.05)
    # just above the limit the scatter is smaller, which is better than the middle itself
    assert assess_wrench(9.0, 11.0, wrench, on=TODAY).setting == pytest.approx(10.1)


def test_a_tool_too_small_says_what_it_would_have_to_be_set_to():
    found = assess_wrench(100.0, 120.0, tool(low=5.0, high=25.0, step=0.1), on=TODAY)
    assert kinds(found) == ["range"]
    assert found.objections[0].text == "needs 110 N·m; marked 5.00 to 25.0 N·m"
    assert found.setting == pytest.approx(110.0)


def test_a_tool_too_large_is_refused_by_the_least_share_of_its_scale():
    found = assess_wrench(9.0, 13.0, tool(low=10.0, high=100.0, step=0.5), on=TODAY)
    assert kinds(found) == ["least fraction"]
    assert "11.0 N·m is 11.0 % of full scale, under 20.0 %" in found.objections[0].text
    lenient = assess_wrench(
        9.0, 13.0, tool(low=10.0, high=100.0, step=0.5), on=TODAY, least_fraction=0.1
    )
    assert lenient.acceptable


def test_off_the_middle_is_taken_where_the_scatter_still_fits():
    """The middle of 94 to 110 is 102, but the scale ends at 100: 100 ± 4 ± 0.5 fits."""
    found = assess_wrench(94.0, 110.0, tool(), on=TODAY)
    assert found.setting == pytest.approx(100.0)
    assert found.acceptable
    assert found.margin_low == pytest.approx(1.5)


def test_scatter_past_both_edges_is_told_for_both():
    found = assess_wrench(49.0, 51.0, tool(), on=TODAY)
    assert kinds(found) == ["scatter", "scatter"]
    assert found.margin_low == found.margin_high == pytest.approx(-1.5)
    assert [one.text for one in found.objections] == [
        "scatter reaches 1.50 N·m below the window",
        "scatter reaches 1.50 N·m above the window",
    ]


def test_scatter_that_just_fills_the_window_is_inside():
    assert assess_wrench(47.5, 52.5, tool(), on=TODAY).inside


def test_the_setting_noted_on_the_card_is_judged_as_it_is():
    found = assess_wrench(45.0, 55.0, tool(), on=TODAY, setting=54.0)
    assert found.setting == 54.0
    assert kinds(found) == ["scatter"]
    assert found.margin_high == pytest.approx(55.0 - 54.0 * 1.04 - 0.5)
    with pytest.raises(ValueError, match="must be positive"):
        assess_wrench(45.0, 55.0, tool(), on=TODAY, setting=0.0)


@pytest.mark.parametrize(
    ("due", "state", "valid"),
    [
        (TODAY + timedelta(31), "ok", True),
        (TODAY + timedelta(30), "due soon", True),
        (TODAY, "due soon", True),
        (TODAY - timedelta(1), "expired", False),
        (None, "unknown", False),
    ],
)
def test_calibration_counts_to_the_end_of_its_due_date(due, state, valid):
    found = calibration_on(tool(calibration_due=due), TODAY)
    assert (found.state, found.valid) == (state, valid)
    assessment = assess_wrench(45.0, 55.0, tool(calibration_due=due), on=TODAY)
    assert assessment.acceptable == valid
    assert due is None or due.isoformat() in found.text


def test_the_ranking_puts_what_can_be_used_first_and_tells_why_not_of_the_rest():
    tools = [
        tool("expired but finest", step=0.1, accuracy=0.01, calibration_due=date(2025, 1, 1)),
        tool("coarse", step=2.0),
        tool("fine", step=0.5, accuracy=0.03),
        tool("small", low=5.0, high=25.0, step=0.1),
    ]
    choice = choose_wrench(45.0, 55.0, tools, on=TODAY)
    assert [one.wrench.name for one in choice.ranking[:2]] == ["fine", "coarse"]
    assert choice.best is choice.ranking[0]
    reasons = {one.wrench.name: kinds(one) for one in choice.ranking}
    assert reasons["expired but finest"] == ["calibration"]
    assert reasons["small"] == ["range"]
    assert len(choice.ranking) == len(tools)


def test_no_tool_is_best_when_none_will_do():
    choice = choose_wrench(49.0, 51.0, [tool("a"), tool("b", accuracy=0.03)], on=TODAY)
    assert choice.best is None
    assert choice.ranking[0].wrench.name == "b"
    assert choose_wrench(49.0, 51.0, [], on=TODAY).best is None


def test_a_tool_without_a_lever_is_left_out_with_the_reason():
    tools = [tool("long", lever=0.5), tool("unmeasured"), tool("stub", lever=0.08)]
    folded = Adapter("crowfoot", 0.1, math.pi)
    choice = choose_wrench(20.0, 40.0, tools, folded, on=TODAY)
    assert [one.wrench.name for one in choice.ranking] == ["long"]
    assert [wrench.name for wrench, _ in choice.left_out] == ["unmeasured", "stub"]
    assert "behind the grip" in choice.left_out[1][1]


def test_a_window_without_width_leaves_no_room_but_is_judged():
    choice = choose_wrench(50.0, 50.0, [tool("a"), tool("b", accuracy=0.02)], on=TODAY)
    assert [one.wrench.name for one in choice.ranking] == ["b", "a"]
    assert kinds(choice.ranking[0]) == ["scatter", "scatter"]


@pytest.mark.parametrize("window", [(0.0, 10.0), (10.0, 5.0), (-5.0, 5.0), (math.nan, 5.0)])
def test_a_window_that_is_none_is_refused(window):
    with pytest.raises(ValueError, match="torque window"):
        choose_wrench(*window, [], on=TODAY)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"low": 100.0}, "range"),
        ({"step": 0.0}, "step"),
        ({"accuracy": 4.0}, "0.04 for"),
        ({"accuracy": 0.0}, "0.04 for"),
        ({"accuracy_below": 0.06}, "second accuracy"),
        ({"unit": "Nm"}, "wrench unit"),
        ({"lever": 0.0}, "lever"),
    ],
)
def test_a_tool_that_cannot_be_is_refused(wrong, said):
    with pytest.raises(ValueError, match=said):
        tool(**wrong)
    with pytest.raises(ValueError, match="offset"):
        Adapter("crowfoot", -0.1)


def test_a_tool_without_a_largest_torque_has_no_permissible_deviation():
    with pytest.raises(ValueError, match="positive"):
        permissible_deviation(0.0)
