"""Wrenches and gauges near the end of their calibration, the jobs that used them, late readings."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from rebuildbook.sheets.shop import Gauge, Wrench
from rebuildbook.worksheet.fleet_read import FleetData, FleetJob
from rebuildbook.worksheet.fleet_table import Column, FleetTable, counted, few
from rebuildbook.worksheet.model import Block, Finding, Level, Note, Section

SOON = 60  # days
_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class ToolDue:
    """A tool of a shop whose calibration ends soon or has ended, or whose end nobody wrote down.

    ``jobs`` are those that used it; ``late`` those with readings taken after ``due``, with the day.
    """

    shop: str
    label: str
    what: str
    due: date | None
    days: int | None
    jobs: tuple[str, ...]
    late: tuple[tuple[str, str], ...]


def tools_due(fleet: FleetData) -> list[ToolDue]:
    """Find the tools that are due within 60 days of the sheet's day, or past it, soonest first."""
    uses = _uses(fleet)
    found: dict[tuple[str, str], ToolDue] = {}
    for job in fleet.jobs:
        shop = job.case.shop
        held: list[tuple[str, Wrench | Gauge]] = [*shop.wrenches.items(), *shop.gauges.items()]
        for label, tool in held:
            if (shop.name, label) in found:
                continue
            end = tool.calibration_due
            days = None if end is None else (end - fleet.on).days
            used = uses.get((shop.name, label), {})
            late = [
                (name, day)
                for name, on_days in used.items()
                for day in sorted(on_days)
                if end is not None and day > end.isoformat()
            ]
            if late or days is None or days <= SOON:
                found[shop.name, label] = ToolDue(
                    shop.name, label, tool.what, end, days, tuple(used), tuple(late)
                )
    return sorted(found.values(), key=lambda one: (one.due or date.max, one.label))


def _uses(fleet: FleetData) -> dict[tuple[str, str], dict[str, set[str]]]:
    """Days that each tool of a shop was used on, by job, from cards and record."""
    found: dict[tuple[str, str], dict[str, set[str]]] = defaultdict(lambda: defaultdict(set))
    for job in fleet.jobs:
        for label, day in _used(job):
            found[job.case.shop.name, label][job.name].add(day)
    return found


def _used(job: FleetJob) -> Iterator[tuple[str, str]]:
    recorded = {kept.entry.subject for kept in job.record.of("torque") if kept.entry.tool}
    for joint, use in job.case.job.tools.items():
        # what the record has of a joint says the day that each reading was taken
        if joint not in recorded:
            yield use.wrench, job.day.isoformat()
    for kept in job.record.standing:
        if kept.entry.tool:
            yield kept.entry.tool, kept.entry.on[:10] or job.day.isoformat()


def tools(fleet: FleetData) -> tuple[Section, FleetTable]:
    """Build the section on tools near calibration."""
    found = tools_due(fleet)
    columns = (
        Column("Tool"), Column("What", width=50), Column("Calibrated until"),
        Column("Days left", width=10), Column("Jobs", width=8, paper=False),
        Column("Used in", width=40), Column("Used after that day", width=40),
        Column("Shop", paper=False),
    )  # fmt: skip
    rows = tuple(
        (
            one.label, one.what, one.due, one.days, len(one.jobs), few(one.jobs, 5),
            few([f"{job} on {day}" for job, day in one.late], 5), one.shop,
        )
        for one in found
    )  # fmt: skip
    table = FleetTable(
        "tools", f"Due within {SOON} days, past due, or without a date", columns, rows
    )
    if not found:
        words = f"No wrench or gauge is due within {SOON} days of {fleet.on.isoformat()}."
        return Section("tools", "Tools near calibration", (Note(words),)), table
    blocks: list[Block] = [finding for one in found for finding in _finding(one)]
    return Section("tools", "Tools near calibration", (*blocks, table.shown())), table


def _finding(one: ToolDue) -> Iterator[Finding]:
    if one.due is None or one.days is None:
        return  # of gauges that nobody calibrates; the table has them
    level: Level = "query"
    if one.late:
        level, words = "hold", "used after its calibration had ended"
        action = "Check the tool; if it is off, check what was read with it in these jobs."
    elif one.days < 0:
        words, action = "calibration has ended", "Take it off the board until it is checked."
    else:
        words, action = "calibration ends soon", "Send it before it is needed."
    compared = f"until {one.due.isoformat()}, " + (
        f"{counted(one.days, 'd', 'd')} left" if one.days >= 0 else f"{-one.days} d ago"
    )
    if one.late:
        compared += "; used by " + few([f"{job} on {day}" for job, day in one.late], 5)
    yield Finding(
        f"fleet.tools.{one.shop}.{one.label}",
        level,
        f"{one.label}: {words}",
        compared,
        action=action,
        source=f"shop sheet {one.shop}.yaml, job cards, ledger; {_PRACTICE}",
    )
