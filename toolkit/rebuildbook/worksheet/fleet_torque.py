"""Torque readings of each joint over all jobs of a model: their scatter, and which stand out."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from rebuildbook.calculators.control_chart import (
    D_2,
    LEAST_READINGS,
    Individuals,
    individuals,
    spread,
)
from rebuildbook.figures.control_chart import control_chart
from rebuildbook.figures.style import svg
from rebuildbook.record.overlay import torques_of
from rebuildbook.units import Amount, shop_unit, to_unit
from rebuildbook.worksheet.fleet_read import FleetData, FleetJob
from rebuildbook.worksheet.fleet_table import Column, FleetTable, counted, few
from rebuildbook.worksheet.model import (
    Block,
    Finding,
    Line,
    Note,
    Picture,
    Section,
    Value,
    series,
)

_TITLE = "Torques over the jobs"
_LIMITS = "individuals chart (NIST/SEMATECH e-Handbook 6.3.2.2, from memory)"
MOST_DRAWN = 120  # readings in the figure
_USUAL = 10.0  # N·m; what the unit of all torques on the sheet is chosen by


@dataclass(frozen=True, slots=True)
class JointTorques:
    """All readings of one joint of one model, N·m, in the order taken.

    ``names`` say of each which job and fastener it is; ``breaks`` where another job begins.
    ``chart`` is None where the readings are too few.
    """

    model: str
    joint: str
    window: Amount
    values: tuple[float, ...]
    names: tuple[str, ...]
    breaks: tuple[int, ...]
    chart: Individuals | None

    @property
    def off_window(self) -> tuple[str, ...]:
        """Readings outside the joint's window, by name."""
        return tuple(
            name
            for name, value in zip(self.names, self.values, strict=True)
            if not self.window.low <= value <= self.window.high
        )

    @property
    def outside(self) -> tuple[str, ...]:
        """Readings outside the control limits, by name."""
        return tuple(self.names[place] for place in self.chart.outside) if self.chart else ()


def torques_over_jobs(fleet: FleetData) -> list[JointTorques]:
    """Gather the readings of every joint of every model; the record's before the card's."""
    return [
        joint
        for model, jobs in fleet.by_model.items()
        for joint in _of_model(model, sorted(jobs, key=lambda job: (job.day, job.name)))
    ]


def _of_model(model: str, jobs: Sequence[FleetJob]) -> Iterator[JointTorques]:
    for name, joint in jobs[-1].case.model.joints.items():
        values: list[float] = []
        names: list[str] = []
        breaks: list[int] = []
        for job in jobs:
            readings = torques_of(job.case.job, job.record, name)
            if readings and values:
                breaks.append(len(values))
            for number, (amount, _) in readings.items():
                values.append(amount.nominal)
                names.append(f"{job.name} no. {number}")
        if values:
            window = joint.torque
            usual = [window.low <= value <= window.high for value in values]
            chart = individuals(values, usual) if sum(usual) >= LEAST_READINGS else None
            yield JointTorques(
                model, name, window, tuple(values), tuple(names), tuple(breaks), chart
            )


def torques(fleet: FleetData) -> tuple[Section, FleetTable]:
    """Build the section on torques, with the chart of the joint that has most outside."""
    found = torques_over_jobs(fleet)
    found.sort(key=lambda one: (-len(one.outside), -len(one.off_window), one.model, one.joint))
    unit = shop_unit("torque", fleet.jobs[-1].context.system if fleet.jobs else "metric", _USUAL)
    table = _table(found, unit)
    if not found:
        return Section("torques", _TITLE, (Note("No job has a torque reading yet."),)), table
    blocks: list[Block] = [*_findings(found)]
    charted = [one for one in found if one.chart is not None]
    if charted:
        blocks.append(_picture(charted[0]))
        blocks += series(
            (f"{one.model}, {one.joint}", line) for one in charted[:6] for line in _lines(one)
        )
    if len(charted) < len(found):
        blocks.append(
            Note(
                f"Joints with fewer than {LEAST_READINGS} readings in the window have no control "
                "limits. Readings off the window are held against the limits and do not make them."
            )
        )
    return Section("torques", _TITLE, (*blocks, table.shown())), table


