"""What the ledger has of a job, laid over its card: the readings as they stand now."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from rebuildbook.record.kept import Kept
from rebuildbook.record.ledger import NAME, Ledger
from rebuildbook.sheets import Case, JobCard, load_case, parameters_root
from rebuildbook.sheets.load import SheetStore
from rebuildbook.units import Amount, parse_amount

RUNNING = "running-hours"  # what the record calls the hour counter among the measurements
_SAME = 1e-9  # readings that differ by less say the same in two units


@dataclass(frozen=True, slots=True)
class Disagreement:
    """A reading that the card gives one way and the ledger another; the ledger's counts."""

    field: str
    card: str
    kept: Kept


@dataclass(frozen=True, slots=True)
class Record:
    """The record of one job.

    ``standing`` are its entries that count, ``corrected`` pairs of an entry and the one that took
    its place, ``ledger`` the file.
    """

    ledger: Path
    standing: tuple[Kept, ...] = ()
    corrected: tuple[tuple[Kept, Kept], ...] = ()

    def of(self, kind: str) -> tuple[Kept, ...]:
        """The entries of one kind that count, in the order they came in."""
        return tuple(kept for kept in self.standing if kept.entry.kind == kind)


def ledger_of(card: Path, named: Path | str = "") -> Path:
    """The ledger of a job card: the one named, else that of its parameters folder."""
    if named:
        return Path(named)
    return (parameters_root(card) or card.parent) / NAME


def record_of(job: JobCard, ledger: Path) -> Record:
    """Read what the ledger has of a job; raises LedgerError where it cannot be read."""
    rows = Ledger(ledger).entries(serial=job.serial, job=job.job, superseded=True)
    by_id = {kept.id: kept for kept in rows}
    pairs = tuple(
        (kept, by_id[kept.corrected_by]) for kept in rows if kept.corrected_by is not None
    )
    return Record(ledger, tuple(kept for kept in rows if kept.corrected_by is None), pairs)


def recorded_case(
    card: Path, ledger: Path, settings: Iterable[str] = ()
) -> tuple[Case, Record, tuple[Disagreement, ...]]:
    """Load a job card with what was recorded laid over it.

    Gives the case, the record, and where card and record disagree. Raises SheetError for the
    sheets and LedgerError for the ledger.
    """
    given = tuple(settings)
    store = SheetStore()
    case = load_case(card, given, store)
    job, record = case.job, record_of(case.job, ledger)
    laid = [*_torques(job, record), *_single(record)]
    if not laid:
        return case, record, ()
    both = load_case(card, given, store, under=[f"job.{setting}" for setting in laid])
    numbers = {
        joint: tuple(torques_of(case.job, record, joint))
        for joint in by_subject(record.of("torque"))
    }
    case = replace(both, numbers=numbers)
    return case, record, tuple(_disagreements(job, record))


def latest(entries: Iterable[Kept]) -> dict[tuple[str, int | None], Kept]:
    """The last entry for each subject and number."""
    return {(kept.entry.subject, kept.entry.number): kept for kept in entries}


def torques_of(
    job: JobCard, record: Record, joint: str, numbers: Sequence[int] = ()
) -> dict[int, tuple[Amount, Kept | None]]:
    """Readings of a joint by fastener: those of the card, and over them the record's.

    ``numbers`` are the fasteners that the card's are of, the first ones where it is empty.
    """
    read = job.torque_readings.get(joint, [])
    found: dict[int, tuple[Amount, Kept | None]] = {
        number: (amount, None)
        for number, amount in zip(numbers or range(1, len(read) + 1), read, strict=True)
    }
    for (subject, number), kept in latest(record.of("torque")).items():
        if subject == joint and number is not None:
            found[number] = (parse_amount(kept.entry.given, "torque"), kept)
    return dict(sorted(found.items()))


def _torques(job: JobCard, record: Record) -> Iterable[str]:
    for joint in by_subject(record.of("torque")):
        readings = torques_of(job, record, joint).values()
        listed = ", ".join(_quoted(amount.text) for amount, _ in readings)
        yield f"torque_readings.{joint}=[{listed}]"


def _single(record: Record) -> Iterable[str]:
    for kind, place in (("measurement", "measured"), ("test", "test")):
        for (subject, _), kept in latest(record.of(kind)).items():
            field = "running_hours" if subject == RUNNING else f"{place}.{subject}"
            yield f"{field}={_quoted(kept.entry.given)}"


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"  # YAML's way; inches have marks of their own


def _disagreements(job: JobCard, record: Record) -> Iterable[Disagreement]:
    for (subject, number), kept in latest(record.of("torque")).items():
        listed = job.torque_readings.get(subject, [])
        if number is not None and number <= len(listed):
            yield from _differs(f"torque_readings.{subject} no. {number}", listed[number - 1], kept)
    for (subject, _), kept in latest(record.of("measurement")).items():
        if subject in job.measured:
            yield from _differs(f"measured.{subject}", job.measured[subject], kept)
    for (subject, _), kept in latest(record.of("test")).items():
        amount = _below(job.test, subject.split("."))
        if isinstance(amount, Amount):
            yield from _differs(f"test.{subject}", amount, kept)


def _below(part: object, steps: Sequence[str]) -> object:
    for step in steps:
        part = part.get(step) if isinstance(part, dict) else getattr(part, step, None)
    return part


def _differs(field: str, card: Amount, kept: Kept) -> Iterable[Disagreement]:
    si = kept.entry.si
    if si is not None and abs(card.nominal - si) > _SAME * max(abs(si), abs(card.nominal)):
        yield Disagreement(field, card.canonical, kept)


def by_subject(entries: Iterable[Kept]) -> dict[str, list[Kept]]:
    """Entries gathered by what they are of."""
    found: dict[str, list[Kept]] = defaultdict(list)
    for kept in entries:
        found[kept.entry.subject].append(kept)
    return found
