"""Exercises of lesson 7 where something is chosen: squeeze, back-up ring, rubber, grease."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import cast

from rebuildbook.calculators.elastomer import suitability
from rebuildbook.calculators.extrusion import (
    allowed_clearance,
    allowed_clearance_backed,
    check_gap,
)
from rebuildbook.calculators.lubricant_rules import Conflict, Lubricant, lubricant_conflicts
from rebuildbook.calculators.o_ring import Use, squeeze_limits
from rebuildbook.lessons.exercise import Exercise, Slip
from rebuildbook.lessons.numbers import Numbers
from rebuildbook.units import from_unit, number

# squeeze against what the use wants

_LITTLE, _FITS, _MUCH = "too little squeeze", "the squeeze is right", "too much squeeze"
_USES = {
    "in the face of a cover": "face",
    "round a plug that does not move": "static radial",
    "round a rod that slides": "reciprocating",
}


def _limits(n: Numbers, where: str) -> tuple[float, float]:
    return squeeze_limits(n["section"] / 1e3, cast("Use", _USES[where]))


def _verdict(n: Numbers, where: str) -> str:
    low, high = _limits(n, where)
    share = n["squeeze"] / 100.0
    return _LITTLE if share < low else _MUCH if share > high else _FITS


def _row(n: Numbers, where: str) -> str:
    low, high = _limits(n, where)
    return f"{where}: {number(100 * low, 2)} to {number(100 * high, 2)} %"


def _other_row(n: Numbers) -> str | None:
    """The verdict by the row at the other end of the list, where it differs."""
    sliding = "round a rod that slides"
    taken = "in the face of a cover" if n.word("where") == sliding else sliding
    found = _verdict(n, taken)
    return found if found != _verdict(n, n.word("where")) else None


def _neither(n: Numbers) -> str | None:
    """The verdict that neither row gives."""
    said = {_verdict(n, n.word("where")), _other_row(n)}
    left = [one for one in (_LITTLE, _FITS, _MUCH) if one not in said]
    return left[0] if left else None


def _clear(n: Numbers) -> bool:
    share = n["squeeze"] / 100.0
    return all(abs(share - limit) > 0.008 for one in _USES for limit in _limits(n, one))


ENOUGH = Exercise(
    id="seals-4",
    kind="choice",
    options=(_MUCH, _FITS, _LITTLE),
    draws={
        "section": (2.62, 3.53, 5.33),
        "where": tuple(_USES),
        "squeeze": (6, 7, 12, 13, 14, 16, 24, 25, 26, 32, 34),
    },
    sound=_clear,
    ask=lambda n: (
        f"A ring with a section of {n['section']:g} mm is squeezed by {n['squeeze']:g} % "
        f"{n.word('where')}. A table for that section says:\n"
        + "\n".join(_row(n, where) for where in _USES)
        + "\n\nWhat do you say of it?"
    ),
    right=lambda n: _verdict(n, n.word("where")),
    why=lambda n: (
        f"The row that counts is {_row(n, n.word('where'))}. A ring that slides is squeezed less, "
        "as squeeze is friction and wear; one in the face of a cover more, as it costs nothing "
        "there and takes up what is uneven."
    ),
    wrong=(
        Slip(
            "another row of the table",
            _other_row,
            "That is so by another row. Look where this ring lies and whether anything slides.",
        ),
        Slip(
            "no row of the table",
            _neither,
            "Hold the squeeze against the row's two limits once more: below the lower, between, "
            "or above the upper?",
        ),
    ),
)


# a gap and a back-up ring

_HOLDS = "it holds as it is"
_AWAY = "it holds with a back-up ring on the side away from the pressure"
_TOWARD = "it holds with a back-up ring on the side the pressure comes from"
_WIDE = "neither holds: the gap has to be made smaller"
_PRESSURES = (35, 70, 100, 140, 200)  # bar
_VERDICTS = {"holds": _HOLDS, "back-up ring": _AWAY, "too wide": _WIDE}


def _gap(n: Numbers, family: str = "") -> str:
    found = check_gap(n["gap"] / 1e3, n["pressure"] * 1e5, 70.0, family=family or _family(n))
    return _VERDICTS[found.verdict]


def _family(n: Numbers) -> str:
    return "VMQ" if n.word("rubber") == "silicone rubber" else "NBR"


def _table() -> str:
    rows = []
    for bar in _PRESSURES:
        bare = float(allowed_clearance.si(bar * 1e5, 70.0)) * 1e3
        backed = max(bare, float(allowed_clearance_backed.si(bar * 1e5)) * 1e3)
        rows.append(f"{bar} bar: {bare:.2f} mm alone, {backed:.2f} mm with a back-up ring")
    return "\n".join(rows)


def _decided(n: Numbers) -> bool:
    """Whether the gap lies well off every limit of its row, so that rounding decides nothing."""
    bare = float(allowed_clearance.si(n["pressure"] * 1e5, 70.0)) * 1e3
    backed = float(allowed_clearance_backed.si(n["pressure"] * 1e5)) * 1e3
    return all(abs(n["gap"] - one) > 0.012 for one in (bare, bare / 2, backed))


def _not_halved(n: Numbers) -> str | None:
    found = _gap(n, "NBR")
    return found if found != _gap(n) else None


def _unless(wanted: str) -> Callable[[Numbers], str | None]:
    """Give ``wanted`` as a slip, where it is not right and not what forgetting to halve gives."""
    return lambda n: wanted if wanted not in {_gap(n), _not_halved(n)} else None


GAP = Exercise(
    id="seals-5",
    kind="choice",
    options=(_TOWARD, _HOLDS, _WIDE, _AWAY),
    points=2,
    draws={
        "pressure": _PRESSURES,
        "gap": (0.04, 0.06, 0.08, 0.12, 0.15, 0.18, 0.2, 0.23, 0.26, 0.3, 0.36),
        "rubber": ("nitrile", "nitrile", "silicone rubber"),
    },
    sound=_decided,
    ask=lambda n: (
        f"A ring of {n.word('rubber')}, 70 Shore A, seals {n['pressure']:g} bar that come from one "
        f"side. With the parts pushed over, the gap beside the groove is {n['gap']:g} mm at its "
        f"widest. For 70 Shore A a table gives the widest gap:\n{_table()}\n\nFor silicone rubber "
        "it halves the gap of a ring alone. What do you say?"
    ),
    right=_gap,
    why=lambda n: (
        f"The row is that of {n['pressure']:g} bar"
        + (", and a silicone ring alone is allowed half. " if _family(n) == "VMQ" else ". ")
        + {
            _HOLDS: "The gap is smaller than what the ring bridges alone.",
            _AWAY: "Alone it would be pushed into the gap; a harder ring behind it closes the gap. "
            "The pressure pushes the ring away from itself, so that is where the gap is bridged.",
            _WIDE: "The gap is wider than even a back-up ring closes. Worn parts are the usual "
            "reason.",
        }[_gap(n)]
    ),
    wrong=(
        Slip(
            "back-up ring on the wrong side",
            lambda _: _TOWARD,
            "The pressure pushes the ring to the other side of its groove. There is the gap it "
            "goes into, and nothing is in the way.",
        ),
        Slip(
            "silicone not halved",
            _not_halved,
            "That would be so for other rubber. A silicone ring alone is allowed half the gap.",
        ),
        Slip(
            "left alone though the gap is too wide",
            _unless(_HOLDS),
            "Hold the gap against the row of this pressure, in the column of a ring alone.",
        ),
        Slip(
            "back-up ring not called for",
            _unless(_AWAY),
            "Hold the gap against both columns of the row: does the ring bridge it alone, and if "
            "not, does a back-up ring close it?",
        ),
        Slip(
            "given up too soon",
            _unless(_WIDE),
            "The table allows this gap. Look at both columns of the row once more.",
        ),
    ),
)


# which rubber

_RUBBERS = {
    "NBR": "nitrile (NBR)",
    "EPDM": "ethylene propylene (EPDM)",
    "FKM": "fluorocarbon rubber (FKM)",
    "VMQ": "silicone rubber (VMQ)",
}
_DUTIES = (
    "hydraulic oil|60", "hydraulic oil|115", "wash water|75", "boiler water|90",
    "boiler water|110", "acetone|25", "toluene|25", "bleach|20", "white spirit|30",
    "clay slip|25", "glaze|20",
)  # fmt: skip


def _fluid(n: Numbers) -> tuple[str, float]:
    name, degrees = n.word("duty").split("|")
    return name, float(degrees)


@functools.lru_cache(maxsize=64)
def _suits(fluid: str, degrees: float) -> tuple[str, ...]:
    """The families that suit, the one that is least to buy first."""
    kelvin = from_unit(degrees, "degC")
    return tuple(name for name in _RUBBERS if suitability(name, fluid, kelvin).rating == "suits")


def _reason(family: str, n: Numbers) -> str:
    fluid, degrees = _fluid(n)
    found = suitability(family, fluid, from_unit(degrees, "degC"))
    return f"{found.reason}."


def _unsuited(family: str) -> Callable[[Numbers], str | None]:
    return lambda n: None if family in _suits(*_fluid(n)) else _RUBBERS[family]


RUBBER = Exercise(
    id="seals-6",
    kind="choice",
    options=tuple(_RUBBERS.values()),
    draws={"duty": _DUTIES},
    ask=lambda n: (
        f"A static ring meets {_fluid(n)[0]} at {_fluid(n)[1]:g} °C. Which rubber is known to suit?"
    ),
    right=lambda n: _RUBBERS[_suits(*_fluid(n))[0]],
    also=lambda n: tuple(_RUBBERS[one] for one in _suits(*_fluid(n))[1:]),
    why=lambda n: " ".join(_reason(one, n) for one in _suits(*_fluid(n))),
    wrong=(
        Slip(
            "nitrile where it is attacked",
            _unsuited("NBR"),
            "Nitrile is for oil and for water that is not hot. Look for solvents, bleach and heat.",
        ),
        Slip(
            "EPDM where there is oil",
            _unsuited("EPDM"),
            "EPDM never meets mineral oil, its solvents or its greases: it swells beyond use.",
        ),
        Slip(
            "fluorocarbon where it is attacked",
            _unsuited("FKM"),
            "It stands a great deal, but not hot water, acetone or their kind, and it is only so "
            "so in alkali, slip and bleach.",
        ),
        Slip(
            "silicone where it is weak",
            _unsuited("VMQ"),
            "Silicone rubber stands heat and cold, but it tears easily and most liquids of a pump "
            "are too much for it.",
        ),
    ),
)


# which grease

_GREASES = {
    one.name: one
    for one in (
        Lubricant("clear silicone grease", "silicone", silicone_free=False),
        Lubricant("mineral grease, marked silicone-free", "mineral", silicone_free=True),
        Lubricant("petroleum jelly, nothing said of silicone", "mineral"),
        Lubricant("polyglycol grease, marked silicone-free", "polyglycol", silicone_free=True),
        Lubricant("a white grease whose label is gone", "not known"),
    )
}
_SILICONE, _MINERAL, _JELLY, _GLYCOL, _NO_LABEL = _GREASES


@functools.lru_cache(maxsize=256)
def _conflicts(grease: str, duty: str, rubber: str) -> tuple[Conflict, ...]:
    return lubricant_conflicts(_GREASES[grease], duty, (rubber,))


def _has(n: Numbers, grease: str, rule: str = "") -> bool:
    found = _conflicts(grease, n.word("duty"), n.word("rubber"))
    return any(rule in one.rule for one in found)


def _clean(n: Numbers) -> tuple[str, ...]:
    return tuple(one for one in _GREASES if not _has(n, one))


GREASE = Exercise(
    id="seals-7",
    kind="choice",
    options=(_MINERAL, _SILICONE, _NO_LABEL, _GLYCOL, _JELLY),
    draws={
        "duty": ("glaze", "glaze", "slip", "coating", "water"),
        "rubber": ("NBR", "EPDM", "EPDM", "FKM"),
    },
    ask=lambda n: (
        f"A ring of {_RUBBERS[n.word('rubber')]} goes into a pump for {n.word('duty')}. Which of "
        "these goes on it, with nothing left to ask? If more than one would do, name one."
    ),
    right=lambda n: _MINERAL if _MINERAL in _clean(n) else _GLYCOL,
    also=_clean,
    why=lambda n: (
        f"Right here: {'; '.join(_clean(n))}. "
        + " ".join(f"{_sentence(one)}." for one in _all_conflicts(n))
    ),
    wrong=(
        Slip(
            "silicone where a film has to form",
            lambda n: _SILICONE if _has(n, _SILICONE, "silicone") else None,
            "Silicone makes craters in glaze, slip and coatings. It stays out of these pumps.",
        ),
        Slip(
            "mineral grease on EPDM",
            lambda n: _MINERAL if _has(n, _MINERAL, "swells") else None,
            "It is free of silicone, but it is mineral, and EPDM swells in it, from a smear too.",
        ),
        Slip(
            "petroleum jelly",
            lambda n: _JELLY if _has(n, _JELLY) else None,
            "It is a mineral grease like any other: ask what it does to this rubber, and whether "
            "anybody says that it is free of silicone.",
        ),
        Slip(
            "a tub without a label",
            lambda n: _NO_LABEL if _has(n, _NO_LABEL) else None,
            "Nobody knows what is in it. It goes in the bin, not on a ring.",
        ),
    ),
)


def _all_conflicts(n: Numbers) -> tuple[Conflict, ...]:
    """What speaks against the others, each reason once."""
    duty, rubber = n.word("duty"), n.word("rubber")
    found = [one for name in _GREASES for one in _conflicts(name, duty, rubber)]
    return tuple(dict.fromkeys(found))


def _sentence(conflict: Conflict) -> str:
    """Write what speaks against a lubricant as the beginning of a sentence."""
    return conflict.text[0].upper() + conflict.text[1:]
