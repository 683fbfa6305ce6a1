"""The control chart: lines, points and names where they belong, legible."""

import pytest

from rebuildbook.calculators.control_chart import individuals
from rebuildbook.figures.control_chart import control_chart
from rebuildbook.figures.style import svg

FT_LBF = 1.3558179483314003
STEADY = individuals([33.0, 33.5, 32.8, 33.2, 33.1, 33.6, 32.9, 33.3, 33.0, 33.4])
ODD = individuals([*STEADY.values[:5], 36.5, *STEADY.values[5:]], [True] * 5 + [False] + [True] * 5)
TWELVE = individuals([*STEADY.values, *([400.0] * 4)], [True] * 10 + [False] * 4)
WINDOW = (30.0, 37.0)


def of(figure, name):
    return [line for line in figure.axes[0].get_lines() if line.get_gid() == name]


def said(figure):
    return [text.get_text() for text in figure.axes[0].texts]


@pytest.mark.parametrize(("unit", "scale"), [("N*m", 1.0), ("ft*lbf", FT_LBF)])
def test_lines_stand_at_mean_limits_and_window(unit, scale):
    figure = control_chart(STEADY, unit, WINDOW)
    (centre,) = of(figure, "centre")
    assert centre.get_ydata()[0] == pytest.approx(STEADY.mean / scale)
    limits = sorted(line.get_ydata()[0] for line in of(figure, "limit"))
    assert limits == pytest.approx([STEADY.low / scale, STEADY.high / scale])
    band = next(one for one in figure.axes[0].patches if one.get_gid() == "window")
    low, high = band.get_extents().transformed(figure.axes[0].transData.inverted()).intervaly
    assert (low, high) == pytest.approx((30.0 / scale, 37.0 / scale))


def test_every_reading_is_drawn_in_its_place_and_those_outside_are_crossed():
    figure = control_chart(ODD, "N*m", WINDOW, (5,), ("J-2 no. 1",))
    (outside,) = of(figure, "outside")
    assert outside.get_marker() == "X"
    assert (list(outside.get_xdata()), list(outside.get_ydata())) == ([6], [36.5])
    (inside,) = of(figure, "inside")
    assert len(inside.get_xdata()) == 10
    assert of(figure, "job")[0].get_xdata()[0] == 5.5
    assert "J-2 no. 1" in said(figure)


def test_a_reading_off_the_paper_is_an_arrow_with_its_value_and_the_lines_keep_their_room():
    figure = control_chart(TWELVE, "N*m", WINDOW, (10,), [f"J-2 no. {n}" for n in range(1, 5)])
    (outside,) = of(figure, "outside")
    assert outside.get_marker() == "^"
    assert set(outside.get_ydata()) == {figure.axes[0].get_ylim()[1]}
    assert figure.axes[0].get_ylim()[1] < 45.0
    assert "J-2 no. 1: 400" in said(figure)


@pytest.mark.parametrize("chart", [STEADY, ODD, TWELVE, individuals([5.0] * 8)])
@pytest.mark.parametrize("window", [WINDOW, (33.0, 33.2)])
def test_words_stand_apart(chart, window, legible):
    names = [f"TW-26{n:02} no. 12" for n in range(len(chart.outside))]
    figure = control_chart(chart, "N*m", window, (4,), names)
    axes = figure.axes[0]
    legible(figure, [*axes.texts, axes.xaxis.label, axes.yaxis.label])


def test_it_is_small_and_the_same_each_time():
    first = svg(control_chart(ODD, "N*m", WINDOW, (5,), ("J-2 no. 1",)))
    assert first == svg(control_chart(ODD, "N*m", WINDOW, (5,), ("J-2 no. 1",)))
    assert len(first.encode()) < 12_000
