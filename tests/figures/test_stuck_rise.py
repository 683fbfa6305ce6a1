"""The rise with a stuck relief valve drawn: curve and marks at their values, names apart."""

import itertools

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from rebuildbook.calculators.drive import NOT_LIMITED, Stall
from rebuildbook.calculators.relief_stuck import ClosedSection, PartStrength
from rebuildbook.calculators.relief_stuck import stuck_rise as follow
from rebuildbook.figures.stuck_rise import stuck_rise, stuck_strip
from rebuildbook.figures.style import svg

BAR = 1e5
PARTS = [
    PartStrength("fluid cylinder", 16 * BAR, 24 * BAR, 64 * BAR),
    PartStrength("outlet hose", 25 * BAR, 50 * BAR, 100 * BAR),
    PartStrength("upper check housing", 16 * BAR),
]
MANY = [PartStrength(f"body number {k} of the pump", (160 + k) * BAR, 240 * BAR) for k in range(8)]
LINE = ClosedSection(2e-3, 2e9, hose_compliance=4e-12, gas=2e-6)
AIR = follow(Stall(30 * BAR, "any"), LINE, 1e-6, 1.0, PARTS)
MOTOR = follow(NOT_LIMITED, ClosedSection(1e-3, 2e9), 3e-5, 6.0, PARTS)
ALL = [
    AIR, MOTOR,
    follow(NOT_LIMITED, LINE, 1e-7, 2.0, MANY),
    follow(Stall(30 * BAR, "any"), LINE, 1e-6, 1.0, []),
    follow(Stall(10 * BAR, "any"), LINE, 1e-6, 1.0, PARTS, start=18 * BAR),
]  # fmt: skip


def lines(figure, gid):
    return [line for line in figure.axes[1].get_lines() if line.get_gid() == gid]


def texts(figure):
    page, axes = figure.axes
    found = [*page.texts, axes.xaxis.label, axes.yaxis.label]
    for axis in (axes.xaxis, axes.yaxis):
        low, high = sorted(axis.get_view_interval())
        found += [t.label1 for t in axis.get_major_ticks() if low <= t.get_loc() <= high]
    return [text for text in found if text.get_text()]


@pytest.mark.parametrize("unit", ["bar", "psi", "kPa"])
@pytest.mark.parametrize("shown", ALL)
def test_no_words_overlap_or_leave_the_paper(legible, shown, unit):
    figure = stuck_rise(shown, unit, "Pressure if the relief valve of the slip pump sticks shut")
    legible(figure, texts(figure))


def test_marks_stand_at_their_pressures():
    drawn = sorted(line.get_ydata()[0] for line in lines(stuck_rise(AIR), "mark"))
    assert drawn == pytest.approx([16, 16, 24, 25, 30, 50, 64, 100])


def test_a_dot_stands_on_every_whole_stroke_and_the_curve_ends_at_the_stall():
    figure = stuck_rise(AIR)
    (dots,), (curve,) = lines(figure, "strokes"), lines(figure, "rise")
    for count, pressure in zip(dots.get_xdata(), dots.get_ydata(), strict=True):
        expected = min(LINE.pressure_after(count * 1e-6), 30 * BAR)
        assert pressure == pytest.approx(expected / BAR)
    assert curve.get_ydata()[-1] == pytest.approx(30)
    assert not lines(stuck_rise(MOTOR), "strokes")  # all over within one stroke


def test_curve_of_a_motor_pump_is_straight_up_to_the_highest_mark():
    (curve,) = lines(stuck_rise(MOTOR), "rise")
    assert curve.get_ydata()[-1] == pytest.approx(100)
    assert curve.get_xdata()[-1] == pytest.approx(100 * BAR * 1e-3 / 2e9 / 3e-5)


def test_what_the_drive_does_not_reach_is_said():
    words = [t.get_text() for t in stuck_rise(AIR).axes[0].texts]
    assert "100 bar, not reached" in words
    assert any(text.startswith("16.0 bar, stroke ") for text in words)


def test_same_bytes_twice_and_what_cannot_be_drawn():
    assert svg(stuck_rise(AIR, "psi")) == svg(stuck_rise(AIR, "psi"))
    with pytest.raises(ValueError, match="no pressure unit"):
        stuck_rise(AIR, "L")
    with pytest.raises(ValueError, match="nothing to draw"):
        stuck_rise(follow(NOT_LIMITED, LINE, 1e-6, 1.0, []))


@pytest.mark.parametrize("shown", ALL)
def test_the_small_figure_names_its_parts_by_number_apart_and_is_small(shown):
    figure = stuck_strip(shown, "bar")
    (axes,) = figure.axes
    heights = {line.get_ydata()[0] for line in axes.get_lines() if line.get_gid() == "mark"}
    wanted = {mark.pressure / BAR for mark in shown.milestones} | (
        {shown.stall / BAR} if shown.stall < float("inf") else set()
    )
    assert sorted(heights) == pytest.approx(sorted(wanted))
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    boxes = [text.get_window_extent(canvas.get_renderer()) for text in axes.texts]
    assert all(one.y1 <= other.y0 + 1.5 for one, other in itertools.pairwise(boxes))
    assert all(box.x1 <= canvas.get_width_height()[0] for box in boxes)
    assert len(svg(figure).encode()) < 10_000


def test_the_small_figure_has_the_corner_of_the_stall():
    (axes,) = stuck_strip(AIR).axes
    (curve,) = [line for line in axes.get_lines() if line.get_gid() == "rise"]
    strokes = LINE.volume_to(30 * BAR) / 1e-6
    place = list(curve.get_xdata()).index(pytest.approx(strokes))
    assert curve.get_ydata()[place] == pytest.approx(30)
    assert curve.get_ydata()[-1] == pytest.approx(30)
