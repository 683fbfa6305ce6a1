"""A joint worked out: how it is tightened, what the torque gives, what is left of it in service."""

from __future__ import annotations

from dataclasses import dataclass

from rebuildbook.worksheet.clamp import Clamp, clamp_of
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.plan import JointPlan
from rebuildbook.worksheet.under_load import UnderLoad, under_load


@dataclass(frozen=True, slots=True)
class WorkedJoint:
    """One joint; ``clamp`` is None where no preload can be told, ``load`` without a stiffness.

    Without a clamp there is no load either.
    """

    plan: JointPlan
    clamp: Clamp | None
    load: UnderLoad | None


def work_out(context: Context, plan: JointPlan, pressure: float) -> WorkedJoint:
    """Work one joint out under ``pressure``, Pa, the highest it can see."""
    clamp = clamp_of(context, plan)
    return WorkedJoint(plan, clamp, under_load(context, plan, clamp, pressure) if clamp else None)
