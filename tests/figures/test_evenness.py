"""The evenness figure: every force at its height, every order's ends, words on the paper."""

import dataclasses

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from rebuildbook.calculators.flange_model import Gasket, RingFlange
from rebuildbook.calculators.interaction import ForcePass, History, joint, tighten
from rebuildbook.calculators.layout import circle, cross_order
from rebuildbook.figures import style
from rebuildbook.figures.evenness import MOST_LINES, UNSEEN, evenness

SHEET = Gasket(60e6, 3e-3, 0.05)
RING = RingFlange(200e9, 0.03, 0.14, 0.24, 0.19)
ENDS = {
    "cross": ((0.53, 1.09), (0.87, 1.02)),
    "quadrants": ((0.63, 1.0), (0.89, 1.0)),
    "rotation": ((0.63, 1.0), (0.9, 1.0)),
}


def made(count: int) -> History:
    layout = circle(count, 0.2)
    order = cross_order(layout)
    passes = [ForcePass(order, force) for force in (6e3, 12e3, 20e3)]
    return tighten(
        joint(RING, SHEET, layout.positions, 2e8), [*passes, ForcePass(layout.rotation, 20e3)]
    )


EIGHT = made(8)


def artists(figure, gid: str):
    return [one for one in figure.axes[0].get_children() if one.get_gid() == gid]


def words(figure) -> list[Text]:
    """What is written, ticks outside the axes' limits apart."""
    found = []
    for axes in figure.axes:
        found += [*axes.texts, axes.yaxis.label]
        for axis in (axes.xaxis, axes.yaxis):
            low, high = sorted(axis.get_view_interval())
            ticks = axis.get_major_ticks()
            found += [tick.label1 for tick in ticks if low <= tick.get_loc() <= high]
    return found


def test_highest_and_lowest_run_within_a_hair_of_every_step():
    figure = evenness(EIGHT, ENDS, "kN")
    for bolt in (int(np.argmin(EIGHT.final)), int(np.argmax(EIGHT.final))):
        (drawn,) = artists(figure, f"bolt-{bolt + 1}")
        x, y = drawn.get_data()
        forces = np.append(0.0, EIGHT.forces[:, bolt] / 1e3)
        off = np.abs(np.interp(np.arange(len(forces)), x, y) - forces)
        assert off.max() <= UNSEEN * figure.axes[0].get_ylim()[1]
        assert y[-1] == pytest.approx(EIGHT.final[bolt] / 1e3)


def test_highest_and_lowest_differ_without_colour_and_bear_their_numbers():
    figure = evenness(EIGHT, ENDS, "kN")
    lowest, highest = int(np.argmin(EIGHT.final)) + 1, int(np.argmax(EIGHT.final)) + 1
    (low,), (high,) = (artists(figure, f"bolt-{bolt}") for bolt in (lowest, highest))
    assert low.get_linestyle() == "--" != high.get_linestyle()
    assert high.get_linewidth() > low.get_linewidth()
    assert [text.get_text() for text in figure.axes[0].texts] == [str(highest), str(lowest)]


def test_the_other_bolts_are_one_line_lifted_between_them():
    (others,) = artists(evenness(EIGHT, ENDS, "kN"), "others")
    x, y = others.get_data()
    lifts = np.flatnonzero(np.isnan(x))
    assert len(lifts) == 6
    ends = sorted(y[lifts - 1])
    assert ends == pytest.approx(sorted(EIGHT.final / 1e3)[1:-1])


def test_many_bolts_are_drawn_as_the_range_they_fill():
    figure = evenness(made(MOST_LINES + 4), ENDS, "kN")
    assert not artists(figure, "others")
    assert len(figure.axes[0].collections) == 1
    assert len(style.svg(figure)) < 20_000


def test_bolts_that_end_alike_are_none_of_them_singled_out():
    level = np.repeat(EIGHT.forces.max(axis=1)[:, None], 8, axis=1)
    figure = evenness(dataclasses.replace(EIGHT, forces=level), ENDS)
    assert not figure.axes[0].texts
    assert artists(figure, "others")


def test_each_order_has_a_thin_line_after_its_passes_and_a_heavy_one_at_its_end():
    axes = evenness(EIGHT, ENDS, "kN").axes[1]
    spans = [line for line in axes.lines if len(set(line.get_ydata())) == 1]
    drawn = [tuple(np.array(line.get_xdata()) / 100) for line in spans]
    assert drawn == [pytest.approx(span) for ends in ENDS.values() for span in ends]
    assert all(
        thin.get_linewidth() < heavy.get_linewidth()
        for thin, heavy in zip(spans[::2], spans[1::2], strict=True)
    )
    assert [label.get_text() for label in axes.get_yticklabels()] == list(ENDS)
    low, high = axes.get_xlim()
    assert low <= 53
    assert high >= 120


def test_the_steps_are_counted_at_the_end_of_each_pass():
    labels = evenness(EIGHT, ENDS).axes[0].get_xticklabels()
    assert [(label.get_text(), label.get_position()[0]) for label in labels] == [
        (str(end), end) for end in (8, 16, 24, 32)
    ]


@pytest.mark.parametrize("count", [2, 8, 16, 32])
def test_all_words_are_on_the_paper(count):
    figure = evenness(made(count), ENDS, "N")
    renderer = FigureCanvasAgg(figure).get_renderer()
    figure.draw(renderer)
    for text in words(figure):
        box = text.get_window_extent(renderer)
        assert min(box.x0, box.y0) >= 0.0, text
        assert box.x1 <= figure.bbox.x1, text
        assert box.y1 <= figure.bbox.y1, text


def test_the_same_figure_gives_the_same_bytes_at_the_width_of_the_page():
    first, second = (style.svg(evenness(EIGHT, ENDS)) for _ in range(2))
    assert first == second
    assert evenness(EIGHT, ENDS).get_figwidth() * style.MM_PER_INCH == pytest.approx(170.0)


def test_without_orders_there_is_nothing_to_draw():
    with pytest.raises(ValueError, match="no orders"):
        evenness(EIGHT, {})
