"""Which rubber for which fluid at which temperature, and why.

The ratings are rough: a class of fluids stands for many, a family of rubbers for hundreds of
recipes. They sort out what is known to go wrong and say plainly when to ask. The tables
``elastomers``, ``fluid_classes`` and ``elastomer_fluids`` carry a source in each row.
"""

from __future__ import annotations

import difflib
import functools
from dataclasses import dataclass
from typing import Literal, TypeVar, get_args

from rebuildbook.calculators.bounds import positive
from rebuildbook.reference import rows

Rating = Literal["suits", "limited", "ask the supplier", "unfit"]

ZERO_CELSIUS = 273.15
NEAR_LIMIT = 10.0  # K below the service limit at which life is short: common practice, no source
_RATINGS: tuple[Rating, ...] = get_args(Rating)  # from best to worst


@dataclass(frozen=True, slots=True)
class Elastomer:
    """A family of rubbers (or PTFE, which serves beside them).

    ``hardness`` is the usual range in Shore A; ``coldest`` and ``hottest`` bound its service in
    air, K; ``expansion`` is linear, 1/K, None where not known.
    """

    family: str
    hardness: tuple[float, float]
    coldest: float
    hottest: float
    expansion: float | None
    note: str
    source: str


@dataclass(frozen=True, slots=True)
class FluidClass:
    """A class of fluids; ``hottest`` bounds the class, K, None where it has no such bound."""

    name: str
    hottest: float | None
    note: str
    source: str


@dataclass(frozen=True, slots=True)
class Suitability:
    """Verdict on a rubber in a fluid, with every reason for it and where each comes from.

    ``temperature`` in K, None where it was not given and so not judged.
    """

    elastomer: str
    fluid: str
    temperature: float | None
    rating: Rating
    reasons: tuple[str, ...]
    sources: tuple[str, ...]

    @property
    def reason(self) -> str:
        """All reasons as one sentence."""
        return "; ".join(self.reasons)


def elastomer(name: str) -> Elastomer:
    """Give the family of that name or trade word; raises LookupError naming the nearest.

    >>> elastomer("nitrile").family, elastomer("epdm").hottest - ZERO_CELSIUS
    ('NBR', 130.0)
    >>> elastomer("nitril")
    Traceback (most recent call last):
    ...
    LookupError: no elastomer 'nitril' in the table; the nearest are NBR, ...
    """
    return _find(name, _elastomers(), "elastomer")


def fluid_class(name: str) -> FluidClass:
    """Give the class a fluid belongs to; raises LookupError naming the nearest.

    >>> fluid_class("acetone").name, fluid_class("clay slip").name
    ('ketone', 'slip')
    """
    return _find(name, _fluids(), "fluid class")


def suitability(rubber: str, fluid: str, temperature: float | None = None) -> Suitability:
    """Judge the elastomer ``rubber`` in ``fluid``, if given at ``temperature`` (K).

    What the table does not know, name or pair, is "ask the supplier". Beyond a temperature limit
    the verdict is "unfit", close below one at best "limited". Water above the bound of its class
    is judged as hot water; any other class above its bound is not known.

    >>> suitability("EPDM", "mineral oil").rating
    'unfit'
    >>> suitability("NBR", "tap water", 293.15).rating
    'suits'
    >>> found = suitability("NBR", "tap water", 363.15)
    >>> found.fluid, found.rating, found.reasons[-1]
    ('hot water', 'unfit', '90 °C is above the 80 °C that NBR stands in hot water')
    >>> suitability("NBR", "liquid nitrogen").rating
    'ask the supplier'
    """
    if temperature is not None:
        positive("temperature", temperature)
    try:
        family, kind = elastomer(rubber), fluid_class(fluid)
    except LookupError as missing:
        return Suitability(
            rubber, fluid, temperature, "ask the supplier", (str(missing.args[0]),), ()
        )
    if kind.name == "water" and _above(temperature, kind.hottest):
        kind = fluid_class("hot water")
    return _judge(family, kind, temperature)


