"""What a large fleet costs: rate, memory as it goes, the re-run of what is unchanged, room on disk.

    python tests/benchmarks/fleet_run.py --jobs 2000

A script and no test: a job takes about a second. The cards are copies of the demo's under numbers
of their own; they are made into worksheets by the command itself. Memory is that of the command and
all that it started, each shared page counted once (PSS).
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import psutil
from rich.console import Console

sys.path.insert(0, str(Path(__file__).parent))
from runner_table import copies, held  # found beside this file

LOOK_EVERY = 2.0  # seconds
MARKS = (0.05, 0.1, 0.25, 0.5, 0.75, 1.0)  # shares of the jobs, at which memory is told
console = Console()


def command(cards: Path, out: Path) -> list[str]:
    return [sys.executable, "-m", "rebuildbook", "run", str(cards), "--out", str(out)]


def followed(cards: Path, out: Path, jobs: int) -> tuple[float, list[tuple[int, int]]]:
    """Run the command; gives its seconds, and (jobs made, bytes held) as it went."""
    looks: list[tuple[int, int]] = []
    began = time.perf_counter()
    with subprocess.Popen(command(cards, out), stdout=subprocess.DEVNULL) as run:
        while run.poll() is None:
            done = sum(1 for one in out.glob("RT-*")) if out.is_dir() else 0
            try:
                looks.append((done, held(psutil.Process(run.pid))))
            except psutil.Error:
                break
            time.sleep(LOOK_EVERY)
    seconds = time.perf_counter() - began
    made = sum(1 for one in out.glob("RT-*/worksheet.pdf"))
    if run.returncode or made != jobs:
        raise SystemExit(f"{made} of {jobs} were made, exit code {run.returncode}")
    return seconds, looks


def timed(cards: Path, out: Path) -> float:
    began = time.perf_counter()
    subprocess.run(command(cards, out), check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - began


def size(paths: list[Path]) -> float:
    """Megabytes."""
    return sum(path.stat().st_size for path in paths) / 1e6


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--jobs", type=int, default=2000)
    jobs = asked.parse_args().jobs
    with tempfile.TemporaryDirectory(prefix="fleet-run-") as scratch:
        sheets, out = Path(scratch) / "sheets", Path(scratch) / "out"
        sheets.mkdir()
        copies(sheets, jobs)
        seconds, looks = followed(sheets / "jobs", out, jobs)
        console.print(f"{jobs} jobs in {seconds:.0f} s: {jobs / seconds:.2f} a second")
        for share in MARKS:
            near = [memory for done, memory in looks if done >= share * jobs * 0.98][:15]
            if near:
                told = f"{max(near) / 1e6:.0f} MB at most in half a minute"
                console.print(f"memory at job {share * jobs:.0f}: {told}")
        console.print(f"memory, most of all: {max(memory for _, memory in looks) / 1e6:.0f} MB")
        again = sorted(timed(sheets / "jobs", out) for _ in range(3))
        console.print(f"again, all unchanged: {again[1]:.2f} s (median of 3)")
        for name in ("worksheet.ipynb", "worksheet.html", "worksheet.pdf", "results.json"):
            console.print(
                f"{name}: {size(list(out.glob(f'RT-*/{name}'))) / jobs * 1e3:.0f} kB each"
            )
        for name in ("index.html", "index.parquet", "run.json"):
            console.print(f"{name}: {size([out / name]):.2f} MB")


if __name__ == "__main__":
    main()
