"""The preload figures: what is drawn is what was given, nothing overlaps or runs off the page."""

import io
import math
from itertools import combinations

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from rebuildbook.figures.preload import joint_diagram, preload_distribution

KB, KM = 4e8, 1.4e9
DRAWS = np.random.default_rng(3).normal(20e3, 2e3, 20_000)
INTERVAL = tuple(np.quantile(DRAWS, [0.025, 0.975]))

LIMITS = [
    (12e3, 30e3),
    (15e3, 25e3),
    (19e3, 21e3),
    (19.9e3, 20.1e3),
    (2e3, 60e3),
    (25e3, 28e3),
    (12e3, 14e3),
    (None, 26e3),
    (15e3, None),
    (None, None),
]


def texts(figure, gid=None):
    return [text for text in figure.axes[0].texts if gid is None or text.get_gid() == gid]


def boxes(figure, found):
    FigureCanvasAgg(figure).draw()
    return [text.get_window_extent() for text in found]


def lines(figure, gid):
    return [line for line in figure.axes[0].lines if line.get_gid() == gid]


@pytest.mark.parametrize("width", [70.0, 160.0])
@pytest.mark.parametrize("unit", ["N", "lbf"])
@pytest.mark.parametrize(("opens", "yields"), LIMITS)
def test_words_stay_on_the_page_and_apart(opens, yields, unit, width):
    figure = preload_distribution(DRAWS, opens, yields, INTERVAL, unit, width_mm=width)
    found = boxes(figure, texts(figure))
    page = figure.bbox
    for box in found:
        assert page.x0 <= box.x0 < box.x1 <= page.x1
        assert page.y0 <= box.y0 < box.y1 <= page.y1
    for one, other in combinations(found, 2):
        assert not one.overlaps(other)


def test_limits_stand_where_they_are_and_tell_their_share():
    figure = preload_distribution(DRAWS, 16e3, 24e3, INTERVAL, "kN")
    places = sorted(line.get_xdata()[0] for line in lines(figure, "limit"))
    assert places == pytest.approx([16.0, 24.0])
    words = {text.get_text().split()[0]: text.get_text() for text in texts(figure, "limit-name")}
    below = np.mean(DRAWS < 16e3)
    assert "opens below 16.0 kN" in words["opens"]
    assert f"{100 * below:.1f}" in words["opens"]
    assert "yields above 24.0 kN" in words["yields"]


def test_no_trial_past_a_limit_is_said_in_words():
    figure = preload_distribution(DRAWS, 1e3, None, INTERVAL, "kN")
    assert "in no trial" in texts(figure, "limit-name")[0].get_text()


def test_interval_is_named_with_its_coverage():
    figure = preload_distribution(DRAWS, None, None, (17e3, 23e3), "kN", coverage=0.9)
    assert texts(figure, "interval")[0].get_text() == "90\u202f% lie from 17.0 to 23.0 kN"


def test_only_what_lies_past_a_limit_is_hatched():
    figure = preload_distribution(DRAWS, 18e3, 23e3, INTERVAL, "kN")
    hatched = [patch for patch in figure.axes[0].patches if patch.get_hatch()]
    (patch,) = hatched
    data = patch.get_data()
    middles = (data.edges[:-1] + data.edges[1:]) / 2.0
    filled = data.values > 0.0
    assert np.all((middles[filled] < 18.0) | (middles[filled] > 23.0))
    share = np.sum((data.values * np.diff(data.edges))[filled]) / DRAWS.size
    assert share == pytest.approx(np.mean((DRAWS < 18e3) | (DRAWS > 23e3)), abs=1e-3)


@pytest.mark.parametrize("width", [70.0, 160.0])
@pytest.mark.parametrize("unit", ["N", "lbf"])
@pytest.mark.parametrize("load", [0.0, 50.0, 2e3, 9e3, 30e3, 32.2e3, 80e3])
def test_names_of_the_forces_stay_on_the_page_and_apart(load, unit, width):
    figure = joint_diagram(25e3, KB, KM, load, unit, width_mm=width)
    found = boxes(figure, texts(figure, "force-name"))
    assert len(found) == (2 if load == 0.0 else 8)
    for box in found:
        assert figure.bbox.x0 <= box.x0 < box.x1 <= figure.bbox.x1
        assert figure.bbox.y0 <= box.y0 < box.y1 <= figure.bbox.y1
    for one, other in combinations(found, 2):
        assert not one.overlaps(other)
    axes = figure.axes[0]
    for label in (axes.xaxis.label, axes.yaxis.label):
        box = label.get_window_extent()
        assert box.x0 >= 0.0
        assert box.y0 >= 0.0


def named_forces(figure):
    words = [text.get_text() for text in texts(figure, "force-name")]
    return dict(zip(words[::2], words[1::2], strict=True))


def test_diagram_shows_fastener_less_clamp_as_the_load():
    # by the springs: 25 kN + 9 kN × 0.4/1.8 and less 9 kN × 1.4/1.8
    named = named_forces(joint_diagram(25e3, KB, KM, 9e3, "kN"))
    assert named == {
        "fastener": "27.0 kN",
        "preload": "25.0 kN",
        "load": "9.00 kN",
        "clamp left": "18.0 kN",
    }


def test_an_opened_joint_says_so():
    named = named_forces(joint_diagram(25e3, KB, KM, 40e3, "kN"))
    assert named["fastener"] == named["load"] == "40.0 kN"
    assert named["open"] == "0 kN"
    assert "clamp left" not in named


def test_without_a_load_only_the_preload_is_named():
    assert named_forces(joint_diagram(25e3, KB, KM, 0.0, "kN")) == {"preload": "25.0 kN"}


def test_figures_write_themselves():
    for figure in (
        preload_distribution(DRAWS, 12e3, 30e3, INTERVAL, "kN"),
        joint_diagram(25e3, KB, KM, 9e3, "kN"),
    ):
        out = io.BytesIO()
        figure.savefig(out, format="svg")
        assert b"<svg" in out.getvalue()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: preload_distribution([1.0], None, None, (0.0, 1.0), "N"), "no spread to draw"),
        (lambda: preload_distribution([1.0, math.nan], None, None, (0.0, 1.0), "N"), "finite"),
        (lambda: preload_distribution(DRAWS, 9e3, 8e3, INTERVAL, "kN"), "no room between"),
        (lambda: preload_distribution(DRAWS, None, None, INTERVAL, "bar"), "no force unit"),
        (
            lambda: preload_distribution(DRAWS, None, None, INTERVAL, "kN", width_mm=20.0),
            "width of 20 mm",
        ),
        (lambda: joint_diagram(0.0, KB, KM, 1.0, "kN"), "preload: 0 is no force"),
        (lambda: joint_diagram(1.0, 0.0, KM, 1.0, "kN"), "fastener: 0 is no"),
        (lambda: joint_diagram(1.0, KB, KM, -1.0, "kN"), "draw a load that pulls apart"),
    ],
)
def test_what_cannot_be_drawn_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
