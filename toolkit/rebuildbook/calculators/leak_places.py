"""Where a pump can leak, and on which stroke each place is under pressure.

- Single-acting piston and plunger: seal or packing and inlet check on the delivery stroke (the
  down-stroke), outlet check on the suction stroke.
- Differential (two-ball) piston: piston seal and piston check on the up-stroke, inlet check on the
  down-stroke, rod packing on both, as the upper chamber is always open to the outlet.
- Double-acting, four checks: the upper chamber delivers on the up-stroke, the lower on the
  down-stroke; the piston seal holds on both, the rod packing against the outlet on the up-stroke.
- Double diaphragm: the checks only, as a diaphragm is whole or it is not.

Source: the working of the pumps; the roles of the checks are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from rebuildbook.calculators.drive import Stroke

Architecture = Literal[
    "single-acting piston", "differential piston", "double-acting piston", "plungers",
    "double diaphragm",
]  # fmt: skip
Against = Literal["inlet", "atmosphere"]

MOST_PLUNGERS = 12


@dataclass(frozen=True, slots=True)
class Place:
    """Where a pump can leak: ``name``, ``chamber``, ``stroke`` under pressure, and against what."""

    name: str
    chamber: str
    stroke: Stroke
    against: Against = "inlet"


_SINGLE = (
    Place("piston seal", "chamber", "down-stroke", "atmosphere"),
    Place("inlet check", "chamber", "down-stroke"),
    Place("outlet check", "chamber", "up-stroke"),
)
_DIFFERENTIAL = (
    Place("piston seal", "upper", "up-stroke"),
    Place("piston check", "upper", "up-stroke"),
    Place("rod packing", "upper", "both strokes", "atmosphere"),
    Place("inlet check", "lower", "down-stroke"),
)
_DOUBLE = (
    Place("piston seal", "both", "both strokes"),
    Place("rod packing", "upper", "up-stroke", "atmosphere"),
    Place("upper inlet check", "upper", "up-stroke"),
    Place("upper outlet check", "upper", "down-stroke"),
    Place("lower inlet check", "lower", "down-stroke"),
    Place("lower outlet check", "lower", "up-stroke"),
)
_DIAPHRAGM = (
    Place("left inlet check", "left", "up-stroke"),
    Place("left outlet check", "left", "down-stroke"),
    Place("right inlet check", "right", "down-stroke"),
    Place("right outlet check", "right", "up-stroke"),
)


def places(architecture: Architecture, plungers: int = 1) -> tuple[Place, ...]:
    """Give every place where a pump of that architecture can leak.

    ``plungers`` counts those of a plunger pump; each has its own up-stroke and down-stroke. The
    "up-stroke" of a double diaphragm pump is the one on which the left chamber delivers.

    >>> [place.name for place in places("plungers", 1)]
    ['packing 1', 'inlet check 1', 'outlet check 1']
    """
    known: dict[str, tuple[Place, ...]] = {
        "single-acting piston": _SINGLE, "differential piston": _DIFFERENTIAL,
        "double-acting piston": _DOUBLE, "double diaphragm": _DIAPHRAGM,
    }  # fmt: skip
    if architecture in known:
        return known[architecture]
    if architecture != "plungers":
        raise ValueError(
            f"no architecture {architecture!r}; take one of {', '.join([*known, 'plungers'])}"
        )
    if plungers != int(plungers) or not 1 <= plungers <= MOST_PLUNGERS:
        raise ValueError(f"{plungers} plungers; give a whole number from 1 to {MOST_PLUNGERS}")
    one = (
        ("packing", "down-stroke", "atmosphere"), ("inlet check", "down-stroke", "inlet"),
        ("outlet check", "up-stroke", "inlet"),
    )  # fmt: skip
    return tuple(
        Place(f"{name} {number}", f"plunger {number}", stroke, against)  # type: ignore[arg-type]
        for number in range(1, int(plungers) + 1)
        for name, stroke, against in one
    )
