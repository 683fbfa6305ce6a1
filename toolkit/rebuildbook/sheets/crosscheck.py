"""Checks between sheets: every name a sheet uses must exist where it points."""

from __future__ import annotations

from collections.abc import Sequence

from rebuildbook.calculators.bounds import pass_fractions
from rebuildbook.calculators.joint import ROUGHEST
from rebuildbook.calculators.materials import material
from rebuildbook.calculators.thread_friction import friction
from rebuildbook.calculators.thread_limits import external_limits, internal_limits
from rebuildbook.calculators.thread_strength import strength_class
from rebuildbook.sheets.assembly import check_assembly
from rebuildbook.sheets.bench import check_bench
from rebuildbook.sheets.drive import AirPassage, Drive
from rebuildbook.sheets.job import JobCard
from rebuildbook.sheets.leaks import check_leaks, check_wear
from rebuildbook.sheets.model import Joint, ModelSheet
from rebuildbook.sheets.parts import check_parts
from rebuildbook.sheets.pointing import Found, known, nowhere
from rebuildbook.sheets.seal_checks import check_consumables, check_fitted, check_seals
from rebuildbook.sheets.shop import ShopSheet
from rebuildbook.sheets.source import PathKey, Problem, Source
from rebuildbook.sheets.special import thread_of
from rebuildbook.units import Amount


def crosscheck(
    job: JobCard, model: ModelSheet, shop: ShopSheet, sources: dict[str, Source]
) -> list[Problem]:
    """Give every name that points nowhere, and every set of fields that cannot stand together."""
    checks = (_model(model, shop), _drive(model.drive), _job(job, model, shop), _shop(shop))
    return [
        sources[sheet].problem(path, message) for found in checks for sheet, path, message in found
    ]


def _shop(shop: ShopSheet) -> Found:
    yield from check_consumables(shop)
    yield from _passes("shop", ("passes",), shop.passes)
    yield from _kelvin("shop", ("bench_temperature",), shop.bench_temperature)
    for name, thing in shop.consumables.items():
        yield from _kelvin("shop", ("consumables", name, "times_at"), thing.times_at)
        slower = thing.slower_in_cold
        if slower is not None and not 1.0 <= slower.low <= slower.high <= 10.0:
            message = "is not between 1 and 10; it says how many times slower it sets 10 K colder"
            yield "shop", ("consumables", name, "slower_in_cold"), message
        if thing.condition is not None:
            at: PathKey = ("consumables", name, "condition")
            yield from known(at, friction, thing.condition, sheet="shop")


def _kelvin(sheet: str, at: PathKey, temperature: Amount | None) -> Found:
    if temperature is not None and temperature.low <= 0.0:
        yield sheet, at, "is below the absolute zero"


def _passes(sheet: str, at: PathKey, passes: Sequence[Amount] | None) -> Found:
    if passes is None:
        return
    try:
        pass_fractions([one.nominal for one in passes])
    except ValueError as problem:
        yield sheet, at, str(problem)


def _model(model: ModelSheet, shop: ShopSheet) -> Found:
    for name, joint in model.joints.items():
        at: PathKey = ("joints", name)
        if joint.count > 1 and joint.layout is None:
            yield "model", (*at, "layout"), f"is missing; {joint.count} fasteners need a layout"
        for field in ("lubricant", "threadlocker"):
            named = getattr(joint, field)
            if named is not None and named not in shop.consumables:
                message = nowhere(named, "consumable of the shop sheet", shop.consumables)
                yield "model", (*at, field), message
        yield from _joint_references(at, joint, model)
        yield from _joint_sizes(at, joint)
        yield from _passes("model", (*at, "passes"), joint.passes)
        if joint.holds is not None and joint.holds not in model.pressure_parts:
            message = nowhere(joint.holds, "pressure part of this model", model.pressure_parts)
            yield "model", (*at, "holds"), message
    yield from _check_valves(model)
    yield from _bursts(model)
    yield from _relief(model)
    yield from check_assembly(model, shop)
    yield from _fluid_end(model)
    yield from _rod(model)
    yield from check_leaks(model)
    yield from check_seals(model, shop)
    yield from check_parts(model)


def _bursts(model: ModelSheet) -> Found:
    for name, part in model.pressure_parts.items():
        below = (part.max_working_pressure, part.max_test_pressure)
        if part.burst_pressure is not None and any(
            pressure is not None and pressure.nominal > part.burst_pressure.nominal
            for pressure in below
        ):
            message = "is below what the part works at or is tested at"
            yield "model", ("pressure_parts", name, "burst_pressure"), message


