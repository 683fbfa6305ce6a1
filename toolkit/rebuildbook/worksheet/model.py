"""What a worksheet is made of: lines, findings, cautions, tables, gathered in sections.

Everything here is plain data. Renderers (page, paper, results file) read it; sections make it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from rebuildbook.units import DIMENSIONS, Amount, number, shop_unit, to_unit, with_unit
from rebuildbook.units.show import plain

Level = Literal["clear", "query", "hold"]
LEVELS: tuple[Level, ...] = ("hold", "query", "clear")
System = Literal["metric", "us"]


@dataclass(frozen=True, slots=True)
class Value:
    """A number with its unit: SI value, dimension, and the unit the shop reads it in.

    ``given`` keeps a number that someone wrote as it was written.
    """

    si: float
    dimension: str
    unit: str
    digits: int = 3
    given: str = ""

    @property
    def shown(self) -> str:
        """The value in the shop's unit."""
        return self.given or with_unit(number(to_unit(self.si, self.unit), self.digits), self.unit)

    @property
    def brief(self) -> str:
        """The value as it stands inside a formula: up to five figures, no rounding noise."""
        value = float(f"{to_unit(self.si, self.unit):.5g}")
        return with_unit(plain(value), self.unit)

    @property
    def other(self) -> str:
        """The value in the other system's unit; empty where both systems share it."""
        kind = DIMENSIONS[self.dimension]
        if self.unit in kind.us and self.unit in kind.metric:
            return ""
        system = "metric" if self.unit in kind.us and self.unit not in kind.metric else "us"
        unit = shop_unit(self.dimension, system, self.si)
        if unit == self.unit:
            return ""
        return with_unit(number(to_unit(self.si, unit), self.digits), unit)


@dataclass(frozen=True, slots=True)
class Line:
    """One computed or given value, with everything that it came from.

    ``formula`` is an expression over the symbols in ``inputs``, written as Python writes it
    ("T*L/(L + E*cos(theta))"); evaluated with their SI values it gives ``value.si``.
    ``value`` is text where the result is one ("1 5 3 7 2 6 4 8").
    """

    id: str
    name: str
    value: Value | str
    symbol: str = ""
    formula: str = ""
    inputs: Mapping[str, Value] = field(default_factory=dict)
    method: str = ""
    data: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """One judgement: what was compared with what, by how much, and what to do."""

    id: str
    level: Level
    title: str
    compared: str
    margin: str = ""
    action: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning that stands right before the step it belongs to."""

    text: str


@dataclass(frozen=True, slots=True)
class Lines:
    """A titled run of lines."""

    title: str
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Series:
    """One quantity for several things, such as joints: what it is said once, the numbers for each.

    ``rows`` are (of what, line); the lines share name, symbol, formula and method. Build it with
    ``series``.
    """

    rows: tuple[tuple[str, Line], ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table of plain text; an empty cell is a box to fill in by hand.

    With ``pen`` the boxes are large enough for a pen at the bench.
    """

    title: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
    pen: bool = False


@dataclass(frozen=True, slots=True)
class Note:
    """A paragraph of plain text."""

    text: str


@dataclass(frozen=True, slots=True)
class Picture:
    """A figure, drawn (as SVG text) only when a renderer asks for it."""

    id: str
    caption: str
    alt: str
    draw: Callable[[], str]


Block = Caution | Lines | Series | Table | Note | Finding | Picture


@dataclass(frozen=True, slots=True)
class Section:
    """One part of the worksheet; with ``new_page`` it starts a sheet of paper of its own."""

    id: str
    title: str
    blocks: tuple[Block, ...]
    new_page: bool = False

    def lines(self) -> Iterator[Line]:
        """Every line of the section, in order."""
        for block in self.blocks:
            if isinstance(block, Lines):
                yield from block.lines
            elif isinstance(block, Series):
                yield from (line for _, line in block.rows)

    def findings(self) -> Iterator[Finding]:
        """Every finding of the section, in order."""
        for block in self.blocks:
            if isinstance(block, Finding):
                yield block


def series(pairs: Iterable[tuple[str, Line]]) -> Iterator[Series]:
    """Gather lines, each with the thing it is of, by quantity, as they first come up."""
    found: dict[tuple[str, str, str, str], list[tuple[str, Line]]] = {}
    for of, line in pairs:
        key = (line.name, line.symbol, line.formula, line.method)
        found.setdefault(key, []).append((of, line))
    for rows in found.values():
        yield Series(tuple(rows))


def given(amount: Amount, *, bound: Literal["low", "nominal", "high"] = "nominal") -> Value:
    """Take a written quantity into a worksheet, as it was written."""
    si = {"low": amount.low, "nominal": amount.nominal, "high": amount.high}[bound]
    text = amount.canonical if bound == "nominal" else ""
    return Value(si, amount.dimension, amount.unit, given=text)


def value(si: float, dimension: str, system: System, digits: int = 3, unit: str = "") -> Value:
    """Put a computed SI number into the shop's unit (or into ``unit``)."""
    return Value(float(si), dimension, unit or shop_unit(dimension, system, si), digits)


def worst(findings: Iterator[Finding] | list[Finding]) -> Level:
    """The gravest level among the findings; "clear" where there is none."""
    levels = {finding.level for finding in findings}
    return next((level for level in LEVELS if level in levels), "clear")
