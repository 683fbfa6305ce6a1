"""Inspection: measured parts against their limits, and what becomes of each."""

from __future__ import annotations

from rebuildbook.calculators.wear import disposition, wear_used
from rebuildbook.sheets.model import WearLimit
from rebuildbook.units import Amount
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import (
    Block,
    Caution,
    Finding,
    Level,
    Line,
    Lines,
    Note,
    Section,
    Value,
    given,
)

_WORDS = {
    "reuse": "Reuse as it is.",
    "rework": "Rework before it goes back: {rework}. Measure again after.",
    "replace": "Replace; the old part does not go back.",
}
_LEVELS: dict[str, Level] = {"reuse": "clear", "rework": "query", "replace": "hold"}


def inspection(context: Context) -> Section:
    """Build the inspection section from the wear limits and the measured parts."""
    blocks: list[Block] = [
        Caution("Sharp edges and brittle ceramic parts: gloves and eye protection at the bench.")
    ]
    limits = context.model.wear_limits
    if not limits:
        blocks.append(Note("The model sheet gives no wear limits."))
    findings: list[Finding] = []
    for name, limit in limits.items():
        measured = context.job.measured.get(name)
        if measured is None:
            findings.append(_missing(context, name, limit))
            continue
        blocks.append(_lines(context, name, limit, measured))
        findings.append(_judge(context, name, limit, measured))
    return Section("inspection", "Inspection", (*blocks, *findings))


def start_of_wear(limit: WearLimit) -> float:
    """The new size that wear is counted from: the end of the tolerance nearer to the limit."""
    grows = limit.reuse_limit.nominal > limit.new.nominal
    return limit.new.high if grows else limit.new.low


def _lines(context: Context, name: str, limit: WearLimit, measured: Amount) -> Lines:
    start = start_of_wear(limit)
    used = float(wear_used.si(measured.nominal, start, limit.reuse_limit.nominal))
    from_, to = Value(start, "length", limit.new.unit, 5), given(limit.reuse_limit)
    data = context.source("model", f"wear_limits.{name}")
    lines = (
        Line(f"{name}.new", "New", given(limit.new), data=data),
        Line(f"{name}.limit", "Reuse limit", to, "l", data=data),
        Line(
            f"{name}.measured", "Measured", given(measured), "m",
            data=context.source("job", f"measured.{name}"),
        ),
        Line(
            f"{name}.used", "Wear allowance used", Value(used, "fraction", "%"), "w",
            "(m - n)/(l - n)", {"m": given(measured), "n": from_, "l": to},
            "linear between the new size (end of its tolerance) and the limit", data,
        ),
    )  # fmt: skip
    return Lines(limit.what, lines)


def _judge(context: Context, name: str, limit: WearLimit, measured: Amount) -> Finding:
    start, rework = start_of_wear(limit), limit.rework_limit
    becomes = disposition(
        measured.nominal,
        start,
        limit.reuse_limit.nominal,
        rework.nominal if rework else None,
    )
    away = abs(limit.reuse_limit.nominal - measured.nominal)
    gap = context.value(away, "length").shown
    margin = f"{gap} inside" if becomes == "reuse" else f"{gap} beyond"
    return Finding(
        f"inspection.{name}",
        _LEVELS[becomes],
        f"{limit.what}: {becomes}",
        f"measured {measured.canonical} against reuse limit {limit.reuse_limit.canonical}"
        + (f", rework limit {rework.canonical}" if rework else ""),
        margin,
        _WORDS[becomes].format(rework=limit.rework or "by the maker's manual"),
        context.source("model", f"wear_limits.{name}"),
    )


def _missing(context: Context, name: str, limit: WearLimit) -> Finding:
    return Finding(
        f"inspection.{name}",
        "query",
        f"{limit.what}: not measured",
        f"no reading on the card; reuse limit {limit.reuse_limit.canonical}",
        action="Measure it and write it on the job card, or replace the part.",
        source=context.source("model", f"wear_limits.{name}"),
    )
