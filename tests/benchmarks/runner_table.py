"""What a worksheet costs by ways of running its notebook.

    python tests/benchmarks/runner_table.py --jobs 12 --rounds 2

A script and no test. Each way makes the same jobs, copies of the demo cards under numbers of their
own, from the real notebook to notebook, page, paper and results. The ways take turns, as many
rounds as asked for, each in a process of its own; its time is that from start to end with all that
it loads. Memory is the most that the process and all it started held at one time, each shared page
counted once (PSS), looked up twice a second.

- ``default``: papermill's own loop and engine, a kernel started for each notebook.
- ``default, pool of 2``: the same in a pool of two processes.
- ``forked, one by one``: the loop of the first, with the engine "forked".
- ``run_all``: what ``rebuildbook run`` does, on all processors.
- ``floor``: sections worked out and set as page and paper, with no notebook run: what is left when
  running costs nothing.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

import psutil
from rich.console import Console
from rich.table import Table

ROOT = Path(__file__).resolve().parents[2]
PARAMETERS = ROOT / "parameters"
LOOK_EVERY = 0.5  # seconds, at the memory


def copies(folder: Path, count: int) -> list[Path]:
    """Copy the demo's sheets to ``folder``, and cards to the number of ``count``; gives these."""
    demo = sorted((PARAMETERS / "jobs").glob("*.yaml"))
    (folder / "models").mkdir()
    for sheet in (PARAMETERS / "shop.yaml", *(PARAMETERS / "models").glob("*.yaml")):
        (folder / sheet.relative_to(PARAMETERS)).write_bytes(sheet.read_bytes())
    made = []
    (folder / "jobs").mkdir()
    for place in range(count):
        text = demo[place % len(demo)].read_text(encoding="utf-8")
        text = re.sub(r"(?m)^job: .*$", f"job: RT-{place:04d}", text)
        text = re.sub(r"(?m)^(serial: .*)$", rf"\1-{place}", text)
        made.append(folder / "jobs" / f"RT-{place:04d}.yaml")
        made[-1].write_text(text, encoding="utf-8")
    return made


def with_papermill(card: Path, out: Path, engine: str | None = None) -> None:
    """Make one job with papermill as it comes, then page, paper and results in this process."""
    import nbformat
    from papermill import execute_notebook

    from rebuildbook.batch.run import template_path, write_files

    folder = out / card.stem
    folder.mkdir(parents=True)
    execute_notebook(
        str(template_path("worksheet")),
        str(folder / "worksheet.ipynb"),
        parameters={"job_card": str(card)},
        engine_name=engine,
        kernel_name="python3",
        progress_bar=False,
        cwd=str(folder),
    )
    write_files(nbformat.read(folder / "worksheet.ipynb", as_version=4), folder)


def default(cards: list[Path], out: Path) -> None:
    for card in cards:
        with_papermill(card, out)


def pool(cards: list[Path], out: Path) -> None:
    with ProcessPoolExecutor(2) as processes:
        list(processes.map(with_papermill, cards, [out] * len(cards)))


def forked(cards: list[Path], out: Path) -> None:
    os.environ["REBUILDBOOK_PRELOAD"] = "rebuildbook.worksheet.warm:warm"
    for card in cards:
        with_papermill(card, out, "forked")


def all_cores(cards: list[Path], out: Path) -> None:
    from rebuildbook.batch.publish import prepare_output
    from rebuildbook.batch.run import Order, run_all, runner
    from rebuildbook.commands.run import orders_of, preload_for

    prepare_output(out)
    orders, _, problems = orders_of(cards, Order("", "", str(out)), {})
    assert not problems, problems
    with runner(len(os.sched_getaffinity(0)), preload=preload_for(orders)) as run:
        failures = [one.failure for one in run_all(orders, run, lambda _: None) if one.failure]
    assert not failures, failures


