"""The flow of a pump over one cycle: what each chamber gives, their sum, and the mean.

Drawn for paper: legible 80 mm wide and in grey. The scale begins at zero, so that a pulse looks as
large as it is.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from rebuildbook.calculators.pump_flow import CycleFlow
from rebuildbook.figures import style
from rebuildbook.units import number, to_unit

HIGH_MM = 34.0


@style.styled()
def delivery(cycle: CycleFlow, unit: str = "L/min", *, width_mm: float = style.COLUMN_MM) -> Figure:
    """Draw the sum heavy, thin each chamber where several give flow, dashed the mean.

    The caption names the unit and the lines. Raises ValueError for a pump at rest.
    """
    if cycle.phase.size < 2 or not cycle.mean > 0.0:
        raise ValueError("the pump is at rest or its cycle has no points; there is nothing to draw")
    figure = style.new_figure(width_mm, HIGH_MM)
    left, low = 8.0, 5.0
    axes = figure.add_axes(
        (
            left / width_mm,
            low / HIGH_MM,
            1.0 - (left + 2.0) / width_mm,
            1.0 - (low + 2.0) / HIGH_MM,
        )
    )
    scale = to_unit(1.0, unit)
    axes.set_axis_off()
    axes.set_xlim(0.0, 1.0)
    axes.set_ylim(0.0, 1.04 * scale * float(cycle.total.max()))
    _lines(axes, cycle, scale)
    _numbers(axes, scale * cycle.mean, scale * float(cycle.total.max()))
    return figure


def _lines(axes: Axes, cycle: CycleFlow, scale: float) -> None:
    top, mean = scale * float(cycle.total.max()), scale * cycle.mean
    rule: Any = {"color": style.SOFT, "lw": style.THIN, "clip_on": False}
    axes.plot((0.0, 1.0), (0.0, 0.0), **rule)
    axes.plot((0.0, 0.0), (0.0, top), **rule)
    thin: Any = {"color": style.ACCENT, "lw": style.THIN, "clip_on": False, "gid": "part"}
    for flow in cycle.parts if overlap(cycle) else ():
        given = np.where(flow > 0.0, scale * flow, np.nan)
        axes.plot(cycle.phase[::4], given[::4], **thin)
    heavy: Any = {"color": style.INK, "lw": style.HEAVY, "clip_on": False, "gid": "total"}
    axes.plot(cycle.phase, scale * cycle.total, **heavy)
    dashed: Any = {"color": style.INK, "lw": style.THIN, "ls": (0, (8, 3)), "clip_on": False}
    axes.plot((0.0, 1.0), (mean, mean), gid="mean", **dashed)


def _numbers(axes: Axes, mean: float, top: float) -> None:
    for at, text in ((0.0, "0"), (0.5, "½"), (1.0, "1")):
        axes.text(at, -0.02 * top, text, size=style.SMALL, ha="center", va="top")
    close = top - mean < 0.12 * top  # the two numbers would stand on each other
    for height in (mean,) if close else (mean, top):
        axes.text(-0.012, height, number(height), size=style.SMALL, ha="right", va="center")


def overlap(cycle: CycleFlow) -> bool:
    """Whether two chambers ever give flow at once; else the sum shows each of them."""
    return bool((np.count_nonzero(cycle.parts > 0.0, axis=0) > 1).any())
