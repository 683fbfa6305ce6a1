"""Time of a million trials of the preload, for the what-if boards and the worksheets."""

import pytest

from rebuildbook.calculators.uncertainty import (
    DRAWS,
    Triangular,
    Uniform,
    preload_by_friction,
    simulate,
    tightening,
)


@pytest.mark.parametrize("interval", ["symmetric", "shortest"])
def test_a_million_preloads(benchmark, interval):
    model = preload_by_friction(pitch=1.5e-3, pitch_diameter=9.026e-3, bearing_diameter=12.8e-3)
    inputs = {
        **tightening(48.0, accuracy=0.04, step=1.0),
        "thread_friction": Triangular(0.10, 0.12, 0.16),
        "bearing_friction": Triangular(0.10, 0.12, 0.16),
        "loss": Uniform(0.0, 0.10),
    }
    run = benchmark(simulate, model, inputs, interval=interval)
    assert run.draws.size == DRAWS == 1_000_000
