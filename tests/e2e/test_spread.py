"""Jobs spread over dask workers: the same files as here, also where a worker is killed."""

import contextlib
import json
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import psutil
import pytest

pytest.importorskip("distributed")

JOBS = tuple(f"S-{number}" for number in range(3))


@pytest.fixture(scope="module")
def bench(make_bench):
    bench = make_bench("spread")
    bench.quick_jobs(JOBS)
    return bench


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


@contextlib.contextmanager
def dask_process(folder: Path, *words: str):
    """A scheduler or a worker as one would start it, away from the folder that a run is in."""
    process = subprocess.Popen(
        [sys.executable, "-m", "distributed.cli." + words[0], *words[1:]],
        cwd=folder,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        yield process
    finally:
        process.send_signal(signal.SIGTERM)
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


@contextlib.contextmanager
def two_workers(folder: Path):
    """A scheduler's address and the processes of its two workers."""
    address = f"tcp://127.0.0.1:{free_port()}"
    scheduler = ("dask_scheduler", "--host", address, "--no-dashboard", "--no-show")
    worker = ("dask_worker", address, "--no-nanny", "--nthreads", "1", "--no-dashboard",
              "--local-directory", str(folder))  # fmt: skip
    with contextlib.ExitStack() as stack:
        stack.enter_context(dask_process(folder, *scheduler))
        yield address, [stack.enter_context(dask_process(folder, *worker)) for _ in range(2)]


def arguments(out: str, *more: str) -> tuple[str, ...]:
    return ("run", "parameters/jobs", "--out", out, "--notebook", "own.ipynb", *more)


def contents(out: Path) -> dict[str, object]:
    """Every file of the jobs; of ``made.json`` all but when the files were written."""
    found: dict[str, object] = {}
    for path in sorted(path for path in out.glob("*/*") if path.is_file()):
        found[path.relative_to(out).as_posix()] = path.read_bytes()
        if path.name == "made.json":
            made = json.loads(path.read_text(encoding="utf-8"))
            files = made["sheets"]["worksheet"]["files"]
            made["sheets"]["worksheet"]["files"] = {name: size for name, (size, _) in files.items()}
            found[path.relative_to(out).as_posix()] = made
    return found


def nurseries_of(process: subprocess.Popen[bytes]) -> list[psutil.Process]:
    with contextlib.suppress(psutil.Error):
        return [
            child
            for child in psutil.Process(process.pid).children()
            if "rebuildbook.batch.nursery" in child.cmdline() and child.children()
        ]
    return []


@pytest.mark.skipif(sys.platform != "linux", reason="it looks for forked kernels")
def test_a_killed_worker_costs_no_job_and_the_files_are_those_of_a_run_here(
    bench, tmp_path_factory
):
    with two_workers(tmp_path_factory.mktemp("dask")) as (address, workers):
        spread = arguments("far", "--spread", "dask", "--scheduler", address)
        with bench.started(*spread) as run:
            last = time.monotonic() + 60
            while not nurseries_of(workers[0]):  # until it has a kernel
                assert time.monotonic() < last
                assert run.poll() is None, run.communicate()
                time.sleep(0.05)
            forked = psutil.Process(workers[0].pid).children(recursive=True)
            workers[0].kill()
            output, errors = run.communicate(timeout=120)
        assert run.returncode == 0, errors
        assert f"{len(JOBS)} worksheets in far" in output
        assert psutil.wait_procs(forked, timeout=10)[1] == []
        # what is left is closed with the run
        left = psutil.Process(workers[1].pid).children(recursive=True)
        assert psutil.wait_procs(left, timeout=10)[1] == []
    here = bench(*arguments("here", "--jobs", "2"))
    assert here.returncode == 0, here.stderr
    names = {"index.html", "index.parquet", "run.json", ".lock", *JOBS}
    assert {path.name for path in (bench.root / "far").iterdir()} == names
    far = contents(bench.root / "far")
    assert len(far) == 5 * len(JOBS)
    assert far == contents(bench.root / "here")


def test_a_scheduler_that_is_not_there_is_told_in_one_line(bench):
    address = f"tcp://127.0.0.1:{free_port()}"
    ended = bench(*arguments("none", "--spread", "dask", "--scheduler", address))
    assert ended.returncode == 2
    assert ended.stderr == f"--scheduler {address}: cannot be reached: no answer\n"
    assert ended.stdout == ""


def test_without_dask_the_extra_is_named_in_one_line(bench):
    command = bench.command(*arguments("none", "--spread", "dask", "--scheduler", "tcp://h:1"))
    program = (
        "import sys; from importlib import util; find = util.find_spec\n"
        "util.find_spec = lambda name, *more: "
        "None if name == 'distributed' else find(name, *more)\n"
        f"sys.argv = {['rebuildbook', *command[3:]]!r}\n"
        "from rebuildbook.cli import main; main()"
    )
    ended = subprocess.run(
        [sys.executable, "-c", program],
        cwd=bench.root,
        env=bench.environment,
        capture_output=True,
        encoding="utf-8",
        timeout=60,
        check=False,
    )
    assert ended.returncode == 2
    assert ended.stderr == (
        "--spread dask needs the extra 'spread': pip install 'rebuildbook[spread]'\n"
    )


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--spread", "dask"), "--spread dask and --scheduler ADDRESS go together"),
        (("--scheduler", "tcp://h:1"), "--spread dask and --scheduler ADDRESS go together"),
        (("--spread", "cloth", "--scheduler", "h:1"), "--spread cloth: wanted dask"),
        (("--spread", "dask", "--scheduler", "h:1", "--jobs", "2"), "--jobs is for this machine"),
    ],
)
def test_options_that_do_not_fit_are_told(bench, options, words):
    ended = bench(*arguments("none", *options))
    assert ended.returncode == 2
    assert words in ended.stderr
    assert len(ended.stderr.splitlines()) == 1
