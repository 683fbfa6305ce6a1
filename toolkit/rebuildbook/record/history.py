"""What the ledger has of one unit, job by job: sizes, torques, tests, findings, releases."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from rebuildbook.record.entry import Kind
from rebuildbook.record.kept import Kept
from rebuildbook.units import UnitProblem, parse_amount, shop_unit

LEVELS = ("hold", "query", "clear")
Name = tuple[str, int | None]  # subject and number


@dataclass(frozen=True, slots=True)
class JobRecord:
    """One job of the unit: its entries, those that were corrected too.

    ``on`` is the first day that an entry names, else the day the first was put in; ``hours`` the
    running time of the unit (s) where it was recorded.
    """

    job: str
    on: str
    entries: tuple[Kept, ...]
    hours: float | None = None

    def of(self, kind: Kind) -> tuple[Kept, ...]:
        """The entries of a kind that stand."""
        return tuple(
            kept for kept in self.entries if kept.entry.kind == kind and kept.corrected_by is None
        )

    @property
    def findings(self) -> dict[str, int]:
        """How many findings of each level were recorded; one recorded again counts once."""
        last = {kept.entry.subject: kept.entry.text for kept in self.of("finding")}
        levels = Counter(text.partition(":")[0].strip().lower() for text in last.values())
        return {
            level: count
            for level, count in sorted(levels.items(), key=lambda found: _rank(found[0]))
            if level
        }


@dataclass(frozen=True, slots=True)
class Spread:
    """Readings of one joint in one job, SI: how many, the mean, the least and the most."""

    count: int
    mean: float
    least: float
    most: float
    kept: tuple[Kept, ...]


def jobs_of(entries: Iterable[Kept]) -> tuple[JobRecord, ...]:
    """Sort the entries of one unit into its jobs, the oldest first."""
    by_job: dict[str, list[Kept]] = defaultdict(list)
    for kept in entries:
        by_job[kept.entry.job].append(kept)
    made = [
        JobRecord(job, _first_day(rows), tuple(rows), _hours(rows)) for job, rows in by_job.items()
    ]
    return tuple(sorted(made, key=lambda one: (one.on, one.entries[0].id)))


def readings(jobs: Sequence[JobRecord], kind: Kind) -> dict[Name, dict[int, tuple[Kept, ...]]]:
    """Quantities of a kind by what they are of, and by the place of their job among ``jobs``.

    Of a reading that was taken more than once in a job all are given, in the order put in.
    """
    found: dict[Name, dict[int, tuple[Kept, ...]]] = defaultdict(dict)
    for place, job in enumerate(jobs):
        for kept in job.of(kind):
            entry = kept.entry
            if entry.si is not None and not is_hours(kept):
                rows = found[entry.subject, entry.number]
                rows[place] = (*rows.get(place, ()), kept)
    return dict(sorted(found.items(), key=lambda one: (one[0][0], one[0][1] or 0)))


def torques(jobs: Sequence[JobRecord]) -> dict[str, dict[int, Spread]]:
    """The spread of every joint's readings, by the place of the job among ``jobs``.

    Of a fastener that was read more than once in a job the last reading counts.
    """
    found: dict[str, dict[int, Spread]] = defaultdict(dict)
    for place, job in enumerate(jobs):
        last: dict[str, dict[int, Kept]] = defaultdict(dict)
        for kept in job.of("torque"):
            entry = kept.entry
            if entry.si is not None:
                last[entry.subject][-kept.id if entry.number is None else entry.number] = kept
        for joint, rows in last.items():
            found[joint][place] = _spread(tuple(rows.values()))
    return dict(sorted(found.items()))


def corrections(jobs: Sequence[JobRecord]) -> tuple[tuple[Kept, Kept], ...]:
    """Every entry that was corrected, with the one that took its place, in their order."""
    by_id = {kept.id: kept for job in jobs for kept in job.entries}
    return tuple((by_id[kept.corrects], kept) for _, kept in sorted(by_id.items()) if kept.corrects)


def mean(rows: Iterable[Kept]) -> float:
    """The mean of the quantities, SI."""
    values = [kept.entry.si for kept in rows if kept.entry.si is not None]
    return sum(values) / len(values)


def unit_of(kept: Kept) -> str:
    """The unit that the quantity was given in."""
    entry = kept.entry
    try:
        return parse_amount(entry.given, entry.dimension).unit
    except (UnitProblem, KeyError):
        return shop_unit(entry.dimension, "metric")


def is_hours(kept: Kept) -> bool:
    """Whether a reading is the running time of the unit, which is no size."""
    entry = kept.entry
    plain = entry.subject.lower().replace("-", " ").replace("_", " ")
    return entry.dimension == "time" and plain == "running hours"


def _spread(rows: tuple[Kept, ...]) -> Spread:
    values = [kept.entry.si for kept in rows if kept.entry.si is not None]
    return Spread(len(values), sum(values) / len(values), min(values), max(values), rows)


def _first_day(rows: Sequence[Kept]) -> str:
    days = [kept.entry.on[:10] for kept in rows if kept.entry.on]
    return min(days, default=rows[0].entered[:10])


def _hours(rows: Sequence[Kept]) -> float | None:
    given = [kept.entry.si for kept in rows if is_hours(kept) and kept.corrected_by is None]
    return given[-1] if given else None


def _rank(level: str) -> int:
    return LEVELS.index(level) if level in LEVELS else len(LEVELS)
