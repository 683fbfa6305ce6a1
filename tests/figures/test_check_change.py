"""A check valve before and after: what has changed is drawn twice, what has not, once."""

import math

import pytest

from rebuildbook.calculators.ball_check import BallCheck, assess_ball_check
from rebuildbook.calculators.ball_motion import ball_motion
from rebuildbook.calculators.ball_seat import ConeSeat, LappedSeat, SharpSeat
from rebuildbook.calculators.flow_curve import Newtonian
from rebuildbook.calculators.materials import material
from rebuildbook.calculators.stroke_flow import CrankDrive
from rebuildbook.figures.check_change import Shown, check_change
from rebuildbook.figures.style import svg

CONE = ConeSeat(0.020, 0.028, math.pi / 2)
SEATS = [CONE, SharpSeat(0.022, 0.0008), LappedSeat(0.020, 0.024, 0.0151)]


def shown(ball=0.030, seat=CONE, lift=0.006, rate=1.0, of="440C", moving=True):
    check = BallCheck(ball, material(of), seat, material("440C"), lift, 10e5, 1000.0)
    motion = ball_motion(check, Newtonian(0.001), CrankDrive(rate, 120e-6)) if moving else None
    return Shown(check, assess_ball_check(check).contact, motion)


@pytest.fixture(scope="module")
def usual():
    return shown()


@pytest.fixture(scope="module")
def other():
    return shown(ball=0.032, lift=0.005, of="PTFE", rate=1.3)


def drawn(figure, gid):
    axes = figure.axes[0]
    return [one for one in (*axes.lines, *axes.patches) if one.get_gid() == gid]


def words(figure):
    return " ".join(text.get_text() for text in figure.axes[0].texts)


def test_nothing_changed_is_drawn_once(usual, legible):
    figure = check_change(usual, usual)
    for gid in ("ball-before", "seat-before", "lifted-before", "lift-before", "home-before"):
        assert not drawn(figure, gid)
    assert "now: home" in words(figure)
    assert "before" not in words(figure)
    legible(figure, figure.axes[0].texts)


@pytest.mark.parametrize("system", ["metric", "us"])
def test_both_are_drawn_apart_and_legible(usual, other, system, legible):
    figure = check_change(other, usual, system)
    (after,), (before,) = drawn(figure, "lift-after"), drawn(figure, "lift-before")
    assert after.get_linestyle() == "-"
    assert before.get_linestyle() != "-"  # told apart without colour
    assert after.get_linewidth() > before.get_linewidth()
    ball, old = drawn(figure, "ball")[0], drawn(figure, "ball-before")[0]
    assert ball.radius / old.radius == pytest.approx(32.0 / 30.0)
    assert not drawn(figure, "seat-before")  # the seat is the same
    legible(figure, figure.axes[0].texts)


@pytest.mark.parametrize("seat", SEATS)
@pytest.mark.parametrize("lift", [0.001, 0.05])
def test_seats_and_lifts_of_all_kinds_fit_the_paper(seat, lift, legible):
    figure = check_change(shown(seat=seat, lift=lift, moving=False), shown(moving=False))
    legible(figure, figure.axes[0].texts)
    wide, high = figure.get_size_inches() * 25.4
    for gid in ("seat", "ball", "lifted"):
        for one in drawn(figure, gid):
            box = one.get_path().transformed(one.get_patch_transform()).get_extents()
            assert box.x0 >= 0.0
            assert box.y0 >= 0.0
            assert box.x1 <= wide
            assert box.y1 <= high


def test_the_lift_is_to_the_scale_of_its_axis(usual):
    figure = check_change(usual, usual)
    (line,) = drawn(figure, "lift-after")
    (frame,) = [one for one in drawn(figure, "frame") if one.get_ydata()[0] > 30.0]
    foot, top = frame.get_ydata()[0], frame.get_ydata()[1]
    # the axis ends 8 % above the greatest lift
    assert (line.get_ydata().max() - foot) / (top - foot) == pytest.approx(1.0 / 1.08, rel=5e-3)


def test_the_mark_stands_where_the_ball_is_home(usual, other):
    figure = check_change(other, usual)
    (turn,) = [x for x in drawn(figure, "turn") if x.get_ydata()[0] < 12.0]
    spots = {
        word: float(drawn(figure, f"home-{word}")[0].get_xdata()[0]) - turn.get_xdata()[0]
        for word in ("after", "before")
    }
    lags = other.motion.closing_lag, usual.motion.closing_lag
    assert spots["after"] / spots["before"] == pytest.approx(lags[0] / lags[1])


def test_without_motion_only_the_section_is_drawn(usual):
    still = shown(moving=False)
    assert check_change(still, still).get_figwidth() < 3.0
    assert "after: not followed" in words(check_change(still, usual))


def test_the_same_figure_gives_the_same_bytes_and_an_unknown_system_is_told(usual, other):
    assert svg(check_change(other, usual)) == svg(check_change(other, usual))
    with pytest.raises(ValueError, match="metric or us"):
        check_change(usual, usual, "imperial")
