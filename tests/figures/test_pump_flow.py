"""The flow of a cycle drawn: true to its numbers, all on the paper, nothing on top of another."""

import itertools
import math

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from rebuildbook.calculators.pump_flow import (
    differential,
    double_acting,
    double_diaphragm,
    flow_over_cycle,
    plungers,
    pulsation,
    single_acting,
)
from rebuildbook.calculators.stroke_motion import AirMotion, CrankMotion
from rebuildbook.figures import style
from rebuildbook.figures.pump_flow import delivery, overlap, pump_flow

CRANK, AIR = CrankMotion(0.2), AirMotion(0.15, 0.45)
CASES = {
    "simplex": (plungers(0.03, 0.04), CRANK, 3.0),
    "triplex": (plungers(0.03, 0.04, 3), CRANK, 6.0),
    "nonuplex": (plungers(0.03, 0.04, 9), CRANK, 3.0),
    "duplex double-acting": (double_acting(0.06, 0.02, 0.1, count=2), CRANK, 1.0),
    "double-acting": (double_acting(0.06, 0.02, 0.1), AIR, 0.7),
    "two-ball": (differential(0.06, 0.035, 0.1), AIR, 0.7),
    "single-acting": (single_acting(0.06, 0.1), AIR, 0.7),
    "diaphragm": (double_diaphragm(1e-3), AirMotion(), 1.0),
}
each = pytest.mark.parametrize("name", CASES)
widths = pytest.mark.parametrize("width", [style.COLUMN_MM, style.PAGE_MM])


def _draw(name, width=style.COLUMN_MM, unit="L/min", side="delivered"):
    pump, motion, rate = CASES[name]
    cycle = flow_over_cycle(pump, motion, rate, side, steps=720)
    pulse = pulsation(pump, motion, side)
    return cycle, pump_flow(cycle, pulse, unit, width_mm=width, title=f"Flow of a {name} pump")


def _line(figure, gid):
    (line,) = [line for line in figure.axes[0].lines if line.get_gid() == gid]
    return line


def _words(figure):
    return " ".join(text.get_text() for text in figure.texts + figure.axes[0].texts)


@each
def test_the_heavy_line_is_the_flow_and_the_dashed_one_its_mean(name):
    cycle, figure = _draw(name)
    assert _line(figure, "total").get_ydata() == pytest.approx(cycle.total * 60_000.0)
    assert _line(figure, "mean").get_ydata() == pytest.approx([cycle.mean * 60_000.0] * 2)


@each
def test_the_parts_drawn_add_up_to_the_heavy_line(name):
    cycle, figure = _draw(name)
    lines = [line for line in figure.axes[0].lines if str(line.get_gid()).startswith("part-")]
    if len(cycle.parts) == 1:
        assert lines == []
        return
    drawn = np.nansum([line.get_ydata() for line in lines], axis=0)
    assert drawn == pytest.approx(_line(figure, "total").get_ydata())


@each
def test_every_chamber_has_its_number_on_its_peak(name):
    cycle, figure = _draw(name)
    numbers = [text for text in figure.axes[0].texts if text.get_gid() == "number"]
    wanted = len(cycle.parts) if len(cycle.parts) > 1 else 0
    assert [text.get_text() for text in numbers] == [str(n + 1) for n in range(wanted)]
    for text, part in zip(numbers, cycle.parts, strict=False):
        x, y = text.get_position()
        assert y == pytest.approx(60_000.0 * part.max())
        assert np.interp(x, cycle.phase, part) > 0.93 * part.max()


@each
@widths
def test_words_lie_on_the_paper_and_apart(name, width):
    _, figure = _draw(name, width)
    renderer = FigureCanvasAgg(figure).get_renderer()
    figure.draw(renderer)
    page = figure.bbox
    axes = figure.axes[0]
    texts = [*figure.texts, *axes.texts, axes.xaxis.label, axes.yaxis.label]
    # without the leader line of a label
    boxes = [(text.get_text(), Text.get_window_extent(text, renderer)) for text in texts]
    for word, box in boxes:
        assert page.x0 <= box.x0, word
        assert box.x1 <= page.x1, word
        assert page.y0 <= box.y0, word
        assert box.y1 <= page.y1, word
    for (one, a), (other, b) in itertools.combinations(boxes, 2):
        overlap = min(a.x1, b.x1) - max(a.x0, b.x0), min(a.y1, b.y1) - max(a.y0, b.y0)
        assert min(overlap) <= 0.5, (one, other)
    assert width == pytest.approx(page.width / figure.dpi * style.MM_PER_INCH)
    assert all(text.get_fontsize() >= style.SMALL for text in texts)


