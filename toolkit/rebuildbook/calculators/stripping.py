"""Whether the screw breaks before its threads strip, and how deep it must engage for that.

A broken screw is seen and replaced; a stripped housing is scrap or an insert. So the engagement
should be long enough that the fastener gives way first, and in a soft housing that is longer than
a nut is high.

Sources: [1] FED-STD-H28/2 and ASME B1.1 appendix B, shear areas and length of engagement (the
same in Machinery's Handbook; formulas read in public reproductions). [2] E. M. Alexander, Analysis
and design of threaded assemblies, SAE 770420, the model behind ISO/TR 16224 and VDI 2230 (strength
factors from memory). [3] VDI 2230 part 1, shear ratios and lost threads (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from rebuildbook.calculators.bounds import not_negative, positive
from rebuildbook.units import quantities

_SOLID = 1.9  # width over diameter from which a nut no longer widens [2]
_PLAIN = 0.897  # strength factor of the weaker of two threads [2]
_LOST_PITCHES = 0.8  # turns at the ends that carry little [3]

# shear strength over tensile strength, guide values [3, from memory]; brass and plastics: common
# practice, no source, and plastics for short loads only: their threads creep under preload
SHEAR_RATIO: dict[str, float] = {
    "quenched and tempered steel": 0.60,
    "annealed steel": 0.65,
    "austenitic stainless steel": 0.80,
    "cast iron, nodular": 0.90,
    "cast iron, grey": 1.10,
    "aluminium, wrought": 0.70,
    "aluminium, cast": 0.52,
    "brass": 0.65,
    "plastic, unfilled": 0.50,
}


@dataclass(frozen=True, slots=True)
class ThreadPair:
    """Diameters of an external and an internal thread that matter to stripping (m).

    External: least ``major`` and ``pitch_diameter``. Internal: greatest ``minor`` and
    ``internal_pitch_diameter``. Take them at the limits of the tolerance for the safe side.
    """

    pitch: float
    major: float
    pitch_diameter: float
    internal_minor: float
    internal_pitch_diameter: float

    def __post_init__(self) -> None:
        positive("pitch", self.pitch)
        overlaps = (self.major - self.internal_minor, self.pitch_diameter - self.internal_minor)
        if min(overlaps) <= 0.0 or self.internal_pitch_diameter < self.pitch_diameter:
            raise ValueError(
                f"a {self.major * 1e3:.4g} mm screw in a {self.internal_minor * 1e3:.4g} mm bore "
                "does not engage to the pitch line, or its pitch diameter is the larger; check "
                "the diameters"
            )


def basic_pair(major: float, pitch: float) -> ThreadPair:
    """Build a pair on the basic 60° profile, no tolerance: the best the threads can be (m).

    >>> round(basic_pair(0.010, 0.0015).internal_minor * 1e3, 3)  # ISO 724: 8.376 mm
    8.376
    """
    middle = major - 0.649519 * pitch
    return ThreadPair(pitch, major, middle, major - 1.082532 * pitch, middle)


@quantities("m^2", engagement="m", pitch="m", internal_minor="m", pitch_diameter="m")
def external_shear_area(
    engagement: Any, *, pitch: Any, internal_minor: Any, pitch_diameter: Any
) -> Any:
    """Shear area of the external thread, at the internal minor diameter (m²) [1].

    As = π Le/P · D1 (P/2 + (d2 − D1)/√3)

    ``engagement`` Le, ``pitch`` P, greatest ``internal_minor`` D1 and least ``pitch_diameter`` d2
    of the external thread (m).

    >>> area = external_shear_area(  # 1/2-13 UNC-2A in 2B, one inch: 0.779 in², from memory
    ...     "1 in", pitch=f"{1 / 13} in", internal_minor="0.434 in", pitch_diameter="0.4435 in"
    ... )
    >>> f"{area.to('in^2').magnitude:.3f} in²"
    '0.779 in²'
    """
    depth = pitch / 2.0 + (pitch_diameter - internal_minor) / math.sqrt(3.0)
    turns = not_negative("engagement", engagement) / positive("pitch", pitch)
    return math.pi * turns * internal_minor * positive("depth of shear", depth)


@quantities("m^2", engagement="m", pitch="m", major="m", internal_pitch_diameter="m")
def internal_shear_area(
    engagement: Any, *, pitch: Any, major: Any, internal_pitch_diameter: Any
) -> Any:
    """Shear area of the internal thread, at the external major diameter (m²) [1].

    An = π Le/P · d (P/2 + (d − D2)/√3)

    ``engagement`` Le, ``pitch`` P, least ``major`` d of the external thread and greatest
    ``internal_pitch_diameter`` D2 (m).

    >>> area = internal_shear_area(
    ...     "1 in", pitch=f"{1 / 13} in", major="0.4876 in", internal_pitch_diameter="0.4565 in"
    ... )
    >>> f"{area.to('in^2').magnitude:.3f} in²"
    '1.123 in²'
    """
    depth = pitch / 2.0 + (major - internal_pitch_diameter) / math.sqrt(3.0)
    turns = not_negative("engagement", engagement) / positive("pitch", pitch)
    return math.pi * turns * major * positive("depth of shear", depth)


@quantities("", width="m", major="m")
def widening_factor(width: Any, major: Any) -> Any:
    """Factor C1 for a nut or thin boss that widens under the thread's wedging (1) [2].

    C1 = −(s/D)² + 3.8 s/D − 2.61 for s/D from 1.4 to 1.9, then 1. ``width`` s across flats, or
    the diameter of the boss, ``major`` D (m). A wall thinner than 1.4 D lies outside the model.

    >>> f"{widening_factor('16 mm', '10 mm'):.2f}"
    '0.91'
    """
    ratio = positive("width", width) / positive("major diameter", major)
    if np.any(np.less(ratio, 1.4)):
        raise ValueError(
            f"width over diameter is {np.min(ratio):.2f}; the model needs at least 1.4 of metal"
        )
    ratio = np.minimum(ratio, _SOLID)
    return -(ratio**2) + 3.8 * ratio - 2.61


def external_factor(strength_ratio: float) -> float:
    """Factor C2 for the external thread by the strength ratio Rs (1) [2].

    0.897 while the internal thread is the weaker (Rs ≤ 1), then rising as the stronger internal
    thread bends less, to Rs = 2.2 and level beyond.

    >>> round(external_factor(1.0), 3), round(external_factor(2.2), 2)
    (0.897, 1.19)
    """
    if positive("strength ratio", strength_ratio) <= 1.0:
        return _PLAIN
    r = min(strength_ratio, 2.2)
    return 5.594 - 13.682 * r + 14.107 * r**2 - 6.057 * r**3 + 0.9353 * r**4


def internal_factor(strength_ratio: float) -> float:
    """Factor C3 for the internal thread by the strength ratio Rs (1) [2].

    0.897 while the external thread is the weaker (Rs ≥ 1); below, from Rs = 0.4, the fit of [2],
    held level under 0.4 where a soft housing lets the screw's threads stand straight.

    >>> round(internal_factor(1.0), 3), round(internal_factor(0.5), 3)
    (0.897, 1.05)
    """
    if positive("strength ratio", strength_ratio) >= 1.0:
        return _PLAIN
    r = max(strength_ratio, 0.4)
    return 0.728 + 1.769 * r - 2.896 * r**2 + 1.296 * r**3


@dataclass(frozen=True, slots=True)
class Stripping:
    """Loads (N) at which screw and threads give way, and which of them is first.

    ``shear_areas`` (m²), ``strength_ratio`` and ``factors`` C1, C2, C3 are what led there.
    """

    fastener_breaks: float
    external_strips: float
    internal_strips: float
    shear_areas: tuple[float, float]
    strength_ratio: float
    factors: tuple[float, float, float]

    @property
    def first(self) -> Literal["fastener", "external thread", "internal thread"]:
        """What gives way first."""
        threads = min(self.external_strips, self.internal_strips)
        if self.fastener_breaks <= threads:
            return "fastener"
        return (
            "external thread" if self.external_strips <= self.internal_strips else "internal thread"
        )

    @property
    def margin(self) -> float:
        """Stripping load of the weaker thread over the breaking load of the fastener."""
        return min(self.external_strips, self.internal_strips) / self.fastener_breaks


def stripping(
    pair: ThreadPair,
    engagement: float,
    *,
    stress_area: float,
    fastener_tensile: float,
    internal_shear: float,
    fastener_shear_ratio: float = SHEAR_RATIO["quenched and tempered steel"],
    width: float | None = None,
) -> Stripping:
    """Loads at which a screw in its thread breaks or strips [2].

    External: 0.6 Rm As C1 C2; internal: τ An C1 C3; screw: Rm At. ``engagement`` full turns only,
    chamfers left out (m); ``stress_area`` At (m²); ``fastener_tensile`` Rm and ``internal_shear``
    τ of the tapped part (Pa; its tensile strength times ``SHEAR_RATIO``); ``width`` of the nut or
    boss (m), none for a housing all round.

    >>> soft = stripping(  # M8 of class 8.8, 8 mm deep in cast aluminium of 220 MPa
    ...     basic_pair(0.008, 0.00125), 0.008, stress_area=36.6e-6, fastener_tensile=800e6,
    ...     internal_shear=0.52 * 220e6,
    ... )
    >>> soft.first, f"{soft.margin:.2f}"
    ('internal thread', '0.73')
    """
    external, internal = _shear_areas(pair, positive("engagement", engagement))
    shear = positive("fastener tensile strength", fastener_tensile) * fastener_shear_ratio
    ratio = positive("internal shear strength", internal_shear) * internal / (shear * external)
    c1 = 1.0 if width is None else float(widening_factor.si(width, pair.major))
    c2, c3 = external_factor(ratio), internal_factor(ratio)
    return Stripping(
        fastener_breaks=positive("stress area", stress_area) * fastener_tensile,
        external_strips=shear * external * c1 * c2,
        internal_strips=internal_shear * internal * c1 * c3,
        shear_areas=(external, internal),
        strength_ratio=ratio,
        factors=(c1, c2, c3),
    )


def engagement_to_break_fastener(
    pair: ThreadPair,
    *,
    stress_area: float,
    fastener_tensile: float,
    internal_shear: float,
    fastener_shear_ratio: float = SHEAR_RATIO["quenched and tempered steel"],
    width: float | None = None,
    factor: float = 1.0,
) -> float:
    """Engagement from which the screw breaks before a thread strips (m) [2, 3].

    Parameters as in ``stripping``; ``factor`` asks for more than the breaking load. Stripping
    loads grow with the engagement, to which 0.8 of a pitch is added for the turns at the ends.

    >>> depth = engagement_to_break_fastener(
    ...     basic_pair(0.008, 0.00125), stress_area=36.6e-6, fastener_tensile=800e6,
    ...     internal_shear=0.52 * 220e6,
    ... )
    >>> f"{depth * 1e3:.1f} mm"
    '12.0 mm'
    """
    unit = stripping(
        pair,
        pair.major,
        stress_area=stress_area,
        fastener_tensile=fastener_tensile,
        internal_shear=internal_shear,
        fastener_shear_ratio=fastener_shear_ratio,
        width=width,
    )
    bearing = pair.major / unit.margin
    return float(positive("factor", factor) * bearing + _LOST_PITCHES * pair.pitch)


def handbook_engagement(
    pair: ThreadPair, *, stress_area: float, fastener_tensile: float, internal_tensile: float
) -> float:
    """Engagement by the older rule without strength factors (m) [1].

    Le = 2 At/(As per length), which gives the screw's thread twice the stress area in shear;
    where the tapped part is the weaker, Le times J = As Rm/(An Rm of the part).
    ``stress_area`` At (m²), tensile strengths (Pa).

    >>> unc = ThreadPair(  # 1/2-13 UNC-2A in 2B, equal materials
    ...     0.0254 / 13, 0.0254 * 0.4876, 0.0254 * 0.4435, 0.0254 * 0.434, 0.0254 * 0.4565
    ... )
    >>> le = handbook_engagement(
    ...     unc, stress_area=0.1419 * 0.0254**2, fastener_tensile=1.0, internal_tensile=1.0
    ... )
    >>> f"{le / 0.0254:.3f} in"
    '0.364 in'
    """
    external, internal = _shear_areas(pair, 1.0)
    positive("fastener tensile strength", fastener_tensile)
    weaker = (
        external
        * fastener_tensile
        / (internal * positive("internal tensile strength", internal_tensile))
    )
    return float(2.0 * positive("stress area", stress_area) / external * max(weaker, 1.0))


def _shear_areas(pair: ThreadPair, engagement: float) -> tuple[float, float]:
    """Shear areas of the external and the internal thread (m²)."""
    external = external_shear_area.si(
        engagement,
        pitch=pair.pitch,
        internal_minor=pair.internal_minor,
        pitch_diameter=pair.pitch_diameter,
    )
    internal = internal_shear_area.si(
        engagement,
        pitch=pair.pitch,
        major=pair.major,
        internal_pitch_diameter=pair.internal_pitch_diameter,
    )
    return float(external), float(internal)
