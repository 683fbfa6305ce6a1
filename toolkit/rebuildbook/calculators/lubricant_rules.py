"""Which lubricant or sealant must be kept away from which duty, rubber and thread.

Rules of the trade, each with the mark of where it comes from; most are common practice without a
source. What is not known of a lubricant is asked about, never taken as harmless.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from rebuildbook.calculators.elastomer import elastomer

Base = Literal[
    "mineral", "silicone", "synthetic ester", "polyalphaolefin", "polyglycol", "vegetable",
    "perfluoropolyether", "water-based", "not known",
]  # fmt: skip
Kind = Literal["grease", "oil", "paste", "sealant", "tape", "anti-seize"]
Severity = Literal["query", "hold"]

PRACTICE = "common practice, no source"
MEMORY = "from memory, as general compatibility guides agree"

# duties in which a trace of silicone makes craters or stops the bond
FILM_DUTIES = frozenset({"coating", "glaze", "adhesive", "slip"})
# duties in which dark solids and metals stain the ware or the film
PALE_DUTIES = frozenset({"coating", "glaze", "slip"})
STAINING = frozenset({"copper", "nickel", "graphite", "molybdenum disulphide", "lead", "iron"})
CONSUMED = frozenset({"drinking water", "food"})

# base: the rubbers it swells beyond use, and those it swells a little
_SWELLS: dict[str, tuple[frozenset[str], frozenset[str]]] = {
    "mineral": (frozenset({"EPDM", "NR", "IIR"}), frozenset({"CR", "VMQ", "CSM"})),
    "polyalphaolefin": (frozenset({"EPDM", "NR", "IIR"}), frozenset({"CR", "VMQ", "CSM"})),
    "vegetable": (frozenset({"NR"}), frozenset({"EPDM", "IIR", "CR", "CSM"})),
    "synthetic ester": (
        frozenset({"EPDM", "NR", "IIR", "CR", "CSM"}),
        frozenset({"NBR", "HNBR", "PU"}),
    ),
    "silicone": (frozenset({"VMQ"}), frozenset({"FVMQ"})),
    "water-based": (frozenset(), frozenset({"PU"})),
}


@dataclass(frozen=True, slots=True)
class Lubricant:
    """A lubricant, sealant or thread tape as its label tells it.

    ``silicone_free`` is True where the maker says so, False where it holds some, None where nothing
    is said. ``solids`` such as "copper" or "PTFE". ``food_grade`` as registered for chance contact.
    """

    name: str
    base: Base
    kind: Kind = "grease"
    silicone_free: bool | None = None
    solids: tuple[str, ...] = ()
    food_grade: bool | None = None

    def __post_init__(self) -> None:
        if self.base == "silicone" and self.silicone_free:
            raise ValueError(f"{self.name}: a silicone base cannot be free of silicone")


@dataclass(frozen=True, slots=True)
class Conflict:
    """A lubricant where it must not go (hold) or where something has to be asked first (query)."""

    rule: str
    severity: Severity
    text: str
    source: str


def lubricant_conflicts(
    lubricant: Lubricant,
    duty: str,
    elastomers: Sequence[str] = (),
    *,
    thread: Literal["straight", "tapered"] | None = None,
    seals_with_o_ring: bool = False,
) -> tuple[Conflict, ...]:
    """List every conflict of ``lubricant`` with a duty, the rubbers it touches, and a thread.

    ``duty`` is what the pump moves: "coating", "glaze", "adhesive", "slip", "water", "oil",
    "drinking water" …; one that is not known has no rule of its own. ``elastomers`` by any name of
    the table. ``thread`` and ``seals_with_o_ring`` where it goes on a threaded joint. Holds come
    first.

    >>> grease = Lubricant("shop grease", "silicone")
    >>> [found.rule for found in lubricant_conflicts(grease, "glaze", ["silicone", "NBR"])]
    ['silicone in a film duty', 'swells the rubber']
    >>> lubricant_conflicts(Lubricant("clean", "mineral", silicone_free=True), "glaze", ["NBR"])
    ()
    """
    found = [
        *_silicone(lubricant, duty),
        *_stains(lubricant, duty),
        *_consumed(lubricant, duty),
        *_swelling(lubricant, elastomers),
        *_on_thread(lubricant, thread, seals_with_o_ring),
    ]
    return tuple(sorted(found, key=lambda conflict: conflict.severity != "hold"))


def _silicone(lubricant: Lubricant, duty: str) -> Iterable[Conflict]:
    if duty not in FILM_DUTIES:
        return
    rule = "silicone in a film duty"
    if lubricant.base == "silicone" or lubricant.silicone_free is False:
        text = (
            f"{lubricant.name} holds silicone: a trace makes craters in a film and spoils a bond; "
            f"keep it out of a pump for {duty}"
        )
        yield Conflict(rule, "hold", text, PRACTICE)
    elif lubricant.silicone_free is None and lubricant.kind != "tape":
        text = f"{lubricant.name}: ask for the maker's word that it is silicone-free before {duty}"
        yield Conflict(rule, "query", text, PRACTICE)


def _stains(lubricant: Lubricant, duty: str) -> Iterable[Conflict]:
    dark = sorted(STAINING.intersection(solid.casefold() for solid in lubricant.solids))
    if duty in PALE_DUTIES and dark:
        text = f"{lubricant.name} holds {', '.join(dark)}, which stains {duty}; use a clear one"
        yield Conflict("solids that stain", "query", text, PRACTICE)


def _consumed(lubricant: Lubricant, duty: str) -> Iterable[Conflict]:
    if duty in CONSUMED and not lubricant.food_grade:
        text = f"{lubricant.name} is not known to be registered for contact with {duty}"
        severity: Severity = "hold" if lubricant.food_grade is False else "query"
        yield Conflict("not for what is eaten or drunk", severity, text, PRACTICE)


def _swelling(lubricant: Lubricant, elastomers: Sequence[str]) -> Iterable[Conflict]:
    rule = "swells the rubber"
    worst, some = _SWELLS.get(lubricant.base, (frozenset(), frozenset()))
    for name in dict.fromkeys(elastomers):
        try:
            family = elastomer(name).family
        except LookupError:
            text = f"{name} is not in the table of rubbers: ask whether {lubricant.name} suits it"
            yield Conflict(rule, "query", text, PRACTICE)
            continue
        what = f"{lubricant.name} ({lubricant.base})"
        if family in worst:
            text = f"{what} swells {family} beyond use, from a smear at assembly too"
            yield Conflict(rule, "hold", text, MEMORY)
        elif family in some:
            text = f"{what} swells or softens {family} somewhat: a thin film only, or another"
            yield Conflict(rule, "query", text, MEMORY)
        elif lubricant.base == "not known" and family not in {"FFKM", "PTFE"}:
            text = f"{lubricant.name}: its base is not known; ask before it touches {family}"
            yield Conflict(rule, "query", text, PRACTICE)


def _on_thread(
    lubricant: Lubricant, thread: Literal["straight", "tapered"] | None, o_ring: bool
) -> Iterable[Conflict]:
    if thread == "straight" and lubricant.kind in {"tape", "sealant"}:
        seals = "the O-ring seals" if o_ring else "a gasket or O-ring seals, not the thread"
        text = (
            f"{lubricant.kind} on a straight thread: {seals}; shreds get under it and into the "
            "checks, and the joint no longer draws up square"
        )
        yield Conflict(
            "sealant on a straight thread", "hold" if o_ring else "query", text, PRACTICE
        )
    if thread == "tapered" and lubricant.kind in {"grease", "oil"}:
        text = f"{lubricant.name} alone does not seal a tapered thread: it wants tape or sealant"
        yield Conflict("no sealant on a tapered thread", "query", text, PRACTICE)
