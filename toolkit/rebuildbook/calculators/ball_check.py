"""A ball check valve: what seats the ball, what lifts it, and whether the seat bears it.

Along the axis of the seat, counted positive toward the seat, the ball feels its spring, its weight
in the fluid times the cosine of the mounting tilt, and the pressure difference over the sealed
area. The tilt is the angle between straight up and the way the ball moves when it opens.

References
----------
1. Equilibrium of the ball, Archimedes' principle: derived in the docstrings.
2. ``ball_seat`` and ``contact`` for the seat, ``ball_lift`` for the way through.
3. Inlet checks let flow toward the pump and outlet checks away from it, a seat's worked side faces
   the ball, a seal presses harder than the fluid it holds: common practice, no source.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any, Literal

import numpy as np

from rebuildbook.calculators.ball_lift import guide_area, lift_area, lift_needed
from rebuildbook.calculators.ball_seat import (
    Seat,
    SeatContact,
    SeatPressure,
    bedded_width,
    sealing_area,
    seat_contact,
    seat_pressure,
    wedges,
)
from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.calculators.contact import effective_modulus
from rebuildbook.calculators.materials import Material, contact_limit
from rebuildbook.units import quantities

GRAVITY = 9.80665  # m/s², standard value

Role = Literal["inlet", "outlet"]
Arrow = Literal["toward pump", "away from pump"]
Face = Literal["worked side to ball", "plain side to ball"]

OPENING_TILT = {"up": 0.0, "level": math.pi / 2, "down": math.pi}  # rad


@quantities("kg", ball="m", density="kg/m^3", cavity="m")
def ball_mass(ball: Any, density: Any, cavity: Any) -> Any:
    """Give the mass of a ball, π/6 (D³ − d³) ρ; ``cavity`` d is the hollow inside, 0 for solid.

    >>> ball_mass("25 mm", "8000 kg/m^3", "0 mm").to("g").magnitude
    65.44...
    """
    return math.pi / 6 * (ball**3 - cavity**3) * density


@quantities("N", mass="kg", ball="m", fluid_density="kg/m^3")
def submerged_weight(mass: Any, ball: Any, fluid_density: Any) -> Any:
    """Give the weight of a ball in a fluid, W = (m − ρf π/6 D³) g; negative where it floats [1].

    >>> submerged_weight("65.45 g", "25 mm", "1000 kg/m^3").magnitude
    0.5616...
    """
    return (mass - fluid_density * math.pi / 6 * ball**3) * GRAVITY


@quantities("N", weight="N", tilt="rad", spring="N")
def seating_force(weight: Any, tilt: Any, spring: Any) -> Any:
    """Give the force that holds the ball on its seat without pressure, N = F + W cos τ [1].

    ``tilt`` τ is 0 where the ball lifts straight up, 90° where it moves level, 180° where it hangs
    below its seat. Zero or less: the ball does not come home by itself.

    >>> print(f'{seating_force("0.56 N", "180 deg", "3 N").magnitude:.2f}')
    2.44
    """
    return spring + weight * np.cos(tilt)


@quantities("Pa", seating="N", circle="m")
def cracking_pressure(seating: Any, circle: Any) -> Any:
    """Give the pressure difference that lifts the ball, Δp = N/(π/4 dc²) [1].

    >>> cracking_pressure("3.56 N", "17.68 mm").to("mbar").magnitude
    145.0...
    """
    return seating / sealing_area.si(circle)


@quantities("", side_force="N", seating="N", angle="rad")
def side_ratio(side_force: Any, seating: Any, angle: Any) -> Any:
    """Give how unevenly a sideways weight loads the contact circle, 2 L/(N tan θ).

    With the line load q (1 + k cos φ) round the circle, the sideways share sin θ balances L and the
    axial share cos θ balances N, hence k = 2 L/(N tan θ). Above 1 the ball has left a part of its
    seat; from 2 on (without a spring: the tilt is θ) it rolls out of it.

    >>> print(f'{side_ratio("1 N", "2 N", "45 deg"):.2f}')
    1.00
    """
    return 2 * side_force / (seating * np.tan(angle))


@dataclass(frozen=True, slots=True)
class BallCheck:
    """One ball check as mounted; SI floats throughout.

    ``ball`` diameter, ``cavity`` and ``lift`` in m, ``spring_force`` on the seated ball in N (0: no
    spring), ``spring_rate`` in N/m, ``tilt`` in rad (0: opens upwards), ``fluid_density`` in kg/m³,
    ``closing_pressure`` the largest difference it shuts against, Pa. ``mass``, kg, goes before the
    material's density; ``guide``, m, is the diameter round the ball in its guide.
    """

    ball: float
    ball_material: Material
    seat: Seat
    seat_material: Material
    lift: float
    closing_pressure: float
    fluid_density: float
    spring_force: float = 0.0
    spring_rate: float = 0.0
    tilt: float = 0.0
    cavity: float = 0.0
    mass: float | None = None
    guide: float | None = None
    guide_open_share: float = 1.0

    def __post_init__(self) -> None:
        positive("ball diameter, m,", self.ball)
        positive("lift, m,", self.lift)
        for name in ("closing_pressure", "fluid_density", "spring_force", "spring_rate", "cavity"):
            not_negative(name.replace("_", " "), getattr(self, name))
        within("tilt, rad,", self.tilt, 0.0, math.pi)
        within("guide open share", self.guide_open_share, 0.0, 1.0)
        if self.mass is not None:
            positive("ball mass, kg,", self.mass)
        if self.cavity >= self.ball:
            raise ValueError(
                f"a hollow of {self.cavity:g} m does not fit a ball of {self.ball:g} m"
            )
        if self.guide is not None and not self.guide > self.ball:
            raise ValueError(
                f"a guide of {self.guide:g} m does not let a ball of {self.ball:g} m in"
            )

    @property
    def weight(self) -> float:
        """Weight of the ball in the fluid, N; negative where it floats."""
        mass = self.mass
        if mass is None:
            mass = float(ball_mass.si(self.ball, self.ball_material.density, self.cavity))
        return float(submerged_weight.si(mass, self.ball, self.fluid_density))

    @property
    def seating_force(self) -> float:
        """Force on the seat without pressure, N; exactly 0 for a level ball without a spring."""
        force = float(seating_force.si(self.weight, self.tilt, self.spring_force))
        return 0.0 if abs(force) <= 1e-9 * abs(self.weight) else force

    @property
    def cracking_pressure(self) -> float:
        """Pressure difference that lifts the ball, Pa; below zero where it opens by itself."""
        circle = seat_contact(self.ball, self.seat).circle
        return float(cracking_pressure.si(self.seating_force, circle))


@dataclass(frozen=True, slots=True)
class BallSeating:
    """What comes of a ball check; SI floats throughout.

    ``weight`` is that in the fluid, N, ``axial_weight`` and ``side_weight`` its shares along and
    across the axis; ``seating_force`` N; cracking pressures Pa. ``closes``: weight and spring bring
    the ball home. ``side_ratio`` above 1 means that the ball does not touch all round (infinite
    where it does not close). ``just_closed`` and ``at_pressure`` are the contact without and with
    the closing pressure. ``limit`` is the peak contact pressure, Pa, that the weaker of the two,
    ``limited_by``, takes (None: neither is known). ``sealing_ratio`` is the mean contact pressure
    over the fluid's. ``bedded_width``, m, is the land that the ball coins into an overloaded edge,
    0 where it does not. ``wedges``: the ball may stick in so steep a seat. ``flow_area`` is the
    throat at full lift, ``guide_area`` the way past the ball (None: no guide given), m²;
    ``lift_needed``, m, makes the throat as wide as the bore. ``open_force`` pushes the ball toward
    its seat at full lift, N.
    """

    contact: SeatContact
    sealing_area: float
    weight: float
    axial_weight: float
    side_weight: float
    seating_force: float
    cracking_pressure: float
    cracking_low: float
    cracking_high: float
    closes: bool
    side_ratio: float
    just_closed: SeatPressure
    at_pressure: SeatPressure
    limit: float | None
    limited_by: Literal["ball", "seat", ""]
    sealing_ratio: float
    bedded_width: float
    wedges: bool
    bore_area: float
    flow_area: float
    guide_area: float | None
    lift_needed: float
    open_force: float

    @property
    def peak_use(self) -> float | None:
        """Peak contact pressure at the closing pressure, as a share of the limit."""
        return None if self.limit is None else self.at_pressure.peak / self.limit


def assess_ball_check(
    check: BallCheck, tolerances: Mapping[str, tuple[float, float]] | None = None
) -> BallSeating:
    """Work out how a ball check seats, opens and bears.

    ``tolerances`` gives the lowest and highest value of any field of ``check`` that has a spread
    ("spring_force", "ball", "seat.bore" …); the cracking pressure is low and high over them.
    Raises ValueError for what cannot be built.

    A 25 mm ball of 316 in a 90° cone, 3 N of spring, in water, shut against 10 bar:

    >>> from rebuildbook.calculators.ball_seat import ConeSeat
    >>> from rebuildbook.calculators.materials import material
    >>> steel = material("316")
    >>> seating = assess_ball_check(BallCheck(
    ...     ball=0.025, ball_material=steel, seat=ConeSeat(0.016, 0.022, math.pi / 2),
    ...     seat_material=steel, lift=0.006, closing_pressure=1e6, fluid_density=998.0,
    ...     spring_force=3.0), {"spring_force": (2.7, 3.3)})
    >>> print(f"{seating.cracking_low / 100:.0f} to {seating.cracking_high / 100:.0f} mbar")
    133 to 157 mbar
    """
    contact = seat_contact(check.ball, check.seat)
    modulus = _modulus(check)
    area = float(sealing_area.si(contact.circle))
    seating, weight = check.seating_force, check.weight
    side = abs(weight) * math.sin(check.tilt)
    closes = seating > 0.0
    pressed = max(seating + check.closing_pressure * area, 0.0)
    at_pressure = seat_pressure(contact, pressed, modulus)
    limit, limited_by = _limit(check)
    low, high = cracking_range(check, tolerances or {})
    bore_area = float(sealing_area.si(check.seat.bore))
    return BallSeating(
        contact=contact,
        sealing_area=area,
        weight=weight,
        axial_weight=weight * math.cos(check.tilt),
        side_weight=side,
        seating_force=seating,
        cracking_pressure=check.cracking_pressure,
        cracking_low=low,
        cracking_high=high,
        closes=closes,
        side_ratio=float(side_ratio.si(side, seating, contact.angle)) if closes else math.inf,
        just_closed=seat_pressure(contact, max(seating, 0.0), modulus),
        at_pressure=at_pressure,
        limit=limit,
        limited_by=limited_by,
        sealing_ratio=_over(at_pressure.mean, check.closing_pressure),
        bedded_width=_bedded(check, contact, at_pressure, limit),
        wedges=wedges(contact.angle),
        bore_area=bore_area,
        flow_area=lift_area(check.ball, check.seat, check.lift),
        guide_area=_guide(check),
        lift_needed=lift_needed(check.ball, check.seat, bore_area),
        open_force=seating + check.spring_rate * check.lift,
    )


def cracking_range(
    check: BallCheck, tolerances: Mapping[str, tuple[float, float]]
) -> tuple[float, float]:
    """Give the lowest and highest cracking pressure, Pa, over the corners of ``tolerances``.

    The cracking pressure runs one way in each of its quantities within any tolerance of the trade,
    so that its extremes stand at corners, where each quantity has its lowest or highest value.
    """
    named = list(tolerances)
    corners = itertools.product(*(tolerances[name] for name in named))
    found = [
        _varied(check, dict(zip(named, corner, strict=True))).cracking_pressure
        for corner in corners
    ]
    return min(found), max(found)


def _varied(check: BallCheck, values: Mapping[str, float]) -> BallCheck:
    own: dict[str, Any] = {name: value for name, value in values.items() if "." not in name}
    seat: dict[str, Any] = {
        name.removeprefix("seat."): value for name, value in values.items() if "." in name
    }
    known = {one.name for one in fields(check)}
    on_seat = {one.name for one in fields(check.seat)}
    if odd := sorted({*own} - known) + sorted({*seat} - on_seat):
        offered = sorted(known) + [f"seat.{name}" for name in sorted(on_seat)]
        raise ValueError(f"no {', '.join(odd)} to vary; it can be one of {', '.join(offered)}")
    if seat:
        own["seat"] = replace(check.seat, **seat)
    return replace(check, **own)


def _modulus(check: BallCheck) -> float:
    ball, seat = check.ball_material, check.seat_material
    return float(
        effective_modulus.si(
            ball.elastic_modulus, ball.poisson_ratio, seat.elastic_modulus, seat.poisson_ratio
        )
    )


def _limit(check: BallCheck) -> tuple[float | None, Literal["ball", "seat", ""]]:
    ball = contact_limit(check.ball_material, "line")
    seat = contact_limit(check.seat_material, "line")
    if seat is not None and (ball is None or seat <= ball):
        return seat, "seat"
    return (None, "") if ball is None else (ball, "ball")


def _bedded(
    check: BallCheck, contact: SeatContact, pressure: SeatPressure, limit: float | None
) -> float:
    edge = "edge" in contact.rests_on and math.isfinite(contact.radius)
    soft = check.seat_material
    overloaded = limit is not None and pressure.peak > limit
    if not (edge and overloaded and soft.kind == "ductile" and soft.yield_strength):
        return 0.0
    return float(bedded_width.si(pressure.line_load, soft.yield_strength))


def _guide(check: BallCheck) -> float | None:
    if check.guide is None:
        return None
    return float(guide_area.si(check.ball, check.guide, check.guide_open_share))


def _over(pressure: float, fluid: float) -> float:
    return pressure / fluid if fluid > 0.0 else math.inf


def orientation(role: Role, arrow: Arrow) -> Literal["right way round", "swapped"]:
    """Tell whether a check fitted with its ``arrow`` that way does its ``role`` [3].

    >>> orientation("inlet", "toward pump"), orientation("outlet", "toward pump")
    ('right way round', 'swapped')
    """
    wanted = {"inlet": "toward pump", "outlet": "away from pump"}
    if role not in wanted:
        raise ValueError(f"role {role!r} given; a check is an inlet or an outlet")
    if arrow not in wanted.values():
        raise ValueError(f"arrow {arrow!r} given; it points toward pump or away from pump")
    return "right way round" if arrow == wanted[role] else "swapped"


def seat_faces_ball(face: Face) -> bool:
    """Tell whether the seat's worked side (chamfered or lapped) faces the ball, as it must [3]."""
    if face not in {"worked side to ball", "plain side to ball"}:
        raise ValueError(f"seat face {face!r} given; it is worked or plain side to ball")
    return face == "worked side to ball"
