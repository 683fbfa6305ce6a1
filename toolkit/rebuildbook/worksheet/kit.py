"""The kit of a job: what is drawn from the stores, what is reworked, what goes back as it is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from rebuildbook.calculators.elastomer import elastomer
from rebuildbook.calculators.wear import disposition
from rebuildbook.sheets.model import Gasket
from rebuildbook.sheets.parts import PartItem, pieces
from rebuildbook.sheets.seals import ORingSeal
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.inspection import start_of_wear

# "new": always drawn; "measure": its size is missing; "look": nothing but the eye decides
Becomes = Literal["new", "replace", "rework", "measure", "look", "reuse"]
BECOMES: tuple[Becomes, ...] = ("new", "replace", "rework", "measure", "look", "reuse")
SEALS = "seals and gaskets are always new"
DRAWN: frozenset[Becomes] = frozenset({"new", "replace"})


@dataclass(frozen=True, slots=True)
class KitPart:
    """Pieces of one part that share their fate.

    ``number`` is the shop's stock number, empty where it has none; ``make`` what else it takes to
    draw the right one, as size and material; ``why`` what decided.
    """

    name: str
    what: str
    count: int
    becomes: Becomes
    why: str
    number: str = ""
    make: str = ""

    @property
    def drawn(self) -> bool:
        """Whether the stores are asked for it now."""
        return self.becomes in DRAWN


@dataclass(frozen=True, slots=True)
class KitConsumable:
    """A consumable of the shop sheet, what it is for, and on how many places it goes."""

    name: str
    what: str
    uses: tuple[str, ...]
    places: int


@dataclass(frozen=True, slots=True)
class Kit:
    """All that a job asks of the stores and of the bench that reworks."""

    job: str
    serial: str
    model: str
    parts: tuple[KitPart, ...]
    consumables: tuple[KitConsumable, ...]

    def of(self, *becomes: Becomes) -> tuple[KitPart, ...]:
        """The parts with one of these fates."""
        return tuple(part for part in self.parts if part.becomes in becomes)


def kit_of(context: Context) -> Kit:
    """Work out the kit of one case, from its measurements and the rules of its model sheet."""
    job = context.job
    parts = (*_parts(context), *_seals(context), *_gaskets(context))
    return Kit(job.job, job.serial, job.model, parts, tuple(_consumables(context)))


def _parts(context: Context) -> Iterator[KitPart]:
    for name, part in context.model.parts.items():
        count = pieces(part, context.model)
        gaskets = (context.model.joints[joint].gasket for joint in part.gasket_of)
        makes = [make_of(context, seal) for seal in part.seal]
        makes += [_gasket_make(gasket) for gasket in gaskets if gasket]
        make = "; ".join(dict.fromkeys(makes))
        number = part.number or ""
        if part.always_new or (part.always_new is None and part.seals_something):
            why = "always new" if part.always_new else SEALS
            yield KitPart(name, part.what, count, "new", why, number, make)
            continue
        fates = [_fate(context, limit) for limit in part.measured_by]
        if not fates:
            yield KitPart(name, part.what, count, "look", "nothing measures it", number, make)
        elif len(fates) == count:
            yield from _each(name, part, fates, make)
        else:
            worst = min(fates, key=lambda fate: _RANK.index(fate[0]))
            yield KitPart(name, part.what, count, *worst, number, make)


# a part that fails one measure is replaced, whatever the others would be
_RANK: tuple[Becomes, ...] = ("replace", "measure", "rework", "reuse")


def _each(
    name: str, part: PartItem, fates: list[tuple[Becomes, str]], make: str
) -> Iterator[KitPart]:
    """One limit for each piece: pieces of one fate together."""
    for becomes in _RANK:
        whys = [why for fate, why in fates if fate == becomes]
        if whys:
            why = "; ".join(dict.fromkeys(whys))
            yield KitPart(name, part.what, len(whys), becomes, why, part.number or "", make)


def _fate(context: Context, name: str) -> tuple[Becomes, str]:
    limit, measured = context.model.wear_limits[name], context.job.measured.get(name)
    if measured is None:
        return "measure", f"{name} is not measured"
    start, rework = start_of_wear(limit), limit.rework_limit
    becomes: Becomes = disposition(
        measured.nominal, start, limit.reuse_limit.nominal, rework.nominal if rework else None
    )
    told = f"{name} {measured.canonical}, limit {limit.reuse_limit.canonical}"
    if becomes == "rework" and limit.rework:
        told += f": {limit.rework}"
    return becomes, told


def _seals(context: Context) -> Iterator[KitPart]:
    """Seals that no part of the sheet stands for; each is drawn new."""
    named = {seal for part in context.model.parts.values() for seal in part.seal}
    for name, seal in context.model.seals.items():
        if name not in named:
            make = make_of(context, name)
            yield KitPart(name, seal.what, seal.count, "new", SEALS, "", make)


def _gaskets(context: Context) -> Iterator[KitPart]:
    """Gaskets of joints that neither a part nor a seal of the sheet stands for."""
    named = {joint for part in context.model.parts.values() for joint in part.gasket_of}
    named |= {seal.joint for seal in context.model.seals.values() if seal.joint}
    for name, joint in context.model.joints.items():
        if joint.gasket is None or joint.gasket.kind == "none" or name in named:
            continue
        make, what = _gasket_make(joint.gasket), f"Gasket of {name}: {joint.what}"
        yield KitPart(f"gasket-{name}", what, 1, "new", SEALS, "", make)


def _gasket_make(gasket: Gasket) -> str:
    parts: list[str] = [f"{gasket.kind} gasket" if gasket.kind == "flat" else "ring"]
    parts += [gasket.material] if gasket.material else []
    thick = "thick" if gasket.kind == "flat" else "section"
    sizes = (("inner_diameter", "inside"), ("outer_diameter", "outside"), ("thickness", thick))
    for field, word in sizes:
        size = getattr(gasket, field)
        parts += [f"{size.canonical} {word}"] if size is not None else []
    return ", ".join(parts)


def make_of(context: Context, name: str) -> str:
    """Kind, size and material of a seal, as the job fits it."""
    seal, fitted = context.model.seals[name], context.job.seals_fitted.get(name)
    parts: list[str] = [seal.kind]
    material = (fitted and fitted.material) or seal.material
    if material:
        material = elastomer(material).family  # one ring by two names is one ring to draw
    if isinstance(seal, ORingSeal):
        hardness = (fitted and fitted.hardness) or seal.hardness
        parts.append((fitted and fitted.size) or seal.size)
        shore = f" {hardness.nominal:g} Shore A" if hardness else ""
        parts.append(f"{material or 'material not given'}{shore}")
    elif material:
        parts.append(material)
    return ", ".join(parts)


def _consumables(context: Context) -> Iterator[KitConsumable]:
    uses: dict[str, list[tuple[str, int]]] = {}
    used = context.job.consumables_used
    for name, joint in context.model.joints.items():
        named = [used[name]] if name in used else [joint.lubricant, joint.threadlocker]
        for thing in named:
            if thing is not None:
                uses.setdefault(thing, []).append((name, joint.count))
    for name, seal in context.model.seals.items():
        fitted = context.job.seals_fitted.get(name)
        thing = (fitted and fitted.lubricant) or seal.lubricant
        if thing is not None:
            uses.setdefault(thing, []).append((name, seal.count))
    for thing, found in uses.items():
        what = context.shop.consumables[thing].what
        places = sum(count for _, count in found)
        yield KitConsumable(thing, what, tuple(name for name, _ in found), places)
