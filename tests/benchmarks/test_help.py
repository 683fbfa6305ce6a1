"""How long the command takes to say what it can do: pytest --benchmark-only tests/benchmarks."""

import subprocess
import sys


def test_help(benchmark):
    command = [sys.executable, "-m", "rebuildbook", "--help"]
    ended = benchmark.pedantic(
        lambda: subprocess.run(command, capture_output=True, check=True), rounds=10, warmup_rounds=1
    )
    assert b"Usage: " in ended.stdout
