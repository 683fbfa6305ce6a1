"""The pressure ladder: every rung at its height, every label readable and apart."""

import math
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.backends.backend_agg import FigureCanvasAgg

from rebuildbook.figures.pressure_ladder import WIDTH, Rung, pressure_ladder, spread

BAR = 1e5
TYPICAL = [
    Rung("Working pressure", 6 * BAR, "working"),
    Rung("Relief reseats", 7.2 * BAR, "reseat"),
    Rung("Relief set", 8.5 * BAR, "set", 8.25 * BAR, 8.75 * BAR),
    Rung("Full relief", 9.6 * BAR, "relieving"),
    Rung("Stall at the supply in hand", 8.9 * BAR, "stall"),
    Rung("Test", 12 * BAR, "test"),
    Rung("fluid cylinder", 10 * BAR, "limit"),
    Rung("outlet manifold", 10 * BAR, "limit"),
    Rung("lower check housing", 16 * BAR, "limit"),
]
CLUSTERED = [Rung(f"Pressure number {k}", (100 + 0.1 * k) * BAR, "working") for k in range(14)]


def labels(figure):
    return [text for text in figure.axes[0].texts if text.get_gid() == "label"]


def boxes(figure, texts):
    renderer = FigureCanvasAgg(figure).get_renderer()
    return [text.get_window_extent(renderer) for text in texts]


def rungs_drawn(figure, kind):
    lines = figure.axes[0].get_lines()
    return [line.get_ydata()[0] for line in lines if line.get_gid() == f"rung-{kind}"]


@pytest.mark.parametrize("rungs", [TYPICAL, CLUSTERED, TYPICAL[:1]])
@pytest.mark.parametrize("unit", ["bar", "psi", "kPa", "MPa"])
def test_no_two_labels_overlap_and_none_leaves_the_paper(rungs, unit):
    figure = pressure_ladder(rungs, unit, "Pressures of a pump whose title needs two lines here")
    found = boxes(figure, labels(figure))
    for one, other in combinations(found, 2):
        apart = one.y1 <= other.y0 + 0.5 or other.y1 <= one.y0 + 0.5
        assert apart
    everything = boxes(figure, [t for t in figure.axes[0].texts if t.get_text()])
    for box in everything:
        assert box.x0 >= 0
        assert box.y0 >= 0
        assert box.x1 <= figure.bbox.x1
        assert box.y1 <= figure.bbox.y1


def test_the_paper_is_80_mm_wide_and_the_type_not_below_6_points():
    figure = pressure_ladder(TYPICAL, "bar")
    assert figure.get_figwidth() * 25.4 == pytest.approx(WIDTH) == pytest.approx(80.0)
    assert min(text.get_fontsize() for text in figure.axes[0].texts) >= 6.0


def test_rungs_stand_in_proportion():
    figure = pressure_ladder(TYPICAL, "bar")
    working, test = rungs_drawn(figure, "working")[0], rungs_drawn(figure, "test")[0]
    assert test / working == pytest.approx(12 / 6)  # the scale begins at zero


def test_clustered_rungs_begin_above_zero_with_a_broken_foot():
    whole = pressure_ladder(TYPICAL, "bar")
    broken = pressure_ladder(CLUSTERED, "bar")
    heights = rungs_drawn(broken, "working")
    assert max(heights) - min(heights) > 30.0  # mm
    below = [y for line in broken.axes[0].get_lines() for y in line.get_ydata() if y < 0]
    assert below
    assert not [y for line in whole.axes[0].get_lines() for y in line.get_ydata() if y < 0]


def test_both_units_are_shown():
    said = "\n".join(text.get_text() for text in pressure_ladder(TYPICAL, "bar").axes[0].texts)
    assert "6.00 bar · 87.0 psi" in said
    assert "8.25 to 8.75 bar" in said
    us = "\n".join(text.get_text() for text in pressure_ladder(TYPICAL, "psi").axes[0].texts)
    assert "87.0 psi · 6.00 bar" in us


