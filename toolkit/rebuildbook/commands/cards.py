"""Find the sheets that a command line names."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from pathlib import Path

from rebuildbook.sheets import Case, load_case
from rebuildbook.sheets.kinds import kind_of, sheets_in
from rebuildbook.sheets.source import Problem, SheetError

WHAT_IF = "what-if"
OTHERS = {"model", "shop", "columns", "readings"}


def job_cards(paths: Iterable[Path], what_ifs: bool = False) -> tuple[list[Path], list[Problem]]:
    """Give the job cards among ``paths`` (folders are searched), and what could not be read.

    With ``what_ifs`` also the sheets that change a card; else one that is named is a problem.
    """
    cards: list[Path] = []
    problems: list[Problem] = []
    for path in paths:
        if not path.is_dir():
            if what_ifs or kind_of(path) != WHAT_IF:
                cards.append(path)
            else:
                problems.append(not_done(path))
            continue
        others = OTHERS if what_ifs else {*OTHERS, WHAT_IF}
        found = [card for card in sheets_in(path) if kind_of(card) not in others]
        if not found:
            problems.append(Problem(str(path), None, "", "", "holds no job cards (kind: job)"))
        cards += found
    return list(dict.fromkeys(cards)), problems


def rebuild_of(case: Case) -> tuple[str, ...]:
    """What tells one rebuild from another: the unit, the day that it was opened, the what-if."""
    job = case.job
    return job.serial, job.model, job.opened.isoformat(), *([case.what_if] if case.what_if else [])


def folder_of(case: Case) -> str:
    """Where a job's sheets go; no job number has a plus sign, so a what-if has its own place."""
    return f"{case.job.job}+{case.what_if}" if case.what_if else case.job.job


def plain_case(card: Path) -> Case:
    """Load a job card that something was done by; raises SheetError also for a what-if."""
    case = load_case(card)
    if case.what_if:
        raise SheetError([not_done(card)])
    return case


def not_done(path: Path) -> Problem:
    """Say that a what-if sheet is no job that was or will be done."""
    message = "is a what-if, which nothing is done or recorded by; give the job card"
    return Problem(str(path), None, "kind", WHAT_IF, message)


def clashes(cards: Mapping[Path, tuple[str, tuple[str, ...]]]) -> list[tuple[Problem, Path]]:
    """Find cards, (job number, rebuild), of one job number, and cards of one and the same rebuild.

    Each comes with the problem that it is.
    """
    by_job: dict[str, list[Path]] = defaultdict(list)
    by_rebuild: dict[tuple[str, ...], list[Path]] = defaultdict(list)
    for path, (job, rebuild) in cards.items():
        by_job[job.casefold()].append(path)
        by_rebuild[rebuild].append(path)
    found: list[tuple[Problem, Path]] = []
    for same in by_job.values():
        given = {path: cards[path][0] for path in same}
        found += _same(given, "job", "the same job number")
    for same in by_rebuild.values():
        given = {path: cards[path][1][0] for path in same}
        found += _same(given, "serial", "the same serial opened on the same day")
    return found


def _same(given: Mapping[Path, str], field: str, what: str) -> list[tuple[Problem, Path]]:
    if len(given) < 2:
        return []
    found = []
    for path, value in given.items():
        others = ", ".join(str(other) for other in given if other != path)
        message = f"{what} stands in {others} too; each card is one rebuild of one unit"
        found.append((Problem(str(path), None, field, value, message), path))
    return found
