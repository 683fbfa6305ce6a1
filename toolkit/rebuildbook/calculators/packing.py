"""U-cups and V-packing on a rod or plunger: interference, stack and follower, load and friction.

Sources
-------
1. Pressure in a packed gland falls along the rod as exp(−K(μ_r d + μ_b D) 4x/(D² − d²)), K being
   the radial over the axial pressure: balance of an element of packing; the form is that of
   D. F. Denny and D. E. Turnbull (1960), from memory.
2. Number of V-rings by pressure, share of a lip's interference that may wear off, ratio of radial
   to axial pressure (0.5 to 0.9 by kind): common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.units import quantities, show

MOST_LIP_LOSS = 0.5  # [2]
_PRACTICE = "common practice, no source"
# [2]: up to the pressure, Pa, this many V-rings between the two adapters
_V_RINGS = ((35e5, 3), (100e5, 4), (200e5, 5), (400e5, 6))


@quantities("m", new="m", measured="m")
def squeeze_lost(new: Any, measured: Any) -> Any:
    """Radial squeeze a seal loses on one side by wear: half the change of the diameter.

    ``new`` and ``measured`` diameter of the rod in m; of a bore give them the other way round.

    >>> f'{squeeze_lost("25 mm", "24.9 mm").to("mm"):.2f~P}'
    '0.05 mm'
    """
    return (positive("new diameter", new) - positive("measured diameter", measured)) / 2.0


@dataclass(frozen=True, slots=True)
class UCup:
    """A free U-cup, all in m: diameters ``inner`` and ``outer`` at the lips and at the heel."""

    inner_lip: float
    outer_lip: float
    inner_heel: float
    outer_heel: float
    height: float

    def __post_init__(self) -> None:
        for name in ("inner_lip", "outer_lip", "inner_heel", "outer_heel", "height"):
            positive(name.replace("_", " "), getattr(self, name))
        if self.outer_heel <= self.inner_heel or self.outer_lip <= self.inner_lip:
            raise ValueError("a U-cup is larger outside than inside; check its diameters")


@dataclass(frozen=True, slots=True)
class UCupFit:
    """A U-cup in its gland; interferences are radial, in m, above zero where it presses.

    ``lip_squeeze`` is what both lips together are closed by, ``lip_share`` that over their free
    radial width. ``end_play`` is free height of the gland, m. ``remarks`` name what is
    out of order, each with its source.
    """

    inner_lip: float
    outer_lip: float
    inner_heel: float
    outer_heel: float
    lip_squeeze: float
    lip_share: float
    heel_squeeze: float
    end_play: float
    remarks: tuple[str, ...]


def fit_u_cup(
    cup: UCup, inner: float, outer: float, length: float, *, slides: Literal["rod", "bore"]
) -> UCupFit:
    """Fit ``cup`` between ``inner`` (rod) and ``outer`` (bore) diameter in a gland of ``length``.

    Sizes in m. ``slides`` says where it runs: on the "rod" or in the "bore". Both lips must press,
    as nothing else seals at low pressure; the heel must press where it stands still, and must not
    where it slides, or it drags and heats (common practice, no source).

    >>> cup = UCup(24e-3, 36.8e-3, 25.1e-3, 35.2e-3, 7e-3)
    >>> fit = fit_u_cup(cup, 25e-3, 35e-3, 7.8e-3, slides="rod")
    >>> f"lips {fit.lip_squeeze * 1e3:.2f} mm, {fit.lip_share:.0%}; {fit.remarks}"
    'lips 1.40 mm, 22%; ()'
    """
    if slides not in {"rod", "bore"}:
        raise ValueError(f"slides {slides!r} given; it is rod or bore")
    positive("rod diameter", inner)
    if outer <= inner:
        raise ValueError(f"bore of {outer:g} m leaves no room round a rod of {inner:g} m")
    inner_lip, outer_lip = (inner - cup.inner_lip) / 2.0, (cup.outer_lip - outer) / 2.0
    inner_heel, outer_heel = (inner - cup.inner_heel) / 2.0, (cup.outer_heel - outer) / 2.0
    end_play = positive("gland length", length) - cup.height
    moving_lip, still_lip = (inner_lip, outer_lip) if slides == "rod" else (outer_lip, inner_lip)
    moving_heel, still_heel = (
        (inner_heel, outer_heel) if slides == "rod" else (outer_heel, inner_heel)
    )
    remarks = _u_cup_remarks(moving_lip, still_lip, moving_heel, still_heel, end_play)
    lips = inner_lip + outer_lip
    return UCupFit(
        inner_lip,
        outer_lip,
        inner_heel,
        outer_heel,
        lips,
        lips / ((cup.outer_lip - cup.inner_lip) / 2.0),
        inner_heel + outer_heel,
        end_play,
        tuple(remarks),
    )


def lip_after_wear(lip: float, lost: float) -> tuple[float, bool]:
    """Give the radial interference of a lip (m) after ``lost`` (m), and whether it still serves.

    A lip serves while at least half its interference is left [2].

    >>> lip_after_wear(0.5e-3, 0.1e-3), lip_after_wear(0.5e-3, 0.4e-3)[1]
    ((0.0004, True), False)
    """
    positive("interference of the lip", lip)
    return lip - lost, lost <= MOST_LIP_LOSS * lip


def v_rings_for(pressure: float) -> int:
    """Give the usual number of V-rings for ``pressure`` (Pa) [2]; raises above 400 bar.

    >>> v_rings_for(20e5), v_rings_for(150e5)
    (3, 5)
    """
    not_negative("pressure", pressure)
    for limit, count in _V_RINGS:
        if pressure <= limit:
            return count
    raise ValueError(f"{show(pressure, 'bar')} is above 400 bar; ask the maker of the packing")


@dataclass(frozen=True, slots=True)
class VStack:
    """A set of V-packing, free, in m: ``rings`` of them at ``pitch`` between two adapters.

    ``pitch`` is what one ring adds to the height when nested; ``first_adapter`` and
    ``last_adapter`` are what the male and the female one add.
    """

    rings: int
    pitch: float
    first_adapter: float
    last_adapter: float

    def __post_init__(self) -> None:
        if self.rings < 1:
            raise ValueError(f"{self.rings} rings given; a set has at least one")
        positive("pitch of the rings", self.pitch)
        not_negative("first adapter", self.first_adapter)
        not_negative("last adapter", self.last_adapter)

    @property
    def height(self) -> float:
        """Free height of the set, m."""
        return self.rings * self.pitch + self.first_adapter + self.last_adapter

    def travel(self, box: float, spigot: float, compression: float = 0.0) -> float:
        """Gap left between gland flange and housing when the set is compressed by a share, m.

        ``box`` is the depth of the packing space and ``spigot`` the length of the follower that
        enters it, both m; ``compression`` a share of the free height of the rings alone. Below
        zero, the follower meets the housing before the set is compressed so far.

        >>> stack = VStack(4, 5e-3, 4e-3, 6e-3)
        >>> round(stack.height, 6), round(stack.travel(40e-3, 15e-3, 0.02), 6)
        (0.03, 0.0046)
        """
        within("compression", compression, 0.0, 0.3)
        squeezed = self.height - compression * self.rings * self.pitch
        positive("spigot", spigot)
        positive("box", box)
        return squeezed + spigot - box


@quantities("", rod="m", box="m", length="m", ratio="", rod_friction="", box_friction="")
def pressure_left(
    rod: Any, box: Any, length: Any, ratio: Any, rod_friction: Any, box_friction: Any
) -> Any:
    """Share of the gland's axial pressure left at ``length`` from the follower [1].

    exp(−4 K (μ_r d + μ_b D) x/(D² − d²)), with ``rod`` d, ``box`` D and ``length`` x in m,
    ``ratio`` K of radial to axial pressure and the frictions on rod and box.

    >>> left = pressure_left.si(25e-3, 45e-3, 40e-3, 0.7, 0.1, 0.1)
    >>> f"{left:.3f}"  # exp(−2 K μ x/s) with s = 10 mm
    '0.571'
    """
    ring = _ring(rod, box)
    within("pressure ratio", ratio, 0.01, 1.0)
    not_negative("friction", np.minimum(rod_friction, box_friction))
    drag = rod_friction * rod + box_friction * box
    return np.exp(-math.pi * ratio * drag * not_negative("length", length) / ring)


@quantities(
    "N", radial="Pa", rod="m", box="m", length="m", ratio="", rod_friction="", box_friction=""
)
def gland_load(
    radial: Any,
    rod: Any,
    box: Any,
    length: Any,
    ratio: Any,
    rod_friction: Any = 0.0,
    box_friction: Any = 0.0,
) -> Any:
    """Load on the follower that gives ``radial`` pressure at the far end of the packing [1].

    F = A p_r/K over the share that is left there; A = π/4 (D² − d²). ``radial`` pressure p_r in Pa,
    lengths in m, ``ratio`` K of radial to axial pressure. With no friction the whole set bears
    alike.

    >>> f'{gland_load("20 bar", "25 mm", "45 mm", "40 mm", 0.7).to("N"):.0f~P}'
    '3142 N'
    """
    left = pressure_left.si(rod, box, length, ratio, rod_friction, box_friction)
    return _ring(rod, box) * not_negative("radial pressure", radial) / ratio / left


@quantities("N", friction="", pressure="Pa", rod="m", length="m")
def packing_friction(friction: Any, pressure: Any, rod: Any, length: Any) -> Any:
    """Friction of packing on the rod: F = μ p π d L.

    ``pressure`` p in Pa is the radial one, taken as even over the contact ``length`` L of the
    ``rod`` d (m): the fluid pressure for lip seals, that of the gland at rest; for both, add them.

    >>> f'{packing_friction(0.1, "100 bar", "25 mm", "20 mm").to("N"):.0f~P}'
    '1571 N'
    """
    not_negative("friction", friction)
    not_negative("pressure", pressure)
    return friction * pressure * math.pi * positive("rod", rod) * positive("length", length)


@quantities("N", load="N", rod="m", box="m", length="m", ratio="", rod_friction="", box_friction="")
def gland_friction(
    load: Any,
    rod: Any,
    box: Any,
    length: Any,
    ratio: Any,
    rod_friction: Any,
    box_friction: Any = 0.0,
) -> Any:
    """Friction on the rod by a follower ``load`` alone (N), the pressure falling along it [1].

    F = ∫ μ_r K p(x) π d dx = load · μ_r d/(μ_r d + μ_b D) · (1 − share left): of what the load
    loses on its way, the rod takes its part. Lengths in m.

    >>> f'{gland_friction("3142 N", "25 mm", "45 mm", "40 mm", 0.7, 0.1, 0.1).to("N"):.0f~P}'
    '481 N'
    """
    positive("friction on the rod", rod_friction)
    left = pressure_left.si(rod, box, length, ratio, rod_friction, box_friction)
    part = rod_friction * rod / (rod_friction * rod + box_friction * box)
    return not_negative("load", load) * part * (1.0 - left)


def _ring(rod: Any, box: Any) -> Any:
    positive("rod", rod)
    if np.any(np.less_equal(box, rod)):
        raise ValueError(f"packing box of {box} m leaves no room round a rod of {rod} m")
    return math.pi / 4.0 * (box**2 - rod**2)


def _u_cup_remarks(
    moving_lip: float, still_lip: float, moving_heel: float, still_heel: float, end_play: float
) -> list[str]:
    def mm(size: float) -> str:
        return show(abs(size), "mm")

    tests = (
        (moving_lip <= 0.0, f"sliding lip stands off by {mm(moving_lip)}: it leaks"),
        (still_lip <= 0.0, f"standing lip stands off by {mm(still_lip)}: it leaks"),
        (moving_heel > 0.0, f"heel drags where it slides, by {mm(moving_heel)}"),
        (still_heel <= 0.0, f"heel is loose where it stands, by {mm(still_heel)}"),
        (end_play <= 0.0, f"gland is {mm(end_play)} too short: the cup cannot open"),
    )
    return [f"{text} ({_PRACTICE})" for found, text in tests if found]
