"""The integration of a ball's motion over one cycle: rest, flight, impact, and their account.

`ball_motion` says what is followed and what comes of it; here is how. On seat and stop the ball
waits for the flow that carries it off or lets it drop; in between its equation of motion is
integrated until it meets one of them or the flow has a corner. The work of gap and stream is
integrated along, so that the energy can be audited.

Near its seat the ball rides on the flow: the force on it is stiff beyond 10⁹/s in thick fluid. The
integrator is LSODA, which changes to a stiff method there, with a Jacobian of its own scale; where
it fails or makes no headway BDF, then Radau in short steps. A motion that none of them follows is
refused.
"""

from __future__ import annotations

import contextlib
import math
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import BDF, LSODA, Radau  # type: ignore[attr-defined]
from scipy.optimize import brentq

from rebuildbook.calculators.ball_force import SHUT, BallStream
from rebuildbook.calculators.bounds import positive, within
from rebuildbook.calculators.stroke_flow import Drive

Floats = NDArray[np.float64]
Place = Literal["seat", "stop", "free"]

_REST_POINTS = 48  # shown for a rest, so that the flow past it can be drawn
_MOST_CONTACTS = 500
_OFF = 1.02  # a ball leaves its seat on a little more than what holds it, lest it chatters
_TRACE = 1e-12  # m; what rounding may not pass for an arrival
# methods, shares of the longest step, most looks at the slope in one flight at a tolerance of 1e-9;
# LSODA is well within its number, or else lost in the short steps of its method for what is not
# stiff
_WAYS = (("LSODA", 1.0, 5_000), ("BDF", 1.0, 20_000), ("Radau", 0.1, 20_000))
_METHODS: dict[str, Any] = {"LSODA": LSODA, "BDF": BDF, "Radau": Radau}
_NEAR = 4.0 * float(np.finfo(float).eps)  # s and relative; to which an arrival is closed in on


class _StalledError(Exception):
    """An integrator that makes no headway."""


