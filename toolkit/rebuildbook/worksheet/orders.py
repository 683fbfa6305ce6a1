"""Tightening order: passes, torques on the wrench's scale, and the pattern to take to the bench."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence

from rebuildbook.calculators.tightening import Plan
from rebuildbook.figures.pattern import tightening_pattern
from rebuildbook.figures.style import svg
from rebuildbook.units import show
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.facts import text_line
from rebuildbook.worksheet.model import (
    Block,
    Caution,
    Line,
    Lines,
    Note,
    Picture,
    Section,
    Table,
)
from rebuildbook.worksheet.plan import JointPlan

_METHOD = {
    "cross": "ASME PCC-1 legacy cross order (from memory)",
    "quadrant": "ASME PCC-1 quadrant pattern (from memory)",
    "rotation": "plain rotation as the model sheet asks",
}
_COVERS = "evenly, opposite ones in turn, from the middle outwards (common practice, no source)"


def orders(context: Context, plans: Sequence[JointPlan]) -> Section:
    """Build the section on tightening orders."""
    blocks: list[Block] = [
        Caution(
            "Threadlocker sets: finish a joint within its working time. Once cured, a joint is not "
            "tightened further but taken apart, cleaned and made anew."
        )
    ]
    for plan in plans:
        blocks += context.keep_all(_joint, plan, of=plan.name)
    return Section("orders", "Tightening order", tuple(blocks))


def _joint(context: Context, plan: JointPlan) -> Iterator[Block]:
    made = plan.tightening
    if made is None:
        yield Note(f"{plan.name}: no order without a tool; see threaded joints.")
        return
    lines = []
    if plan.joint.count > 1:
        order = " ".join(str(position) for position in made.order)
        on_circle = made.layout.shape == "circle" and plan.joint.count > 3
        method = _METHOD[made.order_kind] if on_circle else _COVERS
        if made.order_kind == "rotation":
            method = _METHOD["rotation"]
        lines.append(
            Line(
                f"orders.{plan.name}.order",
                f"Order, numbered {made.layout.numbering}",
                order,
                method=method,
                data=context.source("model", f"joints.{plan.name}"),
            )
        )
    if plan.joint.follows:
        after = ", ".join(plan.joint.follows)
        lines.append(
            text_line(f"orders.{plan.name}.after", "Only after", after, context.source("model"))
        )
    if lines:
        yield Lines(f"{plan.name}: {plan.joint.what}", tuple(lines))
    yield passes_table(plan, made)
    if plan.joint.count > 1:
        yield pattern_picture(plan, made)


def pattern_picture(plan: JointPlan, made: Plan) -> Picture:
    """Draw where the fasteners of a joint sit and in what order they are tightened."""
    return Picture(
        f"pattern-{plan.name}",
        _caption(plan.name, made),
        f"{plan.joint.count} fasteners, tightened in the order "
        + " ".join(str(position) for position in made.order),
        functools.partial(_draw, made),
    )


def _caption(name: str, plan: Plan) -> str:
    if plan.numbering == "order":
        return f"{name}: the numbers are the order of tightening; the first is filled."
    return (
        f"{name}: numbered {plan.layout.numbering}; beside each number when its turn comes; the "
        "first is filled."
    )


@functools.lru_cache(maxsize=128)
def _draw(plan: Plan) -> str:
    return svg(tightening_pattern(plan, legend=False))


def passes_table(plan: JointPlan, made: Plan) -> Table:
    """Give every pass of a joint with its setting, its order, and a box for its tick."""
    assert plan.tool is not None  # noqa: S101
    scale, unit = plan.tool.wrench.scale_unit, plan.joint.torque.unit
    rows = []
    for one in made.passes:
        by_hand = one.kind == "snug"
        order = " ".join(str(position) for position in one.order)
        rows.append(
            (
                str(one.number),
                "by hand" if by_hand else show(one.torque / plan.ratio, scale, 4),
                "–" if by_hand else show(one.torque, unit),
                order,
                " ".join(one.remarks),
                "",
            )
        )
    header = ("Pass", f"Set {plan.tool.wrench.name} to", "At the fastener", "Order", "Mind", "Done")
    return Table(f"Passes for {plan.name}", header, tuple(rows))
