"""Put a worksheet together: every section of one case, and the findings before them."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from rebuildbook.sheets import Case, load_case
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
from rebuildbook.worksheet.worked import work_out


class Worksheet(JobSheet):
    """All sections of one case, computed once and shown one by one."""

    def __init__(self, case: Case, paper: str = "") -> None:
        context = Context(case)
        unit = unit_of(context)
        moving = in_motion(context, unit)
        plans = plan_joints(context)
        valve = assess(context, unit)
        highest = highest_pressure(context, valve)
        worked = {
            plan.name: work_out(context, self.tightened(context, plan), highest) for plan in plans
        }
        made = (
            make_safe(context),
            identity(context, unit),
            inspection(context),
            leaks(context),
            joints(context, plans),
            preloads(context, worked.values()),
            service(context, worked.values()),
            rod_section(context, unit, worked, highest),
            seals(context, worked, highest),
            orders(context, plans),
            evenness(context, worked.values()),
            checks(context),
            running(context, unit, moving),
            valves_moving(context, unit, moving),
            relief(context, unit, valve),
            relief_more(context, unit, valve),
            bench_test(context, unit, moving),
            sign_off(context),
        )
        self.worked = worked
        self.case = case
        self.paper = paper or case.shop.paper
        self.sections: dict[str, Section] = {
            section.id: section for section in (findings_first(context, made), *made)
        }

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
