"""What the sheets say about seals and what touches them, checked against each other."""

from __future__ import annotations

from collections.abc import Collection

from rebuildbook.calculators.elastomer import elastomer, fluid_class
from rebuildbook.calculators.o_ring_sizes import o_ring
from rebuildbook.sheets.glands import check_sizes
from rebuildbook.sheets.job import JobCard
from rebuildbook.sheets.model import ModelSheet
from rebuildbook.sheets.pointing import Found, known, nowhere
from rebuildbook.sheets.seals import ORingSeal, Seal
from rebuildbook.sheets.shop import ShopSheet
from rebuildbook.sheets.source import PathKey
from rebuildbook.units import Amount

HARDNESS = 20.0, 100.0  # Shore A


def check_seals(model: ModelSheet, shop: ShopSheet) -> Found:
    """Check what each seal points at, its material, its size and its gland."""
    for name, seal in model.seals.items():
        at: PathKey = ("seals", name)
        yield from _names(at, seal, model, shop)
        if seal.material is not None:
            yield from known((*at, "material"), elastomer, seal.material)
        if isinstance(seal, ORingSeal):
            yield from known((*at, "size"), o_ring, seal.size)
            yield from _hard("model", (*at, "hardness"), seal.hardness)
        try:
            check_sizes(seal)
        except ValueError as problem:
            yield "model", at, str(problem)


def _names(at: PathKey, seal: Seal, model: ModelSheet, shop: ShopSheet) -> Found:
    pointing: tuple[tuple[str, Collection[str], str], ...] = (
        ("joint", model.joints, "joint of this model"),
        ("part", model.pressure_parts, "pressure part of this model"),
        ("lubricant", shop.consumables, "consumable of the shop sheet"),
    )
    for field, offered, kind in pointing:
        named = getattr(seal, field)
        if named is not None and named not in offered:
            yield "model", (*at, field), nowhere(named, kind, offered)
    for index, named in enumerate(getattr(seal, "runs_on", [])):
        if named not in model.wear_limits:
            message = nowhere(named, "wear limit of this model", model.wear_limits)
            yield "model", (*at, "runs_on", index), message


def check_fitted(job: JobCard, model: ModelSheet, shop: ShopSheet) -> Found:
    """Check the seals fitted instead, the class of the fluid, and what it is cleaned with."""
    if job.fluid.fluid_class is not None:
        yield from known(("fluid", "fluid_class"), fluid_class, job.fluid.fluid_class, sheet="job")
    for index, agent in enumerate(job.fluid.cleaned_with):
        if agent not in shop.consumables:
            message = nowhere(agent, "consumable of the shop sheet", shop.consumables)
            yield "job", ("fluid", "cleaned_with", index), message
    for name, instead in job.seals_fitted.items():
        at: PathKey = ("seals_fitted", name)
        seal = model.seals.get(name)
        if seal is None:
            yield "job", at, nowhere(name, "seal of the model sheet", model.seals)
            continue
        if instead.material is not None:
            yield from known((*at, "material"), elastomer, instead.material, sheet="job")
        if instead.lubricant is not None and instead.lubricant not in shop.consumables:
            message = nowhere(instead.lubricant, "consumable of the shop sheet", shop.consumables)
            yield "job", (*at, "lubricant"), message
        if isinstance(seal, ORingSeal):
            yield from _hard("job", (*at, "hardness"), instead.hardness)
            if instead.size is not None:
                yield from known((*at, "size"), o_ring, instead.size, sheet="job")
            continue
        for field in ("size", "hardness"):
            if getattr(instead, field) is not None:
                yield "job", (*at, field), f"goes with an O-ring; {name} is a {seal.kind}"


def check_consumables(shop: ShopSheet) -> Found:
    """Check what the consumables say they are made of."""
    for name, thing in shop.consumables.items():
        at: PathKey = ("consumables", name)
        if thing.base == "silicone" and thing.silicone_free:
            yield "shop", (*at, "base"), "is silicone, but silicone_free says that it has none"
        if thing.fluid_class is not None:
            yield from known((*at, "fluid_class"), fluid_class, thing.fluid_class, sheet="shop")


def _hard(sheet: str, at: PathKey, hardness: Amount | None) -> Found:
    low, high = HARDNESS
    if hardness is not None and not low <= hardness.nominal <= high:
        yield sheet, at, f"is not between {low:g} and {high:g} Shore A"