def _table(found: Sequence[JointTorques], unit: str) -> FleetTable:
    columns = (
        Column("Model", width=22), Column("Joint", width=18), Column("Readings", width=9),
        Column("Mean", unit), Column("Scatter s", unit), Column("Least", unit),
        Column("Most", unit), Column("Window from", unit), Column("to", unit),
        Column("Off window", width=10, paper=False), Column("Control from", unit),
        Column("to", unit),
        Column("Off control", width=10), Column("Which", width=50, paper=False),
    )  # fmt: skip

    def shown(si: float | None) -> float | None:
        return None if si is None else to_unit(si, unit)

    rows = tuple(
        (
            one.model, one.joint, len(one.values), shown(sum(one.values) / len(one.values)),
            shown(spread(one.values)), shown(min(one.values)), shown(max(one.values)),
            shown(one.window.low), shown(one.window.high), len(one.off_window),
            shown(one.chart.low if one.chart else None),
            shown(one.chart.high if one.chart else None), len(one.outside),
            few(one.outside, 4),
        )
        for one in found
    )  # fmt: skip
    note = "Mean and scatter are of all readings, control limits of those in the window."
    return FleetTable("torques", "Readings of each joint", columns, rows, note)


def _lines(one: JointTorques) -> Iterator[Line]:
    assert one.chart is not None  # noqa: S101
    unit, id_ = one.window.unit, f"fleet.torques.{one.model}.{one.joint}"
    mean = Value(one.chart.mean, "torque", unit, 4)
    moving = Value(one.chart.moving_range, "torque", unit)
    yield Line(
        f"{id_}.mean",
        "Mean of the readings",
        mean,
        "T_mean",
        method="of the readings in the window",
    )
    yield Line(
        f"{id_}.moving-range", "Mean step from reading to reading", moving, "R_m",
        method="of the sizes of the steps, readings off the window left out",
    )  # fmt: skip
    for word, sign, si in (("lower", "-", one.chart.low), ("upper", "+", one.chart.high)):
        yield Line(
            f"{id_}.{word}",
            f"{word.capitalize()} control limit",
            Value(si, "torque", unit, 4),
            f"T_{word}",
            f"T_mean {sign} 3*R_m/d_2",
            {"T_mean": mean, "R_m": moving, "d_2": Value(D_2, "number", "", 4)},
            _LIMITS,
        )


def _picture(one: JointTorques) -> Picture:
    assert one.chart is not None  # noqa: S101
    shown = len(_excerpt(one.chart))
    some = f"{shown} of {len(one.values)} " if shown < len(one.values) else ""
    return Picture(
        "control-chart",
        f"{one.model}, {one.joint}: {some}readings in the order taken; mean, control limits "
        "(broken lines) and the joint's window (band). Dotted lines part the jobs.",
        f"Control chart of {counted(len(one.values), 'reading')}, {len(one.outside)} outside",
        functools.partial(_draw, one),
    )


def _draw(one: JointTorques) -> str:
    assert one.chart is not None  # noqa: S101
    window = one.window.low, one.window.high
    places = _excerpt(one.chart)
    chart = replace(
        one.chart,
        values=one.chart.values[places.start : places.stop],
        outside=tuple(place - places.start for place in one.chart.outside if place in places),
    )
    names = [one.names[place] for place in one.chart.outside if place in places]
    breaks = [place - places.start for place in one.breaks if place in places]
    figure = control_chart(chart, one.window.unit, window, breaks, names)
    return svg(figure, f"Control chart of {one.joint}")


def _excerpt(chart: Individuals) -> range:
    """Places of the readings that a figure has room for: up to a little past the last outside."""
    count = len(chart.values)
    end = min(count, chart.outside[-1] + 1 + MOST_DRAWN // 10) if chart.outside else count
    end = max(end, min(count, MOST_DRAWN))
    return range(max(0, end - MOST_DRAWN), end)


def _findings(found: Sequence[JointTorques]) -> Iterator[Finding]:
    out = [one for one in found if one.outside]
    source = f"torque readings of cards and ledger; {_LIMITS}"
    for one in out[:8]:
        yield Finding(
            f"fleet.torques.{one.model}.{one.joint}",
            "query",
            f"{one.model}, {one.joint}: readings outside their usual scatter",
            f"{len(one.outside)} of {counted(len(one.values), 'reading')}: {few(one.outside, 6)}",
            action="Ask what was different there: tool, lubricant, hand, or the unit that was "
            "read in.",
            source=source,
        )
    if len(out) > 8:
        yield Finding(
            "fleet.torques.more",
            "query",
            f"{counted(len(out) - 8, 'joint')} more with readings outside their usual scatter",
            few([f"{one.model}, {one.joint}" for one in out[8:]]),
            action="See the table.",
            source=source,
        )
    if not out:
        count = sum(one.chart is not None for one in found)
        yield Finding(
            "fleet.torques",
            "clear",
            "No reading stands outside its usual scatter",
            f"{counted(count, 'joint')} with enough readings to tell",
            source=source,
        )
