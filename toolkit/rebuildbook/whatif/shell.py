"""The shell of every board: card, knobs, figure, table, findings, tried cases, override file.

It knows nothing of pumps; a board says what can be turned and what comes of it.
"""

from __future__ import annotations

import gc
from collections.abc import Callable
from typing import Any

import ipywidgets as w

from rebuildbook.sheets import SheetError
from rebuildbook.whatif import shown
from rebuildbook.whatif.boards import board as board_named
from rebuildbook.whatif.card_picker import CardPicker
from rebuildbook.whatif.cards import find_card
from rebuildbook.whatif.fields import By, KnobField, pick_field, view_field
from rebuildbook.whatif.play import Play, Tried, why
from rebuildbook.whatif.question import Board
from rebuildbook.whatif.tried import TriedList
from rebuildbook.whatif.write_part import WritePart


def open_shell(name: str, card: str = "", **chosen: Any) -> Shell:
    """Open the board ``name``; see `rebuildbook.whatif.open_board`."""
    shell = Shell(board_named(name), card, **chosen)
    gc.collect()
    gc.freeze()  # what is loaded need not be gone through again at each change
    return shell


class Shell(w.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """A board as a widget.

    Each change of a knob is one call of `turned`, one answer and one drawing. While a drawing is
    made the browser gathers what a slider does meanwhile and sends only its last place.
    """

    def __init__(self, board: Board, card: str = "", **chosen: Any) -> None:
        self.board = board
        self.play: Play | None = None
        self.drawn = 0
        self._fields: dict[str, KnobField] = {}
        self.picker = CardPicker(self.open_card)
        self.choices = w.Box([]).add_class("rb-row")
        self.views = w.Box([]).add_class("rb-row")
        self.knobs = w.VBox([])
        self.reset_all = w.Button(description="Reset all")
        self.reset_all.on_click(lambda _: self._reset(""))
        self.message, self.figure, self.judged, self.results = (w.HTML() for _ in range(4))
        self.figure.add_class("rb-drawn")
        self.tried = TriedList(self._keep, self._put_back)
        self.written = WritePart(lambda: self.play)
        super().__init__(self._laid_out())
        self.add_class("rb-board")
        self.open_card(card, **chosen)

    def _laid_out(self) -> list[Any]:
        knobs = w.VBox([self.choices, w.Box([self.reset_all]), self.knobs]).add_class("rb-knobs")
        seen = w.VBox([self.message, self.views, self.figure, self.judged]).add_class("rb-shown")
        return [
            w.HTML(shown.style() + shown.head(self.board)),
            self.picker.widget,
            w.Box([knobs, seen]).add_class("rb-row").add_class("rb-main"),
            self.results,
            self.tried.widget,
            self.written.widget,
        ]

    # the card

    def open_card(self, card: str, **chosen: Any) -> None:
        """Open a job card; one that cannot be opened is said, and the last one stays."""
        try:
            path = find_card(card)
            play = Play(self.board, path)
        except (SheetError, ValueError, ArithmeticError) as error:
            kept = f"{self.play.card.stem} is still open." if self.play else "No card is open."
            self.picker.refuse(why(error), kept)
            return
        missing = _choose(play, chosen)
        self.play = play
        self.picker.show(path)
        self.tried.clear()
        self.written.offer(play)
        self._build()
        if missing:
            self.message.value = shown.wrong(missing, "The rest is as asked.")

    def _build(self) -> None:
        """Make the widgets that go with the card and what is picked."""
        play = self._opened()
        self.choices.children = [
            pick_field(name, choices, play.picked[name], self._picked)
            for name, choices in play.offered.items()
            if choices
        ]
        self._fields = {
            name: KnobField(entry, self._typed, self._slid, self._reset)
            for name, entry in play.entries.items()
        }
        self.knobs.children = [field.widget for field in self._fields.values()]
        self._build_views()
        self._draw()

    def _build_views(self) -> None:
        play = self._opened()
        self.views.children = [
            view_field(view, play.seen[view.name], self._seen) for view in play.views
        ]

    def _opened(self) -> Play:
        assert self.play is not None  # noqa: S101  (there are no knobs without a card)
        return self.play

    # what the reader does

    def _picked(self, name: str, value: Any) -> None:
        self._or_say(lambda: self._opened().pick({name: value}))
        self._build()

    def _seen(self, name: str, value: Any) -> None:
        play = self._opened()
        views = play.views
        self._or_say(lambda: play.see(name, value))
        if play.views != views:
            self._build_views()
        self._draw()

    def _typed(self, name: str, text: str) -> None:
        self._turned(name, lambda play: play.typed(name, text), "field")

    def _slid(self, name: str, value: float) -> None:
        if self._opened().entries[name].is_here(value):
            return
        self._turned(name, lambda play: play.slid(name, value), "slider")

    def _reset(self, name: str) -> None:
        self._turned(name, lambda play: play.reset(name))

    def _turned(self, name: str, how: Callable[[Play], bool], by: By = "") -> None:
        play = self._opened()
        before = play.after
        how(play)
        if play.after is not before:  # the figure first: it is what the reader looks at
            self._draw()
        for field in [self._fields[name]] if name else self._fields.values():
            entry, refused = play.entries[field.name], play.refused.get(field.name, "")
            field.show(entry, refused, by)

    def _keep(self, name: str) -> Tried:
        return self._opened().keep(name)

    def _put_back(self, case: Tried) -> None:
        self._or_say(lambda: self._opened().put_back(case))
        self._build()

    def _or_say(self, what: Callable[[], None]) -> None:
        try:
            what()
        except (SheetError, ValueError, ArithmeticError) as error:
            self.message.value = shown.wrong(why(error))

    # what the reader sees

    def _draw(self) -> None:
        """Put figure, table and findings in place, each in one message to the page."""
        play = self._opened()
        self.drawn += 1
        self.message.value = shown.wrong(play.problem, "The card as it stands has no answer here.")
        self.figure.value = shown.figure(play)
        self.judged.value = shown.judged(play)
        self.results.value = shown.results(play)
        self.reset_all.disabled = not play.settings and not play.refused


def _choose(play: Play, chosen: dict[str, Any]) -> str:
    """Take what the caller picked, saw and set, by name; says what this card has not."""
    missing = []
    for name in sorted(chosen, key=lambda name: name not in play.offered):  # picks make the knobs
        try:
            if name in play.offered:
                play.pick({name: str(chosen[name])})
            elif name not in play.entries:
                play.see(name, chosen[name])
            elif not play.typed(name, str(chosen[name])):
                missing.append(f"{name}: {play.refused.pop(name)}")
        except (SheetError, ValueError, ArithmeticError) as error:
            missing.append(why(error))
    return "; ".join(missing)
