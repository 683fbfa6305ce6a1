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
from collections.abc import Iterator, Sequence
from concurrent.futures import BrokenExecutor, ProcessPoolExecutor, as_completed
from pathlib import Path
from types import FrameType

from rebuildbook.batch.publish import sweep
from rebuildbook.batch.run import Order, Outcome, run_one

PATIENCE = 6.0  # seconds given to a process to put its kernel and its staging folder away


def each(orders: Sequence[Order], processes: int) -> Iterator[Outcome]:
    """Run the orders and give each outcome as it comes.

    When a process dies under its job, the jobs it took with it run again, each in a process of
    its own, so that only the one to blame is lost.
    """
    if processes <= 1:
        try:
            yield from map(run_one, orders)
        except KeyboardInterrupt:
            logging.disable()  # what a stopped kernel leaves behind in the log is of no use
            raise
        return
    lost: list[Order] = []
    for order, outcome in _pooled(orders, processes):
        if outcome is None:
            lost.append(order)
        else:
            yield outcome
    for again in lost:
        sweep(Path(again.out), again.job)
    for again in lost:
        for order, outcome in _pooled([again], 1):
            if outcome is None:
                sweep(Path(order.out), order.job)
            yield outcome or _died(order)


def _died(order: Order) -> Outcome:
    reason = "the process that made it was ended from outside, or ran out of memory"
    return Outcome(order.job, str(Path(order.out) / order.job), failure=reason)


def _pooled(orders: Sequence[Order], processes: int) -> Iterator[tuple[Order, Outcome | None]]:
    """Run orders in a pool; None stands for an order whose process died."""
    context = multiprocessing.get_context("spawn")
    scratch = tempfile.mkdtemp(prefix="rebuildbook-")
    pool = ProcessPoolExecutor(
        processes, mp_context=context, initializer=_set_worker_up, initargs=(scratch,)
    )
    try:
        with _no_ctrl_c():
            waiting = {pool.submit(run_one, order): order for order in orders}
        for done in as_completed(waiting):
            try:
                yield waiting[done], done.result()
            except BrokenExecutor:
                yield waiting[done], None
    except BaseException:
        pool.shutdown(wait=False, cancel_futures=True)
        _end_children()
        for order in orders:
            sweep(Path(order.out), order.job)
        raise
    finally:
        pool.shutdown()
        shutil.rmtree(scratch, ignore_errors=True)


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


def _end_children() -> None:
    children = multiprocessing.active_children()
    for child in children:
        child.terminate()
    last = time.monotonic() + PATIENCE
    for child in children:
        child.join(max(last - time.monotonic(), 0.0))
        if child.is_alive():
            child.kill()
            child.join()
