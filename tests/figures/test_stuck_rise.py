"""The rise with a stuck relief valve drawn: curve and marks at their values, numbers apart."""

import itertools

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from rebuildbook.calculators.drive import NOT_LIMITED, Stall
from rebuildbook.calculators.relief_stuck import ClosedSection, PartStrength
from rebuildbook.calculators.relief_stuck import stuck_rise as follow
from rebuildbook.figures.stuck_rise import stuck_strip
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


@pytest.mark.parametrize("shown", ALL)
def test_the_figure_names_its_parts_by_number_apart_and_is_small(shown):
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


def test_the_figure_has_the_corner_of_the_stall():
    (axes,) = stuck_strip(AIR).axes
    (curve,) = [line for line in axes.get_lines() if line.get_gid() == "rise"]
    strokes = LINE.volume_to(30 * BAR) / 1e-6
    place = list(curve.get_xdata()).index(pytest.approx(strokes))
    assert curve.get_ydata()[place] == pytest.approx(30)
    assert curve.get_ydata()[-1] == pytest.approx(30)
