"""Ctrl-C ends a run soon and cleanly: nothing half-written, no process left behind."""

import os
import signal
import sys
import time
from pathlib import Path

import psutil
import pytest

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="process groups are POSIX")


def own_processes(root: Path, kernels: bool = False) -> list[list[str]]:
    """Command lines of living processes that work for the run below ``root``."""
    found = []
    for process in psutil.process_iter(["cmdline", "status", "environ"]):
        words = process.info["cmdline"] or []
        place = (process.info["environ"] or {}).get("TMPDIR", "")
        alive = process.info["status"] != psutil.STATUS_ZOMBIE
        wanted = not kernels or "rebuildbook.batch.nursery" in words
        if alive and wanted and str(root) in " ".join([*words, place]):
            found.append(words)
    return found


def wait_until(happened, seconds: float) -> bool:
    last = time.monotonic() + seconds
    while not happened():
        if time.monotonic() > last:
            return False
        time.sleep(0.1)
    return True


@pytest.mark.parametrize("processes", [1, 2])
def test_ctrl_c_stops_a_run_without_leavings(make_bench, processes):
    bench = make_bench("interrupt")
    for name in ("TW-2601", "TW-2602", "TW-2603"):
        bench.card(name, like=name)
    with bench.started("run", bench.cards, "--out", "out", "--jobs", processes) as run:
        # they are forked from one that is there first
        kernels = lambda: len(own_processes(bench.root / "tmp", kernels=True)) - 1  # noqa: E731
        assert wait_until(lambda: kernels() >= processes, 120), "no kernel was started"
        time.sleep(1.5)
        os.killpg(run.pid, signal.SIGINT)
        asked = time.monotonic()
        output, errors = run.communicate(timeout=20)
        print(f"ended after {time.monotonic() - asked:.2f} s")  # noqa: T201
    assert run.returncode == 130, errors
    assert errors.strip() == "stopped; worksheets that were finished are kept"
    assert output == ""
    for folder in bench.out.iterdir():  # one that was finished in time is whole
        if folder.is_dir():
            assert not folder.name.startswith(".")
            assert len(list(folder.iterdir())) == 5
    assert wait_until(lambda: own_processes(bench.root) == [], 10), own_processes(bench.root)
    # a connection file holds the kernel's key
    assert list((bench.root / "tmp").rglob("*.json")) == []
