"""Layouts, orders and passes: laws they keep for any count."""

import functools
import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from rebuildbook.calculators.layout import (
    Layout,
    circle,
    cross_order,
    manifold,
    number_by_order,
    oval,
    quadrant_order,
    rectangle,
    rotation_order,
    row,
    three_screw,
    two_screw,
)
from rebuildbook.calculators.tightening import passes, tightening_plan

counts = st.integers(1, 200)
closed = st.one_of(
    st.builds(circle, counts, st.just(0.2)),
    st.builds(oval, counts, st.just(0.3), st.sampled_from([0.1, 0.3, 0.5])),
    st.builds(rectangle, st.integers(2, 50), st.integers(2, 50), st.just(0.3), st.just(0.2)),
)
straight = st.one_of(
    st.builds(row, counts, st.just(0.5)),
    st.builds(manifold, st.integers(2, 4), st.integers(1, 50), st.just(0.5), st.just(0.1)),
)
layouts = st.one_of(closed, straight)


@functools.cache
def _crossed(count: int) -> tuple[int, ...]:
    return cross_order(circle(count, 0.2))


def _resultant(layout: Layout, numbers: tuple[int, ...]) -> float:
    """How far the load tilts the joint: the sum of the unit vectors to the tightened bolts."""
    radius = math.hypot(*layout.positions[0])
    x = sum(layout.positions[number - 1][0] for number in numbers) / radius
    y = sum(layout.positions[number - 1][1] for number in numbers) / radius
    return math.hypot(x, y)


def _apart(one: int, other: int, count: int) -> int:
    steps = abs(one - other) % count
    return min(steps, count - steps)


# layouts


@given(layouts)
def test_no_two_fasteners_share_a_place(layout: Layout) -> None:
    places = layout.positions
    nearest = min(
        (math.dist(a, b) for i, a in enumerate(places) for b in places[:i]), default=math.inf
    )
    assert nearest > 1e-4


@given(st.integers(2, 200), st.floats(0.0, 6.0))
def test_a_circle_runs_clockwise_from_its_first_angle(count: int, first: float) -> None:
    for k, (x, y) in enumerate(circle(count, 0.3, first).positions):
        assert math.hypot(x, y) == pytest.approx(0.15)
        turned = math.atan2(x, y) - first - k * 2.0 * math.pi / count
        assert math.cos(turned) == pytest.approx(1.0)


@pytest.mark.parametrize("count", [5, 8, 11, 30])
@pytest.mark.parametrize(("width", "height"), [(0.3, 0.1), (0.1, 0.3), (0.2, 0.19)])
def test_oval_screws_stand_evenly_along_the_edge(count: int, width: float, height: float) -> None:
    a, b = width / 2, height / 2
    places = oval(count, width, height).positions
    turns = [math.atan2(x / a, y / b) % (2 * math.pi) for x, y in places] + [2 * math.pi]
    spans = [
        quad(lambda t: math.hypot(a * math.cos(t), b * math.sin(t)), start, end)[0]
        for start, end in itertools.pairwise(turns)
    ]
    assert spans == pytest.approx([sum(spans) / count] * count, rel=1e-6)


def test_a_round_oval_is_a_circle() -> None:
    assert oval(8, 0.2, 0.2) == circle(8, 0.2)


def test_rectangle_runs_clockwise_from_the_top_left_corner() -> None:
    assert rectangle(3, 3, 0.2, 0.1).positions == (
        (-0.1, 0.05), (0.0, 0.05), (0.1, 0.05), (0.1, 0.0),
        (0.1, -0.05), (0.0, -0.05), (-0.1, -0.05), (-0.1, 0.0),
    )  # fmt: skip


def test_small_flanges() -> None:
    (x1, y1), (x2, y2) = two_screw(0.06).positions
    assert (x1, x2) == pytest.approx((0.03, -0.03))
    assert (y1, y2) == pytest.approx((0.0, 0.0), abs=1e-12)
    assert three_screw(0.06).count == 3
    assert circle(1, 0.06).positions == ((0.0, 0.0),)


