"""One exercise: its question, what is right, and what each usual mistake gives.

Everything is a function of the learner's `Numbers`. The right answer is worked out by the
toolkit's calculators; a slip is what a usual mistake gives with the same numbers, with its hint.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal

from rebuildbook.lessons.numbers import Draws, Numbers, draw, normalised
from rebuildbook.units import DIMENSIONS

Answer = float | str | tuple[str, ...]
Kind = Literal["quantity", "choice", "order"]
Reference = Literal["", "gauge", "absolute"]

MOST_TOLERANCE = 0.1
_ATTEMPTS = 400


@dataclass(frozen=True, slots=True)
class Slip:
    """A usual mistake: its ``name`` for the teacher, what it gives, and the ``hint`` for it.

    ``value`` gives the answer of the mistake: SI for a quantity, an option for a choice, a tuple
    of options for an order; None where these numbers leave no room for the mistake.
    """

    name: str
    value: Callable[[Numbers], Answer | None]
    hint: str


@dataclass(frozen=True, slots=True, eq=False)
class Exercise:
    """One exercise of a lesson.

    ``draws`` are the values each number or word is drawn from. ``right`` and slips of a quantity
    are SI floats of ``dimension`` (a name in ``units.DIMENSIONS``), right within the relative
    ``tolerance``; ``reference`` says gauge or absolute where the question asks for one, ``only``
    the one unit an answer may be in, as "N*m", where converting is what is asked. A choice is one
    of ``options``, an order all of them; ``ask`` need not list them. ``also`` gives other right
    choices or orders. ``why`` is said when the answer is right, and to the teacher; ``hint`` when
    it is wrong in a way that is none of the slips, where there is more to say than usual.
    ``sound`` refuses numbers that make no sense together.
    """

    id: str
    kind: Kind
    ask: Callable[[Numbers], str]
    right: Callable[[Numbers], Answer]
    why: Callable[[Numbers], str]
    draws: Draws
    wrong: tuple[Slip, ...] = ()
    dimension: str = ""
    tolerance: float = 0.02
    reference: Reference = ""
    only: str = ""
    options: tuple[str, ...] = ()
    also: Callable[[Numbers], tuple[Answer, ...]] = lambda _: ()
    sound: Callable[[Numbers], bool] = lambda _: True
    points: int = 1
    hint: str = ""

    def __post_init__(self) -> None:
        if self.kind == "quantity":
            if self.dimension not in DIMENSIONS or self.options:
                raise ValueError(f"{self.id}: a quantity has a dimension, and no options")
            if not 0.0 < self.tolerance <= MOST_TOLERANCE:
                raise ValueError(f"{self.id}: tolerance {self.tolerance:g}; 0 to {MOST_TOLERANCE}")
        elif self.dimension or not 2 <= len(set(self.options)) == len(self.options) <= 26:
            raise ValueError(f"{self.id}: wanted 2 to 26 different options, and no dimension")
        names = [slip.name for slip in self.wrong]
        if len(set(names)) < len(names) or self.points < 1:
            raise ValueError(f"{self.id}: slips need names of their own, and points are 1 or more")

    def numbers(self, learner: str) -> Numbers:
        """Give the learner's numbers: the first draw that parts right and every slip.

        Raises ValueError where no draw does: the exercise is at fault.
        """
        return _drawn(self, normalised(learner))

    def slips(self, numbers: Numbers) -> Iterator[tuple[Slip, Answer]]:
        """Give the slips that these numbers have room for, with what each gives."""
        for slip in self.wrong:
            value = slip.value(numbers)
            if value is not None:
                yield slip, value

    def rights(self, numbers: Numbers) -> tuple[Answer, ...]:
        """Give every answer that is right, the one to show first."""
        return self.right(numbers), *self.also(numbers)

    def same(self, one: Answer, other: Answer) -> bool:
        """Whether two answers count as the same, ``one`` given and ``other`` worked out."""
        if isinstance(one, float | int) and isinstance(other, float | int):
            return abs(one - other) <= self.tolerance * abs(other) * (1 + 1e-9)
        return one == other


@functools.lru_cache(maxsize=8192)
def _drawn(exercise: Exercise, learner: str) -> Numbers:
    for attempt in range(_ATTEMPTS):
        numbers = draw(learner, exercise.id, exercise.draws, attempt)
        if exercise.sound(numbers) and parted(exercise, numbers):
            return numbers
    raise ValueError(f"{exercise.id}: no numbers part the right answer from the slips")


def parted(exercise: Exercise, numbers: Numbers) -> bool:
    """Whether right answers and slips lie so far apart that no answer could be two of them."""
    rights = exercise.rights(numbers)
    slips = [value for _, value in exercise.slips(numbers)]
    apart = all(_apart(exercise, slip, right) for slip in slips for right in rights) and all(
        _apart(exercise, slips[i], slips[j]) for i in range(len(slips)) for j in range(i)
    )
    return apart and all(_usable(exercise, value) for value in (*rights, *slips))


def _apart(exercise: Exercise, one: Answer, other: Answer) -> bool:
    if isinstance(one, float | int) and isinstance(other, float | int):
        return abs(one - other) > exercise.tolerance * (abs(one) + abs(other)) * (1 + 1e-6)
    return one != other


def _usable(exercise: Exercise, value: Answer) -> bool:
    """Whether a value is one the learner could give; zero has no relative tolerance."""
    if exercise.kind == "quantity":
        return isinstance(value, float | int) and math.isfinite(value) and value != 0
    if exercise.kind == "choice":
        return value in exercise.options
    return isinstance(value, tuple) and sorted(value) == sorted(exercise.options)
