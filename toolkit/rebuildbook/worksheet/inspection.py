"""Inspection: measured parts against their limits, and what becomes of each."""

from __future__ import annotations

from rebuildbook.calculators.wear import disposition, wear_used
from rebuildbook.sheets.wear import WearLimit
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
    lines: list[Line] = []
    for name, limit in limits.items():
        measured = context.job.measured.get(name)
        if measured is None:
            findings.append(_missing(context, name, limit))
            continue
        lines += _lines(context, name, limit, measured)
        findings.append(_judge(context, name, limit, measured))
    if lines:
        blocks.append(Lines("Measured parts", tuple(lines)))
    return Section("inspection", "Inspection", (*blocks, *findings))


def start_of_wear(limit: WearLimit) -> float:
    """The new size that wear is counted from: the end of the tolerance nearer to the limit."""
    grows = limit.reuse_limit.nominal > limit.new.nominal
    return limit.new.high if grows else limit.new.low


def _lines(context: Context, name: str, limit: WearLimit, measured: Amount) -> tuple[Line, Line]:
    start = start_of_wear(limit)
    used = float(wear_used.si(measured.nominal, start, limit.reuse_limit.nominal))
    inputs = {
        "m": given(measured),
        "n": Value(start, "length", limit.new.unit, 5),
        "l": given(limit.reuse_limit),
    }
    data = context.source("model", f"wear_limits.{name}")
    return (
        Line(
            f"inspection.{name}.measured",
            limit.what,
            given(measured),
            method=f"new {limit.new.canonical}",
            data=context.source("job", f"measured.{name}"),
        ),
        Line(
            f"inspection.{name}.used",
            "Wear allowance used",
            Value(used, "fraction", "%"),
            "w",
            "(m - n)/(l - n)",
            inputs,
            "from the new size (end of its tolerance) to the reuse limit",
            data,
        ),
    )


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
