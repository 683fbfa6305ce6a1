"""The boards by name; each is imported only when it is opened."""

from __future__ import annotations

import importlib

from rebuildbook.whatif import NAMES
from rebuildbook.whatif.question import Board

BOARDS = {name: f"{__name__}.{name}" for name in NAMES}


def board(name: str) -> Board:
    """Give the board ``name``; raises ValueError naming those there are."""
    if name not in BOARDS:
        raise ValueError(f"there is no board {name!r}; there are {', '.join(BOARDS)}")
    found: Board = importlib.import_module(BOARDS[name]).BOARD
    return found
