"""The preload figure: every force drawn at its height, all words on the paper and apart."""

import matplotlib
import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from rebuildbook.calculators.flange_model import Gasket, RingFlange
from rebuildbook.calculators.interaction import (
    ForcePass,
    History,
    compare_orders,
    even_pass,
    joint,
    tighten,
)
from rebuildbook.calculators.layout import circle, cross_order, rotation_order
from rebuildbook.figures.interaction import preload_history

SHEET = Gasket(60e6, 3e-3, 0.05)
RING = RingFlange(200e9, 0.03, 0.14, 0.24, 0.19)


def made(count: int):
    return joint(RING, SHEET, circle(count, 0.2).positions, 2e8)


def compared(count: int, parts=(6e3, 12e3, 20e3)) -> dict[str, History]:
    layout = circle(count, 0.2)
    orders = {"Cross": cross_order(layout), "Rotation, as many would": rotation_order(layout)}
    found = compare_orders(made(count), orders, parts, most=3)
    return {name: one.history for name, one in found.items()}


EIGHT = compared(8)
LONG = "One pass in the crossing order, each stud at the setting that leaves the joint even"
EVEN = {LONG: even_pass(made(8), cross_order(circle(8, 0.2)), 20e3).history}
UNLIKE = {"Unlike": tighten(made(3), [ForcePass((1, 2, 3), (5e3, 10e3, 15e3))])}
FIGURES = [
    EIGHT, EVEN, UNLIKE, {**EIGHT, **EVEN}, compared(2), compared(3, (20e3,)), compared(16),
    compared(24, (20e3,)),
]  # fmt: skip


def texts(figure) -> list[Text]:
    """What is written, ticks outside the axes' limits apart."""
    found = list(figure.texts)
    for axes in figure.axes:
        found += [*axes.texts, axes._left_title, axes.xaxis.label, axes.yaxis.label]
        if axes.get_legend():
            found += axes.get_legend().get_texts()
        for axis in (axes.xaxis, axes.yaxis):
            low, high = sorted(axis.get_view_interval())
            found += [
                tick.label1
                for tick in axis.get_major_ticks()
                if low <= tick.get_loc() <= high and tick.label1.get_visible()
            ]
    return [text for text in found if text.get_text()]


def drawn(figure):
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    return canvas.get_renderer()


@pytest.mark.parametrize("unit", ["kN", "lbf", "N"])
@pytest.mark.parametrize("results", FIGURES)
def test_no_words_overlap_or_leave_the_paper(legible, results, unit) -> None:
    figure = preload_history(results, unit, title="Fluid cover, studs tightened dry")
    legible(figure, texts(figure))


def shown(axes, bolt: int) -> np.ndarray:
    """Heights at which a bolt's force is drawn, step by step."""
    for patch in axes.patches:
        if patch.get_gid() == f"bolt-{bolt}":
            return patch.get_data().values
    (lines,) = (line for line in axes.collections if line.get_gid() == f"bolt-{bolt}")
    return np.array([segment[0][1] for segment in lines.get_segments()])


@pytest.mark.parametrize("results", FIGURES)
def test_every_force_is_drawn_at_its_height(results) -> None:
    figure = preload_history(results, "kN")
    for (history, left), right in zip(
        zip(results.values(), figure.axes[::2], strict=True), figure.axes[1::2], strict=True
    ):
        for bolt in range(1, len(history.final) + 1):
            assert shown(left, bolt) == pytest.approx(history.forces[:, bolt - 1] / 1e3)
        bars = [patch.get_height() for patch in right.patches if patch.get_gid() != "band"]
        assert bars == pytest.approx(history.final / 1e3)
        assert left.get_ylim() == right.get_ylim() == figure.axes[0].get_ylim()
        assert left.get_ylim()[1] > history.forces.max() / 1e3


def test_steps_name_their_bolts_and_passes_are_counted() -> None:
    left = preload_history(EIGHT).axes[0]
    history = EIGHT["Cross"]
    assert [label.get_text() for label in left.get_xticklabels()] == [
        str(number) for number in history.numbers
    ]
    words = [text.get_text() for text in left.texts if text.get_gid() == "pass"]
    assert words == [f"pass {k + 1}" for k in range(history.passes[-1])]
    (rings,) = (line for line in left.lines if line.get_gid() == "tightened")
    assert rings.get_ydata()[:8] == pytest.approx([6.0] * 8)


def test_lowest_and_highest_are_told_by_line_and_by_word() -> None:
    figure = preload_history(EIGHT)
    history = EIGHT["Cross"]
    words = [text.get_text() for text in figure.axes[0].get_legend().get_texts()]
    low, high = np.argmin(history.final) + 1, np.argmax(history.final) + 1
    assert sorted(words) == sorted([f"bolt {low}, ends lowest", f"bolt {high}, ends highest"])
    bars = [patch for patch in figure.axes[1].patches if patch.get_gid() != "band"]
    assert [k + 1 for k, bar in enumerate(bars) if bar.get_hatch()] == [low]
    assert preload_history(EVEN).axes[0].get_legend() is None


def test_the_band_is_the_share_of_one_target() -> None:
    axes = preload_history(EIGHT, share=0.25).axes[0]
    (band,) = (patch for patch in axes.patches if patch.get_gid() == "band")
    assert band.get_y() == pytest.approx(15.0)
    assert band.get_y() + band.get_height() == pytest.approx(25.0)
    unlike = preload_history(UNLIKE).axes[0]
    assert not [patch for patch in unlike.patches if patch.get_gid() == "band"]


def test_it_is_grey_throughout() -> None:
    figure = preload_history(EIGHT)
    drawn(figure)
    picture = np.asarray(figure.canvas.buffer_rgba())[..., :3].astype(int)
    assert np.ptp(picture, axis=2).max() <= 2
    assert picture.min() < 60


def test_nothing_global_is_changed_and_nothing_to_draw_is_refused() -> None:
    before = dict(matplotlib.rcParams)
    preload_history(EIGHT)
    assert dict(matplotlib.rcParams) == before
    with pytest.raises(ValueError, match="no results"):
        preload_history({})
