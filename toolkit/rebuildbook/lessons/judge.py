"""Judge one answer as it was written: right, a known slip, wrong, or not readable."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from rebuildbook.lessons.exercise import Answer, Exercise
from rebuildbook.lessons.numbers import Numbers
from rebuildbook.units import DIMENSIONS, UnitProblem, parse_amount, shop_unit, show, shown_unit
from rebuildbook.units.parse import dimension_of

State = Literal["right", "slip", "wrong", "not answered", "unclear"]
LONGEST = 200  # characters of an answer
_HINTS = {
    "quantity": "Go through it again step by step, with the unit beside every number.",
    "choice": "Read the case and the question again, and ask of each one what speaks against it.",
    "order": "Ask of each pair which of the two has to come first, and why.",
}


class Unclear(ValueError):  # noqa: N818  (an answer to the learner, not a fault)
    """An answer that cannot be taken as one: the ``reason`` for the table, the message to show."""

    def __init__(self, reason: str, message: str) -> None:
        super().__init__(message)
        self.reason = reason


@dataclass(frozen=True, slots=True)
class Judgement:
    """What an answer is worth: ``points``, a short ``reason``, how it was read, what to say."""

    state: State
    points: int
    reason: str
    read: str
    text: str


def judge(exercise: Exercise, numbers: Numbers, text: str) -> Judgement:
    """Judge an answer with the learner's numbers."""
    if not text.strip():
        return Judgement("not answered", 0, "not answered", "", "Not answered yet.")
    try:
        given = read_answer(exercise, text)
    except Unclear as problem:
        return Judgement("unclear", 0, problem.reason, "", str(problem))
    read = shown(exercise, given)
    if any(exercise.same(given, right) for right in exercise.rights(numbers)):
        return Judgement("right", exercise.points, "right", read, exercise.why(numbers))
    for slip, value in exercise.slips(numbers):
        if exercise.same(given, value):
            return Judgement("slip", 0, f"slip: {slip.name}", read, slip.hint)
    return Judgement("wrong", 0, "wrong", read, exercise.hint or _HINTS[exercise.kind])


def read_answer(exercise: Exercise, text: str) -> Answer:
    """Read an answer in the exercise's terms; Unclear with what to write instead."""
    if len(text) > LONGEST:
        raise Unclear("too long", f"An answer has no more than {LONGEST} characters.")
    if exercise.kind == "quantity":
        return _quantity(exercise, text)
    if exercise.kind == "choice":
        return _choice(exercise, text)
    return _order(exercise, text)


def labels(exercise: Exercise) -> tuple[str, ...]:
    """Give what stands before each option: letters, or nothing where options are that short."""
    if all(len(option) <= 3 and option.isalnum() for option in exercise.options):
        return exercise.options
    return tuple("abcdefghijklmnopqrstuvwxyz"[: len(exercise.options)])


def shown(exercise: Exercise, answer: Answer) -> str:
    """Write an answer for people: a quantity in both systems, options with their letters.

    An answer in metric and US units; four figures, so that nobody marks against a rounded value.
    """
    if isinstance(answer, float | int):
        if exercise.dimension in {"fraction", "number"}:
            return show(answer, DIMENSIONS[exercise.dimension].metric[0], 4)
        units = [shop_unit(exercise.dimension, system, answer) for system in ("metric", "us")]
        if exercise.only:
            units = [exercise.only, *(unit for unit in units if unit != exercise.only)]
        both = [show(answer, unit, 4) for unit in dict.fromkeys(units)][:2]
        kind = f" ({exercise.reference})" if exercise.reference else ""
        return " = ".join(both) + kind
    named = dict(zip(exercise.options, labels(exercise), strict=True))
    if isinstance(answer, str):
        return answer if named[answer] == answer else f"{named[answer]}) {answer}"
    return ", ".join(named[one] for one in answer)


def _quantity(exercise: Exercise, text: str) -> float:
    kind = DIMENSIONS[exercise.dimension]
    try:
        amount = parse_amount(text, exercise.dimension, allow=("single",))
    except UnitProblem as problem:
        raise Unclear(_what_is_wrong(exercise, text), _sentence(str(problem))) from None
    asked = exercise.reference
    if asked and amount.reference not in {"", asked}:
        message = f"The question asks for {kind.named} as {asked}; {text!r} is not one."
        raise Unclear(f"not {asked}", message)
    if exercise.only and amount.unit != exercise.only:
        wanted = shown_unit(exercise.only)
        raise Unclear(f"not in {wanted}", f"The question asks for it in {wanted}.")
    return amount.nominal


def _what_is_wrong(exercise: Exercise, text: str) -> str:
    kind = DIMENSIONS[exercise.dimension]
    if _reads(text, "", exercise.dimension):
        return "not a single value"
    if kind.metric[0] and _reads(text, kind.metric[0], exercise.dimension):
        return "no unit"
    try:
        dimension_of(text)
    except UnitProblem:
        return "cannot be read"
    return f"not {kind.named}"


def _reads(text: str, unit: str, dimension: str) -> bool:
    try:
        parse_amount(f"{text} {unit}", dimension)
    except UnitProblem:
        return False
    return True


def _sentence(text: str) -> str:
    return text if text.endswith(".") else text + "."


def _choice(exercise: Exercise, text: str) -> str:
    wanted = _plain(text)
    known = {_plain(option): option for option in exercise.options}
    for label, option in zip(labels(exercise), exercise.options, strict=True):
        known.setdefault(label.casefold(), option)
    found = known.get(wanted) or known.get(wanted.strip("(). "))
    if found is None:
        offered = ", ".join(labels(exercise))
        raise Unclear("none of the choices", f"Write one of {offered}.")
    return found


def _order(exercise: Exercise, text: str) -> tuple[str, ...]:
    known = {_plain(option): option for option in exercise.options}
    for label, option in zip(labels(exercise), exercise.options, strict=True):
        known.setdefault(label.casefold(), option)
    wanted = _plain(text)
    splits = (r"\s*[,;>→]\s*", r"[\s,;>→\-]+", "")
    for split in splits:
        pieces = [one for one in (re.split(split, wanted) if split else list(wanted)) if one]
        found = tuple(known[one] for one in pieces if one in known)
        if len(found) == len(pieces) and sorted(found) == sorted(exercise.options):
            return found
    example = ", ".join(sorted(labels(exercise), reverse=True)[:3])
    message = f"Name each of the {len(exercise.options)} once, with commas, as {example} …"
    raise Unclear("not each of them once", message)


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())
