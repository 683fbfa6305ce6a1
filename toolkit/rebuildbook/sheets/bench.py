"""The test card of a pump in the words of its sheets: which readings a job card may give."""

from __future__ import annotations

import difflib
import functools
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from pydantic_core import PydanticCustomError

from rebuildbook.calculators.bench_card import USUAL, Card, card
from rebuildbook.calculators.drive import ATMOSPHERE, StrokeAreas
from rebuildbook.calculators.pump_network import Architecture, Pump
from rebuildbook.calculators.pump_units import (
    differential,
    double_acting,
    double_diaphragm,
    plunger,
    single_acting,
)
from rebuildbook.sheets.fields import Quantity, Sign
from rebuildbook.sheets.job import BenchSetUp, JobCard
from rebuildbook.sheets.model import CheckValve, ModelSheet
from rebuildbook.sheets.pointing import Found
from rebuildbook.sheets.seals import ORingSeal, PlainSeal, Seal, UCupSeal, VPackingSeal
from rebuildbook.units import Amount
from rebuildbook.units.parse import Form

RELIEF = "relief valve"
Names = dict[str, str]

# network's name of a check: its role, the stroke it holds on (where that tells), a word of its name
_CHECKS: dict[Architecture, tuple[tuple[str, str, str, str], ...]] = {
    "double-acting-piston": (
        ("upper inlet", "inlet", "up-stroke", "upper"),
        ("upper outlet", "outlet", "down-stroke", "upper"),
        ("lower inlet", "inlet", "down-stroke", "lower"),
        ("lower outlet", "outlet", "up-stroke", "lower"),
    ),
    "single-acting-piston": (("inlet", "inlet", "", ""), ("outlet", "outlet", "", "")),
    "differential-piston": (("foot check", "inlet", "", ""), ("piston check", "outlet", "", "")),
    "double-diaphragm": tuple(
        (f"{side} {role}", role, "", side)
        for side in ("left", "right")
        for role in ("inlet", "outlet")
    ),
}
_STROKES = {"up-stroke": "left stroke", "down-stroke": "right stroke"}  # of a diaphragm pump
_GAUGE = ("stall pressure", "supply that just moves it")
_EITHER_WAY = ("swing, in step", "swing, quarter turn")


@dataclass(frozen=True, slots=True)
class Offered:
    """One reading that a pump's card has: its name on the card, what it is a quantity of."""

    name: str
    quantity: Quantity
    usual: bool


def bench_architecture(model: ModelSheet) -> Architecture:
    """Tell which network a model is; raises LookupError with the reason where there is none.

    A single-acting piston with a rod through its fluid side delivers on both strokes: a
    differential. A plunger on an air motor is single-acting.
    """
    kind, drive, end = model.architecture, model.drive.kind, model.fluid_end
    if drive == "hydraulic":
        raise LookupError("the test card is worked out for air motors and cranks, not for oil")
    if drive == "electric":
        if kind != "plunger":
            raise LookupError("of crank drives the test card is worked out for plungers only")
        return "plunger"
    if end.plungers > 1:
        raise LookupError("the test card is not worked out for several cylinders on one air motor")
    if kind == "single-acting-piston" and end.rod is not None:
        return "differential-piston"
    return "single-acting-piston" if kind == "plunger" else kind


def part_names(model: ModelSheet) -> Names:
    """Give the sheet's name of each check and seal by the network's, where one fits and no more."""
    architecture = bench_architecture(model)
    found = {**dict(_checks(architecture, model)), **dict(_seals(architecture, model))}
    pump = _layout(architecture, model.fluid_end.plungers)
    all_names = [fault.name for fault in pump.faults]
    while True:
        called = [found.get(name, name) for name in all_names]
        double = {old for old, new in found.items() if called.count(new) > 1}
        if not double:
            return {old: new.replace("-", " ") for old, new in found.items()}
        found = {old: new for old, new in found.items() if old not in double}


def sheet_parts(model: ModelSheet) -> Names:
    """Say what each check and seal is, in the sheet's words, by the name the card has for it."""
    what = {name: part.what for name, part in (*model.check_valves.items(), *model.seals.items())}
    sheet = {slug.replace("-", " "): told for slug, told in what.items()}
    names = set(part_names(model).values())
    return {
        name: told
        for name in names
        for told in [sheet.get(name) or sheet.get(re.sub(r" \d+$", "", name), "")]
        if told
    }


