"""How much room words take on paper."""

from __future__ import annotations

import functools

from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath

from rebuildbook.figures import style

POINT_MM = style.MM_PER_INCH / 72.0


def extent(words: str, size: float, weight: str) -> tuple[float, float]:
    """Measure ``words`` written in ``size`` pt: width and height in mm."""
    width, height = _outline(words, weight)
    return (width * size * POINT_MM, height * size * POINT_MM)


@functools.cache
def _outline(words: str, weight: str) -> tuple[float, float]:
    """Measure ``words`` as they are drawn, as a share of their size: outlines take milliseconds."""
    font = FontProperties(family="DejaVu Sans", weight=weight)
    box = TextPath((0.0, 0.0), words, size=100.0, prop=font).get_extents()
    return (box.width / 100.0, box.height / 100.0)


def fitting(words: str, room: float, largest: float, weight: str) -> float:
    """Choose the largest size, not above ``largest`` pt, at which ``words`` fit in ``room`` mm."""
    return min(largest, largest * room / extent(words, largest, weight)[0])
