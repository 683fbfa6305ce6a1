"""An O-ring in its gland: squeeze, stretch and fill, new and in service, with their tolerances.

Sources
-------
1. ISO 3601-2, housing dimensions for O-rings: stretch up to 5 %, interference on the outside up to
   3 %, fill up to 85 %; all from memory.
2. Public table of gland dimensions for the AS568 sections (face, static radial, reciprocating):
   the range of squeeze each gives at the limits of its tolerances, read.
3. Fill in the worst case up to 95 %, squeeze in service at least 5 %: common practice, no source.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from rebuildbook.calculators.o_ring_gland import (
    FaceGland,
    Gland,
    RadialGland,
    Service,
    gland_inputs,
    lay,
    measured_thinning,
)
from rebuildbook.calculators.o_ring_sizes import INCH, ORing, Toleranced

Use = Literal["face", "static radial", "reciprocating"]
Severity = Literal["query", "hold"]

# [2]: least and greatest squeeze by section, in
_SECTIONS = np.array([0.070, 0.103, 0.139, 0.210, 0.275]) * INCH
_SQUEEZE: dict[Use, tuple[list[float], list[float]]] = {
    "face": ([0.19, 0.19, 0.20, 0.20, 0.20], [0.33, 0.29, 0.30, 0.28, 0.27]),
    "static radial": ([0.18, 0.14, 0.14, 0.14, 0.13], [0.32, 0.25, 0.23, 0.21, 0.20]),
    "reciprocating": ([0.15, 0.10, 0.09, 0.085, 0.105], [0.25, 0.18, 0.17, 0.15, 0.17]),
}
MOST_STRETCH, MOST_INTERFERENCE, MOST_FILL = 0.05, 0.03, 0.85  # [1]
MOST_FILL_WORST, LEAST_SQUEEZE_IN_SERVICE = 0.95, 0.05  # [3]
_STANDARD = "ISO 3601-2 practice, from memory"
_TABLE = "public table of gland dimensions, read"
_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Spread:
    """A value, its worst limits, and its likely limits by the root of the sum of squares."""

    nominal: float
    low: float
    high: float
    likely_low: float
    likely_high: float


@dataclass(frozen=True, slots=True)
class Remark:
    """Something out of its range: which quantity, how grave, in words, and by what source."""

    quantity: str
    severity: Severity
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Assessment:
    """An O-ring in its gland.

    ``depth`` and ``section`` (of the ring as it lies in the groove, before it is squeezed) and
    ``squeeze`` in m; ``squeeze_share`` of that section; ``stretch`` of the inside diameter,
    negative where the ring is loose; ``interference`` of the outside diameter with the outer wall;
    ``fill``, volume of the ring over that of the gland. ``measured_thinning`` is the share of the
    section that the nominal stretch takes by measurement: more than by constant volume.
    """

    depth: Spread
    section: Spread
    squeeze: Spread
    squeeze_share: Spread
    stretch: Spread
    interference: Spread
    fill: Spread
    measured_thinning: float
    use: Use
    remarks: tuple[Remark, ...]


@functools.lru_cache(maxsize=256)
def assess_o_ring(ring: ORing, gland: Gland, service: Service | None = None) -> Assessment:
    """Assess ``ring`` in ``gland`` as fitted, or in ``service``.

    The worst case takes every size at the limit that hurts; the likely one combines the tolerances
    as the root of the sum of their squares. In service the free ring and the metal grow first and
    are then put together: the ring is taken to swell as if it lay free, which is the safe side for
    the fill.

    >>> from rebuildbook.calculators.o_ring_sizes import limits, o_ring, plus_minus
    >>> gland = FaceGland(limits(2.54e-3, 2.74e-3), limits(4.8e-3, 5.0e-3), plus_minus(32e-3, 1e-4))
    >>> found = assess_o_ring(o_ring("AS568-214"), gland)
    >>> f"{found.squeeze_share.low:.0%} to {found.squeeze_share.high:.0%}"
    '20% to 31%'
    >>> hot = assess_o_ring(o_ring("AS568-214"), gland, Service(swell=0.20))
    >>> [remark.quantity for remark in hot.remarks]
    ['fill']
    """
    inputs = gland_inputs(ring, gland, service)
    spreads = _spreads(gland, inputs)
    thinning = float(measured_thinning.si(max(spreads["stretch"].nominal, 0.0)))
    use = gland_use(gland)
    remarks = _fitted(spreads, gland, use) if service is None else _in_service(spreads)
    return Assessment(**spreads, measured_thinning=thinning, use=use, remarks=tuple(remarks))


def gland_use(gland: Gland) -> Use:
    """Say by which column of limits a gland is judged."""
    if isinstance(gland, FaceGland):
        return "face"
    return "reciprocating" if gland.reciprocating else "static radial"


def squeeze_limits(section: float, use: Use) -> tuple[float, float]:
    """Give least and greatest squeeze, as shares, for ``section`` (m) and ``use`` [2].

    Between the sections of the table straight lines, beyond them its ends.

    >>> squeeze_limits(3.53e-3, "face"), squeeze_limits(6.99e-3, "reciprocating")
    ((0.2, 0.3), (0.105, 0.17))
    """
    low, high = _SQUEEZE[use]
    return (
        round(float(np.interp(section, _SECTIONS, low)), 3),
        round(float(np.interp(section, _SECTIONS, high)), 3),
    )


def _spreads(gland: Gland, inputs: Mapping[str, Toleranced]) -> dict[str, Spread]:
    """Give each result of `lay` with its worst limits and its likely ones."""
    sizes = list(inputs.values())
    nominal = lay(gland, {name: size.nominal for name, size in inputs.items()})
    corners = _laid(gland, inputs, list(itertools.product(*((s.low, s.high) for s in sizes))))
    middle = np.array([size.middle for size in sizes])
    steps = np.diag([size.half for size in sizes])
    at_middle = _laid(gland, inputs, [middle])
    above, below = (_laid(gland, inputs, middle + way * steps) for way in (1.0, -1.0))
    found = {}
    for name in nominal:
        low, high = float(corners[name].min()), float(corners[name].max())
        reach = float(np.sqrt(np.sum((above[name] - below[name]) ** 2))) / 2.0
        centre = float(at_middle[name][0])
        # where the ring just begins to bear the slope changes, and the squares may overshoot
        likely = max(low, centre - reach), min(high, centre + reach)
        found[name] = Spread(float(nominal[name]), low, high, *likely)
    return found


def _laid(gland: Gland, inputs: Mapping[str, Toleranced], points: Any) -> dict[str, Any]:
    """Lay the ring once for each row of ``points``, sizes in the order of ``inputs``."""
    columns = np.asarray(points, dtype=float).T
    return lay(gland, dict(zip(inputs, columns, strict=True)))


def _fitted(spreads: Mapping[str, Spread], gland: Gland, use: Use) -> list[Remark]:
    found = _grave(spreads)
    squeeze, stretch, fill = spreads["squeeze_share"], spreads["stretch"], spreads["fill"]
    low, high = squeeze_limits(spreads["section"].nominal, use)
    slack = 0.005  # the table gives whole percents
    if squeeze.low < low - slack and squeeze.low > 0.0:
        text = f"squeeze may be only {squeeze.low:.0%}; a {use} gland wants at least {low:.1%}"
        found.append(Remark("squeeze", "query", text, _TABLE))
    if squeeze.high > high + slack:
        text = f"squeeze may reach {squeeze.high:.0%}; a {use} gland takes at most {high:.1%}"
        found.append(Remark("squeeze", "query", text, _TABLE))
    if stretch.high > MOST_STRETCH:
        text = f"stretch may reach {stretch.high:.1%}; at most {MOST_STRETCH:.0%} is wanted"
        found.append(Remark("stretch", "query", text, _STANDARD))
    found += _bearing(spreads, gland)
    if fill.nominal > MOST_FILL or fill.high > MOST_FILL_WORST:
        text = f"fill is {fill.nominal:.0%} and may reach {fill.high:.0%}"
        wanted = f"at most {MOST_FILL:.0%}, in the worst case {MOST_FILL_WORST:.0%}, is wanted"
        found.append(Remark("fill", "query", f"{text}; {wanted}", f"{_STANDARD}; {_PRACTICE}"))
    return found


def _bearing(spreads: Mapping[str, Spread], gland: Gland) -> list[Remark]:
    """Check that the ring bears on the wall it is meant to lie against."""
    stretch, tight = spreads["stretch"].nominal, spreads["interference"]
    inner = gland.kind == "male" if isinstance(gland, RadialGland) else (
        gland.pressure_from == "outside"
    )  # fmt: skip
    if inner:
        if stretch >= 0.0:
            return []
        text = f"ring is {-stretch:.1%} larger than its seat: it hangs loose and may be pinched"
        return [Remark("stretch", "query", text, _STANDARD)]
    if tight.nominal < 0.0:
        text = f"ring is {-tight.nominal:.1%} short of the outer wall: pressure will work it"
        return [Remark("interference", "query", text, _STANDARD)]
    if tight.high > MOST_INTERFERENCE:
        text = f"ring may be {tight.high:.1%} larger than the outer wall; at most "
        return [
            Remark("interference", "query", f"{text}{MOST_INTERFERENCE:.0%} is wanted", _STANDARD)
        ]
    return []


def _in_service(spreads: Mapping[str, Spread]) -> list[Remark]:
    found = _grave(spreads)
    squeeze, fill = spreads["squeeze_share"], spreads["fill"]
    if 0.0 < squeeze.low < LEAST_SQUEEZE_IN_SERVICE:
        text = f"squeeze in service may fall to {squeeze.low:.1%}; set will take the rest"
        found.append(Remark("squeeze", "query", text, _PRACTICE))
    if MOST_FILL_WORST < fill.high < 1.0:
        text = f"fill in service may reach {fill.high:.0%}; {MOST_FILL_WORST:.0%} is wanted"
        found.append(Remark("fill", "query", text, _PRACTICE))
    return found


def _grave(spreads: Mapping[str, Spread]) -> list[Remark]:
    """Find what cannot work at all: no contact, or rubber that does not fit in."""
    found = []
    if spreads["squeeze"].low <= 0.0:
        text = "the ring need not touch: the section may be no thicker than the gland is deep"
        found.append(Remark("squeeze", "hold", text, "geometry"))
    if spreads["fill"].high >= 1.0:
        text = f"fill may reach {spreads['fill'].high:.0%}: rubber does not compress, so the joint "
        found.append(Remark("fill", "hold", text + "stays open or the ring shears", "geometry"))
    return found
