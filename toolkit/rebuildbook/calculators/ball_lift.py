"""The way through a lifted ball check: the throat between ball and seat, and the guide.

References
----------
1. Throat: the lateral area of the cone frustum between the ball and the nearest circle of the seat,
   derived in the docstring.
2. Neither throat nor guide narrower than the bore: common practice, no source.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from scipy.optimize import brentq

from rebuildbook.calculators.ball_seat import (
    ConeSeat,
    LappedSeat,
    Seat,
    ball_height,
    land_rise,
    seat_contact,
)
from rebuildbook.units import quantities


@quantities("m^2", ball="m", edge="m", height="m")
def throat_area(ball: Any, edge: Any, height: Any) -> Any:
    """Give the area between a ball and a circle of the seat, A = π re (L² − R²)/L [1].

    ``edge`` is the circle's diameter 2 re, ``height`` that of the ball's centre above its plane.
    The shortest way from the circle to the ball points at the centre, L = (re² + height²)^½ away;
    it is L − R long and ends on the ball at the radius re R/L, so that the frustum it sweeps has
    the area π (re + re R/L)(L − R).

    A ball of 25 mm on an edge of 20 mm has its centre 7.5 mm above it; lifted by 6 mm:

    >>> print(f'{throat_area("25 mm", "20 mm", "13.5 mm").to("mm^2").magnitude:.1f}')
    235.6
    """
    radius, reach = edge / 2, np.hypot(edge / 2, height)
    return np.pi * radius * (reach**2 - (ball / 2) ** 2) / reach


@quantities("m^2", ball="m", guide="m", open_share="")
def guide_area(ball: Any, guide: Any, open_share: Any) -> Any:
    """Give the area past a ball in its guide, open share × π/4 (Dg² − D²).

    ``guide`` is the diameter the fluid has round the ball, ``open_share`` the part of the ring that
    ribs leave free, 1 for none.

    >>> print(f'{guide_area("25 mm", "32 mm", 0.75).to("mm^2").magnitude:.1f}')
    235.0
    """
    return open_share * np.pi / 4 * (guide**2 - ball**2)


def lift_area(ball: float, seat: Seat, lift: float) -> float:
    """Give the throat, m², between a ball of diameter ``ball`` and its seat at ``lift``, m.

    The circle taken is the one nearest the ball: the edge of a bore, the foot of the normal on a
    cone (or the cone's end, once the foot is past it), the narrower of a land's two edges.

    >>> seat = ConeSeat(0.016, 0.022, math.radians(90))
    >>> round(lift_area(0.025, seat, 0.004) * 1e6, 1)  # π h sin α cos α (D + h sin α)
    174.9
    """
    if not 0.0 <= lift < math.inf:
        raise ValueError(f"a lift of {lift * 1e3:g} mm; it must be zero or above")
    centre = ball_height(ball, seat) + lift
    if isinstance(seat, ConeSeat):
        lean = seat.included_angle / 2
        face = (seat.outer - seat.bore) / 2 / math.sin(lean)
        along = centre * math.cos(lean) - seat.bore / 2 * math.sin(lean)
        along = min(max(along, 0.0), face)
        foot = seat.bore + 2 * along * math.sin(lean)
        return float(throat_area.si(ball, foot, centre - along * math.cos(lean)))
    if isinstance(seat, LappedSeat):
        inner = throat_area.si(ball, seat.bore, centre)
        outer = throat_area.si(ball, seat.outer, centre - land_rise(seat))
        return max(float(min(inner, outer)), 0.0)
    contact = seat_contact(ball, seat)
    height = ball / 2 * math.cos(contact.angle) + lift
    return float(throat_area.si(ball, contact.circle, height))


def lift_needed(ball: float, seat: Seat, area: float) -> float:
    """Give the lift, m, at which the throat is as wide as ``area``, m².

    >>> seat = ConeSeat(0.016, 0.022, math.radians(90))
    >>> lift = lift_needed(0.025, seat, math.pi / 4 * 0.016**2)
    >>> round(lift_area(0.025, seat, lift) * 1e6, 2)
    201.06
    """
    if not 0.0 < area < math.inf:
        raise ValueError(f"a passage of {area * 1e6:g} mm²; it must be above zero")
    high = ball
    while lift_area(ball, seat, high) < area:
        high *= 2.0

    def surplus(lift: float) -> float:
        return lift_area(ball, seat, lift) - area

    return float(brentq(surplus, 0.0, high, xtol=1e-9))  # type: ignore[no-untyped-call]
