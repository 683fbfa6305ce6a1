"""The steps of an assembly in the order of the bench, each with all that it takes."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rebuildbook.sheets.assembly import joint_steps
from rebuildbook.sheets.steps import Step
from rebuildbook.units import number
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.plan import JointPlan, consumables_of, step_order

FASTENER_TIME = 10.0  # s for one fastener in one pass (common practice, no source)
STEP_TIME = 300.0  # s for a step that nobody gives a time for (common practice, no source)
_PRACTICE = "common practice, no source"
BENCH = "bench"  # where a joint without a step of the sheet is done up


@dataclass(frozen=True, slots=True)
class Work:
    """One step as it is done: its number, what the sheet says, its joint; ``duration`` in s.

    ``reckoned`` says where the duration comes from. ``takes`` are its consumables, (what for,
    name). ``step`` is None for a joint that no step of the sheet tightens.
    """

    number: int
    name: str
    what: str
    station: str
    step: Step | None
    plan: JointPlan | None
    takes: tuple[tuple[str, str], ...]
    duration: float
    reckoned: str


def works_of(context: Context, plans: Sequence[JointPlan]) -> tuple[Work, ...]:
    """Give every step of the model in the order of the bench, numbered from 1."""
    by_step = {step: joint for joint, step in joint_steps(context.model).items()}
    by_joint = {plan.name: plan for plan in plans}
    return tuple(
        _work(context, number, name, by_joint.get(by_step.get(name, "")))
        for number, name in enumerate(step_order(context.model), 1)
    )


def stations_of(works: Sequence[Work]) -> list[tuple[str, tuple[Work, ...]]]:
    """Give the runs of steps at one station; a station that is come back to stands twice."""
    runs = itertools.groupby(works, key=lambda work: work.station)
    return [(station, tuple(run)) for station, run in runs]


def _work(context: Context, number: int, name: str, plan: JointPlan | None) -> Work:
    step = context.model.assembly.get(name)
    what = step.what if step else plan.joint.what if plan else name
    duration, reckoned = _duration(context, step, plan)
    takes = tuple(dict.fromkeys(_takes(context, step, plan)))
    station = step.station if step else BENCH
    return Work(number, name, what, station, step, plan, takes, duration, reckoned)


def _takes(
    context: Context, step: Step | None, plan: JointPlan | None
) -> Iterator[tuple[str, str]]:
    if plan is not None:
        for kind, name in consumables_of(context, plan):
            yield "thread" if kind != "used" else "thread, as used", name
    if step is None:
        return
    for seal in step.seals:
        fitted = context.job.seals_fitted.get(seal)
        lubricant = (fitted.lubricant if fitted else None) or context.model.seals[seal].lubricant
        if lubricant is not None:
            yield "seals", lubricant
    for name in step.consumable:
        yield "step", name


def _duration(context: Context, step: Step | None, plan: JointPlan | None) -> tuple[float, str]:
    if step is not None and step.duration is not None:
        return step.duration.nominal, "model sheet"
    if plan is None:
        return STEP_TIME, "not given: taken"
    turns = passes_of(context, plan) * plan.joint.count
    each, _ = fastener_time(context)
    return turns * each, f"{turns} turns × {number(each, 2)} s"


def passes_of(context: Context, plan: JointPlan) -> int:
    """How many passes a joint takes; without a tool by hand, those of the sheet, and one round."""
    if plan.tightening is not None:
        return len(plan.tightening.passes)
    return len(plan.joint.passes or context.shop.passes) + 2


def fastener_time(context: Context) -> tuple[float, str]:
    """What one fastener takes in one pass (s), and who says so."""
    given = context.shop.fastener_time
    if given is None:
        return FASTENER_TIME, _PRACTICE
    return given.nominal, context.source("shop", "fastener_time")
