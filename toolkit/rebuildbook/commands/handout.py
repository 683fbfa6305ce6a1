"""``rebuildbook handout``: a lesson on paper."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rebuildbook.commands import Refused
from rebuildbook.lessons.handout import Paper, handout_pdf
from rebuildbook.lessons.lesson import Lesson
from rebuildbook.lessons.numbers import LONGEST_NAME
from rebuildbook.lessons.registry import lesson_named
from rebuildbook.record.whole_file import write_whole


def write_handout(name: str, learners: Sequence[str], paper: str, out: Path | None) -> str:
    """Write a lesson's hand-out as PDF, one for each learner; gives the line that says so."""
    lesson = checked(name, learners)
    path = out or Path(f"lesson-{lesson.number}-{lesson.name}.pdf")
    if path.suffix.lower() != ".pdf":
        raise Refused(f"--out {path}: wanted a name that ends in .pdf")
    write_out(path, handout_pdf(lesson, learners or [""], paper_of(paper)))
    return f"{path} written"


def checked(name: str, learners: Sequence[str]) -> Lesson:
    """Give the lesson of that name; refused where it is none, or a learner's name is too long."""
    for learner in learners:
        if len(learner) > LONGEST_NAME:
            raise Refused(f"--learner: a name has no more than {LONGEST_NAME} characters")
    try:
        return lesson_named(name)
    except LookupError as problem:
        raise Refused(str(problem.args[0])) from None


def paper_of(name: str) -> Paper:
    """Give the paper of that name; refused where it is none."""
    if name == "a4":
        return "a4"
    if name == "letter":
        return "letter"
    raise Refused(f"--paper {name}: wanted a4 or letter")


def write_out(path: Path, data: bytes) -> None:
    """Write a file whole, over what was there; refused where it cannot be."""
    try:
        write_whole(path, data, over=True)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise Refused(f"--out {path}: cannot be written: {reason}") from None
