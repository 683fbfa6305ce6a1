"""Kits of several jobs added up, for one walk to the stores."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from rebuildbook.worksheet.kit import Kit, KitPart


@dataclass(frozen=True, slots=True)
class SumLine:
    """One thing, and how many of it each job takes (by job number), and all of them.

    ``names`` are the parts it is on the model sheets, ``models`` those that take it.
    """

    what: str
    number: str
    make: str
    names: tuple[str, ...]
    models: tuple[str, ...]
    by_job: dict[str, int]
    whys: tuple[str, ...] = ()

    @property
    def total(self) -> int:
        """How many in all."""
        return sum(self.by_job.values())


def add_up(kits: Sequence[Kit], wanted: Callable[[KitPart], bool]) -> tuple[SumLine, ...]:
    """Add up the parts that are ``wanted``.

    What has a stock number is one thing under it, whatever model it is for; an O-ring without one
    goes by size and material; all else is of its own model. Sorted by stock number, then by make.
    """
    gathered: dict[tuple[str, ...], list[tuple[Kit, KitPart]]] = {}
    for kit in kits:
        for part in filter(wanted, kit.parts):
            gathered.setdefault(_key(kit, part), []).append((kit, part))
    lines = [_line(found) for found in gathered.values()]
    return tuple(sorted(lines, key=lambda line: (not line.number, line.number, line.make)))


def _key(kit: Kit, part: KitPart) -> tuple[str, ...]:
    if part.number:
        return "number", part.number, part.make
    if part.make.startswith("o-ring, "):
        return "make", part.make
    return "part", kit.model, part.name, part.make


def _line(found: Sequence[tuple[Kit, KitPart]]) -> SumLine:
    by_job: dict[str, int] = {}
    for kit, part in found:
        by_job[kit.job] = by_job.get(kit.job, 0) + part.count
    first = found[0][1]
    return SumLine(
        "; ".join(_once(part.what for _, part in found)),
        first.number,
        first.make,
        _once(part.name for _, part in found),
        _once(kit.model for kit, _ in found),
        by_job,
        _once(f"{kit.job}: {part.why}" for kit, part in found),
    )


def _once(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(texts))


@dataclass(frozen=True, slots=True)
class ConsumableLine:
    """One consumable, the jobs that take it and the places that it goes on in each."""

    name: str
    what: str
    by_job: dict[str, int]

    @property
    def total(self) -> int:
        """Places in all."""
        return sum(self.by_job.values())


def consumables_of_all(kits: Sequence[Kit]) -> Iterator[ConsumableLine]:
    """Give each consumable once, with the places of each job."""
    seen: dict[str, ConsumableLine] = {}
    for kit in kits:
        for thing in kit.consumables:
            line = seen.setdefault(thing.name, ConsumableLine(thing.name, thing.what, {}))
            line.by_job[kit.job] = line.by_job.get(kit.job, 0) + thing.places
    yield from (seen[name] for name in sorted(seen))
