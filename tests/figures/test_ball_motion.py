"""The figure of a ball's motion: what is drawn is what was worked out, all words on the paper."""

import math
from itertools import combinations

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from rebuildbook.calculators.ball_check import BallCheck
from rebuildbook.calculators.ball_motion import ball_motion
from rebuildbook.calculators.ball_seat import ConeSeat
from rebuildbook.calculators.flow_curve import HerschelBulkley, Newtonian
from rebuildbook.calculators.materials import material
from rebuildbook.calculators.stroke_flow import AirDrive, CrankDrive
from rebuildbook.figures import style
from rebuildbook.figures.ball_motion import ball_motion as draw

STEEL = material("316")
WATER = Newtonian(0.001)


def moved(fluid=WATER, density=998.0, drive=None, **more):
    check = BallCheck(
        ball=0.025,
        ball_material=STEEL,
        seat=ConeSeat(0.016, 0.022, math.pi / 2),
        seat_material=STEEL,
        lift=0.006,
        closing_pressure=1e6,
        fluid_density=density,
    )
    return ball_motion(check, fluid, drive or CrankDrive(1.0, 60e-6), **more)


MOTIONS = {
    "water": moved(),
    "held back": moved(held_back=2e-6),
    "stop": moved(drive=CrankDrive(4.0, 60e-6)),
    "slip": moved(HerschelBulkley(10.0, 2.0, 0.5), 1700.0, AirDrive(0.5, 60e-6)),
    "shut": moved(held_back=60e-6),
    "late": moved(drive=CrankDrive(3.0, 1e-6)),
}
every_motion = pytest.mark.parametrize("name", MOTIONS)


def lines(figure, gid):
    return [line for axes in figure.axes for line in axes.lines if line.get_gid() == gid]


@every_motion
@pytest.mark.parametrize("width", [140.0, 170.0])
@pytest.mark.parametrize("units", [("mm", "L/min"), ("in", "gal/min")])
def test_no_words_overlap_or_leave_the_paper(name, width, units):
    figure = draw(
        MOTIONS[name], lift_unit=units[0], flow_unit=units[1], title="Outlet", width_mm=width
    )
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    words = [text for text in written(figure) if text.get_visible() and text.get_text().strip()]
    boxes = [(text.get_text(), text.get_window_extent(canvas.get_renderer())) for text in words]
    for text, box in boxes:
        assert figure.bbox.x0 <= box.x0 < box.x1 <= figure.bbox.x1, text
        assert figure.bbox.y0 <= box.y0 < box.y1 <= figure.bbox.y1, text
    for (one, box), (other, second) in combinations(boxes, 2):
        assert not box.overlaps(second), (one, other)


def written(figure):
    """Every text that is drawn: tick labels only where they stand inside their axis."""
    yield from figure.texts
    for axes in figure.axes:
        yield axes.title
        yield axes._left_title
        yield from axes.texts
        if axes.get_legend():
            yield from axes.get_legend().get_texts()
        for axis, place in ((axes.xaxis, 0), (axes.yaxis, 1)):
            yield axis.label
            low, high = sorted(axis.get_view_interval())
            for label in axis.get_ticklabels():
                if low <= label.get_position()[place] <= high:
                    yield label


@every_motion
def test_lift_and_flow_are_drawn_as_found(name):
    motion = MOTIONS[name]
    figure = draw(motion)
    for line in lines(figure, "lift"):
        assert line.get_xdata() == pytest.approx(360.0 * motion.time / motion.cycle)
        assert line.get_ydata() == pytest.approx(1e3 * motion.lift)
    for line in lines(figure, "piston"):
        assert line.get_ydata() == pytest.approx(6e4 * motion.piston_flow)
    for line in lines(figure, "gap"):
        wanted = np.interp(motion.cycle / 4, motion.time, motion.gap_flow) * 6e4
        found = np.interp(90.0, line.get_xdata(), line.get_ydata())
        assert found == pytest.approx(wanted, rel=1e-3, abs=1e-9)


def test_reversal_opening_and_closing_stand_at_their_angles():
    motion = MOTIONS["held back"]
    figure = draw(motion)
    for gid, time in (
        ("reversal", motion.reversal),
        ("home", motion.closing_time),
        ("opens", motion.opening_delay),
    ):
        found = lines(figure, gid)
        assert len(found) == len(figure.axes)
        assert {line.get_xdata()[0] for line in found} == {360.0 * time / motion.cycle}
    words = " ".join(axes.get_title(loc="left") for axes in figure.axes)
    assert f"opens {math.degrees(motion.opening_delay_angle):.1f}°" in words
    assert f"home {math.degrees(motion.closing_lag_angle):.1f}°" in words
    assert "after the reversal" in words


def test_stop_and_shut_are_said():
    assert any(text.get_text() == "stop" for text in draw(MOTIONS["stop"]).findobj(Text))
    assert not any(text.get_text() == "stop" for text in draw(MOTIONS["water"]).findobj(Text))
    words = " ".join(axes.get_title(loc="left") for axes in draw(MOTIONS["shut"]).axes)
    assert "does not open" in words
    assert "home" not in words
    assert not lines(draw(MOTIONS["shut"]), "home")


def test_svg_is_the_same_each_time_and_small():
    text = style.svg(draw(MOTIONS["water"]), "Ball motion")
    assert style.svg(draw(MOTIONS["water"]), "Ball motion") == text
    assert len(text) < 150_000


def test_too_little_room_is_refused():
    with pytest.raises(ValueError, match="140 mm"):
        draw(MOTIONS["water"], width_mm=80.0)
