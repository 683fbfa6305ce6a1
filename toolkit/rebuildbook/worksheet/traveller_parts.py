"""What is laid out before the work: parts, seals and consumables, and how the unit comes apart."""

from __future__ import annotations

import functools
from collections.abc import Collection, Iterator, Sequence

from rebuildbook.figures.assembly import Item, exploded_strip
from rebuildbook.figures.style import svg
from rebuildbook.sheets.parts import pieces
from rebuildbook.sheets.seals import ORingSeal
from rebuildbook.sheets.steps import Step
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import Block, Caution, Note, Picture, Section, Table
from rebuildbook.worksheet.traveller_cure import SETS
from rebuildbook.worksheet.traveller_work import Work

_PRACTICE = "common practice, no source"
_NONE = "–"


def parts_said(context: Context, step: Step) -> Iterator[str]:
    """Every part of a step with what it is."""
    for name in step.parts:
        part, count = context.model.parts[name], pieces(context.model.parts[name], context.model)
        shared = sum(name in one.parts for one in context.model.assembly.values()) > 1
        how_many = f", {count} in all" if shared else _times(count)
        yield f"{name}: {part.what}{_stock(part.number)}{how_many}"


def seals_said(context: Context, step: Step) -> Iterator[str]:
    """Every seal of a step with its number, size and material, as the card has it fitted."""
    for name in step.seals:
        seal, fitted = context.model.seals[name], context.job.seals_fitted.get(name)
        size = seal.size if isinstance(seal, ORingSeal) else ""
        size = (fitted.size if fitted else None) or size
        material = (fitted.material if fitted else None) or seal.material or ""
        words = ", ".join(filter(None, (seal.what, size, material)))
        number = next((p.number for p in context.model.parts.values() if name in p.seal), None)
        yield f"{name}: {words}{_stock(number)}{_times(seal.count)}"


def _stock(number: str | None) -> str:
    return f" ({number})" if number else ""


def _times(count: int) -> str:
    return f" × {count}" if count > 1 else ""


def parts_section(context: Context, works: Sequence[Work]) -> Section:
    """Build the section on what is laid out before the first step."""
    blocks: list[Block] = [_by_step(context, works), *_left_out(context, works)]
    blocks.append(_shelf(context, works))
    items = tuple(_items(context, works))
    if items:
        blocks.append(Note("In the order in which they go on:"))
        blocks.append(
            Picture(
                "assembly-strip",
                "Along the axis of the work, under the number of its step: block a part, two dots "
                "an O-ring, angles another seal, ball on a cone a check, screw a joint. Not to "
                "scale.",
                "In order: " + "; ".join(f"{item.step} {item.name}" for item in items),
                functools.partial(_draw, items),
            )
        )
    return Section("parts", "Parts and consumables", tuple(blocks))


def _by_step(context: Context, works: Sequence[Work]) -> Table:
    rows = []
    for work in works:
        step = work.step
        parts = "; ".join(parts_said(context, step)) if step else ""
        seals = "; ".join(seals_said(context, step)) if step else ""
        valves = ", ".join(step.valves) if step else ""
        joint = f"{work.plan.joint.count} × {work.plan.thread.designation}" if work.plan else ""
        things = "; ".join(filter(None, (parts, seals, valves and f"checks {valves}", joint)))
        if things:
            rows.append((str(work.number), work.name, things, ""))
    header = ("", "Step", "Parts, seals, checks, fasteners", "Laid out")
    return Table("By step", header, tuple(rows), pen=True)


def _left_out(context: Context, works: Sequence[Work]) -> Iterator[Note]:
    """Name what the sheet has and no step fits: nobody would miss it at the bench."""
    model, steps = context.model, [work.step for work in works if work.step]
    if not steps:
        return
    of_parts = {seal for step in steps for name in step.parts for seal in model.parts[name].seal}
    seals = of_parts.union(*(step.seals for step in steps))
    fitted = {
        "parts": {
            name
            for name, part in model.parts.items()
            if (part.seal and seals.issuperset(part.seal))
            or any(name in step.parts for step in steps)
        },
        "seals": seals,
        "checks": {name for step in steps for name in step.valves},
    }
    offered: dict[str, Collection[str]] = {
        "parts": model.parts,
        "seals": model.seals,
        "checks": model.check_valves,
    }
    for kind, there in offered.items():
        rest = [name for name in there if name not in fitted[kind]]
        if rest:
            yield Note(
                f"Named by no step, so lay them out by the list of parts: {kind} {', '.join(rest)}."
            )


