"""When each step of an assembly begins and ends, one pair of hands, and how long threads stay open.

Times are in seconds from the start of the work.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Timed:
    """One step on the clock: ``start`` and ``end`` (s), ``wait`` (s) of idle hands before it.

    ``waits_for`` is the step whose sealant or locker it waits for; empty where it does not.
    """

    name: str
    start: float
    end: float
    wait: float = 0.0
    waits_for: str = ""


def schedule(
    order: Sequence[str],
    durations: Mapping[str, float],
    after: Mapping[str, Collection[str]],
    sets: Mapping[str, float],
) -> tuple[Timed, ...]:
    """Lay steps one after another, and wait where one may not be touched yet.

    A step begins when the one before it in ``order`` has ended, and not before everything that it
    comes ``after`` has stood for as long as it ``sets`` (s; nothing for those not named).
    ``durations`` in s. Raises ValueError for a time below zero, and for a step that comes before
    one that it waits for.

    >>> for one in schedule("ab", {"a": 60.0, "b": 30.0}, {"b": "a"}, {"a": 100.0}):
    ...     print(one.name, one.start, one.end, one.wait)
    a 0.0 60.0 0.0
    b 160.0 190.0 100.0
    """
    done: dict[str, Timed] = {}
    clock = 0.0
    for name in order:
        _check_time(name, durations[name])
        free = {before: _free(name, before, done, sets) for before in after.get(name, ())}
        last = max(free, key=free.__getitem__, default="")
        start = max(clock, free.get(last, 0.0))
        wait = start - clock
        clock = start + durations[name]
        done[name] = Timed(name, start, clock, wait, last if wait > 0.0 else "")
    return tuple(done.values())


def _free(name: str, before: str, done: Mapping[str, Timed], sets: Mapping[str, float]) -> float:
    if before not in done:
        raise ValueError(f"{name} comes after {before}, which is not done before it")
    _check_time(before, sets.get(before, 0.0))
    return done[before].end + sets.get(before, 0.0)


def _check_time(name: str, seconds: float) -> None:
    if not 0.0 <= seconds < math.inf:
        raise ValueError(f"{name} takes {seconds} s; a time is finite and not below zero")


@dataclass(frozen=True, slots=True)
class OpenThread:
    """The fastener whose thread is longest between its first turn and its last.

    ``position`` is its number in the pattern, ``span`` (s) from the start of its first turn to the
    end of its last.
    """

    position: int
    span: float


def longest_open(orders: Sequence[Sequence[int]], each: float) -> OpenThread:
    """Find the fastener that is turned last longest after its thread was wetted.

    ``orders`` are the position numbers of every pass, by hand and in rotation too; ``each`` is the
    time (s) that one fastener takes in one pass. A thread is wetted as its fastener is put in, in
    the first pass. Raises ValueError where there is no pass, where a pass does not turn every
    fastener once, and for a time that is not above zero.

    Four in a cross and then in rotation: 3 is put in second, and turned last as third of the round.

    >>> longest_open([(1, 3, 2, 4), (1, 2, 3, 4)], 10.0)
    OpenThread(position=3, span=60.0)
    """
    if not orders or not orders[0]:
        raise ValueError("no pass is given; a joint is tightened in one at least")
    if not 0.0 < each < math.inf:
        raise ValueError(f"a fastener takes {each} s in one pass; that must be above zero")
    count, first, last = len(orders[0]), orders[0], orders[-1]
    for one in orders:
        if sorted(one) != sorted(first) or len(set(one)) != count:
            raise ValueError(f"the pass {tuple(one)} does not turn every fastener once")
    whole = (len(orders) - 1) * count
    spans = {at: (whole + last.index(at) - first.index(at) + 1) * each for at in first}
    position = max(spans, key=spans.__getitem__)
    return OpenThread(position, spans[position])
