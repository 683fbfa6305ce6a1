"""``rebuildbook mark``: the marks of lesson notebooks that were sent in, and a lesson's answers."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rich.console import Console
from rich.table import Table
from rich.text import Text

from rebuildbook.commands import Refused
from rebuildbook.commands.handout import checked, paper_of, write_out
from rebuildbook.lessons.handout import answers_text, handout_pdf
from rebuildbook.lessons.inbox import NoFolder, mark_folder
from rebuildbook.lessons.marking import Marked, Row, totals
from rebuildbook.lessons.table import marks_csv

WIDE = 160  # columns where the output is no terminal


def mark_notebooks(folder: Path, out: Path | None) -> str:
    """Mark a folder of notebooks and print the table; gives the last line.

    The table is also written where ``out`` says. Raises Refused for a folder that cannot be marked
    and a file that cannot be written.
    """
    if out is not None and out.suffix.lower() != ".csv":
        raise Refused(f"--out {out}: wanted a name that ends in .csv")
    try:
        marked = mark_folder(folder)
    except NoFolder as problem:
        raise Refused(str(problem)) from None
    if out is not None:
        write_out(out, marks_csv(marked))
    console = Console(highlight=False)
    if not console.is_terminal:
        console.width = WIDE
    console.print(_rows(marked))
    console.print(_sums(marked))
    unread = sum(not one.readable for one in marked)
    told = f"{len(marked) - unread} notebook{'s' if len(marked) - unread != 1 else ''} marked"
    told += f", {unread} not" if unread else ""
    return f"{told}; {out} written" if out is not None else told


def lesson_answers(name: str, learner: str, paper: str, out: Path | None) -> str:
    """Give a lesson's answers as text, or write them: as PDF where ``out`` ends so, else text."""
    lesson = checked(name, [learner])
    if out is None:
        return answers_text(lesson, learner)
    if out.suffix.lower() == ".pdf":
        data = handout_pdf(lesson, [learner], paper_of(paper), answers=True)
    elif out.suffix.lower() == ".txt":
        data = answers_text(lesson, learner).encode("utf-8", "replace")
    else:
        raise Refused(f"--out {out}: wanted a name that ends in .pdf or .txt")
    write_out(out, data)
    return f"{out} written"


def _rows(marked: Sequence[Marked]) -> Table:
    table = _table("Learner", "Lesson", "Exercise", "Answer", "Mark", "Reason")
    for one in marked:
        start: Sequence[str] = (one.learner or one.file, one.lesson)
        for row in one.rows:
            table.add_row(*map(Text, (*start, row.exercise, row.answer, _mark(row), row.reason)))
            start = ("", "")
        if one.readable:
            table.add_row(*map(Text, ("", "", "sum", "", f"{one.mark} of {one.of}", one.file)))
    return table


def _mark(row: Row) -> str:
    return "" if row.mark is None else f"{row.mark} of {row.of}"


def _sums(marked: Sequence[Marked]) -> Table:
    table = _table("Learner", "Lessons", "Sum", "")
    for one in totals(marked):
        total = "none" if one.mark is None else f"{one.mark} of {one.of}"
        table.add_row(*map(Text, (one.learner, str(one.lessons), total, one.note)))
    return table


def _table(*names: str) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name in names:
        table.add_column(Text(name), overflow="fold")
    return table
