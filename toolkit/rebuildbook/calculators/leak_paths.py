"""What leaks past a worn part: an annular gap, a scratch, an oval seat, a ball held up by a chip.

Every passage takes the pressure difference up in two ways, one after the other: friction along its
length and the loss at its edges,

    Δp = friction(u) + ξ ρ u²/2,

so that whichever throttles more rules and the leak is never above what either would let through.
Friction is the larger of the laminar and the turbulent one, handed over smoothly.

Three gaps turn out to be one. A part against the wall of its bore, a ball in an oval seat and a
ball held up by a chip leave gaps of h (1 + cos φ), h (1 + cos 2φ) and h (1 + cos φ) round the
circumference, with h the mean: each leaks 2.5 times as much as an even gap of the same mean.

References
----------
1. Flow between parallel and sliding plates, eccentric annulus: R. W. Fox and A. T. McDonald,
   Introduction to Fluid Mechanics, chapter 8; H. E. Merritt, Hydraulic Control Systems, chapter 3
   (from memory).
2. Rectangular duct: F. M. White, Viscous Fluid Flow, chapter 3 (from memory).
3. Power-law fluid in a slot: R. B. Bird, W. E. Stewart, E. N. Lightfoot, Transport Phenomena,
   chapter 8 (from memory).
4. Blasius friction of smooth walls, entrance loss 0.5, exit loss 1, sharp orifice coefficient
   0.61: White, Fluid Mechanics, chapters 6 and 3 (from memory).
5. Oval seat and chip: from the geometry, as derived in each docstring.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from scipy.optimize import newton
from scipy.special import hyp2f1

from rebuildbook.calculators.ball_seat import SeatContact
from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.units import quantities

Regime = Literal["laminar", "between", "turbulent"]
Throttle = Literal["friction", "edges"]

SQUARE_EDGES = 1.5  # entrance 0.5 and exit 1 of a long gap [4]
SHARP_EDGES = 1.0 / 0.61**2  # a short opening, coefficient 0.61 [4]
LAMINAR_BELOW = 1500.0  # Reynolds number up to which turbulence adds at most 2 %
TURBULENT_ABOVE = 3000.0  # common practice, no source
LARGEST_TILT = 0.1  # of the contact circle: past it a ball held up is an open check

_HAND_OVER = 8.0  # the higher, the sharper the corner between laminar and turbulent friction
_PLACES = 128  # over half the circumference; the laminar gap is exact from 4 on
_TERMS = np.arange(1.0, 60.0, 2.0)


@quantities("", eccentricity="", power="")
def eccentricity_factor(eccentricity: Any, power: Any = 3.0) -> Any:
    """Give how much more an eccentric gap leaks, the mean of (1 + ε cos φ)ᵐ round it.

    In closed form ₂F₁(−m/2, (1 − m)/2; 1; ε²), which is 1 + 1.5 ε² for a Newtonian fluid, m = 3
    [1]; a power-law fluid has m = 2 + 1/n. ``eccentricity`` ε is the offset over the radial
    clearance, 0 for a part in the middle and 1 for one that touches.

    >>> float(eccentricity_factor.si(1.0)), float(eccentricity_factor.si(0.5))
    (2.5, 1.375)
    """
    epsilon = within("eccentricity", eccentricity, 0.0, 1.0)
    return hyp2f1(-power / 2.0, (1.0 - power) / 2.0, 1.0, np.square(epsilon))


@quantities(
    "m^3/s", diameter="m", clearance="m", length="m", pressure_difference="Pa",
    viscosity="Pa*s", eccentricity="", wall_speed="m/s",
)  # fmt: skip
def annular_flow(
    diameter: Any,
    clearance: Any,
    length: Any,
    pressure_difference: Any,
    viscosity: Any,
    eccentricity: Any = 0.0,
    wall_speed: Any = 0.0,
) -> Any:
    """Laminar leak of an annular gap, Q = π D c³ Δp (1 + 1.5 ε²)/(12 μ L) + π D c v/2 [1].

    ``diameter`` D (m), radial ``clearance`` c (m), ``length`` L (m), ``pressure_difference`` Δp
    (Pa), ``viscosity`` μ (Pa·s; of a fluid that thins, the apparent one at the gap's shear rate),
    ``eccentricity`` ε from 0 to 1. ``wall_speed`` v (m/s) counts positive where the moving wall
    drags fluid the way the pressure pushes it. Slip is counted against a displacement: against
    that of the bore the drag of a piston adds to the leak, against that of the plunger it takes
    from it. Raises ValueError for a size of zero or below.

    A spool of 25 mm, gap 0.005 mm, 15 mm long, 19 MPa, oil of 0.018 Pa·s [1, example 8.1]:

    >>> q = annular_flow("25 mm", "0.005 mm", "15 mm", "19 MPa", "0.018 Pa*s")
    >>> print(f'{q.to("mm^3/s").magnitude:.1f}')
    57.6
    """
    around = math.pi * positive("diameter, m,", diameter) * not_negative("clearance, m,", clearance)
    pressure = not_negative("pressure difference, Pa,", pressure_difference)
    drag = positive("viscosity, Pa·s,", viscosity) * positive("length, m,", length)
    factor = eccentricity_factor.si(eccentricity)
    return around * (clearance**2 * pressure * factor / (12.0 * drag) + wall_speed / 2.0)


@quantities("m^3/s", width="m", gap="m", length="m", pressure_difference="Pa", flow_index="")
def power_law_slot_flow(
    width: Any, gap: Any, length: Any, pressure_difference: Any, consistency: Any, flow_index: Any
) -> Any:
    """Flow of a power-law fluid, τ = K γ̇ⁿ, in a slot [3].

    Q = W h²/2 · n/(2n + 1) · (h Δp/(2 K L))^(1/n). ``width`` W (m) round the gap, ``gap`` h (m),
    ``length`` L (m), ``pressure_difference`` Δp (Pa), ``consistency`` K as a bare number in
    Pa·sⁿ, ``flow_index`` n: 1 for a Newtonian fluid, below 1 for one that thins.

    >>> power_law_slot_flow.si(0.0785, 5e-6, 0.015, 19e6, 0.018, 1.0)  # as annular_flow
    5.75...e-08
    """
    index = positive("flow index", flow_index)
    pressure = not_negative("pressure difference, Pa,", pressure_difference)
    wall = not_negative("gap, m,", gap) * pressure / (2.0 * positive("length, m,", length))
    shear = (wall / positive("consistency, Pa·sⁿ,", consistency)) ** (1.0 / index)
    return positive("width, m,", width) * gap**2 / 2.0 * index / (2.0 * index + 1.0) * shear


@quantities(
    "m^3/s", diameter="m", clearance="m", length="m", pressure_difference="Pa", flow_index="",
    eccentricity="",
)  # fmt: skip
def power_law_annular_flow(
    diameter: Any,
    clearance: Any,
    length: Any,
    pressure_difference: Any,
    consistency: Any,
    flow_index: Any,
    eccentricity: Any = 0.0,
) -> Any:
    """Flow of a power-law fluid through an annular gap: the slot's, times the eccentric gap's.

    Parameters as in ``annular_flow`` and ``power_law_slot_flow``. A fluid that thins leaks more
    through an eccentric gap than 2.5 times: the wide side shears faster and so thins more.

    >>> float(eccentricity_factor.si(1.0, 2.0 + 1.0 / 0.5))  # n = 0.5
    4.375
    """
    around = math.pi * positive("diameter, m,", diameter)
    slot = power_law_slot_flow.si(
        around, clearance, length, pressure_difference, consistency, flow_index
    )
    return slot * eccentricity_factor.si(eccentricity, 2.0 + 1.0 / flow_index)


@quantities("", width="m", depth="m")
def channel_factor(width: Any, depth: Any) -> Any:
    """Give how much of a wide slot's flow a rectangular channel passes, for its side walls [2].

    F = 1 − 192 h/(π⁵ w) Σ tanh(i π w/2h)/i⁵ over odd i, with h the lesser of ``width`` and
    ``depth`` (m) and w the other; the flow is F w h³ Δp/(12 μ L). A square has 0.4217.

    >>> print(f"{channel_factor.si(1e-3, 1e-3):.4f}")
    0.4217
    """
    small = np.minimum(positive("width, m,", width), positive("depth, m,", depth))
    ratio = np.asarray(np.maximum(width, depth) / small)[..., np.newaxis]
    terms = np.tanh(_TERMS * math.pi * ratio / 2.0) / (_TERMS**5 * ratio)
    return 1.0 - 192.0 / math.pi**5 * terms.sum(axis=-1)


@quantities("m^3/s", area="m^2", pressure_difference="Pa", density="kg/m^3", coefficient="")
def orifice_flow(area: Any, pressure_difference: Any, density: Any, coefficient: Any = 0.61) -> Any:
    """Flow of a short opening with sharp edges, Q = C A (2 Δp/ρ)^½ [4].

    >>> print(f'{orifice_flow("1 mm^2", "10 bar", "1000 kg/m^3").to("L/min").magnitude:.3f}')
    1.637
    """
    pressure = not_negative("pressure difference, Pa,", pressure_difference)
    speed = np.sqrt(2.0 * pressure / positive("density, kg/m³,", density))
    return coefficient * not_negative("area, m²,", area) * speed


@dataclass(frozen=True, slots=True)
class Gap:
    """A gap round a circle of ``diameter``, m.

    ``height`` is the mean gap, m, for a piston the radial clearance; ``length``, m, the way of the
    fluid through it; ``eccentricity`` 0 for an even gap, 1 for one that closes on one side.
    ``edge_loss`` ξ is that of its two ends, in velocity heads.
    """

    diameter: float
    height: float
    length: float
    eccentricity: float = 0.0
    edge_loss: float = SQUARE_EDGES

    def __post_init__(self) -> None:
        positive("diameter of a gap, m,", self.diameter)
        within("height of a gap, m,", self.height, 0.0, self.diameter / 4.0)
        not_negative("length of a gap, m,", self.length)
        within("eccentricity", self.eccentricity, 0.0, 1.0)
        positive("edge loss", self.edge_loss)


@dataclass(frozen=True, slots=True)
class Scratch:
    """A scratch, notch or washed groove of ``width`` and ``depth`` over a ``length`` of land, m.

    Taken as a rectangle, which leaks more than a V of the same width and depth: the safe side.
    ``count`` alike of them; ``edge_loss`` ξ is that of its two ends, in velocity heads.
    """

    width: float
    depth: float
    length: float
    count: int = 1
    edge_loss: float = SHARP_EDGES

    def __post_init__(self) -> None:
        positive("width of a scratch, m,", self.width)
        positive("depth of a scratch, m,", self.depth)
        not_negative("length of a scratch, m,", self.length)
        positive("edge loss", self.edge_loss)
        if self.count != int(self.count) or self.count < 1:
            raise ValueError(f"a count of {self.count} scratches; give a whole number from 1")


Passage = Gap | Scratch


@dataclass(frozen=True, slots=True)
class Leak:
    """What passes: ``flow``, m³/s, drag of the moving wall included.

    ``laminar`` is the flow without edges and turbulence, m³/s (infinite for no length), ``edges``
    that without friction; ``flow`` less the drag is below both. ``reynolds`` is that of the
    hydraulic diameter at the widest place, ``shear_rate`` 6 u/h, 1/s, the one there at which to
    read the apparent viscosity of a fluid that thins.
    """

    flow: float
    laminar: float
    edges: float
    reynolds: float
    regime: Regime
    throttled_by: Throttle
    shear_rate: float


def piston_gap(bore: float, part: float, length: float, eccentricity: float = 1.0) -> Gap:
    """Gap of a piston, plunger or rod of diameter ``part`` in a ``bore``, ``length`` long; m.

    It lies against the wall unless a guide holds it: ``eccentricity`` 1 is the safe side.

    >>> round(piston_gap(0.0635, 0.0634, 0.020).height * 1e6, 3)
    50.0
    """
    if not 0.0 < part <= bore:
        raise ValueError(
            f"a part of {part * 1e3:g} mm in a bore of {bore * 1e3:g} mm; it must be above zero "
            "and not larger than the bore"
        )
    return Gap((bore + part) / 2.0, (bore - part) / 2.0, length, eccentricity)


def worn_seal_gap(diameter: float, wear: float, interference: float, length: float) -> Gap:
    """Gap of a cup or packing that sealed on ``diameter`` with an ``interference``; m, radial.

    It leaks once its radial ``wear`` has used the interference up (new squeeze, and what gland or
    pressure still takes up), along the ``length`` of lip or packing that touched, evenly round.

    >>> round(worn_seal_gap(0.06, 0.35e-3, 0.3e-3, 0.006).height * 1e6, 3)
    50.0
    """
    not_negative("wear, m,", wear)
    not_negative("interference, m,", interference)
    return Gap(diameter, max(wear - interference, 0.0), length)


def oval_seat_gap(contact: SeatContact, ovality: float, land: float) -> Gap:
    """Gap of a ball on an out-of-round seat; ``ovality`` is largest less least diameter, m [5].

    The ball touches at the ends of the short diameter and stands off by ovality/2 · cos² φ in the
    plane of the seat, a gap sin θ times as large square to the ball: a mean of ovality/4 · sin θ.
    ``contact`` is that of the ball on the short diameter, ``land`` the width, m, over which ball
    and seat lie close (``bedded_width`` for an edge). No pressing into shape is counted.
    """
    not_negative("ovality, m,", ovality)
    mean = ovality / 4.0 * math.sin(contact.angle)
    return Gap(contact.circle, mean, land, 1.0, SHARP_EDGES)


def chip_gap(contact: SeatContact, chip: float, land: float) -> Gap:
    """Gap of a ball that a ``chip`` of that height, m, holds off its seat on one side [5].

    The ball rolls aside until it touches opposite: the pressure seats it as deep as it will go,
    and the gap falls evenly from the chip's height to nothing, a mean of half the chip.

    Raises ValueError for a chip above a tenth of the contact circle: that is an open check, of
    which ``ball_lift.lift_area`` gives the throat.
    """
    not_negative("chip, m,", chip)
    if chip > LARGEST_TILT * contact.circle:
        raise ValueError(
            f"a chip of {chip * 1e3:g} mm under a ball on a circle of {contact.circle * 1e3:g} mm; "
            "above a tenth of the circle the check stands open, take its throat"
        )
    return Gap(contact.circle, chip / 2.0, land, 1.0, SHARP_EDGES)


@functools.lru_cache(maxsize=4096)
def leak(
    passage: Passage,
    pressure_difference: float,
    viscosity: float,
    density: float,
    wall_speed: float = 0.0,
) -> Leak:
    """Work out the leak of a passage; Pa, Pa·s, kg/m³, m/s in, m³/s out.

    ``wall_speed`` as in ``annular_flow``; a scratch takes none. Raises ValueError for no fluid.

    >>> found = leak(Gap(0.025, 5e-6, 0.015), 19e6, 0.018, 920.0)
    >>> print(f"{found.flow * 1e9:.1f} mm³/s, {found.regime}")
    57.6 mm³/s, laminar
    """
    not_negative("pressure difference, Pa,", pressure_difference)
    positive("viscosity, Pa·s,", viscosity)
    positive("density, kg/m³,", density)
    if isinstance(passage, Gap) and passage.height == 0.0:
        return Leak(0.0, 0.0, 0.0, 0.0, "laminar", "friction", 0.0)
    gaps, around, hydraulic, factor = _places(passage)
    drag = math.pi * passage.diameter * passage.height / 2.0 if isinstance(passage, Gap) else 0.0
    laminar = 12.0 * viscosity * passage.length / (factor * gaps**2)
    blasius = 0.3164 * (viscosity / (density * hydraulic)) ** 0.25
    edges = passage.edge_loss * density / 2.0
    speed = _speed(
        pressure_difference, laminar, blasius * passage.length / hydraulic * density / 2.0, edges
    )
    slow = pressure_difference / laminar if passage.length else np.full_like(gaps, math.inf)
    reynolds = float(np.max(density * speed * hydraulic / viscosity))
    return Leak(
        flow=float(speed @ (gaps * around)) + drag * wall_speed,
        laminar=float(slow @ (gaps * around)),
        edges=math.sqrt(pressure_difference / edges) * float(gaps @ around),
        reynolds=reynolds,
        regime=_regime(reynolds),
        throttled_by="edges" if edges * speed[0] ** 2 > pressure_difference / 2.0 else "friction",
        shear_rate=float(6.0 * speed[0] / gaps[0]),
    )


def _places(passage: Passage) -> tuple[Any, Any, Any, float]:
    """Give gap, width and hydraulic diameter at every place, the widest first, and the factor."""
    if isinstance(passage, Scratch):
        small, large = sorted((passage.width, passage.depth))
        wide = large * passage.count
        hydraulic = 2.0 * small * large / (small + large)
        factor = float(channel_factor.si(small, large))
        return np.array([small]), np.array([wide]), np.array([hydraulic]), factor
    angle = (np.arange(_PLACES) + 0.5) * math.pi / _PLACES
    gaps = passage.height * (1.0 + passage.eccentricity * np.cos(angle))
    return gaps, np.full(_PLACES, math.pi * passage.diameter / _PLACES), 2.0 * gaps, 1.0


def _regime(reynolds: float) -> Regime:
    if reynolds <= LAMINAR_BELOW:
        return "laminar"
    return "between" if reynolds < TURBULENT_ABOVE else "turbulent"


def _speed(pressure: float, laminar: Any, turbulent: Any, edges: float) -> Any:
    """Solve Δp = ((a u)ᵐ + (b u^1.75)ᵐ)^(1/m) + e u² for the speed u, m/s, at every place.

    The right side is convex and rises, and each of its terms alone lets more through; Newton's
    steps from the least of those three speeds therefore fall to the root without overshoot.
    """
    if pressure == 0.0:
        return np.zeros_like(laminar)
    start = np.full_like(laminar, math.sqrt(pressure / edges))
    if laminar[0] > 0.0:
        alone = np.minimum(pressure / laminar, (pressure / turbulent) ** (1.0 / 1.75))
        start = np.minimum(start, alone)
    # losses at the start as shares of the pressure; x is the speed over the start's
    a, b = laminar * start / pressure, turbulent * start**1.75 / pressure
    e = edges * start**2 / pressure

    def friction(x: Any) -> Any:
        return ((a * x) ** _HAND_OVER + (b * x**1.75) ** _HAND_OVER) ** (1.0 / _HAND_OVER)

    def surplus(x: Any) -> Any:
        return friction(x) + e * x**2 - 1.0

    def slope(x: Any) -> Any:
        smooth, rough = (a * x) ** _HAND_OVER, (b * x**1.75) ** _HAND_OVER
        mix = (smooth + 1.75 * rough) / np.maximum(smooth + rough, np.finfo(float).tiny)
        return (friction(x) * mix + 2.0 * e * x**2) / x

    return start * newton(surplus, np.ones_like(start), slope, tol=1e-12, maxiter=100)  # type: ignore[no-untyped-call]
