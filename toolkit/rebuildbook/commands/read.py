"""``rebuildbook read``: bring in what was read at the bench, checked as it enters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from rich.console import Console
from rich.table import Table
from rich.text import Text

from rebuildbook.commands import Refused
from rebuildbook.commands.bench import bench_of
from rebuildbook.commands.cards import plain_case
from rebuildbook.record.bench import Bench
from rebuildbook.record.judge import Taken
from rebuildbook.record.kept import Kept
from rebuildbook.record.ledger import Ledger, LedgerError
from rebuildbook.record.overlay import ledger_of
from rebuildbook.record.read import FileRead, read_file
from rebuildbook.record.remarks import Remark
from rebuildbook.sheets import SheetError
from rebuildbook.sheets.columns import ColumnMap, ColumnSheet
from rebuildbook.sheets.load import validate
from rebuildbook.sheets.pointing import nowhere
from rebuildbook.sheets.source import read_source

errors = Console(stderr=True, highlight=False, soft_wrap=True)
WIDE = 160  # columns where the output is no terminal


def read_files(
    card: Path,
    files: Sequence[Path],
    *,
    columns: str | None = None,
    ledger: Path | None = None,
    dry: bool = False,
    today: date | None = None,
) -> int:
    """Read files into the ledger, each whole or not at all; gives the exit code: 0 fine, 2 not.

    Raises Refused for a card, a column map or a ledger that cannot be used.
    """
    try:
        bench = bench_of(plain_case(card))
        mapped = _map(columns, bench)
    except SheetError as error:
        raise Refused(str(error)) from None
    out = Console(highlight=False)
    if not out.is_terminal:
        out.width = WIDE
    book = Ledger(ledger_of(card, ledger or ""))
    kept = _kept(book, bench)
    failed = False
    for path in files:
        read = read_file(path, bench, columns=mapped, today=today, kept=kept)
        failed |= bool(read.problems)
        if not read.problems and not dry:
            kept = (*kept, *_append(book, read))
        elif dry:
            kept = (*kept, *_as_if(kept, read))
        _tell(out, read, book.path, dry)
    return 2 if failed else 0


def _map(named: str | None, bench: Bench) -> ColumnMap | None:
    """The column map of that name in the shop sheet, else the file of that name."""
    offered = bench.case.shop.wrench_files
    if named is None:
        return None
    if named in offered:
        return offered[named]
    path = Path(named)
    if not path.suffix and not path.exists():
        raise Refused(f"--map {nowhere(named, 'column map of the shop sheet', offered)}")
    source = read_source(path)
    return validate(source, ColumnSheet)


def _kept(book: Ledger, bench: Bench) -> tuple[Kept, ...]:
    job = bench.case.job
    try:
        return book.entries(serial=job.serial, job=job.job, superseded=True)
    except LedgerError as error:
        raise Refused(str(error)) from None


def _append(book: Ledger, read: FileRead) -> tuple[Kept, ...]:
    try:
        return book.append([one.written for one in read.taken])
    except (LedgerError, ValueError) as error:
        raise Refused(f"{read.path}: nothing was taken: {error}") from None


def _as_if(kept: Sequence[Kept], read: FileRead) -> list[Kept]:
    """What the ledger would hold, for the files that follow in a dry run."""
    first = max((row.id for row in kept), default=0) + 1
    blank = Kept(0, "", read.taken[0].written, None, "", "") if read.taken else None
    return [
        replace(blank, id=place, entry=one.written)
        for place, one in enumerate(read.taken, first)
        if blank is not None
    ]


def _tell(out: Console, read: FileRead, ledger: Path, dry: bool) -> None:
    for text in read.told:
        out.print(Text(f"{read.path}: {text}"))
    for problem in read.problems:
        errors.print(Text(str(problem)))
    if read.problems:
        some = f"{len(read.problems)} problem{'' if len(read.problems) == 1 else 's'}"
        errors.print(Text(f"{read.path}: {some}; nothing of this file was taken"))
        return
    if read.taken:
        shared = _shared(read.taken)
        out.print(_table(read.taken, shared))
        for remark in shared:
            out.print(Text(f"every reading: {remark}"))
    out.print(Text(_summary(read, ledger, dry)))


def _summary(read: FileRead, ledger: Path, dry: bool) -> str:
    holds = sum(one.level == "hold" for one in read.taken)
    queries = sum(one.level == "query" for one in read.taken)
    parts = [f"{len(read.taken)} {'would be ' if dry else ''}taken"]
    parts += [f"{holds} with a hold"] if holds else []
    parts += [f"{queries} with a query"] if queries else []
    parts += [f"{read.known} on record already"] if read.known else []
    where = "nothing was written" if dry else f"ledger {ledger}"
    return f"{read.path}: {', '.join(parts)}; {where}"


def _shared(taken: Sequence[Taken]) -> list[Remark]:
    """Remarks that stand against every reading of a file; they are said once."""
    if len(taken) < 2:
        return []
    return [
        remark for remark in taken[0].remarks if all(remark in one.remarks for one in taken[1:])
    ]


def _table(taken: Sequence[Taken], shared: Sequence[Remark]) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name in ("What", "No.", "Reading", "Tool", "Date", "By", "Against it"):
        table.add_column(Text(name), overflow="fold")
    before = ""
    for one in taken:
        entry = one.entry
        subject = entry.subject if entry.subject != before else ""
        before = entry.subject
        against = "\n".join(str(remark) for remark in one.remarks if remark not in shared)
        note = f"note: {one.raw.note}" if one.raw.note else ""
        cells = (
            subject,
            str(entry.number or ""),
            entry.given,
            entry.tool,
            entry.on,
            entry.by,
            "\n".join(text for text in (against, note) if text),
        )
        table.add_row(*(Text(cell) for cell in cells))
    return table