def floor(cards: list[Path], out: Path) -> None:
    from nbformat import v4

    from rebuildbook.batch.run import write_files
    from rebuildbook.worksheet.build import open_worksheet

    for card in cards:
        worksheet = open_worksheet(card)
        shown = [worksheet.show(name)._repr_mimebundle_() for name in worksheet.sections]
        outputs = [v4.new_output("display_data", data=data) for data in shown]
        cells = [v4.new_code_cell("", outputs=[output]) for output in outputs]
        (out / card.stem).mkdir(parents=True)
        write_files(v4.new_notebook(cells=cells), out / card.stem)


WAYS: dict[str, Callable[[list[Path], Path], None]] = {
    "default": default,
    "default, pool of 2": pool,
    "forked, one by one": forked,
    "run_all": all_cores,
    "floor": floor,
}


def held(process: psutil.Process) -> int:
    """Bytes that a process and all below it hold; where the system tells no PSS, what is theirs."""
    total = 0
    for one in (process, *process.children(recursive=True)):
        try:
            full = one.memory_full_info()
            total += getattr(full, "pss", full.uss)
        except psutil.Error:  # it has ended meanwhile, or is not ours to ask
            continue
    return total


def measure(way: str, cards: list[Path], out: Path) -> tuple[float, int]:
    """Run one way in a process of its own; gives seconds and the most bytes held."""
    order = json.dumps([way, [str(card) for card in cards], str(out)])
    began, most = time.perf_counter(), 0
    with subprocess.Popen(
        [sys.executable, __file__, "--one", order], stderr=subprocess.PIPE
    ) as run:
        while run.poll() is None:
            try:
                most = max(most, held(psutil.Process(run.pid)))
                _, told = run.communicate(timeout=LOOK_EVERY)
            except (subprocess.TimeoutExpired, psutil.Error):
                continue
        seconds = time.perf_counter() - began
        if run.returncode:
            raise SystemExit(f"{way}: {told.decode()[-2000:]}")
    missing = [card.stem for card in cards if not (out / card.stem / "worksheet.pdf").is_file()]
    assert not missing, missing
    return seconds, most


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--jobs", type=int, default=12)
    asked.add_argument("--rounds", type=int, default=2)
    asked.add_argument("--one", help=argparse.SUPPRESS)
    given = asked.parse_args()
    if given.one:
        way, cards, out = json.loads(given.one)
        WAYS[way]([Path(card) for card in cards], Path(out))
        return
    found: dict[str, list[tuple[float, int]]] = {way: [] for way in WAYS}
    with tempfile.TemporaryDirectory(prefix="runner-table-") as scratch:
        (Path(scratch) / "sheets").mkdir()
        cards = copies(Path(scratch) / "sheets", given.jobs)
        for turn in range(given.rounds):
            ways = list(WAYS) if turn % 2 == 0 else list(WAYS)[::-1]
            for way in ways:
                found[way].append(measure(way, cards, Path(scratch) / f"{turn}-{way}"))
    tell(found, given.jobs, given.rounds)


def tell(found: dict[str, list[tuple[float, int]]], jobs: int, rounds: int) -> None:
    """Print the table: the median of the rounds, and the most memory of any."""
    cores = len(os.sched_getaffinity(0))
    title = f"{rounds} rounds of {jobs} jobs on {cores} processors"
    table = Table(title=title, box=None)
    for name in ("way", "jobs", "seconds", "jobs/s", "times default", "memory, MB"):
        table.add_column(name, justify="left" if name == "way" else "right")
    middle: dict[str, Any] = {
        way: statistics.median(s for s, _ in runs) for way, runs in found.items()
    }
    for way, runs in found.items():
        seconds, most = middle[way], max(memory for _, memory in runs)
        table.add_row(
            way, str(jobs), f"{seconds:.1f}", f"{jobs / seconds:.2f}",
            f"{middle['default'] / seconds:.2f}", f"{most / 1e6:.0f}",
        )  # fmt: skip
    Console(width=110, highlight=False).print(table)


if __name__ == "__main__":
    main()
