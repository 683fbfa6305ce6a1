"""A plot on a bare page: a frame with its scales, drawn in few strokes.

A board draws anew with every step of a slider, and matplotlib's own axes cost more than all that is
drawn in them. Everything here is in millimetres of the page.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator
from numpy.typing import ArrayLike, NDArray

from rebuildbook.figures import style
from rebuildbook.units.show import grouped, plain

_GAP_MM = 1.3  # from the frame to the figures of a scale
_LABEL_MM = 7.6  # from the frame to the name of the left scale
_FOOT_MM = 4.6  # from the frame to the name of the lower scale

Ticks = Sequence[tuple[float, str]]


@dataclass(frozen=True, slots=True)
class Box:
    """A frame at ``left`` and ``low`` on its page, ``wide`` and ``high``, mm; ends of x and y."""

    left: float
    low: float
    wide: float
    high: float
    x: tuple[float, float]
    y: tuple[float, float]

    def at(self, x: ArrayLike, y: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Millimetres on the page of points of the plot."""
        across = (np.asarray(x, dtype=float) - self.x[0]) / (self.x[1] - self.x[0])
        up = (np.asarray(y, dtype=float) - self.y[0]) / (self.y[1] - self.y[0])
        return self.left + across * self.wide, self.low + up * self.high

    def frame(
        self,
        page: Axes,
        names: tuple[str, str],
        ticks: tuple[Ticks | None, Ticks | None] = (None, None),
        most: tuple[int, int] = (5, 4),
    ) -> None:
        """Draw grid, frame and scales with the ``names`` of x and y.

        ``ticks`` are places with their words; where there are none, ``most`` round ones.
        """
        across = ticks[0] if ticks[0] is not None else _round(self.x, most[0])
        up = ticks[1] if ticks[1] is not None else _round(self.y, most[1])
        grid = [((x, x), self.y) for x, _ in across] + [(self.x, (y, y)) for y, _ in up]
        _strokes(page, [self.at(*one) for one in grid], style.FAINT, style.HAIR, "grid")
        corner = self.at(self.x[0], self.y)
        foot = self.at(self.x, self.y[0])
        _strokes(page, [corner, foot], style.SOFT, style.THIN, "frame")
        look: Any = {"size": style.SMALL, "color": style.SOFT, "gid": "tick"}
        for place, words in across:
            spot = self.at(place, self.y[0])
            page.text(float(spot[0]), self.low - _GAP_MM, words, ha="center", va="top", **look)
        for place, words in up:
            spot = self.at(self.x[0], place)
            page.text(
                self.left - _GAP_MM, float(spot[1]), words, ha="right", va="center_baseline", **look
            )
        middle = self.left + self.wide / 2.0, self.low + self.high / 2.0
        own: Any = {"size": style.TEXT, "ha": "center", "gid": "scale"}
        page.text(middle[0], self.low - _FOOT_MM, names[0], va="top", **own)
        page.text(
            self.left - _LABEL_MM, middle[1], names[1], va="bottom", rotation=90.0,
            rotation_mode="anchor", **own,
        )  # fmt: skip


def _round(ends: tuple[float, float], most: int) -> list[tuple[float, str]]:
    """At most ``most`` steps between ``ends``, at round numbers."""
    reach = 1e-9 * (ends[1] - ends[0])
    places = [
        float(place)
        for place in MaxNLocator(most, steps=[1, 2, 5, 10]).tick_values(*ends)
        if ends[0] - reach <= place <= ends[1] + reach
    ]
    return [(place, grouped(plain(0.0 if abs(place) <= reach else place))) for place in places]


def _strokes(page: Axes, strokes: Any, color: str, width: float, gid: str) -> None:
    """Several straight lines as one."""
    broken = [part for x, y in strokes for part in (_ends(x, y), [[np.nan, np.nan]])]
    page.plot(*np.concatenate(broken).T, color=color, lw=width, zorder=0.5, gid=gid)


def _ends(x: Any, y: Any) -> NDArray[np.float64]:
    return np.column_stack(np.broadcast_arrays(np.atleast_1d(x), np.atleast_1d(y)))