def _checks(architecture: Architecture, model: ModelSheet) -> Iterator[tuple[str, str]]:
    valves = model.check_valves
    if architecture == "plunger":
        yield from _plunger_checks(valves, model.fluid_end.plungers)
        return
    for name, role, stroke, word in _CHECKS[architecture]:
        of_role = [slug for slug, valve in valves.items() if valve.role == role]
        by_stroke = [slug for slug in of_role if stroke and valves[slug].holds_on == stroke]
        by_word = [slug for slug in of_role if not word or word in slug.split("-")]
        if len(by_stroke or by_word) == 1:
            yield name, (by_stroke or by_word)[0]


def _plunger_checks(valves: dict[str, CheckValve], count: int) -> Iterator[tuple[str, str]]:
    """Checks of plungers by the number in their names; without numbers, in the sheet's order."""
    for role in ("inlet", "outlet"):
        of_role = [slug for slug, valve in valves.items() if valve.role == role]
        if not any(re.search(r"\d", slug) for slug in of_role) and len(of_role) == count:
            yield from ((f"{role} {place}", slug) for place, slug in enumerate(of_role, 1))
            continue
        for place in range(1, count + 1):
            named = [slug for slug in of_role if str(place) in re.findall(r"\d+", slug)]
            if len(named) == 1:
                yield f"{role} {place}", named[0]


def _seals(architecture: Architecture, model: ModelSheet) -> Iterator[tuple[str, str]]:
    on_rod = [slug for slug, seal in model.seals.items() if seal.wetted and _runs(seal) == "rod"]
    in_bore = [slug for slug, seal in model.seals.items() if seal.wetted and _runs(seal) == "bore"]
    match architecture:
        case "plunger":
            for place in range(1, model.fluid_end.plungers + 1):
                if len(on_rod) == 1:
                    yield f"packing {place}", f"{on_rod[0]} {place}"
        case "double-diaphragm":
            for side in ("left", "right"):
                own = [
                    slug for slug, seal in model.seals.items()
                    if isinstance(seal, PlainSeal) and seal.kind == "diaphragm"
                    and side in slug.split("-")
                ]  # fmt: skip
                if len(own) == 1:
                    yield f"{side} diaphragm", own[0]
        case "single-acting-piston":
            own = on_rod if model.architecture == "plunger" else in_bore
            if len(own) == 1:
                yield "piston cup", own[0]
        case _:
            for name, slugs in (("piston seal", in_bore), ("rod packing", on_rod)):
                if len(slugs) == 1:
                    yield name, slugs[0]


def _runs(seal: Seal) -> str:
    """Say what a seal slides on: "rod", "bore" or nothing that the sheet tells."""
    if isinstance(seal, UCupSeal):
        return seal.slides
    if isinstance(seal, ORingSeal) and seal.moves:
        return {"male": "bore", "female": "rod"}.get(seal.gland.form, "")
    return "rod" if isinstance(seal, VPackingSeal) else ""


@functools.lru_cache(maxsize=32)
def _layout(architecture: Architecture, plungers: int) -> Pump:
    """Make a pump of the network: names of parts and readings do not hang on its sizes."""
    air = StrokeAreas(0.02, 0.02)
    match architecture:
        case "double-acting-piston":
            return double_acting(StrokeAreas(4e-3, 5e-3), air, stroke=0.1, rate=1.0, supply=4e5)
        case "single-acting-piston":
            return single_acting(5e-3, air, stroke=0.1, rate=1.0, supply=4e5)
        case "differential-piston":
            return differential(5e-3, 2.5e-3, air, stroke=0.1, rate=1.0, supply=4e5)
        case "double-diaphragm":
            return double_diaphragm(0.02, stroke=0.01, rate=1.0, supply=4e5)
        case "plunger":
            return plunger(3e-4, stroke=0.02, rate=10.0, pressure=5e6, plungers=plungers)


