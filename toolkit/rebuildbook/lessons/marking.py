"""Work marks out afresh from the learner's name and the answers as they were written."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from rebuildbook.lessons.exercise import Exercise
from rebuildbook.lessons.judge import judge
from rebuildbook.lessons.numbers import normalised
from rebuildbook.lessons.registry import lesson_named
from rebuildbook.lessons.submission import Given, Submission, Unreadable, read_submission
from rebuildbook.worksheet.document import printable

NO_NAME = "(no name)"
_LONGEST = 80  # characters shown of a name or an answer
_MOST_NAMED = 5


@dataclass(frozen=True, slots=True)
class Row:
    """One exercise of a notebook: what was answered, the mark of how many, and why."""

    exercise: str
    answer: str
    mark: int | None
    of: int | None
    reason: str


@dataclass(frozen=True, slots=True)
class Marked:
    """A notebook with its marks; one that cannot be marked has one row with the reason."""

    file: str
    learner: str
    key: str
    lesson: str
    rows: tuple[Row, ...]

    @property
    def readable(self) -> bool:
        """Whether it could be marked at all."""
        return bool(self.lesson)

    @property
    def mark(self) -> int:
        """The points of the whole notebook."""
        return sum(row.mark or 0 for row in self.rows)

    @property
    def of(self) -> int:
        """The points there were."""
        return sum(row.of or 0 for row in self.rows)


@dataclass(frozen=True, slots=True)
class Total:
    """A learner's sum over lessons; None where two notebooks of one lesson do not agree."""

    learner: str
    lessons: int
    mark: int | None
    of: int | None
    note: str


def mark_file(file: str, data: bytes) -> Marked:
    """Mark one notebook; whatever is wrong with it becomes its one row."""
    try:
        submission = read_submission(data)
    except Unreadable as problem:
        return refused(file, str(problem))
    return mark_submission(file, submission)


def refused(file: str, reason: str) -> Marked:
    """Give the one row of a file that is not marked."""
    return Marked(shown(file), "", "", "", (Row("", "", None, None, reason),))


def mark_submission(file: str, submission: Submission) -> Marked:
    """Mark what was read of one notebook."""
    try:
        lesson = lesson_named(submission.lesson)
    except LookupError as problem:
        return refused(file, shown(str(problem.args[0]), 160))
    by_exercise: dict[str, list[Given]] = {one.id: [] for one in lesson.exercises}
    strange = []
    for given in submission.given:
        if given.exercise in by_exercise:
            by_exercise[given.exercise].append(given)
        else:
            strange.append(given)
    rows = [
        _row(lesson.exercise(named), given, submission.learner)
        for named, given in by_exercise.items()
    ]
    if strange:
        rows.append(_strange(strange))
    key = normalised(submission.learner)
    learner = (shown(submission.learner) or NO_NAME) if key else NO_NAME
    return Marked(shown(file), learner, key, lesson.name, tuple(rows))


def _row(exercise: Exercise, given: Sequence[Given], learner: str) -> Row:
    """Mark one exercise; answers left empty do not count as a second one."""
    written = [one for one in given if one.problem or one.text.strip()]
    texts = {(one.text.strip(), one.problem) for one in written}
    if len(texts) > 1:
        answer = shown(" | ".join(one.text for one in written))
        return Row(
            exercise.id, answer, 0, exercise.points, "answered more than once, not alike; leave one"
        )
    if written and written[0].problem:
        return Row(exercise.id, "", 0, exercise.points, written[0].problem)
    text = written[0].text if written else ""
    found = judge(exercise, exercise.numbers(learner), text)
    return Row(exercise.id, shown(text), found.points, exercise.points, found.reason)


def _strange(given: Sequence[Given]) -> Row:
    names = list(dict.fromkeys(shown(one.exercise, 20) or "without a name" for one in given))
    more = len(names) - _MOST_NAMED
    told = ", ".join(names[:_MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
    return Row("", "", None, None, f"answers to exercises this lesson does not have: {told}")


def totals(marked: Iterable[Marked]) -> list[Total]:
    """Sum each learner's lessons; nobody's sum takes in a notebook without a name."""
    by_learner: dict[str, dict[str, list[Marked]]] = {}
    for one in marked:
        if one.readable and one.key:
            by_learner.setdefault(one.key, {}).setdefault(one.lesson, []).append(one)
    return [_total(lessons) for _, lessons in sorted(by_learner.items())]


def _total(lessons: dict[str, list[Marked]]) -> Total:
    first = [files[0] for files in lessons.values()]
    name = min(one.learner for one in first)
    doubled = [files for files in lessons.values() if len(files) > 1]
    unlike = [files for files in doubled if len({_marks(one) for one in files}) > 1]
    if unlike:
        files = ", ".join(one.file for one in unlike[0][:_MOST_NAMED])
        note = f"{len(unlike[0])} notebooks of one lesson give this name: {files}; take one out"
        return Total(name, len(lessons), None, None, note)
    note = "sent in more than once with the same marks; counted once" if doubled else ""
    mark, of = sum(one.mark for one in first), sum(one.of for one in first)
    return Total(name, len(lessons), mark, of, note)


def _marks(marked: Marked) -> tuple[int | None, ...]:
    return tuple(row.mark for row in marked.rows)


def shown(text: str, most: int = _LONGEST) -> str:
    """Text of others for a table: one line, no control or direction marks, cut where long."""
    head = printable(text[: 4 * most])
    kept = "".join(c if unicodedata.category(c) not in {"Cc", "Cf", "Cs"} else " " for c in head)
    line = " ".join(kept.split())
    return line if len(line) <= most and len(text) <= 4 * most else line[: most - 1] + "…"
