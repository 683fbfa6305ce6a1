"""Read a notebook that was sent in, as data: nothing of it is run, and only three things are taken.

They are the plain text of ``learner = "…"``, of ``lesson = open_lesson("…", …)`` and of each
``lesson.answer("…", "…")``. Outputs and metadata are not looked at.
"""

from __future__ import annotations

import ast
import json
import re
import warnings
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from rebuildbook.lessons.numbers import LONGEST_NAME

MOST_BYTES = 8_000_000
MOST_CODE = 400_000  # characters of the cells that are parsed; a lesson has some thousands
_MOST_CELL = 20_000
_WORDS = ("learner", "lesson")
_SETS = re.compile(r"^(learner|lesson)\s*=", re.MULTILINE)
_NAMED = re.compile(r"""lesson\s*\.\s*answer\s*\(\s*["']([\w-]{1,60})["']""")


class Unreadable(ValueError):  # noqa: N818  (an answer to the teacher, not a fault)
    """A file that cannot be marked, with the one reason."""


@dataclass(frozen=True, slots=True)
class Given:
    """What stands for one exercise: its text, or a ``problem`` where it is no plain text."""

    exercise: str
    text: str
    problem: str = ""


@dataclass(frozen=True, slots=True)
class Submission:
    """A notebook as sent in: the learner's name, the lesson's, and the answers in order."""

    learner: str
    lesson: str
    given: tuple[Given, ...]


@dataclass(slots=True)
class _Found:
    """What the cells say, as it is gathered."""

    learners: list[str] = field(default_factory=list)
    lessons: list[str] = field(default_factory=list)
    given: list[Given] = field(default_factory=list)


def read_submission(data: bytes) -> Submission:
    """Read the bytes of a notebook; raises Unreadable with the reason.

    >>> cell = '{"cell_type": "code", "source": "learner = \\\\"Ana\\\\""}'
    >>> read_submission(('{"cells": [' + cell + ']}').encode())
    Traceback (most recent call last):
    ...
    rebuildbook.lessons.submission.Unreadable: opens no lesson: the cell that does is missing
    """
    found = _Found()
    for source in _sources(_document(data)):
        _take(source, found)
    if not found.learners:
        raise Unreadable("gives no learner: the cell that does is missing")
    # a runner that fills in the name leaves the empty one above it
    learner = _only([name for name in found.learners if name.strip()] or [""], "learner's name")
    if not found.lessons:
        raise Unreadable("opens no lesson: the cell that does is missing")
    if len(learner) > LONGEST_NAME:
        raise Unreadable(f"the learner's name is longer than {LONGEST_NAME} characters")
    return Submission(learner, _only(found.lessons, "lesson"), tuple(found.given))


def _only(values: list[str], what: str) -> str:
    if len(set(values)) > 1:
        raise Unreadable(f"gives more than one {what}; leave one of them")
    return values[0]


def _document(data: bytes) -> Any:
    if len(data) > MOST_BYTES:
        raise Unreadable(f"is larger than {MOST_BYTES // 1_000_000} MB; clear its outputs")
    if not data.strip():
        raise Unreadable("is empty")
    try:
        return json.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise Unreadable("is not a notebook: it is not text") from None
    except RecursionError:
        raise Unreadable("is not a notebook: it is nested too deeply") from None
    except json.JSONDecodeError as problem:
        raise Unreadable(f"is not a notebook: its line {problem.lineno} is broken") from None
    except (ValueError, MemoryError):
        raise Unreadable("is not a notebook: it cannot be read") from None


def _sources(document: Any) -> Iterator[str]:
    """The text of the code cells that could say one of the three things."""
    cells = document.get("cells") if isinstance(document, dict) else None
    if not isinstance(cells, list):
        raise Unreadable("is not a notebook: it has no cells")
    total = 0
    for cell in cells:
        if not isinstance(cell, dict) or cell.get("cell_type") != "code":
            continue
        source = cell.get("source")
        if isinstance(source, list) and all(isinstance(line, str) for line in source):
            source = "".join(source)
        if not isinstance(source, str) or not any(word in source for word in _WORDS):
            continue
        total += len(source)
        if len(source) > _MOST_CELL or total > MOST_CODE:
            raise Unreadable("has far more code than a lesson")
        yield source


def _take(source: str, found: _Found) -> None:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            body = ast.parse(source).body
    except (SyntaxError, ValueError, RecursionError, MemoryError) as problem:
        _take_broken(source, getattr(problem, "lineno", None), found)
        return
    plain: set[int] = set()
    for statement in body:
        plain |= _take_statement(statement, found)
    for statement in body:
        for node in ast.walk(statement):
            if isinstance(node, ast.Call) and id(node) not in plain and _is_answer(node):
                name = _text(node.args[0]) if node.args else None
                problem_text = "not a plain line of its own"
                found.given.append(Given(name or "", "", problem_text))


def _take_broken(source: str, line: int | None, found: _Found) -> None:
    where = f" (line {line})" if line else ""
    if _SETS.search(source):
        raise Unreadable(f"its cell with the name or the lesson cannot be read{where}")
    names = _NAMED.findall(source)
    found.given.extend(Given(name, "", f"the cell cannot be read{where}") for name in names)


def _take_statement(statement: ast.stmt, found: _Found) -> set[int]:
    """Take what one statement of a cell says; gives the calls that were taken."""
    if isinstance(statement, ast.Assign):
        names = [target.id for target in statement.targets if isinstance(target, ast.Name)]
        if "learner" in names:
            found.learners.append(_learner(statement.value))
        if "lesson" in names:
            found.lessons.append(_lesson(statement.value))
    elif isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Call):
        call = statement.value
        if _is_answer(call):
            found.given.append(_given(call))
            return {id(call)}
    return set()


def _learner(value: ast.expr) -> str:
    text = _text(value)
    if text is None:
        raise Unreadable("the learner's name is not a plain text in quotes")
    return text


def _lesson(value: ast.expr) -> str:
    called = isinstance(value, ast.Call) and isinstance(value.func, ast.Name)
    if called and value.func.id == "open_lesson" and value.args:  # type: ignore[attr-defined]
        text = _text(value.args[0])  # type: ignore[attr-defined]
        if text is not None:
            return text
    raise Unreadable("the cell that opens the lesson was changed; its name is no plain text")


def _is_answer(call: ast.Call) -> bool:
    func = call.func
    return (
        isinstance(func, ast.Attribute)
        and func.attr == "answer"
        and isinstance(func.value, ast.Name)
        and func.value.id == "lesson"
    )


def _given(call: ast.Call) -> Given:
    named = {one.arg: one.value for one in call.keywords}
    values = [*call.args, *(named[key] for key in ("exercise", "text")[len(call.args) :]
                            if key in named)]  # fmt: skip
    exercise = _text(values[0]) if values else None
    if exercise is None:
        return Given("", "", "names no exercise in quotes")
    text = _text(values[1], numbers=True) if len(values) == 2 else None
    if text is None:
        return Given(exercise, "", "not a plain text in quotes")
    return Given(exercise, text)


def _text(value: ast.expr, *, numbers: bool = False) -> str | None:
    """The text of a literal; a bare number as the notebook would take it, where ``numbers``."""
    if not isinstance(value, ast.Constant):
        return None
    if isinstance(value.value, str):
        return value.value
    plain = isinstance(value.value, int | float) and not isinstance(value.value, bool)
    if numbers and plain:
        try:
            return str(value.value)
        except ValueError:  # an integer too long to be written
            return None
    return None
