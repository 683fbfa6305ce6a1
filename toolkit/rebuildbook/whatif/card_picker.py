"""Choose the job card that a board starts from: one of the folder's, or one typed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import ipywidgets as w

from rebuildbook.batch.run import relative
from rebuildbook.whatif.cards import cards_beside, find_card
from rebuildbook.whatif.shown import wrong


class CardPicker:
    """``chosen`` is told of what was picked or typed, as text."""

    def __init__(self, chosen: Callable[[str], None]) -> None:
        self._quiet = False
        self._shown = ""
        self._chosen = chosen
        self.listed = w.Dropdown(options=[], description="Job card").add_class("rb-field")
        self.typed = w.Text(
            description="or the path of another card", continuous_update=False
        ).add_class("rb-field")
        self.message = w.HTML()
        self.listed.observe(self._hear, "value")
        self.typed.observe(self._hear, "value")
        row = w.Box([self.listed, self.typed]).add_class("rb-row")
        self.widget = w.VBox([row, self.message])

    def _hear(self, change: Any) -> None:
        if not self._quiet and change["new"]:
            self._chosen(change["new"])

    def show(self, card: Path) -> None:
        """Show the card that is open."""
        self._quiet = True
        try:
            cards = cards_beside(card)
            open_one = next((one for one in cards if one.resolve() == card.resolve()), card)
            options = [(_label(one), str(one)) for one in dict.fromkeys((*cards, open_one))]
            if tuple(options) != tuple(self.listed.options):
                self.listed.options = options
            self.listed.value = self._shown = str(open_one)
            self.typed.value = "" if open_one in cards else str(card)
            self.message.value = ""
        finally:
            self._quiet = False

    def refuse(self, why: str, kept: str) -> None:
        """Say why a card could not be opened; what was typed stays to be mended."""
        self._quiet = True
        try:
            if not self.listed.options:
                self.listed.options = [("choose a job card", ""), *_near()]
            self.listed.value = self._shown
        finally:
            self._quiet = False
        self.message.value = wrong(why, kept)


def _near() -> list[tuple[str, str]]:
    try:
        return [(_label(one), str(one)) for one in cards_beside(find_card(""))]
    except ValueError:
        return []


def _label(card: Path) -> str:
    parts = card.with_suffix("").parts
    if "what-if" in parts:
        return " ".join(("what-if:", *parts[parts.index("what-if") + 1 :]))
    return card.stem


def path_from_here(path: Path) -> str:
    """A path as one would type it here."""
    return relative(path, Path.cwd())
