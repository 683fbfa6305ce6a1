"""A relief valve as it is piped: what it passes behind its lines, and how high the pump then goes.

A valve that passes enough on the bench may not do so in place. Loss in the inlet line takes from
the pressure under the disc, back pressure stands on top of it, and a thick liquid slows both. All
pressures are gauge. This checks a valve; it never sets one.

The lift is taken as straight from nothing at the opening pressure to full at set and overpressure.
Left out: the inertia of the liquid in the inlet line under a pulsating flow, and flashing.

Sources: [1] API 520 Part I, back pressure on conventional and balanced valves, balanced-bellows
factor for liquids at 10 % overpressure; its chart as tabulated in the library fluids. [2] API 520
Part II, inlet loss at rated capacity at most 3 % of the set pressure (read in public accounts).
[3] S. W. Churchill (1977), friction factor for all regimes, as given in the library fluids.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import brentq

from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.calculators.relief_capacity import (
    CERTIFIED_COEFFICIENT,
    Edition,
    ReliefCapacity,
    relief_capacity,
    relief_flow,
)
from rebuildbook.calculators.relief_pressures import SLACK, pressure_rise
from rebuildbook.units import quantities

INLET_SHARE = 0.03  # of the set pressure, largest inlet loss [2]
LEAST_FLOW_SHARE = 0.25  # of the capacity; below it a valve hunts (common practice, no source)
CHART_END = 0.50  # back pressure over set pressure where the chart of a balanced valve ends [1]
_KNEE = 0.165  # where the falling line of that chart begins
_STEPS = 60  # halvings or doublings of a search


@quantities("", back_share="")
def back_pressure_factor(back_share: Any) -> Any:
    """Factor Kw of a balanced valve on liquid, 1 up to b = 0.165, then 1.165 − b [1].

    ``back_share`` b is all back pressure over the set pressure, both gauge, from 0 to 0.5, where
    the chart ends. The two lines are ours; they lie at most 0.004 above the chart, 0.009 below.

    >>> f"{back_pressure_factor.si(0.20):.3f}"  # [1] example 5: 0.97 at 50 psi on 250 psi
    '0.965'
    """
    return _balanced_factor(within("back pressure share", back_share, 0.0, CHART_END))


@quantities("", reynolds="", relative_roughness="")
def friction_factor(reynolds: Any, relative_roughness: Any = 0.0) -> Any:
    """Darcy friction factor, laminar through turbulent, f = 8 ((8/Re)¹² + (A + B)^−1.5)^(1/12) [3].

    A = (2.457 ln(1/((7/Re)^0.9 + 0.27 ε/D)))¹⁶, B = (37 530/Re)¹⁶. ``reynolds`` Re above zero,
    ``relative_roughness`` ε/D from 0 to 0.05. Without a jump where the flow turns turbulent, as
    the search for the flow that valve and lines agree on needs it.

    >>> f"{friction_factor.si(100.0):.3f}, {friction_factor.si(1e5, 1e-3):.4f}"  # 64/Re; rough
    '0.640, 0.0223'
    """
    number = positive("Reynolds number", reynolds)
    rough = within("relative roughness", relative_roughness, 0.0, 0.05)
    turbulent = np.maximum(number, 1.0)  # below 1 the laminar term stands alone
    a = (2.457 * np.log(1.0 / ((7.0 / turbulent) ** 0.9 + 0.27 * rough))) ** 16
    b = (37_530.0 / turbulent) ** 16
    mixed = 8.0 * ((8.0 / turbulent) ** 12 + (a + b) ** -1.5) ** (1.0 / 12.0)
    return np.where(np.less(number, 1.0), 64.0 / number, mixed)[()]


@dataclass(frozen=True, slots=True)
class Liquid:
    """A liquid: ``density`` kg/m³ and ``viscosity`` Pa·s.

    For a liquid that thins or thickens as it moves, ``viscosity`` is a function that gives the
    apparent viscosity (Pa·s) at a shear rate (1/s), such as ``rheology.apparent_viscosity`` of its
    flow curve. It is taken at the Newtonian rate 8 v/D, without correction for the profile.
    """

    density: float
    viscosity: float | Callable[[float], float]

    def __post_init__(self) -> None:
        positive("density", self.density)
        if not callable(self.viscosity):
            positive("viscosity", self.viscosity)

    def viscosity_at(self, flow: float, area: float) -> float:
        """Viscosity (Pa·s) at ``flow`` (m³/s) through a round hole of ``area`` (m²)."""
        if not callable(self.viscosity):
            return self.viscosity
        rate = 8.0 * flow / (area * math.sqrt(4.0 * area / math.pi))
        return float(positive("apparent viscosity", self.viscosity(rate)))


@dataclass(frozen=True, slots=True)
class Pipe:
    """A line to or from the valve: ``bore``, ``length``, ``roughness`` in m.

    ``fittings`` is the sum of the loss factors K of entry, bends, valves and exit, on the velocity
    in the bore.
    """

    bore: float
    length: float
    fittings: float = 0.0
    roughness: float = 0.0

    def __post_init__(self) -> None:
        positive("bore of the line", self.bore)
        not_negative("length of the line", self.length)
        not_negative("loss factor of the fittings", self.fittings)
        within("roughness over bore", self.roughness / self.bore, 0.0, 0.05)

    def loss(self, flow: float, liquid: Liquid) -> float:
        """Friction loss (Pa) at ``flow`` (m³/s): (f L/D + K) ρ v²/2 (Darcy and Weisbach)."""
        if not_negative("flow", flow) == 0.0:
            return 0.0
        area = math.pi / 4.0 * self.bore**2
        speed = flow / area
        reynolds = liquid.density * speed * self.bore / liquid.viscosity_at(flow, area)
        friction = float(friction_factor.si(reynolds, self.roughness / self.bore))
        factor = friction * self.length / self.bore + self.fittings
        return factor * liquid.density * speed**2 / 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class InstalledValve:
    """A relief valve in its place; SI units, pressures gauge.

    ``bench_set`` is what it opens at with nothing behind it, ``area`` its effective orifice,
    ``overpressure`` the share above set at which it is full open (None: 10 % or 3 psi),
    ``back_pressure`` the superimposed one, there before it opens; ``balanced`` if a bellows keeps
    that off the disc. ``inlet`` and ``outlet`` are its lines, None for a valve with none.
    """

    bench_set: float
    area: float
    discharge_coefficient: float = CERTIFIED_COEFFICIENT
    overpressure: float | None = None
    blowdown: float | None = None
    balanced: bool = False
    back_pressure: float = 0.0
    inlet: Pipe | None = None
    outlet: Pipe | None = None
    edition: Edition = "10"

    def __post_init__(self) -> None:
        positive("set pressure", self.bench_set)
        positive("orifice area", self.area)
        not_negative("back pressure", self.back_pressure)
        if self.overpressure is not None:
            positive("overpressure", self.overpressure)
        if self.blowdown is not None:
            within("blowdown", self.blowdown, 0.0, 1.0)

    @property
    def opens(self) -> float:
        """Where it opens (Pa): superimposed back pressure adds to a conventional valve's set."""
        return self.bench_set + (0.0 if self.balanced else self.back_pressure)

    @property
    def rise(self) -> float:
        """Pressure from opening to full lift, Pa."""
        if self.overpressure is not None:
            return self.opens * self.overpressure
        return float(pressure_rise.si(self.opens))

    def lift(self, inlet_pressure: float, built_up: float = 0.0) -> float:
        """Share of full lift; built-up back pressure presses a conventional valve shut; Pa."""
        against = 0.0 if self.balanced else built_up
        return min(max((inlet_pressure - self.opens - against) / self.rise, 0.0), 1.0)


