"""A ball on its seat: where it touches, at what angle, how wide and how hard.

All three seats touch a ball along one circle. The normal of contact passes through the ball's
centre; it makes the angle θ with the axis of the seat, and sin θ = contact circle / ball diameter.
An axial force N spread evenly round the circle presses along the normal with

    q = N / (π dc cos θ)        newtons for each metre of the circle,

because only the share cos θ of the normal force acts along the axis. Friction on the seat, which
would carry a part of N, is left out: q is on the safe side.

References
----------
1. K. L. Johnson, Contact Mechanics: line contact (section 4.2), punch on a half-plane (chapter 2),
   full plastic contact at a mean pressure near 3 Y (chapter 6).
2. Circles and angles: from the geometry, as derived in each docstring.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from rebuildbook.calculators.contact import line_half_width, line_peak_pressure, relative_radius
from rebuildbook.units import quantities

RestsOn = Literal["edge", "face", "inner edge", "outer edge", "land"]

FINISH_GAP = 0.5e-6  # m; a gap within a lapped finish is no gap: common practice, no source
BROKEN_EDGE = 0.1e-3  # m; an edge broken by hand: common practice, no source


@quantities("m", ball="m", bore="m", edge_radius="m")
def sharp_circle(ball: Any, bore: Any, edge_radius: Any) -> Any:
    """Give the contact circle of a ball on a bore whose edge is rounded, dc = D (ds + 2r)/(D + 2r).

    The rounding, radius r, is tangent to the bore, so its centre stands r outside the bore wall;
    ball centre and rounding centre are D/2 + r apart, hence sin θ = (ds/2 + r)/(D/2 + r). With
    r = 0 the circle is the bore itself.

    >>> sharp_circle("25 mm", "20 mm", "0.1 mm").to("mm").magnitude
    20.03...
    """
    return ball * (bore + 2 * edge_radius) / (ball + 2 * edge_radius)


@quantities("m", ball="m", included_angle="rad")
def cone_circle(ball: Any, included_angle: Any) -> Any:
    """Give the contact circle of a ball in a cone, dc = D cos α, with α half the included angle.

    α is measured from the axis. The normal of the cone's face stands at θ = 90° − α to the axis,
    and dc = D sin θ. A narrow cone takes the ball near its equator, a flat one near its pole.

    >>> print(f'{cone_circle("25 mm", "90 deg").to("mm").magnitude:.3f}')
    17.678
    """
    return ball * np.cos(included_angle / 2)


@quantities("rad", ball="m", circle="m")
def contact_angle(ball: Any, circle: Any) -> Any:
    """Give the angle between the axis and the normal of contact, θ = asin(dc/D)."""
    return np.arcsin(circle / ball)


@quantities("m^2", circle="m")
def sealing_area(circle: Any) -> Any:
    """Give the area that the pressure works on, π/4 dc².

    >>> sealing_area("20 mm").to("mm^2").magnitude
    314.15...
    """
    return np.pi / 4 * circle**2


@quantities("N/m", force="N", circle="m", angle="rad")
def line_load(force: Any, circle: Any, angle: Any) -> Any:
    """Give the normal force along the contact circle, q = N/(π dc cos θ).

    >>> print(f'{line_load("100 N", "20 mm", "60 deg").to("N/mm").magnitude:.4f}')
    3.1831
    """
    return force / (np.pi * circle * np.cos(angle))


@dataclass(frozen=True, slots=True)
class SharpSeat:
    """The edge of a bore, its corner rounded to ``edge_radius``; m."""

    bore: float
    edge_radius: float = BROKEN_EDGE


@dataclass(frozen=True, slots=True)
class ConeSeat:
    """A cone from ``bore`` (small end) to ``outer`` (large end), m, of ``included_angle``, rad.

    ``edge_radius`` is that of its corners, should the ball rest on one.
    """

    bore: float
    outer: float
    included_angle: float
    edge_radius: float = BROKEN_EDGE


@dataclass(frozen=True, slots=True)
class LappedSeat:
    """A spherical land from ``bore`` to ``outer`` diameter, lapped to ``lap_radius``; m."""

    bore: float
    outer: float
    lap_radius: float


Seat = SharpSeat | ConeSeat | LappedSeat


@dataclass(frozen=True, slots=True)
class SeatContact:
    """Where an unloaded ball touches its seat.

    ``circle`` in m, ``angle`` θ in rad. ``radius`` is the relative radius of the line contact, m,
    infinite on a land. ``face`` is the whole width of cone or land across the circle and ``room``
    twice the way from the circle to the nearer end of a cone, m; both infinite on an edge.
    ``gap_slope`` is the gap at the far end of a land, divided by the land's width.
    """

    circle: float
    angle: float
    rests_on: RestsOn
    radius: float
    face: float = math.inf
    room: float = math.inf
    gap_slope: float = 0.0


def seat_contact(ball: float, seat: Seat) -> SeatContact:
    """Find where a ball of diameter ``ball``, m, touches ``seat``.

    A cone is touched on its face only where its circle D cos α lies between the two ends; a ball
    too small for the cone's bore rests on the inner edge, one too large on the outer edge. On a
    lapped land a ball smaller than the lap rests on the inner edge, a larger one on the outer: two
    spheres of unequal radius about one axis touch along no other circle.

    Raises ValueError for a seat that is no seat, and for a ball that falls through it.

    >>> seat_contact(0.025, ConeSeat(0.016, 0.022, math.radians(90))).rests_on
    'face'
    >>> seat_contact(0.025, ConeSeat(0.019, 0.022, math.radians(90))).rests_on
    'inner edge'
    """
    if not 0.0 < ball < math.inf:
        raise ValueError(f"a ball of {ball * 1e3:g} mm; its diameter must be above zero")
    if not 0.0 < seat.bore < ball:
        raise ValueError(
            f"a ball of {ball * 1e3:g} mm on a bore of {seat.bore * 1e3:g} mm: the bore must be "
            "above zero and smaller than the ball"
        )
    if isinstance(seat, SharpSeat):
        return _on_edge(
            ball, float(sharp_circle.si(ball, seat.bore, seat.edge_radius)), "edge", seat
        )
    if not seat.bore < seat.outer < math.inf:
        raise ValueError(
            f"a seat from {seat.bore * 1e3:g} mm to {seat.outer * 1e3:g} mm; the outer diameter "
            "must be the larger"
        )
    return _on_cone(ball, seat) if isinstance(seat, ConeSeat) else _on_land(ball, seat)


def _on_edge(ball: float, circle: float, where: RestsOn, seat: SharpSeat | ConeSeat) -> SeatContact:
    if not 0.0 < seat.edge_radius < math.inf:
        raise ValueError(
            f"an edge radius of {seat.edge_radius * 1e3:g} mm; no edge is without one, a broken "
            f"edge has some {BROKEN_EDGE * 1e3:g} mm"
        )
    radius = float(relative_radius.si(ball / 2, seat.edge_radius))
    return SeatContact(circle, float(contact_angle.si(ball, circle)), where, radius)


def _on_cone(ball: float, seat: ConeSeat) -> SeatContact:
    if not 0.0 < seat.included_angle < math.pi:
        raise ValueError(
            f"an included angle of {math.degrees(seat.included_angle):g}°; it lies between 0 "
            "and 180°"
        )
    circle = float(cone_circle.si(ball, seat.included_angle))
    if circle < seat.bore:
        return _on_edge(ball, seat.bore, "inner edge", seat)
    if circle > seat.outer:
        return _on_edge(ball, seat.outer, "outer edge", seat)
    slope = math.sin(seat.included_angle / 2)
    return SeatContact(
        circle,
        float(contact_angle.si(ball, circle)),
        "face",
        ball / 2,
        face=(seat.outer - seat.bore) / 2 / slope,
        room=min(circle - seat.bore, seat.outer - circle) / slope,
    )


def _on_land(ball: float, seat: LappedSeat) -> SeatContact:
    lap, inner, outer = seat.lap_radius, seat.bore / 2, seat.outer / 2
    if not outer < lap < math.inf:
        raise ValueError(
            f"a lap of {lap * 1e3:g} mm radius cannot make a land of {seat.outer * 1e3:g} mm "
            "diameter; it must be larger than half of it"
        )
    width = lap * (math.asin(outer / lap) - math.asin(inner / lap))
    rise = land_rise(seat)
    small = ball / 2 <= lap
    touched, other, step = (inner, outer, rise) if small else (outer, inner, -rise)
    centre = math.sqrt((ball / 2) ** 2 - touched**2) - step  # above the plane of the far edge
    gap = max(math.hypot(other, centre) - ball / 2, 0.0)
    where: RestsOn = "inner edge" if small else "outer edge"
    circle = 2 * touched
    if gap <= FINISH_GAP:
        where, circle = "land", inner + outer
    angle = float(contact_angle.si(ball, circle))
    return SeatContact(circle, angle, where, math.inf, width, gap_slope=gap / width)


def ball_height(ball: float, seat: Seat) -> float:
    """Give the height of the resting ball's centre, m.

    Counted from the face of a sharp seat, from the small end of a cone or land.

    >>> round(ball_height(0.025, ConeSeat(0.016, 0.022, math.radians(90))) * 1e3, 3)
    9.678
    """
    contact = seat_contact(ball, seat)
    above = ball / 2 * math.cos(contact.angle)
    if isinstance(seat, SharpSeat):
        return above - seat.edge_radius * (1.0 - math.cos(contact.angle))
    if isinstance(seat, ConeSeat):
        return above + (contact.circle - seat.bore) / 2 / math.tan(seat.included_angle / 2)
    if ball / 2 <= seat.lap_radius:
        return math.sqrt((ball / 2) ** 2 - (seat.bore / 2) ** 2)
    return land_rise(seat) + math.sqrt((ball / 2) ** 2 - (seat.outer / 2) ** 2)


def land_rise(seat: LappedSeat) -> float:
    """Give the height of a land's outer edge above its inner one, m."""
    lap = seat.lap_radius
    return math.sqrt(lap**2 - (seat.bore / 2) ** 2) - math.sqrt(lap**2 - (seat.outer / 2) ** 2)


