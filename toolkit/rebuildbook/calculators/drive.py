"""What a reciprocating pump displaces, and how hard its drive can push.

Sign and side: pressures are gauge, the up-stroke draws the rod into the drive, the down-stroke
pushes it out. Inlet pressure is left out; a boosted inlet adds to the stall pressure.

Sources: [1] N. J. Lapeyrouse, Formulas and Calculations for Drilling, Production and Workover,
pump output (read in a public account). [2] A. Esposito, Fluid Power with Applications, chapters
7 and 13 (worked solutions read in a public textbook companion). [3] I. J. Karassik et al., Pump
Handbook, power pumps, and Hydraulic Institute, reciprocating pumps: flow variation (from memory).
[4] Slider-crank kinematics, any textbook on mechanisms.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from rebuildbook.units import quantities

Stroke = Literal["up-stroke", "down-stroke", "both strokes", "any"]

ATMOSPHERE = 101_325.0  # Pa, standard atmosphere
ROOM = 293.15  # K, the 20 °C that normal litres are counted at
_ANGLES = 7200  # steps a turn; the error of a smooth peak is below 1e-6


@quantities("m^2", diameter="m")
def piston_area(diameter: Any) -> Any:
    """Area of a piston or plunger, A = π D²/4 (m²), ``diameter`` D (m).

    >>> round(piston_area("100 mm").to("cm^2").magnitude, 2)
    78.54
    """
    return math.pi / 4.0 * _positive("piston diameter", diameter) ** 2


@quantities("m^2", bore="m", rod="m")
def annulus_area(bore: Any, rod: Any) -> Any:
    """Area of a piston on its rod side, A = π (D² − d²)/4 (m²).

    ``bore`` D (m), ``rod`` d (m). Raises ValueError when the rod is not smaller than the bore.

    >>> round(annulus_area("100 mm", "50 mm").to("cm^2").magnitude, 2)
    58.9
    """
    _check_rod(rod, bore)
    return math.pi / 4.0 * (bore**2 - rod**2)


@quantities("m^3", bore="m", stroke="m")
def single_acting_displacement(bore: Any, stroke: Any, count: int = 1) -> Any:
    """Volume a cycle of single-acting pistons or plungers, V = n π/4 D² L (m³) [1].

    ``bore`` D (m) is the cylinder of a piston and the plunger of a plunger pump, ``stroke`` L
    (m), ``count`` n pistons or plungers: 1 simplex, 2 duplex, 3 triplex.

    >>> triplex = single_acting_displacement("6 in", "12 in", 3)  # [1]: 0.104976 bbl
    >>> round(triplex.to("oil_barrel").magnitude, 3)
    0.105
    """
    return _count(count) * piston_area.si(bore) * _positive("stroke", stroke)


@quantities("m^3", bore="m", rod="m", stroke="m", tail_rod="m")
def double_acting_displacement(
    bore: Any, rod: Any, stroke: Any, tail_rod: Any = 0.0, count: int = 1
) -> Any:
    """Volume a cycle of double-acting pistons, V = n π/4 L (2D² − d² − t²) (m³) [1].

    ``bore`` D (m), ``rod`` d (m) through one side, ``stroke`` L (m), ``tail_rod`` t (m) through
    the other side, ``count`` n pistons. Raises ValueError for a rod not smaller than the bore.

    >>> duplex = double_acting_displacement("6 in", "2 in", "12 in", count=2)  # [1]: 0.13219 bbl
    >>> round(duplex.to("oil_barrel").magnitude, 3)
    0.132
    """
    areas = annulus_area.si(bore, rod) + annulus_area.si(bore, tail_rod)
    return _count(count) * areas * _positive("stroke", stroke)


@quantities("m^3", bore="m", stroke="m")
def differential_displacement(bore: Any, stroke: Any) -> Any:
    """Volume a cycle of a differential (two-ball) piston, V = π/4 D² L (m³).

    The pump draws on the up-stroke only. The up-stroke delivers π/4 (D² − d²) L past the rod,
    the down-stroke π/4 d² L, the volume of rod that enters; the rod d cancels from the sum, and
    at d = D/√2 both strokes deliver alike. ``bore`` D (m), ``stroke`` L (m).

    >>> round(differential_displacement("100 mm", "120 mm").to("mL").magnitude, 1)
    942.5
    """
    return piston_area.si(bore) * _positive("stroke", stroke)


@quantities("m^3", effective_area="m^2", stroke="m")
def diaphragm_displacement(effective_area: Any, stroke: Any, chambers: int = 2) -> Any:
    """Volume a cycle of a diaphragm pump, V = n A L (m³).

    ``effective_area`` A (m²) is less than the area clamped, as the rim of a diaphragm moves
    little; ``stroke`` L (m), ``chambers`` n. A volume the maker gives is better than this one.

    >>> round(diaphragm_displacement("200 cm^2", "40 mm").to("L").magnitude, 6)
    1.6
    """
    area = _positive("effective area", effective_area)
    return _count(chambers) * area * _positive("stroke", stroke)


@quantities("m^3/s", displacement="m^3", rate="1/s", volumetric_efficiency="")
def delivered_flow(displacement: Any, rate: Any, volumetric_efficiency: Any = 1.0) -> Any:
    """Mean flow, Q = V n η (m³/s).

    ``displacement`` V (m³ a cycle), ``rate`` n (cycles/s), ``volumetric_efficiency`` η above 0 up
    to 1: what slip and compression leave. For a relief valve use 1, the most that can come.

    >>> round(delivered_flow("1.2 L", "40 cycles/min", 0.95).to("L/min").magnitude, 6)
    45.6
    """
    efficiency = _efficiency("volumetric efficiency", volumetric_efficiency)
    return _positive("displacement", displacement) * _not_negative("rate", rate) * efficiency


@dataclass(frozen=True, slots=True)
class StrokeAreas:
    """Areas under pressure on each stroke, m²; zero on a stroke that does not push.

    The same shape serves the fluid end and the air or oil motor that drives it.
    """

    up: float
    down: float

    def __post_init__(self) -> None:
        if min(self.up, self.down) < 0.0 or max(self.up, self.down) == 0.0:
            raise ValueError(
                f"areas of {self.up} and {self.down} m²; one must be above zero and none below"
            )

    def volumes(self, stroke: float) -> tuple[float, float]:
        """Volumes swept on the up-stroke and the down-stroke (m³) of length ``stroke`` (m)."""
        length = float(_positive("stroke", stroke))
        return self.up * length, self.down * length


def double_acting_areas(bore: float, rod: float) -> StrokeAreas:
    """Areas of a double-acting piston: the rod side pushes on the up-stroke; m in, m² out."""
    return StrokeAreas(float(annulus_area.si(bore, rod)), float(piston_area.si(bore)))


def differential_areas(bore: float, rod: float) -> StrokeAreas:
    """Areas of a differential piston: rod side on the up-stroke, the rod alone on the down-stroke.

    On the down-stroke the piston check is open and both faces see the outlet pressure, so the
    drive works against the rod's section only; m in, m² out.
    """
    return StrokeAreas(float(annulus_area.si(bore, rod)), float(piston_area.si(rod)))


def single_acting_areas(bore: float) -> StrokeAreas:
    """Areas of a single-acting piston or a plunger, which pushes on the down-stroke; m, m²."""
    return StrokeAreas(0.0, float(piston_area.si(bore)))


@quantities("Pa", supply_pressure="Pa", area_ratio="", friction="")
def driven_pressure(supply_pressure: Any, area_ratio: Any, friction: Any = 0.0) -> Any:
    """Pressure a piston drive holds at stall, p = ps i (1 − f) (Pa).

    ``supply_pressure`` ps (Pa) of air or oil, ``area_ratio`` i is drive area over fluid area (1
    for a double diaphragm pump), ``friction`` f the share of the drive force that seals and
    packing take, from 0 up to but not 1. Zero friction gives the most the drive can reach, which
    is the value to check strength and relief against.

    >>> round(driven_pressure("600 psi", (2.5 / 1.0) ** 2).to("psi").magnitude, 3)
    3750.0
    """
    if not np.all(np.greater_equal(friction, 0.0) & np.less(friction, 1.0)):
        raise ValueError(f"friction is {friction}; it must be from 0 up to but not 1")
    supply = _not_negative("supply pressure", supply_pressure)
    return supply * _positive("area ratio", area_ratio) * (1.0 - friction)


@quantities("Pa", torque="N*m", displacement="m^3", efficiency="", peak_factor="")
def crank_pressure(
    torque: Any,
    displacement: Any,
    efficiency: Any = 1.0,
    peak_factor: Any = 1.0,
) -> Any:
    """Pressure a crank drive holds at its stall torque, p = 2π T η/(V φ) (Pa) [2].

    ``torque`` T (N·m) at the crank: the motor's breakdown torque times the gear ratio.
    ``displacement`` V (m³ a turn), ``efficiency`` η mechanical, above 0 up to 1. ``peak_factor``
    φ = 1 gives the mean pressure over a turn, which a flywheel or a heavy rotor carries through:
    the higher figure, to be used when asking what the pump could reach. φ from
    ``flow_variation`` gives the pressure that torque alone can turn the crank against (for a
    simplex φ = π, p = T η/(r A)): the lower figure, to be used when asking whether it starts.
    Near dead centre a crank is a toggle and no torque limits it; where that matters take
    ``NOT_LIMITED``.

    >>> p = crank_pressure("1591.5 in*lbf", "10 in^3")  # [2] example 7-3: 1000 psi
    >>> round(p.to("psi").magnitude)
    1000
    """
    if not np.all(np.greater_equal(peak_factor, 1.0)):
        raise ValueError(f"peak factor is {peak_factor}; peak flow over mean flow is 1 or more")
    share = _efficiency("efficiency", efficiency)
    turn = _positive("displacement", displacement)
    return 2.0 * math.pi * _not_negative("torque", torque) * share / (turn * peak_factor)


@dataclass(frozen=True, slots=True)
class Stall:
    """The pressure at which the drive comes to a stop against a shut outlet, Pa gauge.

    ``stroke`` says where ``pressure`` is reached; ``up`` and ``down`` are the pressures of each
    stroke, None where that stroke does not push. Infinite means that the drive sets no limit.
    """

    pressure: float
    stroke: Stroke
    up: float | None = None
    down: float | None = None

    @property
    def limited(self) -> bool:
        """Whether the drive itself limits the pressure."""
        return math.isfinite(self.pressure)


NOT_LIMITED = Stall(math.inf, "any")
"""A positive-displacement pump whose drive does not stall: only a relief valve protects it."""


def stall_by_areas(
    supply_pressure: float, drive: StrokeAreas, fluid: StrokeAreas, friction: float = 0.0
) -> Stall:
    """Stall of an air or oil motor whose piston sits on the pump's own rod; Pa, larger stroke.

    >>> air = double_acting_areas(0.100, 0.020)
    >>> stall = stall_by_areas(6e5, air, double_acting_areas(0.050, 0.020))
    >>> stall.stroke, round(stall.up / 1e5, 2), round(stall.down / 1e5, 2)
    ('up-stroke', 27.43, 24.0)
    """
    up = _stroke_pressure(supply_pressure, drive.up, fluid.up, friction)
    down = _stroke_pressure(supply_pressure, drive.down, fluid.down, friction)
    if up is None and down is None:
        raise ValueError("the drive does not push on the stroke that the fluid end delivers on")
    highest = max(p for p in (up, down) if p is not None)
    if up is not None and down is not None and math.isclose(up, down, rel_tol=1e-12):
        return Stall(highest, "both strokes", up, down)
    return Stall(highest, "up-stroke" if up == highest else "down-stroke", up, down)


def stall_by_ratio(supply_pressure: float, area_ratio: float = 1.0, friction: float = 0.0) -> Stall:
    """Stall of a drive known by its ratio alone; 1 for a double diaphragm pump; Pa."""
    pressure = float(driven_pressure.si(supply_pressure, area_ratio, friction))
    return Stall(pressure, "both strokes", pressure, pressure)


def stall_by_torque(torque: float, displacement: float, efficiency: float = 1.0) -> Stall:
    """Stall of a crank drive from its largest torque (N·m) and the volume a turn (m³); Pa, mean."""
    return Stall(float(crank_pressure.si(torque, displacement, efficiency)), "any")


@dataclass(frozen=True, slots=True)
class FlowVariation:
    """Largest and least flow through a turn over the mean flow, plain numbers."""

    peak: float
    trough: float


def crank_flow(
    angle: Any, count: int = 1, rod_ratio: float = 0.0, return_share: float = 0.0
) -> Any:
    """Flow of a crank-driven pump at crank ``angle`` (rad) over its mean flow [4].

    Each plunger moves at ds/dα = r (sin α + λ sin 2α / (2 √(1 − λ² sin² α))) and delivers while
    this is positive; on the return it delivers ``return_share`` of that area: 0 single-acting,
    (D² − d²)/D² double-acting. ``rod_ratio`` λ is crank radius over connecting rod length, 0 for
    a long rod. ``count`` plungers stand 360°/n apart, double-acting ones 180°/n. An air-driven
    pump has no crank: it runs at a near constant speed with a dip at the change of stroke.

    >>> round(float(crank_flow(math.pi / 2)), 4)  # simplex at mid-stroke: π times the mean
    3.1416
    """
    if not 0.0 <= rod_ratio < 1.0:
        raise ValueError(f"rod ratio is {rod_ratio}; crank radius over rod is from 0 up to not 1")
    if not 0.0 <= return_share <= 1.0:
        raise ValueError(f"return share is {return_share}; it must be from 0 to 1")
    apart = (math.pi if return_share > 0.0 else 2.0 * math.pi) / _count(count)
    turn = np.asarray(angle, dtype=float)[..., np.newaxis] + apart * np.arange(count)
    slant = np.sqrt(1.0 - (rod_ratio * np.sin(turn)) ** 2)
    speed = np.sin(turn) + rod_ratio * np.sin(2.0 * turn) / (2.0 * slant)
    flow = np.where(speed > 0.0, speed, -return_share * speed).sum(axis=-1)
    return flow * math.pi / (count * (1.0 + return_share))


def flow_variation(
    count: int = 1, rod_ratio: float = 0.0, return_share: float = 0.0
) -> FlowVariation:
    """Largest and least flow of a crank-driven pump over its mean; parameters of ``crank_flow``.

    >>> triplex = flow_variation(3, rod_ratio=1 / 6)  # [3]: 6 % above, 17 % below the mean
    >>> round(triplex.peak, 2), round(triplex.trough, 2)
    (1.06, 0.83)
    """
    flow = crank_flow(np.linspace(0.0, 2.0 * math.pi, _ANGLES + 1), count, rod_ratio, return_share)
    return FlowVariation(float(flow.max()), float(flow.min()))


@quantities(
    "m^3", swept_volume="m^3", supply_pressure="Pa", atmospheric_pressure="Pa",
    air_temperature="K", reference_temperature="K",
)  # fmt: skip
def free_air(
    swept_volume: Any,
    supply_pressure: Any,
    atmospheric_pressure: Any = ATMOSPHERE,
    air_temperature: Any = ROOM,
    reference_temperature: Any = ROOM,
) -> Any:
    """Ideal air use of an air motor, V0 = V (p + p0)/p0 · T0/T (m³ of free air) [2].

    ``swept_volume`` V (m³) of the air pistons or diaphragms over a cycle, both strokes;
    ``supply_pressure`` p (Pa gauge), ``atmospheric_pressure`` p0 (Pa absolute), temperatures of
    the air in the motor T and of the free air T0 (K). Times the rate it is the flow. Leakage,
    dead volume and the changeover come on top.

    >>> stroke = single_acting_displacement("1.75 in", "6 in")  # [2] example 13-12: 1.91 scfm
    >>> air = free_air(stroke, "100 psi", "14.7 psi", "80 degF", "68 degF")
    >>> round(30 * air.to("ft^3").magnitude, 2)
    1.91
    """
    outside = _positive("atmospheric pressure", atmospheric_pressure)
    inside = _not_negative("supply pressure", supply_pressure) + outside
    cooling = _positive("reference temperature", reference_temperature) / _positive(
        "air temperature", air_temperature
    )
    return _positive("swept volume", swept_volume) * inside / outside * cooling


def _stroke_pressure(
    supply: float, drive_area: float, fluid_area: float, friction: float
) -> float | None:
    if drive_area == 0.0 or fluid_area == 0.0:
        return None
    return float(driven_pressure.si(supply, drive_area / fluid_area, friction))


def _positive(name: str, value: Any) -> Any:
    if not np.all(np.greater(value, 0.0) & np.isfinite(value)):
        raise ValueError(f"{name} is {value}; it must be above zero")
    return value


def _not_negative(name: str, value: Any) -> Any:
    if not np.all(np.greater_equal(value, 0.0) & np.isfinite(value)):
        raise ValueError(f"{name} is {value}; it must be zero or above")
    return value


def _efficiency(name: str, value: Any) -> Any:
    if not np.all(np.greater(value, 0.0) & np.less_equal(value, 1.0)):
        raise ValueError(f"{name} is {value}; it must be above 0 and at most 1")
    return value


def _check_rod(rod: Any, bore: Any) -> None:
    _positive("bore", bore)
    if not np.all(np.greater_equal(rod, 0.0) & np.less(rod, bore)):
        raise ValueError(f"rod of {rod} m in a bore of {bore} m; it must be smaller than the bore")


def _count(count: int) -> int:
    if count != int(count) or not 1 <= count <= 12:
        raise ValueError(f"count is {count}; give a whole number from 1 to 12")
    return int(count)
