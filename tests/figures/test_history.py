"""The figure of a unit's history: values where they belong, lines known in grey, words apart."""

import math

import matplotlib.colors
import numpy as np
import pytest

from rebuildbook.figures import style
from rebuildbook.figures.history import MOST, Strip, Trend, history, look
from rebuildbook.figures.style import svg

JOBS = ("TW-2109", "TW-2342", "TW-2601")
DAYS = ("2021-03-04", "2023-06-12", "2026-09-08")
BORE = Trend("Slip cylinder bore, worst of six places", (12.0, math.nan, 28.0))
ROD = Trend("Rod where it runs in the packing", (12.0, 19.0, 25.0))
COVER = Trend("Fluid cover screws", (100.0, 99.0, 98.0), (97.0, 96.0, 96.0), (102.0, 103.0, 100.0))
NUT = Trend(
    "Piston nut", (102.0, math.nan, 101.0), (102.0, math.nan, 101.0), (102.0, math.nan, 101.0)
)
WEAR = Strip("Worn, % of what each part may wear", (BORE, ROD), 100.0, "limit")
TORQUE = Strip("Torque", (COVER, NUT), 100.0)
LONG = (
    "A name of a part that is far longer than any strip of a page has room to write it out in full"
)


def many(count, jobs=3):
    return tuple(
        Trend(f"{LONG} {n}", tuple(10.0 * n + k for k in range(jobs))) for n in range(count)
    )


def lines(axes, name):
    return [line for line in axes.get_lines() if line.get_gid() == name]


def strips(figure):
    return figure.axes[1:]  # the first is the page itself


@pytest.mark.parametrize(
    ("jobs", "given"),
    [
        (3, [WEAR]),
        (3, [WEAR, TORQUE, Strip("Test readings, % of the first", many(1))]),
        (3, [Strip("Many", many(9)), Strip("As many", many(5))]),
        (40, [Strip("Long", many(5, 40), 100.0, "limit")]),
        (1, [Strip("One", many(2, 1), 10.0)]),
    ],
)
@pytest.mark.parametrize("name", ["TW-2601", "$TW_{2}$ & <b>", "W" * 48])
def test_words_stand_apart_and_on_the_paper(legible, jobs, given, name):
    names = [f"{name}{k}" for k in range(jobs)]
    figure = history(names, ["2026-09-08"] * jobs, given, f"History of {LONG}")
    page, *axes = figure.axes
    words = [*page.texts, *(text for one in axes for text in one.texts if text.get_text())]
    for one in axes:
        words += [label for label in one.get_xticklabels() if label.get_text()]
    legible(figure, words)


def test_values_stand_at_their_jobs_and_a_missing_one_is_bridged():
    wear, torque = strips(history(JOBS, DAYS, [WEAR, TORQUE]))
    assert lines(wear, "trend-0")[0].get_xydata().tolist() == [[0.0, 12.0], [2.0, 28.0]]
    assert lines(wear, "trend-1")[0].get_ydata().tolist() == [12.0, 19.0, 25.0]
    assert lines(wear, "mark")[0].get_ydata() == [100.0, 100.0]
    (spread,) = (one for one in torque.collections if one.get_gid() == "spread-0")
    ends = np.array([path.vertices[:, 1] for path in spread.get_paths()])
    assert ends.tolist() == [[97.0, 102.0], [96.0, 103.0], [96.0, 100.0]]
    places = lines(torque, "trend-0")[0].get_xdata()
    assert np.abs(places - np.arange(3)).max() < 0.2


def test_jobs_and_days_are_written_once_under_the_lowest_strip():
    upper, lower = strips(history(JOBS, DAYS, [WEAR, TORQUE]))
    assert [label.get_text() for label in lower.get_xticklabels()] == [
        f"{job}\n{day}" for job, day in zip(JOBS, DAYS, strict=True)
    ]
    assert not any(label.get_text() for label in upper.get_xticklabels())


def test_a_long_job_is_cut_and_not_left_out():
    (axes,) = strips(history(["TW-2601-north-bench"], DAYS[:1], [Strip("One", many(1, 1))]))
    assert axes.get_xticklabels()[0].get_text() == "TW-2601-nor…\n2021-03-04"


def test_the_newest_of_many_jobs_is_named():
    jobs = [f"TW-{2600 + k}" for k in range(40)]
    (axes,) = strips(history(jobs, ["2026-09-08"] * 40, [Strip("Long", many(1, 40))]))
    shown = [label.get_text() for label in axes.get_xticklabels()]
    assert shown[-1].startswith("TW-2639")
    assert 2 < len(shown) < 8


def test_lines_are_told_apart_without_colour():
    looks = [look(place) for place in range(MOST)]
    assert len({str(one["linestyle"]) for one in looks}) == MOST
    assert len({one["marker"] for one in looks}) == MOST
    for one in looks:  # dark enough on white paper: WCAG's contrast of graphics, 3 to 1, in grey
        channels = np.array(matplotlib.colors.to_rgb(one["color"]))
        linear = np.where(
            channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4
        )
        light = float(linear @ [0.2126, 0.7152, 0.0722])
        marked = one["color"] != style.LIGHT  # the light one is dotted with diamonds besides
        assert 1.05 / (light + 0.05) >= (3.0 if marked else 2.0)


def test_a_strip_shows_five_and_says_how_many_more():
    figure = history(JOBS, DAYS, [Strip("Many", many(9))])
    (axes,) = strips(figure)
    assert len([line for line in axes.get_lines() if str(line.get_gid()).startswith("trend")]) == 5
    assert "and 4 more" in [text.get_text() for text in figure.axes[0].texts]


def test_the_same_history_is_the_same_bytes():
    one, other = (svg(history(JOBS, DAYS, [WEAR, TORQUE], "$x^2")) for _ in range(2))
    assert one == other
    assert "$x^2" in one
    assert len(one.encode()) < 30_000


@pytest.mark.parametrize(
    ("jobs", "given", "words"),
    [
        (JOBS, [], "nothing to draw"),
        (JOBS, [Strip("Empty", ())], "nothing to draw"),
        (JOBS[:2], [WEAR], "3 days given for 2 jobs"),
        (JOBS, [Strip("Short", (Trend("bore", (1.0,)),))], "bore: 1 values given for 3 jobs"),
        (JOBS, [Strip("Short", (Trend("bore", (1.0, 2.0, 3.0), (1.0,)),))], "bore: 1 values"),
    ],
)
def test_what_cannot_be_drawn_is_refused(jobs, given, words):
    with pytest.raises(ValueError, match=words):
        history(jobs, DAYS, given)
