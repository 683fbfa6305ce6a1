"""What successive opening pressures on a test bench say about a relief valve.

Three or four pops never read alike. This asks whether their mean lies in the tolerance with the
gauge's doubt added, whether the next pop may be trusted to, and whether they wander. The first pop
counts most: it is the one the valve would have made in service. This judges readings; setting a
valve is for qualified people.

Sources: [1] Student's t, confidence interval of a mean, prediction interval of one more value and
test of a regression slope, any textbook on statistics. [2] JCGM 106, guarded acceptance: what
cannot be told from the limit is not accepted (from memory). [3] ASME PTC 25, blowdown as popping
less reseating pressure over set pressure (from memory). The set tolerance is that of
``relief_pressures``. Thresholds named here are common practice, no source, unless said otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from rebuildbook.calculators.bounds import not_negative, positive
from rebuildbook.calculators.relief_pressures import SLACK, set_tolerance

Floats = NDArray[np.float64]
Word = Literal[
    "out of tolerance", "first pop sticks", "too few readings", "drifts", "scatters",
    "not decided", "in tolerance",
]  # fmt: skip

FEWEST = 3  # pops, after one that stuck, on which their scatter is judged
CONFIDENCE = 0.95
MATERIAL = 0.25  # of the tolerance; a drift or a first pop that differs by less is let pass


@dataclass(frozen=True, slots=True)
class PopStatistics:
    """The numbers of a run of opening pressures, Pa; ``slope`` in Pa a pop.

    ``std`` is the sample standard deviation, zero for one reading; ``residual`` the one left when
    the trend is taken out. ``mean_half`` and ``next_half`` are half widths of the interval of the
    mean and of the next pop, ``slope_half`` of the slope; infinite with too few readings.
    """

    count: int
    mean: float
    std: float
    mean_half: float
    next_half: float
    slope: float
    slope_half: float
    residual: float

    @property
    def drift(self) -> float:
        """Change from the first reading to the last along the trend, Pa."""
        return self.slope * (self.count - 1)

    @property
    def trending(self) -> bool:
        """Whether the slope differs from none at the confidence asked for."""
        return abs(self.slope) > self.slope_half


def pop_statistics(readings: Sequence[float], confidence: float = CONFIDENCE) -> PopStatistics:
    """Mean, scatter, trend and intervals of opening pressures in the order read (Pa) [1].

    Mean ± t s/√n, next pop ± t s √(1 + 1/n) with n − 1 degrees of freedom, slope ± t se with n − 2.

    >>> run = pop_statistics([10.1e5, 10.0e5, 9.9e5, 10.0e5])
    >>> f"{run.mean / 1e5:.2f} ± {run.mean_half / 1e5:.3f} bar, next ± {run.next_half / 1e5:.3f}"
    '10.00 ± 0.130 bar, next ± 0.291'
    """
    values = _pressures("opening pressure", readings)
    if not 0.5 <= confidence < 1.0:
        raise ValueError(f"confidence is {confidence:g}; it lies from 0.5 up to but not 1")
    count, mean = values.size, float(values.mean())
    std = float(values.std(ddof=1)) if count > 1 else 0.0
    reach = _student(count - 1, confidence) * std if count > 1 else math.inf
    slope, slope_half, residual = _trend(values, confidence)
    return PopStatistics(
        count, mean, std, reach / math.sqrt(count), reach * math.sqrt(1.0 + 1.0 / count),
        slope, slope_half, residual,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Blowdown:
    """Blowdown of each pop as a share of the set pressure, with mean and range."""

    each: tuple[float, ...]
    mean: float
    least: float
    largest: float


def blowdown(pops: Sequence[float], reseats: Sequence[float], set_pressure: float) -> Blowdown:
    """Blowdown from opening and reseating pressures of the same pops, (po − pr)/ps [3].

    All in Pa. Raises ValueError for a reseat above its pop or lists of different length.

    >>> round(blowdown([10e5, 10.2e5], [9e5, 9.0e5], 10e5).mean, 6)
    0.11
    """
    opened, shut = _pressures("opening pressure", pops), _pressures("reseat pressure", reseats)
    if opened.size != shut.size:
        raise ValueError(f"{opened.size} pops and {shut.size} reseats; each pop needs its own")
    if np.any(shut > opened):
        worst = int(np.argmax(shut - opened))
        raise ValueError(
            f"reseat {shut[worst]:g} Pa is above its pop {opened[worst]:g} Pa; it shuts below"
        )
    shares = (opened - shut) / positive("set pressure", set_pressure)
    each = tuple(float(share) for share in shares)
    return Blowdown(each, float(shares.mean()), min(each), max(each))


@dataclass(frozen=True, slots=True, kw_only=True)
class PopTest:
    """Readings in the order taken and what they are judged by; Pa.

    ``tolerance`` None takes the rule of ``set_tolerance``. ``gauge_uncertainty`` is the gauge's
    expanded uncertainty (95 %); it is one and the same in all readings, so it does not average
    out. ``reseats`` belong to the pops one by one, or are left out.
    """

    readings: tuple[float, ...]
    set_pressure: float
    tolerance: float | None = None
    gauge_uncertainty: float = 0.0
    reseats: tuple[float, ...] = ()
    confidence: float = CONFIDENCE

    def __post_init__(self) -> None:
        _pressures("opening pressure", self.readings)
        positive("set pressure", self.set_pressure)
        not_negative("gauge uncertainty", self.gauge_uncertainty)
        if self.tolerance is not None:
            positive("tolerance", self.tolerance)

    @property
    def band(self) -> float:
        """Tolerance either way, Pa."""
        if self.tolerance is not None:
            return self.tolerance
        return float(set_tolerance.si(self.set_pressure))


@dataclass(frozen=True, slots=True)
class PopVerdict:
    """What the readings say; pressures in Pa.

    ``words`` has the gravest first. ``whole`` are the statistics of all readings, ``settled`` of
    those after a first pop that stuck, else the same. ``first_excess`` is how far the first pop
    lies above the mean of the others, ``deviation`` the settled mean less the set pressure, with
    its half width ``doubt`` that holds the gauge's part too.
    """

    test: PopTest
    words: tuple[Word, ...]
    whole: PopStatistics
    settled: PopStatistics
    first_excess: float
    deviation: float
    doubt: float
    blowdown: Blowdown | None

    @property
    def accepted(self) -> bool:
        """Whether the readings show the valve within its tolerance and nothing against it."""
        return self.words == ("in tolerance",)

    @property
    def first_sticks(self) -> bool:
        """Whether the first pop stood above those that followed."""
        return "first pop sticks" in self.words


def assess_pops(test: PopTest) -> PopVerdict:
    """Judge a run of pops against the set pressure and its tolerance.

    "out of tolerance": the mean lies outside, or the first pop stuck and went above. "not
    decided": the mean lies inside but its interval, gauge included, reaches out [2]. "scatters":
    a single pop lies outside, or the interval of the next one is wider than the tolerance even
    about its middle. "drifts": the trend is told from chance and moves by a quarter of the
    tolerance. "first pop sticks": the first is above what the others foretell, by as much.
    "too few readings": fewer than three, a first pop that stuck not counted.

    >>> even = PopTest(readings=(10.02e5, 10.0e5, 9.98e5, 10.01e5), set_pressure=10e5)
    >>> assess_pops(even).words
    ('in tolerance',)
    >>> stuck = PopTest(readings=(11.5e5, 10.02e5, 10.0e5, 9.98e5), set_pressure=10e5)
    >>> assess_pops(stuck).words
    ('out of tolerance', 'first pop sticks')
    """
    whole = pop_statistics(test.readings, test.confidence)
    excess, sticks = _first_pop(test)
    settled = pop_statistics(test.readings[1:], test.confidence) if sticks else whole
    deviation = settled.mean - test.set_pressure
    doubt = math.hypot(settled.mean_half, test.gauge_uncertainty)
    words = _words(test, settled, sticks, deviation, doubt)
    shut = blowdown(test.readings, test.reseats, test.set_pressure) if test.reseats else None
    return PopVerdict(test, words, whole, settled, excess, deviation, doubt, shut)


def _words(
    test: PopTest, settled: PopStatistics, sticks: bool, deviation: float, doubt: float
) -> tuple[Word, ...]:
    limit = test.band * (1.0 + SLACK)
    above = sticks and test.readings[0] > test.set_pressure + limit
    kept = test.readings[1:] if sticks else test.readings
    strays = any(abs(reading - test.set_pressure) > limit for reading in kept)
    few = len(kept) < FEWEST
    outside = abs(deviation) > limit or above
    drifts = settled.trending and abs(settled.drift) > MATERIAL * test.band
    spread = settled.next_half
    if drifts:  # the trend has its own word; scatter is what is left about it
        spread *= settled.residual / settled.std
    found: dict[Word, bool] = {
        "out of tolerance": outside,
        "first pop sticks": sticks,
        "too few readings": few,
        "drifts": not few and drifts,
        "scatters": not few and (spread > limit or (strays and not outside)),
        "not decided": not few and not outside and abs(deviation) + doubt > limit,
    }
    words = tuple(word for word, holds in found.items() if holds)
    return words or ("in tolerance",)


def _first_pop(test: PopTest) -> tuple[float, bool]:
    """How far the first pop is above the mean of the others, and whether that is no chance [1]."""
    rest = np.asarray(test.readings[1:], dtype=float)
    if rest.size == 0:
        return 0.0, False
    excess = test.readings[0] - float(rest.mean())
    if rest.size < FEWEST - 1:
        return excess, False
    one_sided = _student(rest.size - 1, 2.0 * test.confidence - 1.0)
    foretold = one_sided * float(rest.std(ddof=1)) * math.sqrt(1.0 + 1.0 / rest.size)
    return excess, excess > max(foretold, MATERIAL * test.band)


def _trend(values: Floats, confidence: float) -> tuple[float, float, float]:
    """Slope by least squares, its half width and the standard deviation about the line [1]."""
    count = values.size
    if count < 2:
        return 0.0, math.inf, 0.0
    place = np.arange(count) - (count - 1) / 2.0
    spread = float(place @ place)
    slope = float(place @ (values - values[0])) / spread  # equal readings give none at all
    if count == 2:
        return slope, math.inf, 0.0
    left = values - values.mean() - slope * place
    residual = math.sqrt(float(left @ left) / (count - 2))
    if residual <= 1e-12 * abs(float(values.mean())):  # rounding noise of a straight run
        residual = 0.0
    return slope, _student(count - 2, confidence) * residual / math.sqrt(spread), residual


def _student(freedom: int, confidence: float) -> float:
    """Two-sided Student's t."""
    return float(stdtrit(freedom, 0.5 + confidence / 2.0))


def _pressures(name: str, values: Sequence[float]) -> Floats:
    if len(values) == 0:
        raise ValueError(f"no {name} is given; at least one is needed")
    return np.asarray(positive(name, np.asarray(values, dtype=float)), dtype=float)
