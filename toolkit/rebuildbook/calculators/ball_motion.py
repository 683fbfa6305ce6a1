"""How the ball of a check moves over a pump's cycle: opening, lift, closing, what flows back.

The ball of mass m, with the share of fluid that moves along, obeys

    (m + ma) dv/dt = F(Q, x, v) − W cos τ − F0 − k x,   dx/dt = v,

F the force of the stream (`ball_force`) at the piston's flow Q (`stroke_flow`). The gap's flow is
that of continuity, Q − As v, so that the pressure over the check follows from x and v. On seat and
stop the ball rebounds with a coefficient of restitution; slower than a limit it stays, until the
force turns. One cycle tells all where the ball is home before the next begins.

Left out: the give of chamber and fluid but for `held_back`, the inertia of the fluid in the bore,
cavitation, and the sideways play of the ball.

References
----------
1. Newton's law and continuity; forces as derived and named in `ball_force`.
2. H. Lamb, Hydrodynamics: added mass of a sphere, half the fluid it displaces.
3. Coefficient of restitution 0.3 for a ball that meets its seat wet: common practice, no source.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from rebuildbook.calculators.ball_check import BallCheck
from rebuildbook.calculators.ball_flight import Flight, Following
from rebuildbook.calculators.ball_force import DISCHARGE, BallStream
from rebuildbook.calculators.bounds import not_negative, positive
from rebuildbook.calculators.flow_curve import Fluid
from rebuildbook.calculators.stroke_flow import Drive

Floats = NDArray[np.float64]

_STEP = math.log(1.25)  # of the rate, while the highest is sought


@dataclass(frozen=True, slots=True)
class EnergyAudit:
    """Where the ball's energy went over the cycle, J.

    ``gap_work`` and ``drag_work``: done on the ball by the throttled gap and by the stream.
    ``stored``: change of weight and spring; ``kinetic``: left in motion at the end; ``impacts``:
    lost on seat and stop. ``peak`` is the most the ball held at any time; ``imbalance`` is what
    does not add up, the error of the integration.
    """

    gap_work: float
    drag_work: float
    stored: float
    kinetic: float
    impacts: float
    peak: float

    @property
    def imbalance(self) -> float:
        """Work done less energy found again, J."""
        return self.gap_work + self.drag_work - self.stored - self.kinetic - self.impacts


@dataclass(frozen=True, slots=True)
class BallMotion:
    """The motion of a ball over one cycle; SI floats and arrays.

    ``time`` s, ``lift`` m, ``speed`` m/s (positive opening), ``piston_flow`` and ``gap_flow`` m³/s
    (positive opening; the gap's is zero while shut), ``pressure_loss`` Pa (zero while shut).
    ``cycle``, ``forward_end`` and ``reversal``, s, are the drive's.

    ``opening_delay``, s: from the start of the stroke until the ball leaves its seat, infinite
    where it does not. ``closing_time``, s: when it comes home for good; infinite where it is not
    home at the end of the cycle. ``back_flow``, m³: what the piston draws back through the open
    check in a cycle, ``back_flow_share`` as a share of a stroke's displacement; it takes in the
    room of the ball itself. ``impact_speed``, m/s: the hardest blow on the seat.
    """

    time: Floats
    lift: Floats
    speed: Floats
    piston_flow: Floats
    gap_flow: Floats
    pressure_loss: Floats
    cycle: float
    forward_end: float
    reversal: float
    opening_delay: float
    closing_time: float
    back_flow: float
    back_flow_share: float
    impact_speed: float
    greatest_lift: float
    hits_stop: bool
    energy: EnergyAudit

    @property
    def closes(self) -> bool:
        """Whether the ball is home before the next cycle."""
        return math.isfinite(self.closing_time)

    @property
    def closing_lag(self) -> float:
        """Time from the piston's reversal until the ball is home, s.

        Below zero where the ball comes home while the piston still stands or slows down.
        """
        return self.closing_time - self.reversal

    @property
    def closing_lag_angle(self) -> float:
        """Closing lag as an angle of the cycle, rad."""
        return 2.0 * math.pi * self.closing_lag / self.cycle

    @property
    def opening_delay_angle(self) -> float:
        """Opening delay as an angle of the cycle, rad."""
        return 2.0 * math.pi * self.opening_delay / self.cycle


def ball_motion(
    check: BallCheck,
    fluid: Fluid,
    drive: Drive,
    *,
    discharge: float = DISCHARGE,
    added_mass: float = 0.5,
    restitution: float = 0.3,
    rest_speed: float = 0.005,
    held_back: float = 0.0,
    tolerance: float = 1e-9,
    longest_step: float = 0.02,
) -> BallMotion:
    """Follow the ball of ``check`` over one cycle of ``drive``, shut at its start.

    ``fluid`` gives the flow curve; its density is the check's. ``discharge`` is the coefficient of
    the gap, ``added_mass`` the share of the displaced fluid that moves along. ``restitution`` is
    the speed after an impact over that before; a ball that would leave slower than ``rest_speed``,
    m/s, stays. ``held_back``, m³, is swept before the check has any flow: the give of chamber and
    fluid, and what the other check let back. ``tolerance`` is the relative error of a step,
    ``longest_step`` the longest as a share of the cycle.

    Raises ValueError for a ball that nothing brings home: one that floats, or lies level.

    >>> from rebuildbook.calculators.ball_seat import ConeSeat
    >>> from rebuildbook.calculators.materials import material
    >>> from rebuildbook.calculators.flow_curve import Newtonian
    >>> from rebuildbook.calculators.stroke_flow import CrankDrive
    >>> steel = material("316")
    >>> check = BallCheck(ball=0.025, ball_material=steel, lift=0.006, closing_pressure=1e6,
    ...     seat=ConeSeat(0.016, 0.022, math.pi / 2), seat_material=steel, fluid_density=998.0)
    >>> motion = ball_motion(check, Newtonian(0.001), CrankDrive(1.0, 60e-6))
    >>> motion.closes, motion.hits_stop
    (True, False)
    """
    how = Following(restitution, rest_speed, held_back, tolerance, longest_step)
    run = Flight(_stream(check, fluid, discharge, added_mass), drive, how)
    run.follow()
    return _gather(run)


@functools.lru_cache(maxsize=64)
def _stream(check: BallCheck, fluid: Fluid, discharge: float, added_mass: float) -> BallStream:
    """Make a stream ready, once for all rates at which its ball is followed."""
    return BallStream(check, fluid, discharge, added_mass)


def drawn_back_share(
    check: BallCheck, fluid: Fluid, drive: Drive, *, tolerance: float = 1e-9
) -> float:
    """Give what `ball_motion` gives as ``back_flow_share``, but infinite for a ball out of time.

    For who seeks a rate and looks at nothing else.
    """
    how = Following(0.3, 0.005, 0.0, tolerance, 0.02)
    run = Flight(_stream(check, fluid, DISCHARGE, 0.5), drive, how)
    run.follow()
    return _back_flow(run) / drive.displacement if run.pieces[-1].shut else math.inf


def _gather(run: Flight) -> BallMotion:
    """Put the pieces of a followed cycle together."""
    stream, drive = run.stream, run.drive
    time = np.concatenate([piece.times for piece in run.pieces])
    states = np.concatenate([piece.states for piece in run.pieces])
    shut = np.concatenate([np.full(len(piece.times), piece.shut) for piece in run.pieces])
    flow = np.array([drive.flow(moment) for moment in time.tolist()])
    rows = zip(flow.tolist(), states.tolist(), shut.tolist(), strict=True)
    loss = [0.0 if on else stream.at(now, row[0], row[1])[0] for now, row, on in rows]
    lift = np.where(shut, 0.0, np.minimum(states[:, 0], stream.stop))
    back = _back_flow(run)
    last = run.pieces[-1]
    return BallMotion(
        time=time,
        lift=lift,
        speed=np.where(shut, 0.0, states[:, 1]),
        piston_flow=flow,
        gap_flow=np.where(shut, 0.0, flow - stream.area * states[:, 1]),
        pressure_loss=np.array(loss),
        cycle=drive.cycle,
        forward_end=drive.forward_end,
        reversal=drive.reversal,
        opening_delay=run.opening,
        closing_time=float(last.times[0]) if last.shut else math.inf,
        back_flow=back,
        back_flow_share=back / drive.displacement,
        impact_speed=run.blow,
        greatest_lift=min(run.highest, stream.stop),
        hits_stop=run.hits_stop,
        energy=_audit(run, states),
    )


def _audit(run: Flight, states: Floats) -> EnergyAudit:
    stream, lift = run.stream, states[:, 0]
    stored = stream.rest_force * lift + 0.5 * stream.spring_rate * lift**2
    stored -= stored[0]
    motion = 0.5 * stream.inertia * states[:, 1] ** 2
    return EnergyAudit(
        gap_work=float(run.state[2]),
        drag_work=float(run.state[3]),
        stored=float(stored[-1]),
        kinetic=float(motion[-1]),
        impacts=run.impacts,
        peak=float((stored + motion).max()),
    )


def _back_flow(run: Flight) -> float:
    """Sum what the piston swept back while the check was open, m³."""
    drive, total = run.drive, 0.0
    for piece in run.pieces:
        start, end = max(float(piece.times[0]), drive.reversal), float(piece.times[-1])
        if not piece.shut and end > start:
            total += drive.swept(start) - drive.swept(end)
    return total


def highest_rate(
    check: BallCheck,
    fluid: Fluid,
    drive: Drive,
    *,
    back_flow_share: float = 0.02,
    closing_lag_angle: float = math.inf,
    lowest: float = 0.1,
    highest: float = 20.0,
    **settings: float,
) -> float:
    """Give the highest rate, cycles/s, at which the ball still closes in time.

    In time: home before the next cycle, ``back_flow_share`` of the stroke at most drawn back, and
    ``closing_lag_angle``, rad, not passed. ``drive`` is taken at other rates, all else the same;
    ``settings`` go to `ball_motion`. Sought upward from ``lowest`` to ``highest``, cycles/s, in
    steps of a quarter: a ball that swings off its stop may be in time again at a still higher rate,
    on which no pump should rely. The highest is given back where it still serves. Raises ValueError
    where the lowest already fails.
    """
    positive("share drawn back", back_flow_share)
    positive("lowest rate, 1/s,", lowest)
    not_negative("highest less lowest rate, 1/s,", highest - lowest)

    def excess(log_rate: float) -> float:
        turned = replace(drive, rate=math.exp(log_rate))
        motion = ball_motion(check, fluid, turned, **settings)
        if not motion.closes:
            return 1.0
        lag = motion.closing_lag_angle / closing_lag_angle - 1.0
        return max(motion.back_flow_share / back_flow_share - 1.0, lag, -1.0)

    low, high = math.log(lowest), math.log(highest)
    if excess(low) > 0.0:
        raise ValueError(
            f"at {lowest:g} cycles/s the ball already closes too late; the check does not suit "
            "the fluid and the stroke"
        )
    while low < high:
        step = min(low + _STEP, high)
        if excess(step) > 0.0:
            return math.exp(brentq(excess, low, step, xtol=1e-4))  # type: ignore[no-untyped-call]
        low = step
    return highest
