"""What a fleet sheet stands on: job cards, the results that lie in the outputs, the ledger.

No worksheet is worked out here: of each job its card is read and the results that were made of it.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import Any

from rebuildbook.record.kept import Kept
from rebuildbook.record.ledger import Ledger
from rebuildbook.record.overlay import Record, ledger_of
from rebuildbook.sheets import Case, Problem, SheetError
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.fleet_known import KnownSheets
from rebuildbook.worksheet.model import Finding

WORKSHEET, AS_BUILT = "results.json", "as-built.json"


@dataclass(frozen=True, slots=True)
class Results:
    """One results file as far as the fleet needs it.

    ``numbers`` are lines by id, SI; ``texts`` those whose value is text; ``made`` when (ISO, UTC);
    ``inputs`` the mark of the sheets that it was made from.
    """

    numbers: Mapping[str, float]
    texts: Mapping[str, str]
    findings: Mapping[str, Finding]
    made: str
    inputs: str
    digest: str


@dataclass(frozen=True)
class FleetJob:
    """One job: its card with the sheets it names, its record, and the results that were made."""

    case: Case
    record: Record
    worksheet: Results | None = None
    built: Results | None = None

    @property
    def context(self) -> Context:
        """The case as sections see it."""
        return Context(self.case)

    @property
    def name(self) -> str:
        """The job number."""
        return self.case.job.job

    @property
    def serial(self) -> str:
        """The unit."""
        return self.case.job.serial

    @property
    def model(self) -> str:
        """The name of its model sheet."""
        return self.case.job.model

    @property
    def day(self) -> date:
        """The day of the work."""
        return self.context.day

    @cached_property
    def findings(self) -> dict[str, Finding]:
        """What the results say of the job; the as-built sheet has the last word on each."""
        found: dict[str, Finding] = {}
        for results in (self.worksheet, self.built):
            found |= results.findings if results else {}
        return found


@dataclass(frozen=True)
class FleetData:
    """All jobs, the oldest first, and the cards that could not be read."""

    jobs: tuple[FleetJob, ...]
    on: date
    problems: tuple[Problem, ...] = ()
    kept: Mapping[str, Sequence[Kept]] = field(default_factory=dict)  # by serial

    @cached_property
    def last(self) -> dict[str, FleetJob]:
        """The last job of each unit."""
        return {job.serial: job for job in self.jobs}

    @cached_property
    def by_unit(self) -> dict[str, list[FleetJob]]:
        """The jobs of each unit, the oldest first."""
        found: dict[str, list[FleetJob]] = defaultdict(list)
        for job in self.jobs:
            found[job.serial].append(job)
        return dict(found)

    @cached_property
    def by_model(self) -> dict[str, list[FleetJob]]:
        """The jobs of each model, the oldest first."""
        found: dict[str, list[FleetJob]] = defaultdict(list)
        for job in self.jobs:
            found[job.model].append(job)
        return dict(sorted(found.items()))


def read_fleet(
    cards: Iterable[Path | str],
    outputs: Path,
    ledger: str = "",
    on: date | None = None,
    store: KnownSheets | None = None,
) -> FleetData:
    """Read the cards, what lies of them in ``outputs``, and the ledger; bad cards are told.

    ``store`` may know the cards from the last time. Raises LedgerError where a ledger cannot be
    read.
    """
    store = store or KnownSheets()
    problems: dict[Problem, None] = {}
    shelves: dict[Path, dict[tuple[str, str], list[Kept]]] = {}
    jobs: dict[str, FleetJob] = {}
    for card in map(Path, cards):
        try:
            case = store.case(card)
        except SheetError as error:
            problems |= dict.fromkeys(error.problems)
            continue
        job = case.job
        if job.job in jobs:
            message = "is the job number of another card too; this one is left out"
            problems[Problem(str(card), None, "job", job.job, message)] = None
            continue
        file = ledger_of(card, ledger)
        if file not in shelves:
            shelves[file] = _by_job(file)
        record = _record(file, shelves[file].get((job.serial, job.job), ()))
        folder = outputs / job.job
        jobs[job.job] = FleetJob(
            case, record, read_results(folder / WORKSHEET), read_results(folder / AS_BUILT)
        )
    ordered = sorted(jobs.values(), key=lambda one: (one.case.job.opened, one.name))
    return FleetData(
        tuple(ordered), on or date.today(), tuple(problems), _by_serial(shelves.values())
    )


def _by_job(file: Path) -> dict[tuple[str, str], list[Kept]]:
    """Every entry of a ledger, read once, by unit and job."""
    found: dict[tuple[str, str], list[Kept]] = defaultdict(list)
    for kept in Ledger(file).entries(superseded=True):
        found[kept.entry.serial, kept.entry.job].append(kept)
    return found


def _by_serial(
    shelves: Iterable[Mapping[tuple[str, str], Sequence[Kept]]],
) -> dict[str, list[Kept]]:
    found: dict[str, list[Kept]] = defaultdict(list)
    for shelf in shelves:
        for (serial, _), entries in shelf.items():
            found[serial] += [kept for kept in entries if kept.corrected_by is None]
    return dict(found)


def _record(file: Path, entries: Sequence[Kept]) -> Record:
    by_id = {kept.id: kept for kept in entries}
    pairs = [(kept, by_id[kept.corrected_by]) for kept in entries if kept.corrected_by is not None]
    standing = tuple(kept for kept in entries if kept.corrected_by is None)
    return Record(file, standing, tuple(pairs))


def read_results(path: Path) -> Results | None:
    """Read a results file; None where there is none, or none that can be used."""
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
        lines = [line for section in found["sections"] for line in section["lines"]]
        findings = {finding.id: finding for finding in _findings(found)}
        return Results(
            {line["id"]: float(line["value"]["si"]) for line in lines if "value" in line},
            {line["id"]: str(line["text"]) for line in lines if "text" in line},
            findings,
            str(found["made"]),
            str(found["inputs"]),
            str(found["digest"]),
        )
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _findings(results: Mapping[str, Any]) -> Iterator[Finding]:
    for section in results["sections"]:
        for finding in section["findings"]:
            yield Finding(**finding)
