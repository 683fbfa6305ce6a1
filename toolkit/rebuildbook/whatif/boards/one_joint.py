"""One joint of a case, worked out as the worksheet does, and the knobs that boards share."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from rebuildbook.calculators.thread_friction import friction_conditions
from rebuildbook.sheets import Case
from rebuildbook.units import from_unit, to_unit
from rebuildbook.whatif.boards import knobs
from rebuildbook.whatif.question import Knob, Number
from rebuildbook.worksheet.clamp import Clamp
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import Section
from rebuildbook.worksheet.plan import JointPlan, assembly_order, plan_joints
from rebuildbook.worksheet.relief import assess, highest_pressure
from rebuildbook.worksheet.unit import unit_of
from rebuildbook.worksheet.worked import WorkedJoint, work_out

_SETTING = "What the card notes as set; the preload comes from it"
_WINDOW = "The maker's window; where the card notes no setting, the tool is set to its middle"
_WINDOW_ONLY = "The maker's window; the card notes a setting, so the window only judges it"


@dataclass(frozen=True, slots=True)
class OneJoint:
    """A joint worked out with the highest ``pressure`` (Pa) that the unit can come to."""

    context: Context
    worked: WorkedJoint
    clamp: Clamp
    pressure: float

    @property
    def plan(self) -> JointPlan:
        """How it is tightened."""
        return self.worked.plan


def names(case: Case, fewest: int = 1) -> tuple[str, ...]:
    """Joints with at least so many fasteners, in the order of the bench."""
    joints = case.model.joints
    return tuple(name for name in assembly_order(case.model) if joints[name].count >= fewest)


def picked_name(case: Case, picked: Mapping[str, str], fewest: int = 1) -> str:
    """The joint that is picked, else the first; raises ValueError where there is none."""
    offered = names(case, fewest)
    if not offered:
        least = "joint" if fewest == 1 else f"joint with {fewest} fasteners or more"
        raise ValueError(f"{case.model.name} has no {least}, so there is nothing to try here")
    name = picked.get("joint") or offered[0]
    if name not in offered:
        raise ValueError(f"{name!r} is no joint to try here; there are {', '.join(offered)}")
    return name


def plan_of(case: Case, name: str) -> tuple[Context, JointPlan]:
    """Plan the joint ``name``."""
    context = Context(case)
    return context, next(plan for plan in plan_joints(context) if plan.name == name)


def work(case: Case, name: str) -> OneJoint:
    """Work the joint out; raises ValueError where no preload can be told."""
    context, plan = plan_of(case, name)
    pressure = highest_pressure(context, assess(context, unit_of(context)))
    worked = work_out(context, plan, pressure)
    if worked.clamp is None:
        raise ValueError(no_clamp(plan))
    return OneJoint(context, worked, worked.clamp, pressure)


def no_clamp(plan: JointPlan) -> str:
    """Say why a joint has no preload that can be told."""
    if plan.tool is None:
        why = "; ".join(f"{wrench.name}: {text}" for wrench, text in plan.choice.left_out)
        return f"{plan.name}: no tool of the shop can be judged for it ({why})"
    return (
        f"{plan.name}: {plan.tool.wrench.name} scatters by as much as it is set to, so that no "
        "preload can be told; set it higher or take a finer tool"
    )


def fields(sections: Iterable[Section], wanted: Iterable[str]) -> Iterator[Number]:
    """Rows for those lines of the worksheet that are wanted and there, in the order wanted."""
    found = {line.id: line for section in sections for line in section.lines()}
    for id_ in wanted:
        if id_ in found:
            yield Number(id_, found[id_].name, found[id_].value)


# knobs


def torque_knobs(case: Case, plan: JointPlan) -> Iterator[Knob]:
    """The setting noted on the card, where there is one, and the maker's window."""
    use, window = case.job.tools.get(plan.name), plan.joint.torque
    noted = use is not None and use.setting is not None
    if use is not None and use.setting is not None:
        yield setting_knob(case, plan)
    low, high = plan.plausible
    yield knobs.quantity(
        case, "torque", "Torque window", f"joints.{plan.name}.torque", window, (low, high),
        "torque", help=_WINDOW_ONLY if noted else _WINDOW,
    )  # fmt: skip


def setting_knob(case: Case, plan: JointPlan) -> Knob:
    """The value set on the tool, in the unit of its scale."""
    use, tool = case.job.tools.get(plan.name), plan.tool
    unit = tool.wrench.scale_unit if tool else plan.joint.torque.unit
    ends = (tool.wrench.low, tool.wrench.high) if tool else plan.plausible
    return knobs.quantity(
        case, "setting", "Wrench set to", f"tools.{plan.name}.setting",
        use.setting if use else None, ends, "torque", unit=unit, help=_SETTING,
    )  # fmt: skip


def friction_knobs(case: Case, plan: JointPlan) -> Iterator[Knob]:
    """What is on the thread, and the nut factor where known better than the table."""
    joint = plan.joint
    used = case.job.consumables_used.get(plan.name)
    things = {name: one for name, one in case.shop.consumables.items() if one.condition}
    if used in things:
        yield knobs.choice(
            "used", "On the thread", f"consumables_used.{plan.name}", used, things,
            help="The card notes what was used, and its friction counts",
        )  # fmt: skip
    else:
        yield knobs.choice(
            "condition", "Thread condition", f"joints.{plan.name}.condition", joint.condition,
            friction_conditions(), help="A state of the friction table",
        )  # fmt: skip
    yield knobs.quantity(
        case, "nut_factor", "Nut factor", f"joints.{plan.name}.nut_factor", joint.nut_factor,
        (0.06, 0.5), "number",
        help="A value or a range, where known better than the table; without it the table's",
    )  # fmt: skip


def force_units(context: Context, load: float) -> tuple[str, str]:
    """Unit of the shop for a force of this size, and that of the other system."""
    unit = context.value(load, "force").unit
    return unit, knobs.other_unit("force", unit, load)


def in_unit(si: float, unit: str, then: str) -> float:
    """Take the number that ``si`` has in ``unit`` for one in the unit ``then``; SI."""
    return from_unit(to_unit(si, unit), then)
