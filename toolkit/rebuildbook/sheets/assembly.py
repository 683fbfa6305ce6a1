"""The steps of a model sheet as a graph, and what is checked of them.

A joint that no step tightens is a step of its own, under its own name.
"""

from __future__ import annotations

from collections.abc import Collection

from rebuildbook.calculators.assembly import find_ring
from rebuildbook.sheets.model import ModelSheet
from rebuildbook.sheets.pointing import Found, nowhere
from rebuildbook.sheets.shop import ShopSheet


def joint_steps(model: ModelSheet) -> dict[str, str]:
    """Give the step that tightens each joint: one of the sheet, or the joint's own."""
    found = {step.joint: name for name, step in model.assembly.items() if step.joint is not None}
    return {name: found.get(name, name) for name in model.joints}


def assembly_graph(model: ModelSheet) -> dict[str, list[str]]:
    """Give every step with the steps that come before it; names that point nowhere are left out.

    Steps stand as the sheet lists them, then the joints that have none.
    """
    tightens = joint_steps(model)
    graph: dict[str, list[str]] = {name: [] for name in model.assembly}
    graph |= {step: [] for step in tightens.values() if step not in graph}
    for name, step in model.assembly.items():
        graph[name] += [tightens.get(before, before) for before in step.after]
    for name, joint in model.joints.items():
        graph[tightens[name]] += [tightens.get(before, before) for before in joint.follows]
    return {
        name: [before for before in dict.fromkeys(befores) if before in graph]
        for name, befores in graph.items()
    }


def check_assembly(model: ModelSheet, shop: ShopSheet) -> Found:
    """Check what each step points at, that a joint has one step, and that no steps form a ring."""
    yield from _follows(model)
    yield from _names(model, shop)
    yield from _joints(model)
    yield from _ring(model)


def _follows(model: ModelSheet) -> Found:
    for name, joint in model.joints.items():
        for index, before in enumerate(joint.follows):
            if before not in model.joints:
                message = nowhere(before, "joint of this model", model.joints)
                yield "model", ("joints", name, "follows", index), message


def _names(model: ModelSheet, shop: ShopSheet) -> Found:
    pointing: tuple[tuple[str, Collection[str], str], ...] = (
        ("after", {**model.assembly, **model.joints}, "step or joint of this model"),
        ("valves", model.check_valves, "check valve of this model"),
        ("seals", model.seals, "seal of this model"),
        ("parts", model.parts, "part of this model"),
        ("consumable", shop.consumables, "consumable of the shop sheet"),
        ("measure", model.wear_limits, "wear limit of this model"),
    )
    for name, step in model.assembly.items():
        for field, offered, kind in pointing:
            for index, named in enumerate(getattr(step, field)):
                if named not in offered:
                    message = f"{name} → {named}: {nowhere(named, kind, offered)}"
                    yield "model", ("assembly", name, field, index), message


def _joints(model: ModelSheet) -> Found:
    first: dict[str, str] = {}
    for name, step in model.assembly.items():
        joint, at = step.joint, ("assembly", name, "joint")
        if joint is not None and joint not in model.joints:
            message = nowhere(joint, "joint of this model", model.joints)
            yield "model", at, f"{name} → {joint}: {message}"
        elif joint is not None and first.setdefault(joint, name) != name:
            yield "model", at, f"is tightened by the step {first[joint]!r} already"
        if name in model.joints and joint != name:
            message = f"the step has the name of a joint; write joint: {name}, or another name"
            yield "model", ("assembly", name), message


def _ring(model: ModelSheet) -> Found:
    ring = find_ring(assembly_graph(model))
    if ring:
        name = ring[0]
        of_step = name in model.assembly
        at = ("assembly", name, "after") if of_step else ("joints", name, "follows")
        path = " → ".join(ring)
        yield "model", at, f"steps and joints wait for each other in a ring: {path}"
