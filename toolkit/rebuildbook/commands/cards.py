"""Find the sheets that a command line names."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from rebuildbook.sheets.source import Problem, SheetError, read_source


def job_cards(paths: Iterable[Path]) -> tuple[list[Path], list[Problem]]:
    """Give the job cards among ``paths`` (folders are searched), and what could not be read."""
    cards: list[Path] = []
    problems: list[Problem] = []
    for path in paths:
        if not path.is_dir():
            cards.append(path)
            continue
        inside = sheets_in(path)
        found = [card for card in inside if _is_job(card)]
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


def _is_job(path: Path) -> bool:
    """A file that cannot be read may be a job card: let loading it say what is wrong."""
    try:
        return read_source(path).data.get("kind") not in {"model", "shop"}
    except SheetError:
        return True
