"""Flow over the size of a leak and the losses, before and after: true to their numbers, apart."""

from dataclasses import replace

import numpy as np
import pytest

from rebuildbook.calculators.leak_paths import Gap, Scratch, leak
from rebuildbook.calculators.volumetric import Duty, leak_paths, volumetric
from rebuildbook.figures.style import svg
from rebuildbook.figures.wear_change import BAR_MM, PLOT, ROWS, Curve, Shown, wear_change

DUTY = Duty(0.6e-3, 1.0, 20e5, 0.2, 1400.0, bulk_modulus=2.2e9, air_share=0.005)
SIZES = 2e-4 * np.linspace(0.0, 1.0, 12)


def gap(height):
    return Gap(0.08, height, 0.01)


def shown(height, duty=DUTY, wanted=0.85, **others):
    paths = {"piston seal": gap(height), **others}
    result = volumetric(duty, leak_paths("double-acting piston", paths, duty))
    slips = [
        leak(gap(one), 20e5, duty.viscosity, duty.density).flow if one else 0.0 for one in SIZES
    ]
    own = leak(gap(height), 20e5, duty.viscosity, duty.density).flow if height else 0.0
    flows = np.maximum(result.balance * duty.rate + own - np.array(slips), 0.0)
    curve = Curve("radial gap", SIZES, flows, height, result.flow, 1.2e-4)
    return Shown(result, curve, wanted * duty.displacement * duty.rate)


NEW, WORN = shown(0.0), shown(1.5e-4)
THIN = shown(1.5e-4, replace(DUTY, viscosity=0.05))
MANY = shown(
    1e-4,
    replace(DUTY, back_flows={"inlet checks": 3e-6, "outlet checks": 4e-6}),
    **{
        f"{check} check": Scratch(0.4e-3, 0.1e-3 * place, 0.3e-3)
        for place, check in enumerate(("upper inlet", "lower inlet", "upper outlet"), start=1)
    },
)
BARE = Shown(NEW.result)
UNTOLD = Shown(None)


def texts(figure):
    return [text for text in figure.axes[0].texts if text.get_text()]


def words(figure):
    return " | ".join(text.get_text() for text in texts(figure))


def lines(figure, gid):
    return [one for one in figure.axes[0].lines if one.get_gid() == gid]


def bars(figure, word):
    return [one for one in figure.axes[0].patches if one.get_gid() == f"bar-{word}"]


@pytest.mark.parametrize("units", [("L/min", "µm"), ("gal/min", "thou")])
@pytest.mark.parametrize(
    ("after", "before"),
    [(WORN, NEW), (NEW, NEW), (THIN, WORN), (MANY, NEW), (BARE, NEW), (BARE, BARE), (NEW, UNTOLD)],
)
def test_all_words_are_apart_and_on_the_paper(after, before, units, legible):
    figure = wear_change(after, before, *units)
    legible(figure, texts(figure))


def test_the_mark_lies_on_the_curve_and_the_scale_is_the_frames():
    figure = wear_change(WORN, NEW)
    (mark,), (curve,) = lines(figure, "mark-after"), lines(figure, "after")
    x, y = float(mark.get_xdata()[0]), float(mark.get_ydata()[0])
    assert np.interp(x, curve.get_xdata(), curve.get_ydata()) == pytest.approx(y, abs=0.6)
    assert x == pytest.approx(PLOT[0] + PLOT[2] * 1.5e-4 / 2e-4)
    (reuse,) = lines(figure, "reuse")
    assert reuse.get_xdata()[0] == pytest.approx(PLOT[0] + PLOT[2] * 1.2e-4 / 2e-4)
    (wanted,) = lines(figure, "wanted")
    flows = np.array([WORN.curve.flow, WORN.wanted])
    (old,) = lines(figure, "mark-before")
    # three flows, three heights: one straight scale
    step = (y - float(old.get_ydata()[0])) / (flows[0] - NEW.curve.flow)
    assert y + step * (flows[1] - flows[0]) == pytest.approx(wanted.get_ydata()[0])


def test_bars_are_as_long_as_the_losses_and_both_are_said():
    figure = wear_change(WORN, NEW)
    now = sorted(bar.get_width() for bar in bars(figure, "after"))
    lost = sorted(loss.share for loss in WORN.result.losses if loss.volume > 0.0)
    assert now[-1] == pytest.approx(BAR_MM)
    assert now == pytest.approx([BAR_MM * share / lost[-1] for share in lost])
    assert [bar.get_width() for bar in bars(figure, "before")] == [0.0]  # the seal was tight
    assert "% after" in words(figure)
    assert "0 % before" in words(figure)


def test_past_six_losses_the_smallest_are_one():
    losses = [loss for loss in MANY.result.losses if loss.volume > 0.0]
    assert len(losses) == 8
    figure = wear_change(MANY, MANY)
    assert len(bars(figure, "after")) == ROWS
    assert "3 smaller losses" in words(figure)
    whole = sum(bar.get_width() for bar in bars(figure, "after"))
    longest = max(loss.share for loss in losses)
    assert whole / BAR_MM == pytest.approx(sum(loss.share for loss in losses) / longest)


def test_before_and_after_are_told_apart_without_colour():
    figure = wear_change(THIN, WORN)
    (after,), (before,) = lines(figure, "after"), lines(figure, "before")
    assert after.get_linestyle() == "-"
    assert before.get_linestyle() != "-"
    assert bars(figure, "after")[0].get_fill()
    assert bars(figure, "before")[0].get_facecolor()[3] == 0.0


def test_nothing_changed_is_drawn_once():
    figure = wear_change(WORN, WORN)
    assert not lines(figure, "before")
    assert not bars(figure, "before")
    assert "now: 150 µm" in words(figure)


def test_a_scale_that_does_not_begin_at_zero_says_so():
    assert "not from 0" in words(wear_change(NEW, NEW))
    stopped = shown(2e-4, replace(DUTY, viscosity=0.01, rate=0.1))
    assert not stopped.result.delivers
    figure = wear_change(stopped, NEW)
    assert "not from 0" not in words(figure)
    assert "does not reach the pressure" in words(figure)


def test_without_a_curve_only_the_losses_are_drawn():
    assert wear_change(BARE, BARE).get_figwidth() < wear_change(NEW, NEW).get_figwidth()
    tight = Shown(volumetric(replace(DUTY, bulk_modulus=np.inf, air_share=0.0)))
    assert words(wear_change(tight, tight)) == "Nothing is lost."
    assert "No rate" in words(wear_change(UNTOLD, UNTOLD))


def test_the_same_figure_gives_the_same_bytes():
    assert svg(wear_change(WORN, NEW)) == svg(wear_change(WORN, NEW))
