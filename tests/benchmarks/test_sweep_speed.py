"""How long a sweep of fifty points takes: pytest --benchmark-only tests/benchmarks."""

from pathlib import Path

import pytest

from rebuildbook.worksheet.sweep import prepare, run
from rebuildbook.worksheet.sweep_files import write_files

CARD = Path(__file__).resolve().parents[2] / "parameters" / "jobs" / "TW-2611.yaml"
OVER = ["joints.inlet-flange.torque=5 to 25 N*m"]
FREE = ["tools.inlet-flange.setting="]


@pytest.mark.benchmark(group="sweep")
def test_fifty_points(benchmark) -> None:
    """The aim is under 2.5 s."""
    prepared = prepare(CARD, OVER, settings=FREE, points=50)
    sweep = benchmark.pedantic(run, [prepared], rounds=3, warmup_rounds=1)
    assert len(sweep.table) == 50


@pytest.mark.benchmark(group="sweep")
def test_the_files_of_fifty_points(benchmark, tmp_path) -> None:
    sweep = run(prepare(CARD, OVER, settings=FREE, points=50))
    benchmark.pedantic(write_files, [sweep, tmp_path], rounds=3, warmup_rounds=1)
    assert (tmp_path / "sweep.parquet").stat().st_size > 0