def valve_flow(
    valve: InstalledValve, liquid: Liquid, inlet_pressure: float, built_up: float = 0.0
) -> ReliefCapacity:
    """What the valve passes with ``inlet_pressure`` right under it and ``built_up`` behind it (Pa).

    The lift opens its share of the orifice; the viscosity correction is taken at the flow that
    results, and an apparent viscosity at the shear rate of that flow.

    >>> water = Liquid(1000.0, 1e-3)
    >>> valve = InstalledValve(bench_set=6e5, area=71e-6)
    >>> [round(valve_flow(valve, water, p).flow * 60_000, 1) for p in (6e5, 6.3e5, 6.6e5)]
    [0.0, 49.1, 100.6]
    """
    lift = valve.lift(inlet_pressure, built_up)
    behind = valve.back_pressure + not_negative("built-up back pressure", built_up)
    drop = inlet_pressure - behind
    if lift == 0.0 or drop <= 0.0:
        return ReliefCapacity(0.0, 0.0, 0.0)
    area, coefficient = valve.area * lift, valve.discharge_coefficient
    if valve.balanced:
        coefficient *= _balanced_factor(behind / valve.bench_set)

    def passes(viscosity: float) -> ReliefCapacity:
        return relief_capacity(
            area, drop, liquid.density, viscosity, discharge_coefficient=coefficient,
            edition=valve.edition,
        )  # fmt: skip

    if not callable(liquid.viscosity):
        return passes(liquid.viscosity)
    most = float(relief_flow.si(area, drop, liquid.density, discharge_coefficient=coefficient))

    def left(flow: float) -> float:
        return passes(liquid.viscosity_at(flow, area)).flow - flow

    for halving in range(1, _STEPS):  # from the top, so that the largest answer is found
        low = most * 0.5**halving
        if left(low) > 0.0:
            return passes(liquid.viscosity_at(_root(left, low, 2.0 * low), area))
    return ReliefCapacity(0.0, 0.0, 0.0)  # too thick to come through at all


