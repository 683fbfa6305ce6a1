"""``rebuildbook photo``: keep photos of a job and put them on record."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from rebuildbook.commands import Refused
from rebuildbook.commands.cards import plain_case
from rebuildbook.record.ledger import Ledger, LedgerError
from rebuildbook.record.overlay import ledger_of
from rebuildbook.record.photo import PHOTOS, keep_photo, names_to_show, photo_entry, read_photo
from rebuildbook.sheets import Problem, SheetError
from rebuildbook.sheets.pointing import nowhere


def keep_photos(
    card: Path,
    files: Sequence[Path],
    *,
    of: str,
    on: date | None,
    by: str,
    ledger: Path | None,
) -> str:
    """Keep photos, all or none; raises Refused with one message for each thing wrong."""
    try:
        case = plain_case(card)
        known = names_to_show(case)
        if of not in known:
            raise Refused(f"--of {nowhere(of, 'part or step of the model sheet', known)}")
        day = on or date.today()
        if not case.job.opened <= day <= date.today():
            opened = case.job.opened.isoformat()
            raise Refused(f"--on {day.isoformat()}: wanted a day from {opened}, when the job "
                          "was opened, to today")  # fmt: skip
        photos, problems = [], list[Problem]()
        for path in files:
            try:
                photos.append(read_photo(path))
            except SheetError as error:
                problems += error.problems
        if problems:
            raise SheetError(problems)
        book = ledger_of(card, ledger or "")
        for photo in photos:
            keep_photo(photo, book.parent)
        entries = [
            photo_entry(photo, case, of, day.isoformat(), by, path.name)
            for photo, path in zip(photos, files, strict=True)
        ]
        kept = Ledger(book).append(entries)
    except SheetError as error:
        raise Refused(str(error)) from None
    except (LedgerError, ValueError) as error:
        raise Refused(str(error)) from None
    except OSError as error:
        raise Refused(f"{error.filename}: cannot be written: {error.strerror}") from None
    lines = [
        f"{path}: kept as {book.parent / PHOTOS / photo.name}, without its metadata; entry {row.id}"
        + (" (on record already)" if row.known else "")
        for path, photo, row in zip(files, photos, kept, strict=True)
    ]
    return "\n".join(lines)
