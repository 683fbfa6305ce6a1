"""The figures of the diagnosis: all words on the paper and apart, every share where it belongs."""

import itertools

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from rebuildbook.calculators.bench_card import card
from rebuildbook.calculators.diagnosis import diagnose
from rebuildbook.calculators.diagnosis_trial import ConfusionTable
from rebuildbook.calculators.drive import double_acting_areas
from rebuildbook.calculators.fault_grid import build_grid
from rebuildbook.calculators.pump_units import double_acting, plunger
from rebuildbook.figures.confusion import confusion
from rebuildbook.figures.diagnosis_bars import diagnosis_bars
from rebuildbook.figures.style import svg

FOUR = build_grid(
    card(
        double_acting(
            double_acting_areas(0.08, 0.03), double_acting_areas(0.16, 0.03),
            stroke=0.12, rate=0.7, supply=4e5,
        )
    )
)  # fmt: skip
THREE = build_grid(card(plunger(2.8e-4, stroke=0.025, rate=9.0, pressure=7e6, plungers=3)))


def diagnosed(grid, changed=None, **shares):
    severities = np.zeros(len(grid.card.pump.faults))
    for name, share in shares.items():
        severities[grid.card.pump.fault(name.replace("_", " "))] = share
    values = dict(zip(grid.card.names, grid.card.predict(severities).tolist(), strict=True))
    read = {name: values[name] for name in grid.card.usual}
    return diagnose(grid.card, {**read, **(changed or {})}, grid=grid)


WRONG = {"creep, up-stroke": 0.05, "air at stall, up-stroke": 0.0, "flow": 1e-3}
DIAGNOSES = {
    "healthy": diagnosed(FOUR),
    "one group": diagnosed(FOUR, upper_inlet=0.1),
    "two": diagnosed(FOUR, piston_seal=0.1, upper_inlet=0.1),
    "contradicted": diagnosed(FOUR, WRONG),
    "plunger": diagnosed(THREE, inlet_1=0.1),
    "few readings": diagnose(FOUR.card, {"flow": 6e-4}, grid=FOUR),
}


def table(count):
    names = (*(f"fault number {i}" for i in range(count)), "two faults")
    rng = np.random.default_rng(count)
    usual = rng.dirichlet(np.full(count + 1, 0.3), count)
    groups = ((names[0], names[1]), *((name,) for name in names[2:count]))
    return ConfusionTable(names[:count], names, groups, usual, np.eye(count, count + 1))


def words(figure):
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    renderer = canvas.get_renderer()
    found = list(figure.texts)
    for axes in figure.axes:
        found += [*axes.texts, axes.xaxis.label]
        for axis in (axes.xaxis, axes.yaxis):
            for tick in axis.get_major_ticks():
                found += [label for label in (tick.label1, tick.label2) if label.get_visible()]
    found = [text for text in found if text.get_text().strip()]
    return [(text.get_text(), text.get_window_extent(renderer)) for text in found]


def assert_legible(figure):
    wide, high = figure.get_size_inches() * figure.dpi
    boxes = words(figure)
    for text, box in boxes:
        assert box.x0 >= -1 and box.y0 >= -1 and box.x1 <= wide + 1 and box.y1 <= high + 1, text
    for (one, a), (other, b) in itertools.combinations(boxes, 2):
        across = min(a.x1, b.x1) - max(a.x0, b.x0)
        along = min(a.y1, b.y1) - max(a.y0, b.y0)
        assert across < 1.0 or along < 1.0, (one, other)


@pytest.mark.parametrize("name", DIAGNOSES)
@pytest.mark.parametrize("title", ["", "Slip pump, serial 12, test after rebuild"])
def test_bars_are_legible(name, title):
    assert_legible(diagnosis_bars(DIAGNOSES[name], title))


@pytest.mark.parametrize("name", DIAGNOSES)
def test_bars_are_as_long_as_what_they_show_is_likely(name):
    diagnosis = DIAGNOSES[name]
    axes = diagnosis_bars(diagnosis).axes[0]
    parts = [patch for patch in axes.patches if patch.get_gid() == "part"]
    rows = sorted({patch.get_y() for patch in parts})
    for row, explanation in zip(rows, diagnosis.explanations, strict=False):
        length = sum(patch.get_width() for patch in parts if patch.get_y() == row)
        assert length == pytest.approx(explanation.probability)


def test_members_of_a_group_differ_in_more_than_colour():
    axes = diagnosis_bars(DIAGNOSES["one group"]).axes[0]
    first, second = [patch for patch in axes.patches if patch.get_gid() == "part"][:2]
    ruled = [line for line in axes.get_lines() if line.get_gid() == "texture"]
    across = np.nanmin(ruled[0].get_xdata()), np.nanmax(ruled[0].get_xdata())
    assert first.get_x() + first.get_width() == pytest.approx(second.get_x())
    assert second.get_x() < across[0] < across[1] < second.get_x() + second.get_width()


@pytest.mark.parametrize("name", DIAGNOSES)
def test_without_its_readings_it_is_small_enough_for_a_page(name):
    figure = diagnosis_bars(DIAGNOSES[name], readings=False)
    assert_legible(figure)
    assert len(figure.axes) == 1
    assert len(svg(figure).encode()) < 12_000


def test_each_reading_has_its_mark_where_it_lies():
    diagnosis = DIAGNOSES["two"]
    axes = diagnosis_bars(diagnosis).axes[1]
    marks = [line for line in axes.get_lines() if line.get_gid() == "reading"]
    drawn = [float(line.get_xdata()[0]) for line in marks]
    assert drawn == pytest.approx([max(-5.0, min(5.0, one.off)) for one in diagnosis.compared])


def test_a_warning_is_written_on_the_figure():
    texts = [text.get_text() for text in diagnosis_bars(DIAGNOSES["contradicted"]).texts]
    assert any("no single fault explains these readings" in text for text in texts)


@pytest.mark.parametrize("count", [2, 7, 11, 16])
@pytest.mark.parametrize("title", ["", "Planted and called"])
def test_confusion_is_legible(count, title):
    assert_legible(confusion(table(count), title))


def test_every_share_is_written_in_its_cell():
    given = table(7)
    for axes, shares in zip(confusion(given).axes, (given.usual, given.after), strict=True):
        written = {text.get_position(): text.get_text() for text in axes.texts if text.get_gid()}
        expected = {
            (column + 0.5, row + 0.52): f"{100 * shares[row, column]:.0f}"
            for row, column in np.argwhere(shares >= 0.005)
        }
        assert written == expected


def test_frames_mark_what_would_be_right_and_the_rest_of_its_group():
    axes = confusion(table(7)).axes[0]
    frames = {(p.get_gid(), int(p.get_x()), int(p.get_y())) for p in axes.patches if p.get_gid()}
    assert frames == {("right", i, i) for i in range(7)} | {("alike", 1, 0), ("alike", 0, 1)}


def test_an_empty_table_is_refused():
    empty = ConfusionTable((), (), (), np.zeros((0, 0)), np.zeros((0, 0)))
    with pytest.raises(ValueError, match="the confusion table is empty"):
        confusion(empty)


def test_the_same_figure_gives_the_same_bytes():
    assert svg(confusion(table(3))) == svg(confusion(table(3)))
    assert svg(diagnosis_bars(DIAGNOSES["two"])) == svg(diagnosis_bars(DIAGNOSES["two"]))
