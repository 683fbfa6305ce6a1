"""Marks as CSV that a spreadsheet opens without running anything that was written in it."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from rebuildbook.lessons.marking import Marked, totals

COLUMNS = ("file", "learner", "lesson", "exercise", "answer", "mark", "of", "reason")
_FORMULA = ("=", "+", "-", "@", "＝", "＋", "－", "＠")


def marks_csv(marked: Sequence[Marked]) -> bytes:
    """Write every row, the sum of each notebook, and at the end the sum of each learner."""
    rows: list[Sequence[object]] = []
    for one in marked:
        start = (one.file, one.learner, one.lesson)
        rows += [
            (*start, row.exercise, row.answer, row.mark, row.of, row.reason) for row in one.rows
        ]
        if one.readable:
            rows.append((*start, "sum", "", one.mark, one.of, ""))
    rows += [
        ("", one.learner, f"{one.lessons} in all", "sum", "", one.mark, one.of, one.note)
        for one in totals(marked)
    ]
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(COLUMNS)
    writer.writerows([harmless(cell) for cell in row] for row in rows)
    return text.getvalue().encode("utf-8-sig")


def harmless(cell: object) -> object:
    """Put an apostrophe before text that a spreadsheet would take for a formula.

    >>> harmless("=1+1"), harmless(" -2 N"), harmless("18 N*m"), harmless(-1)
    ("'=1+1", "' -2 N", '18 N*m', -1)
    """
    if cell is None:
        return ""
    if isinstance(cell, str) and cell.lstrip().startswith(_FORMULA):
        return f"'{cell}"
    return cell
