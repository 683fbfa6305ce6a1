"""The widgets of one knob: a field that takes units as typed, a slider, a way back."""

from __future__ import annotations

import math
from collections.abc import Callable
from html import escape
from typing import Any, Literal

import ipywidgets as w

from rebuildbook.whatif.entry import Entry
from rebuildbook.whatif.question import View
from rebuildbook.whatif.shown import wrong

By = Literal["", "field", "slider"]
Turned = Callable[[str, Any], None]


class KnobField:
    """A knob as the reader has it in hand; ``typed``, ``slid`` and ``reset`` are told of changes.

    Whatever `show` puts into the widgets is not told: field and slider never answer each other.
    """

    def __init__(
        self, entry: Entry, typed: Turned, slid: Turned, reset: Callable[[str], None]
    ) -> None:
        knob = entry.knob
        self.name = knob.name
        self._quiet = False
        self.field: Any = _choice(entry) if knob.choices else _text(entry)
        self.field.observe(self._tell(typed), "value")
        self.slider = _slider(entry)
        self.back = w.Button(description="Reset", tooltip=f"{knob.label}: as in the sheets")
        self.back.on_click(lambda _: reset(knob.name))
        self.now = w.HTML()
        row = w.Box([self.field, self.back]).add_class("rb-row")
        parts: list[Any] = [row]
        if self.slider is not None:
            self.slider.observe(self._tell(slid), "value")
            parts.append(self.slider)
        self.widget = w.VBox([*parts, self.now]).add_class("rb-knob")
        self.show(entry, "")

    def _tell(self, turned: Turned) -> Callable[[Any], None]:
        def heard(change: Any) -> None:
            if not self._quiet:
                turned(self.name, change["new"])

        return heard

    def show(self, entry: Entry, refused: str, by: By = "") -> None:
        """Show what stands in a knob.

        What was typed and refused stays in the field, and a slider that was moved stays where it
        is, so that neither is taken out of the reader's hand.
        """
        self._quiet = True
        try:
            if not (refused and by == "field"):
                self.field.value = entry.text
            if self.slider is not None and (refused or by != "slider"):
                self.slider.value = entry.stop
            self.now.value = _now(entry) + wrong(refused)
            self.back.disabled = not entry.changed and not refused
        finally:
            self._quiet = False
        for name, wanted in (("rb-changed", entry.changed), ("rb-refused", bool(refused))):
            if wanted != (name in self.widget._dom_classes):
                (self.widget.add_class if wanted else self.widget.remove_class)(name)


def _text(entry: Entry) -> w.Text:
    return w.Text(
        value=entry.text,
        description=entry.knob.label,
        placeholder=_wanted(entry),
        continuous_update=False,
    ).add_class("rb-field")


def _wanted(entry: Entry) -> str:
    unit = entry.knob.unit
    return f"a value in {unit} or another unit" if unit else "a number"


def _choice(entry: Entry) -> w.Dropdown:
    """The words to choose from, those of the sheets first where they are none of them."""
    texts = dict.fromkeys((entry.knob.text, *entry.knob.choices))
    if entry.knob.text in entry.knob.choices:
        texts = dict.fromkeys(entry.knob.choices)
    return w.Dropdown(
        options=[(text or "not given", text) for text in texts],
        value=entry.text,
        description=entry.knob.label,
    ).add_class("rb-field")


def _slider(entry: Entry) -> w.FloatSlider | None:
    knob = entry.knob
    if entry.takes is None or not knob.low < knob.high:
        return None
    low, high = entry.stops
    decimals = max(0, -math.floor(math.log10(entry.step) + 1e-9))
    return w.FloatSlider(
        readout_format=f".{decimals}f",  # what a screen reader says
        value=entry.stop,
        min=low,
        max=high,
        step=entry.step,
        readout=False,
    ).add_class("rb-slider")


def _now(entry: Entry) -> str:
    """What stands there in both systems, and what the sheets have."""
    knob = entry.knob
    now = f"<b>{escape(entry.both)}</b>" if entry.takes is not None else ""
    if entry.changed:
        now += f" changed; in the sheets {escape(knob.text or 'not given')}"
    lines = [line for line in (now.strip(), escape(knob.help)) if line]
    return f'<span class="rb-now">{"<br>".join(lines)}</span>' if lines else ""


def view_field(view: View, value: Any, seen: Turned) -> Any:
    """The widget of a control that changes only what is shown."""
    made: Any
    if view.choices:
        made = w.Dropdown(options=view.choices, value=value, description=view.label)
    elif view.text:
        made = w.Text(value=value, description=view.label, continuous_update=False)
    else:
        made = w.IntSlider(
            value=value, min=view.low, max=view.high, step=view.step, description=view.label
        )
    made.observe(lambda change: seen(view.name, change["new"]), "value")
    return made.add_class("rb-field")


def pick_field(name: str, choices: tuple[str, ...], value: str, picked: Turned) -> w.Dropdown:
    """The widget of what is chosen before the knobs."""
    label = name.replace("-", " ").replace("_", " ").capitalize()
    made = w.Dropdown(options=choices, value=value, description=label).add_class("rb-field")
    made.observe(lambda change: picked(name, change["new"]), "value")
    return made
