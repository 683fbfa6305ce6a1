"""Put a worksheet together: every section of one case, and the findings before them."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from rebuildbook.sheets import Case, load_case
from rebuildbook.sheets.kept import LateReadError, watched
from rebuildbook.worksheet.bench_test import bench_test
from rebuildbook.worksheet.checks import checks
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.document import JobSheet
from rebuildbook.worksheet.evenness import evenness
from rebuildbook.worksheet.identity import identity
from rebuildbook.worksheet.in_motion import in_motion
from rebuildbook.worksheet.inspection import inspection
from rebuildbook.worksheet.joints import joints
from rebuildbook.worksheet.leaks import leaks
from rebuildbook.worksheet.model import Section
from rebuildbook.worksheet.orders import orders
from rebuildbook.worksheet.plan import JointPlan, plan_joints
from rebuildbook.worksheet.preload import preloads
from rebuildbook.worksheet.relief import assess, highest_pressure, relief
from rebuildbook.worksheet.relief_installed import relief_more
from rebuildbook.worksheet.rod import rod_section
from rebuildbook.worksheet.running import running
from rebuildbook.worksheet.safety import make_safe
from rebuildbook.worksheet.seals import seals
from rebuildbook.worksheet.service import service
from rebuildbook.worksheet.summary import findings_first, sign_off
from rebuildbook.worksheet.unit import unit_of
from rebuildbook.worksheet.valves_moving import valves_moving
from rebuildbook.worksheet.worked import WorkedJoint, work_out


class Worksheet(JobSheet):
    """All sections of one case, computed once and shown one by one."""

    def __init__(self, case: Case, paper: str = "") -> None:
        self.case = case
        self.paper = paper or case.shop.paper
        try:
            made = self._made(Context(watched(case, case.kept) if case.kept else case))
        except LateReadError:
            made = self._made(Context(case))
        self.worked, self.sections = made

    def _made(self, context: Context) -> tuple[dict[str, WorkedJoint], dict[str, Section]]:
        """Work out joints and sections, or take over those of which nothing they read changed."""
        unit = context.keep(unit_of)
        moving = context.keep(in_motion, unit)
        plans = plan_joints(context)
        valve = context.keep(assess, unit)
        highest = context.keep(highest_pressure, valve)
        worked = {
            plan.name: context.keep(work_out, self.tightened(context, plan), highest, of=plan.name)
            for plan in plans
        }
        joined = tuple(worked.values())
        made = (
            context.keep(make_safe),
            context.keep(identity, unit),
            context.keep(inspection),
            context.keep(leaks),
            context.keep(joints, plans),
            context.keep(preloads, joined),
            context.keep(service, joined),
            context.keep(rod_section, unit, worked, highest),
            context.keep(seals, worked, highest),
            context.keep(orders, plans),
            context.keep(evenness, joined),
            context.keep(checks),
            context.keep(running, unit, moving),
            context.keep(valves_moving, unit, moving),
            context.keep(relief, unit, valve),
            context.keep(relief_more, unit, valve),
            context.keep(bench_test, unit, moving),
            context.keep(sign_off),
        )
        return worked, {section.id: section for section in (findings_first(context, made), *made)}

    def tightened(self, context: Context, plan: JointPlan) -> JointPlan:
        """Give a joint as it is tightened: here, as it is planned."""
        return plan


def open_worksheet(
    job_card: str | Path, overrides: Iterable[str] = (), paper: str = ""
) -> Worksheet:
    """Load a job card with the sheets it names and compute its worksheet.

    ``paper`` is "a4" or "letter"; empty takes the shop's. Raises SheetError with
    every problem of the sheets.
    """
    return Worksheet(load_case(Path(job_card), overrides), paper)
