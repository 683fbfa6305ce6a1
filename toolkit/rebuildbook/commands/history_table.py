"""The history of a unit on the terminal: jobs, sizes, torques, tests, and what was corrected."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from rebuildbook.commands.convert import written
from rebuildbook.record.entry import Entry
from rebuildbook.record.history import (
    JobRecord,
    Name,
    Spread,
    corrections,
    readings,
    torques,
    unit_of,
)
from rebuildbook.record.kept import Kept
from rebuildbook.record.unit_sheets import UnitSheets
from rebuildbook.units import shown_unit, to_unit
from rebuildbook.units.show import plain

MARK = " *"  # behind a value that took the place of another
FIGURES = 5
WIDE = 200  # columns where the output is no terminal: a row stays in one piece
Row = tuple[str, ...]


def print_history(jobs: Sequence[JobRecord], sheets: UnitSheets) -> None:
    """Print a table for each kind of entry that the unit has; corrected values are marked."""
    console = Console(highlight=False)
    if not console.is_terminal:
        console.width = WIDE
    tables = (
        ("jobs", ("job", "day", "hours", "findings", "released"), _jobs(jobs, sheets), 0),
        (
            "measured parts",
            ("part", "job", "size", "change", "worn", "entry"),
            _sizes(jobs, sheets),
            1,
        ),
        (
            "torque",
            ("joint", "job", "mean", "least", "most", "readings", "entries"),
            _torques(jobs),
            1,
        ),
        ("test readings", ("reading", "job", "value", "of the first", "entry"), _tests(jobs), 1),
        (
            "corrected (marked * above)",
            ("entry", "job", "what", "was", "is", "why", "by"),
            _corrected(jobs),
            0,
        ),
    )
    for title, columns, rows, grouped in tables:
        found = list(rows)
        if found:
            _print(console, title, columns, found, grouped=bool(grouped))


def _print(
    console: Console, title: str, columns: Row, rows: Sequence[Row], *, grouped: bool
) -> None:
    table = Table(title=None, box=None, pad_edge=False, header_style="bold")
    for name in columns:
        table.add_column(Text(name), overflow="fold")
    before = ""
    for first, *others in rows:
        table.add_row(
            *(Text(cell) for cell in ("" if grouped and first == before else first, *others))
        )
        before = first
    console.print(Text(title, style="bold"))
    console.print(table)
    console.print()


def _jobs(jobs: Sequence[JobRecord], sheets: UnitSheets) -> Iterator[Row]:
    for job in jobs:
        hours = job.hours if job.hours is not None else sheets.hours.get(job.job)
        counts = ", ".join(f"{count} {level}" for level, count in job.findings.items())
        released = "; ".join(_release(kept.entry) for kept in job.of("release"))
        yield (
            job.job,
            job.on,
            "" if hours is None else written(hours, "h", FIGURES),
            counts,
            released,
        )


def _release(entry: Entry) -> str:
    return " ".join(part for part in (entry.on, f"by {entry.by}" if entry.by else "") if part)


def _sizes(jobs: Sequence[JobRecord], sheets: UnitSheets) -> Iterator[Row]:
    for name, by_job in readings(jobs, "measurement").items():
        before: Kept | None = None
        for place, rows in by_job.items():
            for kept in rows:
                size = _si(kept)
                unit = unit_of(kept)
                change = "" if before is None else _signed(size - _si(before), unit)
                worn = sheets.worn(name[0], size)
                share = "" if worn is None else f"{100.0 * worn:.0f} %"
                yield _named(name), jobs[place].job, _marked(kept), change, share, str(kept.id)
                before = kept


def _torques(jobs: Sequence[JobRecord]) -> Iterator[Row]:
    for joint, by_job in torques(jobs).items():
        for place, spread in by_job.items():
            unit = unit_of(spread.kept[0])
            mean, least, most = (
                written(value, unit, 4) for value in (spread.mean, spread.least, spread.most)
            )
            mark = MARK if any(kept.corrects for kept in spread.kept) else ""
            count = str(spread.count)
            yield joint, jobs[place].job, mean + mark, least, most, count, _ids(spread)


def _tests(jobs: Sequence[JobRecord]) -> Iterator[Row]:
    for name, by_job in readings(jobs, "test").items():
        first = _si(next(iter(by_job.values()))[0])
        for place, rows in by_job.items():
            for kept in rows:
                temperature = kept.entry.dimension == "temperature"
                share = f"{100.0 * _si(kept) / first:.0f} %" if first and not temperature else ""
                yield _named(name), jobs[place].job, _marked(kept), share, str(kept.id)


def _corrected(jobs: Sequence[JobRecord]) -> Iterator[Row]:
    for old, new in corrections(jobs):
        what = f"{new.entry.kind} {_named((new.entry.subject, new.entry.number))}"
        told = (_said(old.entry), _said(new.entry), new.why, new.entry.by)
        yield f"{old.id} by {new.id}", new.entry.job, what, *told


def _said(entry: Entry) -> str:
    return entry.given or entry.text or "(nothing)"


def _marked(kept: Kept) -> str:
    return kept.entry.given + (MARK if kept.corrects else "")


def _si(kept: Kept) -> float:
    assert kept.entry.si is not None  # noqa: S101  (only quantities come here)
    return kept.entry.si


def _named(name: Name) -> str:
    return name[0] if name[1] is None else f"{name[0]} no. {name[1]}"


def _signed(si: float, unit: str) -> str:
    """A difference with its sign, without the noise of binary fractions."""
    value = round(to_unit(si, unit) - to_unit(0.0, unit), 6)
    return f"{'+' if value > 0 else ''}{plain(value)} {shown_unit(unit)}"


def _ids(spread: Spread) -> str:
    return runs(sorted(kept.id for kept in spread.kept))


def runs(ids: Iterable[int]) -> str:
    """Write sorted ids with those in a row as a span.

    >>> runs([3, 4, 5, 9, 11, 12])
    '3–5, 9, 11–12'
    """
    spans: list[list[int]] = []
    for id_ in ids:
        if spans and spans[-1][1] == id_ - 1:
            spans[-1][1] = id_
        else:
            spans.append([id_, id_])
    return ", ".join(f"{low}–{high}" if high > low else str(low) for low, high in spans)
