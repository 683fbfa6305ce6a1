"""Checks between sheets: every name a sheet uses must exist where it points."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterator

from rebuildbook.sheets.job import JobCard
from rebuildbook.sheets.model import Drive, ModelSheet
from rebuildbook.sheets.shop import ShopSheet
from rebuildbook.sheets.source import PathKey, Problem, Source

Found = Iterator[tuple[str, PathKey, str]]


def crosscheck(
    job: JobCard, model: ModelSheet, shop: ShopSheet, sources: dict[str, Source]
) -> list[Problem]:
    """Give every name that points nowhere, and every set of fields that cannot stand together."""
    checks = (_model(model, shop), _drive(model.drive), _job(job, model, shop))
    return [
        sources[sheet].problem(path, message) for found in checks for sheet, path, message in found
    ]


def _nowhere(name: str, kind: str, offered: Collection[str]) -> str:
    near = difflib.get_close_matches(name, offered, 1, 0.5)
    listed = ", ".join(sorted(offered)) or "none"
    hint = f"did you mean {near[0]}?" if near else f"there are {listed}"
    return f"{name!r} is not a {kind}; {hint}"


def _model(model: ModelSheet, shop: ShopSheet) -> Found:
    for name, joint in model.joints.items():
        at: PathKey = ("joints", name)
        if joint.count > 1 and joint.layout is None:
            yield "model", (*at, "layout"), f"is missing; {joint.count} fasteners need a layout"
        for index, before in enumerate(joint.follows):
            if before not in model.joints:
                message = _nowhere(before, "joint of this model", model.joints)
                yield "model", (*at, "follows", index), message
        for field in ("lubricant", "threadlocker"):
            named = getattr(joint, field)
            if named is not None and named not in shop.consumables:
                message = _nowhere(named, "consumable of the shop sheet", shop.consumables)
                yield "model", (*at, field), message
        if joint.holds is not None and joint.holds not in model.pressure_parts:
            message = _nowhere(joint.holds, "pressure part of this model", model.pressure_parts)
            yield "model", (*at, "holds"), message
    for name, valve in model.check_valves.items():
        if valve.part not in model.pressure_parts:
            message = _nowhere(valve.part, "pressure part of this model", model.pressure_parts)
            yield "model", ("check_valves", name, "part"), message
    yield from _fluid_end(model)


def _fluid_end(model: ModelSheet) -> Found:
    end = model.fluid_end
    if end.volume_per_cycle is None:
        for field in ("bore", "stroke"):
            if getattr(end, field) is None:
                message = "is missing; give bore and stroke, or volume_per_cycle"
                yield "model", ("fluid_end", field), message
    if model.architecture == "double-acting-piston" and end.rod is None:
        yield "model", ("fluid_end", "rod"), "is missing; a double-acting piston has a rod"
    if end.rod is not None and end.bore is not None and end.rod.high >= end.bore.low:
        yield "model", ("fluid_end", "rod"), "is not smaller than the bore"


def _drive(drive: Drive) -> Found:
    if drive.kind != "electric":
        if drive.piston_diameter is None and drive.area_ratio is None:
            message = "is missing; give piston_diameter or area_ratio"
            yield "model", ("drive", "piston_diameter"), message
        if drive.supply_max is None:
            yield "model", ("drive", "supply_max"), "is missing; the highest supply pressure"


def _job(job: JobCard, model: ModelSheet, shop: ShopSheet) -> Found:
    pointing = (
        ("measured", model.wear_limits, "wear limit of the model sheet"),
        ("valves_fitted", model.check_valves, "check valve of the model sheet"),
        ("tools", model.joints, "joint of the model sheet"),
        ("torque_readings", model.joints, "joint of the model sheet"),
        ("consumables_used", model.joints, "joint of the model sheet"),
    )
    for field, offered, kind in pointing:
        for name in getattr(job, field):
            if name not in offered:
                yield "job", (field, name), _nowhere(name, kind, offered)
    for joint, use in job.tools.items():
        if use.wrench not in shop.wrenches:
            message = _nowhere(use.wrench, "wrench of the shop sheet", shop.wrenches)
            yield "job", ("tools", joint, "wrench"), message
        if use.adapter is not None and use.adapter not in shop.adapters:
            message = _nowhere(use.adapter, "adapter of the shop sheet", shop.adapters)
            yield "job", ("tools", joint, "adapter"), message
    for joint, used in job.consumables_used.items():
        if used not in shop.consumables:
            message = _nowhere(used, "consumable of the shop sheet", shop.consumables)
            yield "job", ("consumables_used", joint), message
    for joint, readings in job.torque_readings.items():
        if joint in model.joints and len(readings) > model.joints[joint].count:
            message = f"has {len(readings)} readings for {model.joints[joint].count} fasteners"
            yield "job", ("torque_readings", joint), message
