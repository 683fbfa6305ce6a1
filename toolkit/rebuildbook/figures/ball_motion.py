"""How the ball of a check moves over a cycle: flow above, lift below, the closing drawn large."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator, MultipleLocator

from rebuildbook.calculators.ball_force import SHUT
from rebuildbook.calculators.ball_motion import BallMotion
from rebuildbook.figures.style import (
    FILL,
    HEAVY,
    INK,
    LINE,
    PAGE_MM,
    RULE,
    SMALL,
    SOFT,
    THIN,
    new_figure,
    styled,
)
from rebuildbook.units import number, shown_unit, to_unit

HEIGHT = 88.0  # mm
LEFT, RIGHT, TOP, BOTTOM, GAP = 13.0, 4.0, 13.5, 9.5, 12.0
SHARE = 0.58  # of the width, for the whole cycle
LARGE = 6.0  # closing lags that the large part shows


@styled()
def ball_motion(
    motion: BallMotion,
    *,
    lift_unit: str = "mm",
    flow_unit: str = "L/min",
    title: str = "",
    width_mm: float = PAGE_MM,
) -> Figure:
    """Draw piston flow, gap flow and lift over the cycle, and large how the ball comes home.

    Angles count from the start of the stroke that opens the check. Opening delay and closing lag
    are written out; what goes back through the gap is hatched, and the band is the time from the
    piston's reversal until the ball is home. Raises ValueError for less room than 140 mm.
    """
    if width_mm < 140.0:
        raise ValueError(f"a width of {width_mm:g} mm; this figure needs 140 mm or more")
    figure = new_figure(width_mm, HEIGHT)
    wide = (width_mm - LEFT - RIGHT - GAP) * SHARE
    narrow = (width_mm - LEFT - RIGHT - GAP) - wide
    high = (HEIGHT - TOP - BOTTOM - 4.0) / 2.0
    for left, width, span, words in (
        (LEFT, wide, (0.0, 360.0), "one cycle"),
        (LEFT + wide + GAP, narrow, _large(motion), "the ball comes home"),
    ):
        whole = words == "one cycle"
        upper = _axes(figure, (left, BOTTOM + high + 4.0, width, high), width_mm)
        lower = _axes(figure, (left, BOTTOM, width, high), width_mm)
        for axes in (upper, lower):
            axes.set_xlim(*span)
            _mark(axes, motion)
        if whole:
            for axes in (upper, lower):
                axes.xaxis.set_major_locator(MultipleLocator(60.0))
            upper.set_ylabel(f"flow, {shown_unit(flow_unit)}", labelpad=2)
            lower.set_ylabel(f"lift, {shown_unit(lift_unit)}", labelpad=2)
        _draw_flow(upper, motion, to_unit(1.0, flow_unit), key=whole)
        _draw_lift(lower, motion, to_unit(1.0, lift_unit), key=whole)
        for axes in (upper, lower):
            _fit(axes, span)
        upper.tick_params(labelbottom=False)
        heading = _heading(motion, whole)
        upper.set_title(heading, loc="left", size=SMALL, weight="normal", pad=3)
        lower.set_xlabel("angle of the cycle, °", labelpad=2)
    if title:
        figure.text(LEFT / width_mm, 1.0 - 1.5 / HEIGHT, title, weight="bold", va="top")
    return figure


def _axes(figure: Figure, box: tuple[float, float, float, float], page: float) -> Axes:
    x, y, wide, high = box
    axes = figure.add_axes((x / page, y / HEIGHT, wide / page, high / HEIGHT))
    axes.tick_params(length=2, pad=2)
    axes.yaxis.set_major_locator(MaxNLocator(5))
    axes.xaxis.set_major_locator(MaxNLocator(5))
    return axes


def _degrees(motion: BallMotion, time: float) -> float:
    return 360.0 * time / motion.cycle


def _opened(motion: BallMotion) -> bool:
    return math.isfinite(motion.opening_delay)


def _large(motion: BallMotion) -> tuple[float, float]:
    """Choose what of the cycle to draw large: some lags round the reversal."""
    reversal = _degrees(motion, motion.reversal)
    if not (motion.closes and _opened(motion)):
        return reversal - 40.0, 360.0
    home = _degrees(motion, motion.closing_time)
    reach = max(abs(home - reversal), 1.0)
    return (
        max(min(reversal, home) - 0.5 * LARGE * reach, 0.0),
        min(max(reversal, home) + 0.25 * LARGE * reach, 360.0),
    )


def _mark(axes: Axes, motion: BallMotion) -> None:
    """A line at the reversal, a line where the ball is home, the lag as a band between."""
    reversal = _degrees(motion, motion.reversal)
    axes.axvline(reversal, color=SOFT, linewidth=THIN, linestyle="--", gid="reversal")
    if motion.closes and _opened(motion):
        home = _degrees(motion, motion.closing_time)
        axes.axvspan(*sorted((reversal, home)), color=FILL, linewidth=0, zorder=0, gid="lag")
        axes.axvline(home, color=INK, linewidth=THIN, gid="home")
    if _opened(motion):
        opens = _degrees(motion, motion.opening_delay)
        axes.axvline(opens, color=INK, linewidth=THIN, linestyle=":", gid="opens")


def _draw_flow(axes: Axes, motion: BallMotion, scale: float, *, key: bool) -> None:
    angle = 360.0 * motion.time / motion.cycle
    shown = (motion.lift == 0.0) | (motion.lift > 2.0 * SHUT)  # not rebounds within the finish
    gap = scale * motion.gap_flow[shown]
    axes.axhline(0.0, color=RULE, linewidth=THIN)
    axes.plot(
        angle, scale * motion.piston_flow, color=SOFT, linewidth=LINE, linestyle="--",
        label="piston", gid="piston",
    )  # fmt: skip
    axes.plot(
        angle[shown], gap, color=INK, linewidth=LINE, label="gap of the check", gid="gap",
    )  # fmt: skip
    axes.fill_between(
        angle[shown], 0.0, np.minimum(gap, 0.0), facecolor="none", edgecolor=SOFT, hatch="//////",
        linewidth=0, gid="back",
    )  # fmt: skip
    if key:
        axes.legend(loc="upper right", handlelength=2.4, borderaxespad=0.2)


def _draw_lift(axes: Axes, motion: BallMotion, scale: float, *, key: bool) -> None:
    angle = 360.0 * motion.time / motion.cycle
    axes.plot(angle, scale * motion.lift, color=INK, linewidth=HEAVY, gid="lift")
    if motion.hits_stop:
        stop = scale * motion.greatest_lift
        axes.axhline(stop, color=SOFT, linewidth=THIN, gid="stop")
        if key:
            axes.annotate(
                "stop", (1.0, stop), xycoords=("axes fraction", "data"), xytext=(-2, -2),
                textcoords="offset points", ha="right", va="top", size=SMALL, color=SOFT,
            )  # fmt: skip


def _fit(axes: Axes, span: tuple[float, float]) -> None:
    """Scale the axis to what its span shows."""
    low, high = 0.0, 0.0
    for line in axes.lines:
        angle, value = np.asarray(line.get_xdata()), np.asarray(line.get_ydata())
        if line.get_gid() not in {"piston", "gap", "lift"}:
            continue
        inside = np.interp(np.linspace(*span, 400), angle, value)
        low, high = min(low, float(inside.min())), max(high, float(inside.max()))
    room = 0.08 * (high - low) or 1.0  # a ball that stays shut has nothing to scale by
    axes.set_ylim(low - (room if low < 0.0 else 0.0), high + room)


def _heading(motion: BallMotion, whole: bool) -> str:
    if whole:
        if not _opened(motion):
            return "the ball does not open"
        late = _late(motion.opening_delay_angle, motion.opening_delay)
        return f"the ball opens {late}\nafter the start of the stroke"
    if not _opened(motion):
        return ""
    if not motion.closes:
        return "not home before the next cycle"
    lag = motion.closing_lag
    side = "after" if lag >= 0.0 else "before"
    late = _late(abs(motion.closing_lag_angle), abs(lag))
    share = f"{number(100.0 * motion.back_flow_share, 2)} % of a stroke flows back"
    return f"home {late} {side} the reversal\n{share}"


def _late(angle: float, time: float) -> str:
    return f"{math.degrees(angle):.1f}° ({1e3 * time:.1f} ms)"
