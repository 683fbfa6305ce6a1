"""How long a sweep takes: pytest --benchmark-only tests/benchmarks.

``python tests/benchmarks/sweep_table.py --points 10000`` tells it of the longest.
"""

from pathlib import Path

import pytest

from rebuildbook.worksheet.sweep import prepare, run
from rebuildbook.worksheet.sweep_files import write_files

CARD = Path(__file__).resolve().parents[2] / "parameters" / "jobs" / "TW-2611.yaml"
OVER = ["joints.inlet-flange.torque=5 to 25 N*m"]
FREE = ["tools.inlet-flange.setting="]


@pytest.mark.benchmark(group="sweep")
def test_fifty_points(benchmark) -> None:
    """The aim is under 1 s."""
    prepared = prepare(CARD, OVER, settings=FREE, points=50)
    sweep = benchmark.pedantic(run, [prepared], rounds=3, warmup_rounds=1)
    assert len(sweep.table) == 50


@pytest.mark.benchmark(group="sweep")
@pytest.mark.parametrize("overs", [OVER, [*OVER, "duty.working_pressure=2 to 6 bar"]], ids=len)
def test_many_points(benchmark, overs) -> None:
    """A line of 400 points, and a map of 20 by 20, of which the pressure moves the balls."""
    prepared = prepare(CARD, overs, settings=FREE, points=400 if len(overs) == 1 else 20)
    sweep = benchmark.pedantic(run, [prepared], rounds=1)
    assert len(sweep.table) == 400


@pytest.mark.benchmark(group="sweep")
def test_the_files_of_fifty_points(benchmark, tmp_path) -> None:
    sweep = run(prepare(CARD, OVER, settings=FREE, points=50))
    benchmark.pedantic(write_files, [sweep, tmp_path], rounds=3, warmup_rounds=1)
    assert (tmp_path / "sweep.parquet").stat().st_size > 0
