"""What the creep of a stalled pump points at: the stroke on which it shows tells who leaks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Side = Literal["none", "up-stroke", "down-stroke", "both", "not known"]


@dataclass(frozen=True, slots=True)
class StallReading:
    """Creep with the outlet shut, and the stroke or strokes on which it is too large.

    ``up`` and ``down`` in m/s, None where not read; ``limit`` in m/s.
    """

    up: float | None
    down: float | None
    limit: float
    side: Side


def read_stall(up: float | None, down: float | None, limit: float) -> StallReading:
    """Sort the creep of each stroke against the limit (all m/s).

    Creep on one stroke only points at the checks that must hold on that stroke, creep on both at
    the piston seal, which is loaded on both (common practice, no source). One reading alone cannot
    tell these apart, so a stroke that was not read leaves the answer open unless the other is too
    large already; even then "both" cannot be told from one.

    >>> read_stall(40e-3 / 60, 2e-3 / 60, 5e-3 / 60).side
    'up-stroke'
    >>> read_stall(2e-3 / 60, None, 5e-3 / 60).side
    'not known'
    """
    if up is None or down is None:
        return StallReading(up, down, limit, "not known")
    over_up, over_down = up > limit, down > limit
    if over_up and over_down:
        side: Side = "both"
    elif over_up:
        side = "up-stroke"
    elif over_down:
        side = "down-stroke"
    else:
        side = "none"
    return StallReading(up, down, limit, side)