def _relief(model: ModelSheet) -> Found:
    if model.relief is None:
        return
    for field in ("set_tolerance", "blowdown"):
        share = getattr(model.relief, field)
        if share is not None and share.nominal >= 1.0:
            yield "model", ("relief", field), "is 100 % or over; it is a share of the set"
    discharge = model.relief.discharge_coefficient
    if discharge is not None and discharge.nominal > 1.0:
        yield "model", ("relief", "discharge_coefficient"), "is over 1"


def _check_valves(model: ModelSheet) -> Found:
    for name, valve in model.check_valves.items():
        if valve.part not in model.pressure_parts:
            message = nowhere(valve.part, "pressure part of this model", model.pressure_parts)
            yield "model", ("check_valves", name, "part"), message
        spring = valve.spring
        if spring is not None and spring.seated_force is None:
            for field in ("rate", "free_length", "seated_length"):
                if getattr(spring, field) is None:
                    message = "is missing; give seated_force, or rate with both lengths"
                    yield "model", ("check_valves", name, "spring", field), message
        for part in (("ball", "material"), ("seat", "material")):
            named = getattr(getattr(valve, part[0]), part[1])
            yield from known(("check_valves", name, *part), material, named)


def _joint_references(at: PathKey, joint: Joint, model: ModelSheet) -> Found:
    yield from _thread(at, joint, model)
    yield from known((*at, "condition"), friction, joint.condition)
    for index, layer in enumerate(joint.layers):
        yield from known((*at, "layers", index, "material"), material, layer.material)
    if joint.tapped is not None:
        yield from known((*at, "tapped", "material"), material, joint.tapped.material)
    if joint.flange is not None:
        yield from known((*at, "flange", "material"), material, joint.flange.material)
    layout = joint.layout
    if layout is None:
        return
    if layout.shape == "rectangle" and 2 * (layout.columns + layout.rows) - 4 != joint.count:
        held = 2 * (layout.columns + layout.rows) - 4
        message = f"{layout.columns} columns and {layout.rows} rows hold {held} fasteners"
        yield "model", (*at, "layout"), f"{message} round the edge; the joint has {joint.count}"
    if layout.shape == "row":
        if joint.count % layout.rows:
            message = f"{joint.count} fasteners do not fill {layout.rows} rows evenly"
            yield "model", (*at, "layout", "rows"), message
        if joint.order == "quadrant":
            yield "model", (*at, "order"), "a row has no quadrants; write cross or rotation"


def _joint_sizes(at: PathKey, joint: Joint) -> Found:
    """What no joint can be: a face without metal, a gasket without a ring, all of the load gone."""
    face, hole, gasket = joint.bearing_diameter, joint.hole_diameter, joint.gasket
    if face is not None and hole is not None and hole.nominal >= face.nominal:
        yield "model", (*at, "hole_diameter"), f"is not below the bearing face, {face.canonical}"
    if joint.roughness is not None and joint.roughness.nominal > ROUGHEST:
        yield "model", (*at, "roughness"), f"is over Rz {ROUGHEST * 1e6:g} µm, where guides end"
    for index, layer in enumerate(joint.layers):
        outer, where = layer.outer_diameter, (*at, "layers", index)
        if outer is not None and hole is not None and outer.nominal <= hole.nominal:
            yield "model", (*where, "outer_diameter"), f"is not above the hole, {hole.canonical}"
        yield from _creep(where, layer.creep)
    if gasket is None:
        return
    inner, outer = gasket.inner_diameter, gasket.outer_diameter
    if inner is not None and outer is not None and inner.nominal >= outer.nominal:
        yield "model", (*at, "gasket", "inner_diameter"), f"is not below {outer.canonical} outside"
    yield from _creep((*at, "gasket"), gasket.creep)


def _creep(at: PathKey, creep: Amount | None) -> Found:
    if creep is not None and creep.nominal >= 1.0:
        yield "model", (*at, "creep"), "is 100 % or over; then no load is left"


def _thread(at: PathKey, joint: Joint, model: ModelSheet) -> Found:
    try:
        thread = thread_of(model, joint)
    except ValueError as problem:
        yield "model", (*at, "thread"), str(problem)
        return
    yield from known(
        (*at, "strength_class"), lambda name: strength_class(name, thread), joint.strength_class
    )
    if joint.external_class is not None:
        yield from known(
            (*at, "external_class"),
            lambda name: external_limits(thread, name),
            joint.external_class,
        )
    if joint.internal_class is not None:
        yield from known(
            (*at, "internal_class"),
            lambda name: internal_limits(thread, name),
            joint.internal_class,
        )


