"""What the record needs to know of a job's plan: joints, order, wrench in hand."""

from __future__ import annotations

from rebuildbook.record.bench import Bench, JointBench
from rebuildbook.sheets import Case
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.plan import JointPlan, adapter_of, plan_joints, wrenches_of


def bench_of(case: Case) -> Bench:
    """Plan the joints of a case and hand on what readings are held against."""
    context = Context(case)
    joints = {plan.name: _joint(context, plan) for plan in plan_joints(context)}
    least = case.shop.margins.least_of_scale
    bench = Bench(case, joints, wrenches_of(context))
    return bench if least is None else Bench(case, joints, bench.wrenches, least.nominal)


def _joint(context: Context, plan: JointPlan) -> JointBench:
    window, made = plan.joint.torque, plan.tightening
    use = context.job.tools.get(plan.name)
    return JointBench(
        plan.name,
        plan.joint.what,
        plan.joint.count,
        window.low,
        window.high,
        window.unit,
        window.canonical,
        made.passes[-1].order if made else (),
        use.wrench if use else plan.tool.wrench.name if plan.tool else "",
        use is not None,
        adapter_of(context, plan.joint, use),
    )
