"""The pressures of a relief valve: where it opens, relieves and shuts, and what it guards.

All pressures are gauge. The rules below were written for pressure vessels and are taken over for
pumps as the usual yardstick; local codes prevail.

Sources: [1] ASME BPVC VIII-1, UG-125 to UG-134 (later XIII): set tolerance and accumulation (read
in public accounts, not in the code). [2] API 520 Part I: overpressure and the effect of back
pressure (from memory). [3] I. J. Karassik et al., Pump Handbook, power pumps: set pressure above
the working pressure by 10 % for a triplex and above, by 25 % for a duplex double-acting pump (read
in a public account).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from rebuildbook.calculators.relief_capacity import Edition
from rebuildbook.units import factor, quantities

PSI = factor("psi")[0]
SLACK = 1e-9  # rounding noise, so that "just at the limit" counts as within it


@quantities("Pa", set_pressure="Pa")
def set_tolerance(set_pressure: Any) -> Any:
    """How far a valve may open from its set pressure, either way (Pa) [1].

    2 psi up to and including 70 psi, 3 % above. ``set_pressure`` (Pa).

    >>> [f"{set_tolerance(p).to('psi').magnitude:.2f}" for p in ("60 psi", "70 psi", "200 psi")]
    ['2.00', '2.00', '6.00']
    """
    low = np.less_equal(set_pressure, 70.0 * PSI * (1.0 + SLACK))
    return np.where(low, 2.0 * PSI, 0.03 * np.asarray(set_pressure))[()]


@quantities("Pa", pressure="Pa", share="", least="Pa")
def pressure_rise(pressure: Any, share: Any = 0.10, least: Any = 3.0 * PSI) -> Any:
    """Rise of pressure while a valve relieves: ``share`` of it, or ``least`` (Pa) if more [1].

    Above the set pressure it is the overpressure that brings a liquid valve full open; above the
    maximum working pressure it is the accumulation a part is allowed meanwhile.

    >>> [f"{pressure_rise(p).to('psi').magnitude:.2f}" for p in ("20 psi", "250 psi")]
    ['3.00', '25.00']
    """
    return np.maximum(np.asarray(pressure) * share, least)[()]


@quantities("Pa", set_pressure="Pa", blowdown="")
def reseat_pressure(set_pressure: Any, blowdown: Any) -> Any:
    """Pressure at which an open valve shuts again, pr = ps (1 − b) (Pa).

    ``set_pressure`` ps (Pa), ``blowdown`` b as a share of it, from 0 up to but not 1.

    >>> round(reseat_pressure("100 psi", 0.15).to("psi").magnitude, 6)
    85.0
    """
    if not np.all(np.greater_equal(blowdown, 0.0) & np.less(blowdown, 1.0)):
        raise ValueError(f"blowdown is {blowdown}; it must be from 0 up to but not 1")
    return set_pressure * (1.0 - blowdown)


@dataclass(frozen=True, slots=True)
class PressureLimit:
    """What one pressure part stands, Pa; ``test_pressure`` where the maker gives one."""

    name: str
    max_working_pressure: float
    test_pressure: float | None = None


@dataclass(frozen=True, slots=True)
class ReliefRules:
    """The thresholds, each with where it comes from.

    ``accumulation_share`` and ``accumulation_least`` (Pa): rise a part is allowed while the valve
    relieves [1]. ``headroom``: set above the working pressure, share of the latter [3].
    ``reseat_margin``: reseat above the working pressure, share of the latter; common practice, no
    source. ``edition`` of the viscosity correction [2].
    """

    accumulation_share: float = 0.10
    accumulation_least: float = 3.0 * PSI
    headroom: float = 0.10
    reseat_margin: float = 0.05
    edition: Edition = "10"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReliefInputs:
    """All that is known, in SI units and gauge pressure; None where it is not known.

    ``set_planned`` is the set pressure asked for and ``set_read`` the one read on the bench, which
    goes before it; the tolerance stays on a reading, as gauge and valve both scatter. ``set_low``
    and ``set_high`` replace the tolerance by a known band. ``tolerance``, ``overpressure`` and
    ``blowdown`` are shares of the set pressure, given where the maker differs from the rules.
    ``back_pressure`` stands behind the valve; unless ``balanced`` it adds to what opens the valve.
    ``stall`` is at the supply in hand and ``stall_max`` at the most the line could give; infinite
    where the drive does not stall. ``largest_flow`` (m³/s) is the mean at the highest rate without
    slip, ``peak_factor`` the peak of its pulsation over it.
    """

    fitted: bool = True
    parts: tuple[PressureLimit, ...] = ()
    working: float | None = None
    set_planned: float | None = None
    set_read: float | None = None
    set_low: float | None = None
    set_high: float | None = None
    tolerance: float | None = None
    overpressure: float | None = None
    blowdown: float | None = None
    reseat_read: float | None = None
    range_low: float | None = None
    range_high: float | None = None
    balanced: bool = False
    back_pressure: float = 0.0
    stall: float | None = None
    stall_max: float | None = None
    test: float | None = None
    orifice_area: float | None = None
    discharge_coefficient: float | None = None
    density: float | None = None
    viscosity: float | None = None
    largest_flow: float | None = None
    peak_factor: float = 1.0

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if isinstance(value, float | int) and not value >= 0.0:
                raise ValueError(f"{field.name} is {value}; it must be zero or above")
            if value == math.inf and field.name not in {"stall", "stall_max"}:
                raise ValueError(f"{field.name} is infinite; only a stall pressure can be")
        if self.peak_factor < 1.0:
            raise ValueError(f"peak_factor is {self.peak_factor}; peak over mean is 1 or more")
        for name in ("tolerance", "blowdown"):
            if (getattr(self, name) or 0.0) >= 1.0:
                raise ValueError(f"{name} is {getattr(self, name)}; a share is below 1")
        for low, high in (("set_low", "set_high"), ("range_low", "range_high")):
            _check_pair(low, getattr(self, low), high, getattr(self, high))


@dataclass(frozen=True, slots=True)
class ReliefPressures:
    """The pressures that follow, Pa; None where something is missing.

    ``opens_low`` and ``opens_high`` bound where the valve opens in service; ``relieving`` is the
    highest at full relief, ``reseat`` the lowest at which it shuts.
    """

    set: float | None
    tolerance: float | None
    opens_low: float | None
    opens_high: float | None
    relieving: float | None
    reseat: float | None
    weakest: PressureLimit | None
    accumulated: float | None
    test_limit: PressureLimit | None


def relief_pressures(given: ReliefInputs, rules: ReliefRules | None = None) -> ReliefPressures:
    """Work out the pressures of the valve and the weakest parts.

    The set in hand is the one read, else the one planned. A conventional valve opens at its bench
    set plus the back pressure that stands behind it, so the upper bound takes that in; the lower
    does not, as the back pressure may be gone. A part without a test pressure counts with its
    working pressure.

    >>> at = relief_pressures(ReliefInputs(set_planned=100 * PSI, blowdown=0.1))
    >>> [round(p / PSI, 1) for p in (at.opens_low, at.opens_high, at.relieving, at.reseat)]
    [97.0, 103.0, 113.3, 87.3]
    """
    rules = rules or ReliefRules()
    level = given.set_read if given.set_read is not None else given.set_planned
    tolerance = _tolerance(given, level)
    low, high = _band(given, level, tolerance)
    relieving = None if high is None else high + _rise(given, high)
    weakest = min(given.parts, key=lambda part: part.max_working_pressure, default=None)
    accumulated = None
    if weakest is not None:
        limit = weakest.max_working_pressure
        rise = pressure_rise.si(limit, rules.accumulation_share, rules.accumulation_least)
        accumulated = limit + float(rise)
    test_limit = min(given.parts, key=limit_in_test, default=None)
    return ReliefPressures(
        level,
        tolerance,
        low,
        high,
        relieving,
        _reseat(given, low),
        weakest,
        accumulated,
        test_limit,
    )


def limit_in_test(part: PressureLimit) -> float:
    """The highest test pressure of a part (Pa): the maker's, else its working pressure."""
    return part.max_working_pressure if part.test_pressure is None else part.test_pressure


