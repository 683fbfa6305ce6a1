"""Faults that come back: on one unit from job to job, or on several units of one model."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from rebuildbook.worksheet.fleet_read import FleetData, FleetJob
from rebuildbook.worksheet.fleet_state import SOURCE
from rebuildbook.worksheet.fleet_table import Column, FleetTable, counted, few
from rebuildbook.worksheet.model import Block, Finding, Level, Note, Section

TITLE = "Faults that come back"
LEAST_UNITS = 2  # of a model that share a fault


@dataclass(frozen=True, slots=True)
class Repeat:
    """One finding in several jobs: of one unit, or of several units of a model."""

    of: str
    finding: str
    title: str
    level: Level
    jobs: tuple[str, ...]
    units: tuple[str, ...]


def faults_of(job: FleetJob) -> dict[str, tuple[Level, str]]:
    """Holds and queries of a job, (level, title) by id, as results and record have them."""
    found: dict[str, tuple[Level, str]] = {}
    for kept in job.record.of("finding"):
        level, _, title = kept.entry.text.partition(": ")
        if level == "hold":
            found[kept.entry.subject] = ("hold", title)
        elif level == "query":
            found[kept.entry.subject] = ("query", title)
    for id_, finding in job.findings.items():
        if finding.level != "clear":
            found[id_] = (finding.level, finding.title)
    return found


def repeats(fleet: FleetData) -> tuple[list[Repeat], list[Repeat]]:
    """Find what came back on one unit, and what several units of a model share; worst first."""
    faults = {job.name: faults_of(job) for job in fleet.jobs}
    on_unit = _repeats(fleet.by_unit, faults)
    on_model = [one for one in _repeats(fleet.by_model, faults) if len(one.units) >= LEAST_UNITS]
    return on_unit, on_model


def _repeats(
    groups: Mapping[str, list[FleetJob]], faults: Mapping[str, dict[str, tuple[Level, str]]]
) -> list[Repeat]:
    found = []
    for of, jobs in groups.items():
        where: dict[str, list[FleetJob]] = defaultdict(list)
        for job in jobs:
            for id_ in faults[job.name]:
                where[id_].append(job)
        for id_, with_it in where.items():
            if len(with_it) < 2:
                continue
            levels = {faults[job.name][id_][0] for job in with_it}
            found.append(
                Repeat(
                    of,
                    id_,
                    " / ".join(dict.fromkeys(faults[job.name][id_][1] for job in with_it)),
                    "hold" if "hold" in levels else "query",
                    tuple(job.name for job in with_it),
                    tuple(dict.fromkeys(job.serial for job in with_it)),
                )
            )
    return sorted(found, key=lambda one: (one.level != "hold", -len(one.jobs), one.of))


def repeated(fleet: FleetData) -> tuple[Section, FleetTable, FleetTable]:
    """Build the section on faults that come back."""
    on_unit, on_model = repeats(fleet)
    columns = (
        Column("Fault", width=50), Column("Level", width=8), Column("Jobs", width=8),
        Column("Which", width=60),
    )  # fmt: skip
    units = FleetTable(
        "repeats-unit", "The same fault on the same unit", (Column("Serial"), *columns),
        tuple((o.of, o.title, o.level, len(o.jobs), few(o.jobs)) for o in on_unit),
    )  # fmt: skip
    models = FleetTable(
        "repeats-model", "The same fault on several units of a model",
        (Column("Model", width=22), *columns[:2], Column("Units", width=8), columns[3]),
        tuple((o.of, o.title, o.level, len(o.units), few(o.units)) for o in on_model),
    )  # fmt: skip
    if not any(map(faults_of, fleet.jobs)) and not any(job.findings for job in fleet.jobs):
        words = "Nothing was made of these jobs yet, and no finding is on record."
        return Section("repeats", TITLE, (Note(words),)), units, models
    blocks: list[Block] = [*_findings(on_unit, on_model)]
    blocks += [table.shown() for table in (units, models) if table.rows]
    return Section("repeats", TITLE, tuple(blocks)), units, models


def _findings(on_unit: list[Repeat], on_model: list[Repeat]) -> Iterator[Finding]:
    if on_unit:
        yield Finding(
            "fleet.repeats.unit", "query", f"{counted(len(on_unit), 'fault')} came back on a unit",
            few([f"{one.of}: {one.title} ({counted(len(one.jobs), 'job')})" for one in on_unit], 5),
            action="Look for the cause, not the part: duty, fluid, fit, how it was put together.",
            source=SOURCE,
        )  # fmt: skip
    if on_model:
        yield Finding(
            "fleet.repeats.model", "query",
            f"{counted(len(on_model), 'fault')} on several units of a model",
            few([f"{one.of}: {one.title} ({counted(len(one.units), 'unit')})" for one in on_model],
                5),
            action="Check the model sheet and the way the joint or part is worked on.",
            source=SOURCE,
        )  # fmt: skip
    if not on_unit and not on_model:
        yield Finding(
            "fleet.repeats", "clear", "No fault came back", "by finding, unit and model",
            source=SOURCE,
        )  # fmt: skip