@dataclass(frozen=True, slots=True)
class Following:
    """How a ball is followed; see `ball_motion.ball_motion` for the fields."""

    restitution: float
    rest_speed: float
    held_back: float
    tolerance: float
    longest_step: float

    def __post_init__(self) -> None:
        within("restitution", self.restitution, 0.0, 0.95)
        positive("speed of rest, m/s,", self.rest_speed)
        within("tolerance", self.tolerance, 1e-12, 1e-3)
        within("longest step", self.longest_step, 1e-5, 0.5)


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of the motion: ``times`` s, ``states`` (lift, speed, work of gap, of stream) SI.

    ``shut``: on the seat throughout.
    """

    times: Floats
    states: Floats
    shut: bool


class Flight:
    """One cycle of a ball in ``stream`` under ``drive``: call `follow`, then read off.

    ``pieces`` of the motion in order, ``opening`` the time of the first lift, s, ``impacts`` the
    energy lost on seat and stop, J, ``blow`` the hardest on the seat, m/s, ``highest`` the greatest
    lift, m, ``hits_stop``.
    """

    def __init__(self, stream: BallStream, drive: Drive, how: Following) -> None:
        within("volume held back, m³,", how.held_back, 0.0, drive.displacement)
        self.stream, self.drive, self.how = stream, drive, how
        self.longest = how.longest_step * drive.cycle
        self.now, self.state = 0.0, np.array([SHUT, 0.0, 0.0, 0.0])
        self.place: Place = "seat"
        self.pieces: list[Piece] = []
        self.opening = math.inf
        self.impacts, self.blow, self.hits_stop = 0.0, 0.0, False
        self.highest, self.looks = 0.0, 0
        self.opens_at = self._flow_that_balances(_OFF * SHUT)
        self.drops_at = self._flow_that_balances(stream.stop) * (1.0 - 1e-9)
        self.corners = (*drive.breaks, drive.cycle)

    def follow(self) -> None:
        """Go from rest to flight to rest until the cycle is over."""
        for _ in range(_MOST_CONTACTS):
            if self.now >= self.drive.cycle:
                return
            if self.place == "free":
                self._fly()
            else:
                self._rest()
        raise ValueError(
            f"the ball met seat or stop {_MOST_CONTACTS} times in a cycle; take a smaller "
            "restitution or a higher speed of rest"
        )

    def _flow_that_balances(self, lift: float) -> float:
        """Give the steady flow, m³/s, that just carries the ball at ``lift``."""
        stream = self.stream
        wanted = stream.back_force(lift)

        def surplus(log_flow: float) -> float:
            _, gap, drag = stream.at(math.exp(log_flow), lift, 0.0)
            return (gap + drag) / wanted - 1.0

        low = high = math.log(stream.throat(lift))  # 1 m/s through the throat
        while surplus(low) > 0.0:
            low -= 2.0
        while surplus(high) < 0.0:
            high += 2.0
        return math.exp(brentq(surplus, low, high, xtol=1e-14))  # type: ignore[no-untyped-call]

    def _rest(self) -> None:
        """Stay on seat or stop until the flow carries the ball off, or the cycle ends."""
        if self.place == "seat":
            leave = self._when(
                lambda time: self.drive.flow(time) - self.opens_at, self.how.held_back
            )
        else:
            leave = self._when(lambda time: self.drops_at - self.drive.flow(time), 0.0)
        corners = [corner for corner in self.drive.breaks if self.now < corner < leave]
        times = np.union1d(np.linspace(self.now, leave, _REST_POINTS), corners)
        states = np.tile(self.state, (len(times), 1))
        self.pieces.append(Piece(times, states, self.place == "seat"))
        if self.place == "seat" and leave < self.drive.cycle:
            self.opening = min(self.opening, leave)
        self.now, self.place = leave, "free"

    def _when(self, surplus: Callable[[float], float], swept: float) -> float:
        """Give the next time at which ``surplus`` is above zero and ``swept`` has been passed."""
        drive, start = self.drive, self.now
        if swept > 0.0 and drive.swept(start) < swept:
            if start >= drive.forward_end:
                return drive.cycle
            start = _root(lambda time: drive.swept(time) - swept, start, drive.forward_end)
        if surplus(start) > 0.0:
            return start
        if self.place == "seat" and start >= drive.forward_end:
            return drive.cycle  # nothing flows out of it until the next cycle
        marks = np.union1d(np.linspace(start, drive.cycle, 400), [start, *drive.breaks])
        marks = marks[marks >= start]
        for before, after in zip(marks[:-1].tolist(), marks[1:].tolist(), strict=True):
            if surplus(after) > 0.0:
                return _root(surplus, before, after)
        return drive.cycle

    def _fly(self) -> None:
        """Integrate until the ball meets seat or stop, or the flow has a corner."""
        end = next(corner for corner in self.corners if corner > self.now)
        piece, place = self._integrate(end)
        self.pieces.append(piece)
        self.highest = max(self.highest, _highest(piece.times, piece.states.T))
        self.now, self.state = float(piece.times[-1]), piece.states[-1].copy()
        if place != "free":
            away = np.abs(piece.states[:, 0] - self.state[0]).max()
            self._meet(place, bool(away < SHUT))

    def _integrate(self, end: float) -> tuple[Piece, Place]:
        """Integrate to ``end`` or to seat or stop, by the first way that gets there."""
        finer = (self.how.tolerance / 1e-9) ** -0.2  # steps of a formula of fifth order
        for method, share, looks in _WAYS:
            self.looks = int(finer * looks)
            with contextlib.suppress(_StalledError):
                return self._solve(end, method, share * self.longest)
        raise ValueError(
            f"the motion of the ball could not be followed past {self.now:.4g} s of the cycle, "
            f"at a lift of {self.state[0] * 1e3:.4g} mm; take a coarser tolerance, and look "
            "whether spring rate, ball and fluid go together"
        )

    def _solve(self, end: float, method: str, longest: float) -> tuple[Piece, Place]:
        """Integrate by one method; the piece of the motion, and where it ends.

        A loop of its own, as there are two ends to look for after each step, and both are plain.
        """
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", UserWarning)  # what fails is seen by its status
            solver = _METHODS[method](
                self._slope,
                self.now,
                self.state,
                end,
                jac=self._jacobian,
                first_step=min(self._first_step(end), longest),
                rtol=self.how.tolerance,
                atol=self.how.tolerance * self._scales(),
                max_step=longest,
            )
            times, states = [self.now], [self.state]
            place: Place = "free"
            lift = float(self.state[0])
            while place == "free" and solver.status == "running":
                solver.step()
                if solver.status == "failed":
                    raise _StalledError
                time, state, before = solver.t, solver.y, lift
                lift = float(state[0])
                place = self._reached(before, lift)
                if place != "free":
                    path = solver.dense_output()
                    time = self._arrival(place, path, solver.t_old, time)
                    state = path(time)
                times.append(time)
                states.append(state)
        return Piece(np.array(times), np.vstack(states), shut=False), place

    def _past(self, place: Place, lift: float) -> float:
        """Lift beyond that at which a ball is taken to have come to its seat or stop, m."""
        return lift - SHUT + _TRACE if place == "seat" else lift - self.stream.stop - _TRACE

    def _reached(self, before: float, after: float) -> Place:
        if self._past("seat", before) >= 0.0 >= self._past("seat", after):
            return "seat"
        if self._past("stop", before) <= 0.0 <= self._past("stop", after):
            return "stop"
        return "free"

    def _arrival(self, place: Place, path: Any, before: float, after: float) -> float:
        """Give the time, between two steps, of coming to seat or stop on a ``path`` of states."""

        def past(time: float) -> float:
            return self._past(place, float(path(time)[0]))

        return float(brentq(past, before, after, xtol=_NEAR, rtol=_NEAR))  # type: ignore[no-untyped-call]

    def _slope(self, time: float, state: Floats) -> tuple[float, float, float, float]:
        self.looks -= 1
        if self.looks < 0:
            raise _StalledError
        lift, speed, _, _ = state.tolist()
        stream = self.stream
        _, gap, drag = stream.at(self.drive.flow(time), lift, speed)
        pull = gap + drag - (stream.rest_force + stream.spring_rate * lift)
        return speed, pull / stream.inertia, gap * speed, drag * speed

    def _jacobian(self, time: float, state: Floats) -> Floats:
        """Give the change of the slopes with the states.

        An integrator's own differences are too coarse near the seat, where the ball rides on the
        flow and the force hangs on what little of it goes through the gap.
        """
        lift, speed = max(float(state[0]), SHUT / 2.0), float(state[1])
        flow, stream = self.drive.flow(time), self.stream
        through = abs(flow - stream.area * speed)
        near = 1e-6 * (through + stream.area * self.how.rest_speed * 1e-6) / stream.area
        rise = 1e-6 * lift
        _, gap, drag = stream.at(flow, lift, speed)
        _, gap_up, drag_up = stream.at(flow, lift + rise, speed)
        _, gap_on, drag_on = stream.at(flow, lift, speed + near)
        over_lift = ((gap_up - gap) / rise, (drag_up - drag) / rise)
        over_speed = ((gap_on - gap) / near, (drag_on - drag) / near)
        inertia = stream.inertia
        table = np.zeros((4, 4))
        table[0, 1] = 1.0
        table[1, 0] = (over_lift[0] + over_lift[1] - stream.spring_rate) / inertia
        table[1, 1] = (over_speed[0] + over_speed[1]) / inertia
        table[2, :2] = over_lift[0] * speed, over_speed[0] * speed + gap
        table[3, :2] = over_lift[1] * speed, over_speed[1] * speed + drag
        return table

    def _first_step(self, end: float) -> float:
        """Give a step, s, short enough for the stiffest start: a ball on its seat in thick oil."""
        quickest = abs(float(self._jacobian(self.now, self.state)[1, 1]))
        return min(0.1 / quickest if quickest > 0.0 else math.inf, self.longest, end - self.now)

    def _scales(self) -> Floats:
        """Sizes below which a state is nothing: a part of the finish, and what goes with it.

        A ball that rides on the flow has the speed of the piston's flow over its area; finer than
        a part of that, rounding would drive the steps.
        """
        stream, drive = self.stream, self.drive
        speed = drive.displacement * drive.rate / stream.area
        energy = 0.01 * stream.rest_force * stream.stop  # finer, the account would drive the steps
        return np.array([SHUT, 10.0 * speed, energy, energy])

    def _meet(self, place: Place, never_left: bool) -> None:
        """Rebound from seat or stop, or stay there: too slow, or pressed on by the flow."""
        speed = abs(float(self.state[1]))
        after = self.how.restitution * speed
        if place == "seat":
            self.blow = max(self.blow, speed)
        else:
            self.hits_stop = True
        self.state[0] = SHUT if place == "seat" else self.stream.stop
        if never_left or after < self.how.rest_speed:
            after, self.place = 0.0, place
        self.impacts += 0.5 * self.stream.inertia * (speed**2 - after**2)
        self.state[1] = after if place == "seat" else -after


def _highest(times: Floats, states: Floats) -> float:
    """Give the greatest lift, m, between the steps too: a cubic through lift and speed."""
    lift, speed = states[0], states[1]
    top = float(lift.max())
    for step in np.flatnonzero((speed[:-1] > 0.0) & (speed[1:] < 0.0)).tolist():
        part = slice(step, step + 2)
        width = float(times[step + 1] - times[step])
        if width > 0.0:
            top = max(top, _crest(width, *lift[part].tolist(), *speed[part].tolist()))
    return top


def _crest(width: float, low: float, high: float, rising: float, falling: float) -> float:
    """Give the top of the cubic between two lifts that it leaves rising and meets falling.

    Along s from 0 to 1 it is low + b s + c s² + d s³, whose slope b + 2 c s + 3 d s² falls through
    zero at s = b/(r − c) = −(c + r)/(3 d), r² = c² − 3 b d; the one without a difference is taken.

    >>> round(_crest(2.0, 0.0, 0.0, 1.0, -1.0), 12)  # a parabola: x = t − t²/2
    0.5
    """
    b, end, rise = width * rising, width * falling, high - low
    c, d = 3.0 * rise - 2.0 * b - end, b + end - 2.0 * rise
    root = math.sqrt(max(c * c - 3.0 * b * d, 0.0))
    along = b / (root - c) if c <= 0.0 else -(c + root) / (3.0 * d)
    return low + along * (b + along * (c + along * d))


def _root(function: Callable[[float], float], low: float, high: float) -> float:
    """Give the root, on its side of ``high``, where the function is above zero."""
    return float(brentq(function, low, high, xtol=1e-15, rtol=1e-14))  # type: ignore[no-untyped-call]
