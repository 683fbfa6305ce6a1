"""A wrench with an adapter: the setting, what the fastener gets, the error without the formula."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from matplotlib.figure import Figure

from rebuildbook.calculators.wrench import LEAST_FRACTION, WrenchAssessment
from rebuildbook.figures.wrench_reach import WrenchPicture, wrench_reach
from rebuildbook.sheets import Case
from rebuildbook.units import show
from rebuildbook.whatif.boards import knobs, one_joint
from rebuildbook.whatif.boards.answers import worst_first
from rebuildbook.whatif.question import Answer, Knob, Number, View
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import nominal
from rebuildbook.worksheet.joints import joints
from rebuildbook.worksheet.model import Value
from rebuildbook.worksheet.plan import JointPlan

MOST_ANGLE = math.radians(180.0)
NOTHING = "null"  # what leaves a field of a sheet out
_NO_TOOL = "The card names no tool for this joint yet; choose the wrench first"


class WrenchBoard:
    """Where the setting of a torque wrench acts."""

    name = "wrench"
    title = "Wrench and adapter: what to set"
    about = (
        "A crowfoot or extension makes the arm longer or shorter than the wrench was calibrated "
        "with. Change wrench, adapter, angle and setting and see what the fastener gets, what the "
        "scale must say for the middle of the window, and the error of forgetting the sum."
    )

    def picks(self, case: Case) -> dict[str, tuple[str, ...]]:
        """The joints of the model."""
        return {"joint": one_joint.names(case)}

    def knobs(self, case: Case, picked: Mapping[str, str]) -> tuple[Knob, ...]:
        """The tool as the card notes it."""
        _, plan = one_joint.plan_of(case, one_joint.picked_name(case, picked))
        use, tool = case.job.tools.get(plan.name), plan.tool
        path = f"tools.{plan.name}"
        adapter = tool.adapter if tool else None
        angle = use.adapter_angle if use else None
        fitted = (use.adapter or "") if use else ""
        straight = (NOTHING,) if fitted else ()
        made = (
            knobs.choice(
                "wrench", "Wrench", f"{path}.wrench", use.wrench if use else "",
                case.shop.wrenches,
            ),
            knobs.choice(
                "adapter", "Adapter", f"{path}.adapter", fitted, (*straight, *case.shop.adapters),
                help=f"{NOTHING}: straight on the fastener" if straight else "",
            ),
            knobs.quantity(
                case, "adapter_angle", "Angle of the adapter", f"{path}.adapter_angle", angle,
                (0.0, MOST_ANGLE), "angle",
                help="0° straight out, 90° square to the wrench, more is folded back"
                + ("" if angle or adapter is None else f"; now {show(adapter.angle, 'deg')}"),
            ),
            one_joint.setting_knob(case, plan),
        )  # fmt: skip
        return made if use else tuple(replace(one, help=_NO_TOOL) for one in made)

    def views(self, case: Case, picked: Mapping[str, str]) -> tuple[View, ...]:
        """Nothing but the case decides what is shown."""
        return ()

    def answer(self, case: Case, picked: Mapping[str, str], seen: Mapping[str, Any]) -> Answer:
        """Judge the tool as the worksheet does."""
        context, plan = one_joint.plan_of(case, one_joint.picked_name(case, picked))
        tool = plan.tool
        if tool is None:
            raise ValueError(one_joint.no_clamp(plan))
        section = joints(context, [plan])
        lines = ("aim", "ratio", "setting", "delivered-low", "delivered-high")
        return Answer(
            (
                *_got(plan, tool),
                *_formula(plan, tool),
                *one_joint.fields([section], (f"joints.{plan.name}.{line}" for line in lines)),
                *_place(context, plan, tool),
            ),
            worst_first(section.findings()),
            _picture(context, plan, tool),
        )

    def draw(self, after: Answer, before: Answer, seen: Mapping[str, Any]) -> Figure:
        """The wrench to scale, with both settings."""
        return wrench_reach(after.data, before.data)


def _aim(plan: JointPlan) -> float:
    """Middle of the window, N·m."""
    return (plan.joint.torque.low + plan.joint.torque.high) / 2.0


def _got(plan: JointPlan, tool: WrenchAssessment) -> Iterator[Number]:
    """What matters first: the torque, whether the window is kept, what should be set."""
    id_, unit = f"wrench.{plan.name}", plan.joint.torque.unit
    yield Number(f"{id_}.nominal", "Torque on the fastener", Value(tool.nominal, "torque", unit, 4))
    yield Number(f"{id_}.kept", "Window", _kept(tool, unit))


def _formula(plan: JointPlan, tool: WrenchAssessment) -> Iterator[Number]:
    id_, unit = f"wrench.{plan.name}", tool.wrench.scale_unit
    by_formula = _aim(plan) / plan.ratio
    mark = max(round(by_formula / tool.wrench.step), 1) * tool.wrench.step
    label = f"with {tool.adapter.name}" if tool.adapter else "without adapter"
    yield Number(
        f"{id_}.formula", f"Aim on the scale, {label}", Value(by_formula, "torque", unit, 4)
    )
    yield Number(f"{id_}.mark", "Nearest mark of the scale", Value(mark, "torque", unit, 4))
    forgotten = Value(_aim(plan) * plan.ratio, "torque", plan.joint.torque.unit, 4)
    yield Number(f"{id_}.forgotten", "It gets, with the aim set as it stands", forgotten)
    error = Value(plan.ratio - 1.0, "fraction", "%")
    yield Number(f"{id_}.error", "Error of forgetting the adapter", error)


def _place(context: Context, plan: JointPlan, tool: WrenchAssessment) -> Iterator[Number]:
    id_, words = f"wrench.{plan.name}", _on_scale(tool, _usable(context))
    yield Number(f"{id_}.share", "Setting, of full scale", Value(tool.fraction, "fraction", "%"))
    yield Number(f"{id_}.scale", "Place on the scale", words)


def _usable(context: Context) -> float:
    """Least share of full scale that this shop sets a tool to."""
    return nominal(context.shop.margins.least_of_scale, LEAST_FRACTION)


def _on_scale(tool: WrenchAssessment, least: float) -> str:
    low, high, setting = tool.wrench.low, tool.wrench.high, tool.setting
    if not low * (1 - 1e-9) <= setting <= high * (1 + 1e-9):
        return "off the scale"
    within = setting >= least * high * (1 - 1e-9)
    return f"{'within' if within else 'below'} {show(least, '%')} to {show(1.0, '%')}"


def _kept(tool: WrenchAssessment, unit: str) -> str:
    if tool.inside:
        spare = min(tool.margin_low, tool.margin_high)
        return f"kept with the tool's scatter, {show(max(spare, 0.0), unit)} to spare"
    past = [
        f"{show(-margin, unit)} {side}"
        for margin, side in ((tool.margin_low, "below"), (tool.margin_high, "above"))
        if margin < 0.0
    ]
    return f"not kept, scatter reaches {' and '.join(past)}"


def _picture(context: Context, plan: JointPlan, tool: WrenchAssessment) -> WrenchPicture:
    wrench, adapter, window = tool.wrench, tool.adapter, plan.joint.torque
    aim = _aim(plan)
    length = context.value(wrench.lever or 0.3, "length").unit
    return WrenchPicture(
        wrench.name,
        wrench.lever,
        (wrench.low, wrench.high),
        _usable(context),
        wrench.scale_unit,
        adapter.name if adapter else "",
        adapter.offset if adapter else 0.0,
        adapter.angle if adapter else 0.0,
        tool.setting,
        aim / plan.ratio,
        aim,
        aim * plan.ratio,
        (tool.delivered_low, tool.delivered_high),
        (window.low, window.high),
        (window.unit, knobs.other_unit("torque", window.unit, aim)),
        (length, knobs.other_unit("length", length, wrench.lever or 0.3)),
    )


BOARD = WrenchBoard()
