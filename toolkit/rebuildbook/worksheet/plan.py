"""How each joint of a case is to be tightened: tool, setting, order, passes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rebuildbook.calculators import layout as layouts
from rebuildbook.calculators.assembly import work_order
from rebuildbook.calculators.layout import Layout
from rebuildbook.calculators.thread_strength import StrengthClass, strength_class
from rebuildbook.calculators.threads import Thread
from rebuildbook.calculators.tightening import Plan, tightening_plan
from rebuildbook.calculators.torque import MixUp, plausible_torque, suspect_mix_up
from rebuildbook.calculators.wrench import (
    LEAST_FRACTION,
    Adapter,
    Wrench,
    WrenchAssessment,
    WrenchChoice,
    assess_wrench,
    choose_wrench,
)
from rebuildbook.sheets.assembly import assembly_graph, joint_steps
from rebuildbook.sheets.job import ToolUse
from rebuildbook.sheets.model import Circle, Joint, ModelSheet, Oval, Rectangle, Row
from rebuildbook.sheets.special import thread_of
from rebuildbook.worksheet.context import Context

LONE = 0.1  # metres; a single fastener has no pattern, any circle will do


@dataclass(frozen=True, slots=True)
class JointPlan:
    """One joint with its tool and its way of tightening; torques in N·m.

    ``named`` says that the job card names the tool; else it is the shop's best. ``tool`` is None
    where the shop has none that can be judged. ``ratio`` is torque at the fastener over scale.
    """

    name: str
    joint: Joint
    thread: Thread
    strength: StrengthClass
    plausible: tuple[float, float]
    mix_up: MixUp | None
    tool: WrenchAssessment | None
    named: bool
    choice: WrenchChoice
    tightening: Plan | None

    @property
    def ratio(self) -> float:
        """Torque at the fastener over torque on the scale."""
        return self.tool.nominal / self.tool.setting if self.tool else 1.0


def plan_joints(context: Context) -> tuple[JointPlan, ...]:
    """Plan every joint of the model, in the order in which they can be assembled."""
    return tuple(context.keep(_plan, name, of=name) for name in context.keep(_in_order))


def _in_order(context: Context) -> list[str]:
    return assembly_order(context.model)


def assembly_order(model: ModelSheet) -> list[str]:
    """Joints in the order in which the steps of the assembly come to them."""
    joint_of = {step: joint for joint, step in joint_steps(model).items()}
    return [joint_of[step] for step in step_order(model) if step in joint_of]


def step_order(model: ModelSheet) -> tuple[str, ...]:
    """Steps in the order of the bench; crosscheck refuses rings, so there is one."""
    stations = {name: step.station for name, step in model.assembly.items()}
    return work_order(assembly_graph(model), stations)


def wrenches_of(context: Context) -> dict[str, Wrench]:
    """The shop's torque tools in SI units."""
    return {
        name: Wrench(
            name,
            tool.range.low,
            tool.range.high,
            tool.step.unit,
            tool.step.nominal,
            tool.accuracy.high,
            lever=tool.lever.nominal if tool.lever else None,
            calibration_due=tool.calibration_due,
        )
        for name, tool in context.shop.wrenches.items()
    }


def adapter_of(context: Context, joint: Joint, use: ToolUse | None) -> Adapter | None:
    """The adapter on the card, else the shop's first crowfoot where the joint needs one."""
    adapters = context.shop.adapters
    name = use.adapter if use else None
    if name is None and use is None and joint.wrench_reach == "crowfoot":
        name = next((n for n, found in adapters.items() if found.kind == "crowfoot"), None)
    if name is None:
        return None
    angle = (use.adapter_angle if use else None) or adapters[name].angle
    return Adapter(name, adapters[name].offset.nominal, angle.nominal if angle else 0.0)


def layout_of(joint: Joint) -> Layout:
    """Place the fasteners of a joint; raises ValueError where the count does not fit."""
    shape, count = joint.layout, joint.count
    match shape:
        case Circle():
            return layouts.circle(count, shape.diameter.nominal)
        case Rectangle():
            made = layouts.rectangle(
                shape.columns, shape.rows, shape.width.nominal, shape.height.nominal
            )
            if made.count != count:
                raise ValueError(
                    f"{shape.columns} columns and {shape.rows} rows hold {made.count} fasteners "
                    f"round the edge, and the joint has {count}"
                )
            return made
        case Oval():
            return layouts.oval(count, shape.width.nominal, shape.height.nominal)
        case Row() if shape.rows == 1:
            return layouts.row(count, shape.length.nominal)
        case Row():
            if count % shape.rows:
                raise ValueError(f"{count} fasteners do not fill {shape.rows} rows evenly")
            spacing = shape.row_spacing.nominal if shape.row_spacing else LONE
            return layouts.manifold(
                shape.rows,
                count // shape.rows,
                shape.length.nominal,
                spacing * (shape.rows - 1),
            )
    return layouts.circle(count, LONE)


def _plan(context: Context, name: str) -> JointPlan:
    joint = context.model.joints[name]
    thread = thread_of(context.model, joint)
    strength = strength_class(joint.strength_class, thread)
    low, high = joint.torque.low, joint.torque.high
    plausible = plausible_torque(thread, strength)
    use = context.job.tools.get(name)
    adapter = adapter_of(context, joint, use)
    wrenches = wrenches_of(context)
    least = context.shop.margins.least_of_scale
    fraction = least.nominal if least else LEAST_FRACTION
    choice = choose_wrench(
        low, high, wrenches.values(), adapter, on=context.day, least_fraction=fraction
    )
    if use is not None:
        tool = _named(choice, wrenches[use.wrench], adapter, use, context, fraction)
    else:
        tool = choice.ranking[0] if choice.ranking else None
    return JointPlan(
        name,
        joint,
        thread,
        strength,
        plausible,
        suspect_mix_up(low, high, *plausible),
        tool,
        use is not None,
        choice,
        _tightening(context, joint, tool),
    )


def _named(
    choice: WrenchChoice,
    wrench: Wrench,
    adapter: Adapter | None,
    use: ToolUse,
    context: Context,
    fraction: float,
) -> WrenchAssessment | None:
    try:
        return assess_wrench(
            choice.window_low,
            choice.window_high,
            wrench,
            adapter,
            on=context.day,
            setting=use.setting.nominal if use.setting else None,
            least_fraction=fraction,
        )
    except ValueError:
        return None  # its reason stands in choice.left_out


def _tightening(context: Context, joint: Joint, tool: WrenchAssessment | None) -> Plan | None:
    if tool is None:
        return None
    ratio = tool.nominal / tool.setting
    fractions = joint.passes or context.shop.passes
    return tightening_plan(
        layout_of(joint),
        joint.order,
        [fraction.nominal for fraction in fractions],
        setting=min(max(tool.nominal, joint.torque.low), joint.torque.high),
        step=tool.wrench.step * ratio,
        wrench_low=tool.wrench.low * ratio,
        window_low=joint.torque.low,
        window_high=joint.torque.high,
        numbering="order" if joint.numbering == "by order" else "rotation",
    )


def consumables_of(context: Context, plan: JointPlan) -> Iterator[tuple[str, str]]:
    """The consumables of a joint, (what for, name); what the card says it got comes first."""
    used = context.job.consumables_used.get(plan.name)
    if used is not None:
        yield "used", used
        return
    for kind in ("lubricant", "threadlocker"):
        named = getattr(plan.joint, kind)
        if named is not None:
            yield kind, named