@pytest.mark.parametrize("count", [0, -1, 201])
def test_counts_outside_1_to_200_are_refused(count: int) -> None:
    for make in (
        lambda: circle(count, 0.1), lambda: row(count, 0.1), lambda: oval(count, 0.1, 0.2)
    ):  # fmt: skip
        with pytest.raises(ValueError, match=f"{count} fasteners given; a joint may have 1 to 200"):
            make()


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: circle(4, 0.0), "bolt circle diameter is 0.0 m"),
        (lambda: circle(4, math.nan), "bolt circle diameter is nan m"),
        (lambda: circle(4, 0.1, math.inf), "angle of the first fastener"),
        (lambda: oval(4, 0.1, -0.2), "height is -0.2 m"),
        (lambda: row(4, -1.0), "length of the row is -1.0 m"),
        (lambda: rectangle(1, 4, 0.1, 0.1), "no four corners"),
        (lambda: rectangle(60, 60, 0.1, 0.1), "236 fasteners"),
        (lambda: manifold(1, 4, 0.1, 0.1), "at least 2"),
        (lambda: manifold(3, 67, 0.1, 0.1), "201 fasteners"),
        (lambda: Layout("row", ((0.0, 0.0), (0.0, 0.0)), ""), "same place"),
        (lambda: Layout("row", ((0.0, 0.0), (1.0, 0.0)), "", (1, 3)), "each of 1 to 2 once"),
    ],
)
def test_impossible_layouts_are_refused(make, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        make()


# orders


@given(layouts)
def test_every_order_names_each_position_once(layout: Layout) -> None:
    wanted = list(range(1, layout.count + 1))
    assert sorted(cross_order(layout)) == wanted
    assert list(rotation_order(layout)) == wanted


@given(closed)
def test_the_quadrant_order_names_each_position_once(layout: Layout) -> None:
    assert sorted(quadrant_order(layout)) == list(range(1, layout.count + 1))


@given(st.integers(1, 100).map(lambda half: 2 * half))
def test_each_second_step_goes_to_the_opposite_bolt(count: int) -> None:
    for order in (_crossed(count), quadrant_order(circle(count, 0.2))):
        for first, second in zip(order[::2], order[1::2], strict=True):
            assert _apart(first, second, count) == count // 2


@given(st.integers(2, 100).map(lambda half: 2 * half))
def test_pairs_leave_the_joint_level(count: int) -> None:
    layout = circle(count, 0.2)
    order = _crossed(count)
    for done in range(1, count + 1):
        assert _resultant(layout, order[:done]) == pytest.approx(done % 2, abs=1e-9)


@given(st.integers(1, 99).map(lambda half: 2 * half + 1))
def test_an_odd_joint_never_tilts_by_two_bolts(count: int) -> None:
    layout = circle(count, 0.2)
    order = _crossed(count)
    assert max(_resultant(layout, order[:done]) for done in range(1, count)) < 2.0


@given(st.integers(8, 200))
def test_the_first_four_stand_in_all_four_quadrants(count: int) -> None:
    """Quadrants centred on the first bolt: within 45° of 0°, 90°, 180° and 270° from it."""
    quadrants = {round(4 * (number - 1) / count) % 4 for number in _crossed(count)[:4]}
    assert quadrants == {0, 1, 2, 3}


@given(st.integers(2, 50).map(lambda quarter: 4 * quarter))
def test_each_four_of_a_count_divisible_by_four_is_a_square_cross(count: int) -> None:
    order = _crossed(count)
    for start in range(0, count, 4):
        assert len({(number - 1) % (count // 4) for number in order[start : start + 4]}) == 1


@given(st.integers(5, 200))
def test_the_cross_order_never_steps_to_a_neighbour(count: int) -> None:
    order = _crossed(count)
    assert min(_apart(a, b, count) for a, b in itertools.pairwise(order)) > 1


@given(st.integers(1, 200), st.floats(0.0, 6.0), st.floats(0.01, 10.0))
def test_the_order_does_not_depend_on_size_or_turn(count: int, first: float, size: float) -> None:
    assert cross_order(circle(count, size, first)) == _crossed(count)


@given(
    st.one_of(
        st.builds(row, st.integers(2, 100), st.just(0.5)),
        st.builds(manifold, st.integers(2, 4), st.integers(1, 30), st.just(0.5), st.just(0.1)),
        st.builds(rectangle, st.integers(2, 9), st.integers(2, 9), st.just(0.3), st.just(0.2)),
        st.builds(oval, st.integers(1, 50).map(lambda n: 2 * n), st.just(0.3), st.just(0.1)),
    )
)
def test_rows_and_covers_go_from_the_centre_outwards(layout: Layout) -> None:
    away = [math.hypot(*layout.positions[number - 1]) for number in cross_order(layout)]
    assert all(later >= earlier - 1e-6 for earlier, later in itertools.pairwise(away))


@given(st.builds(rectangle, st.integers(2, 9), st.integers(2, 9), st.just(0.3), st.just(0.2)))
def test_covers_are_tightened_in_opposite_pairs(layout: Layout) -> None:
    order = cross_order(layout)
    for first, second in zip(order[::2], order[1::2], strict=True):
        x, y = layout.positions[first - 1]
        assert layout.positions[second - 1] == pytest.approx((-x, -y), abs=1e-9)


@pytest.mark.parametrize(
    ("layout", "order"),
    [
        (rectangle(2, 2, 0.2, 0.1), (1, 3, 2, 4)),
        (row(2, 0.1), (1, 2)),
        (row(3, 0.1), (2, 1, 3)),
        (row(6, 0.1), (3, 4, 2, 5, 1, 6)),
        # both inner crosses before the ends
        (manifold(2, 4, 0.4, 0.1), (2, 6, 3, 7, 1, 5, 4, 8)),
        # middle of the long sides first, then the middle of the short ones, then corners
        (rectangle(3, 3, 0.3, 0.2), (2, 6, 4, 8, 1, 5, 3, 7)),
        (rectangle(4, 3, 0.3, 0.2), (2, 7, 3, 8, 5, 10, 1, 6, 4, 9)),
        (circle(5, 0.1), (1, 3, 5, 2, 4)),  # the five-pointed star
    ],
)
def test_orders_a_fitter_would_expect(layout: Layout, order: tuple[int, ...]) -> None:
    assert cross_order(layout) == order


def test_quadrants_of_a_count_not_divisible_by_four_keep_opposite_pairs() -> None:
    assert quadrant_order(circle(10, 0.2)) == (1, 6, 4, 9, 2, 7, 5, 10, 3, 8)


def test_rows_have_no_quadrants() -> None:
    for layout in (row(4, 0.1), manifold(2, 4, 0.4, 0.1)):
        with pytest.raises(ValueError, match="has no quadrants"):
            quadrant_order(layout)


@given(layouts)
def test_numbering_by_order_moves_no_bolt_and_counts_up(layout: Layout) -> None:
    order = cross_order(layout)
    renamed = number_by_order(layout, order)
    assert cross_order(renamed) == tuple(range(1, layout.count + 1))
    went_round = [renamed.positions[number - 1] for number in rotation_order(renamed)]
    assert went_round == list(layout.positions)


# passes

WINDOW = {"window_low": 21.0, "window_high": 27.0, "setting": 24.0}


def test_passes_by_hand_crossing_and_in_rotation() -> None:
    made = passes(
        **WINDOW, fractions=(0.3, 0.6, 1.0), step=0.5, order=(1, 3, 2, 4), rotation=(1, 2, 3, 4)
    )
    assert [one.kind for one in made] == ["snug", "cross", "cross", "cross", "rotation"]
    assert [one.torque for one in made] == pytest.approx([0.0, 7.0, 14.5, 24.0, 24.0])
    assert [one.number for one in made] == [1, 2, 3, 4, 5]
    assert [one.order for one in made] == [(1, 3, 2, 4)] * 4 + [(1, 2, 3, 4)]
    assert "round 4" in made[-1].remarks[0]
    assert any("pinched" in remark for remark in made[-2].remarks)


@given(
    st.floats(0.5, 500.0),
    st.floats(0.01, 50.0),
    st.lists(st.floats(0.01, 0.99), max_size=5, unique=True).map(sorted),
    st.integers(1, 30),
    st.floats(0.0, 50.0),
)
def test_torque_passes_rise_on_marks_and_end_on_the_setting(
    setting: float, step: float, parts: list[float], count: int, lowest: float
) -> None:
    made = passes(
        0.9 * setting, 1.1 * setting, setting, (*parts, 1.0), step,
        order=tuple(range(1, count + 1)), wrench_low=lowest,
    )  # fmt: skip
    crossing = [one for one in made if one.kind == "cross"]
    torques = [one.torque for one in crossing]
    assert torques[-1] == setting
    assert all(later > earlier for earlier, later in itertools.pairwise(torques))
    for one in crossing[:-1]:
        assert one.torque / step == pytest.approx(round(one.torque / step))
        assert abs(one.torque - one.fraction * setting) <= step * 0.501
    for one in crossing:
        assert one.below_wrench == (one.torque < lowest * (1 - 1e-9))


def test_fractions_on_one_mark_make_one_pass() -> None:
    made = passes(**WINDOW, fractions=(0.3, 0.35, 0.6, 1.0), step=5.0, order=(1, 3, 2, 4))
    assert [one.torque for one in made if one.kind == "cross"] == [5.0, 10.0, 15.0, 24.0]
    made = passes(**WINDOW, fractions=(0.3, 0.4, 0.6, 1.0), step=10.0, order=(1, 3, 2, 4))
    crossing = [one for one in made if one.kind == "cross"]
    assert [one.torque for one in crossing] == [10.0, 24.0]
    assert crossing[0].remarks[0].startswith("30 % and 40 % and 60 % of the setting fall on one")


def test_a_mark_that_cannot_be_told_from_the_setting_is_left_to_the_last_pass() -> None:
    made = passes(21.0, 27.0, 24.0, (0.5, 0.99, 1.0), 1.0, order=(1, 3, 2, 4))
    assert [one.torque for one in made if one.kind == "cross"] == [12.0, 24.0]
    assert made[2].remarks[0].startswith("99 % and 100 %")


def test_a_fraction_under_the_first_mark_is_done_by_hand() -> None:
    made = passes(1.5, 2.5, 2.0, (0.2, 0.6, 1.0), 1.0, order=(1, 3, 2, 4))
    assert [one.torque for one in made] == [0.0, 1.0, 2.0, 2.0]
    assert any(remark.startswith("20 % of the setting") for remark in made[0].remarks)


def test_torques_under_the_wrench_are_flagged() -> None:
    made = passes(**WINDOW, fractions=(0.3, 0.6, 1.0), step=1.0, order=(1, 3, 2, 4), wrench_low=20)
    assert [one.below_wrench for one in made] == [False, True, True, False, False]
    assert "by feel" in made[1].remarks[0]
    made = passes(**WINDOW, fractions=(0.3, 1.0), step=1.0, order=(1, 3, 2, 4), wrench_low=40.0)
    assert [one.below_wrench for one in made] == [False, True, True, True]
    assert "cannot set this joint" in made[2].remarks[0]
    assert not any("feel" in remark for remark in made[2].remarks)


def test_a_single_fastener_goes_straight_to_the_setting() -> None:
    made = passes(**WINDOW, fractions=(0.3, 0.6, 1.0), step=1.0, order=(1,))
    assert [(one.kind, one.torque) for one in made] == [("snug", 0.0), ("cross", 24.0)]


@pytest.mark.parametrize("count", [2, 3])
def test_small_flanges_get_at_least_two_passes(count: int) -> None:
    order = tuple(range(1, count + 1))
    made = passes(**WINDOW, fractions=(1.0,), step=1.0, order=order)
    assert [one.torque for one in made] == [0.0, 12.0, 24.0, 24.0]
    made = passes(**WINDOW, fractions=(0.9, 1.0), step=10.0, order=order)
    assert [one.torque for one in made] == [0.0, 10.0, 24.0, 24.0]
    coarse = passes(**WINDOW, fractions=(1.0,), step=40.0, order=order)
    assert [one.torque for one in coarse] == [0.0, 24.0, 24.0]
    assert any("by feel" in remark for remark in coarse[1].remarks)


def test_four_screws_may_go_up_in_one_pass_where_the_maker_says_so() -> None:
    made = passes(**WINDOW, fractions=(1.0,), step=1.0, order=(1, 3, 2, 4))
    assert [one.torque for one in made] == [0.0, 24.0, 24.0]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"fractions": (0.6, 0.3, 1.0)}, "larger than the one before"),
        ({"fractions": (0.3, 0.3, 1.0)}, "larger than the one before"),
        ({"fractions": (0.0, 1.0)}, "above 0"),
        ({"fractions": (0.5, 1.1)}, "not above 1"),
        ({"fractions": (math.nan, 1.0)}, "above 0"),
        ({"fractions": (0.3, 0.6)}, "the last must be 1"),
        ({"fractions": ()}, "fractions none"),
        ({"setting": 30.0}, "outside its window"),
        ({"setting": math.nan}, "finite"),
        ({"window_low": 28.0}, "must rise"),
        ({"window_low": 0.0}, "above zero"),
        ({"step": 0.0}, "scale step is 0.0"),
        ({"wrench_low": -1.0}, "lowest mark is -1.0"),
        ({"max_rounds": 0}, "at least one"),
        ({"order": (1, 2, 2, 4)}, "does not name each"),
        ({"rotation": (1, 2, 3)}, "does not name each"),
        ({"order": ()}, "at least one fastener"),
    ],
)
def test_impossible_passes_are_refused(change: dict, message: str) -> None:
    given_ = {**WINDOW, "fractions": (0.3, 1.0), "step": 1.0, "order": (1, 3, 2, 4), **change}
    with pytest.raises(ValueError, match=message):
        passes(**given_)


