"""Threadlockers and sealants of an assembly on its clock: open, left alone, cured."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from rebuildbook.calculators.cure import (
    SLOWER,
    TIMES_AT,
    SettingTimes,
    at_temperature,
    setting_slower,
)
from rebuildbook.calculators.schedule import OpenThread, Timed, longest_open, schedule
from rebuildbook.sheets.assembly import assembly_graph
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import Value
from rebuildbook.worksheet.traveller_work import Work, fastener_time

SETS = {"threadlocker", "sealant"}
_MINUTES, _HOURS = 100.0, 7200.0  # s, from where a time is read in minutes, in hours


def lasting(seconds: float) -> Value:
    """A time in the unit that a bench reads it in."""
    unit = "s" if seconds < _MINUTES else "min" if seconds < _HOURS else "h"
    return Value(seconds, "time", unit)


def moment(start: datetime, seconds: float) -> datetime:
    """The time on the clock so many seconds after the start; where calendars end, their end."""
    try:
        return start + timedelta(seconds=seconds)
    except OverflowError:
        return datetime.max


@dataclass(frozen=True, slots=True)
class Setting:
    """What sets in one step: times as its sheet ``given`` and as they are at the bench (s).

    ``slower`` is how many times slower than its sheet it sets at the temperature of the ``bench``
    (K), ``in_cold`` that for each 10 K below ``times_at`` (K).
    """

    work: Work
    name: str
    given: SettingTimes
    times: SettingTimes
    slower: float
    in_cold: float
    times_at: float
    bench: float

    @property
    def id(self) -> str:
        """The step, and the consumable where the step has several that set."""
        return f"time.{self.work.name}.{self.name}"


@dataclass(frozen=True, slots=True)
class Clock:
    """The whole assembly on the clock, and what sets in it.

    ``timed`` are the steps one after another, with the waits that what sets asks for. ``touched``
    is by step: the one that handles it next, and how long after its end (s) if nobody waits for
    it. ``open`` is by step: its thread that is longest open.
    """

    works: tuple[Work, ...]
    after: Mapping[str, Sequence[str]]
    settings: tuple[Setting, ...]
    timed: Mapping[str, Timed]
    touched: Mapping[str, tuple[str, float]]
    open: Mapping[str, OpenThread]

    @property
    def end(self) -> float:
        """When the last step ends (s)."""
        return max((one.end for one in self.timed.values()), default=0.0)

    def ready(self, setting: Setting) -> float:
        """When what sets in a step has cured (s)."""
        return self.timed[setting.work.name].end + (setting.times.cure or 0.0)

    @property
    def earliest_test(self) -> float:
        """When all has been done and has cured (s)."""
        return max([self.end, *(self.ready(setting) for setting in self.settings)])


def clock_of(context: Context, works: tuple[Work, ...]) -> Clock:
    """Lay the assembly on the clock."""
    order = [work.name for work in works]
    durations = {work.name: work.duration for work in works}
    after = assembly_graph(context.model)
    settings = tuple(setting for work in works for setting in _settings(context, work))
    sets: dict[str, float] = {}
    for setting in settings:
        name = setting.work.name
        sets[name] = max(sets.get(name, 0.0), setting.times.fixture or 0.0)
    return Clock(
        works,
        after,
        settings,
        {one.name: one for one in schedule(order, durations, after, sets)},
        {name: found for name in sets for found in _touched(name, order, durations, after, sets)},
        {work.name: found for work in works for found in _open(context, work)},
    )


def _touched(
    name: str,
    order: Sequence[str],
    durations: Mapping[str, float],
    after: Mapping[str, Sequence[str]],
    sets: Mapping[str, float],
) -> Iterator[tuple[str, float]]:
    nexts = [one for one in order if name in after[one]]
    if nexts:
        others = {step: time for step, time in sets.items() if step != name}
        clock = {one.name: one for one in schedule(order, durations, after, others)}
        yield nexts[0], clock[nexts[0]].start - clock[name].end


def _open(context: Context, work: Work) -> Iterator[OpenThread]:
    if work.plan is not None and work.plan.tightening is not None:
        orders = [one.order for one in work.plan.tightening.passes]
        yield longest_open(orders, fastener_time(context)[0])


def _settings(context: Context, work: Work) -> Iterator[Setting]:
    for name in dict.fromkeys(name for _, name in work.takes):
        thing = context.shop.consumables[name]
        if thing.kind not in SETS:
            continue
        times_at = thing.times_at.nominal if thing.times_at else TIMES_AT
        bench = context.shop.bench_temperature
        temperature = bench.nominal if bench else times_at
        in_cold = thing.slower_in_cold.high if thing.slower_in_cold else SLOWER
        given = SettingTimes(
            thing.working_time.low if thing.working_time else None,
            thing.fixture_time.high if thing.fixture_time else None,
            thing.cure_time.high if thing.cure_time else None,
        )
        times = at_temperature(given, temperature, times_at, in_cold)
        slower = float(setting_slower.si(temperature, times_at, in_cold))
        yield Setting(work, name, given, times, slower, in_cold, times_at, temperature)
