"""``rebuildbook fleet``: one sheet over many jobs, as page, paper, notebook, results and tables."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from rebuildbook.batch.execute import NotebookFailed, execute
from rebuildbook.batch.publish import Busy, only_run, prepare_output, staging
from rebuildbook.batch.run import relative, template_path, write_files
from rebuildbook.commands import Refused
from rebuildbook.commands.cards import job_cards
from rebuildbook.record.ledger import Ledger, LedgerError
from rebuildbook.sheets import Problem

NAME = "fleet"
KNOWN = f"{NAME}.cards.json"
FILES = {KNOWN, *(f"{NAME}.{ending}" for ending in ("html", "pdf", "ipynb", "json", "xlsx"))}
LEFT_OUT = "fleet.left-out"
errors = Console(stderr=True, highlight=False, soft_wrap=True)


def make_fleet(
    paths: Sequence[Path],
    *,
    outputs: Path,
    ledger: Path | None,
    on: date | None,
    out: Path | None,
    paper: str = "",
) -> int:
    """Make the fleet sheet; gives the exit code: 0 made, 2 bad input (made of the good cards)."""
    cards, problems = job_cards(paths)
    _tell(problems)
    if not cards:
        return 2
    folder = out or outputs / NAME
    _check(folder, ledger)
    parameters: dict[str, Any] = {
        "on": (on or date.today()).isoformat(),
        "paper": paper,
        "tables": NAME,
    }
    try:
        with only_run(folder.parent), staging(folder.parent, folder.name) as made:
            parameters |= {
                "cards": [relative(card, made) for card in cards],
                "outputs": relative(outputs, made),
                "ledger": relative(ledger, made) if ledger else "",
                "known": relative(folder / KNOWN, made),
            }
            results = _make(parameters, made)
    except NotebookFailed as failure:
        raise Refused(f"the fleet sheet failed: {failure.reason}") from None
    except Busy as busy:
        raise Refused(str(busy)) from None
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise Refused(f"--out {folder}: cannot be written: {reason}") from None
    _print(results, folder)
    return 2 if problems or _of(results, LEFT_OUT) else 0


def _check(folder: Path, ledger: Path | None) -> None:
    if (
        folder.name in {"", ".."}
        or folder.is_symlink()
        or (folder.exists() and not folder.is_dir())
    ):
        raise Refused(f"--out {folder}: wanted a folder of its own")
    others = [path.name for path in folder.iterdir()] if folder.is_dir() else []
    if set(others) - FILES:
        first = min(set(others) - FILES)
        raise Refused(f"--out {folder}: is no folder of a fleet sheet alone ({first} is in it)")
    unwritable = prepare_output(folder.parent)
    if unwritable:
        raise Refused(unwritable)
    if ledger is not None:
        if not ledger.exists():
            raise Refused(f"--ledger {ledger}: there is no such file")
        try:
            Ledger(ledger).head()
        except LedgerError as error:
            raise Refused(str(error)) from None


def _make(parameters: dict[str, Any], made: Path) -> dict[str, Any]:
    """Run the notebook in ``made`` and write its files there; its tables join its results."""
    notebook = execute(template_path(NAME), parameters, made, NAME)
    file = made / f"{NAME}.json"
    tables = json.loads(file.read_text(encoding="utf-8"))
    results = write_files(notebook, made, NAME) | {"tables": tables}
    file.write_text(json.dumps(results, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    return results


def _of(results: dict[str, Any], id_: str) -> list[dict[str, Any]]:
    found = [finding for section in results["sections"] for finding in section["findings"]]
    return [finding for finding in found if finding["id"] == id_]


def _print(results: dict[str, Any], folder: Path) -> None:
    for finding in _of(results, LEFT_OUT):
        errors.print(Text(f"left out: {finding['compared']}"))
    shown = Table(box=None, pad_edge=False, header_style="bold", show_header=False)
    for section in results["sections"]:
        for finding in section["findings"]:
            if finding["level"] != "clear":
                shown.add_row(*(Text(finding[name]) for name in ("level", "title", "compared")))
    console = Console(highlight=False)
    console.print(shown)
    console.print(Text(f"fleet sheet in {folder}"), soft_wrap=True)


def _tell(problems: Sequence[Problem]) -> None:
    for problem in problems:
        errors.print(Text(str(problem)))
