"""Find the sheets that a command line names."""

from __future__ import annotations

import contextlib
import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from pathlib import Path

from rebuildbook.sheets import Case, load_case
from rebuildbook.sheets.source import Problem, SheetError, read_source

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


def sheets_in(folder: Path) -> list[Path]:
    """Give the YAML files below ``folder``, in the order of their names."""
    return sorted(
        path
        for ending in ("*.yaml", "*.yml")
        for path in folder.rglob(ending)
        if not any(part.startswith(".") for part in path.relative_to(folder).parts)
    )


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


_KIND = re.compile(r"kind:\s*([\w-]+)\s*(#.*)?$", re.MULTILINE)


def kind_of(path: Path) -> str:
    """What kind of sheet a file is; "job" where it cannot be read: loading it says why."""
    with contextlib.suppress(OSError, UnicodeDecodeError):
        # where it says so plainly, thousands of cards need not be parsed to learn it
        if (told := _KIND.match(_body(path.read_text(encoding="utf-8")))) is not None:
            return told[1]
    try:
        return str(read_source(path).data.get("kind"))
    except SheetError:
        return "job"


def _body(text: str) -> str:
    """A sheet from its first line on that is no comment."""
    lines = text.splitlines()
    first = next((n for n, line in enumerate(lines) if line.strip() and line[0] != "#"), 0)
    return "\n".join(lines[first:])
