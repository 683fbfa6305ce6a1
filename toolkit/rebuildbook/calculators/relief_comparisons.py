"""The comparisons of a relief check, one function each, in the order a person reads them.

Numbers stand apart from words, so that a worksheet writes them in the shop's units. The rules
behind the numbers, with their sources, are in ``relief_pressures`` and ``relief_capacity``.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from rebuildbook.calculators.relief_capacity import ReliefCapacity
from rebuildbook.calculators.relief_pressures import (
    SLACK,
    PressureLimit,
    ReliefInputs,
    ReliefPressures,
    ReliefRules,
    limit_in_test,
    set_tolerance,
)

Level = Literal["clear", "query", "hold"]
LEVELS: tuple[Level, ...] = ("hold", "query", "clear")

_CODE = "ASME BPVC VIII-1 UG-125 and UG-134 (from public accounts)"
_CAPACITY = "API 520 Part I, liquid relief"
_HANDBOOK = "Pump Handbook, power pumps, relief valves (from a public account)"
_PRACTICE = "common practice, no source"
_BALANCE = "balance of forces on the drive"
_SHEET = "limits of the model sheet"


@dataclass(frozen=True, slots=True)
class Comparison:
    """One comparison: ``left`` against ``right`` in SI units of ``dimension``.

    ``margin`` is in the same unit and positive on the safe side. What is missing is None.
    """

    id: str
    what: str
    left_name: str
    left: float | None
    right_name: str
    right: float | None
    margin: float | None
    level: Level
    words: str
    source: str
    dimension: Literal["pressure", "flow"] = "pressure"


def compare_relief(
    given: ReliefInputs, at: ReliefPressures, rules: ReliefRules, capacity: ReliefCapacity | None
) -> tuple[Comparison, ...]:
    """Make every comparison that counts; a pump without a valve has fewer."""
    case = _Case(given, at, rules, capacity)
    chosen = _WITH_VALVE if given.fitted else _WITHOUT_VALVE
    return tuple(compare(case) for compare in chosen)


@dataclass(frozen=True, slots=True)
class _Case:
    given: ReliefInputs
    at: ReliefPressures
    rules: ReliefRules
    capacity: ReliefCapacity | None


@dataclass(frozen=True, slots=True)
class _Ask:
    """What a comparison asks, before its answer is known."""

    id: str
    what: str
    left_name: str
    right_name: str
    source: str
    dimension: Literal["pressure", "flow"] = "pressure"

    def because(
        self,
        left: float | None,
        right: float | None,
        margin: float | None,
        level: Level,
        words: str,
    ) -> Comparison:
        return Comparison(
            self.id, self.what, self.left_name, left, self.right_name, right, margin, level, words,
            self.source, self.dimension,
        )  # fmt: skip

    def at_most(self, left: float, right: float, good: str, bad: str) -> Comparison:
        """Left has to stay within right, else the pump does not run."""
        within = left <= right * (1.0 + SLACK)
        level: Level = "clear" if within else "hold"
        return self.because(left, right, right - left, level, good if within else bad)

    def at_least(self, left: float, right: float, good: str, bad: str) -> Comparison:
        """Left ought to reach right, else somebody decides."""
        reached = left >= right * (1.0 - SLACK)
        level: Level = "clear" if reached else "query"
        return self.because(left, right, left - right, level, good if reached else bad)

    def missing(self, *needed: tuple[str, object]) -> Comparison:
        lacking = " and ".join(name for name, value in needed if value is None)
        return self.because(None, None, None, "query", f"Not checked: {lacking} missing.")


def _name(part: PressureLimit | None) -> str:
    return "the weakest part" if part is None else part.name


def _set_limit(case: _Case) -> Comparison:
    at, limit = case.at, case.at.weakest
    ask = _Ask(
        "set-vs-limit", "opening pressure and weakest part", "highest opening pressure",
        f"limit of {_name(limit)}", _CODE,
    )  # fmt: skip
    if at.opens_high is None or limit is None:
        return ask.missing(("set pressure", at.set), ("limits of the parts", limit))
    above = at.set is not None and at.set > limit.max_working_pressure
    return ask.at_most(
        at.opens_high,
        limit.max_working_pressure,
        "The valve opens before the weakest part reaches its limit.",
        "The set pressure is above the limit of the weakest part. The pump does not run like this."
        if above
        else "The set pressure is within the limit, but with its tolerance and the back pressure "
        "the valve may open above it.",
    )


def _relieving_limit(case: _Case) -> Comparison:
    at = case.at
    ask = _Ask(
        "relieving-vs-limit", "pressure at full relief and weakest part",
        "set with tolerance and overpressure", f"limit of {_name(at.weakest)} while relieving",
        _CODE,
    )  # fmt: skip
    if at.relieving is None or at.accumulated is None:
        return ask.missing(("set pressure", at.set), ("limits of the parts", at.weakest))
    return ask.at_most(
        at.relieving,
        at.accumulated,
        "At full relief the pressure stays within what the weakest part is allowed meanwhile.",
        "While the valve relieves, the pressure goes above what the weakest part is allowed.",
    )


def _headroom(case: _Case) -> Comparison:
    at, working = case.at, case.given.working
    ask = _Ask(
        "set-vs-working", "opening pressure and working pressure", "lowest opening pressure",
        "working pressure with headroom", _HANDBOOK,
    )  # fmt: skip
    if at.opens_low is None or working is None:
        return ask.missing(("set pressure", at.set), ("working pressure", working))
    if at.opens_low <= working * (1.0 + SLACK):
        words = "The valve may open at the working pressure: it would weep and wear its seat."
        return ask.because(at.opens_low, working, at.opens_low - working, "hold", words)
    return ask.at_least(
        at.opens_low,
        working * (1.0 + case.rules.headroom),
        "The valve stays shut at the working pressure.",
        "The set is close to the working pressure; pulsation may lift the valve.",
    )


def _reseat(case: _Case) -> Comparison:
    at, working = case.at, case.given.working
    ask = _Ask(
        "reseat-vs-working", "reseat pressure and working pressure", "lowest reseat pressure",
        "working pressure with margin", _PRACTICE,
    )  # fmt: skip
    if at.reseat is None or working is None:
        known = at.reseat if case.given.blowdown is None else case.given.blowdown
        return ask.missing(
            ("set pressure", at.opens_low), ("blowdown or reseat pressure", known),
            ("working pressure", working),
        )  # fmt: skip
    return ask.at_least(
        at.reseat,
        working * (1.0 + case.rules.reseat_margin),
        "Once open, the valve shuts again at the working pressure.",
        "Once open, the valve may not shut again while the pump works.",
    )


def _stall_limit(case: _Case) -> Comparison:
    given, limit = case.given, case.at.weakest
    ask = _Ask(
        "stall-vs-limit", "highest stall pressure and weakest part", "highest stall pressure",
        f"limit of {_name(limit)}", _BALANCE,
    )  # fmt: skip
    stalls = [p for p in (given.stall, given.stall_max) if p is not None]
    if limit is None or not stalls:
        stall = stalls[0] if stalls else None
        return ask.missing(("stall pressure", stall), ("limits of the parts", limit))
    worst, most = max(stalls), limit.max_working_pressure
    if worst > most * (1.0 + SLACK):
        start = (
            "The drive does not stall" if math.isinf(worst) else "The drive can push past the limit"
        )
        if not given.fitted:
            words = f"{start} and no relief valve is fitted."
            return ask.because(worst, most, most - worst, "hold", words)
        words = f"{start}; the relief valve is what protects the pump."
        return ask.because(worst, most, None, "clear", words)
    if given.stall_max is None and not given.fitted:
        words = (
            "The drive stays within the limit at the supply in hand; the most that the line could "
            "give is not known, and no relief valve is fitted."
        )
        return ask.because(worst, most, most - worst, "query", words)
    words = "The drive stops before the weakest part reaches its limit."
    return ask.because(worst, most, most - worst, "clear", words)


def _stall_set(case: _Case) -> Comparison:
    given, at = case.given, case.at
    ask = _Ask(
        "stall-vs-set", "stall pressure and opening pressure", "stall at the supply in hand",
        "lowest opening pressure", _BALANCE,
    )  # fmt: skip
    if given.stall is None or at.opens_low is None or at.opens_high is None:
        return ask.missing(("stall pressure", given.stall), ("set pressure", at.set))
    stall, low, high = given.stall, at.opens_low, at.opens_high
    sole = (
        at.weakest is not None
        and given.stall_max is not None
        and given.stall_max > at.weakest.max_working_pressure
    )
    level: Level = "query"
    if stall > high:
        level, words = "clear", "With the outlet shut, the valve opens before the drive stalls."
    elif stall >= low:
        words = "With the outlet shut, the valve may or may not open; it may weep."
    elif sole:
        words = (
            "At the supply in hand the valve never opens, so nothing in service shows that it "
            "works. At the most that the line could give it is the only protection: have it "
            "proved on the bench."
        )
    else:
        level = "clear"
        words = "The drive stops before the valve opens: the drive limits, the valve stands by."
    return ask.because(stall, low, max(low - stall, stall - high), level, words)


def _test_set(case: _Case) -> Comparison:
    test, low = case.given.test, case.at.opens_low
    ask = _Ask(
        "test-vs-set", "test pressure and opening pressure", "test pressure",
        "lowest opening pressure", _PRACTICE,
    )  # fmt: skip
    if test is None or low is None:
        return ask.missing(("test pressure", test), ("set pressure", case.at.set))
    if test < low:
        return ask.because(test, low, low - test, "clear", "The test does not lift the valve.")
    words = (
        "The test may lift the relief valve. How the valve is kept out of the test is for a "
        "qualified person, by the maker's procedure; it is back in place and checked before the "
        "pump runs."
    )
    return ask.because(test, low, low - test, "query", words)


def _test_limit(case: _Case) -> Comparison:
    test, part = case.given.test, case.at.test_limit
    ask = _Ask(
        "test-vs-limit", "test pressure and weakest part", "test pressure",
        f"test limit of {_name(part)}", _SHEET,
    )  # fmt: skip
    if test is None or part is None:
        return ask.missing(("test pressure", test), ("limits of the parts", part))
    given = part.test_pressure is not None
    return ask.at_most(
        test,
        limit_in_test(part),
        "No part is tested above what it stands.",
        "The test goes above what the weakest part stands in a test."
        if given
        else "No test pressure is given for the weakest part, and the test goes above its working "
        "limit.",
    )


def _flow(case: _Case) -> Comparison:
    given, capacity = case.given, case.capacity
    ask = _Ask(
        "capacity", "capacity of the valve and largest flow", "capacity of the valve",
        "largest flow of the pump", _CAPACITY, "flow",
    )  # fmt: skip
    flow = given.largest_flow
    if capacity is None or flow is None:
        return ask.missing(
            ("set pressure", case.at.set), ("orifice area", given.orifice_area),
            ("density", given.density), ("viscosity", given.viscosity), ("largest flow", flow),
        )  # fmt: skip
    level: Level = "query"
    if capacity.flow < flow * (1.0 - SLACK):
        level = "hold"
        words = "The valve cannot pass all that the pump can send; the pressure would rise on."
    elif capacity.flow < flow * given.peak_factor * (1.0 - SLACK):
        words = (
            "The valve passes the mean flow but not its peaks: without a damper the pressure "
            "overshoots on every stroke."
        )
    elif not capacity.established:
        words = "The liquid is thicker than the viscosity correction was made for; ask the maker."
    elif given.discharge_coefficient is None:
        words = (
            "The valve is large enough with a usual discharge coefficient; its own is not given."
        )
    else:
        level, words = "clear", "The valve passes all that the pump can send."
    return ask.because(capacity.flow, flow, capacity.flow - flow, level, words)


def _range(case: _Case) -> Comparison:
    given = case.given
    ask = _Ask(
        "set-in-range", "set pressure and range of the valve", "set pressure",
        "nearer end of the range", "range of the model sheet",
    )  # fmt: skip
    sets = [p for p in (given.set_read, given.set_planned) if p is not None]
    low, high = given.range_low, given.range_high
    if low is None or high is None or not sets:
        return ask.missing(
            ("set pressure", case.at.set), ("range of the valve", None if low is None else high)
        )

    def room(level: float) -> float:
        return min(level - low, high - level)

    worst = min(sets, key=room)
    end = low if worst - low < high - worst else high
    if room(worst) >= -SLACK * high:
        words = "The set pressure lies within the range of the valve's spring."
        return ask.because(worst, end, room(worst), "clear", words)
    words = "The set pressure is outside the range of the valve's spring: wrong valve or spring."
    return ask.because(worst, end, room(worst), "hold", words)


def _reading(case: _Case) -> Comparison:
    read, planned = case.given.set_read, case.given.set_planned
    ask = _Ask(
        "read-vs-planned", "set pressure as read and as planned", "as read", "as planned", _CODE
    )
    if read is None or planned is None:
        return ask.missing(("set pressure as read", read), ("set pressure as planned", planned))
    share = case.given.tolerance
    tolerance = float(set_tolerance.si(planned)) if share is None else planned * share
    margin = tolerance - abs(read - planned)
    if margin >= -SLACK * planned:
        words = "The valve was read within its tolerance of the planned set."
        return ask.because(read, planned, margin, "clear", words)
    words = "The valve was read outside its tolerance of the planned set: have it set again."
    return ask.because(read, planned, margin, "query", words)


def _working(case: _Case) -> Comparison:
    working, limit = case.given.working, case.at.weakest
    ask = _Ask(
        "working-vs-limit", "working pressure and weakest part", "working pressure",
        f"limit of {_name(limit)}", _SHEET,
    )  # fmt: skip
    if working is None or limit is None:
        return ask.missing(("working pressure", working), ("limits of the parts", limit))
    return ask.at_most(
        working,
        limit.max_working_pressure,
        "The pump works within the limit of the weakest part.",
        "The pump is asked to work above the limit of its weakest part.",
    )


_WITH_VALVE: tuple[Callable[[_Case], Comparison], ...] = (
    _set_limit, _relieving_limit, _headroom, _reseat, _stall_limit, _stall_set, _test_set,
    _test_limit, _flow, _range, _reading, _working,
)  # fmt: skip
_WITHOUT_VALVE: tuple[Callable[[_Case], Comparison], ...] = (_stall_limit, _test_limit, _working)