# plans

PLAN = {**WINDOW, "fractions": (0.3, 0.6, 1.0), "step": 1.0, "wrench_low": 5.0}


def test_a_plan_in_rotation_numbers_keeps_the_order_as_a_list() -> None:
    plan = tightening_plan(circle(8, 0.2), "cross", **PLAN)
    assert plan.order == plan.passes[0].order == plan.passes[2].order == (1, 5, 3, 7, 2, 6, 4, 8)
    assert plan.passes[-1].order == (1, 2, 3, 4, 5, 6, 7, 8)


def test_a_plan_numbered_by_order_still_goes_round_in_rotation_last() -> None:
    layout = circle(6, 0.2)
    plan = tightening_plan(layout, "cross", **PLAN, numbering="order")
    assert plan.order == plan.passes[1].order == (1, 2, 3, 4, 5, 6)
    places = [plan.layout.positions[number - 1] for number in plan.passes[-1].order]
    assert places == list(layout.positions)


def test_a_quadrant_plan() -> None:
    plan = tightening_plan(circle(16, 0.2), "quadrant", **PLAN)
    assert plan.order == quadrant_order(circle(16, 0.2)) != cross_order(circle(16, 0.2))


def test_unknown_words_are_refused() -> None:
    with pytest.raises(ValueError, match="order 'spiral' is not known"):
        tightening_plan(circle(4, 0.2), "spiral", **PLAN)
    with pytest.raises(ValueError, match="numbering 'left' is not known"):
        tightening_plan(circle(4, 0.2), "cross", **PLAN, numbering="left")
