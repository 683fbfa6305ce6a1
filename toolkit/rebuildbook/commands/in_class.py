"""The command lines of the lessons: handout, mark. Heavy imports stay inside them."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from rebuildbook.commands.answer import answer, stop

Learner = Annotated[
    list[str] | None,
    typer.Option(
        "--learner", metavar="NAME", help="Whose numbers; else those of the printed hand-out."
    ),
]
PaperSize = Annotated[str, typer.Option(metavar="a4|letter", help="Paper of a PDF.")]


def add_to(app: typer.Typer) -> None:
    """Add these commands to the program's."""
    for command in (handout, mark):
        app.command()(command)


def handout(
    lesson: Annotated[str, typer.Argument(metavar="LESSON", help="As units-and-wrenches.")],
    *,
    learners: Learner = None,
    paper: PaperSize = "a4",
    out: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Its name; else lesson-<number>-<name>.pdf.")
    ] = None,
) -> None:
    """Write a lesson on paper: the case, the questions, room to write; no answers.

    With --learner, which may be given several times, one after the other for each.
    """
    from rebuildbook.commands.handout import write_handout  # noqa: PLC0415

    answer(lambda: write_handout(lesson, learners or [], paper, out))


def mark(
    folder: Annotated[
        Path | None, typer.Argument(metavar="FOLDER", help="Lesson notebooks as they came in.")
    ] = None,
    *,
    answers: Annotated[
        str | None,
        typer.Option(metavar="LESSON", help="Instead: the answers of a lesson, with reasons."),
    ] = None,
    learner: Annotated[
        str, typer.Option(metavar="NAME", help="Whose answers; else those of the hand-out.")
    ] = "",
    paper: PaperSize = "a4",
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="Also a table (.csv); of answers, a paper (.pdf) or text (.txt)."
        ),
    ] = None,
) -> None:
    """Mark lesson notebooks without running them: every mark is worked out afresh."""
    from rebuildbook.commands.mark import lesson_answers, mark_notebooks  # noqa: PLC0415

    if (folder is None) == (answers is None):
        stop("give a FOLDER of notebooks to mark, or --answers LESSON")
    if folder is None:
        answer(lambda: lesson_answers(answers or "", learner, paper, out))
    else:
        answer(lambda: mark_notebooks(folder, out))
