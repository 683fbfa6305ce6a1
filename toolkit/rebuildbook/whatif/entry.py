"""What stands in one knob: text as typed, read as the sheets read it, and moved by a slider."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from pydantic_core import PydanticCustomError

from rebuildbook.sheets.fields import Quantity
from rebuildbook.units import Amount, to_unit
from rebuildbook.units.show import number, with_unit
from rebuildbook.whatif.question import Knob
from rebuildbook.worksheet.as_setting import (
    ends_about,
    half_share,
    in_unit,
    single_text,
    window_text,
)

STEPS = 100  # that a slider has at least from end to end
_SAME = 1e-9  # of two numbers that say the same
_SLACK = 1e-6  # of a step of the slider


class Refused(Exception):  # noqa: N818  (wrong input, not a fault)
    """What was typed cannot be taken; the text says why and what can."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One knob with its text now; empty text leaves the field out, as the sheets may do.

    ``takes`` reads the text; None for a knob with choices.
    """

    knob: Knob
    takes: Quantity | None
    text: str

    @property
    def changed(self) -> bool:
        """Whether it says something else than the sheets."""
        if not self.text or not self.knob.text or self.takes is None:
            return self.text != self.knob.text
        now, was = self.amount(self.text), self.amount(self.knob.text)
        return not (_same(now.low, was.low) and _same(now.high, was.high))

    @property
    def as_set(self) -> str:
        """It as ``--set`` takes it."""
        return f"{self.knob.setting}={self.text}"

    def amount(self, text: str) -> Amount:
        """Read a quantity, a single value also where the sheet wants a window; raises Refused."""
        assert self.takes is not None  # noqa: S101
        takes = self.takes
        if self._windowed:
            takes = replace(takes, forms=(*takes.forms, "single"))
        try:
            return takes.read(text)
        except PydanticCustomError as refused:
            raise Refused(str((refused.context or {}).get("message", refused))) from None

    @property
    def _windowed(self) -> bool:
        """Whether the field takes windows only."""
        forms = self.takes.forms if self.takes is not None else ()
        return "range" in forms and "single" not in forms

    @property
    def share(self) -> float:
        """Half the width of the window in the sheets, as a share of its middle."""
        return half_share(self.amount(self.knob.text)) if self.knob.text else 0.0

    def typed(self, text: str) -> Entry:
        """Take what was typed; nothing goes back to the sheets. Raises Refused."""
        text = " ".join(text.split())
        if not text:
            return self.reset()
        if self.takes is None:
            if self.knob.choices and text not in self.knob.choices:
                raise Refused(f"{text!r} is not one of {', '.join(self.knob.choices)}")
            return replace(self, text=text)
        amount = self.amount(text)
        if self._windowed and amount.form == "single":
            return replace(self, text=self._about(in_unit(amount.nominal, amount.unit), amount))
        return replace(self, text=text)

    def slid(self, value: float) -> Entry:
        """Take a place of the slider; the middle of a window goes there, its width as a share."""
        assert self.takes is not None  # noqa: S101
        value = _round(value)
        blank = Amount(0.0, 0.0, 0.0, self.knob.unit, self.takes.dimension, "single",
                       self.takes.reference)  # fmt: skip
        return replace(self, text=self._about(value, blank))

    def _about(self, value: float, like: Amount) -> str:
        """Write ``value`` in the unit of ``like``, with the sheets' window about it."""
        assert self.takes is not None  # noqa: S101
        share = self.share
        if self._windowed or (share and "range" in self.takes.forms):
            low, high = (float(f"{end:.5g}") for end in ends_about(value, share))
            return window_text(low, high, like.unit, like.reference)
        return single_text(value, like.unit, self.takes.forms, like.reference)

    def reset(self) -> Entry:
        """Go back to what the sheets say."""
        return replace(self, text=self.knob.text)

    @property
    def place(self) -> float:
        """Where the slider stands, inside its ends; in the middle where nothing is given."""
        low, high = self.knob.low, self.knob.high
        if not self.text or self.takes is None:
            return (low + high) / 2.0
        amount = self.amount(self.text)
        si = amount.high if amount.form == "spread" else amount.nominal
        return min(max(to_unit(si, self.knob.unit), low), high)

    @property
    def step(self) -> float:
        """Step of the slider: a round number, ``STEPS`` or more of them from end to end."""
        width = self.knob.high - self.knob.low
        if width <= 0.0:
            return 1.0
        size = 10.0 ** math.floor(math.log10(width / STEPS))
        return next(k * size for k in (5.0, 2.0, 1.0) if k * size <= width / STEPS * (1 + _SAME))

    @property
    def stops(self) -> tuple[float, float]:
        """First and last stop of the slider: multiples of its step inside its ends."""
        first = math.ceil(self.knob.low / self.step - _SLACK) * self.step
        last = math.floor(self.knob.high / self.step + _SLACK) * self.step
        return _round(first), _round(last)

    @property
    def stop(self) -> float:
        """The stop of the slider that is nearest to what stands here."""
        first, last = self.stops
        stop = first + self.step * round((self.place - first) / self.step)
        return _round(min(max(stop, first), last))

    def is_here(self, value: float) -> bool:
        """Whether a slider at ``value`` says no more than where it was put.

        A browser may answer with the very stop that it is told.
        """
        return abs(value - self.stop) <= self.step * _SLACK

    @property
    def both(self) -> str:
        """What is typed, in the knob's unit and in the other system's."""
        if self.takes is None:
            return self.text
        if not self.text:
            return "not given; the worksheet's own rule counts"
        amount = self.amount(self.text)
        units = dict.fromkeys(unit for unit in (self.knob.unit, self.knob.other) if unit)
        return " = ".join(in_words(amount, unit) for unit in units or [""])


def in_words(amount: Amount, unit: str) -> str:
    """Write a value or a window in ``unit``, as a shop reads it.

    >>> from rebuildbook.units import parse_amount
    >>> in_words(parse_amount("18 ft*lbf", "torque"), "N*m")
    '24.4 N·m'
    >>> in_words(parse_amount("30 to 37 N*m", "torque"), "ft*lbf")
    '22.1 to 27.3 ft·lbf'
    """
    ends = [number(to_unit(si, unit)) for si in (amount.low, amount.high)]
    if amount.form == "spread":
        return f"± {with_unit(ends[1], unit)}"
    bare = ends[0] if amount.low == amount.high else f"{ends[0]} to {ends[1]}"
    text = with_unit(bare, unit)
    return f"{text} absolute" if amount.reference == "absolute" else text


def _round(value: float) -> float:
    """Take off what multiples of a step have of rounding noise."""
    return float(f"{value:.10g}")


def _same(one: float, other: float) -> bool:
    return abs(one - other) <= _SAME * max(abs(one), abs(other))
