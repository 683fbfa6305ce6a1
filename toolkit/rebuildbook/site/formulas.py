"""Every formula of the worksheets with its source, gathered from the demo's own worksheets.

A formula is shown once for each section, with the numbers of the first demo card that has it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from markupsafe import Markup

from rebuildbook.worksheet.document import JobSheet
from rebuildbook.worksheet.formula import set_formula, set_symbol
from rebuildbook.worksheet.model import Line, Lines, Section, Series, Value


@dataclass(frozen=True, slots=True)
class Formula:
    """A quantity of a worksheet: how it is worked out, by which source, and one example.

    ``named`` are the symbols of the formula that another line of the sheet gives a name.
    """

    line: Line
    of: str
    card: str
    named: tuple[tuple[str, str], ...] = ()

    @property
    def equation(self) -> Markup:
        """Symbol and formula as MathML."""
        symbol = set_symbol(self.line.symbol, "mathml") if self.line.symbol else ""
        return _math(f"{symbol}<mo>=</mo>{set_formula(self.line.formula, 'mathml')}")

    @property
    def letter(self) -> Markup:
        """The symbol alone, as MathML."""
        return _math(set_symbol(self.line.symbol, "mathml"))

    @property
    def numbers(self) -> Markup:
        """The formula with the example's numbers put in, as MathML."""
        briefs = {symbol: value.brief for symbol, value in self.line.inputs.items()}
        return _math("<mo>=</mo>" + set_formula(self.line.formula, "mathml", briefs))

    @property
    def symbols(self) -> list[tuple[Markup, str]]:
        """The named symbols as MathML, each with its name."""
        return [(_math(set_symbol(symbol, "mathml")), name) for symbol, name in self.named]

    @property
    def shown(self) -> str:
        """The example's result."""
        value = self.line.value
        return value.shown if isinstance(value, Value) else value


@dataclass(slots=True)
class Part:
    """A section of the worksheets with all that is worked out in it."""

    id: str
    title: str
    sheet: str
    formulas: list[Formula] = field(default_factory=list)


def gather(sheets: Iterable[JobSheet]) -> list[Part]:
    """Give every section that works something out, in the order of the worksheet."""
    parts: dict[str, Part] = {}
    seen: set[tuple[str, ...]] = set()
    for sheet in sheets:
        names = _names(sheet)
        for section in sheet.sections.values():
            for of, line in _lines(section):
                key = (section.id, line.name, line.symbol, line.formula, line.method)
                if not (line.formula or line.method) or key in seen:
                    continue
                seen.add(key)
                kind = sheet.head.get("title", "Worksheet")
                part = parts.setdefault(section.id, Part(section.id, section.title, kind))
                named = tuple(_named(line, names))
                part.formulas.append(Formula(line, of, sheet.head["job"], named))
    return list(parts.values())


def _lines(section: Section) -> Iterator[tuple[str, Line]]:
    """Every line of a section with what it is of."""
    for block in section.blocks:
        if isinstance(block, Lines):
            yield from ((block.title, line) for line in block.lines)
        elif isinstance(block, Series):
            yield from block.rows


def _names(sheet: JobSheet) -> dict[tuple[str, float], str]:
    """What a sheet calls a symbol with a certain value."""
    return {
        (line.symbol, line.value.si): line.name
        for section in sheet.sections.values()
        for line in section.lines()
        if line.symbol and isinstance(line.value, Value)
    }


def _named(line: Line, names: dict[tuple[str, float], str]) -> Iterator[tuple[str, str]]:
    for symbol, value in line.inputs.items():
        name = names.get((symbol, value.si))
        if name and name != line.name:
            yield symbol, name


def _math(inside: str) -> Markup:
    return Markup(f"<math>{inside}</math>")  # noqa: S704  (the setters escape what they are given)
