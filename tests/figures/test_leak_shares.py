"""The figure of losses: every bar as long as its loss, every word on the paper and apart."""

import itertools
from dataclasses import replace

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_hex

from rebuildbook.calculators.leak_paths import Gap, Scratch, piston_gap
from rebuildbook.calculators.volumetric import Duty, leak_paths, volumetric
from rebuildbook.figures.leak_shares import LOOKS, MOST_BARS, leak_bars, leak_shares
from rebuildbook.figures.style import svg

DUTY = Duty(
    0.6e-3, 1.0, 20e5, 0.2, 1400.0, bulk_modulus=2.2e9, clearance_ratio=0.8, air_share=0.005,
    back_flows={"inlet checks": 3e-6, "outlet checks": 4e-6},
)  # fmt: skip
WORN = {
    "piston seal": piston_gap(0.0635, 0.0633, 0.02),
    "rod packing": Gap(0.025, 5e-5, 0.03, 0.5),
    "upper inlet check": Scratch(0.4e-3, 0.1e-3, 0.3e-3),
    "lower outlet check, long scratch across the land": Scratch(0.6e-3, 0.2e-3, 0.3e-3),
}
DOUBLE = volumetric(DUTY, leak_paths("double-acting piston", WORN, DUTY))
PLUNGERS = {
    f"{name} {k}": Scratch(0.1e-3 * k, 0.1e-3, 0.3e-3)
    for k in range(1, 8)
    for name in ("packing", "inlet check", "outlet check")
}
MANY = volumetric(DUTY, leak_paths("plungers", PLUNGERS, DUTY, 7))
FEW = volumetric(replace(DUTY, air_share=0.0, back_flows={}))
STUCK_DUTY = replace(DUTY, rate=0.01, viscosity=0.005)
STUCK = volumetric(STUCK_DUTY, leak_paths("double-acting piston", WORN, STUCK_DUTY))


def bars(figure):
    return {patch.get_gid()[4:]: patch for patch in figure.axes[0].patches if patch.get_gid()}


def texts(figure):
    axes = figure.axes[0]
    found = [*figure.texts, *axes.texts, axes.xaxis.label]
    for legend in figure.legends:
        found += legend.get_texts()
    return [text for text in found if text.get_text()]


@pytest.mark.parametrize(
    ("title", "unit"), [("", "gal/min"), ("Slip pump no. 2, as found", "L/min")]
)
@pytest.mark.parametrize("result", [DOUBLE, MANY, FEW, STUCK])
def test_no_words_overlap_or_leave_the_paper(result, title, unit):
    figure = leak_shares(result, unit, title)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    boxes = [(t.get_text(), t.get_window_extent(canvas.get_renderer())) for t in texts(figure)]
    wide, high = canvas.get_width_height()
    for words, box in boxes:
        assert box.x0 >= 0 and box.y0 >= 0 and box.x1 <= wide and box.y1 <= high, words
    for (words, one), (others, other) in itertools.combinations(boxes, 2):
        apart = (
            one.x1 <= other.x0 + 1 or other.x1 <= one.x0 + 1
            or one.y1 <= other.y0 + 1 or other.y1 <= one.y0 + 1
        )  # fmt: skip
        assert apart, (words, others)


def test_bars_are_as_long_as_the_losses_and_run_downward():
    drawn = bars(leak_shares(DOUBLE))
    assert list(drawn) == [loss.name for loss in DOUBLE.losses]
    for loss in DOUBLE.losses:
        assert drawn[loss.name].get_width() == pytest.approx(100.0 * loss.share)
    heights = [patch.get_y() for patch in drawn.values()]
    assert heights == sorted(heights)


def test_kinds_differ_without_colour():
    looks = {(fill, hatch) for fill, hatch, _ in LOOKS.values()}
    assert len(looks) == len(LOOKS)
    figure = leak_shares(DOUBLE)
    for loss in DOUBLE.losses:
        fill, hatch, _ = LOOKS[loss.kind]
        patch = bars(figure)[loss.name]
        assert (to_hex(patch.get_facecolor()), patch.get_hatch() or "") == (fill, hatch)
    key = [text.get_text() for text in figure.legends[0].get_texts()]
    assert sorted(key) == sorted(["leak", "compression", "air", "back-flow"])


def test_too_many_losses_are_drawn_as_one_and_still_add_up():
    drawn = bars(leak_shares(MANY))
    assert len(drawn) == MOST_BARS
    whole = sum(patch.get_width() for patch in drawn.values())
    assert whole == pytest.approx(100.0 * (1.0 - MANY.efficiency))
    assert any("smaller losses" in name for name in drawn)


def test_words_say_share_flow_and_stroke():
    said = [text.get_text() for text in texts(leak_shares(DOUBLE))]
    first = DOUBLE.losses[0]
    figures = next(words for words in said if words.startswith(f"{100.0 * first.share:.2f} %"))
    assert f"{100.0 * first.of_losses:.0f} % of losses" in figures
    assert f"{first.volume * 1.0 * 6e4:.2f} L/min" in figures
    assert "on both strokes" in said
    assert any(f"{100.0 * DOUBLE.efficiency:.1f} %" in words for words in said)


def test_a_pump_that_does_not_reach_the_pressure_is_called_so():
    assert not STUCK.delivers
    assert any("Does not reach" in text.get_text() for text in texts(leak_shares(STUCK)))


def test_nothing_lost_is_refused():
    with pytest.raises(ValueError, match="nothing is lost"):
        leak_shares(volumetric(Duty(1e-3, 1.0, 1e5, 1e-3, 1000.0)))


@pytest.mark.parametrize("result", [DOUBLE, MANY, FEW, STUCK])
def test_the_short_form_ranks_the_losses_keeps_its_words_on_the_paper_and_is_small(result):
    figure = leak_bars(result)
    widths = [patch.get_width() for patch in bars(figure).values()]
    assert widths == sorted(widths, reverse=True) or len(result.losses) > 6
    wanted = [loss.share for loss in result.losses if loss.volume > 0.0][: min(5, len(widths))]
    assert widths[: len(wanted)] == pytest.approx(
        [widths[0] * share / wanted[0] for share in wanted]
    )
    assert len(widths) <= 6
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    wide, high = canvas.get_width_height()
    for text in texts(figure):
        box = text.get_window_extent(canvas.get_renderer())
        assert box.x0 >= 0 and box.y0 >= 0 and box.x1 <= wide and box.y1 <= high, text.get_text()
    assert len(svg(leak_bars(result)).encode()) < 15_000


def test_the_short_form_leaves_out_what_loses_nothing_and_refuses_nothing_lost():
    tight = {"rod packing": Gap(0.03, 0.0, 0.03)}
    sealed = volumetric(DUTY, leak_paths("double-acting piston", tight, DUTY))
    assert "rod packing" not in bars(leak_bars(sealed))
    with pytest.raises(ValueError, match="nothing is lost"):
        leak_bars(volumetric(Duty(1e-3, 1.0, 1e5, 1e-3, 1000.0)))
