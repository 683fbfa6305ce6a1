"""Preload before and after: limits where they are, past them hatched, words apart."""

import itertools

import numpy as np
import pytest

from rebuildbook.figures.preload_change import LEFT, RIGHT, PreloadPicture, preload_change

DRAWS = np.sort(np.random.default_rng(3).normal(20e3, 2e3, 5_000))


def state(middle=20e3, opens=8e3, proof=30e3, yields=33e3, strips=None, units=("kN", "lbf")):
    draws = DRAWS * middle / 20e3
    ends = tuple(np.quantile(draws, [0.025, 0.975]))
    window = (0.7 * middle, 1.4 * middle)
    return PreloadPicture(draws, ends, middle, window, opens, proof, yields, strips, units)


CASES = [
    (state(), state(26e3)),
    (state(), state(60e3)),
    (state(), state(1e3)),
    (state(opens=None), state(opens=31e3)),
    (state(strips=33.1e3), state(strips=29.9e3, opens=32e3)),
    (state(strips=500e3), state(32e3, strips=400e3, units=("lbf", "N"))),
    (state(0.2e3, opens=0.1e3, proof=0.3e3, yields=0.3e3, units=("N", "lbf")),) * 2,
    (state(units=("kN", "")), state(units=("kN", ""))),
]


@pytest.mark.parametrize(("before", "after"), CASES)
def test_words_stand_apart_and_on_the_paper(before, after, legible):
    figure = preload_change(after, before)
    legible(figure, figure.axes[0].texts)


def by_gid(figure, gid):
    axes = figure.axes[0]
    return [one for one in (*axes.lines, *axes.patches, *axes.texts) if one.get_gid() == gid]


def test_a_higher_preload_stands_farther_right_on_one_scale():
    figure = preload_change(state(26e3), state(20e3))
    before, after = (line.get_xdata() for line in by_gid(figure, "interval"))
    assert before[0] < after[0]
    assert before[1] < after[1]
    assert after[1] / before[1] > 1.0


def test_places_are_in_proportion_to_the_forces():
    figure = preload_change(state(), state())
    low, high = by_gid(figure, "interval")[0].get_xdata()
    ends = state().interval
    assert (high - LEFT) / (low - LEFT) == pytest.approx(ends[1] / ends[0])
    assert high < RIGHT


@pytest.mark.parametrize(
    ("given", "expected"),
    [(state(), 0), (state(opens=19e3), 1), (state(strips=19e3), 1), (state(60e3), 1)],
)
def test_only_what_lies_past_a_limit_is_hatched(given, expected):
    figure = preload_change(given, given)
    past = by_gid(figure, "past")
    assert len(past) == 2 * expected  # a row each
    assert all(patch.get_hatch() for patch in past)


def test_every_limit_is_named_with_its_value():
    figure = preload_change(state(strips=500e3), state())
    words = [text.get_text() for text in by_gid(figure, "named")]
    for expected in ("opens\n8000 N", "proof\n30.0 kN", "yields\n33.0 kN", "strips\n500 kN →"):
        assert expected.replace("8000 N", "8.00 kN") in words


def test_row_names_say_before_and_after_and_after_stands_below():
    rows = {t.get_text(): t.get_position()[1] for t in by_gid(preload_change(*CASES[0]), "row")}
    assert rows["after"] < rows["before"]


def test_what_cannot_be_drawn_is_refused():
    for draws in (np.array([1.0]), np.array([1.0, np.nan])):
        broken = PreloadPicture(
            draws, (1.0, 2.0), 1.0, (1.0, 2.0), None, 1.0, 1.0, None, ("N", "lbf")
        )
        with pytest.raises(ValueError, match="before: "):
            preload_change(state(), broken)


def test_drawing_changes_no_state():
    one, other = (preload_change(*CASES[0]) for _ in range(2))
    for first, second in itertools.zip_longest(one.axes[0].texts, other.axes[0].texts):
        assert first.get_text() == second.get_text()
        assert first.get_position() == second.get_position()
