"""A lesson as its notebook opens it: shows case and questions, and says what an answer is."""

from __future__ import annotations

from rebuildbook.lessons.exercise import Exercise
from rebuildbook.lessons.judge import Judgement, State, judge, labels
from rebuildbook.lessons.lesson import Lesson
from rebuildbook.lessons.numbers import LONGEST_NAME
from rebuildbook.lessons.registry import lesson_named
from rebuildbook.lessons.show import Shown

_SAID: dict[State, str] = {
    "right": "✓ Right",
    "slip": "✗ Not yet",
    "wrong": "✗ Not yet",
    "not answered": "– Not answered yet",
    "unclear": "? This cannot be taken as an answer",
}
_HOW = {
    "quantity": "Answer with a number and its unit.",
    "choice": "Answer with the letter of one.",
    "order": "Answer with all of them in order, with commas between.",
}


def open_lesson(name: str, learner: str = "") -> OpenLesson:
    """Open a lesson with the numbers of ``learner``; without a name, those of the hand-out."""
    if not isinstance(learner, str):
        raise TypeError(f'learner is {learner!r}; write your name in quotes, as learner = "Ana"')
    if len(learner) > LONGEST_NAME:
        raise ValueError(f"a learner's name has no more than {LONGEST_NAME} characters")
    return OpenLesson(lesson_named(name), learner)


class OpenLesson:
    """An open lesson: every method gives something for the notebook to show."""

    def __init__(self, lesson: Lesson, learner: str) -> None:
        self.lesson = lesson
        self.learner = learner
        self._judged: dict[str, Judgement] = {}

    def able(self) -> Shown:
        """Show what one can do after the lesson, and how long it takes."""
        return Shown(
            f"{self.lesson.minutes} minutes. Afterwards you can",
            items=[("–", text) for text in self.lesson.able],
        )

    def case(self) -> Shown:
        """Show the case, and the caution that goes with it."""
        caution = [f"Caution: {self.lesson.caution}"] if self.lesson.caution else []
        return Shown("The case", [*self.lesson.case.split("\n\n"), *caution])

    def ask(self, exercise: str) -> Shown:
        """Show a question with the learner's numbers in it."""
        try:
            one = self.lesson.exercise(exercise)
        except LookupError as problem:
            return Shown(str(problem.args[0]))
        points = f"{one.points} point{'' if one.points == 1 else 's'}"
        text = one.ask(one.numbers(self.learner))
        return Shown(f"{one.id} ({points})", [*text.split("\n\n"), how_to_answer(one)], listed(one))

    def answer(self, exercise: str, text: str) -> Shown:
        """Say what an answer is worth and why."""
        try:
            one = self.lesson.exercise(exercise)
        except LookupError as problem:
            return Shown(str(problem.args[0]))
        if not isinstance(text, str):
            text = str(text)
        found = judge(one, one.numbers(self.learner), text)
        self._judged[one.id] = found
        if found.state == "not answered":
            told = "Type your answer between the quotes of this cell, then press Shift and Enter."
            return Shown(f"{one.id}: {_SAID[found.state]}", [told])
        read = f"Read as {found.read}." if found.read else ""
        return Shown(
            f"{one.id}: {_SAID[found.state]}",
            [line for line in (read, found.text) if line],
            strong=found.state == "right",
        )

    def so_far(self) -> Shown:
        """Show the points of all answers given so far."""
        rows = [("Exercise", "Points", "")]
        for one in self.lesson.exercises:
            found = self._judged.get(one.id)
            state = _SAID[found.state if found else "not answered"]
            rows.append((one.id, f"{found.points if found else 0} of {one.points}", state))
        return Shown(f"So far: {self.points} of {self.lesson.points} points", rows=rows)

    def take_away(self) -> Shown:
        """Show what to keep of the lesson."""
        return Shown("To take away", items=[("–", text) for text in self.lesson.take])

    @property
    def points(self) -> int:
        """The points of all answers given so far."""
        return sum(found.points for found in self._judged.values())


def listed(exercise: Exercise) -> list[tuple[str, str]]:
    """Give an exercise's options with their letters, to show below the question."""
    names = labels(exercise)
    if names == exercise.options:
        told = exercise.kind == "choice"  # what is to be put in order stands in the question
        return [("–", ", ".join(exercise.options))] if told else []
    return [(f"{name})", option) for name, option in zip(names, exercise.options, strict=True)]


def how_to_answer(exercise: Exercise) -> str:
    """Say in what form the answer is wanted."""
    if exercise.options and labels(exercise) == exercise.options and exercise.kind == "choice":
        return "Answer with one of these words."
    return _HOW[exercise.kind]
