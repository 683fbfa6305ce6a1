"""Spread jobs over processes: what happens on Ctrl-C, and when a process dies."""

from __future__ import annotations

import contextlib
import logging
import multiprocessing
import os
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from pathlib import Path
from types import FrameType
from typing import cast

from rebuildbook.batch.forked import ADDRESS, ForkedProcess, Nursery, NurseryDied, cannot_fork
from rebuildbook.batch.publish import sweep
from rebuildbook.batch.run import Order, Outcome, run_one
from rebuildbook.batch.scratch import Scratch

PATIENCE = 6.0  # seconds given to a process to put its kernel and its staging folder away


def each(
    orders: Sequence[Order], processes: int, preload: Sequence[str] = ()
) -> Generator[Outcome, None, None]:
    """Run the orders and give each outcome as it comes, in kernels that have ``preload`` loaded.

    A job whose process died, or the one that kernels are forked from, is run once more when all
    others are done, and alone: it may have been another's fault. If it dies again it is to blame.
    """
    lost: list[Order] = []
    with _temporary_files(), _nursery(preload):
        yield from _kept(deque(orders), processes, lost)
        for order in lost:
            to_blame: list[Order] = []
            yield from _kept(deque([order]), processes, to_blame)
            yield from map(_died, to_blame)


def _kept(
    waiting: deque[Order], processes: int, lost: list[Order]
) -> Generator[Outcome, None, None]:
    """Run what waits and give the outcomes; orders lost by a process that died go to ``lost``."""
    with contextlib.closing(_run(waiting, processes)) as outcomes:
        for order, outcome in outcomes:
            if outcome is not None and not outcome.lost:
                yield outcome
            else:
                sweep(Path(order.out), order.job)
                lost.append(order)


@contextlib.contextmanager
def _temporary_files() -> Iterator[None]:
    """Keep all temporary files of a run in one folder, which goes with it."""
    scratch, before = Scratch(), (os.environ.get("TMPDIR"), tempfile.tempdir)
    os.environ["TMPDIR"] = tempfile.tempdir = str(scratch.path)
    try:
        yield
    finally:
        os.environ.pop("TMPDIR")
        if before[0] is not None:
            os.environ["TMPDIR"] = before[0]
        tempfile.tempdir = before[1]
        scratch.close()


@contextlib.contextmanager
def _nursery(preload: Sequence[str]) -> Iterator[None]:
    """Have kernels forked while this lasts, where the system can fork.

    Ctrl-C ends them at once; otherwise each would be asked to end, and waited for.
    """
    if os.environ.get(ADDRESS) or cannot_fork("python3"):
        yield
        return
    nursery = Nursery(preload, quiet=True)
    os.environ[ADDRESS] = nursery.address
    try:
        with _on_ctrl_c(nursery.close):
            yield
    finally:
        del os.environ[ADDRESS]
        nursery.close()


@contextlib.contextmanager
def _on_ctrl_c(act: Callable[[], None]) -> Iterator[None]:
    def stop(number: int, frame: FrameType | None) -> None:
        act()
        raise KeyboardInterrupt

    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _died(order: Order) -> Outcome:
    reason = "the process that made it was ended from outside, or ran out of memory"
    return Outcome(order.job, str(Path(order.out) / order.job), failure=reason)


def _run(
    waiting: deque[Order], processes: int
) -> Generator[tuple[Order, Outcome | None], None, None]:
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


class _Forked(ForkedProcess):
    """A worker forked by the nursery, with what is asked of a process of multiprocessing.

    It makes one job: another costs next to nothing, and what it has piled up goes with it. Setting
    a paper leaves some 100 MB.
    """

    def join(self, timeout: float | None = None) -> None:
        """Wait for its end, at most ``timeout`` seconds."""
        with contextlib.suppress(subprocess.TimeoutExpired):
            self.wait(timeout)

    def is_alive(self) -> bool:
        """Whether it still runs."""
        return self.poll() is None


