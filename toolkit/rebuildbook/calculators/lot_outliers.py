"""Readings of one lot that do not go with the others, told so that the odd one cannot hide itself.

Middle and spread are the median and the median absolute deviation, which up to half the lot can
be wrong without moving far. Sources: [1] B. Iglewicz and D. C. Hoaglin, How to Detect and Handle
Outliers, ASQC 1993: modified z-score 0.6745·(x − median)/MAD, odd above 3.5 (from memory). [2]
Rounding to a mark of size s spreads readings by s/√12, the standard deviation of a uniform
distribution (JCGM 100:2008, 4.3.7, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

NORMAL = 0.6744897501960817  # MAD over standard deviation of a normal distribution: its 75 % point
ODD = 3.5  # [1]
LEAST_LOT = 5  # of four readings two can be odd, and then nothing tells which
SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class Lot:
    """Middle and spread of a lot, in the unit of its readings, and the places of the odd ones.

    ``judged`` is false for a lot too small to tell.
    """

    median: float
    spread: float
    odd: tuple[int, ...]
    judged: bool


def judge_lot(readings: Sequence[float], mark: float = 0.0) -> Lot:
    """Find the readings that lie more than 3.5 spreads from the median [1].

    The spread is MAD/0.6745, not less than mark/√12 [2], where ``mark`` is the smallest step of
    what was read (same unit as the readings): where more than half of a lot are alike the MAD is
    zero, and a reading one mark off is still no wonder. A lot of fewer than five is not judged,
    and one without spread and mark has no odd ones but those that differ. Raises ValueError for
    a reading that is not a number, or a negative mark.

    >>> judge_lot([37, 38, 36, 37, 38, 37, 48], mark=1).odd
    (6,)
    >>> judge_lot([37, 37, 37, 37, 37, 36, 38], mark=1).odd
    ()
    >>> judge_lot([37, 48, 37]).judged
    False
    """
    values = np.asarray(readings, dtype=float)
    if not np.all(np.isfinite(values)):
        raise ValueError("a lot has readings that are no numbers")
    if not 0.0 <= mark < math.inf:
        raise ValueError(f"mark = {mark:g}; the step of a scale is zero or more")
    if len(values) < LEAST_LOT:
        middle = float(np.median(values)) if len(values) else 0.0
        return Lot(middle, 0.0, (), judged=False)
    median = float(np.median(values))
    away = np.abs(values - median)
    spread = max(float(np.median(away)) / NORMAL, mark / math.sqrt(12.0))
    # a mark itself, 3.46 of the least spreads, must not count as odd by rounding
    limit = ODD * spread * (1.0 + SLACK) + SLACK * abs(median)
    return Lot(median, spread, tuple(int(place) for place in np.flatnonzero(away > limit)), True)
