"""What the sheets say about leaks and wear over time, checked against each other."""

from __future__ import annotations

from rebuildbook.calculators.flow_curve import HerschelBulkley
from rebuildbook.calculators.leak_places import Architecture, Place, places
from rebuildbook.sheets.job import JobCard
from rebuildbook.sheets.model import ModelSheet
from rebuildbook.sheets.pointing import Found, nowhere
from rebuildbook.sheets.source import PathKey
from rebuildbook.sheets.wear import SeatDefect, WearLimit

_NAMES: dict[str, Architecture] = {
    "double-acting-piston": "double-acting piston",
    "single-acting-piston": "single-acting piston",
    "plunger": "plungers",
    "double-diaphragm": "double diaphragm",
}

WEEK = 7 * 24 * 3600.0  # s


def leak_architecture(model: ModelSheet) -> Architecture:
    """Name the pump as the leak places do: a single-acting piston with a rod is a differential."""
    if model.architecture == "single-acting-piston" and model.fluid_end.rod is not None:
        return "differential piston"
    return _NAMES[model.architecture]


def sealed_places(model: ModelSheet) -> dict[str, Place]:
    """Give the seals and packings of the pump by name; its checks are named on the sheet."""
    known = places(leak_architecture(model), model.fluid_end.plungers)
    return {place.name: place for place in known if "check" not in place.name}


def grows(limit: WearLimit) -> bool:
    """Whether the size grows as it wears: a bore; else it is what runs in one."""
    return limit.reuse_limit.nominal > limit.new.nominal


def check_leaks(model: ModelSheet) -> Found:
    """Check the leak gaps of the wear limits: place, mating part, and both sides of the gap."""
    offered, taken = sealed_places(model), set[str]()
    for name, limit in model.wear_limits.items():
        if limit.leak is None:
            continue
        at: PathKey = ("wear_limits", name, "leak")
        place = limit.leak.place
        if place not in offered:
            yield "model", (*at, "place"), nowhere(place, "seal or packing of this pump", offered)
        elif place in taken:
            yield "model", (*at, "place"), f"{place!r} has its gap from another wear limit already"
        taken.add(place)
        if limit.leak.eccentricity is not None and limit.leak.eccentricity.nominal > 1.0:
            yield "model", (*at, "eccentricity"), "is over 100 %; at 100 % the part touches"
        yield from _mate(at, name, limit, model)


def _mate(at: PathKey, name: str, limit: WearLimit, model: ModelSheet) -> Found:
    leak = limit.leak
    assert leak is not None  # noqa: S101
    if (leak.mate_size is None) is (leak.mate_measured is None):
        message = "is missing; give mate_size or mate_measured"
        if leak.mate_size is not None:
            message = "and mate_measured are both given; the mating part has one size"
        yield "model", (*at, "mate_size"), message
    if leak.mate_measured is None:
        return
    mate = model.wear_limits.get(leak.mate_measured)
    if mate is None or leak.mate_measured == name:
        others = [other for other in model.wear_limits if other != name]
        message = nowhere(leak.mate_measured, "other wear limit of this model", others)
        yield "model", (*at, "mate_measured"), message
    elif grows(mate) is grows(limit):
        yield "model", (*at, "mate_measured"), "wears the same way; a gap has a bore and a part"


def check_wear(job: JobCard, model: ModelSheet) -> Found:
    """Check the job card's flow curve, seat defects, and what it tells of past jobs."""
    yield from _fluid(job)
    for name, defect in job.seat_defects.items():
        if name not in model.check_valves:
            message = nowhere(name, "check valve of the model sheet", model.check_valves)
            yield "job", ("seat_defects", name), message
        yield from _defect(("seat_defects", name), defect)
    clock = 0.0
    for index, past in enumerate(job.past):
        at: PathKey = ("past", index)
        for field in ("measured", "fitted"):
            for name in getattr(past, field):
                if name not in model.wear_limits:
                    kind = "wear limit of the model sheet"
                    yield "job", (*at, field, name), nowhere(name, kind, model.wear_limits)
        if past.hours.nominal <= clock:
            yield "job", (*at, "hours"), "is not above that of the job before; write oldest first"
        clock = max(clock, past.hours.nominal)
    if job.running_hours is not None and job.running_hours.nominal <= clock:
        yield "job", ("running_hours",), "is not above that of the last past job"
    if job.running_per_week is not None and job.running_per_week.nominal > WEEK:
        yield "job", ("running_per_week",), "is more than a week has, 168 h"


def _fluid(job: JobCard) -> Found:
    curve, air = job.fluid.rheology, job.fluid.air_share
    if air is not None and air.nominal >= 1.0:
        yield "job", ("fluid", "air_share"), "is 100 % or over; that is no liquid"
    if curve is None:
        return
    try:
        HerschelBulkley(0.0, curve.consistency.nominal, curve.exponent.nominal)
    except ValueError as problem:
        yield "job", ("fluid", "rheology", "exponent"), str(problem)


def _defect(at: PathKey, defect: SeatDefect) -> Found:
    wide, deep = defect.scratch_width, defect.scratch_depth
    if (wide is None) is not (deep is None):
        missing = "scratch_width" if wide is None else "scratch_depth"
        yield "job", (*at, missing), "is missing; a scratch has a width and a depth"
    elif wide is None and defect.ovality is None:
        yield "job", at, "says nothing; give scratch_width with scratch_depth, or ovality"