@dataclass(frozen=True, slots=True)
class SeatPressure:
    """How a ball presses on its seat under one axial ``force``, N.

    ``line_load`` in N/m; ``width`` of the contact across the circle in m; ``mean`` and ``peak``
    contact pressure in Pa. ``spills``: past the nearer end of a cone. ``elastic_theory``: narrow
    enough (half-width up to a tenth of the radius; common practice, no source) for Hertz to hold.
    """

    force: float
    line_load: float
    width: float
    mean: float
    peak: float
    spills: bool = False
    elastic_theory: bool = True


def seat_pressure(contact: SeatContact, force: float, modulus: float) -> SeatPressure:
    """Give the contact pressure under an axial ``force``, N, with the contact modulus, Pa.

    On an edge or a cone: Hertz line contact, b = (4 q R/π E*)^½, p0 = 2 q/(π b) [1]; a cone
    narrower than that bears on its whole face, and no less than evenly.

    On a lapped land whose gap opens with the slope β: a wedge against a half-plane, touched over
    l = 4 q/(π E* β) up to the land's width [1]. Theory has an endless peak at the edge; the edge
    beds in, so the pressure is taken as linear over l, with the peak 2 q/l = π E* β/2. Once the
    whole land bears, further load spreads evenly over it. A land that fits (β = 0) bears evenly.

    Raises ValueError for a negative force: a ball that is pushed off does not press.
    """
    if not 0.0 <= force < math.inf:
        raise ValueError(f"a seating force of {force:g} N; it must not be negative")
    if force == 0.0:
        return SeatPressure(0.0, 0.0, 0.0, 0.0, 0.0)
    load = float(line_load.si(force, contact.circle, contact.angle))
    if math.isinf(contact.radius):
        return _land_pressure(contact, force, load, modulus)
    half = float(line_half_width.si(load, contact.radius, modulus))
    width = min(2 * half, contact.face)
    return SeatPressure(
        force,
        load,
        width,
        mean=load / width,
        peak=max(float(line_peak_pressure.si(load, contact.radius, modulus)), load / width),
        spills=2 * half > contact.room,
        elastic_theory=half <= 0.1 * contact.radius,
    )


