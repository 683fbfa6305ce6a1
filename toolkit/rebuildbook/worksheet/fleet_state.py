"""How the fleet stands: every job by its state, the worst first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Literal

from rebuildbook.worksheet.fleet_read import FleetData, FleetJob, Results
from rebuildbook.worksheet.fleet_table import Column, FleetTable, counted, few
from rebuildbook.worksheet.model import Block, Finding, Level, Note, Section

State = Literal[
    "open holds", "changed since its release", "make it again", "never made",
    "no as-built sheet yet", "ready for release", "released",
]  # fmt: skip
STATES: tuple[State, ...] = State.__args__  # type: ignore[attr-defined]
SOURCE = "results of each job as they lie in the outputs, and the ledger"
# what changes an as-built sheet when it comes in later
_READ = {"torque", "measurement", "test", "step", "deviation", "photo"}
_MEANS: dict[State, tuple[Level, str, str]] = {
    "open holds": ("hold", "open holds", "Clear the holds; these units stay at the bench."),
    "changed since its release": (
        "hold", "changed since the release", "See what changed and release them again.",
    ),
    "make it again": (
        "query", "sheets out of date", "Cards, sheets or record changed: run these jobs again.",
    ),
    "never made": ("query", "nothing made yet", "Run these jobs."),
}  # fmt: skip


def state_of(job: FleetJob) -> State:
    """Tell how a job stands, from its results as they lie there and from its record.

    A release counts for the as-built sheet that it names by its hash.
    """
    built, releases = job.built, job.record.of("release")
    latest = built or job.worksheet
    if latest is None:
        return "never made"
    if built and releases and releases[-1].entry.text == built.digest and _same_sheets(job, built):
        return "released"
    said = built.texts.get("release.state") if built else ""
    # of a version that did not say how it stands, or older than what it stands on
    if said is None or not _same_sheets(job, latest) or (built and _read_since(job, built)):
        return "make it again"
    if said == "not to be released" or (not built and holds_of(job)):
        return "open holds"
    if not built:
        return "no as-built sheet yet"
    return "changed since its release" if releases else "ready for release"


def holds_of(job: FleetJob) -> list[str]:
    """Ids of the open holds: what the as-built sheet says is open, else the worksheet's."""
    grave = [id_ for id_, finding in job.findings.items() if finding.level == "hold"]
    if job.built is None or "release.open" not in job.built.texts:
        return grave
    opened = job.built.texts["release.open"].split(", ")
    # one that only the as-built knows of stands in no results file but by its id
    known = [id_ for id_ in opened if id_ != "nothing" and id_ not in job.findings]
    return [id_ for id_ in grave if id_ in opened] + known


def _same_sheets(job: FleetJob, results: Results) -> bool:
    marks = "-".join(digest[:6] for _, digest in job.case.files.values())
    return results.inputs == marks


def _read_since(job: FleetJob, results: Results) -> bool:
    """Whether something was put on record after the results were made (both UTC, ISO)."""
    return any(
        kept.entry.kind in _READ and kept.entered[:19] > results.made[:19]
        for kept in job.record.standing
    )


def standing(fleet: FleetData) -> tuple[Section, FleetTable]:
    """Build the section on how the fleet stands, with the table of all jobs."""
    states = {job.name: state_of(job) for job in fleet.jobs}
    order = sorted(
        fleet.jobs, key=lambda job: (STATES.index(states[job.name]), -len(holds_of(job)))
    )
    columns = (
        Column("Job"), Column("Serial"), Column("Model", width=22), Column("Day of work"),
        Column("State", width=24), Column("Holds", width=8), Column("Queries", width=8),
        Column("What stands open", width=60),
    )  # fmt: skip
    table = FleetTable(
        "jobs",
        "Jobs, the worst first",
        columns,
        tuple(_row(job, states[job.name]) for job in order),
        "Holds and queries as the results say them; of queries those on the worksheet count too.",
    )
    counts = Counter(states.values())
    told = "; ".join(f"{state} {counts[state]}" for state in STATES if counts[state])
    blocks: list[Block] = [
        Note(
            f"{counted(len(fleet.jobs), 'job')} of {counted(len(fleet.last), 'unit')}, "
            f"as of {fleet.on.isoformat()}. {told}."
        )
    ]
    blocks += _findings(fleet, states)
    return Section("standing", "How the fleet stands", (*blocks, table.shown())), table


def _row(job: FleetJob, state: State) -> tuple[str | int | None, ...]:
    holds = holds_of(job)
    made = state != "never made"
    queries = [one for one in job.findings.values() if one.level == "query"]
    titles = [job.findings[id_].title if id_ in job.findings else id_ for id_ in holds]
    return (
        job.name, job.serial, job.model, job.day.isoformat(), state,
        len(holds) if made else None, len(queries) if made else None, few(titles, 3),
    )  # fmt: skip


def _findings(fleet: FleetData, states: dict[str, State]) -> Iterator[Finding]:
    for state, (level, words, action) in _MEANS.items():
        jobs = [job.name for job in fleet.jobs if states[job.name] == state]
        if jobs:
            id_ = f"fleet.state.{state.replace(' ', '-')}"
            title = f"{counted(len(jobs), 'job')}: {words}"
            yield Finding(id_, level, title, few(jobs), action=action, source=SOURCE)
    if fleet.problems:
        files = list(dict.fromkeys(str(problem.file) for problem in fleet.problems))
        yield Finding(
            "fleet.left-out",
            "query",
            f"{counted(len(files), 'card')} left out of this sheet",
            "; ".join(str(problem) for problem in fleet.problems[:20]),
            action="Correct these cards and make the sheet again.",
            source="the job cards",
        )
    if not any(states[job.name] in _MEANS for job in fleet.jobs) and fleet.jobs:
        compared = f"{counted(len(fleet.jobs), 'job')} made, without an open hold"
        yield Finding("fleet.state", "clear", "No job is held", compared, source=SOURCE)
