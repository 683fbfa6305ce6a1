"""The figure of wear: readings, line and interval where they belong, words apart."""

import itertools
import math

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from rebuildbook.calculators.wear_life import HOUR, Measurement, wear_life
from rebuildbook.figures.style import svg
from rebuildbook.figures.wear_trend import wear_line, wear_trend

BORE = wear_life(
    [
        Measurement(1000 * HOUR, 63.55e-3),
        Measurement(2100 * HOUR, 63.61e-3, fitted=63.5e-3),
        Measurement(3000 * HOUR, 63.54e-3),
        Measurement(3900 * HOUR, 63.59e-3),
    ],
    63.5e-3,
    63.75e-3,
)


def rod(wears, **options):
    jobs = [Measurement(500 * HOUR * (k + 1), 25e-3 - wear) for k, wear in enumerate(wears)]
    return wear_life(jobs, 25e-3, 24.9e-3, **options)


MISREAD = rod([10e-6, 14e-6, 26e-6, 60e-6, 42e-6, 46e-6, 58e-6], beds_in=True)
NONE = rod([0.0] * 4)
SLIGHT = rod([1e-6, -1e-6, 1e-6, -1e-6, 1e-6])
DONE = rod([22e-6, 45e-6, 66e-6, 88e-6, 110e-6])
ONE = rod([20e-6], scatter=3e-6)
FITTED = wear_life([Measurement(900 * HOUR, 24.95e-3, fitted=25e-3)], 25e-3, 24.9e-3, scatter=3e-6)
ALL = [BORE, MISREAD, NONE, SLIGHT, DONE, ONE, FITTED]


def lines(figure, name):
    return [line for line in figure.axes[0].get_lines() if line.get_gid() == name]


def said(figure):
    return " ".join(text.get_text() for text in figure.texts)


@pytest.mark.parametrize(("title", "unit"), [("", "in"), ("Fluid cylinder bore, unit 4", "mm")])
@pytest.mark.parametrize("life", ALL)
def test_no_words_overlap_or_leave_the_paper(life, title, unit):
    figure = wear_trend(life, unit, title)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    axes = figure.axes[0]
    found = [*figure.texts, *axes.texts, axes.xaxis.label, axes.yaxis.label]
    found += [text for legend in figure.legends for text in legend.get_texts()]
    boxes = [(t.get_text(), t.get_window_extent(canvas.get_renderer())) for t in found]
    wide, high = canvas.get_width_height()
    for words, box in boxes:
        assert box.x0 >= 0 and box.y0 >= 0 and box.x1 <= wide and box.y1 <= high, words
    for (words, one), (others, other) in itertools.combinations(boxes, 2):
        assert not one.overlaps(other), (words, others)


@pytest.mark.parametrize(("unit", "scale"), [("mm", 1e3), ("in", 1.0 / 0.0254)])
def test_readings_stand_at_their_hours_and_sizes(unit, scale):
    drawn = lines(wear_trend(BORE, unit), "readings")
    hours = np.concatenate([line.get_xdata() for line in drawn])
    sizes = np.concatenate([line.get_ydata() for line in drawn])
    assert hours == pytest.approx([1000, 2100, 3000, 3900])
    assert sizes == pytest.approx(scale * np.array([63.55e-3, 63.61e-3, 63.54e-3, 63.59e-3]))


def test_the_line_meets_the_limit_where_the_life_ends():
    figure = wear_trend(BORE)
    line = lines(figure, "line")[0]
    crossing = np.interp(63.75, line.get_ydata(), line.get_xdata())
    assert crossing == pytest.approx(3900 + BORE.time_left / HOUR, rel=1e-6)
    bar = lines(figure, "reach")[0].get_xdata()
    assert bar == pytest.approx([3900 + BORE.time_low / HOUR, 3900 + BORE.time_high / HOUR])
    service = lines(figure, "service")[0].get_xdata()[0]
    assert service == pytest.approx(3900 + BORE.next_service / HOUR)


def test_the_band_meets_the_limit_where_the_interval_ends():
    figure = wear_trend(BORE)
    band = figure.axes[0].collections[0].get_paths()[0].vertices
    upper = band[np.argsort(band[:, 0])]
    ends = {}
    for name, half in (("low", 1.0), ("high", -1.0)):
        ages = upper[:, 0] * HOUR - 2100 * HOUR
        edge = 63.5 + 1e3 * (BORE.line.wear(ages) + half * BORE.line.half_width(ages))
        ends[name] = np.interp(63.75, edge, upper[:, 0])
        nearest = np.abs(band[:, 1, None] - edge[None, :]).min()
        assert nearest < 1e-6
    assert ends["low"] == pytest.approx(3900 + BORE.time_low / HOUR, rel=1e-3)
    assert ends["high"] == pytest.approx(3900 + BORE.time_high / HOUR, rel=1e-3)


def test_changed_part_is_marked_and_its_line_ends():
    figure = wear_trend(BORE)
    assert lines(figure, "changed")[0].get_xdata()[0] == pytest.approx(2100)
    assert lines(figure, "line-before")[0].get_xdata()[-1] == pytest.approx(2100)


def test_odd_readings_are_crossed_out_and_named():
    figure = wear_trend(MISREAD)
    crossed = lines(figure, "odd")
    assert [float(line.get_xdata()[0]) for line in crossed] == [2000.0]
    assert "read again" in said(figure)
    assert not lines(wear_trend(BORE), "odd")


def test_each_state_is_said_in_words():
    assert "No wear seen" in said(wear_trend(NONE))
    assert "At its limit" in said(wear_trend(DONE))
    assert math.isinf(SLIGHT.time_high)
    assert " on; measure again" in said(wear_trend(SLIGHT))


def test_other_units_are_refused():
    with pytest.raises(ValueError, match="mm or in"):
        wear_trend(BORE, "bar")


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("life", ALL)
def test_the_short_form_shows_the_part_now_in_and_is_small(life, unit):
    figure, part = wear_line(life, unit), life.lives[-1]
    scale = 1e3 if unit == "mm" else 1e3 / 25.4
    drawn = [*lines(figure, "readings"), *lines(figure, "odd")]
    sizes = sorted(float(one.get_ydata()[0]) for one in drawn)
    assert sizes == pytest.approx(sorted(size * scale for size in part.sizes))
    (trend,) = lines(figure, "line")
    hours, heights = trend.get_data()
    slope = (heights[1] - heights[0]) / (hours[1] - hours[0])
    assert slope == pytest.approx(life.growing * life.line.rate * HOUR * scale)
    assert lines(figure, "now")[0].get_xdata()[0] == pytest.approx(life.age / HOUR)
    assert hours[1] >= life.age / HOUR
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    wide, high = canvas.get_width_height()
    for text in figure.axes[0].texts:
        box = text.get_window_extent(canvas.get_renderer())
        assert box.x0 >= 0 and box.y0 >= 0 and box.x1 <= wide and box.y1 <= high, text.get_text()
    assert len(svg(wear_line(life, unit)).encode()) < 10_000


def test_the_short_form_crosses_out_an_odd_reading_and_knows_two_units():
    assert len(lines(wear_line(MISREAD), "odd")) == len(MISREAD.line.odd) == 1
    with pytest.raises(ValueError, match="drawn in mm or in"):
        wear_line(ONE, "m")
