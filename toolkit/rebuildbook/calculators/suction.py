"""Whether the fluid follows the plunger: what the suction line leaves of the pressure at hand.

Heads are in metres of the fluid pumped. The line is taken from the free surface of the supply, or
from a damper or standpipe that stands close to the pump: what lies behind a good damper does not
pulse. Friction is that of a Newtonian fluid; a slip or a glaze that thins under shear takes its
viscosity at the shear rate of the pipe.

References
----------
1. Hydraulic Institute, reciprocating pumps: acceleration head h = L v n C/(K g). The form, and the
   factors C, read in a public account; the factors K from memory.
2. Rigid column: h = (Σ L/A)/g dQ/dt, Newton's second law for the fluid in the line.
3. Friction: Darcy-Weisbach; 64/Re laminar, Colebrook-White turbulent. F. M. White, Fluid Mechanics
   (from memory).
4. NPSH: absolute head above the vapour pressure at the pump's inlet, ISO 17769-1 (from memory).
5. A margin over the required NPSH is common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import brentq

from rebuildbook.calculators.ball_check import GRAVITY
from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.calculators.drive import ATMOSPHERE, piston_area
from rebuildbook.calculators.pump_flow import STEPS, StrokeFlow, flow_at
from rebuildbook.calculators.stroke_motion import CrankMotion, Floats
from rebuildbook.units import quantities

PumpKind = Literal[
    "simplex single-acting", "simplex double-acting", "duplex single-acting",
    "duplex double-acting", "triplex", "quintuplex", "septuplex", "nonuplex",
]  # fmt: skip

PUMP_FACTORS: dict[PumpKind, float] = {  # [1], the rate in turns a minute
    "simplex single-acting": 0.400,
    "simplex double-acting": 0.200,
    "duplex single-acting": 0.200,
    "duplex double-acting": 0.115,
    "triplex": 0.066,
    "quintuplex": 0.040,
    "septuplex": 0.028,
    "nonuplex": 0.022,
}
FLUID_FACTORS = {  # [1], how much the fluid gives; the stiffest takes the most head
    "water without air": 1.4,
    "water, glycol": 1.5,
    "most hydrocarbons": 2.0,
    "hot oil, light hydrocarbons": 2.5,
}
LAMINAR = 2300.0  # Reynolds number up to which a pipe is taken as laminar


@quantities("m", length="m", velocity="m/s", rate="1/s", pump_factor="", fluid_factor="")
def acceleration_head(
    length: Any, velocity: Any, rate: Any, pump_factor: Any, fluid_factor: Any = 1.4
) -> Any:
    """Head that the pulse of the flow takes in a suction line, h = L v n C/(K g) (m) [1].

    ``length`` L (m) as built, not the equivalent one; ``velocity`` v (m/s) at the mean flow,
    ``rate`` n (turns/s, put in as turns a minute), ``pump_factor`` C from ``PUMP_FACTORS``,
    ``fluid_factor`` K from ``FLUID_FACTORS``. Meant for short stiff lines, up to some 15 m; a
    longer one answers as an elastic column and needs a damper or a surge study.

    >>> head = acceleration_head("4 ft", "1.84 ft/s", "360 rpm", 0.066, 1.4)
    >>> round(head.to("ft").magnitude, 2)
    3.88
    """
    turns_a_minute = 60.0 * not_negative("rate", rate)
    moved = not_negative("length", length) * not_negative("velocity", velocity) * turns_a_minute
    factor = positive("pump factor", pump_factor) / positive("fluid factor", fluid_factor)
    return moved * factor / GRAVITY


@quantities("", reynolds="", relative_roughness="")
def friction_factor(reynolds: Any, relative_roughness: Any = 0.0) -> Any:
    """Darcy's factor: 64/Re up to Re = 2300, Colebrook-White above [3].

    1/√f = −2 log10(ε/3.7 + 2.51/(Re √f)); ``relative_roughness`` ε is roughness over bore, 0 to
    0.05. The factor jumps up at 2300, which is the safe side of an uncertain stretch.

    >>> print(f"{friction_factor.si(1000.0):.3f} {friction_factor.si(1e5, 1e-3):.4f}")
    0.064 0.0222
    """
    re = np.asarray(positive("Reynolds number", reynolds), dtype=float)
    rough = within("relative roughness", relative_roughness, 0.0, 0.05)
    turbulent = np.maximum(re, LAMINAR)
    inverse = 8.0 * np.ones_like(turbulent + rough)  # 1/√f
    for _ in range(30):  # each round wins most of a digit at the least
        inverse = -2.0 * np.log10(rough / 3.7 + 2.51 * inverse / turbulent)
    return np.where(re <= LAMINAR, 64.0 / re, inverse**-2.0)[()]


@quantities(
    "m", velocity="m/s", length="m", bore="m", density="kg/m^3", viscosity="Pa*s",
    roughness="m", fittings="",
)  # fmt: skip
def friction_head(
    velocity: Any,
    length: Any,
    bore: Any,
    density: Any,
    viscosity: Any,
    roughness: Any = 0.0,
    fittings: Any = 0.0,
) -> Any:
    """Friction head of a pipe, h = (f L/D + ΣK) v²/(2g) (m) [3].

    ``velocity`` v (m/s), ``length`` L and ``bore`` D (m), ``density`` (kg/m³) and dynamic
    ``viscosity`` (Pa·s) of the fluid, ``roughness`` (m), ``fittings`` ΣK of bends, valves, strainer
    and entry.

    >>> head = friction_head("0.5 m/s", "3 m", "50 mm", "1000 kg/m^3", "0.1 Pa*s")
    >>> print(f'{head.to("mm").magnitude:.1f}')
    195.8
    """
    speed = not_negative("velocity", velocity)
    thinness = positive("density", density) / positive("viscosity", viscosity)
    reynolds = thinness * speed * positive("bore", bore)
    factor = friction_factor.si(np.maximum(reynolds, 1e-12), roughness / bore)
    loss = factor * not_negative("length", length) / bore + not_negative("fittings", fittings)
    return loss * speed**2 / (2.0 * GRAVITY)


@quantities(
    "m", surface_pressure="Pa", vapour_pressure="Pa", density="kg/m^3", static_head="m",
    losses="m",
)  # fmt: skip
def npsh_available(
    surface_pressure: Any, vapour_pressure: Any, density: Any, static_head: Any, losses: Any = 0.0
) -> Any:
    """NPSH at the pump's inlet, (p − pv)/(ρ g) + z − h (m) [4].

    ``surface_pressure`` p and ``vapour_pressure`` pv (Pa absolute), ``density`` ρ (kg/m³),
    ``static_head`` z (m) of the supply's surface over the inlet, below zero for a lift, ``losses``
    h (m): friction, acceleration and what else takes pressure before the inlet.

    >>> water = npsh_available("101.325 kPa", "2.34 kPa", "998 kg/m^3", "-3 m", "1.2 m")
    >>> round(water.to("m").magnitude, 2)
    5.91
    """
    pressure = not_negative("surface pressure", surface_pressure) - not_negative(
        "vapour pressure", vapour_pressure
    )
    return pressure / (positive("density", density) * GRAVITY) + static_head - losses


@dataclass(frozen=True, slots=True)
class PipeSection:
    """A run of one bore: ``length``, ``bore`` and ``roughness`` in m, ``fittings`` ΣK."""

    length: float
    bore: float
    roughness: float = 45e-6  # new commercial steel; hose and plastic pipe are smooth
    fittings: float = 0.0

    def __post_init__(self) -> None:
        not_negative("length", self.length)
        positive("bore", self.bore)
        not_negative("fittings", self.fittings)
        within("roughness over bore", self.roughness / self.bore, 0.0, 0.05)

    @property
    def area(self) -> float:
        """Section of the bore, m²."""
        return float(piston_area.si(self.bore))


@dataclass(frozen=True, slots=True)
class Heads:
    """The account of a suction side, all m of the fluid; ``margin`` below zero: it starves."""

    surface: float
    vapour: float
    static: float
    friction: float
    acceleration: float
    check: float
    required: float

    @property
    def available(self) -> float:
        """NPSH that is left for the pump."""
        gained = self.surface - self.vapour + self.static
        return gained - self.friction - self.acceleration - self.check

    @property
    def margin(self) -> float:
        """Available less required."""
        return self.available - self.required


@dataclass(frozen=True, slots=True)
class SuctionSide:
    """A suction side as built; m, kg/m³, Pa·s, pressures Pa absolute, ``required`` NPSH m.

    ``static_head`` is below zero for a lift. ``check_loss`` (Pa) is what opens the inlet check and
    holds it open, its cracking pressure or more; leave it 0 where the maker's required NPSH
    counts the valves, as it does by definition for a whole pump.
    """

    sections: tuple[PipeSection, ...]
    density: float
    viscosity: float
    vapour_pressure: float
    static_head: float
    surface_pressure: float = ATMOSPHERE
    check_loss: float = 0.0
    required: float = 0.0

    def __post_init__(self) -> None:
        positive("density", self.density)
        positive("viscosity", self.viscosity)
        for name in ("vapour_pressure", "surface_pressure", "check_loss", "required"):
            not_negative(name.replace("_", " "), getattr(self, name))
        within("static head", self.static_head, -1000.0, 1000.0)

    def friction(self, flow: Any) -> Any:
        """Friction head of all sections at ``flow`` (m³/s), m."""
        heads = [
            friction_head.si(
                flow / part.area, part.length, part.bore, self.density, self.viscosity,
                part.roughness, part.fittings,
            )
            for part in self.sections
        ]  # fmt: skip
        return sum(heads) if heads else 0.0 * flow

    def heads(
        self,
        flow: float,
        rate: float,
        pump_factor: float,
        fluid_factor: float = 1.4,
        peak_factor: float = 1.0,
    ) -> Heads:
        """The account at mean ``flow`` (m³/s) and ``rate`` (turns/s), by the factors of [1].

        ``peak_factor`` sets the friction at so many times the mean flow, as ``pulsation`` gives it
        for the flow drawn. The peaks of friction and acceleration come at different instants, so
        that with it the sum is on the safe side; ``drop_by_motion`` adds them as they come.
        """
        head = 1.0 / (self.density * GRAVITY)
        pulse = [
            acceleration_head.si(part.length, flow / part.area, rate, pump_factor, fluid_factor)
            for part in self.sections
        ]
        return Heads(
            surface=self.surface_pressure * head,
            vapour=self.vapour_pressure * head,
            static=self.static_head,
            friction=float(self.friction(flow * positive("peak factor", peak_factor))),
            acceleration=float(math.fsum(pulse)),
            check=self.check_loss * head,
            required=self.required,
        )


def largest_rate(
    side: SuctionSide,
    displacement: float,
    pump_factor: float,
    fluid_factor: float = 1.4,
    peak_factor: float = 1.0,
    margin: float = 0.0,
) -> float:
    """Rate (turns/s) at which the margin comes down to ``margin`` (m) [5].

    Infinite where it never does. ``displacement`` m³ a turn. The required NPSH is held as given,
    though it rises with the rate. Raises ValueError where even a pump at rest has less.
    """
    volume = float(positive("displacement", displacement))

    def surplus(rate: float) -> float:
        found = side.heads(volume * rate, rate, pump_factor, fluid_factor, peak_factor)
        return found.margin - margin

    if surplus(0.0) < 0.0:
        raise ValueError(
            f"at rest the margin is {surplus(0.0) + margin:.3g} m; {margin:g} m is out of reach"
        )
    high = 1.0
    while surplus(high) > 0.0:
        high *= 2.0
        if high > 1e4:
            return math.inf
    return float(brentq(surplus, 0.0, high, xtol=1e-9))  # type: ignore[no-untyped-call]


# from the crank itself


def flow_rise(pump: StrokeFlow, motion: CrankMotion, rate: float, phase: ArrayLike) -> Floats:
    """How fast the flow drawn rises at each ``phase`` (parts of a cycle), dQ/dt, m³/s².

    An air motor's flow starts at once: its rise is set by the line and not by the motor, so only a
    crank is taken.
    """
    at = np.asarray(phase, dtype=float)
    rise = np.zeros_like(at)
    for chamber in pump.chambers:
        up, down = motion.rises(at - chamber.lag)
        rise = rise + chamber.drawn_up * up + chamber.drawn_down * down
    return rise * float(positive("rate", rate)) ** 2


def _begun() -> Floats:
    """Phases of a cycle, each a hair late, so that a stroke that begins there has begun."""
    return np.arange(STEPS) / STEPS + 1e-9


def crank_factor(pump: StrokeFlow, motion: CrankMotion) -> float:
    """The factor C of [1] worked from the crank: peak dQ/dt over Q n, n in turns a minute.

    It goes with K = 1, a fluid that does not give.

    >>> from rebuildbook.calculators.pump_flow import plungers
    >>> round(crank_factor(plungers(0.03, 0.04, 3), CrankMotion(1 / 5)), 3)
    0.066
    """
    return float(flow_rise(pump, motion, 1.0, _begun()).max()) / pump.displacement / 60.0


def inertance(sections: Sequence[PipeSection]) -> float:
    """Σ L/A of a line, 1/m: times ρ dQ/dt it is a pressure [2]."""
    return math.fsum(part.length / part.area for part in sections)


def acceleration_head_by_motion(
    sections: Sequence[PipeSection], pump: StrokeFlow, motion: CrankMotion, rate: float
) -> float:
    """Peak acceleration head of a rigid column, h = (Σ L/A)/g dQ/dt, m [2]; ``rate`` turns/s."""
    return inertance(sections) * float(flow_rise(pump, motion, rate, _begun()).max()) / GRAVITY


def drop_by_motion(side: SuctionSide, pump: StrokeFlow, motion: CrankMotion, rate: float) -> Floats:
    """Head the line takes over a cycle, friction and acceleration as they come, m [2].

    At even phases from 0 up to not 1. Below zero where the column slows and pushes. The largest
    goes with ``npsh_available``.
    """
    phase = _begun()
    flow = flow_at(pump, motion, rate, phase, "drawn").total
    friction = np.asarray(side.friction(flow), dtype=float)
    return friction + inertance(side.sections) / GRAVITY * flow_rise(pump, motion, rate, phase)
