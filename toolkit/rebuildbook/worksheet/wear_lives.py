"""Life left of measured parts, from what they wore over the running hours of the unit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from rebuildbook.calculators.wear_life import Measurement, WearLife, wear_life
from rebuildbook.sheets.leaks import grows
from rebuildbook.sheets.wear import WearLimit
from rebuildbook.units import Amount
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.leak_sums import SizeLimit


@dataclass(frozen=True, slots=True)
class PartLife:
    """What is left of the part of one wear limit.

    ``by_efficiency``: the limit is where the wanted efficiency is lost, which comes before that of
    the sheet. ``replaced`` are the times, s, that a part fitted new lasts by the same line: best,
    low and high.
    """

    name: str
    limit: WearLimit
    life: WearLife
    by_efficiency: bool
    replaced: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Lives:
    """Lives by part, the wear limits with too few past readings, and readings that disagree."""

    parts: tuple[PartLife, ...]
    few: tuple[str, ...]
    problems: Mapping[str, str]


def lives_of(context: Context, limits: Sequence[SizeLimit]) -> Lives:
    """Work out the life left of every part with readings over the unit's running hours."""
    made: list[PartLife] = []
    few: list[str] = []
    problems: dict[str, str] = {}
    sizes = {limit.name: limit.size for limit in limits}
    for name, limit in context.model.wear_limits.items():
        readings = readings_of(context, name)
        read = sum(reading.size is not None for reading in readings)
        if not read:
            continue
        # a part that no past job names may have been changed since the hours began
        told = any(name in past.measured or name in past.fitted for past in context.job.past)
        if not told or (read < 2 and limit.reading_scatter is None):
            few.append(name)
            continue
        try:
            made.append(_life(name, limit, readings, sizes.get(name)))
        except ValueError as problem:
            problems[name] = str(problem)
    return Lives(tuple(made), tuple(few), problems)


def readings_of(context: Context, name: str) -> tuple[Measurement, ...]:
    """Readings of one wear limit over the running time, s, past jobs first, this one last."""
    job = context.job
    found = [
        Measurement(past.hours.nominal, _size(past.measured, name), _size(past.fitted, name))
        for past in job.past
        if name in past.measured or name in past.fitted
    ]
    if job.running_hours is not None and name in job.measured:
        found.append(Measurement(job.running_hours.nominal, job.measured[name].nominal))
    return tuple(found)


def _size(sizes: Mapping[str, Amount], name: str) -> float | None:
    return sizes[name].nominal if name in sizes else None


def _life(
    name: str, limit: WearLimit, readings: tuple[Measurement, ...], at_efficiency: float | None
) -> PartLife:
    # the true new size is unknown within its tolerance; the middle leans neither way
    new, reuse = limit.new.nominal, limit.reuse_limit.nominal
    growing = 1.0 if grows(limit) else -1.0
    fitted = next((one.fitted for one in reversed(readings) if one.fitted is not None), new)
    by_efficiency = at_efficiency is not None and (
        growing * fitted < growing * at_efficiency < growing * reuse
    )
    end = at_efficiency if by_efficiency and at_efficiency is not None else reuse
    scatter = limit.reading_scatter.nominal if limit.reading_scatter else None
    life = wear_life(readings, new, end, scatter=scatter)
    return PartLife(name, limit, life, by_efficiency, life.line.ages_at(growing * (end - new)))
