"""Judgements on leaks: the efficiency wanted, the flow asked for, readings that cannot be."""

from __future__ import annotations

from collections.abc import Iterator

from rebuildbook.calculators.volumetric import Volumetric
from rebuildbook.units import number
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.leak_sums import Sums
from rebuildbook.worksheet.model import Finding, Level

_SUM = "leaks by the parts as measured"


def leak_findings(context: Context, sums: Sums) -> Iterator[Finding]:
    """Judge what the leaks leave of the pump, where any place was measured."""
    for of, why in sums.problems.items():
        yield _problem(context, of, why)
    if sums.result is None or not sums.ways:
        return
    if sums.wanted is not None:
        yield _efficiency(context, sums.result, sums.wanted)
    if context.job.duty.flow is not None:
        yield _flow(context, sums.result, context.job.duty.flow.nominal)


def _problem(context: Context, of: str, why: str) -> Finding:
    sheet = context.source("model", f"wear_limits.{of}")
    where, action = f"{of}: what leaks there cannot be reckoned", "Measure again: "
    if of == "duty":
        sheet, where = context.source("job", "duty, fluid"), "Leaks cannot be reckoned at this duty"
        action = "Look at pressures and fluid on the job card: "
    elif of in context.job.seat_defects:
        sheet = context.source("job", f"seat_defects.{of}")
    return Finding(
        f"leaks.{of}.reading", "query", where, why, "", f"{action}one of these is wrong.", sheet
    )


def _efficiency(context: Context, result: Volumetric, wanted: float) -> Finding:
    got = result.balance / result.displacement
    level: Level = "clear" if got >= wanted - 1e-9 else "query"
    pressure = context.job.duty.working_pressure.canonical
    rate = context.job.duty.rate
    assert rate is not None  # noqa: S101  (without it there is no result)
    told = f"{_percent(got)} %" if result.delivers else "nothing delivered"
    return Finding(
        "leaks.efficiency",
        level,
        f"Volumetric efficiency {'as wanted' if level == 'clear' else 'below what is wanted'}",
        f"{told} at {pressure} and {rate.canonical} against {_percent(wanted)} %",
        f"{_percent(abs(got - wanted))} % {'to spare' if level == 'clear' else 'short'}",
        "" if level == "clear" else _worst(result),
        f"{_SUM}; {context.source('model', 'fluid_end')}",
    )


def _worst(result: Volumetric) -> str:
    """What to put right first: the largest leak, with what it takes of all that is lost."""
    slips = [loss for loss in result.losses if loss.kind == "leak" and loss.volume > 0.0]
    if not slips or slips[0] is not result.losses[0]:
        worst = result.losses[0]
        return (
            f"Most goes to {worst.name} ({100.0 * worst.of_losses:.0f} % of what is lost): let the "
            "fluid stand or draw it from below the surface, and look at the suction side."
            if worst.kind == "air"
            else f"Most goes to {worst.name}: look at the wanted efficiency on the model sheet."
        )
    first = slips[0]
    return (
        f"Put the {first.name} right first: it takes {100.0 * first.of_losses:.0f} % of what is "
        "lost. Rework or replace the worn part by the maker's manual, then measure again."
    )


def _flow(context: Context, result: Volumetric, asked: float) -> Finding:
    level: Level = "clear" if result.flow >= asked * (1.0 - 1e-9) else "query"
    wanted = context.job.duty.flow
    assert wanted is not None  # noqa: S101
    got, away = (
        context.value(flow, "flow", unit=wanted.unit)
        for flow in (result.flow, abs(result.flow - asked))
    )
    return Finding(
        "leaks.flow",
        level,
        f"Flow with these leaks {'is enough' if level == 'clear' else 'falls short'}",
        f"{got.shown} at most against {wanted.canonical} asked for",
        f"{away.shown} {'to spare' if level == 'clear' else 'short'}",
        ""
        if level == "clear"
        else "Stop the largest leak before the rate is raised: faster wears it faster.",
        f"{_SUM}; {context.source('job', 'duty.flow')}",
    )


def _percent(share: float) -> str:
    return number(100.0 * share)
