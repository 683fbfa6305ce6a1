"""Preload as a picture: how the trials spread between opening and yielding, and the joint diagram.

Both figures say everything in line style, hatching and words, so that they hold in grey and
80 mm wide.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from rebuildbook.units import DIMENSIONS, number, shown_unit, to_unit, with_unit

Floats = NDArray[np.float64]
_MM = 1.0 / 25.4
_SIZE = 7.0  # points
_INK, _MID, _PALE = "#1a1a1a", "#7c858c", "#d3d8db"
_BARS = 60


def preload_distribution(
    draws: Floats | Sequence[float],
    opens_at: float | None,
    yields_at: float | None,
    interval: tuple[float, float],
    unit: str,
    *,
    coverage: float = 0.95,
    width_mm: float = 80.0,
) -> Figure:
    """Draw the spread of the preload (N) between the load that opens and the one that yields.

    ``draws`` trials, ``opens_at`` the preload below which the joint opens and ``yields_at`` the
    one above which the fastener yields (N; none where not known), ``interval`` the coverage
    interval (N), ``unit`` a force unit, ``width_mm`` 70 to 170. Trials beyond a limit are hatched.
    """
    _check_unit(unit)
    values = to_array(draws, unit)
    limits = [(_scaled(opens_at, unit), "opens below", "right"),
              (_scaled(yields_at, unit), "yields above", "left")]  # fmt: skip
    known = [limit for limit, _, _ in limits if limit is not None]
    if len(known) == 2 and known[0] >= known[1]:
        raise ValueError(f"the joint opens at {known[0]:g} {unit}, not below yield at {known[1]:g}")
    figure, axes = _page(width_mm, 0.62)
    heights = _bars(axes, values, _scaled(opens_at, unit), _scaled(yields_at, unit))
    top = float(heights.max())
    low, high = (to_unit(bound, unit) for bound in interval)
    ends = [*known, float(values.min()), float(values.max())]
    margin = 0.06 * (max(ends) - min(ends) or max(ends))
    axes.set_xlim(min(ends) - margin, max(ends) + margin)
    axes.set_ylim(0.0, 1.75 * top)
    _interval(axes, low, high, 1.10 * top, f"{coverage:.0%}")
    for place, words, side in limits:
        if place is not None:
            _limit(axes, place, words, side, 1.75 * top, unit)
    axes.set_xlabel(f"Preload, {shown_unit(unit)}", fontsize=_SIZE + 0.5, color=_INK)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    return figure
