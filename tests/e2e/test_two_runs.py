"""Two runs at once on one folder do not mix: the second is told so, the first comes out whole."""

import os
import signal
import time


def test_the_second_run_is_refused(make_bench):
    bench = make_bench("two")
    card = bench.card("TW-2601", like="TW-2601")
    other = bench.card("TW-2602", like="TW-2602")
    notebook = ("--notebook", bench.quick_notebook())
    with bench.started("run", card, "--out", "out", "--jobs", "1", *notebook) as first:
        last = time.monotonic() + 60.0
        while not any(
            path.is_dir() for path in bench.out.glob(".*")
        ):  # it has begun to make the job
            assert time.monotonic() < last
            time.sleep(0.05)
        os.kill(first.pid, signal.SIGSTOP)  # it holds still, that it is not done before the other
        second = bench("run", other, "--out", "out", *notebook)
        os.kill(first.pid, signal.SIGCONT)
        _, errors = first.communicate(timeout=120)
    assert second.returncode == 2
    assert second.stderr.strip() == (
        "out: another run is writing there; wait for it, or give another --out"
    )
    assert first.returncode == 0, errors
    assert sorted(path.name for path in bench.out.iterdir() if path.is_dir()) == ["TW-2601"]
    # the folder is free again
    assert bench("run", other, "--out", "out", *notebook).returncode == 0