def _land_pressure(contact: SeatContact, force: float, load: float, modulus: float) -> SeatPressure:
    wedge = math.pi * modulus * contact.gap_slope / 4  # mean pressure while the gap is closing
    if load < wedge * contact.face:
        width = load / wedge
        return SeatPressure(force, load, width, wedge, 2 * wedge)
    mean = load / contact.face
    return SeatPressure(force, load, contact.face, mean, mean + wedge)


@quantities("m", line_load="N/m", yield_strength="Pa")
def bedded_width(line_load: Any, yield_strength: Any) -> Any:
    """Give the width of land that a ball coins into an edge, q/(3 Y).

    Past first yield the metal flows until the mean pressure is near 3 Y, the pressure of full
    plastic contact [1]: a sharp seat makes its own narrow land under the first full pressure.

    >>> bedded_width("60 N/mm", "205 MPa").to("mm").magnitude
    0.0975...
    """
    return line_load / (3 * yield_strength)


def wedges(angle: float, friction: float = 0.2) -> bool:
    """Tell whether a ball pushed on at the angle θ, rad, stays stuck when the push is gone.

    The face leans 90° − θ to the axis; leaning less than the angle of friction, it holds the ball.
    A friction coefficient of 0.2 for wet metal: common practice, no source.

    >>> wedges(math.radians(45)), wedges(math.radians(82))
    (False, True)
    """
    return math.pi / 2 - angle < math.atan(friction)