def _judge(family: Elastomer, kind: FluidClass, temperature: float | None) -> Suitability:
    row = _pairs().get((family.family, kind.name))
    if row is None:
        reasons = [f"no rating of {family.family} in {kind.name}"]
        sources: list[str] = []
        rating: Rating = "ask the supplier"
    else:
        rating = _rating(row["rating"])
        note = f": {row['note']}" if row["note"] else ""
        reasons = [f"{family.family} in {kind.name} is rated {rating!r}{note}"]
        sources = [row["source"]]
    if temperature is not None:
        limit = row["temperature_high_C"] if row is not None else ""
        for bad, why in _heat(family, kind, temperature, limit):
            rating = max(rating, bad, key=_RATINGS.index)
            reasons.append(why)
        sources.append(family.source)
    return Suitability(
        family.family, kind.name, temperature, rating, tuple(reasons), tuple(sources)
    )


def _heat(
    family: Elastomer, kind: FluidClass, temperature: float, pair_limit: str
) -> list[tuple[Rating, str]]:
    """List what the temperature takes from the rating."""
    found: list[tuple[Rating, str]] = []
    is_hot = f"{temperature - ZERO_CELSIUS:.0f} °C is"
    if temperature < family.coldest:
        cold = family.coldest - ZERO_CELSIUS
        found.append(
            ("unfit", f"{is_hot} below the {cold:.0f} °C at which {family.family} stiffens")
        )
    if pair_limit and temperature > float(pair_limit) + ZERO_CELSIUS:
        where = f"{family.family} stands in {kind.name}"
        found.append(("unfit", f"{is_hot} above the {float(pair_limit):.0f} °C that {where}"))
        return found
    hot = family.hottest - ZERO_CELSIUS
    if temperature > family.hottest:
        found.append(("unfit", f"{is_hot} above the {hot:.0f} °C that {family.family} stands"))
    elif temperature > family.hottest - NEAR_LIMIT:
        found.append(("limited", f"{is_hot} close to the {hot:.0f} °C that {family.family} stands"))
    if kind.hottest is not None and _above(temperature, kind.hottest):
        bound = kind.hottest - ZERO_CELSIUS
        found.append(
            ("ask the supplier", f"{is_hot} above {bound:.0f} °C, where no rating is known")
        )
    return found


def _above(temperature: float | None, limit: float | None) -> bool:
    return temperature is not None and limit is not None and temperature > limit


def _rating(text: str) -> Rating:
    return next(rating for rating in _RATINGS if rating == text)


Found = TypeVar("Found", Elastomer, FluidClass)


def _find(name: str, known: dict[str, Found], what: str) -> Found:
    if (key := _key(name)) in known:
        return known[key]
    near = difflib.get_close_matches(key, known, 6, 0.4)
    named = dict.fromkeys(_name(known[one]) for one in near or list(known)[:6])
    raise LookupError(
        f"no {what} {name!r} in the table; the nearest are {', '.join(list(named)[:3])}"
    )


def _name(found: Elastomer | FluidClass) -> str:
    return found.family if isinstance(found, Elastomer) else found.name


def _key(name: str) -> str:
    return " ".join(name.casefold().replace("-", " ").replace(",", " ").split())


@functools.cache
def _elastomers() -> dict[str, Elastomer]:
    found: dict[str, Elastomer] = {}
    for row in rows("elastomers"):
        expansion = row["linear_expansion_1e-6_per_K"]
        family = Elastomer(
            family=row["family"],
            hardness=(float(row["hardness_low_shore_A"]), float(row["hardness_high_shore_A"])),
            coldest=float(row["temperature_low_C"]) + ZERO_CELSIUS,
            hottest=float(row["temperature_high_C"]) + ZERO_CELSIUS,
            expansion=float(expansion) * 1e-6 if expansion else None,
            note=row["note"],
            source=row["source"],
        )
        for name in (row["family"], *filter(None, row["also"].split("|"))):
            found[_key(name)] = family
    return found


@functools.cache
def _fluids() -> dict[str, FluidClass]:
    found: dict[str, FluidClass] = {}
    for row in rows("fluid_classes"):
        limit = row["temperature_high_C"]
        hottest = float(limit) + ZERO_CELSIUS if limit else None
        kind = FluidClass(row["fluid_class"], hottest, row["note"], row["source"])
        for name in (row["fluid_class"], *filter(None, row["also"].split("|"))):
            found[_key(name)] = kind
    return found


@functools.cache
def _pairs() -> dict[tuple[str, str], dict[str, str]]:
    return {(row["family"], row["fluid_class"]): row for row in rows("elastomer_fluids")}