def least_relieving(given: ReliefInputs, opens_low: float) -> float:
    """Relieving pressure (Pa) of a valve that opens at ``opens_low``: the least to count on."""
    return opens_low + _rise(given, opens_low)


def _tolerance(given: ReliefInputs, level: float | None) -> float | None:
    if level is None:
        return None
    return float(set_tolerance.si(level)) if given.tolerance is None else level * given.tolerance


def _band(
    given: ReliefInputs, level: float | None, tolerance: float | None
) -> tuple[float | None, float | None]:
    low, high = given.set_low, given.set_high
    if level is not None and tolerance is not None:
        low = max(level - tolerance, 0.0) if low is None else low
        high = level + tolerance if high is None else high
    if high is not None and not given.balanced:
        high += given.back_pressure
    return low, high


def _rise(given: ReliefInputs, opens: float) -> float:
    if given.overpressure is not None:
        return opens * given.overpressure
    return float(pressure_rise.si(opens))


def _reseat(given: ReliefInputs, low: float | None) -> float | None:
    if given.reseat_read is not None:
        return given.reseat_read
    if low is None or given.blowdown is None:
        return None
    return float(reseat_pressure.si(low, given.blowdown))


def _check_pair(low_name: str, low: float | None, high_name: str, high: float | None) -> None:
    if low is not None and high is not None and low > high:
        raise ValueError(f"{low_name} is {low} and {high_name} is {high}; the low one is larger")
