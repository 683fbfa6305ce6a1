"""The figure of losses: every bar as long as its loss, every word on the paper and apart."""

from dataclasses import replace

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from rebuildbook.calculators.leak_paths import Gap, Scratch, piston_gap
from rebuildbook.calculators.volumetric import Duty, leak_paths, volumetric
from rebuildbook.figures.leak_shares import leak_bars
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


@pytest.mark.parametrize("result", [DOUBLE, MANY, FEW, STUCK])
def test_the_figure_ranks_the_losses_keeps_its_words_on_the_paper_and_is_small(result):
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


def test_the_figure_leaves_out_what_loses_nothing_and_refuses_nothing_lost():
    tight = {"rod packing": Gap(0.03, 0.0, 0.03)}
    sealed = volumetric(DUTY, leak_paths("double-acting piston", tight, DUTY))
    assert "rod packing" not in bars(leak_bars(sealed))
    with pytest.raises(ValueError, match="nothing is lost"):
        leak_bars(volumetric(Duty(1e-3, 1.0, 1e5, 1e-3, 1000.0)))
