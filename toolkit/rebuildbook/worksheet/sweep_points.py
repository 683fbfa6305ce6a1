"""A case worked out at the points of a sweep, by all processors, kept as bare numbers.

What a setting does not touch is taken over from the point before (`rebuildbook.sheets.kept`). So
of the fields of a grid the one that costs most is changed least often, and a process gets points
that lie side by side.
"""

from __future__ import annotations

import contextlib
import fnmatch
import math
import multiprocessing
import os
import signal
import sys
import time
import warnings
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from rebuildbook.sheets import Case, SheetError, load_case
from rebuildbook.sheets.load import SheetStore
from rebuildbook.worksheet.build import Worksheet
from rebuildbook.worksheet.model import LEVELS, Level, Line, Section, Value
from rebuildbook.worksheet.sweep_plan import Plan

ALONE = 48  # points up to which one process is as soon done
_TOGETHER = 16  # points given out at a time, at the least
_MOST_TOGETHER = 400


@dataclass(frozen=True, slots=True)
class Prepared:
    """A sweep that is checked and ready: what it goes through and what it shows."""

    card: Path
    settings: tuple[str, ...]
    show: tuple[str, ...]
    plan: Plan
    store: SheetStore
    case: Case


@dataclass(frozen=True, slots=True)
class Head:
    """What is told of a numeric line besides its number; ``computed`` as for a column."""

    id: str
    title: str
    computed: bool
    unit: str


@dataclass(frozen=True, slots=True)
class Part:
    """One section at one point: numbers in SI with their heads, texts asked for, levels."""

    heads: tuple[Head, ...]
    numbers: NDArray[np.float64]
    texts: tuple[tuple[str, str, str], ...]
    levels: tuple[tuple[str, Level], ...]

    @property
    def worst(self) -> int:
        """Place in ``LEVELS`` of the gravest."""
        return min((LEVELS.index(level) for _, level in self.levels), default=len(LEVELS) - 1)


Point = tuple[Part, ...] | str  # the sections of a point, or why it could not be worked out
_Chunk = tuple[int, ...]  # numbers of the points that are worked out together
_Done = tuple[int, list[Point]]  # number of the chunk, its points


def matches(id_: str, show: Sequence[str]) -> bool:
    """Whether an id is one of those asked for; they may hold * and ?."""
    return any(fnmatch.fnmatchcase(id_, wanted) for wanted in show)


def made_sections(case: Case) -> list[Section]:
    """Every section of a worksheet but the one that repeats the findings of the others."""
    return [part for part in Worksheet(case).sections.values() if part.id != "findings"]


class Reader:
    """Reads sections into parts; one that is the same as at the point before was read then."""

    def __init__(self, show: Sequence[str]) -> None:
        self._show = show
        self._last: dict[str, tuple[Section, Part]] = {}
        self._heads: dict[Head, Head] = {}
        self._alike: dict[tuple[Head, ...], tuple[Head, ...]] = {}

    def read(self, sections: Sequence[Section]) -> tuple[Part, ...]:
        """Give the parts of one point."""
        return tuple(self._part(section) for section in sections)

    def _part(self, section: Section) -> Part:
        last = self._last.get(section.id)
        if last is None or last[0] is not section:
            self._last[section.id] = last = section, self._made(section)
        return last[1]

    def _made(self, section: Section) -> Part:
        heads, numbers, texts = [], [], []
        for line in section.lines():
            if isinstance(line.value, Value):
                heads.append(self._head(line, line.value.unit))
                numbers.append(line.value.si)
            elif matches(line.id, self._show):
                texts.append((line.id, line.name, line.value))
        levels = tuple((found.id, found.level) for found in section.findings())
        same = self._alike.setdefault(tuple(heads), tuple(heads))
        return Part(same, np.array(numbers), tuple(texts), levels)

    def _head(self, line: Line, unit: str) -> Head:
        head = Head(line.id, line.name, bool(line.formula or line.method), unit)
        return self._heads.setdefault(head, head)


def work_out(prepared: Prepared, tell: Callable[[], None]) -> list[Point]:
    """Work out every point, in the order of the plan; ``tell`` is called for each that is done."""
    steps = list(prepared.plan.steps())
    chunks = _chunks(prepared)
    points: list[Point] = [""] * len(steps)
    with contextlib.closing(_worked(prepared, steps, chunks)) as worked:
        for number, done in worked:
            for place, point in zip(chunks[number], done, strict=True):
                points[place] = point
                tell()
    return points


