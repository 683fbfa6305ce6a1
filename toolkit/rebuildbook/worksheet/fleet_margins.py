"""The smallest margins of the fleet: joints that stay shut, fasteners, relief, tools."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rebuildbook.units import UnitProblem, parse_amount
from rebuildbook.worksheet.fleet_read import FleetData, FleetJob, Results
from rebuildbook.worksheet.fleet_table import Column, FleetTable, few
from rebuildbook.worksheet.model import Block, Finding, Level, Note, Section

EACH = 5  # of a kind, on the page
SOURCE = "lines and findings of each job's results"
KINDS = {
    "shut": "Joint stays shut: pressure that opens it over the highest",
    "yield": "Fastener: proof load over the most preload",
    "relief": "Relief: limit of the weakest part over the highest opening pressure",
    "tool": "Tool in the window: the nearer edge, of the window's half width",
}
_PASSES = {"shut": 1.0, "yield": 1.0, "relief": 1.0, "tool": 0.0}


@dataclass(frozen=True, slots=True)
class Margin:
    """One margin of one job as a ratio; ``level`` is that of the finding that judged it."""

    kind: str
    ratio: float
    job: FleetJob
    of: str
    level: Level
    compared: str


def margins(fleet: FleetData) -> dict[str, list[Margin]]:
    """Gather the margins of the last job of every unit by kind, the smallest first."""
    found: dict[str, list[Margin]] = {kind: [] for kind in KINDS}
    for job in fleet.last.values():
        if job.worksheet is not None:
            for margin in _of_job(job, job.worksheet):
                found[margin.kind].append(margin)
    for several in found.values():
        several.sort(key=lambda one: one.ratio)
    return found


def _of_job(job: FleetJob, results: Results) -> Iterator[Margin]:
    numbers, findings = results.numbers, results.findings
    for name, joint in job.case.model.joints.items():
        for kind, id_, ratio in (
            ("shut", f"service.{name}.shut", numbers.get(f"service.{name}.margin")),
            (
                "yield",
                f"preload.{name}.yield",
                _over(
                    numbers.get(f"joints.{name}.proof-load"), numbers.get(f"preload.{name}.most")
                ),
            ),
            ("tool", f"joints.{name}.tool", _tool(findings.get(f"joints.{name}.tool"), joint)),
        ):
            finding = findings.get(id_)
            if ratio is not None and finding is not None and math.isfinite(ratio):
                yield Margin(kind, ratio, job, name, finding.level, finding.compared)
    relief, opens = findings.get("relief.set-vs-limit"), numbers.get("relief.opens-high")
    if relief is not None and opens:
        left = _margin(relief, "pressure")
        if left is not None:
            of = " ".join(relief.compared.rpartition("limit of ")[2].split()[:-2])
            ratio = 1.0 + left / opens
            yield Margin("relief", ratio, job, of, relief.level, relief.compared)


def _over(top: float | None, bottom: float | None) -> float | None:
    return top / bottom if top is not None and bottom else None


def _tool(finding: Finding | None, joint: object) -> float | None:
    """A tool's margin over half the window; only a tool that fits has one."""
    window = getattr(joint, "torque", None)
    if finding is None or window is None or window.high <= window.low:
        return None
    left = _margin(finding, "torque")
    return None if left is None else 2.0 * left / (window.high - window.low)


def _margin(finding: Finding, dimension: str) -> float | None:
    """The margin that a finding says, SI; as precise as it is written there."""
    with contextlib.suppress(UnitProblem):
        return parse_amount(finding.margin.replace("\u202f", ""), dimension).nominal
    return None


def worst_margins(fleet: FleetData) -> tuple[Section, FleetTable]:
    """Build the section on the smallest margins."""
    found = margins(fleet)
    rows = [one for kind in KINDS for one in found[kind]]
    columns = (
        Column("Margin", width=50), Column("Ratio", width=8), Column("Job"),
        Column("Serial", paper=False),
        Column("Model", width=22), Column("Of", width=24), Column("Level", width=8, paper=False),
        Column("Compared", width=70),
    )  # fmt: skip
    table = FleetTable("margins", "Margins", columns, tuple(map(_row, rows)), _NOTE)
    if not rows:
        words = "No results lie in the outputs; run the jobs to see their margins."
        return Section("margins", "Smallest margins", (Note(words),)), table
    blocks: list[Block] = [*_findings(found)]
    for kind, title in KINDS.items():
        some = tuple(map(_row, found[kind][:EACH]))
        part = FleetTable(kind, title, columns[1:], tuple(row[1:] for row in some))
        if some:
            blocks.append(part.shown())
    blocks.append(Note(_NOTE))
    return Section("margins", "Smallest margins", tuple(blocks)), table


_NOTE = (
    "Of the last job of each unit, by its worksheet. Relief and tool margins are as precise as the "
    "results write them; a tool that does not fit its window has none here but a finding there."
)


def _row(one: Margin) -> tuple[str | float, ...]:
    return (
        KINDS[one.kind], one.ratio, one.job.name, one.job.serial, one.job.model, one.of,
        one.level, one.compared,
    )  # fmt: skip


def _findings(found: dict[str, Sequence[Margin]] | dict[str, list[Margin]]) -> Iterator[Finding]:
    for kind, several in found.items():
        below = [one for one in several if one.ratio < _PASSES[kind]]
        if not several:
            continue
        worst = several[0]
        title = KINDS[kind].partition(":")[0]
        if below:
            yield Finding(
                f"fleet.margins.{kind}", worst.level if worst.level != "clear" else "query",
                f"{title}: {len(below)} of {len(several)} below what is wanted",
                few([f"{one.job.name} {one.of} {one.ratio:.2f}" for one in below], 6),
                action="See the finding in each job; begin with the smallest.", source=SOURCE,
            )  # fmt: skip
        else:
            yield Finding(
                f"fleet.margins.{kind}", "clear", f"{title}: none below what is wanted",
                f"least {worst.ratio:.2f} of {len(several)}, {worst.job.name} {worst.of}",
                source=SOURCE,
            )  # fmt: skip
