"""Individuals control chart: which readings of a process do not belong to its usual scatter.

Each reading is held against limits drawn from the moving range, the step from one reading to the
next, so that a slow drift does not widen them:

    low, high = mean ∓ 3 MR/d₂ = mean ∓ 2.66 MR

Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, from memory.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

D_2 = 1.128  # mean range of two readings over their scatter, as the source rounds it
LEAST_READINGS = 8  # below this the limits say little; common practice, no source


@dataclass(frozen=True, slots=True)
class Individuals:
    """A chart of single readings, in their unit.

    ``mean`` and ``moving_range``, the mean step between neighbours, are of the usual readings;
    ``outside`` are the places of the readings beyond the limits.
    """

    values: tuple[float, ...]
    mean: float
    moving_range: float
    low: float
    high: float
    outside: tuple[int, ...]


def individuals(values: Sequence[float], usual: Sequence[bool] = ()) -> Individuals:
    """Draw the limits of readings in the order in which they were taken.

    Where ``usual`` is given, readings that are not usual by what is known of them, as those off
    their window, are held against the limits and do not make them. Raises ValueError for fewer
    than two readings that make limits, and for one that is no number.

    >>> chart = individuals([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
    >>> round(chart.mean, 2), round(chart.low, 4), round(chart.high, 4)
    (50.81, 45.8159, 55.8041)
    """
    made_of = [
        value for value, kept in zip(values, usual or [True] * len(values), strict=True) if kept
    ]
    if len(made_of) < 2:
        raise ValueError(f"{len(made_of)} readings given; a moving range takes two or more")
    if not all(math.isfinite(value) for value in values):
        raise ValueError("a reading is no number")
    mean = math.fsum(made_of) / len(made_of)
    steps = [abs(after - before) for before, after in itertools.pairwise(made_of)]
    moving = math.fsum(steps) / len(steps)
    low, high = mean - 3.0 * moving / D_2, mean + 3.0 * moving / D_2
    slack = 1e-9 * max(abs(low), abs(high))  # a reading on the limit is not outside
    outside = [
        place for place, value in enumerate(values) if not low - slack <= value <= high + slack
    ]
    return Individuals(tuple(values), mean, moving, low, high, tuple(outside))


def spread(values: Sequence[float]) -> float:
    """Standard deviation of a sample, in the readings' unit; zero for a single one.

    >>> round(spread([2.0, 4.0, 4.0, 4.0, 5.0, 5.0, 7.0, 9.0]), 4)
    2.1381
    """
    if not values:
        raise ValueError("no reading is given")
    mean = math.fsum(values) / len(values)
    if len(values) == 1:
        return 0.0
    return math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1))
