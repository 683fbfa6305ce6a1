"""The ladder before and after: what changed stands on its own half, at its height, in bold."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildbook.figures.ladder_change import LEAST_MM, MIDDLE, RAILS, ladder_change
from rebuildbook.figures.pressure_ladder import Rung
from rebuildbook.figures.style import svg

BAR = 1e5
BEFORE = [
    Rung("weakest part", 30 * BAR, "limit"),
    Rung("working", 16 * BAR, "working"),
    Rung("test", 17.6 * BAR, "test"),
    Rung("relief set", 24.8 * BAR, "set", 24.1 * BAR, 25.5 * BAR),
    Rung("reseat", 22.9 * BAR, "reseat"),
    Rung("full relief", 28.1 * BAR, "relieving"),
    Rung("stall", 20.7 * BAR, "stall"),
    Rung("stall at the most", 25.1 * BAR, "stall"),
]
AFTER = [
    *BEFORE[:3],
    Rung("relief set", 29 * BAR, "set", 28.1 * BAR, 29.9 * BAR),
    BEFORE[4],
    Rung("full relief", 32.9 * BAR, "relieving"),
    Rung("stall", 25.1 * BAR, "stall"),
    BEFORE[7],
]
ENDLESS = [*BEFORE[:6], Rung("stall", math.inf, "stall")]


def texts(figure):
    return [text for text in figure.axes[0].texts if text.get_text()]


def labels(figure):
    return {t.get_text(): t for t in texts(figure) if t.get_gid() == "label"}


def rungs(figure, word):
    return [one for one in figure.axes[0].lines if one.get_gid() == f"rung-{word}"]


@pytest.mark.parametrize("unit", ["bar", "psi", "MPa"])
@pytest.mark.parametrize(
    ("after", "before"), [(AFTER, BEFORE), (BEFORE, BEFORE), (ENDLESS, BEFORE), (BEFORE, ENDLESS)]
)
def test_all_words_are_apart_and_on_the_paper(after, before, unit, legible):
    figure = ladder_change(after, before, unit)
    legible(figure, texts(figure))


@settings(max_examples=10, deadline=None)
@given(
    shares=st.lists(st.floats(0.01, 1.0), min_size=8, max_size=8),
    others=st.lists(st.floats(0.01, 1.0), min_size=8, max_size=8),
)
def test_any_pressures_keep_their_words_apart(shares, others, legible):
    sides = [
        [Rung(f"pressure {place}", share * 50 * BAR, "working") for place, share in enumerate(side)]
        for side in (shares, others)
    ]
    figure = ladder_change(*sides, "bar")
    legible(figure, [t for t in texts(figure) if t.get_gid() in {"label", "words", "unit"}])


def test_what_changed_is_drawn_on_its_half_and_the_rest_right_across():
    figure = ladder_change(AFTER, BEFORE, "bar")
    old, new = rungs(figure, "before"), rungs(figure, "after")
    assert len(old) == 3
    assert all(line.get_xdata()[1] < MIDDLE for line in old)
    across = [line for line in new if tuple(line.get_xdata()) == RAILS]
    right = [line for line in new if line.get_xdata()[0] > MIDDLE]
    assert (len(across), len(right)) == (5, 3)
    # heights keep the pressures' proportions: here the scale begins at zero
    (stall,) = [line for line in old if line.get_linestyle() == "--"]
    (limit,) = [line for line in across if line.get_linewidth() > 2.5]
    assert stall.get_ydata()[0] / limit.get_ydata()[0] == pytest.approx(20.7 / 30.0)
    assert limit.get_ydata()[0] <= LEAST_MM + 40.0


def test_names_of_what_changed_are_bold_and_stand_on_both_sides():
    figure = ladder_change(AFTER, BEFORE, "bar")
    names = [t for t in texts(figure) if t.get_gid() == "label" and t.get_text() == "full relief"]
    assert [t.get_ha() for t in names] == ["left", "right"]
    assert {t.get_weight() for t in names} == {"bold"}
    (reseat,) = [t for t in texts(figure) if t.get_text() == "reseat"]
    assert reseat.get_weight() == "normal"


def test_nothing_changed_needs_no_before():
    figure = ladder_change(BEFORE, BEFORE, "bar")
    assert not rungs(figure, "before")
    words = [t.get_text() for t in texts(figure) if t.get_gid() == "words"]
    assert words == ["now"]


def test_a_drive_without_stall_is_named_above_the_ladder():
    assert "not limited" in labels(ladder_change(ENDLESS, BEFORE, "bar"))


def test_same_bytes_twice_and_what_cannot_be_drawn():
    assert svg(ladder_change(AFTER, BEFORE, "bar")) == svg(ladder_change(AFTER, BEFORE, "bar"))
    with pytest.raises(ValueError, match="no pressure unit"):
        ladder_change(AFTER, BEFORE, "mm")
    with pytest.raises(ValueError, match="nothing to draw"):
        ladder_change(ENDLESS[-1:], [], "bar")
