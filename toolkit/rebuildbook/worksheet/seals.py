"""Seals and what touches them: glands, gaps, clamp, wear, friction, rubber against fluid."""

from __future__ import annotations

import functools
from collections.abc import Sequence

from rebuildbook.figures.o_ring_gland import o_ring_gland
from rebuildbook.figures.style import svg
from rebuildbook.sheets.glands import seals_of
from rebuildbook.sheets.seals import ORingSeal, UCupSeal, VPackingSeal
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import (
    Block,
    Caution,
    Finding,
    Line,
    Note,
    Picture,
    Section,
    Value,
    series,
)
from rebuildbook.worksheet.seal_contact import (
    Missing,
    class_of,
    lubricant_findings,
    material_findings,
)
from rebuildbook.worksheet.seal_findings import ring_findings, wrong_ring
from rebuildbook.worksheet.seal_packing import (
    cup_findings,
    cup_lines,
    fit_cup,
    fit_stack,
    stack_findings,
    stack_lines,
)
from rebuildbook.worksheet.seal_ring_lines import ring_lines
from rebuildbook.worksheet.seal_rings import Joints, RingFit, fit_ring
from rebuildbook.worksheet.worked import WorkedJoint

TITLE = "Seals and what touches them"
_CAUTION = (
    "Before a seal is drawn: drive shut off and locked, fluid and air pressure let off on both "
    "sides, gauges at nought. Rings and cups go over threads and edges on a sleeve, never on a "
    "blade; one that has been in service is not fitted again."
)


def seals(context: Context, joints: Joints, highest: float) -> Section:
    """Build the section on seals; ``highest`` is the highest pressure of the unit, Pa."""
    known = seals_of(context.model, context.job)
    if not known:
        return Section("seals", TITLE, (Note("The model sheet describes no seals."),))
    lines: list[tuple[str, Line]] = []
    findings: list[Finding] = []
    rings: list[RingFit] = []
    missing: Missing = {}
    for name, seal in known.items():
        unknown: list[str] = []
        match seal:
            case ORingSeal():
                try:
                    joint = joints.get(seal.joint or "")
                    ring = context.keep(_fitted, name, seal, joint, highest, of=name)
                except ValueError as problem:
                    findings.append(wrong_ring(context, name, str(problem)))
                    continue
                rings.append(ring)
                lines += context.keep_all(ring_lines, ring, of=name)
                findings += context.keep_all(ring_findings, ring, of=name)
                unknown += ring.unknown
            case UCupSeal():
                cup = context.keep(fit_cup, name, seal, of=name)
                lines += context.keep_all(cup_lines, cup, of=name)
                findings += context.keep_all(cup_findings, cup, of=name)
                unknown += cup.unknown
            case VPackingSeal():
                stack = context.keep(fit_stack, name, seal, highest, of=name)
                lines += context.keep_all(stack_lines, stack, of=name)
                findings += context.keep_all(stack_findings, stack, of=name)
                unknown += stack.unknown
        for what in unknown:
            missing.setdefault(what, []).append(name)
    findings += material_findings(context, known, missing)
    findings += lubricant_findings(context, known, joints, missing)
    blocks: list[Block] = [Caution(_CAUTION), *_notes(context, missing, rings), *series(lines)]
    if rings:
        blocks.append(_picture(context, rings))
    return Section("seals", TITLE, (*blocks, *findings))


def _fitted(
    context: Context, name: str, seal: ORingSeal, joint: WorkedJoint | None, highest: float
) -> RingFit:
    """Fit a ring; of the joints it sees its own alone."""
    own = {seal.joint: joint} if seal.joint and joint else {}
    return fit_ring(context, name, seal, own, highest)


def _notes(context: Context, missing: Missing, rings: Sequence[RingFit]) -> list[Note]:
    notes = []
    if class_of(context) is None:
        notes.append(
            f"The rubbers are not judged in {context.job.fluid.name}: its class is not on the job "
            "card (fluid_class). Ask the supplier."
        )
    for ring in rings:
        if ring.squeezed is not None and ring.squeezed.left <= 0.0:
            notes.append(
                f"{ring.name}: {ring.seal.joint} has no clamp left under pressure, see joints "
                "under load; its ring is not compared with it."
            )
    if missing:
        said = "; ".join(f"{what} ({', '.join(names)})" for what, names in missing.items())
        notes.append(f"Not on the sheets, and left out: {said}.")
    return [Note(text) for text in notes]


def _picture(context: Context, rings: Sequence[RingFit]) -> Picture:
    nearest = max(rings, key=lambda ring: ring.nearest_limit()[0])
    share, limit = nearest.nearest_limit()
    fitted = nearest.fitted
    squeeze, fill = (
        Value(spread.nominal, "fraction", "%").shown
        for spread in (fitted.squeeze_share, fitted.fill)
    )
    near = f"{limit}, {share:.0%} of it" if share <= 1.0 else f"over its {limit}"
    words = f"{nearest.name}, the ring nearest a limit ({near}): squeeze {squeeze}, fill {fill}"
    return Picture(
        "seals-gland",
        f"{words}. Dashed: the ring before it is squeezed. P: side of the pressure.",
        f"Section of a gland: {words}",
        functools.partial(_draw, nearest, context.system),
    )


def _draw(ring: RingFit, system: str) -> str:
    working = ring.gap.working / 2.0 if ring.gap else 0.0
    clearance = min(working, 0.5 * ring.fitted.depth.nominal)
    figure = o_ring_gland(ring.ring, ring.gland, ring.fitted, clearance, system, words=False)
    return svg(figure, f"Gland of {ring.name}")
