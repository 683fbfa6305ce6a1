"""The figure of wear: readings and line where they belong, words on the paper."""

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from rebuildbook.calculators.wear_life import HOUR, Measurement, wear_life
from rebuildbook.figures.style import svg
from rebuildbook.figures.wear_trend import wear_line

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


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("life", ALL)
def test_the_figure_shows_the_part_now_in_and_is_small(life, unit):
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


def test_the_figure_crosses_out_an_odd_reading_and_knows_two_units():
    assert len(lines(wear_line(MISREAD), "odd")) == len(MISREAD.line.odd) == 1
    with pytest.raises(ValueError, match="drawn in mm or in"):
        wear_line(ONE, "m")
