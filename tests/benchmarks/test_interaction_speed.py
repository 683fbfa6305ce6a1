"""How long a tightening takes; run with --benchmark-enable (skipped otherwise)."""

import pytest

from rebuildbook.calculators.flange_model import Cover, Gasket, Outline, RingFlange
from rebuildbook.calculators.interaction import ForcePass, even_pass, joint, tighten_until_even
from rebuildbook.calculators.layout import circle, cross_order, rectangle

LAYOUT = circle(8, 0.2)
RING = RingFlange(200e9, 0.02, 0.14, 0.24, gasket_diameter=0.17)
SHEET = Gasket(60e6, 3e-3, 0.02)
PASSES = [ForcePass(cross_order(LAYOUT), force) for force in (6e3, 12e3, 20e3)]


@pytest.mark.benchmark(group="interaction")
def test_assemble_ring(benchmark) -> None:
    made = benchmark(joint, RING, SHEET, LAYOUT.positions, 2e8)
    assert made.count == 8


@pytest.mark.benchmark(group="interaction")
def test_three_passes_and_rounds_on_eight_bolts(benchmark) -> None:
    """The aim is under 20 ms once assembled."""
    made = joint(RING, SHEET, LAYOUT.positions, 2e8)
    done = benchmark(tighten_until_even, made, PASSES)
    assert done.even
    assert done.rounds > 0


@pytest.mark.benchmark(group="interaction")
def test_even_pass_on_eight_bolts(benchmark) -> None:
    made = joint(RING, SHEET, LAYOUT.positions, 2e8)
    plan = benchmark(even_pass, made, cross_order(LAYOUT), 20e3)
    assert plan.history.within(1e-6)


@pytest.mark.benchmark(group="interaction")
def test_assemble_and_tighten_a_cover_of_ten_screws(benchmark) -> None:
    layout = rectangle(4, 3, 0.28, 0.18)
    cover = Cover(200e9, 0.012, Outline("rectangle", 0.31, 0.21))
    passes = [ForcePass(cross_order(layout), force) for force in (6e3, 12e3, 20e3)]

    def whole():
        return tighten_until_even(joint(cover, SHEET, layout.positions, 2e8), passes)

    assert benchmark(whole).even
