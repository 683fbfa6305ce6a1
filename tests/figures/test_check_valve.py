"""The check valve drawn: to scale, all on the paper, nothing written on top of another."""

import itertools
import math

import matplotlib.patches as shapes
import numpy as np
import pytest
from matplotlib.figure import Figure

from rebuildbook.calculators.ball_check import BallCheck, assess_ball_check
from rebuildbook.calculators.ball_seat import ConeSeat, LappedSeat, SharpSeat
from rebuildbook.calculators.materials import material
from rebuildbook.figures import style
from rebuildbook.figures.check_valve import check_valve, profile

HARD, SOFT = material("440C"), material("316")
RIGHT = math.pi / 2


def _check(seat, ball=0.03175, ball_material=HARD, lift=0.007, **more) -> BallCheck:
    given = {"closing_pressure": 26e5, "fluid_density": 1550.0, **more}
    return BallCheck(ball, ball_material, seat, HARD, lift, **given)


CHECKS = {
    "sprung cone": _check(ConeSeat(0.021, 0.027, RIGHT), spring_force=5.0),
    "narrow cone": _check(ConeSeat(0.021, 0.0315, math.radians(30)), spring_force=5.0),
    "flat cone": _check(ConeSeat(0.010, 0.027, math.radians(140)), tilt=math.pi, spring_force=5.0),
    "inner edge": _check(ConeSeat(0.025, 0.029, RIGHT), tilt=RIGHT),
    "outer edge": _check(ConeSeat(0.012, 0.016, RIGHT), spring_force=5.0),
    "sharp": _check(SharpSeat(0.022, 0.0008)),
    "small sharp": _check(SharpSeat(0.004, 0.0002), ball=0.00794, lift=0.002),
    "lapped": _check(LappedSeat(0.029, 0.034, 0.022225), ball=0.04445, lift=0.010),
    "loose lap": _check(LappedSeat(0.029, 0.034, 0.02226), ball=0.04445, tilt=RIGHT),
    "tight lap": _check(LappedSeat(0.029, 0.034, 0.02219), ball=0.04445),
    "floating": _check(SharpSeat(0.022, 0.0008), ball_material=material("polypropylene")),
    "high lift": _check(SharpSeat(0.022, 0.0008), lift=0.040),
    "no pressure": _check(SharpSeat(0.022, 0.0008), closing_pressure=0.0),
}
each = pytest.mark.parametrize("name", CHECKS)


def _draw(name: str, system: str = "metric") -> Figure:
    check = CHECKS[name]
    return check_valve(check, assess_ball_check(check), system, f"Outlet check, {name}")


def _patch(figure: Figure, gid: str) -> list:
    return [patch for patch in figure.axes[0].patches if patch.get_gid() == gid]


def _words(figure: Figure) -> str:
    return " ".join(text.get_text() for text in figure.axes[0].texts)


def _touch(figure: Figure) -> np.ndarray:
    (line,) = [one for one in figure.axes[0].lines if one.get_gid() == "contact"]
    return np.column_stack(line.get_data())


@pytest.mark.parametrize("system", ["metric", "us"])
@each
def test_nothing_written_overlaps_or_leaves_the_paper(
    drawing_legible, name: str, system: str
) -> None:
    figure = _draw(name, system)
    assert figure.get_size_inches()[0] * 25.4 == pytest.approx(80.0)
    drawing_legible(figure, [text for text in figure.axes[0].texts if text.get_text()])


@each
def test_all_parts_stay_on_the_paper(name: str) -> None:
    figure = _draw(name)
    width, height = figure.get_size_inches() * 25.4
    for patch in figure.axes[0].patches:
        if isinstance(patch, shapes.Circle):
            (x, y), radius = patch.center, patch.radius
            corners = np.array([[x - radius, y - radius], [x + radius, y + radius]])
        elif isinstance(patch, shapes.Polygon):
            corners = patch.get_xy()
        else:
            continue
        assert corners.min() >= 0.0
        assert corners[:, 0].max() <= width
        assert corners[:, 1].max() <= height


