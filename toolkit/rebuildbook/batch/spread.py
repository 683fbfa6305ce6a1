"""Spread jobs over the workers of a dask scheduler, on this machine or on others.

Cards and output folder are shared: every worker sees them under the same paths as we do. Lock,
index and report stay here. Each worker forks kernels from a nursery of its own, and makes one job
at a time whatever threads it has.
"""

from __future__ import annotations

import contextlib
import importlib.util
import logging
import os
import threading
from collections.abc import Generator, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from rebuildbook.batch import resume
from rebuildbook.batch.forked import ADDRESS, Nursery, cannot_fork
from rebuildbook.batch.publish import sweep
from rebuildbook.batch.run import NoCluster, Order, Outcome, run_one

PATIENCE = 10.0  # s, for the scheduler to answer and for a worker to be there
RETRIES = 2  # of a job that lost its nursery; dask itself repeats what a lost worker had
_PASSED_ON = ("SOURCE_DATE_EPOCH",)  # what of our environment changes what is made


class _Lost(Exception):  # noqa: N818  (dask repeats the job)
    """The process that kernels are forked from died."""


@contextlib.contextmanager
def cluster(address: str) -> Iterator[Any]:
    """Give a client of the scheduler at ``address`` that has workers; raises NoCluster."""
    if importlib.util.find_spec("distributed") is None:
        raise NoCluster("--spread dask needs the extra 'spread': pip install 'rebuildbook[spread]'")
    from distributed import Client  # noqa: PLC0415  (an optional extra)

    logging.getLogger("distributed").setLevel(logging.CRITICAL)  # we say it in our words
    try:
        client = Client(  # type: ignore[no-untyped-call]
            address, timeout=PATIENCE, set_as_default=False
        )
    except (OSError, ValueError) as error:
        why = "no answer" if isinstance(error, OSError) else str(error)
        raise NoCluster(f"--scheduler {address}: cannot be reached: {why}") from None
    try:
        try:
            client.wait_for_workers(1, timeout=PATIENCE)
        except TimeoutError:
            raise NoCluster(f"--scheduler {address}: it has no workers") from None
        yield client
    finally:
        with contextlib.suppress(Exception):  # a scheduler that has gone has closed it for us
            client.close(timeout=PATIENCE)  # type: ignore[no-untyped-call]


def each_on(
    client: Any, orders: Sequence[Order], preload: Sequence[str] = ()
) -> Generator[Outcome, None, None]:
    """Run the orders on the workers of ``client`` and give each outcome as it comes."""
    from distributed import as_completed  # noqa: PLC0415  (an optional extra)

    passed = {name: os.environ[name] for name in _PASSED_ON if name in os.environ}
    how = (tuple(preload), str(Path.cwd()), passed, resume.toolkit_digest())
    futures = {
        client.submit(make, order, *how, pure=False, retries=RETRIES): order for order in orders
    }
    ended = False
    try:
        for future in as_completed(list(futures), loop=client.loop):  # type: ignore[no-untyped-call]
            order = futures[future]
            sweep(Path(order.out), order.job)  # what a worker that died left of it
            yield _outcome(future, order)
        ended = True
    finally:
        with contextlib.suppress(Exception):  # nobody is there to be told
            if not ended:
                client.cancel(list(futures), force=True)
            client.run(close_nursery, not ended)
        if not ended:
            for order in orders:
                sweep(Path(order.out), order.job)


def _outcome(future: Any, order: Order) -> Outcome:
    if future.status == "finished":
        outcome: Outcome = future.result()
        return outcome
    failed = Outcome(order.job, str(Path(order.out) / order.job))
    if future.cancelled():
        return replace(failed, failure="the scheduler was lost")
    error = future.exception()
    if isinstance(error, _Lost) or type(error).__name__ == "KilledWorker":
        why = "every worker that made it was ended from outside, or ran out of memory"
    else:
        why = f"{type(error).__name__}: {' '.join(str(error).split())[:300]}"
    return replace(failed, failure=why)


_one = threading.Lock()  # held while a job is made in this process
_nursery: list[Nursery] = []  # of this process; none or one


def make(
    order: Order, preload: Sequence[str], place: str, passed: Mapping[str, str], toolkit: str
) -> Outcome:
    """Make one job in a worker as it would be made in ``place``, by the same toolkit."""
    failed = Outcome(order.job, str(Path(order.out) / order.job))
    if resume.toolkit_digest() != toolkit:
        return replace(failed, failure="the worker has another version of rebuildbook or Python")
    if not Path(place).is_dir():
        return replace(failed, failure=f"the worker does not see the folder {place}")
    with _one, contextlib.chdir(place), _environment(passed):
        resume.digest.cache_clear()  # the files may have changed since the last job
        if not _nursery and not cannot_fork("python3"):
            _nursery.append(Nursery(preload, quiet=True))
        if _nursery:
            os.environ[ADDRESS] = _nursery[0].address
        outcome = run_one(order)
    if outcome.lost:
        raise _Lost(outcome.failure)
    return outcome


def close_nursery(at_once: bool = False) -> None:
    """End this worker's nursery; one with a job in work is left to that, but for ``at_once``."""
    free = _one.acquire(blocking=False)
    if free or at_once:
        while _nursery:
            _nursery.pop().close()
    if free:
        _one.release()


@contextlib.contextmanager
def _environment(passed: Mapping[str, str]) -> Iterator[None]:
    """Have what changes the files as the run has it, and put back what was."""
    names = (*_PASSED_ON, ADDRESS)
    before = {name: os.environ.get(name) for name in names}
    try:
        for name in names:
            os.environ.pop(name, None)
        os.environ.update(passed)
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value
