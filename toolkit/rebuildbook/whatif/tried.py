"""The list of cases that were tried: each can be put back, or taken off the list."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as w

from rebuildbook.whatif import shown
from rebuildbook.whatif.play import Tried


class TriedList:
    """``keep`` gives the case as it is now set under a name; ``put_back`` is told of one."""

    def __init__(self, keep: Callable[[str], Tried], put_back: Callable[[Tried], None]) -> None:
        self._keep, self._put_back = keep, put_back
        self.cases: list[Tried] = []
        self._count = 0
        self.name = w.Text(
            description="Name of this case", placeholder="Case 1", continuous_update=False
        ).add_class("rb-field")
        self.button = w.Button(description="Keep this case")
        self.button.on_click(lambda _: self.keep())
        self.rows = w.VBox([])
        row = w.Box([self.name, self.button]).add_class("rb-row")
        self.widget = w.VBox([w.HTML("<h3>Tried cases</h3>"), row, self.rows]).add_class("rb-part")

    def keep(self) -> None:
        """Put the case as it is now set on the list."""
        self._count += 1
        name = self.name.value.strip() or f"Case {self._count}"
        self.cases.append(self._keep(name))
        self.name.value, self.name.placeholder = "", f"Case {self._count + 1}"
        self._show()

    def clear(self) -> None:
        """Forget all: they are of another card."""
        self.cases.clear()
        self._show()

    def _show(self) -> None:
        self.rows.children = [self._row(case) for case in self.cases]

    def _row(self, case: Tried) -> w.Box:
        back = w.Button(description=f"Put back {case.name}")
        back.on_click(lambda _: self._put_back(case))
        gone = w.Button(description="Remove")
        gone.on_click(lambda _: self._remove(case))
        text = w.HTML(shown.tried(case))
        return w.Box([text, back, gone]).add_class("rb-row").add_class("rb-tried")

    def _remove(self, case: Tried) -> None:
        self.cases = [one for one in self.cases if one is not case]
        self._show()
