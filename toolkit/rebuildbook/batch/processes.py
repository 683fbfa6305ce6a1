"""Spread jobs over processes: what happens on Ctrl-C, and when a process dies."""

from __future__ import annotations

import contextlib
import logging
import multiprocessing
import os
import shutil
import signal
import tempfile
import threading
import time
from collections import Counter, deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from pathlib import Path
from types import FrameType
from typing import cast

from rebuildbook.batch.forked import ADDRESS, Nursery, cannot_fork
from rebuildbook.batch.publish import sweep
from rebuildbook.batch.run import Order, Outcome, run_one

PATIENCE = 6.0  # seconds given to a process to put its kernel and its staging folder away


def each(orders: Sequence[Order], processes: int, preload: Sequence[str] = ()) -> Iterator[Outcome]:
    """Run the orders and give each outcome as it comes, in kernels that have ``preload`` loaded.

    A job whose process died, or the one that kernels are forked from, is run once more: it may
    have been another's fault. The second time it is to blame.
    """
    with _nursery(preload) as nursery:
        tries: Counter[str] = Counter()
        waiting = deque(orders)
        for order, outcome in _run(waiting, processes):
            if outcome is not None and not outcome.lost:
                yield outcome
                continue
            sweep(Path(order.out), order.job)
            if nursery is not None:
                nursery.revive()
            tries[order.job] += 1
            if tries[order.job] > 1:
                yield _died(order)
            else:
                waiting.append(order)


@contextlib.contextmanager
def _nursery(preload: Sequence[str]) -> Iterator[Nursery | None]:
    """Have kernels forked while this lasts, where the system can fork."""
    if os.environ.get(ADDRESS) or cannot_fork("python3"):
        yield None
        return
    with _no_ctrl_c():
        nursery = Nursery(preload, quiet=True)
    os.environ[ADDRESS] = nursery.address
    try:
        yield nursery
    finally:
        del os.environ[ADDRESS]
        nursery.close()


def _died(order: Order) -> Outcome:
    reason = "the process that made it was ended from outside, or ran out of memory"
    return Outcome(order.job, str(Path(order.out) / order.job), failure=reason)


def _run(waiting: deque[Order], processes: int) -> Iterator[tuple[Order, Outcome | None]]:
    """Run what waits until nothing does; None stands for an order whose process died."""
    if processes > 1:
        yield from _spread(waiting, processes)
        return
    try:
        while waiting:
            order = waiting.popleft()
            yield order, run_one(order)
    except KeyboardInterrupt:
        logging.disable()  # what a stopped kernel leaves behind in the log is of no use
        raise


@dataclass(slots=True)
class _Worker:
    """A process that runs one order at a time, and its end of the pipe."""

    process: BaseProcess
    pipe: Connection
    order: Order | None = None


def _spread(waiting: deque[Order], processes: int) -> Iterator[tuple[Order, Outcome | None]]:
    """Run what waits on several processes; one that dies is replaced."""
    scratch = tempfile.mkdtemp(prefix="rebuildbook-")
    workers: list[_Worker] = []
    try:
        while waiting or any(worker.order for worker in workers):
            for worker in workers:
                if worker.order is None and waiting:
                    _give(worker, waiting.popleft())
            while waiting and len(workers) < processes:
                workers.append(_start(scratch))
                _give(workers[-1], waiting.popleft())
            busy = {worker.pipe: worker for worker in workers if worker.order}
            for pipe in wait(list(busy)):  # a process that died closes its end
                worker = busy[cast("Connection", pipe)]
                order, worker.order = worker.order, None
                assert order is not None  # noqa: S101
                try:
                    yield order, worker.pipe.recv()
                except (EOFError, OSError):
                    workers.remove(worker)
                    yield order, None
    except BaseException:
        _end(workers)
        for order in (*waiting, *(worker.order for worker in workers if worker.order)):
            sweep(Path(order.out), order.job)
        raise
    finally:
        for worker in workers:
            worker.pipe.close()  # and it ends
        for worker in workers:
            worker.process.join()
        shutil.rmtree(scratch, ignore_errors=True)


def _start(scratch: str) -> _Worker:
    context = multiprocessing.get_context("spawn")
    ours, its = context.Pipe()
    process = context.Process(target=_work, args=(its, scratch))
    with _no_ctrl_c():
        process.start()
    its.close()
    return _Worker(process, ours)


def _give(worker: _Worker, order: Order) -> None:
    worker.order = order
    with contextlib.suppress(OSError):  # it has died; its pipe will tell
        worker.pipe.send(order)


def _work(pipe: Connection, scratch: str) -> None:
    """What a worker does: orders in, outcomes out, until the pipe closes."""
    _set_worker_up(scratch)
    with contextlib.suppress(EOFError, KeyboardInterrupt, BrokenPipeError):
        while True:
            pipe.send(run_one(pipe.recv()))


@contextlib.contextmanager
def _no_ctrl_c() -> Iterator[None]:
    """Processes started in here begin deaf to Ctrl-C, which a terminal sends to all of them."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _set_worker_up(scratch: str) -> None:
    """Leave Ctrl-C to the parent, which ends the worker; it may still tidy up.

    Temporary files go to ``scratch``, which the parent removes whatever became of the worker.
    """
    os.environ["TMPDIR"] = tempfile.tempdir = scratch
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, _stop)


def _stop(number: int, frame: FrameType | None) -> None:
    """Unwind once, so that kernels and staging folders go; a second signal changes nothing.

    What is said on the way, as of a kernel that died, is of no use to anybody.
    """
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
    raise KeyboardInterrupt


def _end(workers: Sequence[_Worker]) -> None:
    for worker in workers:
        worker.process.terminate()
    last = time.monotonic() + PATIENCE
    for worker in workers:
        worker.process.join(max(last - time.monotonic(), 0.0))
        if worker.process.is_alive():
            worker.process.kill()
            worker.process.join()
