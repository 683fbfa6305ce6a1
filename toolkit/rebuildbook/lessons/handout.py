"""A lesson on paper: case, questions with the learner's numbers, room to write; or its answers.

Set by Typst from the same texts as the notebook. Text travels as JSON data and is never read as
markup. The answers are a paper of their own, for the teacher.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Sequence
from importlib import resources
from pathlib import Path
from typing import Any, Literal

import matplotlib as mpl
import typst

from rebuildbook.lessons.exercise import Exercise
from rebuildbook.lessons.judge import shown
from rebuildbook.lessons.lesson import Lesson
from rebuildbook.lessons.marking import shown as one_line
from rebuildbook.lessons.notebook import how_to_answer, listed
from rebuildbook.worksheet.document import printable

Paper = Literal["a4", "letter"]


def handout_pdf(
    lesson: Lesson, learners: Sequence[str] = ("",), paper: Paper = "a4", *, answers: bool = False
) -> bytes:
    """Set the hand-out, one for each of ``learners``; the same lesson gives the same bytes.

    ``answers`` sets the teacher's paper instead: the same questions with answer and reasoning.
    """
    document = {
        "paper": paper,
        "answers": answers,
        "number": lesson.number,
        "title": lesson.title,
        "minutes": lesson.minutes,
        "able": lesson.able,
        "case": lesson.case.split("\n\n"),
        "caution": lesson.caution,
        "take": lesson.take,
        "sheets": [_sheet(lesson, learner, answers) for learner in learners],
    }
    with tempfile.TemporaryDirectory(prefix="rebuildbook-") as folder:
        place = Path(folder)
        text = json.dumps(document, ensure_ascii=False)
        (place / "handout.json").write_text(text, encoding="utf-8", errors="replace")
        template = resources.files("rebuildbook.lessons") / "templates" / "handout.typ"
        (place / "handout.typ").write_text(template.read_text(encoding="utf-8"), encoding="utf-8")
        made: bytes = typst.compile(
            str(place / "handout.typ"),
            root=str(place),
            font_paths=[str(Path(mpl.get_data_path()) / "fonts" / "ttf")],
            ignore_system_fonts=True,
            timestamp=0,
        )
        return made


def _sheet(lesson: Lesson, learner: str, answers: bool) -> dict[str, Any]:
    return {
        "learner": one_line(learner),
        "exercises": [_question(one, learner, answers) for one in lesson.exercises],
    }


def _question(exercise: Exercise, learner: str, answers: bool) -> dict[str, Any]:
    numbers = exercise.numbers(learner)
    asked: dict[str, Any] = {
        "id": exercise.id,
        "kind": exercise.kind,
        "points": exercise.points,
        "text": [printable(part).split("\n") for part in exercise.ask(numbers).split("\n\n")],
        "options": listed(exercise),
        "how": how_to_answer(exercise),
    }
    if answers:
        asked["answer"] = " or ".join(shown(exercise, one) for one in exercise.rights(numbers))
        asked["why"] = exercise.why(numbers)
        asked["slips"] = [
            (shown(exercise, value), slip.name) for slip, value in exercise.slips(numbers)
        ]
    return asked


def answers_text(lesson: Lesson, learner: str) -> str:
    """Give the teacher's answers as plain text: question, answer, reasoning, usual slips."""
    name = one_line(learner) or "the printed hand-out"
    lines = [f"Lesson {lesson.number}: {lesson.title}. Answers for {name}", ""]
    for exercise in lesson.exercises:
        told = _question(exercise, learner, answers=True)
        lines.append(f"{exercise.id} ({exercise.points}): {told['answer']}")
        lines += [f"  {line}" for part in told["text"] for line in part]
        lines += [f"  {label} {text}" for label, text in told["options"]]
        lines.append(f"  Because: {told['why']}")
        lines += [f"  Slip: {value}: {slip}" for value, slip in told["slips"]]
        lines.append("")
    return "\n".join(lines)
