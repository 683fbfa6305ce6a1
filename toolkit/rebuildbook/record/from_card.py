"""Readings of a job card as entries, for what is not on record yet."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import BaseModel

from rebuildbook.record.entry import Entry, Kind
from rebuildbook.record.overlay import Record
from rebuildbook.sheets import Case
from rebuildbook.units import Amount


def entries_of_card(case: Case, record: Record) -> tuple[Entry, ...]:
    """Give an entry for each reading of the card that the record has none for."""
    known = {
        (kept.entry.kind, kept.entry.subject, kept.entry.number)
        for kept in (*record.standing, *(old for old, _ in record.corrected))
    }
    return tuple(
        entry for entry in _entries(case) if (entry.kind, entry.subject, entry.number) not in known
    )


def _entries(case: Case) -> Iterator[Entry]:
    job = case.job
    for joint, readings in job.torque_readings.items():
        use = job.tools.get(joint)
        for number, amount in enumerate(readings, 1):
            place = f"torque_readings.{joint}"
            tool = use.wrench if use else ""
            yield _entry(case, "torque", joint, amount, place, number, tool)
    for name, amount in job.measured.items():
        yield _entry(case, "measurement", name, amount, f"measured.{name}")
    for name, amount in _amounts(job.test):
        yield _entry(case, "test", name, amount, f"test.{name}")


def _amounts(part: object, before: str = "") -> Iterator[tuple[str, Amount]]:
    """Every quantity below a part of a sheet, by its dotted path; limits are no readings."""
    if isinstance(part, Amount):
        if not before.endswith("_limit"):
            yield before, part
        return
    children: dict[str, object] = {}
    if isinstance(part, BaseModel):
        children = {name: getattr(part, name) for name in type(part).model_fields}
    elif isinstance(part, dict):
        children = part
    for name, child in children.items():
        yield from _amounts(child, f"{before}.{name}" if before else str(name))


def _entry(
    case: Case,
    kind: Kind,
    subject: str,
    amount: Amount,
    place: str,
    number: int | None = None,
    tool: str = "",
) -> Entry:
    job = case.job
    return Entry(
        serial=job.serial,
        job=job.job,
        kind=kind,
        subject=subject,
        number=number,
        given=amount.text,
        si=amount.nominal,
        dimension=amount.dimension,
        tool=tool,
        on=(job.work_date or job.opened).isoformat(),
        came_from=f"{case.files['job'][0]}: {place}",
    )
