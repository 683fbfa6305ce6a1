"""Answers taken from the sections of the worksheet, so that a board says the very same."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rebuildbook.whatif.question import Number
from rebuildbook.worksheet.model import LEVELS, Finding, Line, Lines, Section, Series


def rows_of(section: Section) -> Iterator[tuple[str, Line]]:
    """Every line with what it is of, such as the names of checks built alike; else ""."""
    for block in section.blocks:
        if isinstance(block, Lines):
            yield from (("", line) for line in block.lines)
        elif isinstance(block, Series):
            yield from block.rows


def number(id_: str, label: str, line: Line | None, otherwise: str) -> Number:
    """A row of the table: what the worksheet's line says, or why it has none."""
    return Number(id_, label, otherwise if line is None else line.value)


def leading(numbers: Iterable[Number], *ends: str) -> tuple[Number, ...]:
    """Put the numbers whose ids end so first, in that order: a tried case is told by the first."""
    order = {end: place for place, end in enumerate(ends)}

    def place(number: Number) -> int:
        found = (at for end, at in order.items() if number.id.endswith(end))
        return next(found, len(order))

    return tuple(sorted(numbers, key=place))


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Put holds first, then queries; otherwise as they come."""
    return tuple(sorted(findings, key=lambda finding: LEVELS.index(finding.level)))
