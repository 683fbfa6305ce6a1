"""Which units are due for service, by running hours turned into days."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from rebuildbook.record.overlay import RUNNING
from rebuildbook.worksheet.fleet_read import FleetData, FleetJob
from rebuildbook.worksheet.fleet_table import Column, FleetTable, counted, few
from rebuildbook.worksheet.model import Block, Finding, Line, Note, Section, Value, series

HOUR = 3600.0
SOON = 30  # days
FAR = 36_500  # days; a date further off says nothing
LEAST_DAYS = 14  # between two readings of the counter, for the hours of a week to mean something
Ends = Literal["overdue", "due soon", "later", "cannot be told"]
ENDS: tuple[Ends, ...] = Ends.__args__  # type: ignore[attr-defined]
_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Due:
    """When a unit is due; hours are running hours.

    ``left`` counts from ``since``, the day that the counter was last read or the work was done;
    ``per_week`` is running time in a week, ``per_week_from`` says where it is from. ``missing``
    is what it would take to tell.
    """

    serial: str
    job: FleetJob
    ends: Ends
    since: date
    left: float | None
    set_by: str
    counter: float | None
    per_week: float | None
    per_week_from: str
    day: date | None
    missing: tuple[str, ...] = ()


def due_of(fleet: FleetData, serial: str) -> Due:
    """Work out when a unit is due, from its last job and from what its counter showed since.

    Hours left over hours in a week give the days, rounded down.
    """
    job = fleet.last[serial]
    points = counter_readings(fleet, serial)
    left, set_by = _left(job)
    since, counter = job.day, points[-1][1] if points else None
    at_work = next((hours for day, hours in reversed(points) if day <= job.day), None)
    if counter is not None and at_work is not None and points[-1][0] > job.day:
        since = points[-1][0]
        left = None if left is None else left - (counter - at_work)
    per_week, per_week_from = _per_week(job, points)
    missing: list[str] = []
    if left is None:
        missing.append("service_every, or a wear trend")
    day = None
    if left is not None and left <= 0.0:
        day = since
    elif not per_week:
        missing.append(
            "its counter stands still" if per_week == 0.0 else
            "running_per_week, or two counter readings"
        )  # fmt: skip
    elif left is not None:
        days = 7.0 * left / per_week
        day = since + timedelta(days=math.floor(days)) if days <= FAR else None
    ends = _ends(fleet.on, day, left, missing)
    return Due(
        serial, job, ends, since, left, set_by, counter, per_week, per_week_from, day,
        tuple(missing),
    )  # fmt: skip


def _ends(on: date, day: date | None, left: float | None, missing: Sequence[str]) -> Ends:
    if left is not None and left <= 0.0:
        return "overdue"
    if missing:
        return "cannot be told"
    if day is None:
        return "later"
    days = (day - on).days
    return "overdue" if days < 0 else "due soon" if days <= SOON else "later"


def counter_readings(fleet: FleetData, serial: str) -> list[tuple[date, float]]:
    """Hours on the unit's counter by day, from cards and, before them, from the ledger.

    Where the counter fell, it was changed: what it showed before does not count.
    """
    found: dict[date, float] = {}
    for job in fleet.by_unit[serial]:
        if job.case.job.running_hours is not None:
            found[job.day] = job.case.job.running_hours.nominal / HOUR
    days_of = {job.name: job.day for job in fleet.by_unit[serial]}
    for kept in fleet.kept.get(serial, ()):
        entry = kept.entry
        if entry.kind != "measurement" or entry.subject != RUNNING or entry.si is None:
            continue
        day = date.fromisoformat(entry.on[:10]) if entry.on else days_of.get(entry.job)
        if day is not None:
            found[day] = entry.si / HOUR
    points: list[tuple[date, float]] = []
    for day, hours in sorted(found.items()):
        if points and hours < points[-1][1]:
            points.clear()
        points.append((day, hours))
    return points


def _left(job: FleetJob) -> tuple[float | None, str]:
    """Running hours to the next service as of the job, and what sets them."""
    if job.built is not None and "next-service.within" in job.built.numbers:
        return job.built.numbers["next-service.within"], "as-built sheet"
    numbers = job.worksheet.numbers if job.worksheet else {}
    left = {
        id_.split(".")[1]: hours
        for id_, hours in numbers.items()
        if id_.startswith("leaks.") and id_.endswith(".again")
    }
    every = job.case.job.service_every
    if every is not None:
        left["the interval asked for"] = every.nominal / HOUR
    if not left:
        return None, ""
    first = min(left, key=lambda name: left[name])
    return left[first], first


def _per_week(job: FleetJob, points: Sequence[tuple[date, float]]) -> tuple[float | None, str]:
    given = job.case.job.running_per_week
    if given is not None:
        return given.nominal / HOUR, "job card"
    if len(points) > 1:
        (first, before), (last, after) = points[0], points[-1]
        days = (last - first).days
        if days >= LEAST_DAYS:
            words = f"counter {first.isoformat()} to {last.isoformat()}"
            return 7.0 * (after - before) / days, words
    return None, ""


def due(fleet: FleetData) -> tuple[Section, FleetTable]:
    """Build the section on what is due, the most overdue unit first."""
    found = [due_of(fleet, serial) for serial in fleet.last]
    found.sort(key=lambda one: (ENDS.index(one.ends), one.day or date.max, one.serial))
    columns = (
        Column("Serial"), Column("Last job"), Column("Model", width=22, paper=False),
        Column("Due", width=15),
        Column("Day due"), Column("Left", "h", 10), Column("As of", paper=False),
        Column("In a week", "h", 10), Column("Set by", width=24, paper=False),
        Column("Missing", width=50),
    )  # fmt: skip
    rows = tuple(
        (
            one.serial, one.job.name, one.job.model, one.ends, one.day, one.left, one.since,
            one.per_week, one.set_by, "; ".join(one.missing),
        )
        for one in found
    )  # fmt: skip
    table = FleetTable("due", "Next service", columns, rows)
    blocks: list[Block] = [*_findings(fleet, found)]
    blocks += series((one.serial, line) for one in found[:20] for line in _lines(one))
    untold = sum(one.ends == "cannot be told" for one in found)
    if untold:
        said = f"Of {counted(untold, 'unit')} it cannot be told; the table says what is missing."
        blocks.append(Note(said))
    return Section("due", "Due and overdue", (*blocks, table.shown())), table


def _lines(one: Due) -> Iterator[Line]:
    if one.left is None or one.left <= 0.0 or not one.per_week:
        return
    yield Line(
        f"fleet.due.{one.serial}.days",
        "Days to the next service, from the day its hours are of",
        Value(7.0 * one.left / one.per_week, "number", ""),
        "d",
        "7*n/w",
        {"n": Value(one.left, "number", "", 6), "w": Value(one.per_week, "number", "")},
        "running hours left over running hours in a week",
        f"from {one.since.isoformat()}; hours in a week: {one.per_week_from}",
    )


def _findings(fleet: FleetData, found: Sequence[Due]) -> Iterator[Finding]:
    said = [one for one in found if one.ends == "overdue"]
    source = f"next-service lines of the results, job cards, ledger; {_PRACTICE}"
    if said:
        told = [
            f"{one.serial} by {counted((fleet.on - one.day).days, 'd', 'd')}"
            for one in said
            if one.day is not None
        ]
        yield Finding(
            "fleet.due.overdue", "query", f"{counted(len(said), 'unit')} overdue for service",
            few(told), action="Plan them in first; read the counter before the pump is taken off.",
            source=source,
        )  # fmt: skip
    soon = [one for one in found if one.ends == "due soon"]
    if soon:
        told = [f"{one.serial} on {one.day.isoformat()}" for one in soon if one.day is not None]
        yield Finding(
            "fleet.due.soon", "query", f"{counted(len(soon), 'unit')} due within {SOON} days",
            few(told), action="Draw the kit and book the bench.", source=source,
        )  # fmt: skip
    if not said and not soon:
        known = sum(one.ends == "later" for one in found)
        yield Finding(
            "fleet.due", "clear", f"No unit is known to be due within {SOON} days",
            f"{counted(known, 'unit')} due later, of {len(found)}", source=source,
        )  # fmt: skip
