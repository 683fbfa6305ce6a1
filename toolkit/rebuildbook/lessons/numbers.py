"""The numbers of an exercise: each learner's own, the same on every machine.

A draw is a SHA-256 of the learner's name, the exercise, the attempt and the name of the draw; no
random generator of a library and no hash of the interpreter is in it. A name is taken without
regard to capitals, to how many spaces, and to accents written in one piece or two. No name gives
the numbers of the printed hand-out.
"""

from __future__ import annotations

import hashlib
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

Draws = Mapping[str, Sequence[float] | Sequence[str]]
_SERIES = "lesson numbers 1"  # another series would give everyone new numbers
LONGEST_NAME = 200  # characters that a notebook and its marking take


def normalised(learner: str) -> str:
    """Give the form of a name that its numbers are drawn from.

    >>> normalised("  Ana\\u00a0  MÜLLER ") == normalised("ana mu\\u0308ller")
    True
    """
    text = learner
    for _ in range(2):
        text = unicodedata.normalize("NFKC", text).casefold()
    text = unicodedata.normalize("NFKC", text)
    kept = (" " if c.isspace() else c for c in text if c.isspace() or _visible(c))
    return " ".join("".join(kept).split())


def _visible(character: str) -> bool:
    """Whether a character is more than a control or format sign."""
    return unicodedata.category(character) not in {"Cc", "Cf", "Cs"}


def steps(low: float, high: float, step: float) -> tuple[float, ...]:
    """Give round values from ``low`` to ``high``, both in it, to draw one from.

    >>> steps(1.5, 2.1, 0.2)
    (1.5, 1.7, 1.9, 2.1)
    """
    count = round((high - low) / step)
    if step <= 0.0 or count < 1 or abs(low + count * step - high) > 1e-9 * abs(step):
        raise ValueError(f"{low:g} to {high:g} in steps of {step:g} does not come out even")
    return tuple(round(low + place * step, 10) for place in range(count + 1))


@dataclass(frozen=True, slots=True)
class Numbers:
    """What was drawn for one learner and one exercise: ``n["torque"]``, ``n.word("side")``."""

    learner: str
    values: Mapping[str, float | str]

    def __getitem__(self, name: str) -> float:
        """Give a drawn number."""
        value = self.values[name]
        if isinstance(value, str):
            raise TypeError(f"{name} is a word, {value!r}; take it with word()")
        return value

    def word(self, name: str) -> str:
        """Give a drawn word, as a thread or a stroke."""
        value = self.values[name]
        if not isinstance(value, str):
            raise TypeError(f"{name} is a number, {value:g}; take it with []")
        return value


def draw(learner: str, exercise: str, draws: Draws, attempt: int = 0) -> Numbers:
    """Draw one value of each name; ``attempt`` counts up where a draw was no good.

    >>> draws = {"torque": (15, 18, 20), "side": ("left", "right")}
    >>> draw("Ana", "x-1", draws) == draw(" ANA ", "x-1", draws)
    True
    """
    name = normalised(learner)
    return Numbers(
        name,
        {key: options[_place(name, exercise, attempt, key, len(options))]
         for key, options in draws.items()},
    )  # fmt: skip


def _place(learner: str, exercise: str, attempt: int, name: str, count: int) -> int:
    key = "\0".join((_SERIES, learner, exercise, str(attempt), name))
    digest = hashlib.sha256(key.encode("utf-8", "surrogatepass")).digest()
    return int.from_bytes(digest[:8], "big") * count >> 64
