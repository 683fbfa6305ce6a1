"""How long a part still lasts, from what it and those before it wore over their running time.

Each part starts at the size it was fitted with and wears along one line, the same for every part
that ran in that place of the unit:

    w = b t              from the new size (the usual line), or
    w = a + b t          where a new part beds in first (``beds_in``),

with t the running time since it was fitted. The line is fitted by least squares; the scatter is
that of the readings about it (Student's t), or one given beforehand (normal). The time at which
the line meets the limit is a quotient of two uncertain figures; its interval is the set of times
at which the limit is not ruled out, exact for scatter of one size all along the line [2].

References
----------
1. Least squares, Student's t: any textbook of statistics; N. R. Draper and H. Smith, Applied
   Regression Analysis, chapter 1 (from memory).
2. E. J. Williams, Regression Analysis, on inverse estimation: Fieller's interval (from memory).
3. H. Theil, P. K. Sen: the median of slopes (from memory), by ``scipy.theilslopes``.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from scipy.special import chdtri, ndtri, stdtrit

from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.units import quantities

Verdict = Literal["wearing", "within the scatter", "no wear seen", "at the limit"]

HOUR = 3600.0  # s
_ROUGHER = 0.05  # chance at which readings count as rougher than the scatter given
_FAR = 8.0  # times the usual scatter: 4 % false alarms in five readings, 1 % in eight
_FEW = 5  # readings below which none can be told to be odd
_STEP = 1e-6  # m, of a micrometer; readings that agree better than that scatter by it


@quantities("m/s", wear="m", time="s")
def wear_rate(wear: Any, time: Any) -> Any:
    """Give the wear of one interval over its running time, w/t.

    >>> print(f'{wear_rate("0.1 mm", "1000 h").to("um/h").magnitude:.2f}')
    0.10
    """
    return wear / positive("running time, s,", time)


@quantities("s", allowance="m", rate="m/s")
def time_to_limit(allowance: Any, rate: Any) -> Any:
    """Give the running time in which wear uses up an ``allowance``; infinite at a ``rate`` of 0.

    >>> print(f'{time_to_limit("0.15 mm", "0.1 um/h").to("h").magnitude:.0f}')
    1500
    """
    left, slope = np.asarray(not_negative("allowance, m,", allowance)), np.asarray(rate)
    not_negative("rate, m/s,", rate)
    endless = np.full(np.broadcast(left, slope).shape, math.inf)
    return np.divide(left, slope, out=endless, where=slope > 0.0)[()]


def running_times(intervals: Iterable[float], start: float = 0.0) -> tuple[float, ...]:
    """Sum running times from job to job, s, to readings of one meter that began at ``start``.

    >>> running_times([100.0, 250.0, 50.0])
    (100.0, 350.0, 400.0)
    """
    each = [float(positive("running time between jobs, s,", one)) for one in intervals]
    return tuple(itertools.accumulate(each, initial=start))[1:]


@dataclass(frozen=True, slots=True)
class Measurement:
    """A part's ``size``, m, at the unit's running ``time``, s, as found.

    ``fitted`` is the size of the part put in then, m; None: the same part went back. ``size`` is
    None for a part that was changed without being measured.
    """

    time: float
    size: float | None
    fitted: float | None = None


@dataclass(frozen=True, slots=True)
class Life:
    """One part in its place: fitted at ``since``, s, with size ``fitted``, m.

    ``times``, s by the unit's meter, and ``sizes``, m, are its readings; ``until`` is when it was
    taken out, None for the part still in.
    """

    since: float
    fitted: float
    times: tuple[float, ...]
    sizes: tuple[float, ...]
    until: float | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """The line of wear over running time since fitted; SI floats.

    ``rate`` m/s and ``offset`` m; ``scatter`` m, of one reading about it; ``quantile`` how many
    scatters half the interval spans. ``count`` readings have the mean ``centre`` (s, m) and the sum
    of squared times ``spread``, s², about it (0 and 0 for a line from the new size).
    ``median_rate``, m/s, is the median of slopes, which one misread size hardly moves [3]; ``odd``
    numbers the readings, from 0, that stand far off the line of that rate: read them again.
    """

    rate: float
    offset: float
    scatter: float
    quantile: float
    count: int
    centre: tuple[float, float]
    spread: float
    median_rate: float
    odd: tuple[int, ...]
    beds_in: bool

    @property
    def rate_low(self) -> float:
        """Lower end of the rate's interval, m/s."""
        return self.rate - self.quantile * self.scatter / math.sqrt(self.spread)

    @property
    def rate_high(self) -> float:
        """Upper end of the rate's interval, m/s."""
        return self.rate + self.quantile * self.scatter / math.sqrt(self.spread)

    def wear(self, age: Any) -> Any:
        """Wear, m, at a running time ``age`` since fitted, s."""
        return self.offset + self.rate * np.asarray(age)

    def half_width(self, age: Any) -> Any:
        """Half the interval of the line, m, at that ``age``, s."""
        share = (np.asarray(age) - self.centre[0]) ** 2 / self.spread
        return self.quantile * self.scatter * np.sqrt(share + self._level)

    @property
    def _level(self) -> float:
        return 1.0 / self.count if self.beds_in else 0.0

    def ages_at(self, wear: float) -> tuple[float, float, float]:
        """Running times since fitted, s, at which ``wear``, m, is reached: line, low and high.

        The ends solve (w − a − b t)² = half_width(t)² [2]; infinite where the line does not get
        there, or is not sure to.
        """
        best = (wear - self.offset) / self.rate if self.rate > 0.0 else math.inf
        away, reach = wear - self.centre[1], (self.quantile * self.scatter) ** 2
        square = self.rate**2 - reach / self.spread
        constant = away**2 - reach * self._level
        root = math.sqrt(max((self.rate * away) ** 2 - square * constant, 0.0))
        lean = self.rate * away + root
        if square > 0.0 and self.rate > 0.0:
            low, high = (self.rate * away - root) / square, lean / square
        else:
            low, high = constant / lean if lean > 0.0 else math.inf, math.inf
        return best, self.centre[0] + low, self.centre[0] + high


