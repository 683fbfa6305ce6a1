"""The gland of an O-ring, and how a ring lies in it: what it is stretched to, squeezed to, fills.

Sources
-------
1. Geometry of a torus whose rubber keeps its volume (a Poisson ratio of 1/2).
2. ISO 3601-2, housing dimensions for O-rings: how stretch thins a section by measurement, from
   memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.calculators.o_ring_sizes import ORing, Toleranced
from rebuildbook.units import quantities


@dataclass(frozen=True, slots=True)
class FaceGland:
    """A groove in a flange or cover, closed by a flat face; all in m.

    ``wall`` is the diameter of the wall the pressure pushes the ring against: the outer one for
    pressure from "inside", the inner one for pressure from "outside".
    """

    depth: Toleranced
    width: Toleranced
    wall: Toleranced
    pressure_from: Literal["inside", "outside"] = "inside"

    def __post_init__(self) -> None:
        for name in ("depth", "width", "wall"):
            positive(f"{name} of the gland", getattr(self, name).low)
        if self.pressure_from == "inside" and self.wall.low <= 2.0 * self.width.high:
            raise ValueError(
                f"outer wall {self.wall.low:g} m leaves no inner wall for a width of "
                f"{self.width.high:g} m"
            )


@dataclass(frozen=True, slots=True)
class RadialGland:
    """A groove in a piston or plug ("male") or in a housing ("female"); all in m.

    ``groove`` is the diameter of its bottom, ``mate`` the bore (male) or the rod (female) it seals
    against, ``offset`` the furthest the two axes may lie apart, which lessens the squeeze on one
    side.
    """

    kind: Literal["male", "female"]
    groove: Toleranced
    mate: Toleranced
    width: Toleranced
    reciprocating: bool = False
    offset: float = 0.0

    def __post_init__(self) -> None:
        for name in ("groove", "mate", "width"):
            positive(f"{name} of the gland", getattr(self, name).low)
        not_negative("offset", self.offset)
        inner, outer = (self.groove, self.mate) if self.kind == "male" else (self.mate, self.groove)
        if outer.low <= inner.high:
            raise ValueError(
                f"{self.kind} gland: outer diameter {outer.low:g} m leaves no depth over the inner "
                f"one of {inner.high:g} m"
            )


Gland = FaceGland | RadialGland


@dataclass(frozen=True, slots=True)
class Service:
    """What rubber and metal meet in service.

    ``swell`` as a share of the rubber's volume (negative where it shrinks), ``warming`` above the
    temperature of measuring, K; linear expansions in 1/K, that of the mating part only where it
    differs from the one with the groove.
    """

    swell: float = 0.0
    warming: float = 0.0
    rubber_expansion: float = 0.0
    metal_expansion: float = 0.0
    mate_expansion: float | None = None

    def __post_init__(self) -> None:
        within("swell", self.swell, -0.5, 2.0)
        within("growth of the rubber by warming", self.warming * self.rubber_expansion, -0.2, 0.2)


@quantities("m", inside="m", section="m", seat="m")
def stretched_section(inside: Any, section: Any, seat: Any) -> Any:
    """Section of a ring stretched over the diameter ``seat`` [1].

    The volume stays: w'²(D + w') = w²(d + w), with inside diameter d and section w of the free
    ring and D the diameter it is stretched to, all in m. The section is taken as still round.

    >>> f'{stretched_section("100 mm", "5 mm", "104 mm").to("mm"):.3f~P}'  # thin ring: 5/√1.038
    '4.909 mm'
    """
    volume = section**2 * (inside + section)
    new = section
    for _ in range(60):  # halves its error at the very least each time
        new = np.sqrt(volume / (seat + new))
    return new


@quantities("m", inside="m", section="m", wall="m")
def gathered_section(inside: Any, section: Any, wall: Any) -> Any:
    """Section of a ring pressed into an outer wall smaller than its outside diameter [1].

    w'²(D − w') = w²(d + w), with D the diameter of the wall; all in m. Raises ValueError where
    the wall is smaller than 0.8 of the ring: it would buckle.
    """
    if np.any(wall < 0.8 * (inside + 2.0 * section)):
        raise ValueError("outer wall is less than 0.8 of the ring's outside diameter: wrong ring")
    volume = section**2 * (inside + section)
    new = section
    for _ in range(60):
        new = np.sqrt(volume / np.maximum(wall - new, wall / 3.0))
    return new


@quantities("", stretch="")
def measured_thinning(stretch: Any) -> Any:
    """Share of its section a ring loses by ``stretch`` of its inside diameter, as measured [2].

    In percent, 0.01 + 1.06 S − 0.10 S² up to 3 %, 0.56 + 0.59 S − 0.0046 S² from there to 25 %:
    more than by constant volume, as the section also flattens on its seat.

    >>> f"{measured_thinning.si(0.05):.2%}"
    '3.39%'
    """
    percent = np.clip(stretch, 0.0, 0.25) * 100.0
    low = 0.01 + 1.06 * percent - 0.10 * percent**2
    high = 0.56 + 0.59 * percent - 0.0046 * percent**2
    return np.where(percent <= 0.0, 0.0, np.where(percent <= 3.0, low, high)) / 100.0


def gland_inputs(
    ring: ORing, gland: Gland, service: Service | None = None
) -> dict[str, Toleranced]:
    """Gather the sizes of ring and gland by name, m, grown to the state of ``service``."""
    sizes = _sizes(ring, gland)
    return sizes if service is None else _grown(sizes, service)


def _sizes(ring: ORing, gland: Gland) -> dict[str, Toleranced]:
    sizes = {"inside": ring.inside, "section": ring.section, "width": gland.width}
    if isinstance(gland, FaceGland):
        return {**sizes, "depth": gland.depth, "wall": gland.wall}
    offset = Toleranced(0.0, -gland.offset, gland.offset)
    return {**sizes, "groove": gland.groove, "mate": gland.mate, "offset": offset}


def _grown(inputs: Mapping[str, Toleranced], service: Service) -> dict[str, Toleranced]:
    rubber = (1.0 + service.rubber_expansion * service.warming) * np.cbrt(1.0 + service.swell)
    metal = 1.0 + service.metal_expansion * service.warming
    other = service.mate_expansion
    mate = metal if other is None else 1.0 + other * service.warming
    factors = {"inside": rubber, "section": rubber, "mate": mate}

    def scaled(name: str, size: Toleranced) -> Toleranced:
        by = float(factors.get(name, metal))
        return Toleranced(size.nominal * by, size.low * by, size.high * by)

    return {name: scaled(name, size) for name, size in inputs.items()}


def lay(gland: Gland, v: Mapping[str, Any]) -> dict[str, Any]:
    """Lay a ring in ``gland`` with the sizes ``v`` of `gland_inputs`: floats, or arrays alike.

    Gives the depth, the section as it lies before it is squeezed, the squeeze (all m), its share
    of that section, stretch of the inside diameter, interference of the outside diameter, and
    fill, the volume of the ring over that of the gland.
    """
    inside, section = v["inside"], v["section"]
    outside = inside + 2.0 * section
    if isinstance(gland, FaceGland):
        step = 2.0 * v["width"]
        within_bore = gland.pressure_from == "inside"
        inner = v["wall"] - step if within_bore else v["wall"]
        outer = v["wall"] if within_bore else v["wall"] + step
        depth, local, room = v["depth"], v["depth"], v["width"] * v["depth"]
        gathers = True
    else:
        male = gland.kind == "male"
        inner, outer = (v["groove"], v["mate"]) if male else (v["mate"], v["groove"])
        depth = (outer - inner) / 2.0
        local, room = depth + v["offset"], v["width"] * depth
        gathers = not male  # the bore squeezes a male ring, it does not hold it
    laid = np.where(
        inner > inside, stretched_section.si(inside, section, np.maximum(inner, inside)), section
    )
    if gathers:
        tight = outer < outside
        wall = np.where(tight, outer, outside)
        laid = np.where(tight, gathered_section.si(inside, section, wall), laid)
    gland_volume = room * np.pi * (inner + outer) / 2.0
    return {
        "depth": local,
        "section": laid,
        "squeeze": laid - local,
        "squeeze_share": 1.0 - local / laid,
        "stretch": inner / inside - 1.0,
        "interference": outside / outer - 1.0,
        "fill": np.pi**2 / 4.0 * section**2 * (inside + section) / gland_volume,
    }