@functools.lru_cache(maxsize=64)
def _named(
    architecture: Architecture, plungers: int, relief: bool, names: tuple[tuple[str, str], ...]
) -> Card:
    pump = _layout(architecture, plungers).renamed(dict(names))
    return card(pump if relief else pump.without(RELIEF))


def key_of(name: str) -> str:
    """Write a reading's name as a job card does.

    >>> key_of("stall pressure, up-stroke")
    'stall-pressure-up-stroke'
    """
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")


def offered(model: ModelSheet) -> dict[str, Offered]:
    """Give every reading of a model's card by its key; raises LookupError where it has no card."""
    names = tuple(sorted(part_names(model).items()))
    made = _named(
        bench_architecture(model), model.fluid_end.plungers, model.relief is not None, names
    )
    return {
        key_of(one.name): Offered(one.name, _quantity(one.name, one.unit), one.test == USUAL)
        for one in made.readings
    }


def _quantity(name: str, unit: str) -> Quantity:
    single: tuple[Form, ...] = ("single",)
    if unit == "m/s":
        return Quantity("speed", single, "not negative")
    if unit == "m^3/s":
        return Quantity("air flow" if name.startswith("air") else "flow", single, "not negative")
    if name.startswith(_GAUGE):
        return Quantity("pressure", single, "not negative", "gauge")
    sign: Sign = "any" if name.startswith(_EITHER_WAY) else "not negative"
    return Quantity("pressure", single, sign, "difference")


def readings_of(job: JobCard, model: ModelSheet) -> dict[str, Amount]:
    """Give the readings of a job card by their names on the pump's card, in the card's order.

    Creep at stall counts among them. Raises LookupError where the pump has no card.
    """
    if job.test is None:
        return {}
    given = {**dict(_creeps(job, model)), **job.test.readings}
    return {one.name: given[key] for key, one in offered(model).items() if key in given}


def _creeps(job: JobCard, model: ModelSheet) -> Iterator[tuple[str, Amount]]:
    stall = job.test.stall if job.test else None
    if stall is None:
        return
    diaphragm = model.architecture == "double-diaphragm"
    for stroke, amount in (
        ("up-stroke", stall.up_stroke_creep),
        ("down-stroke", stall.down_stroke_creep),
    ):
        if amount is not None:
            yield key_of(f"creep, {_STROKES[stroke] if diaphragm else stroke}"), amount


def check_bench(job: JobCard, model: ModelSheet) -> Found:
    """Check the readings of the job card by name, dimension and sign, and the bench's set-up.

    A pump without a card has nothing to hold them against; the worksheet says so.
    """
    if job.test is None:
        return
    if job.test.bench is not None:
        yield from _set_up(job.test.bench)
    if not job.test.readings:
        return
    try:
        known = offered(model)
    except LookupError:
        return
    creeps = dict(_creeps(job, model))
    for key, amount in job.test.readings.items():
        at = ("test", "readings", key)
        if key not in known:
            yield "job", at, _unknown(key, known)
            continue
        try:
            known[key].quantity.read(amount.text)
        except PydanticCustomError as problem:
            yield "job", at, str((problem.context or {})["message"])
        own = creeps.get(key, amount)
        if abs(own.nominal - amount.nominal) > 1e-9 * abs(own.nominal):
            message = f"but test.stall says {own.canonical}; one creep has one value"
            yield "job", at, f"is {amount.canonical}, {message}"


def _unknown(key: str, known: Iterable[str]) -> str:
    names = list(known)
    near = difflib.get_close_matches(key, names, 1, 0.5)
    hint = f"did you mean {near[0]}? It has" if near else "it has"
    return f"{key!r} is not a reading of this pump's test card; {hint} {', '.join(names)}"


def _set_up(bench: BenchSetUp) -> Found:
    for field in ("line_compliance", "suction_compliance"):
        amount = getattr(bench, field)
        if amount is not None and amount.nominal <= 0.0:
            yield "job", ("test", "bench", field), "is zero; a line that gives nothing has no hold"
    if bench.vacuum is not None and bench.vacuum.nominal >= ATMOSPHERE:
        yield "job", ("test", "bench", "vacuum"), "is not below the atmosphere's pressure"
