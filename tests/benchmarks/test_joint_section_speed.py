"""How long the joint sections of a worksheet take: pytest --benchmark-only tests/benchmarks."""

from pathlib import Path

import pytest

from rebuildbook.sheets import load_case
from rebuildbook.worksheet.clamp import spread_of
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.plan import plan_joints
from rebuildbook.worksheet.preload import preloads
from rebuildbook.worksheet.service import service
from rebuildbook.worksheet.worked import work_out

CARD = Path(__file__).resolve().parents[2] / "parameters" / "jobs" / "TW-2601.yaml"


@pytest.mark.benchmark(group="joints")
@pytest.mark.parametrize("joints", ["one joint", "all joints"])
def test_preload_and_service_sections(benchmark, joints: str) -> None:
    """From the plan of the joints to their lines and findings, no draw remembered from before."""
    context = Context(load_case(CARD))
    plans = plan_joints(context)[: 1 if joints == "one joint" else None]

    def sections() -> int:
        spread_of.cache_clear()
        worked = [work_out(context, plan, 28e5) for plan in plans]
        made = (preloads(context, worked), service(context, worked))
        return sum(1 for section in made for _ in section.lines())

    assert benchmark(sections) > 20 * len(plans)