@dataclass(frozen=True, slots=True)
class WearLife:
    """What is left of the part now in; times s, sizes m.

    ``age`` is its running time at the last entry. ``time_left`` to the ``limit`` by the line, from
    ``time_low`` to ``time_high`` at the ``confidence``; infinite where no wear is seen.
    ``verdict`` "within the scatter": it wears, but the readings
    do not rule out that it does not. ``off_line`` is what the last reading of this part shows over
    the line, m (positive: worn more), 0 without one. ``growing`` +1 for a bore, −1 for a rod.
    """

    line: Line
    lives: tuple[Life, ...]
    new: float
    limit: float
    growing: int
    confidence: float
    age: float
    time_left: float
    time_low: float
    time_high: float
    verdict: Verdict
    off_line: float

    @property
    def next_service(self) -> float:
        """Running time from the last entry after which to measure again, s; may be infinite.

        The lower end of the interval; or less, where the last reading of this part lies above the
        line: from there to the limit at the upper end of the rate.
        """
        now = self.lives[-1]
        if not now.sizes or self.line.rate_high <= 0.0:
            return self.time_low
        left = max(self.growing * (self.limit - now.sizes[-1]), 0.0)
        return min(self.time_low, left / self.line.rate_high)


def wear_life(
    measurements: Sequence[Measurement],
    new: float,
    limit: float,
    *,
    start: float = 0.0,
    scatter: float | None = None,
    beds_in: bool = False,
    confidence: float = 0.90,
) -> WearLife:
    """Work out the life left from readings of one place in one unit; s and m.

    ``new`` is the size of the first part, fitted at ``start``; ``limit`` the size at which a part
    is done, on whichever side of ``new``. ``scatter`` is the standard deviation of one reading
    (instrument, feel and fit together), needed where readings are too few to show their own: one
    for a line from the new size, two where it ``beds_in``. Readings that scatter clearly more than
    that count with their own; readings that agree to the digit show none at all, so that there the
    scatter is better given.

    Raises ValueError for too few readings, a clock that runs back, and parts that come out better
    than they went in by more than the scatter: sizes or parts are mixed up.

    >>> jobs = [Measurement(1000 * HOUR, 63.55e-3), Measurement(2100 * HOUR, 63.61e-3),
    ...         Measurement(2900 * HOUR, 63.64e-3)]
    >>> found = wear_life(jobs, 63.5e-3, 63.75e-3)
    >>> print(f"{found.time_left / HOUR:.0f} h, from {found.time_low / HOUR:.0f} h")
    2129 h, from 1765 h
    """
    _check_sizes(new, limit)
    within("confidence", confidence, 0.5, 0.999)
    growing = 1 if limit > new else -1
    lives = _lives(measurements, new, start)
    ages, wears = _points(lives, growing)
    line = _fit(ages, wears, scatter, beds_in, confidence)
    if line.rate_high < 0.0:
        raise ValueError(
            f"the part wears {line.rate * HOUR * 1e6:.3g} µm/h, away from its limit of "
            f"{limit * 1e3:g} mm; parts do not grow better: check new size, limit and readings"
        )
    now = lives[-1]
    allowance = growing * (limit - now.fitted)
    if allowance <= 0.0:
        raise ValueError(
            f"the part in the unit was fitted at {now.fitted * 1e3:g} mm, at or past its limit of "
            f"{limit * 1e3:g} mm"
        )
    last = float(growing * (now.sizes[-1] - now.fitted)) if now.sizes else None
    age = measurements[-1].time - now.since
    times = _left(line, allowance, age)
    verdict = _verdict(line)
    if last is not None and last >= allowance * (1.0 - 1e-9):
        times, verdict = (0.0, 0.0, 0.0), "at the limit"
    off = 0.0 if last is None else last - float(line.wear(now.times[-1] - now.since))
    return WearLife(line, lives, new, limit, growing, confidence, age, *times, verdict, off)