@dataclass(slots=True)
class _Worker:
    """A process that runs one order at a time, and its end of the pipe; a forked one but one."""

    process: BaseProcess | _Forked
    pipe: Connection
    order: Order | None = None


def _spread(
    waiting: deque[Order], processes: int
) -> Generator[tuple[Order, Outcome | None], None, None]:
    """Run what waits on several processes; one that dies is replaced."""
    workers: list[_Worker] = []
    try:
        while waiting or any(worker.order for worker in workers):
            for worker in workers:
                if worker.order is None and waiting:
                    _give(worker, waiting.popleft())
            while waiting and len(workers) < processes:
                workers.append(_start())
                _give(workers[-1], waiting.popleft())
            busy = {worker.pipe: worker for worker in workers if worker.order}
            for pipe in wait(list(busy)):  # a process that died closes its end
                worker = busy[cast("Connection", pipe)]
                order, worker.order = worker.order, None
                assert order is not None  # noqa: S101
                try:
                    outcome = worker.pipe.recv()
                except (EOFError, OSError):
                    outcome = None
                if outcome is None or isinstance(worker.process, _Forked):
                    workers.remove(worker)
                    worker.pipe.close()  # and it ends
                    worker.process.join(1.0)
                yield order, outcome
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


def _start() -> _Worker:
    """Start a worker: forked by the nursery, where there is one that lives."""
    if os.environ.get(ADDRESS):
        with contextlib.suppress(NurseryDied):
            return _fork()
    context = multiprocessing.get_context("spawn")
    pipe, its = context.Pipe()
    process = context.Process(target=_work, args=(its,))
    with _no_ctrl_c():
        process.start()
    its.close()
    return _Worker(process, pipe)


def _fork() -> _Worker:
    ours, its = socket.socketpair()
    with ours, its:
        process = _Forked({"call": f"{__name__}:forked_worker"}, [its.fileno()])
        return _Worker(process, Connection(ours.detach()))


def forked_worker(pipe: int) -> None:
    """What a forked worker does; the nursery ends it where the parent dies."""
    tempfile.tempdir = None  # the nursery's may be another
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _work_through(Connection(os.dup(pipe)))


def _give(worker: _Worker, order: Order) -> None:
    worker.order = order
    with contextlib.suppress(OSError):  # it has died; its pipe will tell
        worker.pipe.send(order)


def _work(pipe: Connection) -> None:
    """What a worker does: orders in, outcomes out, until the pipe closes."""
    _set_worker_up()
    _work_through(pipe)


def _work_through(pipe: Connection) -> None:
    signal.signal(signal.SIGTERM, _stop)
    with contextlib.suppress(EOFError, KeyboardInterrupt, BrokenPipeError):
        while True:
            pipe.send(run_one(pipe.recv()))


@contextlib.contextmanager
def _no_ctrl_c() -> Iterator[None]:
    """Processes started in here begin deaf to Ctrl-C, which a terminal sends to all of them.

    One that comes meanwhile is heard afterwards.
    """
    if sys.platform == "win32":
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _set_worker_up() -> None:
    """Leave Ctrl-C to the parent, which ends the worker; it ends at once where the parent dies."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if sys.platform != "win32":
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """What is left behind is swept by the next run, which may have begun already."""
    parent = multiprocessing.parent_process()
    assert parent is not None  # noqa: S101
    wait([parent.sentinel])
    os._exit(1)


def _stop(number: int, frame: FrameType | None) -> None:
    """Unwind once, so that kernels and staging folders go; a second signal changes nothing.

    What is said on the way, as of a kernel that died, is of no use to anybody.
    """
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
    raise KeyboardInterrupt


def _end(workers: Sequence[_Worker]) -> None:
    """End the workers; where kernels are forked nobody has to see to theirs, and it is quick."""
    for worker in workers:
        if os.environ.get(ADDRESS):
            worker.process.kill()
        else:
            worker.process.terminate()
    last = time.monotonic() + PATIENCE
    for worker in workers:
        worker.process.join(max(last - time.monotonic(), 0.0))
        if worker.process.is_alive():
            worker.process.kill()
            worker.process.join()