def _shelf(context: Context, works: Sequence[Work]) -> Table:
    steps: dict[str, list[str]] = {}
    for work in works:
        for name in dict.fromkeys(name for _, name in work.takes):
            steps.setdefault(name, []).append(str(work.number))
    rows = tuple(
        (name, context.shop.consumables[name].what, ", ".join(used), "", "")
        for name, used in steps.items()
    )
    header = ("Consumable", "What", "Steps", "Batch", "Use by")
    note = "" if rows else "No step and no joint names a consumable."
    return Table("From the shelf", header, rows, note, pen=True)


def _items(context: Context, works: Sequence[Work]) -> Iterator[Item]:
    for work in works:
        if work.step is not None:
            for name in work.step.parts:
                yield Item("part", name, work.number)
            for name in work.step.seals:
                round_ = isinstance(context.model.seals[name], ORingSeal)
                yield Item("ring" if round_ else "seal", name, work.number)
            for name in work.step.valves:
                yield Item("check", name, work.number)
        if work.plan is not None:
            yield Item("joint", work.plan.name, work.number)


def _draw(items: tuple[Item, ...]) -> str:
    return svg(exploded_strip(items))


def disassembly_section(context: Context, works: Sequence[Work]) -> Section:
    """Build the section on taking the unit apart: the assembly backwards, with what to measure."""
    blocks: list[Block] = [
        Caution(
            "Made safe first. Ease every fastener of a joint a quarter turn, crosswise, before any "
            "comes out: what is still under pressure then shows while the joint still holds."
        )
    ]
    for name in _held_by_heat(context, works):
        blocks.append(
            Caution(
                f"{name}: high-strength locker lets go with heat. No flame near solvent or oil."
            )
        )
    blocks.append(_undoing(works))
    blocks += _measuring(context, works)
    blocks.append(Note(f"The order of assembly backwards; cautions: {_PRACTICE}."))
    return Section("disassembly", "Disassembly and measuring", tuple(blocks), new_page=True)


def _held_by_heat(context: Context, works: Sequence[Work]) -> Iterator[str]:
    for work in works:
        things = [context.shop.consumables[name] for _, name in work.takes]
        if work.plan and any(one.kind in SETS and one.strength == "high" for one in things):
            yield work.plan.name


def _undoing(works: Sequence[Work]) -> Table:
    rows = []
    for turn, work in enumerate(reversed(works), 1):
        joint = ""
        if work.plan is not None:
            joint = f"{work.plan.joint.count} × {work.plan.thread.designation}"
        rows.append((str(turn), str(work.number), f"{work.name}: {work.what}", joint, "", ""))
    header = ("", "Step", "Undo what was done", "Fasteners", "Done", "By")
    return Table("Apart, in this order", header, tuple(rows), pen=True)


def _measuring(context: Context, works: Sequence[Work]) -> Iterator[Block]:
    limits = context.model.wear_limits
    if not limits:
        yield Note("The model sheet gives no wear limits to measure.")
        return
    at = {
        name: f"after undoing {work.number}"
        for work in works
        if work.step
        for name in work.step.measure
    }
    turn = {name: index for index, name in enumerate(reversed(list(at)))}
    rows = []
    for name in sorted(limits, key=lambda one: turn.get(one, len(turn))):
        limit, read = limits[name], context.job.measured.get(name)
        rows.append(
            (
                at.get(name, "where it is open"),
                f"{name}: {limit.what}",
                limit.new.canonical,
                limit.reuse_limit.canonical,
                limit.rework_limit.canonical if limit.rework_limit else _NONE,
                read.canonical if read else "",
                "",
            )
        )
    header = ("When", "Measure", "New", "Reuse to", "Rework to", "Read", "By")
    yield Table("Measuring points", header, tuple(rows), pen=True)
