"""``rebuildbook history``: what is on record of one unit, as tables, a figure and an export."""

from __future__ import annotations

import difflib
import re
from pathlib import Path

from rich.console import Console
from rich.text import Text

from rebuildbook.batch.publish import staging
from rebuildbook.commands import Refused
from rebuildbook.commands.history_table import print_history
from rebuildbook.figures.history import history
from rebuildbook.figures.style import styled, svg
from rebuildbook.record.export import export
from rebuildbook.record.history import JobRecord, jobs_of
from rebuildbook.record.history_strips import strips_of
from rebuildbook.record.kept import Kept
from rebuildbook.record.ledger import Ledger, LedgerError
from rebuildbook.record.unit_sheets import UnitSheets, unit_sheets

FORMS = ("csv", "parquet")
FILES = ("history.svg", "history.png", *(f"history.{form}" for form in FORMS))
_DPI = 200
errors = Console(stderr=True, highlight=False, soft_wrap=True)


def unit_history(
    serial: str, *, ledger: Path, parameters: Path, out: Path | None, form: str | None
) -> int:
    """Tell what is on record of a unit; gives the exit code: 0 told, 2 bad input."""
    if form is not None and form not in FORMS:
        raise Refused(f"--export {form}: wanted {' or '.join(FORMS)}")
    try:
        kept = _entries(Ledger(ledger), serial)
        misfit = Ledger(ledger).verify()
    except LedgerError as error:
        raise Refused(str(error)) from None
    folder = out or Path("outputs") / f"history-{file_name(serial)}"
    unfit = why_not(folder)
    if unfit:
        raise Refused(f"--out {folder}: {unfit}")
    if misfit:
        errors.print(Text(f"{ledger}: {misfit}; do not trust what follows without a look"))
    jobs, sheets = jobs_of(kept), unit_sheets(parameters, serial)
    for note in sheets.notes:
        errors.print(Text(note))
    Console(highlight=False, soft_wrap=True).print(Text(_heading(serial, jobs, kept, ledger)))
    print_history(jobs, sheets)
    try:
        made = _write(serial, jobs, sheets, kept, folder, form)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise Refused(f"--out {folder}: cannot be written: {reason}") from None
    last = f"{', '.join(made)} in {folder}" if made else "nothing to draw: no quantity is on record"
    Console(highlight=False, soft_wrap=True).print(Text(last))
    return 0


def _entries(ledger: Ledger, serial: str) -> tuple[Kept, ...]:
    """The unit's entries; refused with the nearest serials where there are none."""
    if not ledger.path.exists():
        raise Refused(f"{ledger.path}: there is no ledger yet; name another with --ledger")
    kept = ledger.entries(serial=serial, superseded=True)
    if kept:
        return kept
    units = ledger.units()
    by_fold = {unit.casefold(): unit for unit in units}
    near = difflib.get_close_matches(serial.casefold(), list(by_fold), 3, 0.6)
    hint = f"did you mean {' or '.join(by_fold[one] for one in near)}?" if near else _offered(units)
    raise Refused(f"{ledger.path}: nothing is on record of {serial!r}; {hint}")


def _offered(units: tuple[str, ...]) -> str:
    if not units:
        return "the ledger is empty"
    more = f" and {len(units) - 12} more" if len(units) > 12 else ""
    return f"there are {', '.join(units[:12])}{more}"


def _heading(serial: str, jobs: tuple[JobRecord, ...], kept: tuple[Kept, ...], ledger: Path) -> str:
    count = f"{len(jobs)} job{'s' if len(jobs) != 1 else ''}"
    return f"{serial}: {count}, {len(kept)} entries in {ledger}\n"


def _write(
    serial: str,
    jobs: tuple[JobRecord, ...],
    sheets: UnitSheets,
    kept: tuple[Kept, ...],
    folder: Path,
    form: str | None,
) -> list[str]:
    """Write figure and export into a folder of their own, all or nothing; gives their names."""
    strips = strips_of(jobs, sheets)
    if not strips and form is None:
        return []
    folder.parent.mkdir(parents=True, exist_ok=True)
    with staging(folder.parent, folder.name) as made:
        if strips:
            title = f"History of {serial}"
            names, days = [job.job for job in jobs], [job.on for job in jobs]
            figure = history(names, days, strips, title)
            (made / "history.svg").write_text(svg(figure, title), encoding="utf-8")
            with styled():
                figure.savefig(made / "history.png", dpi=_DPI)
        if form is not None:
            export(kept, made / f"history.{form}")
        return sorted(path.name for path in made.iterdir())


def file_name(serial: str) -> str:
    """A serial as part of a file's name: other than letters, digits, dot, hyphen become hyphens.

    >>> file_name("SP-0417"), file_name("../a b/c")
    ('SP-0417', 'a-b-c')
    """
    return re.sub(r"[^\w.]+|\.\.+", "-", serial).strip("-.")[:60] or "unit"


def why_not(folder: Path) -> str:
    """Say why the files may not take the place of ``folder``; empty where they may."""
    if folder.name in {"", ".."}:
        return "is no name for a new folder"
    if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
        return f"is a {'link' if folder.is_symlink() else 'file'}; wanted a folder of its own"
    others = (
        [path.name for path in folder.iterdir() if path.name not in FILES]
        if folder.exists()
        else []
    )
    if others:
        return f"is no folder of a history alone ({min(others)} is in it); name another"
    return ""