def _left(line: Line, allowance: float, age: float) -> tuple[float, float, float]:
    best, low, high = line.ages_at(allowance)
    return max(best - age, 0.0), max(low - age, 0.0), max(high - age, 0.0)


def _verdict(line: Line) -> Verdict:
    if line.rate <= 0.0:
        return "no wear seen"
    return "within the scatter" if line.rate_low <= 0.0 else "wearing"


def _check_sizes(new: float, limit: float) -> None:
    positive("new size, m,", new)
    positive("limit, m,", limit)
    if new == limit:
        raise ValueError(f"limit {limit:g} m is the new size; a wear limit differs from it")


def _lives(measurements: Sequence[Measurement], new: float, start: float) -> tuple[Life, ...]:
    """Cut the readings where a part was changed."""
    lives: list[Life] = []
    since, fitted, clock = start, new, start
    times: list[float] = []
    sizes: list[float] = []
    for one in measurements:
        if not clock < one.time < math.inf:
            raise ValueError(
                f"running time {one.time / HOUR:g} h after {clock / HOUR:g} h; it must go up from "
                "job to job (``running_times`` sums times between jobs)"
            )
        clock = one.time
        if one.size is None and one.fitted is None:
            raise ValueError(f"neither size nor new part at {clock / HOUR:g} h")
        if one.size is not None:
            times.append(clock)
            sizes.append(float(positive("measured size, m,", one.size)))
        if one.fitted is not None:
            lives.append(Life(since, fitted, tuple(times), tuple(sizes), clock))
            since, fitted = clock, float(positive("size of the part fitted, m,", one.fitted))
            times, sizes = [], []
    return (*lives, Life(since, fitted, tuple(times), tuple(sizes)))


def _points(lives: Iterable[Life], growing: int) -> tuple[Any, Any]:
    pairs = [
        (time - life.since, growing * (size - life.fitted))
        for life in lives
        for time, size in zip(life.times, life.sizes, strict=True)
    ]
    if not pairs:
        raise ValueError("no size was measured; at least one reading is needed")
    ages, wears = np.array(pairs).T
    return ages, wears


def _fit(ages: Any, wears: Any, scatter: float | None, beds_in: bool, confidence: float) -> Line:
    count = len(ages)
    if beds_in and np.ptp(ages) == 0.0:
        raise ValueError("a line that beds in needs readings at two running times or more")
    middle, level = (float(ages.mean()), float(wears.mean())) if beds_in else (0.0, 0.0)
    spread = float(np.sum((ages - middle) ** 2))
    rate = float(np.sum((ages - middle) * (wears - level)) / spread)
    offset = level - rate * middle
    squares = float(np.sum((wears - offset - rate * ages) ** 2))
    size, quantile = _scatter(squares, count - 1 - beds_in, scatter, confidence)
    median = _median_slope(ages, wears) if beds_in else float(np.median(wears / ages))
    beyond = wears - median * ages
    odd = _odd(beyond - np.median(beyond) if beds_in else beyond)
    return Line(rate, offset, size, quantile, count, (middle, level), spread, median, odd, beds_in)


def _median_slope(ages: Any, wears: Any) -> float:
    one, other = np.triu_indices(len(ages), 1)
    apart = ages[other] - ages[one]
    return float(np.median((wears[other] - wears[one])[apart != 0.0] / apart[apart != 0.0]))


def _odd(beyond: Any) -> tuple[int, ...]:
    """Number the readings that are ``beyond`` the median line by far more than is usual there."""
    if len(beyond) < _FEW:
        return ()
    usual = 1.4826 * np.median(np.abs(beyond))  # standard deviation of the unspoilt ones
    far = np.abs(beyond) > _FAR * max(usual, _STEP)
    return tuple(int(place) for place in np.flatnonzero(far))


def _scatter(
    squares: float, freedom: int, given: float | None, confidence: float
) -> tuple[float, float]:
    """Give the scatter to count with and how many of it half the interval spans [1]."""
    tail = 0.5 + confidence / 2.0
    if given is not None:
        positive("scatter, m,", given)
        if freedom < 1 or squares <= chdtri(freedom, _ROUGHER) * given**2:
            return given, float(ndtri(tail))
    elif freedom < 1:
        raise ValueError(
            "too few readings to show their own scatter; give the standard deviation of one reading"
        )
    return math.sqrt(squares / freedom), float(stdtrit(freedom, tail))
