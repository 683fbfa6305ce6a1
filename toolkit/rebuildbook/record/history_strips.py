"""The strips of a unit's figure: wear, torque and test readings, each held against its own kind."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence

from rebuildbook.figures.history import MOST, Strip, Trend
from rebuildbook.record.history import JobRecord, Name, mean, readings, torques
from rebuildbook.record.kept import Kept
from rebuildbook.record.unit_sheets import UnitSheets
from rebuildbook.units import DIMENSIONS

_SET = ("pressure", "held_for", "held-for")  # what the bench put on, not what the pump gave
_SET_UP = "bench."
Rows = Mapping[Name, Mapping[int, Sequence[Kept]]]


def strips_of(jobs: Sequence[JobRecord], sheets: UnitSheets) -> tuple[Strip, ...]:
    """Give the strips that these jobs have anything for; those that change most stand first.

    Wear is the share of what a part may wear by the model sheet, else the change of its size since
    its first reading. Torque is against the middle of its window, else the joint's first mean; test
    readings against their first.
    """
    sizes = readings(jobs, "measurement")
    known = {name: rows for name, rows in sizes.items() if sheets.worn(name[0], 0.0) is not None}
    unknown = {name: rows for name, rows in sizes.items() if name not in known}
    made = (
        Strip(
            "Worn, % of what each part may wear",
            _most_told(_worn(known, sheets, jobs)),
            100.0,
            "limit",
        ),
        Strip("Size, change since the first in %", _most_told(_since(unknown, sheets, jobs)), 0.0),
        _torque(jobs, sheets),
        Strip("Test readings, % of the first", _most_told(_tests(jobs)), 100.0),
    )
    return tuple(strip for strip in made if strip.trends)


def titled(subject: str, number: int | None = None) -> str:
    """A subject as words, with its number: "readings.stall-up" and 2 as "stall up 2"."""
    words = subject.removeprefix("readings.").replace("_", " ").replace("-", " ")
    words = words.replace(".", ": ")
    return words if number is None else f"{words} {number}"


def _worn(rows: Rows, sheets: UnitSheets, jobs: Sequence[JobRecord]) -> Iterator[Trend]:
    for (subject, number), by_job in rows.items():
        found = {place: sheets.worn(subject, mean(kept)) for place, kept in by_job.items()}
        shares = {place: 100.0 * worn for place, worn in found.items() if worn is not None}
        yield Trend(_numbered(sheets.part(subject), number), _row(jobs, shares))


def _since(rows: Rows, sheets: UnitSheets, jobs: Sequence[JobRecord]) -> Iterator[Trend]:
    for (subject, number), by_job in rows.items():
        values = {place: mean(kept) for place, kept in by_job.items()}
        first = values[min(values)]
        if first:
            name = _numbered(sheets.part(subject), number)
            changes = {place: 100.0 * (value / first - 1.0) for place, value in values.items()}
            yield Trend(name, _row(jobs, changes))


def _torque(jobs: Sequence[JobRecord], sheets: UnitSheets) -> Strip:
    trends = []
    planned = True
    for joint, spreads in torques(jobs).items():
        target = sheets.target(joint)
        planned = planned and target is not None
        base = target or spreads[min(spreads)].mean
        if not base:
            continue
        scale = 100.0 / base
        ends = [
            {place: scale * getattr(spread, part) for place, spread in spreads.items()}
            for part in ("mean", "least", "most")
        ]
        trends.append(Trend(sheets.joint(joint), *(_row(jobs, end) for end in ends)))
    against = "the middle of its window" if planned else "its window's middle, or of the first"
    heading = f"Torque, mean with least and most, % of {against}"
    return Strip(heading, _most_told(trends), 100.0)


def _tests(jobs: Sequence[JobRecord]) -> Iterator[Trend]:
    for (subject, number), by_job in readings(jobs, "test").items():
        dimension = next(iter(by_job.values()))[0].entry.dimension
        values = {place: mean(kept) for place, kept in by_job.items()}
        first = values[min(values)]
        signed = dimension not in DIMENSIONS or DIMENSIONS[dimension].signed
        if subject in _SET or subject.startswith(_SET_UP) or signed or not first:
            continue  # of a temperature, or of nothing, no share can be told
        shares = {place: 100.0 * value / first for place, value in values.items()}
        yield Trend(titled(subject, number), _row(jobs, shares))


def _row(jobs: Sequence[JobRecord], known: Mapping[int, float]) -> tuple[float, ...]:
    return tuple(known.get(place, math.nan) for place in range(len(jobs)))


def _most_told(trends: Iterable[Trend]) -> tuple[Trend, ...]:
    """Those that the strip has room for first: flow, then the widest changes."""
    given = list(trends)
    ranked = sorted(given, key=lambda trend: (not trend.name.startswith("flow"), -_change(trend)))
    chosen = ranked[:MOST]
    return tuple([trend for trend in given if trend in chosen] + ranked[MOST:])


def _change(trend: Trend) -> float:
    known = [value for value in (*trend.values, *trend.least, *trend.most) if math.isfinite(value)]
    return max(known) - min(known)


def _numbered(words: str, number: int | None) -> str:
    return words if number is None else f"{words}, no. {number}"