def _worked(
    prepared: Prepared, steps: list[tuple[int, ...]], chunks: list[_Chunk]
) -> Generator[_Done, None, None]:
    """Give chunks as they are done; what no other process did is done here."""
    count = min(_processes(), len(chunks)) if len(steps) > ALONE else 1
    left = set(range(len(chunks)))
    if count > 1:
        with contextlib.closing(_by_others(prepared, steps, chunks, count)) as others:
            for done in others:
                left.discard(done[0])
                yield done
    reader = Reader(prepared.show)
    for number in sorted(left):
        yield number, [_point(prepared, reader, steps[place]) for place in chunks[number]]


def _by_others(
    prepared: Prepared, steps: list[tuple[int, ...]], chunks: list[_Chunk], count: int
) -> Generator[_Done, None, None]:
    """Give what forked processes have done, until all are done or gone; none outlives this."""
    context = multiprocessing.get_context("fork")
    processes, ends = [], []
    # an interrupt is for this process, which ends the others
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        for first in range(count):
            end, far = context.Pipe(duplex=False)
            mine = range(first, len(chunks), count)
            process = context.Process(
                target=_do, args=(far, prepared, steps, chunks, mine), daemon=True
            )
            process.start()
            far.close()
            processes.append(process)
            ends.append(end)
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
        yield from _received(ends)
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
        for process in processes:
            process.terminate()
        for process in processes:
            process.join()
        for end in ends:
            end.close()


def _received(ends: list[Connection]) -> Iterator[_Done]:
    open_ = list(ends)
    while open_:
        for end in wait(open_):
            assert isinstance(end, Connection)  # noqa: S101
            try:
                done: _Done = end.recv()
            except EOFError:
                open_.remove(end)
            else:
                yield done


def _do(
    far: Connection,
    prepared: Prepared,
    steps: list[tuple[int, ...]],
    chunks: list[_Chunk],
    mine: Sequence[int],
) -> None:
    """Work out some chunks in a process of their own."""
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    warnings.simplefilter("ignore")  # at the fork a thread may have been writing where they go
    reader = Reader(prepared.show)
    for number in mine:
        try:
            done = [_point(prepared, reader, steps[place]) for place in chunks[number]]
        except Exception:  # (who forked this comes to the same, and tells of it)
            return
        far.send((number, done))


def _point(prepared: Prepared, reader: Reader, steps: tuple[int, ...]) -> Point:
    try:
        settings = [*prepared.settings, *prepared.plan.settings(steps)]
        return reader.read(made_sections(load_case(prepared.card, settings, prepared.store)))
    except SheetError as error:
        told = [f"{p.field}: {p.message}" if p.field else p.message for p in error.problems]
        return "; ".join(told)
    except (ValueError, ArithmeticError) as error:
        return " ".join(str(error).split()) or type(error).__name__


def _processes() -> int:
    """Processes that may run at once; one where a process cannot be forked."""
    if sys.platform in {"win32", "darwin"} or multiprocessing.current_process().daemon:
        return 1
    return len(os.sched_getaffinity(0))


def _chunks(prepared: Prepared) -> list[_Chunk]:
    """Part the points into runs; in a grid the field that costs most to change is outermost."""
    plan = prepared.plan
    if not plan.grid or len(plan) <= ALONE:
        places, run = list(range(len(plan))), _TOGETHER
    else:
        sizes = [len(one) for one in plan.swept]
        costs = _costs(prepared)
        outer = sorted(range(len(sizes)), key=lambda field: -costs[field])
        number = np.arange(len(plan)).reshape(sizes).transpose(outer)
        places, run = number.ravel().tolist(), sizes[outer[-1]]
        while run < _TOGETHER and len(outer) > 1:
            run *= sizes[outer.pop(-2)]
        run = math.ceil(run / math.ceil(run / _MOST_TOGETHER))
    return [tuple(one) for one in _parted(places, run)]


def _parted(places: list[int], size: int) -> Iterator[list[int]]:
    return (places[start : start + size] for start in range(0, len(places), size))


def _costs(prepared: Prepared) -> list[float]:
    """Give the time, s, that a step of each field costs from the middle of the grid."""
    middle = tuple(len(one) // 2 for one in prepared.plan.swept)
    costs = []
    for field in range(len(middle)):
        aside = tuple(step - (place == field) for place, step in enumerate(middle))
        # the price of a first time, as of what is loaded only then, is not that of a step
        costs.append(min(_time(prepared, middle, one) for one in _twice(aside, field)))
    return costs


def _twice(aside: tuple[int, ...], field: int) -> Iterator[tuple[int, ...]]:
    yield aside
    if aside[field] > 0:
        yield tuple(step - (place == field) for place, step in enumerate(aside))


def _time(prepared: Prepared, start: tuple[int, ...], end: tuple[int, ...]) -> float:
    reader = Reader(())
    _point(prepared, reader, start)
    begin = time.perf_counter()
    _point(prepared, reader, end)
    return time.perf_counter() - begin
