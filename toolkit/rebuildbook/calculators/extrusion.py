"""How wide a gap an O-ring bridges without being pushed into it, and how pressure widens the gap.

All clearances are diametral: with the parts pushed to one side the whole of it stands open there.

Sources
-------
1. Public table of diametral clearance against pressure for O-rings of 70 and 90 Shore A (up to 500,
   1000, 1500, 2000, 3000 psi: 0.016, 0.010, 0.006, 0.004, 0.002 in; 0.028, 0.024, 0.020, 0.016,
   0.010 in), read; the logarithm of the clearance runs straight between the tops of the steps.
2. With plastic back-up rings two points, between which the logarithm runs straight: 0.006 in, the
   clearance a public gland table gives for a section of 0.139 in, read, taken as good for 3000 psi
   (common practice, no source); 0.08 mm at 400 bar, from a public note on high pressure, read.
3. Public handbook section on static O-ring seals: halve the clearances for silicone rubbers, think
   of back-up rings above 103.5 bar, read.
4. Lamé's equations for a thick cylinder: Shigley's Mechanical Engineering Design, section 3-14.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.units import quantities, show

_PSI, _INCH = 6894.757293168, 25.4e-3
# [1]: the top of each step of pressure, and the clearance there
_STEPS = np.array([500.0, 1000.0, 1500.0, 2000.0, 3000.0]) * _PSI
_SOFT = np.log(np.array([0.016, 0.010, 0.006, 0.004, 0.002]) * _INCH)  # 70 Shore A
_HARD = np.log(np.array([0.028, 0.024, 0.020, 0.016, 0.010]) * _INCH)  # 90 Shore A
_CHART_LOW, _CHART_HIGH = float(_STEPS[0]), float(_STEPS[-1])
# [2]: two points, Pa and m
_BACKED = ((3000.0 * _PSI, 0.006 * _INCH), (400e5, 0.08e-3))
BACK_UP_PRESSURE = 103.5e5  # [3]
SILICONES = frozenset({"VMQ", "FVMQ"})


@quantities("m", pressure="Pa", hardness="")
def allowed_clearance(pressure: Any, hardness: Any) -> Any:
    """Diametral clearance that a ring without back-up bridges at ``pressure`` [1].

    Between the points of the table, in pressure and in ``hardness`` (70 to 90 Shore A), the
    logarithm of the clearance runs straight. Below 500 psi the clearance for 500 psi stands; beyond
    3000 psi it is zero, as the table ends there. For room temperature: hot rubber bridges less.

    >>> f'{allowed_clearance("1000 psi", 70).to("inch"):.3f~P}'
    '0.010 in'
    """
    not_negative("pressure", pressure)
    within("hardness in Shore A", hardness, 70.0, 90.0)
    share = (np.asarray(hardness, dtype=float) - 70.0) / 20.0
    soft, hard = (np.interp(pressure, _STEPS, points) for points in (_SOFT, _HARD))
    clearance = np.exp(soft + share * (hard - soft))
    return np.where(np.less_equal(pressure, _CHART_HIGH * (1.0 + 1e-9)), clearance, 0.0)[()]


@quantities("m", pressure="Pa")
def allowed_clearance_backed(pressure: Any) -> Any:
    """Diametral clearance with a plastic back-up ring on the side away from the pressure [2].

    From some 400 bar on both sides of the ring want one. Zero beyond, where stiffer rings and
    closer parts are the maker's affair.

    >>> f'{allowed_clearance_backed("400 bar").to("mm"):.2f~P}'
    '0.08 mm'
    """
    not_negative("pressure", pressure)
    (p1, c1), (p2, c2) = _BACKED
    slope = math.log(c1 / c2) / (p2 - p1)
    clearance = c1 * np.exp(-slope * (np.maximum(pressure, _CHART_LOW) - p1))
    return np.where(np.less_equal(pressure, p2 * (1.0 + 1e-9)), clearance, 0.0)[()]


@quantities("m", bore="m", outside="m", pressure="Pa", modulus="Pa", poisson="")
def bore_growth(
    bore: Any,
    outside: Any,
    pressure: Any,
    modulus: Any,
    poisson: Any = 0.29,
    closed: bool = False,
) -> Any:
    """Growth of a cylinder's bore under pressure inside, after Lamé [4].

    ΔD = D p/E [(K² + 1)/(K² − 1) + ν − ν/(K² − 1) if closed], with ``bore`` D and ``outside``
    diameter K D in m, ``pressure`` p and ``modulus`` E in Pa. ``closed``: the end load runs through
    the wall, as it does where the head hangs on the cylinder and not on tie rods. Raises ValueError
    where there is no wall.

    >>> f'{bore_growth("60 mm", "80 mm", "200 bar", "206 GPa").to("mm"):.4f~P}'
    '0.0225 mm'
    """
    ratio = _ratio(bore, outside)
    end = poisson / (ratio**2 - 1.0) if closed else 0.0
    lame = (ratio**2 + 1.0) / (ratio**2 - 1.0) + poisson
    return bore * not_negative("pressure", pressure) / positive("modulus", modulus) * (lame - end)


@quantities("m", bore="m", wall="m", pressure="Pa", modulus="Pa")
def bore_growth_thin(bore: Any, wall: Any, pressure: Any, modulus: Any) -> Any:
    """Growth of the bore of a thin tube, open at its ends: ΔD = p D (D + t)/(2 t E).

    The radial stress is neglected. ``bore`` D and ``wall`` t in m, ``pressure`` p and
    ``modulus`` E in Pa; for t below D/20.

    >>> f'{bore_growth_thin("60 mm", "2 mm", "20 bar", "206 GPa").to("mm"):.4f~P}'
    '0.0090 mm'
    """
    positive("wall", wall)
    if np.any(wall > bore / 20.0):
        raise ValueError(f"a wall of {np.max(wall):g} m is thick; take bore_growth")
    midline = positive("bore", bore) + wall
    return not_negative("pressure", pressure) * midline * bore / (2.0 * wall * modulus)


@quantities("m", rod="m", pressure="Pa", modulus="Pa", poisson="")
def rod_contraction(rod: Any, pressure: Any, modulus: Any, poisson: Any = 0.29) -> Any:
    """Shrinkage of a solid rod under ``pressure`` all round, free at its ends: d p (1 − ν)/E.

    >>> f'{rod_contraction("60 mm", "200 bar", "206 GPa").to("mm"):.4f~P}'
    '0.0041 mm'
    """
    positive("rod", rod)
    return rod * not_negative("pressure", pressure) * (1.0 - poisson) / positive("modulus", modulus)


@dataclass(frozen=True, slots=True)
class GapCheck:
    """A gap against what the ring bridges; clearances in m, diametral.

    ``working`` is the clearance under pressure; ``allowed`` and ``allowed_backed`` without and with
    a back-up ring; ``verdict`` in one word of three, ``text`` in a sentence.
    """

    working: float
    allowed: float
    allowed_backed: float
    verdict: str
    text: str
    sources: tuple[str, ...]


def check_gap(
    clearance: float,
    pressure: float,
    hardness: float,
    *,
    growth: float = 0.0,
    family: str = "",
    backed: bool = False,
) -> GapCheck:
    """Check the greatest measured diametral ``clearance`` (m) at ``pressure`` (Pa).

    ``growth`` of the gap under pressure in m adds to it; ``hardness`` in Shore A, above 90 taken as
    90; ``family`` halves the clearances for silicones [3]; ``backed`` where a back-up ring is
    fitted. The verdict is "holds", "back-up ring" (it would hold with one) or "too wide".

    >>> check_gap(0.2e-3, 70e5, 70).verdict, check_gap(0.2e-3, 120e5, 70).verdict
    ('holds', 'back-up ring')
    """
    not_negative("clearance", clearance)
    not_negative("growth of the gap", growth)
    working = clearance + growth
    share = 0.5 if family in SILICONES else 1.0
    bare = share * float(allowed_clearance.si(pressure, min(hardness, 90.0)))
    with_ring = max(bare, float(allowed_clearance_backed.si(pressure)))
    verdict = (
        "holds" if working <= (with_ring if backed else bare)
        else "back-up ring" if working <= with_ring
        else "too wide"
    )  # fmt: skip
    limit = with_ring if backed or verdict == "too wide" else bare
    text = (
        f"gap of {show(working, 'mm')} at {show(pressure, 'bar')} against {show(limit, 'mm')} "
        f"for {hardness:g} Shore A{' with a back-up ring' if limit != bare else ''}"
    )
    sources = ["public table of extrusion clearances, read"]
    if backed or verdict != "holds":
        sources.append("line through two points for back-up rings, one read, one common practice")
    if share < 1.0:
        sources.append("public handbook section on static seals: half for silicones")
    return GapCheck(working, bare, with_ring, verdict, text, tuple(sources))


def _ratio(bore: Any, outside: Any) -> Any:
    positive("bore", bore)
    if np.any(np.less_equal(outside, bore)):
        raise ValueError(f"outside diameter {outside} m leaves no wall round the bore of {bore} m")
    return outside / bore
