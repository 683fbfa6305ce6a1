"""Processes of a run killed at random: nothing torn, nothing left, and a next run completes."""

import contextlib
import json
import os
import random
import signal
import subprocess
import sys
import time
from html.parser import HTMLParser
from pathlib import Path

import psutil
import pypdf
import pytest

from rebuildbook.batch.nursery import KERNEL, WORKER

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="it looks for what Linux forks")

JOBS = tuple(f"F-{number}" for number in range(16))  # most are killed before they cost much
ROUNDS = 1  # runs that are killed; 4 of 25 kills each take over a minute
KILLS = 16  # in each, its own end among them


@pytest.fixture(scope="module")
def bench(make_bench):
    bench = make_bench("faults")
    bench.quick_jobs(JOBS)
    return bench


def arguments(*cards: str) -> tuple[str, ...]:
    paths = [f"parameters/jobs/{card}.yaml" for card in cards] or ["parameters/jobs"]
    return ("run", *paths, "--out", "out", "--notebook", "own.ipynb", "--jobs", "2", "--force")


def of_the_run(bench) -> list[psutil.Process]:
    """Living processes whose command line or temporary folder lies below the bench's root."""
    found = []
    for process in psutil.process_iter():
        try:
            if process.status() == psutil.STATUS_ZOMBIE:
                continue
            words = [*process.cmdline(), process.environ().get("TMPDIR", "")]
        except psutil.Error:
            continue
        if str(bench.root) in " ".join(words) and process.pid != os.getpid():
            found.append(process)
    return found


def by_kind(run: subprocess.Popen[str]) -> dict[str, list[psutil.Process]]:
    """Processes of a run: its workers, the nursery, and the kernels that came from it."""
    kinds: dict[str, list[psutil.Process]] = {"worker": [], "nursery": [], "kernel": []}
    below = []
    with contextlib.suppress(psutil.Error):
        below = psutil.Process(run.pid).children(recursive=True)
    for process in below:
        with contextlib.suppress(psutil.Error):  # it has ended meanwhile
            if "rebuildbook.batch.nursery" in process.cmdline():
                kind = {WORKER: "worker", KERNEL: "kernel"}.get(process.name(), "nursery")
                kinds[kind].append(process)
    return {kind: processes for kind, processes in kinds.items() if processes}


def kill_some(run: subprocess.Popen[str], chance: random.Random, kills: int) -> list[str]:
    """Kill processes of a run at random moments; gives the kinds of those killed."""
    killed: list[str] = []
    while len(killed) < kills and run.poll() is None:
        time.sleep(chance.uniform(0.02, 0.25))
        kinds = by_kind(run)
        if not kinds:
            continue
        if set(kinds) == {"nursery"} and chance.random() > 0.02:
            continue  # it takes seconds to load, and would be all that is ever killed
        kind = chance.choice(sorted(kinds))
        try:
            chance.choice(kinds[kind]).kill()
        except psutil.Error:
            continue
        killed.append(kind)
    return killed


def check_whole(bench, *jobs: str) -> None:
    """Every job's folder that lies there is whole; those of ``jobs`` lie there."""
    if not bench.out.exists():
        return
    folders = {path.name: path for path in bench.out.iterdir() if path.is_dir()}
    lying = {name: path for name, path in folders.items() if not name.startswith(".")}
    assert set(jobs) <= set(lying)
    for job, folder in lying.items():
        made = json.loads((folder / "made.json").read_text(encoding="utf-8"))
        files = made["sheets"]["worksheet"]["files"]
        assert made["job"] == job
        assert {path.name for path in folder.iterdir()} == {"made.json", *files}
        for name, (size, when) in files.items():
            state = (folder / name).stat()
            assert (state.st_size, state.st_mtime_ns) == (size, when), folder / name
        for name in ("results.json", "worksheet.ipynb"):
            json.loads((folder / name).read_text(encoding="utf-8"))
        page = (folder / "worksheet.html").read_text(encoding="utf-8")
        HTMLParser().feed(page)
        assert page.rstrip().endswith("</html>")
        assert len(pypdf.PdfReader(folder / "worksheet.pdf").pages) >= 1
    for path in bench.out.glob("*.failed.ipynb"):
        json.loads(path.read_text(encoding="utf-8"))


def check_nothing_lives(bench) -> None:
    last = time.monotonic() + 10
    while living := of_the_run(bench):
        assert time.monotonic() < last, [process.cmdline() for process in living]
        time.sleep(0.05)


def check_nothing_left(bench) -> None:
    """No hidden file but the lock's, nothing temporary."""
    hidden = {path.name for path in bench.out.iterdir() if path.name.startswith(".")}
    assert hidden == {".lock"}
    assert list((bench.root / "tmp").iterdir()) == []


def shared_memory() -> set[str]:
    return {path.name for path in Path("/dev/shm").iterdir()}  # noqa: S108


def test_whatever_is_killed_nothing_is_torn_and_the_next_run_completes(bench):
    chance = random.Random(2601)  # noqa: S311
    before, killed = shared_memory(), 0
    for number in range(ROUNDS):  # each upon what the one before left
        with bench.started(*arguments()) as run:
            killed += len(kill_some(run, chance, KILLS - 1))
            killed += run.poll() is None
            if run.poll() is None:
                os.kill(run.pid, signal.SIGKILL)
            run.wait()
            check_nothing_lives(bench)
        check_whole(bench)
        again = bench(*arguments(JOBS[0]))
        assert again.returncode == 0, again.stderr
        check_whole(bench, JOBS[0])
        check_nothing_left(bench)
        check_nothing_lives(bench)
        print(number, killed)  # noqa: T201
    assert killed > ROUNDS * KILLS * 0.5
    mine = {name for name in shared_memory() - before if name.startswith(("sem.mp-", "psm_"))}
    assert mine == set()


def test_a_run_goes_on_when_all_that_works_for_it_is_killed_once(bench):
    with bench.started(*arguments(*JOBS[:2])) as run:
        for kind in ("nursery", "worker"):
            last = time.monotonic() + 60
            while kind not in by_kind(run):
                assert time.monotonic() < last
                time.sleep(0.02)
            by_kind(run)[kind][0].kill()
        _, errors = run.communicate(timeout=120)
    assert run.returncode == 0, errors
    check_whole(bench, *JOBS[:2])
    check_nothing_left(bench)