@dataclass(frozen=True, slots=True)
class InstalledCapacity:
    """What an installed valve passes with its opening pressure plus overpressure at the pump.

    ``rated`` is the full-lift flow without the lines, ``flow`` what is left with them (m³/s);
    ``inlet_loss`` and ``built_up`` (Pa) go with ``flow``, ``rated_inlet_loss`` and
    ``rated_built_up`` with ``rated``. ``lift`` is a share.
    """

    relieving: float
    rated: float
    flow: float
    reynolds: float
    viscosity_factor: float
    lift: float
    inlet_loss: float
    built_up: float
    rated_inlet_loss: float
    rated_built_up: float


def installed_capacity(valve: InstalledValve, liquid: Liquid) -> InstalledCapacity:
    """Find the flow that the valve and its lines agree on, at set plus overpressure.

    Raises ValueError for a balanced valve with more back pressure than its chart covers.

    >>> slip = Liquid(1650.0, 0.5)
    >>> bare = installed_capacity(InstalledValve(bench_set=6e5, area=71e-6), slip)
    >>> piped = InstalledValve(bench_set=6e5, area=71e-6, inlet=Pipe(0.025, 0.5, fittings=1.0))
    >>> [round(c.flow * 60_000, 1) for c in (bare, installed_capacity(piped, slip))]
    [67.6, 42.6]
    """
    relieving = valve.opens + valve.rise
    rated = valve_flow(valve, liquid, relieving).flow

    def found(flow: float) -> ReliefCapacity:
        under = relieving - _loss(valve.inlet, flow, liquid)
        return valve_flow(valve, liquid, under, _loss(valve.outlet, flow, liquid))

    flow = rated
    if rated > 0.0 and found(rated).flow < rated:
        flow = _root(lambda q: found(q).flow - q, 0.0, rated)
    at, built_up = found(flow), _loss(valve.outlet, flow, liquid)
    inlet_loss = _loss(valve.inlet, flow, liquid)
    _check_chart(valve, built_up)
    return InstalledCapacity(
        relieving, rated, flow, at.reynolds, at.viscosity_factor,
        valve.lift(relieving - inlet_loss, built_up), inlet_loss, built_up,
        _loss(valve.inlet, rated, liquid), _loss(valve.outlet, rated, liquid),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Accumulation:
    """How high the pump goes while the valve takes its flow; Pa, ``lift`` a share."""

    pressure: float
    under_valve: float
    inlet_loss: float
    built_up: float
    lift: float


def accumulated_pressure(valve: InstalledValve, liquid: Liquid, pump_flow: float) -> Accumulation:
    """Find the pressure at the pump at which the valve passes all of ``pump_flow`` (m³/s).

    Take the pump's largest flow, with its peak if the pipework does not smooth it. A valve too
    small for the flow is carried beyond its full lift, so the answer then lies above set plus
    overpressure. Raises ValueError where no pressure gets the flow through.

    >>> valve, water = InstalledValve(bench_set=6e5, area=71e-6), Liquid(1000.0, 1e-3)
    >>> [round(accumulated_pressure(valve, water, q / 60_000).pressure / 1e5, 2) for q in (50, 200)]
    [6.31, 26.09]
    """
    positive("pump flow", pump_flow)
    inlet_loss = _loss(valve.inlet, pump_flow, liquid)
    built_up = _loss(valve.outlet, pump_flow, liquid)
    _check_chart(valve, built_up)

    def spare(under: float) -> float:
        return valve_flow(valve, liquid, under, built_up).flow - pump_flow

    shut = valve.opens + (0.0 if valve.balanced else built_up)
    reach = valve.rise
    for _ in range(_STEPS):
        if spare(shut + reach) >= 0.0:
            break
        reach *= 2.0
    else:
        raise ValueError(f"the valve does not pass {pump_flow:g} m³/s of this liquid")
    under = _root(spare, shut, shut + reach)
    lift = valve.lift(under, built_up)
    return Accumulation(under + inlet_loss, under, inlet_loss, built_up, lift)


@dataclass(frozen=True, slots=True)
class ChatterRisk:
    """Why a valve may chatter: shares, and ``reasons`` in words, none where nothing speaks for it.

    ``inlet_share`` and ``built_up_share`` are losses at rated flow over the bench set pressure;
    ``flow_share`` is the pump's flow over the rated flow, None where the pump's is not known.
    """

    inlet_share: float
    built_up_share: float
    flow_share: float | None
    reasons: tuple[str, ...]

    @property
    def flagged(self) -> bool:
        """Whether any reason was found."""
        return bool(self.reasons)


def chatter_risk(
    valve: InstalledValve, liquid: Liquid, pump_flow: float | None = None
) -> ChatterRisk:
    """Look for what makes a valve open and shut in quick turn, at the flow it is rated for.

    Inlet loss above 3 % of set [2] or above the blowdown; on a conventional valve a built-up back
    pressure above the overpressure [1]; on a balanced one more back pressure than its chart
    covers; a pump that gives less than a quarter of the rated flow. ``pump_flow`` in m³/s.

    >>> long_inlet = InstalledValve(bench_set=6e5, area=71e-6, inlet=Pipe(0.015, 2.0, 3.0))
    >>> chatter_risk(long_inlet, Liquid(1000.0, 1e-3)).reasons
    ('inlet loss above 3 % of the set pressure',)
    """
    rated = valve_flow(valve, liquid, valve.opens + valve.rise).flow
    inlet, built_up = _loss(valve.inlet, rated, liquid), _loss(valve.outlet, rated, liquid)
    share = inlet / valve.bench_set
    flow_share = None
    if pump_flow is not None and rated > 0.0:
        flow_share = not_negative("pump flow", pump_flow) / rated
    whole = (valve.back_pressure + built_up) / valve.bench_set
    found = {
        "inlet loss above 3 % of the set pressure": share > INLET_SHARE * (1.0 + SLACK),
        "inlet loss above the blowdown": valve.blowdown is not None and share > valve.blowdown,
        "built-up back pressure above the overpressure": not valve.balanced
        and built_up > valve.rise * (1.0 + SLACK),
        "more back pressure than a balanced valve takes": valve.balanced and whole > CHART_END,
        "pump flow below a quarter of the rated flow": flow_share is not None
        and flow_share < LEAST_FLOW_SHARE,
    }
    reasons = tuple(words for words, holds in found.items() if holds)
    return ChatterRisk(share, built_up / valve.bench_set, flow_share, reasons)


def _balanced_factor(share: Any) -> Any:
    """The factor's two lines, carried on past the chart so that a search can pass through."""
    return np.clip(1.0 - (np.asarray(share) - _KNEE), 1e-6, 1.0)[()]


def _root(function: Callable[[float], float], low: float, high: float) -> float:
    return float(brentq(function, low, high, xtol=high * 1e-13))  # type: ignore[no-untyped-call]


def _loss(pipe: Pipe | None, flow: float, liquid: Liquid) -> float:
    return 0.0 if pipe is None else pipe.loss(flow, liquid)


def _check_chart(valve: InstalledValve, built_up: float) -> None:
    share = (valve.back_pressure + built_up) / valve.bench_set
    if valve.balanced and share > CHART_END:
        raise ValueError(
            f"back pressure is {100 * share:.0f} % of the set pressure; the chart ends at 50 %"
        )
