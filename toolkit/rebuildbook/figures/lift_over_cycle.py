"""How far a ball is off its seat over one cycle, in short: hardly a letter, for a worksheet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from rebuildbook.calculators.ball_motion import BallMotion
from rebuildbook.figures import style
from rebuildbook.units import number, to_unit

HEIGHT = 30.0  # mm
LEFT, RIGHT, LOW, HIGH = 8.0, 3.0, 5.0, 2.0
POINTS = 121  # of the lift, three degrees apart
FLOW_POINTS = 49


@style.styled()
def lift_over_cycle(
    motion: BallMotion,
    unit: str = "mm",
    corners: Sequence[float] = (),
    *,
    width_mm: float = style.COLUMN_MM,
) -> Figure:
    """Draw the lift heavy and the piston's flow dashed, each to its own height.

    The band is the time from the piston's turn until the ball is home; ``corners`` are the times,
    s, at which the flow has one. The caption names unit and lines.
    """
    figure = style.new_figure(width_mm, HEIGHT)
    box = (LEFT, LOW, width_mm - LEFT - RIGHT, HEIGHT - LOW - HIGH)
    axes = figure.add_axes((box[0] / width_mm, box[1] / HEIGHT, box[2] / width_mm, box[3] / HEIGHT))
    axes.set_axis_off()
    axes.set_xlim(0.0, 1.0)
    axes.set_ylim(-1.0, 1.05)
    turn = motion.reversal / motion.cycle
    home = motion.closing_time / motion.cycle if motion.closes else 1.0
    band = [(turn, -1.0), (home, -1.0), (home, 1.0), (turn, 1.0)]
    axes.fill(*zip(*band, strict=True), color=style.FAINT, linewidth=0, clip_on=False, gid="lag")
    rule: Any = {"color": style.SOFT, "lw": style.THIN, "clip_on": False}
    axes.plot((0.0, 1.0), (0.0, 0.0), **rule)
    axes.plot((0.0, 0.0), (-1.0, 1.0), **rule)
    _lines(axes, motion, corners)
    _numbers(axes, to_unit(motion.greatest_lift, unit))
    return figure


def _lines(axes: Axes, motion: BallMotion, corners: Sequence[float]) -> None:
    at = np.union1d(np.linspace(0.0, motion.cycle, FLOW_POINTS), np.asarray(corners, dtype=float))
    flow = np.interp(at, motion.time, motion.piston_flow)
    flow /= float(np.abs(flow).max())
    dashed: Any = {"color": style.INK, "lw": style.THIN, "ls": (0, (6, 3)), "clip_on": False}
    axes.plot(at / motion.cycle, flow, gid="flow", **dashed)
    if motion.greatest_lift > 0.0:
        at = np.linspace(0.0, motion.cycle, POINTS)
        lift = np.interp(at, motion.time, motion.lift) / motion.greatest_lift
        heavy: Any = {"color": style.INK, "lw": style.HEAVY, "clip_on": False}
        axes.plot(at / motion.cycle, lift, gid="lift", **heavy)


def _numbers(axes: Axes, top: float) -> None:
    small: Any = {"size": style.SMALL, "ha": "center", "va": "top"}
    for at, text in ((0.0, "0"), (0.5, "½"), (1.0, "1")):
        axes.text(at, -1.04, text, **small)
    if top > 0.0:
        axes.text(-0.02, 1.0, number(top), size=style.SMALL, ha="right", va="center")
