"""The boards as the site tells of them: what each is about, and what can be turned on it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from rebuildbook.sheets import load_case
from rebuildbook.whatif.boards import BOARDS, board
from rebuildbook.whatif.question import Knob


@dataclass(frozen=True, slots=True)
class ShownBoard:
    """A board with its knobs as they stand on one job card."""

    name: str
    title: str
    about: str
    picks: tuple[str, ...]
    knobs: tuple[Knob, ...]


def shown_boards(card: Path) -> list[ShownBoard]:
    """Give every board, opened on a card with the first of what each asks for."""
    case = load_case(card)
    found = []
    for name in BOARDS:
        one = board(name)
        offered = {pick: words for pick, words in one.picks(case).items() if words}
        picked = {pick: words[0] for pick, words in offered.items()}
        knobs = one.knobs(case, picked)
        found.append(ShownBoard(name, one.title, one.about, tuple(offered), knobs))
    return found