def _yielding(name: str) -> None:
    """Refuse a material that is not in the table, or has no yield strength to hold a column to."""
    if material(name).yield_strength is None:
        raise LookupError(f"{name!r} has no yield strength in the table; a rod needs one")


def _rod(model: ModelSheet) -> Found:
    rod = model.rod
    if rod is None:
        return
    if rod.joint not in model.joints:
        message = nowhere(rod.joint, "joint of this model", model.joints)
        yield "model", ("rod", "joint"), message
    yield from known(("rod", "material"), _yielding, rod.material)
    if rod.effective_diameter is None and model.fluid_end.bore is None:
        message = "is missing; without a bore the sheet does not say what the pressure works on"
        yield "model", ("rod", "effective_diameter"), message
    if rod.load_plane is not None and rod.load_plane.nominal > 1.0:
        yield "model", ("rod", "load_plane"), "is over 100 %; it lies between nut and shoulder"


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
    if end.rod_ratio is not None and end.rod_ratio.nominal <= 1.0:
        message = "is not over 1; it is the length of the connecting rod over the crank's radius"
        yield "model", ("fluid_end", "rod_ratio"), message


def _drive(drive: Drive) -> Found:
    if drive.kind != "electric":
        if drive.piston_diameter is None and drive.area_ratio is None:
            message = "is missing; give piston_diameter or area_ratio"
            yield "model", ("drive", "piston_diameter"), message
        if drive.supply_max is None:
            yield "model", ("drive", "supply_max"), "is missing; the highest supply pressure"
    if drive.friction is not None and drive.friction.nominal >= 1.0:
        yield "model", ("drive", "friction"), "is 100 % or over; then the drive moves nothing"
    for field in ("mechanical_efficiency", "motor_efficiency"):
        share = getattr(drive, field)
        if share is not None and share.nominal > 1.0:
            yield "model", ("drive", field), "is over 100 %"
    for field in ("air_inlet", "air_exhaust"):
        passage = getattr(drive, field)
        if passage is not None:
            yield from _passage(("drive", field), passage)


def _passage(at: PathKey, passage: AirPassage) -> Found:
    sizes = [name for name in ("bore", "kv", "cv") if getattr(passage, name) is not None]
    if len(sizes) != 1:
        told = " and ".join(sizes) or "none"
        yield "model", at, f"takes one of bore, kv and cv; there is {told}"
    discharge = passage.discharge_coefficient
    if discharge is not None and discharge.nominal > 1.0:
        yield "model", (*at, "discharge_coefficient"), "is over 1"
    if discharge is not None and passage.bore is None:
        message = "goes with a bore; kv and cv have it in them"
        yield "model", (*at, "discharge_coefficient"), message


def _job(job: JobCard, model: ModelSheet, shop: ShopSheet) -> Found:
    yield from check_wear(job, model)
    yield from check_fitted(job, model, shop)
    yield from check_bench(job, model)
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
                yield "job", (field, name), nowhere(name, kind, offered)
    for joint, use in job.tools.items():
        if use.wrench not in shop.wrenches:
            message = nowhere(use.wrench, "wrench of the shop sheet", shop.wrenches)
            yield "job", ("tools", joint, "wrench"), message
        if use.adapter is not None and use.adapter not in shop.adapters:
            message = nowhere(use.adapter, "adapter of the shop sheet", shop.adapters)
            yield "job", ("tools", joint, "adapter"), message
    for joint, used in job.consumables_used.items():
        if used not in shop.consumables:
            message = nowhere(used, "consumable of the shop sheet", shop.consumables)
            yield "job", ("consumables_used", joint), message
    for joint, readings in job.torque_readings.items():
        if joint in model.joints and len(readings) > model.joints[joint].count:
            message = f"has {len(readings)} readings for {model.joints[joint].count} fasteners"
            yield "job", ("torque_readings", joint), message
    yield from _pops(job, shop)


def _pops(job: JobCard, shop: ShopSheet) -> Found:
    read = job.relief_setting
    if read is None:
        return
    if read.gauge is not None and read.gauge not in shop.gauges:
        message = nowhere(read.gauge, "gauge of the shop sheet", shop.gauges)
        yield "job", ("relief_setting", "gauge"), message
    if read.reseats and len(read.reseats) != len(read.pops):
        message = f"has {len(read.reseats)} reseats for {len(read.pops)} pops; each has its own"
        yield "job", ("relief_setting", "reseats"), message
    for index, (opened, shut) in enumerate(zip(read.pops, read.reseats, strict=False)):
        if shut.nominal > opened.nominal:
            message = f"is above its pop, {opened.canonical}; a valve shuts below"
            yield "job", ("relief_setting", "reseats", index), message
