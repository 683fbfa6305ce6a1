"""What touches a seal: the fluid, its temperature, cleaning agents, lubricants and sealants."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from rebuildbook.calculators.elastomer import (
    NEAR_LIMIT,
    ZERO_CELSIUS,
    Rating,
    Suitability,
    elastomer,
    fluid_class,
    suitability,
)
from rebuildbook.calculators.lubricant_rules import (
    MEMORY,
    PRACTICE,
    Conflict,
    Kind,
    Lubricant,
    lubricant_conflicts,
)
from rebuildbook.sheets.seals import Seal
from rebuildbook.sheets.shop import Consumable
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.joint_findings import NO_SILICONE
from rebuildbook.worksheet.model import Finding, Level
from rebuildbook.worksheet.plan import consumables_of
from rebuildbook.worksheet.seal_rings import Joints
from rebuildbook.worksheet.under_load import temperatures

_LEVEL: dict[Rating, Level] = {
    "suits": "clear",
    "limited": "query",
    "ask the supplier": "query",
    "unfit": "hold",
}
_WORDS: dict[Rating, str] = {
    "suits": "suits",
    "limited": "is of limited use in",
    "ask the supplier": "is not known in",
    "unfit": "is unfit for",
}
_ACTION: dict[Level, str] = {
    "clear": "",
    "query": "Ask the supplier of the rubber before the pump goes back.",
    "hold": "Do not run. Fit a seal of a rubber that suits.",
}
_KINDS: dict[str, Kind] = {"lubricant": "grease", "sealant": "sealant"}
Missing = dict[str, list[str]]  # what the sheets do not say: of which seals
_SWELLS = "swells the rubber"
_SILICONE = "silicone in a film duty"


def class_of(context: Context) -> tuple[str, bool] | None:
    """The class of the fluid, and whether the card names it; None where nothing tells.

    Slip, glaze and water are classes of the table by their kind.
    """
    fluid = context.job.fluid
    if fluid.fluid_class is not None:
        return fluid_class(fluid.fluid_class).name, True
    try:
        return fluid_class(fluid.kind).name, False
    except LookupError:
        return None


def material_findings(
    context: Context, seals: Mapping[str, Seal], missing: Missing
) -> Iterator[Finding]:
    """Judge each rubber in the fluid, at its temperatures, and in what cleans it."""
    wetted, dry = _families(seals, wetted=True), _families(seals, wetted=False)
    for name, seal in seals.items():
        if seal.material is None:
            missing.setdefault("material", []).append(name)
    for family, names in wetted.items():
        judged = list(_judged(context, family, names, missing))
        if judged:
            yield _suits(context, family, names, judged)
    for family, names in dry.items():
        yield _in_air(context, family, names)


def _families(seals: Mapping[str, Seal], *, wetted: bool) -> dict[str, list[str]]:
    """Seals by the family of their rubber."""
    found: dict[str, list[str]] = {}
    for name, seal in seals.items():
        if seal.material is not None and seal.wetted is wetted:
            found.setdefault(elastomer(seal.material).family, []).append(name)
    return found


def _judged(
    context: Context, family: str, names: Sequence[str], missing: Missing
) -> Iterator[tuple[Suitability, str]]:
    """Verdicts on a rubber: in the fluid at both ends of its temperature, in each cleaner."""
    found = class_of(context)
    if found is not None:
        # degrees Fahrenheit come with a last digit that is none
        ends = [round(end, 2) for end in temperatures(context)]
        worst = max((suitability(family, found[0], end) for end in ends), key=_gravity)
        # a class that only the kind of fluid tells is too rough to ask about; heat is not
        if not found[1] and suitability(family, found[0]).rating == "ask the supplier":
            missing.setdefault(f"rating of {family} in {found[0]}", []).extend(names)
        else:
            yield worst, ""
    for agent in context.job.fluid.cleaned_with:
        of = context.shop.consumables[agent].fluid_class
        if of is None:
            missing.setdefault(f"class of {agent}", []).extend(names)
        else:
            yield suitability(family, of), f" ({agent})"


def _gravity(found: Suitability) -> int:
    return list(_LEVEL).index(found.rating)


def _suits(
    context: Context, family: str, names: Sequence[str], judged: Sequence[tuple[Suitability, str]]
) -> Finding:
    ends = " to ".join(context.value(end, "temperature").shown for end in temperatures(context))
    worst, agent = max(judged, key=lambda pair: _gravity(pair[0]))
    level = _LEVEL[worst.rating]
    sources = dict.fromkeys(source for found, _ in judged for source in found.sources)
    return Finding(
        f"seals.fluid.{family.lower()}",
        level,
        f"{', '.join(names)}: {family} {_WORDS[worst.rating]} {worst.fluid}{agent}",
        f"{ends}: " + "; ".join(dict.fromkeys(found.reason for found, _ in judged)),
        "",
        _ACTION[level],
        "; ".join(sources) or PRACTICE,
    )


def _in_air(context: Context, name: str, names: Sequence[str]) -> Finding:
    """A rubber that the fluid does not touch, by its temperature alone."""
    family = elastomer(name)
    cold, hot = temperatures(context)
    level: Level = (
        "hold"
        if cold < family.coldest or hot > family.hottest
        else "query"
        if hot > family.hottest - NEAR_LIMIT
        else "clear"
    )
    words = {"clear": "stands", "query": "hardly stands", "hold": "does not stand"}
    ends, limits = (
        f"{low - ZERO_CELSIUS:.0f} to {high - ZERO_CELSIUS:.0f} °C".replace("-", "−")
        for low, high in ((cold, hot), (family.coldest, family.hottest))
    )
    return Finding(
        f"seals.air.{family.family.lower()}",
        level,
        f"{', '.join(names)}: {family.family} {words[level]} the temperature",
        f"{ends} against {limits}; the fluid does not touch it",
        "",
        _ACTION[level],
        family.source,
    )


def lubricant_findings(
    context: Context, seals: Mapping[str, Seal], joints: Joints, missing: Missing
) -> Iterator[Finding]:
    """Judge what seals are fitted with, and what goes on the threads of their joints."""
    clear: dict[str, list[str]] = {}
    for name, seal in seals.items():
        conflicts: list[Conflict] = []
        for consumable, own in _touching(context, seal, joints).items():
            thing = context.shop.consumables[consumable]
            if thing.kind not in _KINDS:
                continue
            if thing.base is None:
                missing.setdefault(f"base of {consumable}", []).append(name)
            else:
                clear.setdefault(name, []).append(consumable)
            conflicts += _conflicts(context, seal, consumable, thing, own)
        if conflicts:
            clear.pop(name, None)
            yield _attacked(name, conflicts)
    if clear:
        used = ", ".join(dict.fromkeys(one for names in clear.values() for one in names))
        yield Finding(
            "seals.touches",
            "clear",
            f"{', '.join(clear)}: what they are fitted with leaves the rubber alone",
            used,
            source=f"{PRACTICE}; {MEMORY}",
        )


def _attacked(name: str, conflicts: Sequence[Conflict]) -> Finding:
    level: Level = "hold" if any(one.severity == "hold" for one in conflicts) else "query"
    words = {"query": "ask about what touches it", "hold": "wrong lubricant or sealant"}
    return Finding(
        f"seals.{name}.touches",
        level,
        f"{name}: {words[level]}",
        "; ".join(dict.fromkeys(conflict.text for conflict in conflicts)),
        "",
        "Ask the supplier, or take one that is known to suit."
        if level == "query"
        else "Take the seal out, clean the gland, and fit a new one with what suits it.",
        "; ".join(dict.fromkeys(conflict.source for conflict in conflicts)),
    )


def _touching(context: Context, seal: Seal, joints: Joints) -> dict[str, bool]:
    """Consumables that touch a seal; False for what the joint's own check has judged already."""
    found: dict[str, bool] = {}
    if seal.lubricant is not None:
        found[seal.lubricant] = True
    if seal.joint is not None:
        for _, consumable in consumables_of(context, joints[seal.joint].plan):
            found[consumable] = False
    return found


def _conflicts(
    context: Context, seal: Seal, name: str, thing: Consumable, own: bool
) -> Iterator[Conflict]:
    fluid = context.job.fluid.kind
    lubricant = Lubricant(
        name,
        thing.base or "not known",
        _KINDS[thing.kind],
        silicone_free=thing.silicone_free,
    )
    found = lubricant_conflicts(
        lubricant,
        fluid if seal.wetted else "",
        [seal.material] if seal.material else [],
        thread=None if own else "straight",
        seals_with_o_ring=seal.kind == "o-ring",
    )
    for conflict in found:
        if conflict.rule == _SWELLS and thing.base is None:
            continue
        if conflict.rule == _SILICONE and not own and fluid in NO_SILICONE:
            continue
        yield conflict
