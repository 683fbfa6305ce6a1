"""The part of a board that writes what is set as a what-if sheet."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import ipywidgets as w

from rebuildbook.whatif.card_picker import path_from_here
from rebuildbook.whatif.override_file import (
    AlreadyThere,
    NotWritten,
    usual_place,
    write_override,
)
from rebuildbook.whatif.play import Play
from rebuildbook.whatif.shown import said, wrong


class WritePart:
    """``play`` gives the board as it is open now, None where no card is."""

    def __init__(self, play: Callable[[], Play | None]) -> None:
        self._play = play
        self.place = w.Text(description="File", continuous_update=False).add_class("rb-field")
        self.title = w.Text(
            description="Title (may be left empty)", continuous_update=False
        ).add_class("rb-field")
        self.button = w.Button(description="Write override file")
        self.button.on_click(lambda _: self.write(over=False))
        self.replace = w.Button(description="Replace the file that is there")
        self.replace.on_click(lambda _: self.write(over=True))
        self.replace.layout.display = "none"
        self.message = w.HTML()
        row = w.Box([self.place, self.title, self.button, self.replace]).add_class("rb-row")
        head = w.HTML("<h3>Write it down for <code>rebuildbook run</code></h3>")
        self.widget = w.VBox([head, row, self.message]).add_class("rb-part")

    def offer(self, play: Play) -> None:
        """Offer a free name for the card that is open."""
        job = play.plain.job.job
        self.place.value = path_from_here(usual_place(play.card, job, play.board.name))
        self._tell("")

    def write(self, *, over: bool) -> None:
        """Write the file; over another one only where that was asked."""
        play = self._play()
        if play is None:
            self._tell(wrong("no card is open", ""))
            return
        place = Path(self.place.value.strip()).expanduser()
        try:
            write_override(
                place, play.card, play.settings,
                title=self.title.value, board=play.board.name, over=over,
            )  # fmt: skip
        except AlreadyThere as error:
            kept = "Give another name, or press “Replace the file that is there”."
            self._tell(wrong(str(error), kept), replace=True)
        except NotWritten as error:
            self._tell(wrong(str(error), "Nothing was written."))
        else:
            left = " What was not taken above is not in it." if play.refused else ""
            self._tell(said(f"Written: {place}.{left} Its worksheet: rebuildbook run {place}"))

    def _tell(self, message: str, *, replace: bool = False) -> None:
        self.message.value = message
        self.replace.layout.display = None if replace else "none"
