"""What a board asks and answers: knobs on fields of the sheets, numbers before and after.

A board has no widgets; the shell that shows it knows nothing of pumps. This is what they share.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

from rebuildbook.sheets import Case
from rebuildbook.worksheet.model import Finding, Value

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True, slots=True)
class Knob:
    """One field of a sheet that may be changed.

    ``setting`` is its dotted path in the words of ``--set``; ``text`` is what the sheets give, as
    written, empty where they give nothing. The slider runs from ``low`` to ``high`` in ``unit``,
    the shop's; ``other`` is the other system's unit. ``choices`` are words instead of a quantity.
    """

    name: str
    label: str
    setting: str
    text: str
    low: float
    high: float
    unit: str
    other: str = ""
    choices: tuple[str, ...] = ()
    help: str = ""


@dataclass(frozen=True, slots=True)
class View:
    """A control that changes only what is shown: one of ``choices``, words, or a whole number.

    ``text`` are the words that stand there first. Where there are neither choices nor words it runs
    from ``low`` to ``high`` by ``step``.
    """

    name: str
    label: str
    choices: tuple[str, ...] = ()
    low: int = 0
    high: int = 0
    step: int = 1
    text: str = ""


@dataclass(frozen=True, slots=True)
class Number:
    """One row of the table of before and after."""

    id: str
    label: str
    value: Value | str


@dataclass(frozen=True, slots=True)
class Answer:
    """What a board says of one case: numbers, findings (worst first), and what its figure draws."""

    numbers: tuple[Number, ...]
    findings: tuple[Finding, ...]
    data: Any


class Board(Protocol):
    """One question that can be played with; each module of ``boards`` has one as ``BOARD``.

    A card that lacks what the board needs, and a case that cannot be worked out, is a ValueError
    or SheetError with one clear message.
    """

    name: str
    title: str
    about: str

    def picks(self, case: Case) -> dict[str, tuple[str, ...]]:
        """What is chosen before the knobs: ``{"joint": ("fluid-cover", …)}``."""

    def knobs(self, case: Case, picked: Mapping[str, str]) -> tuple[Knob, ...]:
        """The fields that may be changed."""

    def views(self, case: Case, picked: Mapping[str, str]) -> tuple[View, ...]:
        """The controls that change only what is shown."""

    def answer(self, case: Case, picked: Mapping[str, str], seen: Mapping[str, Any]) -> Answer:
        """Work a case out; ``seen`` holds the views' values by name."""

    def draw(self, after: Answer, before: Answer, seen: Mapping[str, Any]) -> Figure:
        """Draw after and before on one figure."""