def test_both_scales_have_figures_at_the_right_height():
    figure = pressure_ladder(TYPICAL, "bar")
    working = rungs_drawn(figure, "working")[0]
    ticks = {t.get_text(): t.get_position() for t in figure.axes[0].texts if t.get_bbox_patch()}
    assert ticks["5"][1] == pytest.approx(working * 5 / 6)
    assert ticks["100"][1] == pytest.approx(working * 6.894757 / 6)  # 100 psi
    assert ticks["5"][0] < ticks["100"][0]


def test_limits_at_one_pressure_share_a_rung_and_keep_their_names():
    figure = pressure_ladder(TYPICAL, "bar")
    assert len(rungs_drawn(figure, "limit")) == 2
    said = " ".join(text.get_text() for text in labels(figure))
    assert "Limit: fluid cylinder, outlet manifold" in said


def test_close_pressures_get_the_figures_that_tell_them_apart():
    said = [text.get_text() for text in labels(pressure_ladder(CLUSTERED, "bar"))]
    values = [line.split(" bar")[0] for line in said if " bar" in line]
    assert len(values) == len(set(values)) == 14


def test_a_drive_that_does_not_stall_is_named_at_the_top():
    figure = pressure_ladder([*TYPICAL, Rung("Stall", math.inf, "stall")], "bar")
    assert len(rungs_drawn(figure, "stall")) == 1
    top = max(labels(figure), key=lambda text: text.get_position()[1])
    assert top.get_text() == "Stall"
    assert "not limited" in [text.get_text() for text in labels(figure)]


def test_every_kind_has_a_line_of_its_own():
    kinds = ("working", "reseat", "set", "relieving", "stall", "test", "limit")
    figure = pressure_ladder([Rung(k, (n + 1) * BAR, k) for n, k in enumerate(kinds)], "bar")
    drawn = [x for x in figure.axes[0].get_lines() if (x.get_gid() or "").startswith("rung-")]
    styles = {(str(x._unscaled_dash_pattern), x.get_linewidth()) for x in drawn}
    assert len(styles) == len(kinds)


def test_the_order_of_the_rungs_does_not_matter():
    forward, backward = pressure_ladder(TYPICAL, "bar"), pressure_ladder(TYPICAL[::-1], "bar")
    assert rungs_drawn(forward, "stall") == rungs_drawn(backward, "stall")
    assert [t.get_position() for t in labels(forward)] == [
        t.get_position() for t in labels(backward)
    ]


def test_a_single_pressure_of_zero_is_drawn():
    assert rungs_drawn(pressure_ladder([Rung("At rest", 0.0, "working")], "bar"), "working") == [0]


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: pressure_ladder([], "bar"), "nothing to draw"),
        (lambda: pressure_ladder([Rung("Stall", math.inf, "stall")], "bar"), "nothing to draw"),
        (lambda: pressure_ladder(TYPICAL, "mm"), "'mm' is no pressure unit"),
        (lambda: Rung("Set", 5e5, "set", 6e5, 7e5), "do not run upward"),
        (lambda: Rung("Set", -5e5, "set"), "do not run upward"),
        (lambda: Rung("Set", math.nan, "set"), "do not run upward"),
    ],
)
def test_what_cannot_be_drawn_is_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()


@given(
    st.lists(st.tuples(st.floats(0.0, 100.0), st.floats(1.0, 6.0)), min_size=1, max_size=12),
)
@settings(max_examples=200)
def test_spread_keeps_order_size_and_bounds(wanted):
    middles = sorted(middle for middle, _ in wanted)
    sizes = [size for _, size in wanted]
    out = spread(middles, sizes, 0.0, 100.0)
    for k in range(len(out) - 1):
        assert out[k + 1] - out[k] >= (sizes[k] + sizes[k + 1]) / 2 - 1e-6
    assert out[0] - sizes[0] / 2 >= -1e-6
    assert out[-1] + sizes[-1] / 2 <= 100.0 + 1e-6


def test_labels_with_room_stay_where_they_belong():
    assert spread([10.0, 20.0, 30.0], [4.0, 4.0, 4.0], 0.0, 40.0) == [10.0, 20.0, 30.0]
