"""The wrench drawn to scale: lengths and angles as given, words apart."""

import math
from dataclasses import replace

import matplotlib.patches as shapes
import pytest

from rebuildbook.figures.wrench_reach import WrenchPicture, wrench_reach

PLAIN = WrenchPicture(
    tool="C-60", lever=0.265, marked=(10.0, 60.0), usable=0.2, scale_unit="N*m", adapter="",
    offset=0.0, angle=0.0, setting=33.5, formula=33.5, aim=33.5, forgotten=33.5,
    delivered=(31.9, 35.1), window=(30.0, 37.0), units=("N*m", "ft*lbf"),
    length_units=("mm", "in"),
)  # fmt: skip


def fitted(offset=0.1, degrees=0.0, **changed):
    angle = math.radians(degrees)
    ratio = 1.0 + offset * math.cos(angle) / 0.265
    return replace(
        PLAIN, adapter="EX-100", offset=offset, angle=angle, formula=33.5 / ratio,
        forgotten=33.5 * ratio, **changed,
    )  # fmt: skip


STATES = [
    PLAIN,
    fitted(),
    fitted(degrees=45),
    fitted(degrees=90),
    fitted(degrees=135),
    fitted(degrees=180),
    fitted(degrees=-60),
    fitted(0.03, setting=33.0),
    fitted(0.5, 30),
    fitted(setting=70.0, delivered=(92.0, 101.0)),
    fitted(0.2, setting=3.0, delivered=(4.0, 5.0)),
    replace(PLAIN, lever=None),
    replace(PLAIN, tool="The long one everybody reaches for, do not drop it", lever=15.5 * 0.0254),
]


@pytest.mark.parametrize("after", STATES)
@pytest.mark.parametrize("before", [PLAIN, STATES[2]])
def test_words_stand_apart_and_on_the_paper(after, before, legible):
    figure = wrench_reach(after, before)
    legible(figure, [text for text in figure.axes[0].texts if text.get_text()], arrows=False)


def line(figure, gid):
    return next(one for one in figure.axes[0].lines if one.get_gid() == gid)


@pytest.mark.parametrize("degrees", [0.0, 30.0, 90.0, 150.0, -45.0])
@pytest.mark.parametrize("offset", [0.03, 0.1, 0.3])
def test_lengths_and_angle_are_to_scale(offset, degrees):
    figure = wrench_reach(fitted(offset, degrees), PLAIN)
    (x0, y0), (x1, y1) = line(figure, "adapter").get_xydata()
    ends = [one for one in figure.axes[0].lines if one.get_gid() == "dimension"]
    lever = abs(float(ends[0].get_xdata()[1] - ends[0].get_xdata()[0]))
    assert math.hypot(x1 - x0, y1 - y0) / lever == pytest.approx(offset / 0.265)
    assert math.atan2(y1 - y0, x1 - x0) == pytest.approx(math.radians(degrees), abs=1e-9)
    if len(ends) > 1:
        arm = abs(float(ends[1].get_xdata()[1] - ends[1].get_xdata()[0]))
        assert arm / lever == pytest.approx(1 + offset * math.cos(math.radians(degrees)) / 0.265)


def test_the_state_before_keeps_the_grip_and_the_scale():
    figure = wrench_reach(fitted(degrees=90), fitted(degrees=0))
    places = line(figure, "before").get_xydata()
    lever, offset = math.dist(places[0], places[1]), math.dist(places[1], places[2])
    assert offset / lever == pytest.approx(0.1 / 0.265)
    assert tuple(places[1]) == pytest.approx(tuple(line(figure, "adapter").get_xydata()[0]))


def test_scatter_and_window_share_their_scale():
    figure = wrench_reach(PLAIN, PLAIN)
    band = next(p for p in figure.axes[0].patches if p.get_gid() == "window")
    bar = [one for one in figure.axes[0].lines if one.get_gid() == "delivered"][-1].get_xdata()
    per_torque = band.get_width() / 7.0
    assert bar[0] - band.get_x() == pytest.approx(1.9 * per_torque)
    assert bar[1] - bar[0] == pytest.approx(3.2 * per_torque)


def test_the_usable_part_of_the_scale_ends_at_full_scale():
    figure = wrench_reach(PLAIN, PLAIN)
    usable = next(p for p in figure.axes[0].patches if p.get_gid() == "usable")
    assert isinstance(usable, shapes.Rectangle)
    low = replace(PLAIN, usable=0.5)
    narrower = next(p for p in wrench_reach(low, low).axes[0].patches if p.get_gid() == "usable")
    # from 12 of 60 and from 30 of 60: 48 parts and 30
    assert narrower.get_width() / usable.get_width() == pytest.approx(30 / 48)


def words(figure):
    return " | ".join(text.get_text() for text in figure.axes[0].texts)


def test_words_say_what_is_drawn():
    said = words(wrench_reach(fitted(degrees=45), PLAIN))
    assert "E 100 mm (3.94 in), θ 45.0°" in said
    assert "formula forgotten" in said
    assert "no adapter" in words(wrench_reach(PLAIN, PLAIN))
    assert "length not on the shop sheet" in words(wrench_reach(STATES[-2], PLAIN))
    assert "off the scale" in words(wrench_reach(STATES[9], PLAIN))
    assert "formula forgotten" not in words(wrench_reach(fitted(degrees=90), PLAIN))