@each
def test_the_ball_touches_the_seat_where_it_is_drawn_and_does_not_cut_it(name: str) -> None:
    figure, check = _draw(name), CHECKS[name]
    (ball,) = _patch(figure, "ball")
    scale = ball.radius / (check.ball / 2)
    touch = _touch(figure)
    assert np.hypot(*(touch - ball.center).T) == pytest.approx([ball.radius] * 2, rel=1e-4)
    for seat in _patch(figure, "seat"):
        ring = seat.get_xy()
        # dense points along the outline: none may lie inside the ball by more than a hair
        points = np.vstack(
            [a + np.linspace(0, 1, 60)[:, None] * (b - a) for a, b in itertools.pairwise(ring)]
        )
        inside = ball.radius - np.hypot(*(points - ball.center).T)
        assert inside.max() < 0.03
        # and it reaches the ball: on a rounded edge drawn with straight pieces to within a hair
        assert inside.max() > -0.03 - 1e-6 * scale


@each
def test_the_lifted_ball_is_drawn_at_its_lift(name: str) -> None:
    figure, check = _draw(name), CHECKS[name]
    (ball,) = _patch(figure, "ball")
    lifted = _patch(figure, "lifted")
    if name == "high lift":
        assert not lifted
        assert "not drawn" in _words(figure)
        return
    rise = lifted[0].center[1] - ball.center[1]
    assert rise / ball.radius == pytest.approx(check.lift / (check.ball / 2))


@pytest.mark.parametrize(
    ("name", "across", "up"),
    [("sharp", 0, -1), ("loose lap", 1, 0), ("flat cone", 0, 1), ("floating", 0, 1)],
)
def test_weight_points_down_as_mounted_and_up_where_the_ball_floats(
    name: str, across: int, up: int
) -> None:
    (arrow,) = _patch(_draw(name), "arrow-W")
    start, end = arrow._posA_posB  # the ends as given; matplotlib has no public reader
    way = np.subtract(end, start) / math.dist(start, end)
    assert way == pytest.approx([across, up], abs=1e-9)


def test_a_force_that_is_not_there_has_no_arrow_and_no_line_in_the_key() -> None:
    figure = _draw("no pressure")
    assert not _patch(figure, "arrow-S")
    assert not _patch(figure, "arrow-P")
    assert _patch(figure, "arrow-N")
    assert "spring" not in _words(figure)
    assert _patch(_draw("sprung cone"), "arrow-S")


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("sprung cone", "face of the cone"),
        ("inner edge", "too small for the cone"),
        ("outer edge", "too large for the cone"),
        ("sharp", "edge of the bore"),
        ("lapped", "whole land"),
        ("loose lap", "smaller than the lap"),
        ("tight lap", "larger than the lap"),
        ("floating", "does not close by itself"),
    ],
)
def test_the_key_says_where_the_ball_rests_and_whether_it_closes(name: str, words: str) -> None:
    assert words in _words(_draw(name))


def test_the_key_carries_values_worked_by_hand() -> None:
    """Cone of 90°: dc = D/√2 = 22.45 mm; 26 bar on π/4 dc² = 395.9 mm² is 1029 N."""
    words = _words(_draw("sprung cone"))
    for wanted in ("22.5 mm", "45.0°", "spring 5.00 N", "26.0 bar", "1030 N"):
        assert wanted in words


def test_profile_of_a_rounded_edge_is_tangent_to_bore_and_face() -> None:
    edge = profile(SharpSeat(0.022, 0.0008))
    assert edge[0] == pytest.approx([0.011, -0.0008])
    assert edge[-1] == pytest.approx([0.0118, 0.0])
    centre = np.array([0.0118, -0.0008])
    assert np.hypot(*(edge - centre).T) == pytest.approx([0.0008] * len(edge))


def test_svg_is_small_and_the_same_each_time() -> None:
    text = style.svg(_draw("sprung cone"), "Check valve")
    assert style.svg(_draw("sprung cone"), "Check valve") == text
    assert len(text.encode()) < 60_000


def test_an_unknown_system_is_refused() -> None:
    check = CHECKS["sharp"]
    with pytest.raises(ValueError, match="metric or us"):
        check_valve(check, assess_ball_check(check), "imperial")
