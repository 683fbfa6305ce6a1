"""A lesson: a short case, what one can do after it, and its exercises."""

from __future__ import annotations

from dataclasses import dataclass

from rebuildbook.lessons.exercise import Exercise


@dataclass(frozen=True, slots=True, eq=False)
class Lesson:
    """One lesson of 20 to 30 minutes.

    ``case`` is plain text, paragraphs parted by an empty line; ``able`` what the learner can do
    afterwards, ``take`` what to take away. Notebook and hand-out show the same texts.
    """

    name: str
    number: int
    title: str
    minutes: int
    able: tuple[str, ...]
    case: str
    exercises: tuple[Exercise, ...]
    take: tuple[str, ...]
    caution: str = ""

    def __post_init__(self) -> None:
        ids = [one.id for one in self.exercises]
        if not ids or len(set(ids)) < len(ids):
            raise ValueError(f"{self.name}: exercises need ids of their own")

    def exercise(self, named: str) -> Exercise:
        """Give the exercise of that id; LookupError with the ids there are."""
        for one in self.exercises:
            if one.id == named:
                return one
        ids = ", ".join(one.id for one in self.exercises)
        raise LookupError(f"no exercise {named!r} in this lesson; it has {ids}")

    @property
    def points(self) -> int:
        """All the points there are."""
        return sum(one.points for one in self.exercises)
