"""``rebuildbook release``: put a unit's release on record, unless a hold is open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path

from rich.console import Console
from rich.text import Text

from rebuildbook.batch.resume import digest
from rebuildbook.commands import Refused
from rebuildbook.commands.cards import not_done
from rebuildbook.record.entry import Entry
from rebuildbook.record.from_card import entries_of_card
from rebuildbook.record.ledger import Ledger, LedgerError
from rebuildbook.record.overlay import ledger_of
from rebuildbook.sheets import Case, SheetError
from rebuildbook.worksheet.as_built import AsBuilt, open_as_built
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import Finding
from rebuildbook.worksheet.release import basis_of

errors = Console(stderr=True, highlight=False, soft_wrap=True)


def release_unit(
    card: Path,
    *,
    by: str,
    role: str,
    on: date | None,
    ledger: Path | None,
    out: Path,
    settings: Sequence[str] = (),
) -> int:
    """Release a unit; gives the exit code: 0 released, 1 refused for a hold, 2 bad input."""
    if not by.strip() or not role.strip():
        raise Refused("--by and --role: say who releases it, and as what")
    file = ledger_of(card, ledger or "")
    try:
        built = open_as_built(card, settings, ledger=str(file))
        if built.case.what_if:
            raise SheetError([not_done(card)])
        if built.verdict.holds:
            return _refuse(built)
        book = Ledger(file)
        readings = book.append(entries_of_card(built.case, built.record))
        built = open_as_built(card, settings, ledger=str(file))
        if built.verdict.state == "released":
            raise Refused(f"{built.case.job.serial}: {built.verdict.said} Nothing to add.")
        job = built.case.job
        text = f"as-built {built.digest}, stands on {basis_of(Context(built.case), built.record)}"
        day = (on or date.today()).isoformat()
        release = Entry(job.serial, job.job, "release", role, on=day, by=by, text=text)
        book.append([*_standing(built, day), *_documents(built.case, out, day), release])
    except SheetError as error:
        for problem in error.problems:
            errors.print(Text(str(problem)))
        return 2
    except LedgerError as error:
        raise Refused(str(error)) from None
    console = Console(highlight=False)
    console.print(Text(f"{job.serial}, job {job.job}: released by {by} on {day}"))
    if readings:
        console.print(Text(f"{len(readings)} readings of the card put on record"))
    console.print(Text(f"as-built {built.digest}"))
    return 0


def _refuse(built: AsBuilt) -> int:
    errors.print(Text(f"{built.case.job.serial}: {built.verdict.said}"))
    for finding in built.verdict.holds:
        errors.print(Text(f"  {finding.id}: {finding.title}. {finding.action}"))
    errors.print(Text("Nothing was put on record."))
    return 1


def _standing(built: AsBuilt, day: str) -> Iterator[Entry]:
    """The findings that stand at the release: open queries, and what was accepted."""
    found: list[tuple[Finding, str]] = [(finding, "") for finding in built.verdict.open]
    found += [(one.finding, one.by) for one in built.verdict.accepted]
    for finding, by in found:
        words = f"{finding.level}: {finding.title}"
        job = built.case.job
        yield Entry(job.serial, job.job, "finding", finding.id, on=day, by=by, text=words)


def _documents(case: Case, out: Path, day: str) -> Iterator[Entry]:
    """The sheets of the job that lie in the output folder, by the hash of their bytes."""
    folder = out / case.job.job
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        if path.suffix in {".pdf", ".json"}:
            job = case.job
            yield Entry(job.serial, job.job, "document", path.name, on=day, text=digest(path))
