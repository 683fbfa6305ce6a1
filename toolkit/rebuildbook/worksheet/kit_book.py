"""The kit as a spreadsheet for the stores: what to draw, to rework, to measure, job by job."""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

import xlsxwriter

from rebuildbook.worksheet.kit import Kit
from rebuildbook.worksheet.kit_sum import SumLine, add_up, consumables_of_all

_LINE, _HEAD = "#8c8c8c", "#d0d0d0"
_FATE = {
    "new": "draw: always new",
    "replace": "draw: worn out",
    "rework": "rework",
    "measure": "measure first",
    "look": "look it over",
    "reuse": "goes back",
}
EPOCH = datetime(2000, 1, 1)  # a stamp of its own would make every file another
FEW_JOBS = 8  # more columns than this do not print legibly on one page
ROW_HEIGHT = 15  # points for one line of text
Row = Sequence[str | int]


def kit_book(kits: Sequence[Kit]) -> bytes:
    """Make the spreadsheet of one kit or of several; the same kits give the same bytes."""
    file = io.BytesIO()
    book = xlsxwriter.Workbook(file, {"in_memory": True, "strings_to_formulas": False})
    book.set_properties({"title": "Kit for the stores", "created": EPOCH})
    jobs = [kit.job for kit in kits] if len(kits) <= FEW_JOBS else []
    each = [(job, 10) for job in jobs] or [("Jobs", 30)]
    part = [("Stock no.", 12), ("What", 44), ("Make", 36), *each, ("Total", 7)]
    drawn = add_up(kits, lambda part: part.drawn)
    _sheet(book, "To draw", [*part, ("Drawn", 8)], [(*_cells(one, jobs), "") for one in drawn])
    rework = add_up(kits, lambda part: part.becomes == "rework")
    open_ = add_up(kits, lambda part: part.becomes in {"measure", "look"})
    for name, lines in (("To rework", rework), ("Not decided", open_)):
        rows = [(*_cells(one, jobs), "\n".join(one.whys)) for one in lines]
        _sheet(book, name, [*part, ("Why", 50)], rows)
    things: list[Row] = [
        (one.name, one.what, *_by_jobs(one.by_job, jobs), one.total)
        for one in consumables_of_all(kits)
    ]
    _sheet(
        book,
        "Consumables",
        [("Consumable", 20), ("What", 56), *each, ("Places in all", 10)],
        things,
    )
    _sheet(book, "By job", _BY_JOB, list(_of_each_job(kits)))
    book.close()
    return file.getvalue()


_BY_JOB = [
    ("Job", 11), ("Serial", 11), ("Model", 20), ("Part", 18), ("What", 40), ("Pieces", 8),
    ("Fate", 18), ("Stock no.", 13), ("Make", 32), ("Why", 50),
]  # fmt: skip


def _cells(line: SumLine, jobs: Sequence[str]) -> Row:
    return line.number, line.what, line.make, *_by_jobs(line.by_job, jobs), line.total


def _by_jobs(by_job: dict[str, int], jobs: Sequence[str]) -> Row:
    """A cell for each job, or one that names them where they are many."""
    if jobs:
        return tuple(by_job.get(job, 0) for job in jobs)
    return (", ".join(f"{job}: {count}" for job, count in by_job.items()),)


def _of_each_job(kits: Sequence[Kit]) -> Iterable[Row]:
    for kit in kits:
        for part in kit.parts:
            yield (
                kit.job, kit.serial, kit.model, part.name, part.what, part.count,
                _FATE[part.becomes], part.number, part.make, part.why,
            )  # fmt: skip


def _sheet(book: Any, name: str, head: Sequence[tuple[str, int]], rows: Sequence[Row]) -> None:
    page = book.add_worksheet(name)
    base = {"border": 1, "border_color": _LINE, "text_wrap": True, "valign": "top"}
    bold = book.add_format({**base, "bold": True, "bg_color": _HEAD})
    plain = book.add_format(base)
    # a zero in a table of jobs is noise
    number = book.add_format({**base, "num_format": "0;-0;;@", "align": "center"})
    for column, (text, width) in enumerate(head):
        page.set_column(column, column, width)
        page.write_string(0, column, text, bold)
    for place, row in enumerate(rows, 1):
        page.set_row(place, ROW_HEIGHT * _lines(row, [width for _, width in head]))
        for column, cell in enumerate(row):
            if isinstance(cell, str):
                page.write_string(place, column, cell, plain)
            else:
                page.write_number(place, column, cell, number)
    if not rows:
        page.write_string(1, 0, "Nothing.")
    page.freeze_panes(1, 0)
    page.hide_gridlines(2)
    page.set_landscape()
    page.fit_to_pages(1, 0)
    page.repeat_rows(0)
    page.set_footer(f"&L{name}&RPage &P of &N")


def _lines(row: Row, widths: Sequence[int]) -> int:
    """How many lines the fullest cell of a row takes; the file has to say how high a row is."""
    pairs = zip(map(str, row), widths, strict=True)
    return max(
        sum(math.ceil(max(len(line), 1) * 1.15 / width) for line in text.split("\n"))
        for text, width in pairs
    )