def test_up_to_four_chambers_are_told_apart_without_colour():
    _, figure = _draw("duplex double-acting")
    dashes = {str(_line(figure, f"part-{n}")._unscaled_dash_pattern) for n in (1, 2, 3, 4)}
    assert len(dashes) == 4


def test_the_hatch_covers_the_volume_above_the_mean():
    cycle, figure = _draw("simplex")
    (above,) = [part for part in figure.axes[0].collections if part.get_gid() == "above"]
    assert above.get_hatch()
    area = 0.0
    for path in above.get_paths():
        x, y = path.vertices[:-1].T
        area += 0.5 * abs(float(np.dot(x, np.roll(y, 1)) - np.dot(y, np.roll(x, 1))))
    a = math.asin(1 / math.pi)  # long rod; the rod ratio moves it by little
    share = (2 * math.cos(a) - (math.pi - 2 * a) / math.pi) / 2
    assert area / (60_000.0 * cycle.mean) == pytest.approx(share, abs=0.01)


def test_the_scale_begins_at_zero():
    for name in CASES:
        assert _draw(name)[1].axes[0].get_ylim()[0] == 0.0


def test_peak_and_trough_are_named_where_there_are_any():
    assert "trough 24.9" in _words(_draw("triplex")[1])
    steady = _words(_draw("diaphragm")[1])
    assert "mean 60.0" in steady
    assert "peak" not in steady


def test_key_names_chambers_and_what_an_accumulator_takes():
    words = _words(_draw("two-ball")[1]).replace("\n", " ")
    assert "1 past the rod, 2 by the rod" in words
    assert "An accumulator takes up" in words
    assert "less" in _words(_draw("nonuplex")[1])
    bare = pump_flow(_draw("triplex")[0])
    assert "accumulator" not in _words(bare)
    assert "number of the plunger" in _words(bare)


def test_other_units_and_the_suction_side():
    cycle, figure = _draw("triplex", unit="gal/min", side="drawn")
    assert figure.axes[0].get_ylabel() == "flow drawn in, gal/min"
    gallon = 3.785411784e-3 / 60.0
    assert _line(figure, "total").get_ydata() == pytest.approx(cycle.total / gallon)


def test_the_same_figure_is_the_same_bytes():
    one, other = (style.svg(_draw("triplex")[1], "Flow") for _ in range(2))
    assert one == other
    assert len(one) < 60_000


@pytest.mark.parametrize(
    ("cycle", "unit", "message"),
    [
        (flow_over_cycle(plungers(0.03, 0.04), CRANK, 1.0), "bar", "no flow unit"),
        (flow_over_cycle(plungers(0.03, 0.04), CRANK, 0.0), "L/min", "at rest"),
    ],
)
def test_what_cannot_be_drawn_is_refused(cycle, unit, message):
    with pytest.raises(ValueError, match=message):
        pump_flow(cycle, unit=unit)


@each
def test_the_short_figure_has_the_same_lines_and_stays_small(name):
    pump, motion, rate = CASES[name]
    cycle = flow_over_cycle(pump, motion, rate, steps=180)
    figure = delivery(cycle)
    assert _line(figure, "total").get_ydata() == pytest.approx(cycle.total * 60_000.0)
    assert _line(figure, "mean").get_ydata() == pytest.approx([cycle.mean * 60_000.0] * 2)
    assert len(style.svg(figure)) < 12_000


@each
def test_the_short_figure_draws_chambers_only_where_they_overlap(name):
    pump, motion, rate = CASES[name]
    cycle = flow_over_cycle(pump, motion, rate, steps=180)
    parts = [line for line in delivery(cycle).axes[0].lines if line.get_gid() == "part"]
    assert len(parts) == (len(pump.chambers) if overlap(cycle) else 0)
    assert overlap(cycle) == (name in {"triplex", "nonuplex", "duplex double-acting"})


def test_the_short_figure_refuses_a_pump_at_rest():
    pump, motion, _ = CASES["triplex"]
    with pytest.raises(ValueError, match="at rest"):
        delivery(flow_over_cycle(pump, motion, 0.0, steps=180))
