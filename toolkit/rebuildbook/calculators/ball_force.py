"""What a stream does to the ball of a check: pressure loss of the gap, force on the ball.

The flow through the gap is Qg = Q − As v, the piston's less what the moving ball makes room for
(As: area of the contact circle, v: the ball's speed, both counted positive opening) [1].

**Loss of the gap**: Δp = ρ/2 (Qg/(Cd Ag))² + 2 (l/h) τ(6 u/h). The first term is the lost head of
the jet; the second the friction of a narrow gap, u = Qg/Ag its mean speed, h = Ag/(π dc) its width,
τ the stress of the fluid's flow curve. The working length is that of a slit in a thin wall,
8 h/(3π) [2], and that of the walls that stand opposite, ∫ (h/h(s))³ ds [3].

**Force of the gap**: a balance of momentum over the bore, with the jet leaving along the seat at
the angle φ to the axis, cos φ = dc/D, and Bernoulli's law down to the jet [4]:

    F = ρ/2 Q²/As (y² − 2 y cos φ + 1) = ρ/2 Q²/As [(y − cos φ)² + sin²φ],  y = As/(Cd Ag).

The first square is the throttling: it is As Δp in a narrow gap and ends where the gap is no longer
narrower than the jet. The rest, sin²φ, is the turning of the stream, the same at any lift; in its
place stands the drag of a free ball, C_D ρ/2 w² π/4 D² (`ball_drag`), w the speed of the stream
past the ball. So the force goes over from As Δp on the seat to free drag far from it; the cost is a
share of 1/y² in a narrow gap. Friction of the gap acts as pressure, with As.

**Stream**: with a guide, w is the speed in the ring round the ball, relative to the ball; without,
that of the jet out of the bore. A guide loses one velocity head of its ring.

References
----------
1. Westphal's correction of the continuity of pump valves, 1893 (from memory).
2. Creeping flow through a slit in a thin wall, H. Hasimoto 1958: u = π h Δp/(32 μ) (from memory);
   added to Poiseuille's as Dagan, Weinbaum and Pfeffer add both for a short pore (from memory).
3. Reynolds' theory of lubrication between a cylinder and a plane, h(s) = h + s²/2R.
4. H. E. Merritt, Hydraulic Control Systems, flow forces on poppets, for the momentum of the jet
   (from memory); the square is completed here.
5. Discharge coefficient of 0.6 to 0.8 for ball checks: common practice, no source.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

from rebuildbook.calculators.ball_check import BallCheck, ball_mass
from rebuildbook.calculators.ball_drag import sphere_drag
from rebuildbook.calculators.ball_lift import guide_area, lift_area
from rebuildbook.calculators.ball_seat import FINISH_GAP, Seat, sealing_area, seat_contact
from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.calculators.flow_curve import Fluid

DISCHARGE = 0.7
SHUT = 2.0 * FINISH_GAP  # m; the finish of ball and seat: a ball this near its seat is on it
# 1/s; a fluid sheared slower than this creeps with a fixed viscosity: far below the rates at which
# a gap is sheared (10³ to 10⁶) and a ball that moves (1 to 10³)
_CREEP_OF_GAP = 10.0
_CREEP_ROUND_BALL = 0.1
_NODES = 257
_THIN_WALL = 8.0 / (3.0 * math.pi)


@dataclass(frozen=True, slots=True)
class GapFlow:
    """What a flow does at one lift: ``loss`` of pressure, Pa, ``gap_force`` and ``drag`` on the
    ball, N, positive opening."""

    loss: float
    gap_force: float
    drag: float

    @property
    def force(self) -> float:
        """Force of the fluid on the ball, N."""
        return self.gap_force + self.drag


class BallStream:
    """The stream round the ball of one check, made ready for many evaluations.

    ``check`` as mounted, ``fluid`` its flow curve (density is the check's), ``discharge`` the
    coefficient Cd of its gap, ``added_mass`` the share of the displaced fluid that moves with the
    ball: ½ in wide fluid, more in a close guide.

    Raises ValueError for a ball that nothing brings home, and for a check without fluid.
    """

    def __init__(
        self,
        check: BallCheck,
        fluid: Fluid,
        discharge: float = DISCHARGE,
        added_mass: float = 0.5,
    ) -> None:
        positive("fluid density, kg/m³,", check.fluid_density)
        within("discharge coefficient", positive("discharge coefficient", discharge), 0.0, 1.0)
        not_negative("added mass share", added_mass)
        _comes_home(check)
        contact = seat_contact(check.ball, check.seat)
        self.density = check.fluid_density
        self.yield_stress, self.consistency, self.index = fluid.curve
        self._newtonian = self.index == 1.0 and self.yield_stress == 0.0
        self.discharge = discharge
        self.diameter = check.ball
        self.circle = contact.circle
        self._perimeter = math.pi * contact.circle
        self.radius, self.half_face = contact.radius, contact.face / 2.0
        self.area = float(sealing_area.si(contact.circle))
        self.ball_area = float(sealing_area.si(check.ball))
        self.along = contact.circle / check.ball  # cos φ
        if check.guide is None:
            self.ring = float(sealing_area.si(check.seat.bore))
            self.blocked, self.carried, self.guided = 0.0, self.ring, False
        else:
            self.ring = float(guide_area.si(check.ball, check.guide, check.guide_open_share))
            positive("open way past the ball in its guide, m²,", self.ring)
            self.blocked, self.guided = self.ball_area, True
            self.carried = self.ring + self.ball_area
        self.stop = check.lift
        if not self.stop > 10.0 * SHUT:
            raise ValueError(f"a lift of {self.stop * 1e6:g} µm; the ball has no room to move")
        self._step, self._pieces = _tabulated(check.ball, check.seat, self.stop)
        self.spring_rate = check.spring_rate
        self.rest_force = check.seating_force
        self.weight = check.weight * math.cos(check.tilt)
        self.spring_force = check.spring_force
        mass = check.mass
        if mass is None:
            mass = float(ball_mass.si(check.ball, check.ball_material.density, check.cavity))
        displaced = self.density * math.pi / 6.0 * check.ball**3
        self.inertia = mass + added_mass * displaced

    def throat(self, lift: float) -> float:
        """Give the throat, m², at a ``lift``, m, from SHUT to the stop."""
        piece = min(int(lift / self._step), _NODES - 2)
        a, b, c, d = self._pieces[piece]
        along = lift - piece * self._step
        return lift * (((a * along + b) * along + c) * along + d)

    def back_force(self, lift: float) -> float:
        """Give the force toward the seat without flow, N: weight, spring and its rate × lift."""
        return self.rest_force + self.spring_rate * lift

    def stress(self, rate: float, creep: float) -> float:
        """Give the stress, Pa, with the sign of ``rate``, 1/s; slow creep below ``creep``, 1/s."""
        if self._newtonian:
            return self.consistency * rate
        steady = math.sqrt(rate * rate + creep * creep)
        level: float = self.yield_stress + self.consistency * steady**self.index
        return level * rate / steady

    def at(self, flow: float, lift: float, speed: float) -> tuple[float, float, float]:
        """Give loss, Pa, force of the gap, N, and drag, N, at a piston's ``flow``, m³/s."""
        lift = max(lift, SHUT / 2.0)  # an integrator may look past the seat
        area, density = self.area, self.density
        through = flow - area * speed
        throat = self.throat(lift)
        gap = throat / self._perimeter
        rate = 6.0 * through / (throat * gap)
        length = self._length(gap)
        if self._newtonian:
            rub = 2.0 * length / gap * (self.consistency * rate)
        else:
            rub = 2.0 * length / gap * self.stress(rate, _CREEP_OF_GAP)
        head = 0.5 * density * through * abs(through)
        jet = self.discharge * throat
        squeeze = max(area / jet - self.along, 0.0)
        loss = head / (jet * jet) + rub
        if self.guided:
            past = (flow - self.blocked * speed) / self.ring
            loss += 0.5 * density * past * abs(past)
        force = head * squeeze * squeeze / area + rub * area
        return loss, force, self._drag((flow - self.carried * speed) / self.ring)

    def _length(self, gap: float) -> float:
        """Give the working length of the gap, m: thin wall and opposite walls."""
        if math.isinf(self.radius):
            return _THIN_WALL * gap + 2.0 * self.half_face
        scale = math.sqrt(2.0 * self.radius * gap)
        end = self.half_face / scale
        if math.isinf(end):
            part = 3.0 * math.pi / 16.0
        else:
            part = (end / (1.0 + end * end) ** 2 / 4.0) + (
                3.0 / 8.0 * (end / (1.0 + end * end) + math.atan(end))
            )
        return _THIN_WALL * gap + 2.0 * scale * part

    def _drag(self, past: float) -> float:
        if past == 0.0:
            return 0.0
        stress = abs(self.stress(past / self.diameter, _CREEP_ROUND_BALL))
        square = self.density * past * past
        pull = sphere_drag(square / stress) * square / 2.0 * self.ball_area
        return math.copysign(pull, past)


@functools.lru_cache(maxsize=64)
def _tabulated(ball: float, seat: Seat, stop: float) -> tuple[float, list[list[float]]]:
    """Keep the throat over the lift as a spline of area/lift: smooth, true near the seat.

    Gives the step of the lift, m, and the pieces; made once for a ball in whatever fluid.
    """
    lifts = np.linspace(0.0, 1.02 * stop, _NODES)
    lifts[0] = SHUT / 10.0
    slopes = [lift_area(ball, seat, lift) / lift for lift in lifts]
    lifts[0] = 0.0
    spline: Any = CubicSpline(lifts, slopes)  # type: ignore[no-untyped-call]
    return float(lifts[1]), spline.c.T.tolist()


def _comes_home(check: BallCheck) -> None:
    force = check.seating_force
    if force > 0.0:
        return
    if check.weight < 0.0:
        raise ValueError(
            f"the ball floats: it weighs {check.weight:.3g} N in a fluid of "
            f"{check.fluid_density:g} kg/m³, and its spring of {check.spring_force:.3g} N does not "
            "bring it home; take a heavier ball or a stronger spring"
        )
    raise ValueError(
        f"nothing brings the ball home: {force:.3g} N toward the seat at a tilt of "
        f"{math.degrees(check.tilt):.0f}°; mount it upright or give it a spring"
    )


def flow_at_lift(
    flow: float, lift: float, check: BallCheck, fluid: Fluid, discharge: float = DISCHARGE
) -> GapFlow:
    """Give loss and forces of a steady ``flow``, m³/s, past a ball held still at ``lift``, m."""
    within("lift, m,", lift, SHUT, check.lift)
    return GapFlow(*BallStream(check, fluid, discharge).at(flow, lift, 0.0))


def pressure_loss_at_lift(
    flow: float, lift: float, check: BallCheck, fluid: Fluid, discharge: float = DISCHARGE
) -> float:
    """Give the pressure loss, Pa, of a steady ``flow``, m³/s, with the ball at ``lift``, m.

    >>> from rebuildbook.calculators.ball_seat import ConeSeat
    >>> from rebuildbook.calculators.materials import material
    >>> from rebuildbook.calculators.flow_curve import Newtonian
    >>> steel = material("316")
    >>> check = BallCheck(ball=0.025, ball_material=steel, lift=0.006, closing_pressure=1e6,
    ...     seat=ConeSeat(0.016, 0.022, math.pi / 2), seat_material=steel, fluid_density=998.0)
    >>> loss = pressure_loss_at_lift(2.0e-4, 0.004, check, Newtonian(1e-9))
    >>> print(f"{loss:.0f}")  # ρ/2 (200 cm³/s / (0.7 × 174.9 mm²))²
    1332
    """
    return flow_at_lift(flow, lift, check, fluid, discharge).loss


def steady_lift(flow: float, check: BallCheck, fluid: Fluid, discharge: float = DISCHARGE) -> float:
    """Give the lift, m, at which a steady ``flow``, m³/s, carries the ball; at most its stop.

    Zero where the flow leaks through a gap within the finish of the seat.
    """
    not_negative("flow, m³/s,", flow)
    stream = BallStream(check, fluid, discharge)

    def surplus(lift: float) -> float:
        _, gap, drag = stream.at(flow, lift, 0.0)
        return gap + drag - stream.back_force(lift)

    if surplus(SHUT) <= 0.0:
        return 0.0
    if surplus(stream.stop) >= 0.0:
        return stream.stop
    return float(brentq(surplus, SHUT, stream.stop, xtol=1e-12))  # type: ignore[no-untyped-call]
