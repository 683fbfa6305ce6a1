"""Lesson notebooks as they are handed out, and filled in as a learner would."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from rebuildbook.lessons.exercise import Answer, Exercise
from rebuildbook.lessons.judge import labels
from rebuildbook.lessons.lesson import Lesson
from rebuildbook.lessons.registry import LESSONS
from rebuildbook.units import DIMENSIONS, shop_unit, to_unit

FOLDER = Path(__file__).resolve().parents[2] / "notebooks" / "lessons"


def written(exercise: Exercise, answer: Answer, system: str = "metric") -> str:
    """An answer as a learner of either system would write it, to five figures."""
    if isinstance(answer, float | int):
        kind = DIMENSIONS[exercise.dimension]
        unit = exercise.only or (
            kind.metric[0] if kind.si == "" else shop_unit(exercise.dimension, system, answer)
        )
        return f"{to_unit(answer, unit):.5g} {unit}"
    named = dict(zip(exercise.options, labels(exercise), strict=True))
    return named[answer] if isinstance(answer, str) else ", ".join(named[one] for one in answer)


def solution(lesson: Lesson, learner: str, system: str = "metric") -> dict[str, str]:
    """Every right answer of a learner, written out."""
    return {
        one.id: written(one, one.right(one.numbers(learner)), system) for one in lesson.exercises
    }


def blank(lesson: Lesson) -> dict:
    """The notebook as it is handed out."""
    path = FOLDER / f"{lesson.number}-{lesson.name}.ipynb"
    return json.loads(path.read_text(encoding="utf-8"))


def filled(lesson: Lesson, learner: str, answers: dict[str, str]) -> dict:
    """The notebook with name and answers put between the quotes, and nothing else changed."""
    notebook = blank(lesson)
    for cell in notebook["cells"]:
        text = "".join(cell["source"])
        if cell["metadata"].get("tags") == ["parameters"]:
            assert 'learner = ""' in text
            text = text.replace('learner = ""', f"learner = {learner!r}")
        for name, answer in answers.items():
            text = text.replace(
                f'lesson.answer("{name}", "")', f'lesson.answer("{name}", {answer!r})'
            )
        cell["source"] = text
    return notebook


@pytest.fixture(params=list(LESSONS))
def lesson(request) -> Lesson:
    return LESSONS[request.param]


@pytest.fixture
def write_out() -> Callable[..., str]:
    return written


@pytest.fixture
def solve() -> Callable[..., dict[str, str]]:
    return solution


@pytest.fixture
def handed_out() -> Callable[[Lesson], dict]:
    return blank


@pytest.fixture
def fill() -> Callable[..., dict]:
    return filled
