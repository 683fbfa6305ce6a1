"""Steps on the clock, by hand and by what must hold for any of them."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.schedule import longest_open, schedule

TIMES = st.floats(0.0, 1e5)


def test_a_wait_stands_before_the_step_that_handles_what_sets():
    # lock 0 to 10; fill 10 to 40 meanwhile; the piston waits until 10 + 50
    made = schedule(
        ["lock", "fill", "enter"],
        {"lock": 10.0, "fill": 30.0, "enter": 5.0},
        {"enter": ["fill", "lock"]},
        {"lock": 50.0},
    )
    assert [(one.start, one.end, one.wait, one.waits_for) for one in made] == [
        (0.0, 10.0, 0.0, ""),
        (10.0, 40.0, 0.0, ""),
        (60.0, 65.0, 20.0, "lock"),
    ]


@given(st.lists(st.tuples(TIMES, TIMES), min_size=1, max_size=8))
def test_hands_and_waits_fill_the_clock(times):
    names = [str(index) for index in range(len(times))]
    made = schedule(
        names,
        {name: time for name, (time, _) in zip(names, times, strict=True)},
        {later: [earlier] for earlier, later in itertools.pairwise(names)},
        {name: sets for name, (_, sets) in zip(names, times, strict=True)},
    )
    # in a chain every step but the last is waited for
    whole = sum(time for time, _ in times) + sum(sets for _, sets in times[:-1])
    assert made[-1].end == pytest.approx(whole)


@pytest.mark.parametrize(
    ("order", "after", "words"),
    [("ba", {"b": ["a"]}, "b comes after a"), ("ab", {"b": ["c"]}, "b comes after c")],
)
def test_an_order_that_cannot_be_is_refused(order, after, words):
    with pytest.raises(ValueError, match=words):
        schedule(order, {"a": 1.0, "b": 1.0}, after, {})


@pytest.mark.parametrize("time", [-1.0, float("nan"), float("inf")])
def test_a_time_that_cannot_be_is_refused(time):
    with pytest.raises(ValueError, match="not below zero"):
        schedule("a", {"a": time}, {}, {})
    with pytest.raises(ValueError, match="not below zero"):
        schedule("ab", {"a": 1.0, "b": 1.0}, {"b": "a"}, {"a": time})


@given(
    st.integers(1, 9).flatmap(
        lambda count: st.lists(st.permutations(range(1, count + 1)), min_size=1, max_size=5)
    ),
    st.floats(0.5, 60.0),
)
def test_longest_open_is_the_longest_of_all_followed_turn_by_turn(orders, each):
    began: dict[int, float] = {}
    ended: dict[int, float] = {}
    clock = 0.0
    for position in itertools.chain(*orders):
        began.setdefault(position, clock)
        clock += each
        ended[position] = clock
    found = longest_open(orders, each)
    spans = {at: ended[at] - began[at] for at in began}
    assert found.span == pytest.approx(max(spans.values()))
    assert spans[found.position] == pytest.approx(found.span)


@pytest.mark.parametrize(
    ("orders", "each", "words"),
    [
        ([], 1.0, "no pass"),
        ([()], 1.0, "no pass"),
        ([(1, 2), (1, 1)], 1.0, "every fastener once"),
        ([(1, 1)], 1.0, "every fastener once"),
        ([(1, 2)], 0.0, "above zero"),
    ],
)
def test_passes_that_cannot_be_are_refused(orders, each, words):
    with pytest.raises(ValueError, match=words):
        longest_open(orders, each)
